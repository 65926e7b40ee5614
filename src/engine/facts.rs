//! What is known of a site, and the view of all facts that an expression is evaluated in.

use super::expression::Facts;
use super::positions::Positions;
use super::value::{Slot, Space, Value};

/// Where a fact of the site comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// The site file.
    Given,
    /// A climate file that the site file names; the words tell which.
    Read(String),
    /// The nearest place of the gazetteer; the words tell which and how far.
    Nearest(String),
    /// A formula; the words name it.
    Computed(String),
    /// An estimate; the words name the method and its error.
    Estimated(String),
    /// A rule; the words are its id.
    Derived(String),
}

/// A known fact of a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The value.
    pub value: Value,
    /// Where it comes from.
    pub origin: Origin,
}

/// Values of one space, by the position of the declaration.
pub type Values = Vec<Option<Value>>;

/// The facts of one species at one site, as the rules see them.
#[derive(Clone, Copy)]
pub struct View<'a> {
    /// Facts of the site.
    pub site: &'a [Option<Value>],
    /// Traits of the species.
    pub species: &'a [Option<Value>],
    /// Facts of the species at the site.
    pub fit: &'a [Option<Value>],
    /// Levels of the needs, as far as they are settled.
    pub needs: &'a [Option<Value>],
    /// Which facts of the species at the site are not known, and may still be.
    pub awaited: &'a [bool],
    /// The same of facts of the site that the program computes.
    pub awaited_of_site: &'a Positions,
}

impl Facts for View<'_> {
    fn get(&self, slot: Slot) -> Option<&Value> {
        let values = match slot.space {
            Space::Site => self.site,
            Space::Species => self.species,
            Space::Fit => self.fit,
            Space::Need => self.needs,
        };
        values.get(slot.index)?.as_ref()
    }

    fn is_awaited(&self, slot: Slot) -> bool {
        match slot.space {
            Space::Fit => self.awaited.get(slot.index) == Some(&true),
            // every need has a level once nothing is open
            Space::Need => true,
            Space::Site => self.awaited_of_site.has(slot.index),
            Space::Species => false,
        }
    }
}

/// A view with other values in a few slots, to try what an unknown fact might be.
pub struct Supposing<'a, F> {
    /// The facts behind.
    pub facts: &'a F,
    /// The slots that are supposed otherwise.
    pub supposed: &'a [(Slot, Option<Value>)],
}

impl<F: Facts> Facts for Supposing<'_, F> {
    fn get(&self, slot: Slot) -> Option<&Value> {
        match self.supposed.iter().find(|(own, _)| *own == slot) {
            Some((_, value)) => value.as_ref(),
            None => self.facts.get(slot),
        }
    }

    fn is_awaited(&self, slot: Slot) -> bool {
        self.supposed.iter().all(|(own, _)| *own != slot) && self.facts.is_awaited(slot)
    }
}
