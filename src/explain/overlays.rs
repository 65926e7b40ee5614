//! Which overlays had a hand in a line of an answer.

use super::grounds::Grounds;
use crate::assess::Candidate;
use crate::diag::Place;
use crate::knowledge::Knowledge;
use crate::knowledge::rule::Rule;

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
    knowledge: &Knowledge,
) -> Vec<String> {
    if knowledge.overlays.is_empty() {
        return Vec::new();
    }
    let read = grounds.traits.iter().chain(&grounds.asked);
    let traits = read.filter_map(|at| candidate.species.traits.get(*at)?.as_ref());
    let evidence = traits.flat_map(|own| &own.evidence).map(|one| &one.place);
    let rules = std::iter::once(&rule.place).chain(grounds.rules.iter().map(|from| &from.place));
    overlays_of(rules.chain(evidence), knowledge)
}
