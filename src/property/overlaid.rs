//! What an area says, laid over what all areas share.

use crate::document::{Entry, Node, NodeKind, Table};
use crate::knowledge::Knowledge;
use crate::site::file::{FRACTIONS, LIGHT, find_key};
use crate::site::water_facts::HOW_MUCH;

/// The shared entries with those of an area over them, key by key.
pub fn overlaid(shared: &[&Entry], own: &[&Entry], knowledge: &Knowledge) -> Table {
    let mut table = Table { entries: Vec::new() };
    for entry in shared {
        let over = own.iter().find(|one| one.key == entry.key);
        match (entry.node.as_table(), over.and_then(|one| one.node.as_table())) {
            (Some(below), Some(above)) => table.entries.push(section(entry, below, above, knowledge)),
            _ if over.is_some() => {}
            _ => table.entries.push((*entry).clone()),
        }
    }
    for entry in own {
        if !table.entries.iter().any(|one| one.key == entry.key) {
            table.entries.push((*entry).clone());
        }
    }
    table
}

fn section(entry: &Entry, below: &Table, above: &Table, knowledge: &Knowledge) -> Entry {
    let ids = |key: &str| {
        let declarations = &knowledge.vocabulary.site;
        find_key(declarations, &format!("{}.{key}", entry.key)).map(|(at, ..)| declarations[at].id.as_str())
    };
    let said: Vec<&str> = above.iter().filter_map(|(key, _)| ids(key)).collect();
    // where an area gets no water, how much the others get is not said of it
    let dry = above
        .iter()
        .any(|(key, own)| ids(key) == Some("site.irrigation") && own.node.as_text() == Some("none"));
    let moot = |id: &str| dry && HOW_MUCH.contains(&id.trim_start_matches("site."));
    let stays =
        |key: &str| above.get(key).is_none() && !ids(key).is_some_and(|id| says_it(id, &said) || moot(id));
    let kept = below.entries.iter().filter(|one| stays(&one.key));
    let entries = kept.chain(&above.entries).cloned().collect();
    let node = Node { span: entry.node.span, kind: NodeKind::Table(Table { entries }) };
    Entry { key: entry.key.clone(), key_span: entry.key_span, node }
}

/// Whether some of what is said says what this fact says: the same in other units, or the light, or the
/// texture, in another way.
fn says_it(id: &str, said: &[&str]) -> bool {
    let light = |id: &str| LIGHT.contains(&id) || id == "site.canopy";
    let texture = |id: &str| FRACTIONS.contains(&id) || id == "site.texture";
    said.iter().any(|one| *one == id || (light(one) && light(id)) || (texture(one) && texture(id)))
}
