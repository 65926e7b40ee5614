//! The trace of one answer: a flat list of steps, each naming the earlier steps that it rests on.
//!
//! Explanations are built from it and from nothing else. It is made on demand for the candidates
//! that are shown: by the order of the strata every fact a rule read was final when it was read, so
//! reading the rules again over the final facts gives what the run saw.

use std::collections::{BTreeMap, HashMap};

use super::expression::Facts;
use super::facts::{Origin, View};
use super::run::Outcome;
use super::value::{Slot, Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Effect, Rule};
use crate::knowledge::vocabulary::Kind;

/// Position of a step in its trace.
pub type StepId = usize;

/// A condition of a rule with what was seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// Canonical text of the condition.
    pub text: String,
    /// Whether it holds; `None` where unknown.
    pub truth: Option<bool>,
    /// What was observed, with how to write it.
    pub observed: Option<(Value, Kind)>,
    /// What it was held against.
    pub threshold: Option<(Value, Kind)>,
}

/// What a rule's effect came to.
#[derive(Clone, Debug, PartialEq)]
pub enum Result {
    /// A level of a need.
    Level(usize, f64),
    /// A derived value.
    Derived(Slot, Value),
    /// Words: a credit, a caution or a task.
    Spoken,
}

/// A step.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// A fact or trait that rules read.
    Given {
        /// Which.
        slot: Slot,
        /// Its value.
        value: Value,
        /// Where a fact of the site comes from.
        origin: Option<Origin>,
    },
    /// A rule that took effect.
    Applied {
        /// Position of the rule.
        rule: usize,
        /// Position of the effect.
        effect: usize,
        /// Its conditions.
        conditions: Vec<Observation>,
        /// What came of it.
        result: Result,
        /// The steps that it read.
        premises: Vec<StepId>,
    },
    /// Several results brought to one.
    Merged {
        /// A need, or a derived fact.
        slot: Slot,
        /// What they come to.
        value: Value,
        /// The steps merged.
        from: Vec<StepId>,
    },
    /// A rule that could not be decided.
    Open {
        /// Position of the rule.
        rule: usize,
        /// Position of the effect.
        effect: usize,
        /// Its conditions.
        conditions: Vec<Observation>,
        /// What it misses.
        missing: Vec<Slot>,
        /// Level if what is missing comes out best.
        best: f64,
        /// Level if what is missing comes out worst.
        worst: f64,
    },
    /// A rule whose condition does not hold.
    Silent {
        /// Position of the rule.
        rule: usize,
        /// Its conditions.
        conditions: Vec<Observation>,
    },
}

/// A trace.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    /// The steps; each rests only on earlier ones.
    pub steps: Vec<Step>,
}

/// Where the facts of a site come from, by position.
pub type Origins<'a> = dyn Fn(usize) -> Option<Origin> + 'a;

/// How much a trace holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// What took effect and what is open, without conditions.
    Brief,
    /// Every condition with what was seen, and the rules that stayed silent.
    Full,
}

/// The trace of one outcome.
pub fn trace(
    knowledge: &Knowledge,
    outcome: &Outcome,
    view: &View<'_>,
    origins: &Origins<'_>,
    detail: Detail,
) -> Trace {
    let mut tracer = Tracer {
        knowledge,
        detail,
        outcome,
        view,
        origins,
        trace: Trace::default(),
        step_of: HashMap::new(),
        results: BTreeMap::new(),
    };
    let strata = if outcome.needs.is_empty() { &knowledge.strata.site } else { &knowledge.strata.pair };
    for stratum in strata {
        // what formulas computed is entered when it is first read
        let rules = stratum.rules.iter().copied().filter(|index| *index < knowledge.rules.len());
        let circle: Vec<Slot> = if stratum.recursive {
            rules
                .clone()
                .flat_map(|index| knowledge.rules[index].effects.iter().filter_map(Effect::writes))
                .collect()
        } else {
            Vec::new()
        };
        for index in rules {
            tracer.rule(index, &circle);
        }
    }
    // what nothing read is merged last
    let written: Vec<Slot> = tracer.results.keys().copied().collect();
    for slot in written {
        tracer.premise(slot, &[]);
    }
    tracer.trace
}

struct Tracer<'a> {
    knowledge: &'a Knowledge,
    detail: Detail,
    outcome: &'a Outcome,
    view: &'a View<'a>,
    origins: &'a Origins<'a>,
    trace: Trace,
    step_of: HashMap<Slot, StepId>,
    /// What rules gave each slot so far.
    results: BTreeMap<Slot, Vec<StepId>>,
}

impl Tracer<'_> {
    fn push(&mut self, step: Step) -> StepId {
        self.trace.steps.push(step);
        self.trace.steps.len() - 1
    }

    fn rule(&mut self, index: usize, circle: &[Slot]) {
        let outcome = self.outcome;
        let rule = &self.knowledge.rules[index];
        let full = self.detail == Detail::Full;
        let silent = rule.when.as_ref().map_or(Some(true), |when| when.expr.truth(self.view)) == Some(false);
        if silent && !full {
            return;
        }
        let conditions = if full { observe(self.knowledge, rule, self.view) } else { Vec::new() };
        if silent {
            self.push(Step::Silent { rule: index, conditions });
            return;
        }
        let premises: Vec<StepId> =
            rule.reads().iter().filter_map(|slot| self.premise(*slot, circle)).collect();
        for (at, effect) in rule.effects.iter().enumerate() {
            if let Some(result) = result_of(index, at, effect, outcome) {
                let premises = premises.clone();
                let conditions = conditions.clone();
                let step = self.push(Step::Applied { rule: index, effect: at, conditions, result, premises });
                if let Some(slot) = effect.writes() {
                    self.results.entry(slot).or_default().push(step);
                }
                continue;
            }
            let open = outcome.needs.iter().flat_map(|need| &need.open).chain(&outcome.unspoken);
            for point in open.filter(|point| (point.rule, point.effect) == (index, at)) {
                let (missing, best, worst) = (point.missing.clone(), point.best, point.worst);
                let conditions = conditions.clone();
                self.push(Step::Open { rule: index, effect: at, conditions, missing, best, worst });
            }
        }
    }

    /// The step that gave a slot its value. Facts, traits and computed facts are entered when first
    /// read, and so is the merge of what rules gave, since by the strata all of them have spoken by
    /// then, except within a circle.
    fn premise(&mut self, slot: Slot, circle: &[Slot]) -> Option<StepId> {
        if let Some(step) = self.step_of.get(&slot) {
            return Some(*step);
        }
        let step = if let Some(from) = self.results.get(&slot).filter(|_| !circle.contains(&slot)) {
            let from = from.clone();
            let value = match slot.space {
                Space::Need => Value::Number(self.outcome.needs.get(slot.index)?.level),
                _ => self.view.get(slot)?.clone(),
            };
            self.push(Step::Merged { slot, value, from })
        } else {
            let value = self.view.get(slot)?.clone();
            let computed = || self.knowledge.formulas.iter().find(|formula| formula.writes.contains(&slot));
            let origin = match slot.space {
                Space::Need => return None,
                Space::Fit => Some(Origin::Computed(computed()?.id.to_owned())),
                Space::Site => (self.origins)(slot.index),
                Space::Species => None,
            };
            self.push(Step::Given { slot, value, origin })
        };
        self.step_of.insert(slot, step);
        Some(step)
    }
}

fn observe(knowledge: &Knowledge, rule: &Rule, view: &View<'_>) -> Vec<Observation> {
    rule.conditions(&knowledge.names())
        .into_iter()
        .map(|condition| {
            let side = |typed: &super::expression::Typed| Some((typed.expr.eval(view)?, typed.kind()));
            let (observed, threshold) = match &condition.sides {
                Some((left, right)) => (side(left), side(right)),
                None => (None, None),
            };
            let truth = condition.whole.expr.truth(view);
            Observation { text: condition.text, truth, observed, threshold }
        })
        .collect()
}

fn result_of(rule: usize, effect_at: usize, effect: &Effect, outcome: &Outcome) -> Option<Result> {
    match effect {
        Effect::Derive { slot, .. } => {
            let derived = outcome.derived.iter().rev().find(|(r, e, _)| (*r, *e) == (rule, effect_at));
            derived.map(|(_, _, value)| Result::Derived(*slot, value.clone()))
        }
        Effect::Rate { need, .. } | Effect::Limit { need, .. } | Effect::Exclude { need } => {
            let all = &outcome.needs.get(*need)?.contributions;
            let own = all.iter().find(|one| (one.rule, one.effect) == (rule, effect_at))?;
            Some(Result::Level(*need, own.level))
        }
        _ => outcome.spoken.contains(&(rule, effect_at)).then_some(Result::Spoken),
    }
}

/// Plays a trace again from its steps alone: the level that each need comes to.
#[cfg(test)]
pub fn replay(trace: &Trace, needs: usize) -> Vec<f64> {
    let mut levels = vec![0.0f64; needs];
    for step in &trace.steps {
        let Step::Merged { slot, from, .. } = step else { continue };
        if slot.space != Space::Need {
            continue;
        }
        for &id in from {
            if let Some(Step::Applied { result: Result::Level(need, level), .. }) = trace.steps.get(id)
                && *need == slot.index
            {
                levels[slot.index] = levels[slot.index].max(*level);
            }
        }
    }
    levels
}

/// Plays the derived facts of a trace again from its steps alone: what each comes to by its declared
/// merge, beside what the trace says.
#[cfg(test)]
pub fn replay_facts(trace: &Trace, knowledge: &Knowledge) -> Vec<(Slot, Option<Value>, Value)> {
    let merges = trace.steps.iter().filter_map(|step| match step {
        Step::Merged { slot, from, value } if slot.space != Space::Need => Some((*slot, from, value)),
        _ => None,
    });
    merges
        .map(|(slot, from, told)| {
            let mut possible = super::possible::Possible::default();
            for &id in from {
                if let Some(Step::Applied { result: Result::Derived(own, value), .. }) = trace.steps.get(id)
                    && *own == slot
                    && let Some(declaration) = knowledge.vocabulary.declaration(slot)
                {
                    possible.merge(value, declaration);
                }
            }
            (slot, possible.value().cloned(), told.clone())
        })
        .collect()
}
