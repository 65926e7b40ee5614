//! The answer to a model: the best choice, the one behind it, what each limit costs, or which limits
//! cannot hold together.

use super::model::{Choice, Limit, Model, Pair};
use super::part::Part;
use super::solve::{Undecided, best, best_above, best_but, best_over, thriftiest};
use crate::side_by_side::side_by_side;

/// The answer to a model.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// There is a best choice.
    Best(Best),
    /// Nothing keeps all limits: these cannot hold together, and without any one of them they could.
    Conflict(Vec<Limit>),
    /// Nothing is suited to these areas, whatever the limits.
    NothingSuits(Vec<usize>),
    /// Something is suited to these areas, but of no species all figures are known that the limits need.
    NotKnown(Vec<usize>),
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
    /// Pairs of neighbours that were too many to be priced one by one.
    pub unpriced: Vec<Limit>,
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
    /// Whether the best choice then takes what the limit cannot be held against.
    pub with_unknown: bool,
    /// The least that must be allowed for a better choice, and the best value then; for limits that are
    /// figures, where there is a better choice of which it is known what it takes.
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

/// A gain in the index below this is not worth a word: with one decimal it would be told as nothing. A little
/// over half of that decimal, for what the tolerance of the solver loses.
pub const WORTH_TELLING: f64 = 0.0501;

/// Answers a model.
pub fn answer(model: &Model) -> Result<Answer, Undecided> {
    if let Some(bare) = bare(model) {
        return Ok(Answer::NothingSuits(bare));
    }
    if let Some(unknown) = bare(&Part::known(model, None).model) {
        return Ok(Answer::NotKnown(unknown));
    }
    let Some(choice) = best(model)? else {
        return Ok(Answer::Conflict(conflict(model)?));
    };
    Ok(Answer::Best(with_surroundings(model, choice)?))
}

/// The areas without an option, where there are any.
fn bare(model: &Model) -> Option<Vec<usize>> {
    let areas = model.areas.iter().enumerate();
    let bare: Vec<usize> = areas.filter(|(_, area)| area.options.is_empty()).map(|(at, _)| at).collect();
    (!bare.is_empty()).then_some(bare)
}

/// What is asked about the best choice; each costs some solves of its own.
enum Ask {
    /// The best of all others.
    RunnerUp,
    /// The best if no neighbours had to be kept apart.
    AllApart,
    /// What a limit costs.
    Price(Limit),
}

/// What is found.
enum Found {
    RunnerUp(Option<Choice>),
    AllApart(Option<f64>),
    Price(Option<Price>),
}

/// The best choice with the one behind it and what each limit costs that keeps a better choice away all by itself.
fn with_surroundings(model: &Model, choice: Choice) -> Result<Best, Undecided> {
    let value = model.value(&choice);
    let is_pair = |limit: &Limit| matches!(limit, Limit::Pair(_));
    let (pairs, others): (Vec<Limit>, Vec<Limit>) = model.limits().into_iter().partition(is_pair);
    let apart = (!pairs.is_empty()).then_some(Ask::AllApart);
    let asked: Vec<Ask> =
        std::iter::once(Ask::RunnerUp).chain(apart).chain(others.iter().copied().map(Ask::Price)).collect();
    let find = |ask: &Ask| -> Result<Found, Undecided> {
        Ok(match ask {
            Ask::RunnerUp => Found::RunnerUp(best_but(model, &choice)?),
            Ask::AllApart => {
                let apart = better_over(&model.with_only(&others), &model.pairs, value)?;
                Found::AllApart(apart.map(|(_, apart)| apart))
            }
            Ask::Price(limit) => Found::Price(price(model, *limit, value)?),
        })
    };
    let mut best = Best {
        choice: choice.clone(),
        runner_up: None,
        prices: Vec::new(),
        unpriced: Vec::new(),
        all_apart: None,
    };
    for found in side_by_side(&asked, find) {
        match found? {
            Found::RunnerUp(choice) => best.runner_up = choice,
            Found::AllApart(value) => best.all_apart = value,
            Found::Price(price) => best.prices.extend(price),
        }
    }
    // where lifting all the neighbours changes nothing, none of them binds
    if best.all_apart.is_some() {
        let (prices, unpriced) = price_pairs(model, &pairs, value)?;
        best.prices.extend(prices);
        best.unpriced = unpriced;
    }
    let limits = model.limits();
    best.prices.sort_by_key(|price| limits.iter().position(|own| *own == price.limit));
    Ok(best)
}

/// Pairs of neighbours are looked at in so many groups side by side.
const GROUPS: usize = 8;
/// Pairs are not looked at any closer once this many solves went into them, since each takes its time.
const MOST_PAIR_SOLVES: usize = 48;

/// What each pair of neighbours costs, and the pairs that were not come to. Where a group of pairs can be
/// lifted together without gain, none of them costs anything; the others are looked at in smaller groups.
fn price_pairs(model: &Model, pairs: &[Limit], value: f64) -> Result<(Vec<Price>, Vec<Limit>), Undecided> {
    let split = |pairs: &[Limit]| -> Vec<Vec<Limit>> {
        pairs.chunks(pairs.len().div_ceil(GROUPS)).map(<[Limit]>::to_vec).collect()
    };
    let lifted = |group: &Vec<Limit>| {
        let others: Vec<Limit> = model.limits().into_iter().filter(|own| !group.contains(own)).collect();
        let of = |limit: &Limit| match limit {
            Limit::Pair(at) => Some(model.pairs[*at]),
            _ => None,
        };
        let crossed: Vec<Pair> = group.iter().filter_map(of).collect();
        better_over(&model.with_only(&others), &crossed, value)
    };
    let (mut prices, mut solves, mut groups) = (Vec::new(), 0, split(pairs));
    while !groups.is_empty() && solves + groups.len() <= MOST_PAIR_SOLVES {
        solves += groups.len();
        let found = side_by_side(&groups, lifted);
        let mut smaller = Vec::new();
        for (group, found) in groups.iter().zip(found) {
            match (found?, &group[..]) {
                (None, _) => {}
                (Some((_, lifted)), [limit]) => {
                    prices.push(Price { limit: *limit, lifted, with_unknown: false, step: None });
                }
                (Some(_), many) => smaller.extend(split(many)),
            }
        }
        groups = smaller;
    }
    Ok((prices, groups.concat()))
}

/// A minimal set of limits that nothing keeps, by leaving out one after the other what is not needed for that.
fn conflict(model: &Model) -> Result<Vec<Limit>, Undecided> {
    let mut needed = model.limits();
    // a choice found for some of the limits may keep others too
    let mut found: Vec<Choice> = Vec::new();
    for limit in model.limits().into_iter().rev() {
        let others: Vec<Limit> = needed.iter().copied().filter(|own| *own != limit).collect();
        let part = model.with_only(&others);
        if found.iter().any(|choice| part.keeps(choice)) {
            continue;
        }
        match best(&part)? {
            None => needed = others,
            Some(choice) => found.push(choice),
        }
    }
    Ok(needed)
}

/// What a limit costs that is no pair of neighbours.
fn price(model: &Model, limit: Limit, value: f64) -> Result<Option<Price>, Undecided> {
    let free = model.without(limit);
    let Some((choice, lifted)) = better(&free, value)? else { return Ok(None) };
    let with_unknown = matches!(limit, Limit::Resource(at) if free.used(&choice, at).is_infinite());
    Ok(Some(Price { limit, lifted, with_unknown, step: step(model, &free, limit, value, &choice)? }))
}

/// The least widening of a limit with which there is a better choice; `lifted` is the best without it.
fn step(
    model: &Model,
    free: &Model,
    limit: Limit,
    value: f64,
    lifted: &[usize],
) -> Result<Option<Step>, Undecided> {
    match limit {
        Limit::Resource(at) => {
            let from = model.resources[at].most;
            let mut enough = free.used(lifted, at);
            if enough.is_infinite() {
                // how much is enough is told by a choice of which it is known what it takes
                let known = Part::known(free, Some(at)).model;
                let Some((choice, _)) = better(&known, value)? else { return Ok(None) };
                enough = known.used(&choice, at);
            }
            let Some(thrifty) = thriftiest(free, at, from, enough, value + WORTH_TELLING)? else {
                return Ok(None);
            };
            let allowed = free.used(&thrifty, at);
            let mut widened = model.clone();
            widened.resources[at].most = allowed;
            let least = model.value(&thrifty);
            let best = best_above(&widened, least)?.map_or(least, |choice| model.value(&choice));
            Ok(Some(Step { allowed, value: best.max(least) }))
        }
        Limit::Kinds => {
            let from = model.kinds.unwrap_or(0) + 1;
            for most in from..=model.areas.len() {
                let widened = Model { kinds: Some(most), ..model.clone() };
                if let Some((_, better)) = better(&widened, value)? {
                    return Ok(Some(Step { allowed: most as f64, value: better }));
                }
            }
            Ok(None)
        }
        Limit::Pair(_) | Limit::Zone(_) => Ok(None),
    }
}

/// The best choice where it is better than a value, with its own.
fn better(model: &Model, value: f64) -> Result<Option<(Choice, f64)>, Undecided> {
    better_over(model, &[], value)
}

/// The same of a model without these pairs, where the value is the best with them: what is better goes over one.
fn better_over(model: &Model, crossed: &[Pair], value: f64) -> Result<Option<(Choice, f64)>, Undecided> {
    let choice = best_over(model, crossed, value + WORTH_TELLING)?;
    Ok(choice.map(|choice| (model.value(&choice), choice)).map(|(value, choice)| (choice, value)))
}
