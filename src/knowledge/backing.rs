//! What stands behind a value: a publication, trade pages alone, common practice, or memory.

use super::sources::SourceKind;
use super::species::TraitValue;

/// The best that stands behind the value of a trait, the best kind first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Backing {
    /// A paper, an agency, a standard, extension or a society.
    Published,
    /// Pages of the trade or the press, and nothing better.
    Trade,
    /// Common practice, and nothing better.
    Practice,
    /// Memory alone.
    Memory,
}

impl Backing {
    /// The kinds with the names that tables use.
    pub const NAMES: [(Self, &'static str); 4] = [
        (Self::Published, "published"),
        (Self::Trade, "trade"),
        (Self::Practice, "practice"),
        (Self::Memory, "memory"),
    ];

    /// What stands behind a value; `None` for one that no entry states, such as an estimate.
    pub fn of(value: &TraitValue) -> Option<Self> {
        let each = value.evidence.iter().map(|entry| match entry.citation.publication.kind {
            _ if entry.citation.is_memory() => Self::Memory,
            _ if entry.citation.is_unpublished() => Self::Practice,
            SourceKind::Practice => Self::Practice,
            SourceKind::Trade => Self::Trade,
            _ => Self::Published,
        });
        each.min()
    }

    /// The name that tables use.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(own, _)| *own == self).map_or("", |(_, name)| name)
    }
}

/// How many species have a trait, by what stands behind the value.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    /// Values of a publication.
    pub published: usize,
    /// Values of trade pages alone.
    pub trade: usize,
    /// Values of common practice.
    pub practice: usize,
    /// Values from memory.
    pub memory: usize,
    /// Species without a value; an estimate counts here.
    pub absent: usize,
}

impl Coverage {
    /// Counts one species.
    pub fn count(&mut self, value: Option<&TraitValue>) {
        let slot = match value.and_then(Backing::of) {
            Some(Backing::Published) => &mut self.published,
            Some(Backing::Trade) => &mut self.trade,
            Some(Backing::Practice) => &mut self.practice,
            Some(Backing::Memory) => &mut self.memory,
            None => &mut self.absent,
        };
        *slot += 1;
    }

    /// Adds another count.
    pub fn add(&mut self, other: &Self) {
        self.published += other.published;
        self.trade += other.trade;
        self.practice += other.practice;
        self.memory += other.memory;
        self.absent += other.absent;
    }

    /// Values that stand in a source of any kind.
    pub fn sourced(&self) -> usize {
        self.published + self.trade
    }

    /// Species with a value.
    pub fn known(&self) -> usize {
        self.sourced() + self.practice + self.memory
    }

    /// All species that were counted.
    pub fn all(&self) -> usize {
        self.known() + self.absent
    }
}
