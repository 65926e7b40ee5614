//! A model to its best choice, exactly: a mixed-integer programme, solved by branch and bound.
//!
//! One binary for each option of each area. A kind is counted by a variable at or above every binary
//! of it. An option that invades a neighbour may stand only where the neighbour takes the same kind,
//! which is one inequality. What a zone takes for each unit of size is a variable at or above what each of
//! its areas takes. What the solver returns is held against the model again, in plain sums.

use std::collections::BTreeMap;

use good_lp::{
    Constraint, Expression, ProblemVariables, ResolutionError, Solution, SolutionStatus, SolverModel,
    Variable, WithTimeLimit, constraint, microlp, variable,
};

use super::model::{Choice, Model};
use super::reduce::Reduced;

/// What a solve is after.
#[derive(Clone, Copy, Debug)]
pub enum Goal<'a> {
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

/// A solve that takes longer is given up, and the answer says so.
const MOST_SECONDS: f64 = 20.0;

/// The choice that a goal asks for; `None` where nothing keeps the limits.
pub fn solve(model: &Model, goal: Goal<'_>) -> Result<Option<Choice>, Undecided> {
    if model.areas.iter().any(|area| area.options.is_empty()) {
        return Ok(None);
    }
    if matches!(goal, Goal::BestBut(_)) {
        return solve_whole(model, goal);
    }
    let reduced = Reduced::of(model);
    let choice = solve_whole(&reduced.model, goal)?;
    Ok(choice.map(|choice| reduced.in_whole(&choice)))
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
