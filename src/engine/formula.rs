//! Facts of one species at one site that the program computes while rules run: a formula reads what
//! earlier rules derived and writes facts that later rules read, and takes its place among the
//! strata like a rule.

use super::facts::View;
use super::plausible::Plausible;
use super::value::{Slot, Value};
use crate::knowledge::names::Names;

/// What a formula reads and writes, in the names of the vocabulary.
#[derive(Clone, Copy, Debug)]
pub struct Declared {
    /// Its name in traces.
    pub id: &'static str,
    /// What it reads of a species and of what rules derive.
    pub reads: &'static [&'static str],
    /// Facts of the site that it reads, which are known before any rule runs.
    pub of_site: &'static [&'static str],
    /// What it writes.
    pub writes: &'static [&'static str],
}

/// A formula whose names the vocabulary has.
#[derive(Clone, Debug, PartialEq)]
pub struct Formula {
    /// Its name in traces.
    pub id: &'static str,
    /// What it reads of a species and of what rules derive.
    pub reads: Vec<Slot>,
    /// What it reads of the site.
    pub of_site: Vec<Slot>,
    /// What it writes.
    pub writes: Vec<Slot>,
}

impl Formula {
    /// The formula, if the vocabulary declares all that it reads and writes.
    pub fn resolve(declared: &Declared, names: &Names<'_>) -> Option<Self> {
        let slots = |ids: &[&str]| ids.iter().map(|id| names.slot(id)).collect::<Option<Vec<Slot>>>();
        Some(Self {
            id: declared.id,
            reads: slots(declared.reads)?,
            of_site: declared.of_site.iter().filter_map(|id| names.slot(id)).collect(),
            writes: slots(declared.writes)?,
        })
    }
}

/// One fact that a formula computed: its value, or what it may be while inputs are unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct ComputedFact {
    /// Which fact.
    pub slot: Slot,
    /// One value when all inputs are known, several when some had to be supposed.
    pub values: Vec<Value>,
    /// The inputs that were supposed.
    pub waits_for: Vec<Slot>,
}

/// Runs formulas for one site.
pub trait Compute {
    /// What the formula of that name gives for the species in view; nothing where an input is
    /// unknown and nothing can be supposed.
    fn compute(&self, id: &str, view: &View<'_>, plausible: &dyn Plausible) -> Vec<ComputedFact>;
}
