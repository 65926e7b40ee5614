//! What is known of an area and of a species.

use crate::assess::Assessment;
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::species::Species;

/// A number that is known of an area.
pub fn number(assessment: &Assessment<'_>, id: &str) -> Option<f64> {
    value(assessment, id)?.as_number()
}

/// What is known of an area under a fact.
pub fn value<'a>(assessment: &'a Assessment<'_>, id: &str) -> Option<&'a Value> {
    let slot = assessment.knowledge.vocabulary.slot(id)?;
    assessment.values.get(slot.index)?.as_ref()
}

/// Whether an area is watered, as far as is known.
pub fn is_watered(assessment: &Assessment<'_>) -> bool {
    value(assessment, "site.irrigation").and_then(Value::as_position) != Some(0)
}

/// A trait that is known of a species, or estimated.
pub fn trait_of<'a>(species: &'a Species, id: &str, knowledge: &Knowledge) -> Option<&'a Value> {
    let slot = knowledge.vocabulary.slot(id)?;
    species.traits.get(slot.index)?.as_ref().map(|one| &one.value)
}

/// The lowest and the highest that a source gives of a trait: numbers, or positions of steps.
pub fn spread_of(species: &Species, id: &str, knowledge: &Knowledge) -> Option<(f64, f64)> {
    let slot = knowledge.vocabulary.slot(id)?;
    species.traits.get(slot.index)?.as_ref()?.spread
}
