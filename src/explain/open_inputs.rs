//! The inputs that a site file leaves out and that rules wait for.

use std::collections::BTreeMap;

use crate::assess::{Assessment, Candidate, matters};
use crate::engine::value::{Slot, Space};
use crate::knowledge::vocabulary::Change;

/// An input that the site file leaves out and that some rule waits for.
pub struct OpenInput {
    /// Position of its declaration.
    pub index: usize,
    /// How a client is asked for it.
    pub question: String,
    /// Whether it might change a level of a candidate.
    pub could_change: bool,
    /// The values that were tried in its place, written.
    pub tried: String,
}

/// The inputs that rules wait for, those that might change a level first.
pub fn open_inputs(assessment: &Assessment<'_>, candidates: &[&Candidate<'_>]) -> Vec<OpenInput> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let mut waited: BTreeMap<usize, bool> = BTreeMap::new();
    let mut note = |slots: &[Slot], matters: bool| {
        for slot in slots.iter().filter(|slot| slot.space == Space::Site) {
            let inputs = assessment.facts.open.get(&slot.index).map(|open| open.waits_for.clone());
            let inputs = inputs.unwrap_or_else(|| vec![slot.index]);
            for input in inputs.into_iter().filter(|input| !vocabulary.site[*input].ask.is_empty()) {
                *waited.entry(input).or_default() |= matters;
            }
        }
    };
    for candidate in candidates {
        for need in &candidate.outcome.needs {
            for open in &need.open {
                note(&open.missing, matters(need.level, open.worst));
            }
        }
        candidate.outcome.unspoken.iter().for_each(|open| note(&open.missing, false));
    }
    assessment.site_outcome.unspoken.iter().for_each(|open| note(&open.missing, false));
    let mut open: Vec<OpenInput> = waited
        .into_iter()
        .map(|(index, could_change)| {
            let declaration = &vocabulary.site[index];
            let mut tried: Vec<String> = declaration
                .plausible
                .iter()
                .map(|value| vocabulary.write(value, declaration.kind, assessment.units()))
                .collect();
            tried.dedup();
            OpenInput { index, question: declaration.ask.clone(), could_change, tried: tried.join(", ") }
        })
        .collect();
    open.sort_by_key(|fact| {
        (!fact.could_change, vocabulary.site[fact.index].change == Change::Impossible, fact.index)
    });
    open
}
