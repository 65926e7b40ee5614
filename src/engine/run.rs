//! Forward chaining: every rule over one site, then over each species at it.
//!
//! A rule whose condition is true takes effect; one whose condition is false stays silent; one that
//! cannot be decided is kept as *open*, with what it misses and how far it might move its need.

use super::expression::{Expr, Facts, Typed};
use super::facts::{Supposing, Values, View};
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

/// What became of one species, or of the site alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Facts of the species at the site.
    pub fit: Values,
    /// The needs, in their order.
    pub needs: Vec<NeedOutcome>,
    /// Rules and effects that speak without moving a level: credits, cautions, tasks.
    pub spoken: Vec<(usize, usize)>,
    /// The same, where it could not be decided whether they speak.
    pub unspoken: Vec<OpenPoint>,
    /// Derived facts: rule, effect and value, in the order of derivation.
    pub derived: Vec<(usize, usize, Value)>,
}

/// Values to try for an unknown fact of the site.
pub trait Plausible {
    /// The values; empty where nothing may be supposed.
    fn values(&self, slot: Slot) -> &[Value];
}

/// At most this many combinations of unknown facts are tried for one rule.
const MOST_COMBINATIONS: usize = 81;

/// Runs the rules that read only the site. Derived facts go into `site`.
pub fn run_site(knowledge: &Knowledge, site: &mut Values, plausible: &impl Plausible) -> Outcome {
    let mut outcome = Outcome::default();
    for stratum in &knowledge.strata.site {
        run_stratum(stratum, |index, first| {
            let rule = &knowledge.rules[index];
            let view = View { site, species: &[], fit: &[], needs: &[] };
            let decisions = decide(knowledge, rule, index, &view, plausible);
            absorb(knowledge, decisions, first, &mut outcome, &mut |slot, value| {
                let merge = knowledge.vocabulary.site[slot.index].merge;
                merge_into(
                    &mut site[slot.index],
                    value,
                    merge,
                    knowledge.vocabulary.site[slot.index].better_high,
                )
            })
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
) -> Outcome {
    let count = knowledge.needs.all.len();
    let mut outcome =
        Outcome { fit: vec![], needs: vec![NeedOutcome::default(); count], ..Outcome::default() };
    let mut fit = with_defaults(knowledge, fit);
    let mut levels: Values = vec![Some(Value::Number(0.0)); count];
    for stratum in &knowledge.strata.pair {
        run_stratum(stratum, |index, first| {
            let rule = &knowledge.rules[index];
            let view = View { site, species, fit: &fit, needs: &levels };
            let decisions = decide(knowledge, rule, index, &view, plausible);
            let changed = absorb(knowledge, decisions, first, &mut outcome, &mut |slot, value| {
                let declaration = &knowledge.vocabulary.fit[slot.index];
                merge_into(&mut fit[slot.index], value, declaration.merge, declaration.better_high)
            });
            for need in rule.effects.iter().filter_map(Effect::rated_need) {
                levels[need] = Some(Value::Number(outcome.needs[need].level));
            }
            changed
        });
    }
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

/// Runs each rule once, and a circle of rules until nothing changes. `run` gets whether it is the
/// first round and tells whether it changed a fact.
fn run_stratum(stratum: &Stratum, mut run: impl FnMut(usize, bool) -> bool) {
    let mut first = true;
    loop {
        let mut changed = false;
        for rule in &stratum.rules {
            changed |= run(*rule, first);
        }
        first = false;
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
    let mut note = |expr: &Expr| {
        expr.visit_slots(&mut |slot, only_known| {
            if !only_known && view.get(slot).is_none() && !missing.contains(&slot) {
                missing.push(slot);
            }
        });
    };
    if let Some(when) = &rule.when {
        note(&when.expr);
    }
    let level = match effect {
        Effect::Rate { level, .. } => {
            note(&level.expr);
            Some(level)
        }
        _ => None,
    };
    let fixed = match effect {
        Effect::Limit { level, .. } => *level,
        Effect::Rate { level, .. } => greatest(level),
        Effect::Exclude { .. } => 5.0,
        _ => 0.0,
    };
    let mut point = OpenPoint { rule: index, effect: at, missing, best: 0.0, worst: fixed, mean: fixed };
    let choices: Vec<Vec<Value>> =
        point.missing.iter().map(|slot| choices_for(knowledge, *slot, plausible)).collect();
    let combinations = choices.iter().map(Vec::len).product::<usize>();
    if choices.iter().any(Vec::is_empty) || combinations > MOST_COMBINATIONS {
        return point;
    }
    let mut supposed: Vec<(Slot, Value)> =
        point.missing.iter().zip(&choices).map(|(slot, values)| (*slot, values[0].clone())).collect();
    let (mut best, mut worst, mut sum) = (f64::MAX, f64::MIN, 0.0);
    for combination in 0..combinations {
        let mut rest = combination;
        for ((_, value), values) in supposed.iter_mut().zip(&choices) {
            *value = values[rest % values.len()].clone();
            rest /= values.len();
        }
        let facts = Supposing { facts: view, supposed: &supposed };
        let fires = rule.when.as_ref().map_or(Some(true), |when| when.expr.truth(&facts));
        let reached = match (fires, level) {
            (Some(false), _) => 0.0,
            (Some(true), Some(level)) => level.expr.number(&facts).unwrap_or(fixed).clamp(0.0, 5.0),
            (Some(true), None) => fixed,
            (None, _) => fixed,
        };
        best = best.min(reached);
        worst = worst.max(reached);
        sum += reached;
    }
    point.best = best;
    point.worst = worst;
    point.mean = sum / combinations as f64;
    point
}

/// What an unknown slot might hold: what the site leaves plausible; a flag may be either.
fn choices_for(knowledge: &Knowledge, slot: Slot, plausible: &impl Plausible) -> Vec<Value> {
    let values = plausible.values(slot);
    if !values.is_empty() || slot.space == Space::Species {
        return values.to_vec();
    }
    match knowledge.vocabulary.declaration(slot).map(|declaration| declaration.kind) {
        Some(Kind::Flag) => vec![Value::Flag(false), Value::Flag(true)],
        _ => Vec::new(),
    }
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

/// Enters what a rule said. In later rounds of a circle only new derivations count.
fn absorb(
    knowledge: &Knowledge,
    decisions: Vec<Decision>,
    first: bool,
    outcome: &mut Outcome,
    write: &mut impl FnMut(Slot, &Value) -> bool,
) -> bool {
    let mut changed = false;
    for decision in decisions {
        match decision {
            Decision::Derived(rule, effect, value) => {
                let Effect::Derive { slot, .. } = &knowledge.rules[rule].effects[effect] else { continue };
                changed |= write(*slot, &value);
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
            Decision::Open(point) if first => {
                let effect = &knowledge.rules[point.rule].effects[point.effect];
                match effect.rated_need() {
                    Some(need) => outcome.needs[need].open.push(point),
                    None => outcome.unspoken.push(point),
                }
            }
            Decision::Spoken(rule, effect) => {
                outcome.unspoken.retain(|open| (open.rule, open.effect) != (rule, effect));
                if !outcome.spoken.contains(&(rule, effect)) {
                    outcome.spoken.push((rule, effect));
                }
            }
            Decision::Open(_) => {}
        }
    }
    changed
}

/// Brings a new value together with what a slot holds; tells whether the slot changed.
fn merge_into(slot: &mut Option<Value>, value: &Value, merge: Merge, better_high: Option<bool>) -> bool {
    let Some(old) = slot.as_ref() else {
        *slot = Some(value.clone());
        return true;
    };
    // without a favourable end, more is worse: levels and risks
    let keeps_greater = (merge == Merge::Best) == (better_high == Some(true));
    let merged = match (old, value) {
        (Value::Flag(a), Value::Flag(b)) => Value::Flag(*a || *b),
        (Value::Set(a), Value::Set(b)) => Value::Set(a | b),
        (Value::Number(a), Value::Number(b)) => Value::Number(match merge {
            Merge::Sum => a + b,
            _ if keeps_greater => a.max(*b),
            _ => a.min(*b),
        }),
        (Value::Step(a), Value::Step(b)) => Value::Step(if keeps_greater { *a.max(b) } else { *a.min(b) }),
        _ => old.clone(),
    };
    let changed = merged != *old;
    *slot = Some(merged);
    changed
}
