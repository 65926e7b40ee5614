//! How the answer for one site changes with the knowledge behind it, and by which rule.

use std::collections::BTreeMap;

use super::{Assessment, Candidate};

/// Places that count as the first ones.
const FIRST: usize = 3;
/// Levels that differ by less are the same.
const SAME_LEVEL: f64 = 0.005;

/// A species whose class changed, or that came among the first or left them.
#[derive(Clone, Debug, PartialEq)]
pub struct AnswerChange {
    /// Its id.
    pub species: String,
    /// Class as printed and place before; `None` where it was no candidate.
    pub before: Option<(String, usize)>,
    /// Class as printed and place now; `None` where it is no candidate.
    pub after: Option<(String, usize)>,
    /// The need whose level changed most, its level before and now, and the rule that did it; `None`
    /// where its own levels are the same and others passed it.
    pub cause: Option<Cause>,
}

/// What moved a species.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// Id of the need.
    pub need: String,
    /// Its level before.
    pub before: f64,
    /// Its level now.
    pub after: f64,
    /// The rule on that need whose own level changed most, if one did.
    pub rule: Option<String>,
}

/// What changes from one answer for a site to another, in the order of the new one.
pub fn answer_changes(before: &Assessment<'_>, after: &Assessment<'_>) -> Vec<AnswerChange> {
    let stand = |one: &Candidate<'_>| (one.standing.label(), one.rank);
    let mut changes = Vec::new();
    for own in &after.candidates {
        let was = before.candidate(&own.species.id);
        let (old, new) = (was.map(stand), stand(own));
        let first = |standing: &Option<(String, usize)>| standing.as_ref().is_some_and(|one| one.1 <= FIRST);
        let new = Some(new);
        let moved =
            old.as_ref().map(|one| &one.0) != new.as_ref().map(|one| &one.0) || first(&old) != first(&new);
        if moved {
            let cause = was.and_then(|was| cause((was, before), (own, after)));
            changes.push(AnswerChange { species: own.species.id.clone(), before: old, after: new, cause });
        }
    }
    for gone in before.candidates.iter().filter(|one| after.candidate(&one.species.id).is_none()) {
        let species = gone.species.id.clone();
        changes.push(AnswerChange { species, before: Some(stand(gone)), after: None, cause: None });
    }
    changes
}

type Side<'a, 'k> = (&'a Candidate<'k>, &'a Assessment<'k>);

/// The need that changed most and the rule behind it.
fn cause(before: Side<'_, '_>, after: Side<'_, '_>) -> Option<Cause> {
    let levels = |(candidate, assessment): Side<'_, '_>| -> BTreeMap<String, f64> {
        let needs = &assessment.knowledge.needs.all;
        let of = |state: &crate::rank::NeedState<usize>| (needs[state.need].id.clone(), state.used().value());
        candidate.needs.iter().map(of).collect()
    };
    let (was, is) = (levels(before), levels(after));
    let level = |of: &BTreeMap<String, f64>, need: &String| of.get(need).copied().unwrap_or(0.0);
    let change = |need: &String| (level(&is, need) - level(&was, need)).abs();
    let need = was.keys().chain(is.keys()).max_by(|a, b| change(a).total_cmp(&change(b)))?;
    if change(need) < SAME_LEVEL {
        return None;
    }
    Some(Cause {
        need: need.clone(),
        before: level(&was, need),
        after: level(&is, need),
        rule: rule_behind(need, before, after),
    })
}

/// The rule on a need whose level changed most; one that came or went changed by all of its level.
fn rule_behind(need: &str, before: Side<'_, '_>, after: Side<'_, '_>) -> Option<String> {
    let levels = |(candidate, assessment): Side<'_, '_>| -> BTreeMap<String, f64> {
        let knowledge = assessment.knowledge;
        let at = knowledge.needs.all.iter().position(|one| one.id == need);
        let outcome = at.and_then(|at| candidate.outcome.needs.get(at));
        let mut levels = BTreeMap::new();
        for one in outcome.into_iter().flat_map(|outcome| &outcome.contributions) {
            levels.insert(knowledge.rules[one.rule].id.clone(), one.level);
        }
        for open in outcome.into_iter().flat_map(|outcome| &outcome.open) {
            levels.entry(knowledge.rules[open.rule].id.clone()).or_insert(open.worst);
        }
        levels
    };
    let (was, is) = (levels(before), levels(after));
    let level = |of: &BTreeMap<String, f64>, rule: &String| of.get(rule).copied().unwrap_or(0.0);
    let change = |rule: &String| (level(&is, rule) - level(&was, rule)).abs();
    let most = was.keys().chain(is.keys()).max_by(|a, b| change(a).total_cmp(&change(b)))?;
    (change(most) >= SAME_LEVEL).then(|| most.clone())
}
