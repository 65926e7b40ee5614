//! Entries as CSV, and what an edited CSV changes.

use super::csv_text::csv_text;
use super::layout::Look;
use super::selection::{Selection, short};
use crate::entries::{COLUMNS, EntryChange, Import, KEYS, Row, entry_rows};
use crate::knowledge::Knowledge;

/// One row an entry, in the layout that `knowledge table --import` reads back.
pub fn entries_csv(knowledge: &Knowledge, selection: &Selection) -> String {
    let species: Vec<&str> = selection.species.iter().map(|at| knowledge.species[*at].id.as_str()).collect();
    let traits: Vec<&str> =
        selection.traits.iter().map(|at| short(&knowledge.vocabulary.species[*at])).collect();
    let rows =
        entry_rows(knowledge, |one, name| species.contains(&one.id.as_str()) && traits.contains(&name));
    let rows = rows.into_iter().map(|one| {
        let mut cells = vec![one.species, one.trait_name];
        cells.extend(one.row.cells);
        cells
    });
    csv_text([COLUMNS.map(str::to_owned).to_vec()].into_iter().chain(rows))
}

/// What an import changes: species, trait, old and new, entry by entry, and the merged value.
pub fn import_text(before: &Knowledge, import: &Import, written: bool, look: &Look) -> String {
    let mut text = String::new();
    let (mut changed, mut added, mut removed) = (0, 0, 0);
    for change in &import.changes {
        let declaration = &before.vocabulary.species[change.index];
        let merged = |knowledge: &Knowledge| {
            let species = knowledge.species_named(&change.species);
            match species.and_then(|species| species.traits[change.index].as_ref()) {
                Some(value) => {
                    let own = knowledge.vocabulary.write(&value.value, declaration.kind, look.units);
                    if value.estimated.is_some() { format!("{own} (estimated)") } else { own }
                }
                None => "not known".to_owned(),
            }
        };
        let (old, new) = (merged(before), merged(&import.knowledge));
        let effect = if old == new { format!("stays {old}") } else { format!("{old} becomes {new}") };
        text.push_str(&look.heading(&format!("{} {}: {effect}", change.species, change.trait_name)));
        for entry in &change.entries {
            match entry {
                EntryChange::Changed { old, new, .. } => {
                    changed += 1;
                    text.push_str(&look.paragraph(2, &format!("in {}", cited(old))));
                    for (key, old, new) in old.differences(new) {
                        text.push_str(
                            &look.paragraph(4, &format!("{key}: {} -> {}", shown(old), shown(new))),
                        );
                    }
                }
                EntryChange::Added { new } => {
                    added += 1;
                    text.push_str(&look.paragraph(2, &format!("+ {}", whole(new))));
                }
                EntryChange::Removed { old, .. } => {
                    removed += 1;
                    text.push_str(&look.paragraph(2, &format!("- {}", whole(old))));
                }
            }
        }
    }
    if import.changes.is_empty() {
        return format!("nothing changes: {} rows as they stand in the base\n", import.rows);
    }
    let count = |count: usize, word: &str| format!("{count} {word}{}", if count == 1 { "" } else { "s" });
    text.push('\n');
    text.push_str(&format!(
        "{} changed, {added} added, {removed} taken out, in {}\n",
        if changed == 1 { "1 entry".to_owned() } else { format!("{changed} entries") },
        count(import.files.len(), "file")
    ));
    for (path, _) in import.files.iter().filter(|_| written) {
        text.push_str(&format!("written: {}\n", path.display()));
    }
    let next = if written {
        "now run `swardwright knowledge check --stamp \"WHAT CHANGED\"` with this folder as --knowledge: it checks \
         the base, and enters the words and the digest in the changelog of edition.toml"
    } else {
        "nothing is written; --apply writes it"
    };
    text + &look.paragraph(0, next)
}

fn shown(cell: &str) -> &str {
    if cell.is_empty() { "nothing" } else { cell }
}

fn cited(row: &Row) -> String {
    match (row.cell("source"), row.cell("at")) {
        (source, "") => source.to_owned(),
        (source, at) => format!("{source}, {at}"),
    }
}

fn whole(row: &Row) -> String {
    let cells = KEYS.into_iter().zip(&row.cells).filter(|(_, cell)| !cell.is_empty());
    cells.map(|(key, cell)| format!("{key} {cell}")).collect::<Vec<_>>().join(" · ")
}
