//! A model to its best choice, exactly. What a limit cannot be held against is left out first (`part`), then
//! options that cannot matter, by what outdoes them (`reduce`) and by an upper bound (`bound`); what is left is
//! searched by kinds (`split`) and solved (`programme`).

use super::bound::{Bound, Known};
use super::model::{Choice, Model, Pair};
use super::part::Part;
use super::pieces::{Piece, Pieces};
pub use super::programme::Undecided;
use super::programme::{Asked, Goal, solve_whole};
use super::reduce::reduced;
use super::split::solve_kept;

/// How far below the upper bound the first look goes, as a share of the range between worst and best.
const FIRST_DEPTH: f64 = 0.004;
/// How much of a resource beyond what there is the first look for a thrifty choice allows, as a share of what is
/// surely enough.
const FIRST_SHARE: f64 = 1.0 / 64.0;
/// How many times as far the next look goes.
const DEEPER: f64 = 4.0;

/// The best choice; `None` where nothing keeps the limits.
pub fn best(model: &Model) -> Result<Option<Choice>, Undecided> {
    best_above(model, f64::NEG_INFINITY)
}

/// The best choice of a value of at least so much; `None` where nothing that keeps the limits comes to it.
pub fn best_above(model: &Model, least: f64) -> Result<Option<Choice>, Undecided> {
    best_over(model, &[], least)
}

/// The same where it is known that whatever comes to so much goes over one of these pairs, which the model does not
/// keep apart: else it would keep them apart and be worth less.
pub fn best_over(model: &Model, crossed: &[Pair], least: f64) -> Result<Option<Choice>, Undecided> {
    let known = Part::known(model, None);
    let reduced = reduced(&known.model);
    let choice = near_the_top(&reduced.model, Asked { goal: Goal::Best, least, crossed }, None)?;
    Ok(choice.map(|choice| known.in_whole(&reduced.in_whole(&choice))))
}

/// The best of all choices but one.
pub fn best_but(model: &Model, choice: &[usize]) -> Result<Option<Choice>, Undecided> {
    let known = Part::known(model, None);
    let Some(own) = known.in_part(choice) else { return best(model) };
    let beside = best_beside(&known.model, &own);
    let least = beside.as_ref().map_or(f64::NEG_INFINITY, |beside| known.model.value(beside));
    let asked = Asked { goal: Goal::BestBut(&own), least, crossed: &[] };
    let found = near_the_top(&known.model, asked, beside)?;
    Ok(found.map(|choice| known.in_whole(&choice)))
}

/// The best of the choices that keep the limits and differ from one by a single piece: the best but one is no
/// worse, which spares most of the search for it.
fn best_beside(model: &Model, choice: &[usize]) -> Option<Choice> {
    let with = |piece: &Piece| {
        let mut other = choice.to_vec();
        piece.places.iter().for_each(|(area, at)| other[*area] = *at);
        (other != choice && model.keeps(&other)).then_some(other)
    };
    let others = Pieces::of(model).all;
    let others = others.iter().filter_map(with);
    others.reduce(|one, other| if model.value(&other) > model.value(&one) { other } else { one })
}

/// Of the choices of at least so high a value, of which there is one that takes `enough` of a resource, the one
/// that takes least, as far as what they take of it is known.
///
/// What takes more of the resource than some amount is looked at only where nothing that takes less is found,
/// since the bound on the value leaves the less in, the less of the resource there is.
pub fn thriftiest(
    model: &Model,
    resource: usize,
    from: f64,
    enough: f64,
    least: f64,
) -> Result<Option<Choice>, Undecided> {
    let known = Part::known(model, Some(resource));
    if known.is_bare() {
        return Ok(None);
    }
    let reduced = reduced(&known.model);
    let mut share = FIRST_SHARE;
    loop {
        let mut allowed = reduced.model.clone();
        allowed.resources[resource].most = if share < 1.0 { from + (enough - from) * share } else { enough };
        let bound = Bound::of(&allowed);
        let asked = Asked { goal: Goal::LeastOf(resource), least, crossed: &[] };
        if let Some(choice) = solve_kept(&allowed, bound.reaching(least), asked, &bound.prices)? {
            return Ok(Some(known.in_whole(&reduced.in_whole(&choice))));
        }
        if share >= 1.0 {
            return Ok(None);
        }
        share *= DEEPER;
    }
}

/// Leaves out all with which no choice comes near the upper bound and solves what is left. Where what comes of
/// it is at least as good as any choice with what was left out, it is the best; else it says how good the
/// best is at least, or, where there is none, that more must stay in. `best` is one of the least value asked for,
/// where one is known.
fn near_the_top(
    model: &Model,
    asked: Asked<'_>,
    mut best: Option<Choice>,
) -> Result<Option<Choice>, Undecided> {
    if model.areas.iter().any(|area| area.options.is_empty()) {
        return Ok(None);
    }
    let known = Known { given: &[], crossed: asked.crossed };
    let bound = Bound::knowing(model, known, None);
    if model.kinds.is_some() && bound.is_hardly_lowered_by_kinds(model, known, None) {
        let free = Model { kinds: None, ..model.clone() };
        let choice = near_the_top(&free, asked, best.clone())?;
        // what is best without the limit is best with it where it keeps it
        if choice.as_ref().is_none_or(|choice| model.keeps(choice)) {
            return Ok(choice);
        }
    }
    let mut depth = FIRST_DEPTH;
    // whether a value near the best is known, and not only that the limits can be kept
    let mut near = asked.least.is_finite();
    loop {
        let least = best.as_ref().map_or(asked.least, |best| model.value(best));
        // no choice has a value below 0
        if bound.upper < least.max(0.0) {
            return Ok(best);
        }
        let reach = (bound.upper - bound.range * depth).max(least);
        let kept = bound.reaching(reach);
        let all = kept.iter().zip(&model.areas).all(|(kept, area)| kept.len() == area.options.len());
        if let Some(found) = solve_kept(model, kept, Asked { least, ..asked }, &bound.prices)? {
            let value = model.value(&found);
            near = true;
            if value >= least {
                best = Some(found);
            }
            if value >= reach {
                return Ok(best);
            }
        }
        if all || reach <= least {
            return Ok(best);
        }
        if best.is_none() && depth <= FIRST_DEPTH && least == f64::NEG_INFINITY {
            match kept_at_all(model)? {
                Kept::Not => return Ok(None),
                Kept::By(choice) => best = asked.goal.allows(&choice).then_some(choice),
                Kept::NotAsked => {}
            }
        }
        // where something was found, or asked for, all that may pass it is looked at next
        depth = if near { f64::INFINITY } else { depth * DEEPER };
    }
}

/// Whether the limits can be kept at all.
enum Kept {
    Not,
    By(Choice),
    /// Nothing is limited but kinds and neighbours.
    NotAsked,
}

/// Looks for the choice that takes least of the scarcest resource: where there is not even enough for that one, a
/// search for the best would go on for long before it found nothing.
fn kept_at_all(model: &Model) -> Result<Kept, Undecided> {
    let limited = (0..model.resources.len()).filter(|at| model.resources[*at].most.is_finite());
    let scarcity = |at: usize| model.least(at) / model.resources[at].most;
    let Some(scarcest) = limited.reduce(|a, b| if scarcity(b) > scarcity(a) { b } else { a }) else {
        return Ok(Kept::NotAsked);
    };
    let mut free = model.clone();
    free.resources[scarcest].most = f64::INFINITY;
    let asked = Asked { goal: Goal::LeastOf(scarcest), least: f64::NEG_INFINITY, crossed: &[] };
    let least = solve_whole(&free, asked)?;
    Ok(least.filter(|choice| model.keeps(choice)).map_or(Kept::Not, Kept::By))
}
