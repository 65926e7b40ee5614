//! Why one species does not stand before another, or before all: refused, outscored, undecided, or
//! because no rule speaks on it.

use super::words::awaited_names;
use crate::assess::{Assessment, Candidate, matters};
use crate::rank::{Class, Level, Openness, Weight};

/// Points of rating by which two species must differ on a need for it to tell between them.
const TELLS_FROM: f64 = 2.0;

/// A need on which one of two species stands better.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Position of the need.
    pub need: usize,
    /// Rating of the better less that of the worse.
    pub points: f64,
}

/// A rule that refuses a species.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Refusal {
    /// Position of the need.
    pub need: usize,
    /// Position of the rule.
    pub rule: usize,
    /// The level that it gives.
    pub level: f64,
}

/// A need that waits for what is not known.
#[derive(Clone, Debug, PartialEq)]
pub struct Awaited {
    /// Position of the need.
    pub need: usize,
    /// What it waits for, in words.
    pub missing: String,
}

/// Why one species stands behind another.
#[derive(Clone, Debug, PartialEq)]
pub enum WhyNot {
    /// It does not.
    Ahead,
    /// The two share a place.
    Tied,
    /// Rules refuse it.
    Refused(Vec<Refusal>),
    /// The other is better on these needs, the greatest gap first; and this one on those.
    Outscored {
        /// Where it lies behind.
        behind: Vec<Gap>,
        /// Where it lies ahead.
        ahead: Vec<Gap>,
    },
    /// What is not known holds it back; known, it might stand before the other.
    Undecided(Vec<Awaited>),
    /// No rule speaks on it.
    NoRule,
}

/// Why a candidate stands behind another.
pub fn why_not(assessment: &Assessment<'_>, one: &Candidate<'_>, other: &Candidate<'_>) -> WhyNot {
    if one.outcome.needs.iter().all(|need| need.contributions.is_empty() && need.open.is_empty()) {
        return WhyNot::NoRule;
    }
    if one.standing.class == Class::N {
        let refusals = refusals(one);
        return if refusals.is_empty() {
            WhyNot::Undecided(awaited(assessment, one))
        } else {
            WhyNot::Refused(refusals)
        };
    }
    if one.tied_with.contains(&other.species.id) {
        return WhyNot::Tied;
    }
    if (one.standing.class, other.standing.index) < (other.standing.class, one.standing.index)
        || one.rank < other.rank
    {
        return WhyNot::Ahead;
    }
    // behind for nothing but the cap on what is open
    if one.standing.capped_open && other.standing.class < one.standing.class {
        return WhyNot::Undecided(awaited(assessment, one));
    }
    WhyNot::Outscored { behind: gaps(other, one), ahead: gaps(one, other) }
}

/// The rules that bring a candidate to N, needs in their order and the gravest rule first.
fn refusals(candidate: &Candidate<'_>) -> Vec<Refusal> {
    let mut refusals = Vec::new();
    for state in candidate.needs.iter().filter(|state| !state.is_saving) {
        let mut of_need: Vec<Refusal> = candidate.outcome.needs[state.need]
            .contributions
            .iter()
            .filter(|one| Level::clamped(one.level).is_ok_and(|level| Class::from_worst(level) == Class::N))
            .map(|one| Refusal { need: state.need, rule: one.rule, level: one.level })
            .collect();
        of_need.sort_by(|a, b| b.level.total_cmp(&a.level));
        refusals.extend(of_need);
    }
    refusals
}

/// The key needs that are open, and what they wait for.
fn awaited(assessment: &Assessment<'_>, candidate: &Candidate<'_>) -> Vec<Awaited> {
    let open = candidate.needs.iter().filter(|state| state.open != Openness::Decided && state.is_open_key());
    open.map(|state| {
        let outcome = &candidate.outcome.needs[state.need];
        let points = outcome.open.iter().filter(|point| matters(outcome.level, point.worst));
        Awaited {
            need: state.need,
            missing: awaited_names(assessment, points.flat_map(|point| &point.missing)),
        }
    })
    .collect()
}

/// The needs on which the first stands better, the greatest gap first; a need counts by its weight in the index.
pub fn gaps(better: &Candidate<'_>, worse: &Candidate<'_>) -> Vec<Gap> {
    let pairs = better.needs.iter().zip(&worse.needs);
    let mut gaps: Vec<Gap> = pairs
        .map(|(better, worse)| Gap {
            need: better.need,
            points: (better.rating().value() - worse.rating().value()) * better.weight.value(),
        })
        .filter(|gap| gap.points >= TELLS_FROM)
        .collect();
    gaps.sort_by(|a, b| b.points.total_cmp(&a.points).then(a.need.cmp(&b.need)));
    gaps
}

/// Whether any need of a candidate counts otherwise than once in the index.
pub fn weighs(candidate: &Candidate<'_>) -> bool {
    candidate.needs.iter().any(|need| need.weight != Weight::ONE)
}
