//! The entries of a base as they stand in its files.

use super::row::Row;
use crate::diag::Findings;
use crate::document::{NodeKind, Table, parse};
use crate::knowledge::Knowledge;
use crate::knowledge::species::Species;

/// An entry with whose it is.
#[derive(Clone, Debug)]
pub struct EntryRow {
    /// Id of the species.
    pub species: String,
    /// Name of the trait.
    pub trait_name: String,
    /// What it says.
    pub row: Row,
}

/// Every entry of the traits and species that `wanted` picks, by species and then in the order of
/// their files.
pub fn entry_rows(knowledge: &Knowledge, wanted: impl Fn(&Species, &str) -> bool) -> Vec<EntryRow> {
    let mut rows = Vec::new();
    for species in &knowledge.species {
        let Some(file) = tree(species) else { continue };
        let Some(traits) = file.get("traits").and_then(|entry| entry.node.as_table()) else { continue };
        for (name, _) in traits.iter().filter(|(name, _)| wanted(species, name)) {
            rows.extend(rows_of(species, &file, name).into_iter().map(|row| EntryRow {
                species: species.id.clone(),
                trait_name: name.to_owned(),
                row,
            }));
        }
    }
    rows
}

/// The tree of the file of a species.
pub fn tree(species: &Species) -> Option<Table> {
    parse(&species.place.source, &mut Findings::new())
}

/// The entries of one trait as they stand in the file of a species.
pub fn rows_of(species: &Species, file: &Table, name: &str) -> Vec<Row> {
    let traits = file.get("traits").and_then(|entry| entry.node.as_table());
    let list = traits.and_then(|traits| traits.get(name)).map(|entry| &entry.node.kind);
    let Some(NodeKind::List(items)) = list else { return Vec::new() };
    let tables = items.iter().filter_map(|item| item.as_table());
    tables.map(|table| Row::of(table, &species.place.source.text)).collect()
}
