//! A model to its best choice, exactly: a mixed-integer programme, solved by branch and bound.
//!
//! One binary for each option of each area. A kind is counted by a variable at or above every binary
//! of it. An option that invades a neighbour may stand only where the neighbour takes the same kind,
//! which is one inequality. Options that cannot matter are left out first, by what outdoes them (`reduce`) and
//! by an upper bound (`bound`). What a zone takes for each unit of size is a variable at or above what each of
//! its areas takes. What the solver returns is held against the model again, in plain sums.

use std::collections::BTreeMap;

use good_lp::{
    Constraint, Expression, ProblemVariables, ResolutionError, Solution, SolutionStatus, SolverModel,
    Variable, WithTimeLimit, constraint, microlp, variable,
};

use super::bound::Bound;
use super::model::{Choice, Model};
use super::reduce::Reduced;

/// What a solve is after.
#[derive(Clone, Copy, Debug)]
enum Goal<'a> {
    /// The choice of highest value.
    Best,
    /// The best of all choices but this one.
    BestBut(&'a [usize]),
    /// The choice that takes least of a resource among those of at least so high a value.
    LeastOf(usize, f64),
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
    let reduced = Reduced::of(model);
    let choice = near_the_top(&reduced.model, Goal::Best, least)?;
    Ok(choice.map(|choice| reduced.in_whole(&choice)))
}

/// The best of all choices but one.
pub fn best_but(model: &Model, choice: &[usize]) -> Result<Option<Choice>, Undecided> {
    near_the_top(model, Goal::BestBut(choice), f64::NEG_INFINITY)
}

/// Of the choices of at least so high a value, of which there is one that takes `enough` of a resource, the one
/// that takes least.
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
    let reduced = Reduced::of(model);
    let mut share = FIRST_SHARE;
    loop {
        let mut allowed = reduced.model.clone();
        allowed.resources[resource].most = if share < 1.0 { from + (enough - from) * share } else { enough };
        let kept = Bound::of(&allowed).reaching(least);
        if let Some(choice) = solve_kept(&allowed, &kept, Goal::LeastOf(resource, least))? {
            return Ok(Some(reduced.in_whole(&choice)));
        }
        if share >= 1.0 {
            return Ok(None);
        }
        share *= DEEPER;
    }
}

/// Leaves out all with which no choice comes near the upper bound and solves what is left. Where what comes of
/// it is at least as good as any choice with what was left out, it is the best; else it says how good the
/// best is at least, or, where there is none, that more must stay in.
fn near_the_top(model: &Model, goal: Goal<'_>, least: f64) -> Result<Option<Choice>, Undecided> {
    if model.areas.iter().any(|area| area.options.is_empty()) {
        return Ok(None);
    }
    let bound = Bound::of(model);
    let mut best: Option<Choice> = None;
    let mut depth = FIRST_DEPTH;
    loop {
        let least = best.as_ref().map_or(least, |best| model.value(best));
        // no choice has a value below 0
        if bound.upper < least.max(0.0) {
            return Ok(best);
        }
        let reach = (bound.upper - bound.range * depth).max(least);
        let kept = bound.reaching(reach);
        let all = kept.iter().zip(&model.areas).all(|(kept, area)| kept.len() == area.options.len());
        if let Some(found) = solve_kept(model, &kept, goal)? {
            let value = model.value(&found);
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
        // where something was found, or asked for, all that may pass it is looked at next
        let sure = best.is_some() || least.is_finite();
        depth = if sure { f64::INFINITY } else { depth * DEEPER };
    }
}

/// Solves with only these options of each area.
fn solve_kept(model: &Model, kept: &[Vec<usize>], goal: Goal<'_>) -> Result<Option<Choice>, Undecided> {
    if kept.iter().any(Vec::is_empty) {
        return Ok(None);
    }
    let mut smaller = model.clone();
    for (area, kept) in smaller.areas.iter_mut().zip(kept) {
        area.options = kept.iter().map(|at| area.options[*at].clone()).collect();
    }
    let choice = match goal {
        Goal::BestBut(other) => {
            let places: Option<Choice> =
                other.iter().zip(kept).map(|(at, kept)| kept.iter().position(|own| own == at)).collect();
            match places {
                Some(places) => solve_whole(&smaller, Goal::BestBut(&places))?,
                // what is to be left out is left out already
                None => solve_whole(&smaller, Goal::Best)?,
            }
        }
        goal => solve_whole(&smaller, goal)?,
    };
    Ok(choice.map(|choice| choice.iter().zip(kept).map(|(at, kept)| kept[*at]).collect()))
}

fn solve_whole(model: &Model, goal: Goal<'_>) -> Result<Option<Choice>, Undecided> {
    let programme = Programme::of(model, goal);
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
    let taken = |binaries: &Vec<Variable>| binaries.iter().position(|one| solution.value(*one) > 0.5);
    let choice: Option<Choice> = programme.taken.iter().map(taken).collect();
    match choice.filter(|choice| model.keeps(choice)) {
        Some(choice) => Ok(Some(choice)),
        None => Err(Undecided("what the solver found does not keep the limits".to_owned())),
    }
}

struct Programme {
    variables: ProblemVariables,
    constraints: Vec<Constraint>,
    /// The binaries of the options, area by area.
    taken: Vec<Vec<Variable>>,
    /// What all areas take of each resource.
    used: Vec<Expression>,
}

impl Programme {
    fn of(model: &Model, goal: Goal<'_>) -> Self {
        let mut variables = ProblemVariables::new();
        let taken: Vec<Vec<Variable>> = model
            .areas
            .iter()
            .map(|area| area.options.iter().map(|_| variables.add(variable().binary())).collect())
            .collect();
        let mut programme = Self { variables, constraints: Vec::new(), taken, used: Vec::new() };
        for binaries in &programme.taken {
            let sum: Expression = binaries.iter().sum();
            programme.constraints.push(constraint!(sum == 1));
        }
        programme.count_kinds(model);
        programme.part_neighbours(model);
        programme.share(model, goal);
        match goal {
            Goal::Best => {}
            Goal::BestBut(choice) => {
                let same: Expression = programme.taken.iter().zip(choice).map(|(own, at)| own[*at]).sum();
                programme.constraints.push(constraint!(same <= choice.len() as f64 - 1.0));
            }
            Goal::LeastOf(_, least) => {
                let value = programme.value(model);
                programme.constraints.push(constraint!(value >= least));
            }
        }
        programme
    }

    /// At most so many kinds.
    fn count_kinds(&mut self, model: &Model) {
        let Some(most) = model.kinds.filter(|most| *most < model.areas.len()) else { return };
        let mut kinds: BTreeMap<usize, Variable> = BTreeMap::new();
        for (area, binaries) in model.areas.iter().zip(&self.taken) {
            for (option, taken) in area.options.iter().zip(binaries) {
                // a binary at one pulls it up, so it need not be a binary itself
                let kind =
                    *kinds.entry(option.kind).or_insert_with(|| self.variables.add(variable().min(0).max(1)));
                self.constraints.push(constraint!(*taken <= kind));
            }
        }
        let all: Expression = kinds.values().sum();
        self.constraints.push(constraint!(all <= most as f64));
    }

    /// What invades its neighbour stands only beside its own kind.
    fn part_neighbours(&mut self, model: &Model) {
        for pair in &model.pairs {
            for (own, other) in [(pair.a, pair.b), (pair.b, pair.a)] {
                for (option, taken) in model.areas[own].options.iter().zip(&self.taken[own]) {
                    if !option.invades(pair.edged) {
                        continue;
                    }
                    let beside = model.areas[other].options.iter().zip(&self.taken[other]);
                    let alike: Expression =
                        beside.filter(|(one, _)| one.kind == option.kind).map(|(_, taken)| *taken).sum();
                    self.constraints.push(constraint!(*taken <= alike));
                }
            }
        }
    }

    /// What is used of each resource, and no more than there is.
    fn share(&mut self, model: &Model, goal: Goal<'_>) {
        for (at, resource) in model.resources.iter().enumerate() {
            let wanted = matches!(goal, Goal::LeastOf(own, _) if own == at);
            if !wanted && resource.most.is_infinite() {
                self.used.push(Expression::default());
                continue;
            }
            let mut zones: BTreeMap<usize, Variable> = BTreeMap::new();
            let mut used = Expression::default();
            for (area, binaries) in model.areas.iter().zip(&self.taken) {
                let options = area.options.iter().zip(binaries);
                let rate: Expression = options.map(|(option, taken)| option.takes[at] * *taken).sum();
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
                value += (option.value * area.size / size) * *taken;
            }
        }
        value
    }

    /// What is sought, and whether it is to be high.
    fn objective(&self, model: &Model, goal: Goal<'_>) -> (Expression, bool) {
        match goal {
            Goal::LeastOf(resource, _) => (self.used[resource].clone() * (1.0 / model.size()), false),
            Goal::Best | Goal::BestBut(_) => (self.value(model), true),
        }
    }
}
