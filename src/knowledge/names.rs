//! The names that an expression may use, what files are read against, and names declared with a fault.

use std::collections::HashSet;

use super::needs::Need;
use super::sources::Sources;
use super::tables::LookupTable;
use super::vocabulary::Vocabulary;
use crate::diag::Findings;
use crate::engine::value::{Slot, Space};

/// Everything that an expression may name.
#[derive(Clone, Copy)]
pub struct Names<'a> {
    /// Facts and traits.
    pub vocabulary: &'a Vocabulary,
    /// Needs, whose levels later rules may read.
    pub needs: &'a [Need],
    /// Tables to look up in.
    pub tables: &'a [LookupTable],
}

impl<'a> Names<'a> {
    /// The slot of a full name.
    pub fn slot(&self, name: &str) -> Option<Slot> {
        match name.strip_prefix("need.") {
            Some(need) => {
                let index = self.needs.iter().position(|own| own.id == need)?;
                Some(Slot { space: Space::Need, index })
            }
            None => self.vocabulary.slot(name),
        }
    }

    /// The full name of a slot.
    pub fn name_of(&self, slot: Slot) -> String {
        match slot.space {
            Space::Need => {
                format!("need.{}", self.needs.get(slot.index).map_or("?", |need| need.id.as_str()))
            }
            _ => self.vocabulary.declaration(slot).map_or_else(|| "?".to_owned(), |d| d.id.clone()),
        }
    }

    /// All full names of the vocabulary.
    pub fn all(&self) -> impl Iterator<Item = &'a str> + use<'a> {
        self.vocabulary.ids()
    }
}

/// What tables, climates and species are read against.
#[derive(Clone, Copy)]
pub struct Declared<'a> {
    /// Facts and traits.
    pub vocabulary: &'a Vocabulary,
    /// Publications.
    pub sources: &'a Sources,
}

/// Names whose declaration has a fault, so that nobody who uses them is blamed for it: names with
/// their family, such as `site.ph` or `sources.trial`, and whole families where a file of them cannot
/// be read.
#[derive(Clone, Debug, Default)]
pub struct Faulty(HashSet<String>);

impl Faulty {
    /// Notes a name, or a family.
    pub fn note(&mut self, name: impl Into<String>) {
        self.0.insert(name.into());
    }

    fn covers(&self, name: &str) -> bool {
        let family = name.split_once('.').map_or(name, |(family, _)| family);
        self.0.contains(name) || self.0.contains(family)
    }

    /// Drops the findings that only follow from a faulty declaration.
    pub fn drop_followers(&self, findings: &mut Findings) {
        findings.retain(|one| !one.undeclared.as_ref().is_some_and(|name| self.covers(name)));
    }
}
