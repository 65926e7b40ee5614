//! What rules see of one candidate at its site, or of the site alone.

use crate::assess::{Assessment, Candidate};
use crate::engine::facts::{Values, View};
use crate::engine::positions::Positions;
use crate::engine::value::Value;

/// The facts of one candidate, kept for as long as they are read.
pub(super) struct Sight<'a> {
    site: &'a [Option<Value>],
    species: Values,
    fit: &'a [Option<Value>],
    needs: Values,
    awaited: &'a [bool],
    awaited_of_site: Positions,
}

impl<'a> Sight<'a> {
    /// Of a candidate; `None` for the site alone.
    pub(super) fn of(assessment: &'a Assessment<'_>, candidate: Option<&'a Candidate<'_>>) -> Self {
        let settled = |one: &Candidate<'_>| {
            one.outcome.needs.iter().map(|need| need.settled().map(Value::Number)).collect()
        };
        Self {
            site: &assessment.values,
            species: candidate.map(|one| one.species.trait_values()).unwrap_or_default(),
            fit: candidate.map_or(&[], |one| &one.outcome.fit),
            needs: candidate.map(settled).unwrap_or_default(),
            awaited: candidate.map_or(&[], |one| &one.outcome.awaited),
            awaited_of_site: assessment.facts.awaited(assessment.knowledge),
        }
    }

    /// As the rules read them.
    pub(super) fn view(&self) -> View<'_> {
        View {
            site: self.site,
            species: &self.species,
            fit: self.fit,
            needs: &self.needs,
            awaited: self.awaited,
            awaited_of_site: &self.awaited_of_site,
        }
    }
}
