//! Which overlays had a hand in a line of an answer: by a rule or a value of theirs, or by one of the base
//! that they take out of force.

use super::grounds::{Grounds, grounds};
use crate::assess::{Assessment, Candidate};
use crate::diag::Place;
use crate::engine::facts::View;
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Effect, Rule};

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

/// Ids of the overlays behind what a rule says of a candidate: that of the rule itself, of the traits
/// that it reads, and of all that led to the facts that it reads.
pub fn overlays_behind(
    rule: &Rule,
    grounds: &Grounds<'_>,
    candidate: &Candidate<'_>,
    assessment: &Assessment<'_>,
) -> Vec<String> {
    let knowledge = assessment.knowledge;
    if knowledge.overlays.is_empty() {
        return Vec::new();
    }
    let read = || grounds.traits.iter().chain(&grounds.asked);
    let traits = read().filter_map(|at| candidate.species.traits.get(*at)?.as_ref());
    let evidence = traits.flat_map(|own| &own.evidence).map(|one| &one.place);
    let withdrawn = candidate.species.withdrawn.iter().filter(|(at, _)| read().any(|own| own == at));
    let rules = std::iter::once(&rule.place).chain(grounds.rules.iter().map(|from| &from.place));
    let mut ids = overlays_of(rules.chain(evidence).chain(withdrawn.map(|(_, place)| place)), knowledge);
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
        let behind = grounds(rule, candidate, assessment);
        add(&mut ids, overlays_behind(rule, &behind, candidate, assessment));
    }
    note_out_of_force(candidate, assessment, |effect| effect.rated_need() == Some(need), &mut ids);
    ids
}

/// Ids of the overlays that had a hand in where a candidate stands.
pub fn overlays_of_standing(candidate: &Candidate<'_>, assessment: &Assessment<'_>) -> Vec<String> {
    let mut ids = overlays_of(std::iter::once(&candidate.species.place), assessment.knowledge);
    for need in 0..candidate.needs.len() {
        add(&mut ids, overlays_of_need(candidate, need, assessment));
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
    };
    for (overlay, rule) in &knowledge.out_of_force {
        let silent = rule.when.as_ref().is_some_and(|when| when.expr.truth(&view) == Some(false));
        if !silent && rule.effects.iter().any(&concerns) {
            add(ids, vec![knowledge.overlays[*overlay].id.clone()]);
        }
    }
}

fn add(ids: &mut Vec<String>, more: Vec<String>) {
    for id in more {
        if !ids.contains(&id) {
            ids.push(id);
        }
    }
}
