//! From the trace of an answer to reasons: for, against, cautions, tasks, what is open.

mod grounds;
pub mod next_question;
mod open_inputs;
mod order;
mod overlaid_facts;
mod overlaid_property;
mod overlays;
#[cfg(test)]
mod random_site_tests;
mod reasons;
mod sight;
pub mod to_first;
pub mod turns;
pub mod what_if;
#[cfg(test)]
mod what_if_tests;
pub mod why_not;
mod words;
#[cfg(test)]
mod written_change_tests;

use crate::assess::{Assessment, Candidate};
use crate::engine::facts::{Known, Origin};
pub use crate::engine::trace::Detail;
use crate::engine::trace::{Trace, trace};
use crate::engine::value::Space;
use sight::Sight;

pub use words::{Figured, awaited_names};

pub use open_inputs::open_inputs;
pub use overlaid_facts::OverlaidFacts;
pub use overlaid_property::{overlays_of_limit, overlays_of_option, overlays_of_taking};
pub use overlays::{overlays_of_need, overlays_of_standing};
pub use reasons::{Caution, Direction, Explanation, Reason, explain, plan};

/// The trace of one candidate.
pub fn trace_candidate(assessment: &Assessment<'_>, candidate: &Candidate<'_>, detail: Detail) -> Trace {
    let sight = Sight::of(assessment, Some(candidate));
    let origin = |at| origin(assessment, at);
    trace(assessment.knowledge, &candidate.outcome, &sight.view(), &origin, detail)
}

/// The trace of what rules say of the site alone.
pub fn trace_site(assessment: &Assessment<'_>) -> Trace {
    let sight = Sight::of(assessment, None);
    let origin = |at| origin(assessment, at);
    trace(assessment.knowledge, &assessment.site_outcome, &sight.view(), &origin, Detail::Brief)
}

fn origin(assessment: &Assessment<'_>, at: usize) -> Option<Origin> {
    let derived = || {
        let rule = assessment.site_outcome.derived.iter().find(|(rule, effect, _)| {
            let effect = &assessment.knowledge.rules[*rule].effects[*effect];
            effect.writes().is_some_and(|slot| slot.space == Space::Site && slot.index == at)
        })?;
        Some(Origin::Derived(assessment.knowledge.rules[rule.0].id.clone()))
    };
    let known: Option<&Known> = assessment.facts.known[at].as_ref();
    known.map(|known| known.origin.clone()).or_else(derived)
}
