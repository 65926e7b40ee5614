//! Forward chaining: every rule over one site, then over each species at it.
//!
//! A rule whose condition is true takes effect; one whose condition is false stays silent; one that
//! cannot be decided is kept as *open*, with what it misses and how far it might move its need.

use std::collections::BTreeMap;

use super::expression::{Expr, Typed};
use super::facts::{Supposing, Values, View};
use super::formula::Compute;
use super::jointly::ByFact;
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

/// A rule that could not be decided.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenPoint {
    /// Position of the rule.
    pub rule: usize,
    /// Position of the effect in the rule.
    pub effect: usize,
    /// The slots that it misses.
    pub missing: Vec<Slot>,
    /// Level if what is missing comes out best.
    pub best: f64,
    /// Level if what is missing comes out worst.
    pub worst: f64,
    /// Mean level over what is plausible.
    pub mean: f64,
    /// The same by the value of each fact that it misses.
    pub by_fact: Vec<ByFact>,
    /// Values that it might derive, for a rule that derives.
    pub might_derive: Vec<Value>,
    /// Whether it might stay silent.
    pub might_be_silent: bool,
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

/// Values to try for an unknown fact.
pub trait Plausible {
    /// The values; empty where nothing may be supposed.
    fn values(&self, slot: Slot) -> Vec<Value>;

    /// Whether the fact may come out as nothing at all.
    fn may_be_nothing(&self, _slot: Slot) -> bool {
        false
    }

    /// Computed facts of the site that are not known, and may still be.
    fn awaited(&self) -> Positions {
        Positions::default()
    }

    /// The facts that an unknown derived fact waits for; by default itself.
    fn roots(&self, slot: Slot) -> Vec<Slot> {
        vec![slot]
    }
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

/// At most this many combinations of unknown facts are tried for one rule.
const MOST_COMBINATIONS: usize = 81;

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
                Decision::Level(Contribution { rule: index, effect: at, level: level.clamp(0.0, 5.0) })
            }),
            Effect::Limit { level, .. } => {
                Some(Decision::Level(Contribution { rule: index, effect: at, level: *level }))
            }
            Effect::Exclude { .. } => {
                Some(Decision::Level(Contribution { rule: index, effect: at, level: 5.0 }))
            }
            Effect::Derive { value, .. } => {
                value.expr.eval(view).map(|value| Decision::Derived(index, at, value))
            }
            Effect::Credit { .. } | Effect::Caution { .. } | Effect::Task { .. } => {
                Some(Decision::Spoken(index, at))
            }
        });
        decisions.push(decided.unwrap_or_else(|| {
            Decision::Open(open_point(knowledge, rule, index, at, effect, view, plausible))
        }));
    }
    decisions
}

/// Measures how far an undecided rule might go, by trying what is plausible.
fn open_point(
    knowledge: &Knowledge,
    rule: &Rule,
    index: usize,
    at: usize,
    effect: &Effect,
    view: &View<'_>,
    plausible: &impl Plausible,
) -> OpenPoint {
    let mut missing: Vec<Slot> = Vec::new();
    if let Some(when) = &rule.when {
        when.expr.missing(view, &mut missing);
    }
    let level = match effect {
        Effect::Rate { level, .. } => Some(level),
        _ => None,
    };
    if let Effect::Rate { level: value, .. } | Effect::Derive { value, .. } = effect {
        value.expr.missing(view, &mut missing);
    }
    let fixed = match effect {
        Effect::Limit { level, .. } => *level,
        Effect::Rate { level, .. } => greatest(level),
        Effect::Exclude { .. } => 5.0,
        _ => 0.0,
    };
    // where nothing can be supposed, the decided rules stand and the bound alone is told
    let mut roots: Vec<Slot> = Vec::new();
    for slot in missing.iter().flat_map(|slot| plausible.roots(*slot)) {
        if !roots.contains(&slot) {
            roots.push(slot);
        }
    }
    let mut point = OpenPoint {
        rule: index,
        effect: at,
        missing: roots,
        best: 0.0,
        worst: fixed,
        mean: 0.0,
        by_fact: Vec::new(),
        might_derive: Vec::new(),
        might_be_silent: false,
    };
    let mut choices: Vec<Vec<Option<Value>>> =
        missing.iter().map(|slot| choices_for(knowledge, *slot, plausible)).collect();
    if choices.iter().any(Vec::is_empty) {
        // nothing can be tried, but the rule may still derive what it says, or nothing
        if let Effect::Derive { value, .. } = effect {
            point.might_be_silent = true;
            point.might_derive.extend(value.expr.eval(view));
        }
        return point;
    }
    let count = |choices: &[Vec<Option<Value>>]| choices.iter().map(Vec::len).product::<usize>();
    let whole: Vec<usize> = choices.iter().map(Vec::len).collect();
    // with too many combinations the longest lists are thinned to their ends
    while count(&choices) > MOST_COMBINATIONS {
        let Some(longest) = choices.iter_mut().max_by_key(|values| values.len()) else { break };
        if longest.len() <= 2 {
            return point;
        }
        *longest = vec![longest[0].clone(), longest[longest.len() - 1].clone()];
    }
    let combinations = count(&choices);
    let mut supposed: Vec<(Slot, Option<Value>)> =
        missing.iter().zip(&choices).map(|(slot, values)| (*slot, values[0].clone())).collect();
    let (mut best, mut worst, mut sum, mut tried) = (f64::MAX, f64::MIN, 0.0, 0usize);
    // for each fact and value: the least level, the sum of levels, and how many there are
    let mut tallies: Vec<Vec<(f64, f64, usize)>> =
        choices.iter().map(|values| vec![(f64::MAX, 0.0, 0); values.len()]).collect();
    for combination in 0..combinations {
        let mut rest = combination;
        for ((_, value), values) in supposed.iter_mut().zip(&choices) {
            *value = values[rest % values.len()].clone();
            rest /= values.len();
        }
        let facts = Supposing { facts: view, supposed: &supposed };
        let fires = rule.when.as_ref().map_or(Some(true), |when| when.expr.truth(&facts));
        // on a fact that comes to nothing the rule waits for ever: no level, and its bound alone is told
        let waits = fires.is_none() && supposed.iter().any(|(_, value)| value.is_none());
        if let Effect::Derive { value, .. } = effect {
            match value.expr.eval(&facts).filter(|_| fires == Some(true)) {
                Some(value) if !point.might_derive.contains(&value) => point.might_derive.push(value),
                Some(_) => {}
                None => point.might_be_silent = true,
            }
            continue;
        }
        let reached = match (fires, level) {
            (Some(false), _) => 0.0,
            (Some(true), Some(level)) => level.expr.number(&facts).unwrap_or(fixed).clamp(0.0, 5.0),
            (Some(true), None) => fixed,
            (None, _) if waits => 0.0,
            (None, _) => fixed,
        };
        best = best.min(reached);
        worst = worst.max(if waits { fixed } else { reached });
        sum += reached;
        tried += 1;
        let mut rest = combination;
        for tally in &mut tallies {
            let count = tally.len();
            let own = &mut tally[rest % count];
            *own = (own.0.min(reached), own.1 + reached, own.2 + 1);
            rest /= count;
        }
    }
    if tried > 0 {
        point.best = best;
        point.worst = worst;
        point.mean = sum / tried as f64;
        // of a list that was thinned the values between are not known, nor of a derived fact those that
        // rules yet to run may add; a value under which nothing could be tried binds nothing
        let held = missing.iter().zip(&choices).zip(tallies).zip(whole);
        let held =
            held.filter(|(((slot, values), _), whole)| slot.space != Space::Fit && values.len() == *whole);
        point.by_fact = held
            .map(|(((slot, values), tally), _)| {
                let levels = values.iter().zip(tally).map(|(value, (least, sum, tried))| match tried {
                    0 => (value.clone(), 0.0, 0.0),
                    _ => (value.clone(), least, sum / tried as f64),
                });
                ByFact { slot: *slot, levels: levels.collect() }
            })
            .collect();
    }
    point
}

/// What an unknown slot might hold: what the site leaves plausible; a flag may be either, and a
/// trait on a scale any step.
fn choices_for(knowledge: &Knowledge, slot: Slot, plausible: &impl Plausible) -> Vec<Option<Value>> {
    let values = plausible.values(slot);
    if !values.is_empty() {
        let nothing = plausible.may_be_nothing(slot).then_some(None);
        return values.into_iter().map(Some).chain(nothing).collect();
    }
    let any: Vec<Value> = match knowledge.vocabulary.declaration(slot).map(|declaration| declaration.kind) {
        Some(Kind::Flag) => vec![Value::Flag(false), Value::Flag(true)],
        Some(Kind::Scale(list)) if slot.space == Space::Species => {
            let steps = u8::try_from(knowledge.vocabulary.list(list).names.len()).unwrap_or(u8::MAX);
            (0..steps).map(Value::Step).collect()
        }
        _ => Vec::new(),
    };
    any.into_iter().map(Some).collect()
}

/// The greatest level that an expression can give, as far as its form tells.
fn greatest(level: &Typed) -> f64 {
    fn of(expr: &Expr) -> f64 {
        match expr {
            Expr::Const(value) => value.as_number().unwrap_or(5.0),
            Expr::Grade(_, anchors) => anchors.iter().map(|(_, level)| *level).fold(0.0, f64::max),
            Expr::If(parts) => of(&parts[1]).max(of(&parts[2])),
            Expr::Extreme(true, parts) | Expr::First(parts) => parts.iter().map(of).fold(0.0, f64::max),
            Expr::Extreme(false, parts) => parts.iter().map(of).fold(5.0, f64::min),
            _ => 5.0,
        }
    }
    of(&level.expr).clamp(0.0, 5.0)
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
        match decision {
            Decision::Derived(rule, effect, value) => {
                let Effect::Derive { slot, .. } = &knowledge.rules[rule].effects[effect] else { continue };
                let Some(declaration) = knowledge.vocabulary.declaration(*slot) else { continue };
                let possible = derived.entry(*slot, values[slot.index].as_ref());
                changed |= possible.merge(&value, declaration);
                derived.settle(slot.index, values);
                if !outcome.derived.iter().any(|(r, e, v)| (*r, *e) == (rule, effect) && *v == value) {
                    outcome.derived.push((rule, effect, value));
                }
            }
            Decision::Level(contribution) => {
                let effect = &knowledge.rules[contribution.rule].effects[contribution.effect];
                let Some(need) = effect.rated_need().and_then(|need| outcome.needs.get_mut(need)) else {
                    continue;
                };
                let key = (contribution.rule, contribution.effect);
                changed |= contribution.level > need.level;
                need.level = need.level.max(contribution.level);
                need.open.retain(|open| (open.rule, open.effect) != key);
                match need.contributions.iter_mut().find(|own| (own.rule, own.effect) == key) {
                    Some(own) => own.level = own.level.max(contribution.level),
                    None => need.contributions.push(contribution),
                }
            }
            Decision::Open(point) => {
                let effect = &knowledge.rules[point.rule].effects[point.effect];
                if let Effect::Derive { slot, .. } = effect
                    && let Some(declaration) = knowledge.vocabulary.declaration(*slot)
                {
                    let possible = derived.entry(*slot, values[slot.index].as_ref());
                    changed |= possible.might_merge(
                        &point.might_derive,
                        point.might_be_silent,
                        declaration,
                        &point.missing,
                    );
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
            }
            Decision::Spoken(rule, effect) => {
                outcome.unspoken.retain(|open| (open.rule, open.effect) != (rule, effect));
                if !outcome.spoken.contains(&(rule, effect)) {
                    outcome.spoken.push((rule, effect));
                }
            }
        }
    }
    changed
}
