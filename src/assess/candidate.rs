//! One candidate: what the rules came to, and where it stands.

use crate::engine::facts::Values;
use crate::engine::jointly::jointly;
use crate::engine::run::{NeedOutcome, Outcome};
use crate::engine::value::{Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::Effect;
use crate::knowledge::species::Species;
use crate::rank::{Class, Level, NeedState, Openness, Standing, Weight};
use crate::site::file::SiteFile;

/// A species at the site.
#[derive(Debug)]
pub struct Candidate<'k> {
    /// The species.
    pub species: &'k Species,
    /// What the rules said.
    pub outcome: Outcome,
    /// The needs as the ranking saw them, by position.
    pub needs: Vec<NeedState<usize>>,
    /// Where it stands.
    pub standing: Standing<usize>,
    /// Its place.
    pub rank: usize,
    /// Those that share it.
    pub tied_with: Vec<String>,
    /// For one that no change helps (N2): the inputs on which that rests and that could be changed, but are not
    /// stated, so that they were left as they are.
    pub left_out: Vec<usize>,
}

/// Brings the outcome of the rules to a standing.
pub fn stand<'k>(
    species: &'k Species,
    outcome: Outcome,
    site: &SiteFile,
    values: &Values,
    knowledge: &Knowledge,
) -> Candidate<'k> {
    let purpose = purpose(values, knowledge);
    let needs: Vec<NeedState<usize>> = outcome
        .needs
        .iter()
        .enumerate()
        .map(|(index, need)| need_state(index, need, purpose, site, knowledge))
        .collect();
    let standing = standing(&needs);
    Candidate { species, outcome, needs, standing, rank: 0, tied_with: Vec::new(), left_out: Vec::new() }
}

/// The standing of these needs.
pub fn standing(needs: &[NeedState<usize>]) -> Standing<usize> {
    crate::rank::stand(needs).unwrap_or_else(|_| nothing_rated())
}

/// Position of the site's purpose.
pub fn purpose(values: &Values, knowledge: &Knowledge) -> Option<usize> {
    let slot = knowledge.vocabulary.slot("site.purpose")?;
    values.get(slot.index)?.as_ref().and_then(Value::as_position)
}

/// A need as the ranking sees it.
pub fn need_state(
    index: usize,
    need: &NeedOutcome,
    purpose: Option<usize>,
    site: &SiteFile,
    knowledge: &Knowledge,
) -> NeedState<usize> {
    let declared = &knowledge.needs.all[index];
    let might_raise: Vec<_> = need.open.iter().filter(|open| matters(need.level, open.worst)).collect();
    let waits_for_site =
        might_raise.iter().any(|open| open.missing.iter().any(|slot| slot.space != Space::Species));
    let open = match (might_raise.is_empty(), waits_for_site) {
        (true, _) => Openness::Decided,
        (false, true) => Openness::SiteFact,
        (false, false) => Openness::Trait,
    };
    // what is too little to ask for still counts where it may come out
    let spread = jointly(need.level, &need.open.iter().collect::<Vec<_>>());
    let level = |value: f64| Level::clamped(value).unwrap_or(Level::EXCLUDING);
    let worst_rule = need.contributions.iter().max_by(|a, b| a.level.total_cmp(&b.level));
    let graded = worst_rule
        .is_none_or(|one| matches!(knowledge.rules[one.rule].effects[one.effect], Effect::Rate { .. }));
    NeedState {
        need: index,
        level: level(need.level),
        best: level(spread.best),
        worst: level(spread.worst),
        expected: level(spread.mean),
        open,
        is_saving: declared.saving,
        weight: site.priorities.get(&index).and_then(|weight| Weight::new(*weight)).unwrap_or(Weight::ONE),
        key: declared.key_for == u64::MAX || purpose.is_some_and(|at| declared.key_for >> at & 1 == 1),
        graded,
    }
}

/// Whether a rule that cannot be decided might raise a level so far that it is worth asking: into
/// another class, or by half a level. What could cost a point or two of rating is not held against a
/// species as if it were unknown.
pub fn matters(level: f64, worst: f64) -> bool {
    const WORTH_ASKING: f64 = 0.5;
    let class = |value: f64| Level::clamped(value).map(Class::from_worst);
    worst > level + 1e-9 && (worst - level >= WORTH_ASKING || class(level) != class(worst))
}

/// A base without a single need gives no standing; such a candidate is refused.
fn nothing_rated() -> Standing<usize> {
    Standing {
        class: Class::N,
        span: crate::rank::ClassSpan::near(Level::EXCLUDING),
        class_best: Class::N,
        class_worst: Class::N,
        index: 0.0,
        uncorrected: None,
        deciding: Vec::new(),
        open: Vec::new(),
        capped_open: false,
        changeable: None,
    }
}
