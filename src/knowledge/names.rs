//! The names that an expression may use.

use super::needs::Need;
use super::tables::LookupTable;
use super::vocabulary::Vocabulary;
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
