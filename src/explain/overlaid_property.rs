//! Which overlays had a hand in a line of the answer of a property: in where a species stands in an area, in what
//! it takes there of what is limited, or in a limit.

use super::OverlaidFacts;
use super::overlays::{overlays_behind_slot, overlays_of_standing};
use crate::alike::add_once;
use crate::property::{Grounds, Limit, Measure, NEIGHBOURS, Property};

/// Ids of the overlays behind one option of an area: where it stands, and all that it takes.
pub fn overlays_of_option(property: &Property<'_>, area: usize, option: usize) -> Vec<String> {
    let mut ids = overlays_of_standing(property.candidate(area, option), &property.assessments[area]);
    for measure in &property.measures {
        add_once(&mut ids, overlays_of_taking(property, area, option, *measure));
    }
    ids
}

/// Ids of the overlays behind what an option of an area takes.
pub fn overlays_of_taking(
    property: &Property<'_>,
    area: usize,
    option: usize,
    measure: Measure,
) -> Vec<String> {
    overlays_of_grounds(property, area, option, &measure.grounds())
}

/// Ids of the overlays behind a limit and what the choice takes of it.
pub fn overlays_of_limit(property: &Property<'_>, choice: &[usize], limit: Limit) -> Vec<String> {
    let mut ids = Vec::new();
    match limit {
        Limit::Resource(at) => {
            for (area, option) in choice.iter().enumerate() {
                add_once(&mut ids, overlays_of_taking(property, area, *option, property.measures[at]));
            }
        }
        Limit::Pair(at) => {
            let pair = property.model.pairs[at];
            for area in [pair.a, pair.b].into_iter().filter(|area| *area < choice.len()) {
                add_once(&mut ids, overlays_of_grounds(property, area, choice[area], &NEIGHBOURS));
            }
        }
        Limit::Kinds | Limit::Zone(_) => {}
    }
    ids
}

fn overlays_of_grounds(
    property: &Property<'_>,
    area: usize,
    option: usize,
    grounds: &Grounds,
) -> Vec<String> {
    let (assessment, candidate) = (&property.assessments[area], property.candidate(area, option));
    let knowledge = assessment.knowledge;
    let mut ids = Vec::new();
    if knowledge.overlays.is_empty() {
        return ids;
    }
    let facts = OverlaidFacts::of(assessment);
    grounds.tables.iter().for_each(|table| add_once(&mut ids, facts.of_table(table)));
    for slot in grounds.facts.iter().filter_map(|id| knowledge.vocabulary.slot(id)) {
        add_once(&mut ids, overlays_behind_slot(slot, candidate, assessment));
    }
    ids
}
