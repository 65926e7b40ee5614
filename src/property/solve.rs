//! A model to its best choice, exactly: a mixed-integer programme, solved by branch and bound.
//!
//! One binary for each piece, a kind at all the areas that it takes together (`pieces`), so that neighbours
//! need no inequality. A kind is counted by a variable at or above every binary of it. What a limit cannot be
//! held against is left out first (`part`), then options that cannot matter, by what outdoes them (`reduce`)
//! and by an upper bound (`bound`). What a zone takes for each unit of size is a variable at or above what
//! each of its areas takes. What the solver returns is held against the model again, in plain sums.

use std::collections::BTreeMap;

use good_lp::{
    Constraint, Expression, ProblemVariables, ResolutionError, Solution, SolutionStatus, SolverModel,
    Variable, WithTimeLimit, constraint, microlp, variable,
};

use super::bound::Bound;
use super::model::{Choice, Model};
use super::part::Part;
use super::pieces::{Piece, Pieces};
use super::reduce::reduced;

/// What a solve is after.
#[derive(Clone, Copy, Debug)]
enum Goal<'a> {
    /// The choice of highest value.
    Best,
    /// The best of all choices but this one.
    BestBut(&'a [usize]),
    /// The choice that takes least of a resource.
    LeastOf(usize),
}

/// The solver did not come to an end that can be relied on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Undecided(pub String);

/// How far below the upper bound the first look goes, as a share of the range between worst and best.
const FIRST_DEPTH: f64 = 0.004;
/// How much of a resource beyond what there is the first look for a thrifty choice allows, as a share of what is
/// surely enough.
const FIRST_SHARE: f64 = 1.0 / 64.0;
/// How many times as far the next look goes.
const DEEPER: f64 = 4.0;

/// A solve that takes longer is given up, and so is the answer: it is an error, never another answer.
const MOST_SECONDS: f64 = 120.0;

/// The best choice; `None` where nothing keeps the limits.
pub fn best(model: &Model) -> Result<Option<Choice>, Undecided> {
    best_above(model, f64::NEG_INFINITY)
}

/// The best choice of a value of at least so much; `None` where nothing that keeps the limits comes to it.
pub fn best_above(model: &Model, least: f64) -> Result<Option<Choice>, Undecided> {
    let known = Part::known(model, None);
    let reduced = reduced(&known.model);
    let choice = near_the_top(&reduced.model, Goal::Best, least, None)?;
    Ok(choice.map(|choice| known.in_whole(&reduced.in_whole(&choice))))
}

/// The best of all choices but one.
pub fn best_but(model: &Model, choice: &[usize]) -> Result<Option<Choice>, Undecided> {
    let known = Part::known(model, None);
    let Some(own) = known.in_part(choice) else { return best(model) };
    let beside = best_beside(&known.model, &own);
    let least = beside.as_ref().map_or(f64::NEG_INFINITY, |beside| known.model.value(beside));
    let found = near_the_top(&known.model, Goal::BestBut(&own), least, beside)?;
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
        let kept = Bound::of(&allowed).reaching(least);
        if let Some(choice) = solve_kept(&allowed, &kept, Goal::LeastOf(resource), least)? {
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
/// best is at least, or, where there is none, that more must stay in. `best` is one of a value of `least`, where
/// one is known.
fn near_the_top(
    model: &Model,
    goal: Goal<'_>,
    least: f64,
    mut best: Option<Choice>,
) -> Result<Option<Choice>, Undecided> {
    if model.areas.iter().any(|area| area.options.is_empty()) {
        return Ok(None);
    }
    let bound = Bound::of(model);
    let mut depth = FIRST_DEPTH;
    // whether a value near the best is known, and not only that the limits can be kept
    let mut near = least.is_finite();
    loop {
        let least = best.as_ref().map_or(least, |best| model.value(best));
        // no choice has a value below 0
        if bound.upper < least.max(0.0) {
            return Ok(best);
        }
        let reach = (bound.upper - bound.range * depth).max(least);
        let kept = bound.reaching(reach);
        let all = kept.iter().zip(&model.areas).all(|(kept, area)| kept.len() == area.options.len());
        if let Some(found) = solve_kept(model, &kept, goal, least)? {
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
                Kept::By(choice) => best = goal.allows(&choice).then_some(choice),
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
    let least = solve_whole(&free, Goal::LeastOf(scarcest), f64::NEG_INFINITY)?;
    Ok(least.filter(|choice| model.keeps(choice)).map_or(Kept::Not, Kept::By))
}

impl Goal<'_> {
    fn allows(self, choice: &[usize]) -> bool {
        !matches!(self, Goal::BestBut(other) if other == choice)
    }
}

/// Solves with only these options of each area, for a value of at least so much.
fn solve_kept(
    model: &Model,
    kept: &[Vec<usize>],
    goal: Goal<'_>,
    least: f64,
) -> Result<Option<Choice>, Undecided> {
    let part = Part::of(model, kept.to_vec());
    if part.is_bare() {
        return Ok(None);
    }
    let choice = match goal {
        Goal::BestBut(other) => match part.in_part(other) {
            Some(other) => solve_whole(&part.model, Goal::BestBut(&other), least)?,
            // what is to be left out is left out already
            None => solve_whole(&part.model, Goal::Best, least)?,
        },
        goal => solve_whole(&part.model, goal, least)?,
    };
    Ok(choice.map(|choice| part.in_whole(&choice)))
}

fn solve_whole(model: &Model, goal: Goal<'_>, least: f64) -> Result<Option<Choice>, Undecided> {
    let mut programme = Programme::of(model, goal);
    if programme.taken.iter().any(|own| own.iter().all(Option::is_none)) {
        return Ok(None);
    }
    if least.is_finite() {
        // what is worth less need not be looked into
        let value = programme.value(model);
        programme.constraints.push(constraint!(value >= least));
    }
    let (objective, maximise) = programme.objective(model, goal);
    let unsolved = if maximise {
        programme.variables.maximise(objective)
    } else {
        programme.variables.minimise(objective)
    };
    let mut solver = unsolved.using(microlp).with_time_limit(MOST_SECONDS);
    for one in programme.constraints {
        solver.add_constraint(one);
    }
    let solution = match solver.solve() {
        Ok(solution) => solution,
        Err(ResolutionError::Infeasible) => return Ok(None),
        Err(fault) => return Err(Undecided(fault.to_string())),
    };
    if !matches!(solution.status(), SolutionStatus::Optimal) {
        return Err(Undecided(format!("no proof of the best after {MOST_SECONDS} s")));
    }
    let taken = |pieces: &Vec<Option<Variable>>| {
        pieces.iter().position(|one| one.is_some_and(|one| solution.value(one) > 0.5))
    };
    let choice: Option<Choice> = programme.taken.iter().map(taken).collect();
    match choice.filter(|choice| model.keeps(choice)) {
        Some(choice) => Ok(Some(choice)),
        None => Err(Undecided("what the solver found does not keep the limits".to_owned())),
    }
}

struct Programme {
    variables: ProblemVariables,
    constraints: Vec<Constraint>,
    /// The binaries of the options, area by area; of an option that is part of no piece, none.
    taken: Vec<Vec<Option<Variable>>>,
    /// What all areas take of each resource.
    used: Vec<Expression>,
}

impl Programme {
    fn of(model: &Model, goal: Goal<'_>) -> Self {
        let taken = model.areas.iter().map(|area| vec![None; area.options.len()]).collect();
        let mut programme =
            Self { variables: ProblemVariables::new(), constraints: Vec::new(), taken, used: Vec::new() };
        programme.lay(model);
        for area in 0..model.areas.len() {
            let sum: Expression = programme.taken[area].iter().flatten().sum();
            programme.constraints.push(constraint!(sum == 1));
        }
        programme.share(model, goal);
        if let Goal::BestBut(choice) = goal {
            let same = programme.taken.iter().zip(choice).filter_map(|(own, at)| own[*at]);
            let same: Expression = same.sum();
            programme.constraints.push(constraint!(same <= choice.len() as f64 - 1.0));
        }
        programme
    }

    /// Pieces of at most so many kinds.
    fn lay(&mut self, model: &Model) {
        let counted = model.kinds.filter(|most| *most < model.areas.len());
        let mut kinds: BTreeMap<usize, Variable> = BTreeMap::new();
        for piece in Pieces::of(model).all {
            let taken = self.variables.add(variable().binary());
            piece.places.iter().for_each(|(area, at)| self.taken[*area][*at] = Some(taken));
            if counted.is_some() {
                // a binary at one pulls it up, so it need not be a binary itself
                let kind =
                    *kinds.entry(piece.kind).or_insert_with(|| self.variables.add(variable().min(0).max(1)));
                self.constraints.push(constraint!(taken <= kind));
            }
        }
        if let Some(most) = counted {
            let all: Expression = kinds.values().sum();
            self.constraints.push(constraint!(all <= most as f64));
        }
    }

    /// What is used of each resource, and no more than there is.
    fn share(&mut self, model: &Model, goal: Goal<'_>) {
        for (at, resource) in model.resources.iter().enumerate() {
            let wanted = matches!(goal, Goal::LeastOf(own) if own == at);
            // what cannot bind is no row
            if !wanted && model.most(at) <= resource.most {
                self.used.push(Expression::default());
                continue;
            }
            let mut zones: BTreeMap<usize, Variable> = BTreeMap::new();
            let mut used = Expression::default();
            for (area, binaries) in model.areas.iter().zip(&self.taken) {
                let options = area.options.iter().zip(binaries);
                let taken = options.filter_map(|(option, taken)| taken.map(|taken| (option, taken)));
                let rate: Expression = taken.map(|(option, taken)| option.takes[at] * taken).sum();
                match area.zone.filter(|_| resource.zoned) {
                    Some(zone) => {
                        let most =
                            *zones.entry(zone).or_insert_with(|| self.variables.add(variable().min(0)));
                        self.constraints.push(constraint!(rate <= most));
                        used += area.size * most;
                    }
                    None => used += rate * area.size,
                }
            }
            if resource.most.is_finite() {
                // as a share, so that the tolerances of the solver mean the same in every unit
                let whole = if resource.most > 0.0 { resource.most } else { 1.0 };
                let most = resource.most / whole;
                self.constraints.push(constraint!(used.clone() * (1.0 / whole) <= most));
            }
            self.used.push(used);
        }
    }

    fn value(&self, model: &Model) -> Expression {
        let size = model.size();
        let mut value = Expression::default();
        for (area, binaries) in model.areas.iter().zip(&self.taken) {
            for (option, taken) in area.options.iter().zip(binaries) {
                if let Some(taken) = taken {
                    value += (option.value * area.size / size) * *taken;
                }
            }
        }
        value
    }

    /// What is sought, and whether it is to be high.
    fn objective(&self, model: &Model, goal: Goal<'_>) -> (Expression, bool) {
        match goal {
            Goal::LeastOf(resource) => (self.used[resource].clone() * (1.0 / model.size()), false),
            Goal::Best | Goal::BestBut(_) => (self.value(model), true),
        }
    }
}
