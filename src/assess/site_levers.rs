//! What the client can change on a site: the inputs with the settings that each can be brought to, and those that
//! could be changed but are not stated, so that nobody knows from where.

use super::Assessment;
use crate::engine::facts::Known;
use crate::engine::value::Value;
use crate::knowledge::lever::Lever;
use crate::knowledge::vocabulary::{Change, Declaration, From};
use crate::site::facts::{Derivation, SiteFacts};
use crate::site::file::LIGHT;
use crate::site::water_facts::HOW_MUCH;

/// An input of the site that the client can change, with the settings it can be brought to.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteLever {
    /// Position of the fact.
    pub fact: usize,
    /// What it takes.
    pub effort: Change,
    /// The present one, where it is stated.
    pub now: Option<Value>,
    /// The settings, the nearest to the present one first.
    pub settings: Vec<Value>,
}

impl SiteLever {
    /// The settings that are more than the present one, the most of it first; all where they have no order.
    pub fn more(&self) -> Vec<&Value> {
        let rank = |value: &Value| match value {
            Value::Number(number) => Some(*number),
            Value::Step(step) => Some(*step as f64),
            _ => None,
        };
        let ranked = self.settings.iter().map(|value| rank(value).map(|rank| (rank, value)));
        let Some(mut ranked) = ranked.collect::<Option<Vec<_>>>() else {
            return self.settings.iter().rev().collect();
        };
        let now = self.now.as_ref().and_then(rank);
        ranked.retain(|(rank, _)| now.is_none_or(|now| *rank > now));
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        ranked.into_iter().map(|(_, value)| value).collect()
    }
}

/// What the client can change on this site: nothing that the site file takes out of play.
pub fn levers(assessment: &Assessment<'_>, derivation: &Derivation<'_>) -> Vec<SiteLever> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let levers = open_levers(assessment, derivation).filter_map(|(fact, lever)| {
        let declaration = &vocabulary.site[fact];
        let now = assessment.site.values.get(fact)?.as_ref().map(|(value, _)| value);
        let settings = lever.settings(declaration, now, vocabulary);
        let lever = SiteLever { fact, effort: declaration.change, now: now.cloned(), settings };
        (!lever.settings.is_empty()).then_some(lever)
    });
    levers.collect()
}

/// What the client could change but does not state, and is not for the client to decide.
pub fn unstated(assessment: &Assessment<'_>, derivation: &Derivation<'_>) -> Vec<usize> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let stated = |fact: usize| assessment.site.values.get(fact).is_some_and(Option::is_some);
    // light that is stated in one way is stated
    let light = |fact: usize| LIGHT.contains(&vocabulary.site[fact].id.as_str());
    let light_is_stated = (0..vocabulary.site.len()).any(|fact| light(fact) && stated(fact));
    let unstated = open_levers(assessment, derivation).filter(|(fact, lever)| {
        let is_stated = stated(*fact) || (light_is_stated && light(*fact));
        !is_stated && lever.settings(&vocabulary.site[*fact], None, vocabulary).is_empty()
    });
    unstated.map(|(fact, _)| fact).collect()
}

/// Whether an input cannot be stated on a site: how much irrigation is given, where none is allowed.
pub fn is_moot(input: usize, facts: &SiteFacts, declared: &[Declaration]) -> bool {
    let name = declared[input].id.trim_start_matches("site.");
    let is_none = |known: &Known| known.value.as_position() == Some(0);
    let irrigation = || declared.iter().position(|own| own.id == "site.irrigation");
    HOW_MUCH.contains(&name) && irrigation().is_some_and(|at| facts.known[at].as_ref().is_some_and(is_none))
}

/// The levers that the site file leaves in play.
fn open_levers<'k>(
    assessment: &Assessment<'k>,
    derivation: &Derivation<'_>,
) -> impl Iterator<Item = (usize, &'k Lever)> {
    let declared = assessment.knowledge.vocabulary.site.iter().enumerate();
    declared.filter_map(|(fact, declaration)| {
        let open = declaration.change != Change::Impossible
            && declaration.from == From::File
            && !assessment.site.fixed.contains(&fact)
            && !derivation.makes_climate(fact);
        Some((fact, declaration.lever.as_ref().filter(|_| open)?))
    })
}
