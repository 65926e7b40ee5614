//! What stands behind a line of an answer: the rules that led to it, and the traits that all of them read.

use std::collections::VecDeque;

use crate::assess::{Assessment, Candidate};
use crate::engine::value::{Slot, Space};
use crate::knowledge::rule::{Effect, Rule};

/// What stands behind what a rule says of a candidate.
#[derive(Clone, Debug, Default)]
pub struct Grounds<'k> {
    /// The rules whose results it reads, directly or through others.
    pub rules: Vec<&'k Rule>,
    /// Positions of the traits whose values it reads, those nearest to it first.
    pub traits: Vec<usize>,
    /// Positions of the traits of which it only asks whether they are known.
    pub asked: Vec<usize>,
    /// The facts of the site and of the species there that it reads on the way.
    pub facts: Vec<Slot>,
}

/// Follows what a rule reads through derived facts and formulas down to the traits of the species.
pub fn grounds<'k>(rule: &Rule, candidate: &Candidate<'_>, assessment: &Assessment<'k>) -> Grounds<'k> {
    let (outcome, knowledge) = (&candidate.outcome, assessment.knowledge);
    let mut found = Grounds::default();
    let mut to_follow: VecDeque<(Slot, bool)> = reads(rule).into();
    let mut followed: Vec<(Slot, bool)> = Vec::new();
    while let Some((slot, only_known)) = to_follow.pop_front() {
        if followed.contains(&(slot, only_known)) {
            continue;
        }
        followed.push((slot, only_known));
        match slot.space {
            Space::Species if only_known => found.asked.push(slot.index),
            Space::Species => found.traits.push(slot.index),
            Space::Need => {
                for one in outcome.needs.get(slot.index).into_iter().flat_map(|need| &need.contributions) {
                    found.rules.push(&knowledge.rules[one.rule]);
                    to_follow.extend(reads(&knowledge.rules[one.rule]));
                }
            }
            Space::Site | Space::Fit => {
                found.facts.push(slot);
                for (at, effect, _) in outcome.derived.iter().chain(&assessment.site_outcome.derived) {
                    let from = &knowledge.rules[*at];
                    if from.effects[*effect].writes() == Some(slot) {
                        found.rules.push(from);
                        to_follow.extend(reads(from));
                    }
                }
                let formulas = knowledge.formulas.iter().filter(|formula| formula.writes.contains(&slot));
                to_follow.extend(formulas.flat_map(|formula| &formula.reads).map(|read| (*read, false)));
            }
        }
    }
    found
}

/// What a rule reads, and whether only to ask if it is known. What its level is computed from comes
/// first: that says more than what the condition asks.
fn reads(rule: &Rule) -> Vec<(Slot, bool)> {
    let mut slots = Vec::new();
    for effect in &rule.effects {
        if let Effect::Rate { level: value, .. } | Effect::Derive { value, .. } = effect {
            value.expr.visit_slots(&mut |slot, only_known| slots.push((slot, only_known)));
        }
    }
    if let Some(when) = &rule.when {
        when.expr.visit_slots(&mut |slot, only_known| slots.push((slot, only_known)));
    }
    slots
}
