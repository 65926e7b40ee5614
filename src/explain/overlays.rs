//! Which overlays had a hand in a line of an answer: by a rule or a value of theirs, by what a fact of the
//! site rests on, or by a rule of the base that they take out of force.

use super::grounds::{Grounds, grounds_of_candidate, grounds_with_open};
use super::overlaid_facts::OverlaidFacts;
use crate::alike::add_once;
use crate::assess::{Assessment, Candidate};
use crate::diag::Place;
use crate::engine::facts::View;
use crate::engine::value::Slot;
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Effect, Rule};
use crate::knowledge::species::TraitValue;

/// Ids of the overlays in which places lie, each once.
pub fn overlays_of<'a>(places: impl Iterator<Item = &'a Place>, knowledge: &Knowledge) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    for overlay in places.filter_map(|place| knowledge.overlay_of(place)) {
        if !ids.contains(&overlay.id) {
            ids.push(overlay.id.clone());
        }
    }
    ids
}

/// Where the entries of a value stand, and the publications whose kind gives each its weight.
pub fn places_of(value: &TraitValue) -> impl Iterator<Item = &Place> {
    value.evidence.iter().flat_map(|one| [&one.place, &one.citation.publication.place])
}

/// Ids of the overlays behind what a rule says: that of the rule itself and of its sources, of the traits
/// and facts that it reads, and of all that led to those. Without a candidate, of the site alone.
pub fn overlays_behind(
    rule: &Rule,
    candidate: Option<&Candidate<'_>>,
    assessment: &Assessment<'_>,
) -> Vec<String> {
    let knowledge = assessment.knowledge;
    if knowledge.overlays.is_empty() {
        return Vec::new();
    }
    overlays_of_grounds(Some(rule), &grounds_with_open(rule, candidate, assessment), candidate, assessment)
}

/// Ids of the overlays behind a trait of a candidate, or a fact of it or of the site there, and all that led to it.
pub fn overlays_behind_slot(
    slot: Slot,
    candidate: &Candidate<'_>,
    assessment: &Assessment<'_>,
) -> Vec<String> {
    if assessment.knowledge.overlays.is_empty() {
        return Vec::new();
    }
    let grounds = grounds_of_candidate(slot, candidate, assessment);
    overlays_of_grounds(None, &grounds, Some(candidate), assessment)
}

/// Ids of the overlays of a rule and of all that stands behind it, or of the latter alone.
fn overlays_of_grounds(
    rule: Option<&Rule>,
    grounds: &Grounds<'_>,
    candidate: Option<&Candidate<'_>>,
    assessment: &Assessment<'_>,
) -> Vec<String> {
    let knowledge = assessment.knowledge;
    let rules = || rule.into_iter().chain(grounds.rules.iter().copied());
    let cited = rules().flat_map(|one| &one.citations).map(|one| &one.publication.place);
    let mut ids = overlays_of(rules().map(|one| &one.place).chain(cited), knowledge);
    let facts = OverlaidFacts::of(assessment);
    grounds.facts.iter().for_each(|slot| add_once(&mut ids, facts.overlays(*slot)));
    rules().flat_map(Rule::tables).for_each(|table| add_once(&mut ids, facts.of_table(table)));
    let Some(candidate) = candidate else { return ids };
    let read = || grounds.traits.iter().chain(&grounds.asked);
    let traits = read().filter_map(|at| candidate.species.traits.get(*at)?.as_ref());
    let withdrawn = candidate.species.withdrawn.iter().filter(|(at, _)| read().any(|own| own == at));
    let places = traits.flat_map(places_of).chain(withdrawn.map(|(_, place)| place));
    add_once(&mut ids, overlays_of(places, knowledge));
    let writes = |effect: &Effect| effect.writes().is_some_and(|slot| grounds.facts.contains(&slot));
    note_out_of_force(candidate, assessment, writes, &mut ids);
    ids
}

/// Ids of the overlays that had a hand in what a need of a candidate came to.
pub fn overlays_of_need(candidate: &Candidate<'_>, need: usize, assessment: &Assessment<'_>) -> Vec<String> {
    let knowledge = assessment.knowledge;
    let mut ids = Vec::new();
    if knowledge.overlays.is_empty() {
        return ids;
    }
    let outcome = &candidate.outcome.needs[need];
    let rules =
        outcome.contributions.iter().map(|one| one.rule).chain(outcome.open.iter().map(|one| one.rule));
    for rule in rules.map(|at| &knowledge.rules[at]) {
        add_once(&mut ids, overlays_behind(rule, Some(candidate), assessment));
    }
    note_out_of_force(candidate, assessment, |effect| effect.rated_need() == Some(need), &mut ids);
    ids
}

/// Ids of the overlays behind a rule that is open: also those of the need, since such a line tells as what the
/// need counts meanwhile.
pub fn overlays_of_open(
    rule: &Rule,
    need: usize,
    candidate: &Candidate<'_>,
    assessment: &Assessment<'_>,
) -> Vec<String> {
    let mut ids = overlays_behind(rule, Some(candidate), assessment);
    add_once(&mut ids, overlays_of_need(candidate, need, assessment));
    ids
}

/// Ids of the overlays that had a hand in where a candidate stands.
pub fn overlays_of_standing(candidate: &Candidate<'_>, assessment: &Assessment<'_>) -> Vec<String> {
    let mut ids = overlays_of(std::iter::once(&candidate.species.place), assessment.knowledge);
    for need in 0..candidate.needs.len() {
        add_once(&mut ids, overlays_of_need(candidate, need, assessment));
    }
    ids
}

/// Notes the overlays that take a rule of the base out of force which would have such an effect on the
/// candidate, or might.
fn note_out_of_force(
    candidate: &Candidate<'_>,
    assessment: &Assessment<'_>,
    concerns: impl Fn(&Effect) -> bool,
    ids: &mut Vec<String>,
) {
    let knowledge = assessment.knowledge;
    if knowledge.out_of_force.is_empty() {
        return;
    }
    let species = candidate.species.trait_values();
    let outcome = &candidate.outcome;
    let view = View {
        site: &assessment.values,
        species: &species,
        fit: &outcome.fit,
        needs: &[],
        awaited: &outcome.awaited,
        awaited_of_site: &assessment.facts.awaited(knowledge),
    };
    for (overlay, rule) in &knowledge.out_of_force {
        let silent = rule.when.as_ref().is_some_and(|when| when.expr.truth(&view) == Some(false));
        if !silent && rule.effects.iter().any(&concerns) {
            add_once(ids, vec![knowledge.overlays[*overlay].id.clone()]);
        }
    }
}
