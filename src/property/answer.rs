//! The answer to a model: the best choice, the one behind it, what each limit costs, or which limits
//! cannot hold together.

use super::model::{Choice, Limit, Model};
use super::solve::{Goal, Undecided, solve};

/// The answer to a model.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// There is a best choice.
    Best(Best),
    /// Nothing keeps all limits: these cannot hold together, and without any one of them they could.
    Conflict(Vec<Limit>),
    /// Nothing is suited to these areas, whatever the limits.
    NothingSuits(Vec<usize>),
}

/// The best choice with what stands around it.
#[derive(Clone, Debug, PartialEq)]
pub struct Best {
    /// The choice.
    pub choice: Choice,
    /// The best of all others.
    pub runner_up: Option<Choice>,
    /// What binding limits cost, in the order of [`Model::limits`].
    pub prices: Vec<Price>,
    /// Whether the solver gave up on the runner-up or on some price, so that they stand there without.
    pub unsettled: bool,
    /// The best value if no neighbours had to be kept apart, where that is higher.
    pub all_apart: Option<f64>,
}

/// What a binding limit costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// The limit.
    pub limit: Limit,
    /// The best value if the limit did not stand.
    pub lifted: f64,
    /// The least that must be allowed for a better choice, and the best value then; for limits that are figures.
    pub step: Option<Step>,
}

/// A limit widened by the least that helps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// What must be allowed.
    pub allowed: f64,
    /// The best value then.
    pub value: f64,
}

/// Values nearer than this are one: a ten-thousandth of a point of the index.
const ALIKE: f64 = 1e-4;

/// Answers a model.
pub fn answer(model: &Model) -> Result<Answer, Undecided> {
    let areas = model.areas.iter().enumerate();
    let bare: Vec<usize> = areas.filter(|(_, area)| area.options.is_empty()).map(|(at, _)| at).collect();
    if !bare.is_empty() {
        return Ok(Answer::NothingSuits(bare));
    }
    let Some(choice) = solve(model, Goal::Best)? else {
        return Ok(Answer::Conflict(conflict(model)?));
    };
    let mut best = Best { choice, runner_up: None, prices: Vec::new(), unsettled: false, all_apart: None };
    match solve(model, Goal::BestBut(&best.choice)) {
        Ok(second) => best.runner_up = second,
        Err(_) => best.unsettled = true,
    }
    set_prices(model, &mut best);
    Ok(Answer::Best(best))
}

/// A minimal set of limits that nothing keeps, by leaving out one after the other what is not needed for that.
fn conflict(model: &Model) -> Result<Vec<Limit>, Undecided> {
    let mut needed = model.limits();
    for limit in model.limits().into_iter().rev() {
        let others: Vec<Limit> = needed.iter().copied().filter(|own| *own != limit).collect();
        if solve(&model.with_only(&others), Goal::Best)?.is_none() {
            needed = others;
        }
    }
    Ok(needed)
}

/// More pairs of neighbours than this are priced all together only, since each costs a solve.
pub const PAIRS_PRICED: usize = 8;

/// What each limit costs that keeps a better choice away all by itself.
fn set_prices(model: &Model, best_choice: &mut Best) {
    let value = model.value(&best_choice.choice);
    let limits = model.limits();
    let is_pair = |limit: &Limit| matches!(limit, Limit::Pair(_));
    let others: Vec<Limit> = limits.iter().copied().filter(|limit| !is_pair(limit)).collect();
    let mut each = others.clone();
    if !model.pairs.is_empty() {
        // where lifting all the neighbours changes nothing, none of them binds
        match best(&model.with_only(&others)) {
            Ok(apart) if apart > value + ALIKE => {
                best_choice.all_apart = Some(apart);
                if model.pairs.len() <= PAIRS_PRICED {
                    each = limits;
                }
            }
            Ok(_) => {}
            Err(_) => best_choice.unsettled = true,
        }
    }
    for limit in each {
        match price(model, limit, value) {
            Ok(price) => best_choice.prices.extend(price),
            Err(_) => {
                best_choice.unsettled = true;
                // the others are no easier
                break;
            }
        }
    }
}

fn price(model: &Model, limit: Limit, value: f64) -> Result<Option<Price>, Undecided> {
    let free = model.without(limit);
    let lifted = best(&free)?;
    if lifted <= value + ALIKE {
        return Ok(None);
    }
    Ok(Some(Price { limit, lifted, step: step(model, &free, limit, value)? }))
}

/// The least widening of a limit with which there is a better choice.
fn step(model: &Model, free: &Model, limit: Limit, value: f64) -> Result<Option<Step>, Undecided> {
    match limit {
        Limit::Resource(at) => {
            let Some(thrifty) = solve(free, Goal::LeastOf(at, value + ALIKE))? else { return Ok(None) };
            let allowed = free.used(&thrifty, at);
            let mut widened = model.clone();
            widened.resources[at].most = allowed;
            Ok(Some(Step { allowed, value: best(&widened)?.max(model.value(&thrifty)) }))
        }
        Limit::Kinds => {
            let from = model.kinds.unwrap_or(0) + 1;
            for most in from..=model.areas.len() {
                let widened = Model { kinds: Some(most), ..model.clone() };
                let better = best(&widened)?;
                if better > value + ALIKE {
                    return Ok(Some(Step { allowed: most as f64, value: better }));
                }
            }
            Ok(None)
        }
        Limit::Pair(_) | Limit::Zone(_) => Ok(None),
    }
}

/// The best value that there is.
fn best(model: &Model) -> Result<f64, Undecided> {
    Ok(solve(model, Goal::Best)?.map_or(f64::NEG_INFINITY, |choice| model.value(&choice)))
}
