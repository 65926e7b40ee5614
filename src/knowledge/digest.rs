//! The digest of a knowledge base: over its canonical content by id, so that comments, layout, the
//! order of keys and the file that something stands in do not change it. `edition.toml` takes no part:
//! it says which edition the content is, and holds this digest itself.

use std::fmt::Write;

use sha2::{Digest, Sha256};

use crate::document::{Node, NodeKind, Table};

/// The folder whose files hold many entries, each with its key; of the other folders each file is one
/// entry with an `id`.
const MANY_A_FILE: &str = "sources";

/// The file that names the edition.
const EDITION: &str = "edition.toml";

/// Hexadecimal SHA-256 over all entries in the order of their families and ids.
pub fn digest<'a>(files: impl Iterator<Item = (&'a str, &'a Table)>) -> String {
    let mut entries: Vec<String> = Vec::new();
    for (path, table) in files.filter(|(path, _)| *path != EDITION) {
        match path.split_once('/') {
            Some((family @ MANY_A_FILE, _)) => {
                entries.extend(table.iter().map(|(key, entry)| {
                    let mut text = format!("{family}/{key:?}:");
                    write_node(&mut text, &entry.node);
                    text
                }));
            }
            family_and_rest => {
                let id = table.get("id").and_then(|entry| entry.node.as_text());
                let mut text = match (family_and_rest, id) {
                    (Some((family, _)), Some(id)) => format!("{family}/{id:?}:"),
                    _ => format!("{path:?}:"),
                };
                write_table(&mut text, table);
                entries.push(text);
            }
        }
    }
    entries.sort_unstable();
    let mut hasher = Sha256::new();
    for entry in entries {
        // the length keeps two entries from reading as one
        hasher.update((entry.len() as u64).to_le_bytes());
        hasher.update(entry);
    }
    hasher.finalize().iter().fold(String::new(), |mut hex, byte| {
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// The canonical text of a value.
pub fn canonical(node: &Node) -> String {
    let mut text = String::new();
    write_node(&mut text, node);
    text
}

fn write_table(text: &mut String, table: &Table) {
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(key, _)| *key);
    text.push('{');
    for (key, entry) in entries {
        let _ = write!(text, "{key:?}:");
        write_node(text, &entry.node);
        text.push(',');
    }
    text.push('}');
}

fn write_node(text: &mut String, node: &Node) {
    match &node.kind {
        NodeKind::Text(inner) => {
            let _ = write!(text, "{inner:?}");
        }
        // 3 and 3.0 say the same
        NodeKind::Integer(number) => {
            let _ = write!(text, "{}", *number as f64);
        }
        NodeKind::Float(number) => {
            let _ = write!(text, "{number}");
        }
        NodeKind::Flag(flag) => {
            let _ = write!(text, "{flag}");
        }
        NodeKind::Date => text.push_str("date"),
        NodeKind::Huge => text.push_str("huge"),
        NodeKind::List(items) => {
            text.push('[');
            for item in items {
                write_node(text, item);
                text.push(',');
            }
            text.push(']');
        }
        NodeKind::Table(table) => write_table(text, table),
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::diag::Source;

    const FILES: [(&str, &str); 6] = [
        ("needs.toml", "tie_within = 2.0\n[drainage]\ntitle = \"drainage\"\nkey_for = [\"lawn\"]\n"),
        (
            "rules/water/dry-rule.toml",
            "id = \"dry-rule\"\nwhen = \"site.ph < 7\"\nthen.limit.need = \"water\"\n",
        ),
        ("rules/water/wet-rule.toml", "id = \"wet-rule\"\nwhen = \"site.ph < 7\"\n"),
        ("sources/a.toml", "[one]\ntitle = \"One\"\nyear = 2001\n\n[two]\ntitle = \"Two\"\n"),
        ("sources/b.toml", "[three]\ntitle = \"Three\"\n"),
        (
            "species/lark-grass.toml",
            "id = \"lark-grass\"\n[traits]\nph = [{ low = 6, high = 7.5 }]\nfree = [true]\n",
        ),
    ];

    fn trees(files: &[(&str, &str)]) -> Vec<(String, Table)> {
        let read = |(path, text): &(&str, &str)| {
            let source = Arc::new(Source { path: (*path).to_owned(), text: (*text).to_owned().into() });
            ((*path).to_owned(), crate::document::parse(&source, &mut Vec::new()).unwrap())
        };
        files.iter().map(read).collect()
    }

    fn of(trees: &[(String, Table)]) -> String {
        digest(trees.iter().map(|(path, table)| (path.as_str(), table)))
    }

    fn with(change: impl Fn(&str, &str) -> (String, String)) -> String {
        let changed: Vec<(String, String)> = FILES.iter().map(|(path, text)| change(path, text)).collect();
        of(&trees(&changed.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect::<Vec<_>>()))
    }

    #[test]
    fn layout_and_the_file_that_something_stands_in_do_not_count() {
        let as_it_is = of(&trees(&FILES));
        let moved = |from: &str, to: &str| {
            with(|path, text| (if path == from { to.to_owned() } else { path.to_owned() }, text.to_owned()))
        };
        assert_eq!(moved("rules/water/dry-rule.toml", "rules/drought/dry-rule.toml"), as_it_is);
        assert_eq!(moved("rules/water/wet-rule.toml", "rules/a/wet-rule.toml"), as_it_is);
        assert_eq!(moved("sources/a.toml", "sources/z.toml"), as_it_is);
        let together = [FILES[0], FILES[1], FILES[2], FILES[5]];
        let source = (
            "sources/all.toml",
            "[three]\ntitle = \"Three\"\n[two]\ntitle = \"Two\"\n[one]\nyear = 2001\ntitle = \"One\"",
        );
        assert_eq!(of(&trees(&[&together[..], &[source]].concat())), as_it_is);
        let spaced = with(|path, text| (path.to_owned(), text.replace(" = ", "  =  ") + "# words\n"));
        assert_eq!(spaced, as_it_is);
    }

    /// Every value and every key, one after another.
    #[test]
    fn every_value_and_every_key_counts() {
        fn places(node: &mut Node, at: &mut usize, wanted: usize) {
            match &mut node.kind {
                NodeKind::List(items) => items.iter_mut().for_each(|item| places(item, at, wanted)),
                NodeKind::Table(table) => in_table(table, at, wanted),
                kind => {
                    if *at == wanted {
                        *kind = match kind {
                            NodeKind::Text(text) => NodeKind::Text(format!("{text}.").into()),
                            NodeKind::Integer(number) => NodeKind::Integer(*number + 1),
                            NodeKind::Float(number) => NodeKind::Float(*number + 0.25),
                            NodeKind::Flag(flag) => NodeKind::Flag(!*flag),
                            _ => NodeKind::Date,
                        };
                    }
                    *at += 1;
                }
            }
        }
        fn in_table(table: &mut Table, at: &mut usize, wanted: usize) {
            for entry in &mut table.entries {
                if *at == wanted {
                    entry.key = format!("{}x", entry.key).into();
                }
                *at += 1;
                places(&mut entry.node, at, wanted);
            }
        }
        let as_it_is = of(&trees(&FILES));
        let mut seen = vec![as_it_is];
        loop {
            let mut changed = trees(&FILES);
            let mut at = 0;
            changed.iter_mut().for_each(|(_, table)| in_table(table, &mut at, seen.len() - 1));
            if seen.len() > at {
                break;
            }
            seen.push(of(&changed));
        }
        let all = seen.len();
        assert!(all > 30, "{all}");
        seen.sort();
        seen.dedup();
        assert_eq!(seen.len(), all, "two changes give the same digest, or one gives the old");
    }

    /// Of an overlay: the same values under another species are other content.
    #[test]
    fn what_is_changed_of_a_species_counts_as_that_species() {
        let of_two = |first: &str, second: &str| {
            let text = |id: &str, word: &str| format!("id = \"{id}\"\n[add]\nfree = [\"{word}\"]\n");
            let (first, second) = (text("ash-foot", first), text("lark-grass", second));
            of(&trees(&[("values/ash-foot.toml", &first), ("values/lark-grass.toml", &second)]))
        };
        assert_ne!(of_two("yes", "no"), of_two("no", "yes"));
    }

    #[test]
    fn a_file_more_or_less_counts() {
        assert_ne!(of(&trees(&FILES[1..])), of(&trees(&FILES)));
    }
}
