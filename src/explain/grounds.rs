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

/// Follows what a rule reads through derived facts and formulas down to the traits of the species; without
/// a candidate, to what is known of the site.
pub fn grounds<'k>(
    rule: &Rule,
    candidate: Option<&Candidate<'_>>,
    assessment: &Assessment<'k>,
) -> Grounds<'k> {
    follow(reads(rule), Through::Decided, candidate, assessment)
}

/// The same, and through rules that cannot be decided and might yet write what is read.
pub fn grounds_with_open<'k>(
    rule: &Rule,
    candidate: Option<&Candidate<'_>>,
    assessment: &Assessment<'k>,
) -> Grounds<'k> {
    follow(reads(rule), Through::Open, candidate, assessment)
}

/// The same of a single fact.
pub fn grounds_of_fact<'k>(slot: Slot, assessment: &Assessment<'k>) -> Grounds<'k> {
    follow(vec![(slot, false)], Through::Decided, None, assessment)
}

/// The same of a fact or a trait of a candidate, through rules that cannot be decided too.
pub fn grounds_of_candidate<'k>(
    slot: Slot,
    candidate: &Candidate<'_>,
    assessment: &Assessment<'k>,
) -> Grounds<'k> {
    follow(vec![(slot, false)], Through::Open, Some(candidate), assessment)
}

/// Through which rules facts are followed.
#[derive(Clone, Copy, PartialEq)]
enum Through {
    /// Those that fired.
    Decided,
    /// Those that are open too.
    Open,
}

fn follow<'k>(
    from: Vec<(Slot, bool)>,
    through: Through,
    candidate: Option<&Candidate<'_>>,
    assessment: &Assessment<'k>,
) -> Grounds<'k> {
    let (outcome, knowledge) = (candidate.map(|one| &one.outcome), assessment.knowledge);
    let awaited = |slot: Slot| match slot.space {
        Space::Site => matches!(assessment.values.get(slot.index), Some(None)),
        _ => outcome.is_some_and(|outcome| outcome.awaited.get(slot.index) == Some(&true)),
    };
    let mut found = Grounds::default();
    let mut to_follow: VecDeque<(Slot, bool)> = from.into();
    let mut followed: Vec<(Slot, bool)> = Vec::new();
    while let Some((slot, only_known)) = to_follow.pop_front() {
        if followed.contains(&(slot, only_known)) {
            continue;
        }
        followed.push((slot, only_known));
        match slot.space {
            Space::Species if only_known => found.asked.push(slot.index),
            Space::Species => {
                found.traits.push(slot.index);
                // what is counted rests on what it is counted from
                let counted = knowledge.vocabulary.species[slot.index].counted.as_ref();
                let of = counted.and_then(|counted| knowledge.vocabulary.slot(&counted.of));
                to_follow.extend(of.map(|slot| (slot, false)));
            }
            Space::Need => {
                let need = outcome.and_then(|outcome| outcome.needs.get(slot.index));
                let decided = need.into_iter().flat_map(|need| &need.contributions).map(|one| one.rule);
                let open = need.into_iter().flat_map(|need| &need.open).map(|one| one.rule);
                for at in decided.chain(open.filter(|_| through == Through::Open)) {
                    found.rules.push(&knowledge.rules[at]);
                    to_follow.extend(reads(&knowledge.rules[at]));
                }
            }
            Space::Site | Space::Fit => {
                found.facts.push(slot);
                let of_pair = outcome.into_iter().flat_map(|outcome| &outcome.derived);
                for (at, effect, _) in of_pair.chain(&assessment.site_outcome.derived) {
                    let from = &knowledge.rules[*at];
                    if from.effects[*effect].writes() == Some(slot) {
                        found.rules.push(from);
                        to_follow.extend(reads(from));
                    }
                }
                // what comes to one value whatever is still open is known by rules that are not decided
                for point in outcome.into_iter().flat_map(|outcome| &outcome.unspoken) {
                    let from = &knowledge.rules[point.rule];
                    if !awaited(slot) && from.effects[point.effect].writes() == Some(slot) {
                        found.rules.push(from);
                        to_follow.extend(reads(from));
                    }
                }
                if through == Through::Open && awaited(slot) {
                    let writes = |rule: &&Rule| rule.effects.iter().any(|one| one.writes() == Some(slot));
                    for from in knowledge.rules.iter().filter(writes) {
                        found.rules.push(from);
                        to_follow.extend(reads(from));
                    }
                }
                let formulas = knowledge.formulas.iter().filter(|formula| formula.writes.contains(&slot));
                for formula in formulas {
                    to_follow.extend(formula.reads.iter().chain(&formula.of_site).map(|read| (*read, false)));
                }
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
