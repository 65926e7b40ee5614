//! A model as a mixed-integer programme, solved by branch and bound.
//!
//! One binary for each piece, a kind at all the areas that it takes together (`pieces`), so that neighbours
//! need no inequality. A kind is counted by a variable at or above every binary of it. What a zone takes for
//! each unit of size is a variable at or above what each of its areas takes. What the solver returns is held
//! against the model again, in plain sums.

use std::collections::BTreeMap;

use good_lp::{
    Constraint, Expression, ProblemVariables, ResolutionError, Solution, SolutionStatus, SolverModel,
    Variable, WithTimeLimit, constraint, microlp, variable,
};

use super::model::{Choice, Model, Pair};
use super::pieces::Pieces;

/// What a solve is after.
#[derive(Clone, Copy, Debug)]
pub enum Goal<'a> {
    /// The choice of highest value.
    Best,
    /// The best of all choices but this one.
    BestBut(&'a [usize]),
    /// The choice that takes least of a resource.
    LeastOf(usize),
}

/// What is asked of a model.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// What it is after.
    pub goal: Goal<'a>,
    /// What is worth less need not be looked into.
    pub least: f64,
    /// Pairs that the model does not keep apart, where any choice of so high a value is known to go over one of
    /// them; else none.
    pub crossed: &'a [Pair],
}

/// The solver did not come to an end that can be relied on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Undecided(pub String);

/// A solve that takes longer is given up, and so is the answer: it is an error, never another answer.
const MOST_SECONDS: f64 = 120.0;

impl Goal<'_> {
    /// Whether a choice may be what is sought.
    pub fn allows(self, choice: &[usize]) -> bool {
        !matches!(self, Goal::BestBut(other) if other == choice)
    }
}

/// Solves a model as it stands; `None` where nothing keeps the limits.
pub fn solve_whole(model: &Model, asked: Asked<'_>) -> Result<Option<Choice>, Undecided> {
    let mut programme = Programme::of(model, asked);
    if programme.taken.iter().any(|own| own.iter().all(Option::is_none)) {
        return Ok(None);
    }
    if asked.least.is_finite() {
        let value = programme.value(model);
        programme.constraints.push(constraint!(value >= asked.least));
    }
    let (objective, maximise) = programme.objective(model, asked.goal);
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
    fn of(model: &Model, asked: Asked<'_>) -> Self {
        let taken = model.areas.iter().map(|area| vec![None; area.options.len()]).collect();
        let mut programme =
            Self { variables: ProblemVariables::new(), constraints: Vec::new(), taken, used: Vec::new() };
        programme.lay(model, asked.crossed);
        for area in 0..model.areas.len() {
            let sum: Expression = programme.taken[area].iter().flatten().sum();
            programme.constraints.push(constraint!(sum == 1));
        }
        programme.share(model, asked.goal);
        if let Goal::BestBut(choice) = asked.goal {
            let same = programme.taken.iter().zip(choice).filter_map(|(own, at)| own[*at]);
            let same: Expression = same.sum();
            programme.constraints.push(constraint!(same <= choice.len() as f64 - 1.0));
        }
        programme
    }

    /// Pieces of at most so many kinds, of which one goes over a pair that is to be crossed.
    fn lay(&mut self, model: &Model, crossed: &[Pair]) {
        let counted = model.kinds.filter(|most| *most < model.areas.len());
        let mut kinds: BTreeMap<usize, Variable> = BTreeMap::new();
        let mut over = Expression::default();
        for piece in Pieces::of(model).all {
            let taken = self.variables.add(variable().binary());
            piece.places.iter().for_each(|(area, at)| self.taken[*area][*at] = Some(taken));
            if crossed.iter().any(|pair| piece.goes_over(model, *pair)) {
                over += taken;
            }
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
        if !crossed.is_empty() {
            self.constraints.push(constraint!(over >= 1));
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
