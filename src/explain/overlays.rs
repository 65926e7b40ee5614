//! Which overlays had a hand in a line of an answer.

use crate::assess::Candidate;
use crate::diag::Place;
use crate::engine::value::{Slot, Space};
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
pub fn overlays_behind(rule: &Rule, candidate: &Candidate<'_>, knowledge: &Knowledge) -> Vec<String> {
    if knowledge.overlays.is_empty() {
        return Vec::new();
    }
    let mut places: Vec<&Place> = vec![&rule.place];
    let mut to_follow: Vec<Slot> = rule.reads();
    let mut followed: Vec<Slot> = Vec::new();
    while let Some(slot) = to_follow.pop() {
        if followed.contains(&slot) {
            continue;
        }
        followed.push(slot);
        if slot.space == Space::Species {
            let own = candidate.species.traits.get(slot.index).and_then(Option::as_ref);
            places.extend(own.into_iter().flat_map(|own| &own.evidence).map(|one| &one.place));
            continue;
        }
        for (at, effect, _) in &candidate.outcome.derived {
            let from = &knowledge.rules[*at];
            if from.effects[*effect].writes() == Some(slot) {
                places.push(&from.place);
                to_follow.extend(from.reads());
            }
        }
    }
    overlays_of(places.into_iter(), knowledge)
}
