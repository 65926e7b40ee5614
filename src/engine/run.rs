//! Forward chaining: every rule over one site, then over each species at it.
//!
//! A rule whose condition is true takes effect; one whose condition is false stays silent; one that
//! cannot be decided is kept as *open*, with what it misses and how far it might move its need.

use std::collections::BTreeMap;

use super::facts::{Values, View};
use super::formula::Compute;
use super::open_point::{EXCLUDING, OpenPoint};
use super::plausible::Plausible;
use super::positions::Positions;
use super::possible::Possible;
use super::strata::Stratum;
use super::value::{Slot, Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Effect, Rule};
use crate::knowledge::vocabulary::{Kind, Merge};

/// A rule that moved a need.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// Position of the rule.
    pub rule: usize,
    /// Position of the effect in the rule.
    pub effect: usize,
    /// The level that it gives.
    pub level: f64,
}

/// What became of one need.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NeedOutcome {
    /// The worst level that decided rules give; 0 where none speaks.
    pub level: f64,
    /// Every decided rule.
    pub contributions: Vec<Contribution>,
    /// Every open rule that might raise the level.
    pub open: Vec<OpenPoint>,
}

impl NeedOutcome {
    /// The level, unless an open rule may still raise it.
    pub fn settled(&self) -> Option<f64> {
        self.open.iter().all(|point| point.worst <= self.level).then_some(self.level)
    }

    /// The levels that it lies between while it is open.
    fn bounds(&self) -> [f64; 2] {
        let greatest = |bound: fn(&OpenPoint) -> f64| self.open.iter().map(bound).fold(self.level, f64::max);
        [greatest(|point| point.best), greatest(|point| point.worst)]
    }
}

/// What became of one species, or of the site alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Facts of the species at the site.
    pub fit: Values,
    /// Which of them are not known, and may still be once an unknown is answered.
    pub awaited: Vec<bool>,
    /// The needs, in their order.
    pub needs: Vec<NeedOutcome>,
    /// Rules and effects that speak without moving a level: credits, cautions, tasks.
    pub spoken: Vec<(usize, usize)>,
    /// The same, where it could not be decided whether they speak.
    pub unspoken: Vec<OpenPoint>,
    /// Derived facts: rule, effect and value, in the order of derivation.
    pub derived: Vec<(usize, usize, Value)>,
}

/// Derived facts while rules run, with what is still possible of each.
struct Derived {
    space: Space,
    possible: BTreeMap<usize, Possible>,
    /// For each fact, whether it has no value and may still have one.
    awaited: Vec<bool>,
}

impl Derived {
    /// The possibilities of a slot that rules write.
    fn entry(&mut self, slot: Slot, known: Option<&Value>) -> &mut Possible {
        let start = || known.map_or_else(Possible::default, |value| Possible::known(value.clone()));
        self.possible.entry(slot.index).or_insert_with(start)
    }

    /// Enters among the values what a slot has come to.
    fn settle(&mut self, index: usize, values: &mut Values) {
        let Some(possible) = self.possible.get(&index) else { return };
        values[index] = possible.value().cloned();
        if self.awaited.len() <= index {
            self.awaited.resize(index + 1, false);
        }
        self.awaited[index] = !possible.plausible().is_empty();
    }
}

/// What may be supposed, with the possibilities of derived facts.
struct WithDerived<'a, P> {
    behind: &'a P,
    derived: &'a Derived,
    needs: &'a [NeedOutcome],
}

impl<P: Plausible> Plausible for WithDerived<'_, P> {
    fn awaited(&self) -> Positions {
        self.behind.awaited()
    }

    fn values(&self, slot: Slot) -> Vec<Value> {
        if slot.space == Space::Need {
            let need = self.needs.get(slot.index);
            return need.map_or_else(Vec::new, |need| need.bounds().map(Value::Number).to_vec());
        }
        match self.derived.possible.get(&slot.index).filter(|_| slot.space == self.derived.space) {
            Some(possible) => possible.plausible(),
            None => self.behind.values(slot),
        }
    }

    fn may_be_nothing(&self, slot: Slot) -> bool {
        match self.derived.possible.get(&slot.index).filter(|_| slot.space == self.derived.space) {
            Some(possible) => possible.may_be_nothing(),
            None => self.behind.may_be_nothing(slot),
        }
    }

    fn roots(&self, slot: Slot) -> Vec<Slot> {
        if slot.space == Space::Need {
            let open = self.needs.get(slot.index).into_iter().flat_map(|need| &need.open);
            return open.flat_map(|point| point.missing.iter().copied()).collect();
        }
        match self.derived.possible.get(&slot.index).filter(|_| slot.space == self.derived.space) {
            Some(possible) if !possible.waits_for.is_empty() => possible.waits_for.clone(),
            _ => vec![slot],
        }
    }
}

/// Runs the rules that read only the site. Derived facts go into `site`.
pub fn run_site(knowledge: &Knowledge, site: &mut Values, plausible: &impl Plausible) -> Outcome {
    let mut outcome = Outcome::default();
    let awaited = plausible.awaited();
    let mut derived = Derived { space: Space::Site, possible: BTreeMap::new(), awaited: Vec::new() };
    for stratum in &knowledge.strata.site {
        run_stratum(stratum, |index| {
            let rule = &knowledge.rules[index];
            let view =
                View { site, species: &[], fit: &[], needs: &[], awaited: &[], awaited_of_site: &awaited };
            let decisions = decide(knowledge, rule, index, &view, plausible);
            absorb(knowledge, decisions, &mut outcome, &mut derived, site)
        });
    }
    outcome
}

/// Runs every other rule over one species; `fit` holds what the program computed for it.
pub fn run_pair(
    knowledge: &Knowledge,
    site: &Values,
    species: &Values,
    fit: Values,
    plausible: &impl Plausible,
    formulas: &impl Compute,
) -> Outcome {
    run_some(knowledge, site, species, fit, plausible, formulas, None)
}

/// [`run_pair`] over some of the rules and formulas alone, which must hold all that they wait for: what
/// they say is what they say among all.
pub fn run_some(
    knowledge: &Knowledge,
    site: &Values,
    species: &Values,
    fit: Values,
    plausible: &impl Plausible,
    formulas: &impl Compute,
    members: Option<&Positions>,
) -> Outcome {
    let count = knowledge.needs.all.len();
    let mut outcome =
        Outcome { fit: vec![], needs: vec![NeedOutcome::default(); count], ..Outcome::default() };
    let mut fit = with_defaults(knowledge, fit);
    let awaited_of_site = plausible.awaited();
    let mut levels: Values = vec![Some(Value::Number(0.0)); count];
    let mut derived = Derived { space: Space::Fit, possible: BTreeMap::new(), awaited: Vec::new() };
    for stratum in &knowledge.strata.pair {
        // a circle is wholly within a cone or wholly without
        if members.is_some_and(|members| !stratum.rules.iter().any(|member| members.has(*member))) {
            continue;
        }
        run_stratum(stratum, |index| {
            let view = View {
                site,
                species,
                fit: &fit,
                needs: &levels,
                awaited: &derived.awaited,
                awaited_of_site: &awaited_of_site,
            };
            let plausible = WithDerived { behind: plausible, derived: &derived, needs: &outcome.needs };
            let Some(rule) = knowledge.rules.get(index) else {
                let formula = &knowledge.formulas[index - knowledge.rules.len()];
                for fact in formulas.compute(formula.id, &view, &plausible) {
                    derived.possible.insert(fact.slot.index, Possible::of(fact.values, fact.waits_for));
                    derived.settle(fact.slot.index, &mut fit);
                }
                return false;
            };
            let decisions = decide(knowledge, rule, index, &view, &plausible);
            let changed = absorb(knowledge, decisions, &mut outcome, &mut derived, &mut fit);
            for need in rule.effects.iter().filter_map(Effect::rated_need) {
                levels[need] = outcome.needs[need].settled().map(Value::Number);
            }
            changed
        });
    }
    outcome.awaited = derived.awaited;
    outcome.fit = fit;
    outcome
}

/// A flag that rules derive is false until one of them says otherwise.
fn with_defaults(knowledge: &Knowledge, mut fit: Values) -> Values {
    fit.resize(knowledge.vocabulary.fit.len(), None);
    for (value, declaration) in fit.iter_mut().zip(&knowledge.vocabulary.fit) {
        if value.is_none() && declaration.kind == Kind::Flag && declaration.merge == Merge::Any {
            *value = Some(Value::Flag(false));
        }
    }
    fit
}

/// Runs each rule once, and a circle of rules until nothing changes. `run` tells whether it changed
/// anything. A fact of a circle goes from false over unknown to true and never back, so that the order
/// within the circle does not matter; the bound only guards against a fault of ours.
fn run_stratum(stratum: &Stratum, mut run: impl FnMut(usize) -> bool) {
    const ROUNDS_A_RULE: usize = 8;
    for _ in 0..=stratum.rules.len() * ROUNDS_A_RULE {
        let mut changed = false;
        for rule in &stratum.rules {
            changed |= run(*rule);
        }
        if !(changed && stratum.recursive) {
            break;
        }
    }
}

/// What one rule says of one case.
enum Decision {
    Level(Contribution),
    Open(OpenPoint),
    Derived(usize, usize, Value),
    Spoken(usize, usize),
}

fn decide(
    knowledge: &Knowledge,
    rule: &Rule,
    index: usize,
    view: &View<'_>,
    plausible: &impl Plausible,
) -> Vec<Decision> {
    let truth = rule.when.as_ref().map_or(Some(true), |when| when.expr.truth(view));
    if truth == Some(false) {
        return Vec::new();
    }
    let mut decisions = Vec::with_capacity(rule.effects.len());
    for (at, effect) in rule.effects.iter().enumerate() {
        let decided = truth.and_then(|_| match effect {
            Effect::Rate { level, .. } => level.expr.number(view).map(|level| {
                Decision::Level(Contribution { rule: index, effect: at, level: level.clamp(0.0, EXCLUDING) })
            }),
            Effect::Limit { level, .. } => {
                Some(Decision::Level(Contribution { rule: index, effect: at, level: *level }))
            }
            Effect::Exclude { .. } => {
                Some(Decision::Level(Contribution { rule: index, effect: at, level: EXCLUDING }))
            }
            Effect::Derive { value, .. } => {
                value.expr.eval(view).map(|value| Decision::Derived(index, at, value))
            }
            Effect::Credit { .. } | Effect::Caution { .. } | Effect::Task { .. } => {
                Some(Decision::Spoken(index, at))
            }
        });
        decisions.push(
            decided.unwrap_or_else(|| {
                Decision::Open(OpenPoint::of(knowledge, rule, (index, at), view, plausible))
            }),
        );
    }
    decisions
}

/// Enters what a rule said, and tells whether it is new.
fn absorb(
    knowledge: &Knowledge,
    decisions: Vec<Decision>,
    outcome: &mut Outcome,
    derived: &mut Derived,
    values: &mut Values,
) -> bool {
    let mut changed = false;
    for decision in decisions {
        changed |= match decision {
            Decision::Derived(rule, effect, value) => {
                absorb_value(knowledge, (rule, effect), value, outcome, derived, values)
            }
            Decision::Level(contribution) => absorb_level(knowledge, contribution, outcome),
            Decision::Open(point) => absorb_open(knowledge, point, outcome, derived, values),
            Decision::Spoken(rule, effect) => {
                outcome.unspoken.retain(|open| (open.rule, open.effect) != (rule, effect));
                if !outcome.spoken.contains(&(rule, effect)) {
                    outcome.spoken.push((rule, effect));
                }
                // no rule reads what is said
                false
            }
        };
    }
    changed
}

fn absorb_value(
    knowledge: &Knowledge,
    (rule, effect): (usize, usize),
    value: Value,
    outcome: &mut Outcome,
    derived: &mut Derived,
    values: &mut Values,
) -> bool {
    let Effect::Derive { slot, .. } = &knowledge.rules[rule].effects[effect] else { return false };
    let Some(declaration) = knowledge.vocabulary.declaration(*slot) else { return false };
    let changed = derived.entry(*slot, values[slot.index].as_ref()).merge(&value, declaration);
    derived.settle(slot.index, values);
    if !outcome.derived.iter().any(|(r, e, v)| (*r, *e) == (rule, effect) && *v == value) {
        outcome.derived.push((rule, effect, value));
    }
    changed
}

fn absorb_level(knowledge: &Knowledge, contribution: Contribution, outcome: &mut Outcome) -> bool {
    let effect = &knowledge.rules[contribution.rule].effects[contribution.effect];
    let Some(need) = effect.rated_need().and_then(|need| outcome.needs.get_mut(need)) else { return false };
    let key = (contribution.rule, contribution.effect);
    let changed = contribution.level > need.level;
    need.level = need.level.max(contribution.level);
    need.open.retain(|open| (open.rule, open.effect) != key);
    match need.contributions.iter_mut().find(|own| (own.rule, own.effect) == key) {
        Some(own) => own.level = own.level.max(contribution.level),
        None => need.contributions.push(contribution),
    }
    changed
}

fn absorb_open(
    knowledge: &Knowledge,
    point: OpenPoint,
    outcome: &mut Outcome,
    derived: &mut Derived,
    values: &mut Values,
) -> bool {
    let mut changed = false;
    let effect = &knowledge.rules[point.rule].effects[point.effect];
    if let Effect::Derive { slot, .. } = effect
        && let Some(declaration) = knowledge.vocabulary.declaration(*slot)
    {
        let possible = derived.entry(*slot, values[slot.index].as_ref());
        changed =
            possible.might_merge(&point.might_derive, point.might_be_silent, declaration, &point.missing);
        derived.settle(slot.index, values);
    }
    let open = match effect.rated_need() {
        Some(need) => &mut outcome.needs[need].open,
        None => &mut outcome.unspoken,
    };
    // in a circle it may have been left open before, on less
    match open.iter_mut().find(|own| (own.rule, own.effect) == (point.rule, point.effect)) {
        Some(own) => {
            changed |= *own != point;
            *own = point;
        }
        None => {
            changed = true;
            open.push(point);
        }
    }
    changed
}
