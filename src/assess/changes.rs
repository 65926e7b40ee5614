//! How the answer for one site changes with the knowledge behind it, and by which rule.

use std::collections::{BTreeMap, BTreeSet};

use super::{Assessment, Candidate};
use crate::knowledge::rule::Effect;

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

/// A credit, a caution or a task that is said where it was not said, or no longer where it was. It moves no
/// level, and so no place, but it is a line of the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct SpokenChange {
    /// Id of the rule.
    pub rule: String,
    /// What it says: `credit`, `task`, or `caution` with how grave it is.
    pub what: String,
    /// Of what it is said now and was not.
    pub gained: Hearers,
    /// Of what it was said and is no longer.
    pub lost: Hearers,
}

/// Whom a rule speaks of.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hearers {
    /// The site, whatever grows there.
    pub site: bool,
    /// These species, by their ids in order.
    pub species: Vec<String>,
}

impl Hearers {
    /// Whether it speaks of nothing.
    pub fn is_empty(&self) -> bool {
        !self.site && self.species.is_empty()
    }
}

/// What is said of the site and of the species that both answers have, and was not, or the other way round; in
/// the order of the ids of the rules.
pub fn spoken_changes(before: &Assessment<'_>, after: &Assessment<'_>) -> Vec<SpokenChange> {
    let (was, is) = (said(before, after), said(after, before));
    let none = BTreeSet::new();
    let every: BTreeSet<&(String, String)> = was.keys().chain(is.keys()).collect();
    let mut changes = Vec::new();
    for words in every {
        let (old, new) = (was.get(words).unwrap_or(&none), is.get(words).unwrap_or(&none));
        let (gained, lost) = (hearers(new.difference(old)), hearers(old.difference(new)));
        if !gained.is_empty() || !lost.is_empty() {
            changes.push(SpokenChange { rule: words.0.clone(), what: words.1.clone(), gained, lost });
        }
    }
    changes
}

/// By rule and what it says: of whom, the site being `None`.
type Said<'a> = BTreeMap<(String, String), BTreeSet<Option<&'a str>>>;

/// What one answer says, of the site and of the species that the other answer has too.
fn said<'a>(one: &'a Assessment<'_>, other: &Assessment<'_>) -> Said<'a> {
    let mut said = Said::new();
    let shared = one.candidates.iter().filter(|own| other.candidate(&own.species.id).is_some());
    let of_species = shared.map(|own| (Some(own.species.id.as_str()), &own.outcome));
    for (whom, outcome) in std::iter::once((None, &one.site_outcome)).chain(of_species) {
        for (rule, effect) in &outcome.spoken {
            let rule = &one.knowledge.rules[*rule];
            let what = match &rule.effects[*effect] {
                Effect::Caution { gravity, .. } => format!("caution, {}", gravity.name()),
                effect => effect.name().to_owned(),
            };
            said.entry((rule.id.clone(), what)).or_default().insert(whom);
        }
    }
    said
}

fn hearers<'a>(whom: impl Iterator<Item = &'a Option<&'a str>>) -> Hearers {
    let mut hearers = Hearers::default();
    for one in whom {
        match one {
            Some(species) => hearers.species.push((*species).to_owned()),
            None => hearers.site = true,
        }
    }
    hearers
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
