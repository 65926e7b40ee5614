//! How far a rule that cannot be decided might go, found by trying what is plausible of all that it misses.

use super::expression::{Expr, Typed};
use super::facts::{Supposing, View};
use super::jointly::ByFact;
use super::plausible::Plausible;
use super::value::{Slot, Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Effect, Rule};
use crate::knowledge::vocabulary::Kind;
use crate::rank::Level;

/// The level that refuses a species, the greatest that a rule can give.
pub const EXCLUDING: f64 = Level::EXCLUDING.value();

/// At most this many combinations of unknown facts are tried for one rule.
const MOST_COMBINATIONS: usize = 81;

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

impl OpenPoint {
    /// Measures how far one effect of an undecided rule might go; `at` are the positions of the two.
    pub fn of(
        knowledge: &Knowledge,
        rule: &Rule,
        at: (usize, usize),
        view: &View<'_>,
        plausible: &impl Plausible,
    ) -> Self {
        let effect = &rule.effects[at.1];
        let missing = missing(rule, effect, view);
        // where nothing can be supposed, the decided rules stand and the bound alone is told
        let mut point = Self {
            rule: at.0,
            effect: at.1,
            missing: roots(&missing, plausible),
            best: 0.0,
            worst: bound(effect),
            mean: 0.0,
            by_fact: Vec::new(),
            might_derive: Vec::new(),
            might_be_silent: false,
        };
        let choices = missing.iter().map(|slot| choices_for(knowledge, *slot, plausible)).collect();
        match (effect, Combinations::of(missing, choices)) {
            (Effect::Derive { value, .. }, None) => {
                // nothing can be tried, but the rule may still derive what it says, or nothing
                point.might_be_silent = true;
                point.might_derive.extend(value.expr.eval(view));
            }
            (Effect::Derive { value, .. }, Some(all)) => point.try_values(rule, value, &all, view),
            (_, None) => {}
            (_, Some(all)) => point.try_levels(rule, effect, &all, view),
        }
        point
    }

    /// What a rule derives under each combination.
    fn try_values(&mut self, rule: &Rule, value: &Typed, all: &Combinations, view: &View<'_>) {
        all.each(|_, supposed| {
            let facts = Supposing { facts: view, supposed };
            let fires = truth(rule, &facts);
            match value.expr.eval(&facts).filter(|_| fires == Some(true)) {
                Some(value) if !self.might_derive.contains(&value) => self.might_derive.push(value),
                Some(_) => {}
                None => self.might_be_silent = true,
            }
        });
    }

    /// The level that a rule gives under each combination.
    fn try_levels(&mut self, rule: &Rule, effect: &Effect, all: &Combinations, view: &View<'_>) {
        let bound = self.worst;
        let level = match effect {
            Effect::Rate { level, .. } => Some(level),
            _ => None,
        };
        let mut whole = Tally::default();
        let mut worst = f64::MIN;
        let mut by_value: Vec<Vec<Tally>> =
            all.lists.iter().map(|list| vec![Tally::default(); list.len()]).collect();
        all.each(|number, supposed| {
            let facts = Supposing { facts: view, supposed };
            let fires = truth(rule, &facts);
            // on a fact that comes to nothing the rule waits for ever: no level, and its bound alone is told
            let waits = fires.is_none() && supposed.iter().any(|(_, value)| value.is_none());
            let reached = match (fires, level) {
                (Some(false), _) => 0.0,
                (Some(true), Some(level)) => level.expr.number(&facts).unwrap_or(bound).clamp(0.0, EXCLUDING),
                (Some(true), None) => bound,
                (None, _) if waits => 0.0,
                (None, _) => bound,
            };
            whole.add(reached);
            worst = worst.max(if waits { bound } else { reached });
            for (tallies, at) in by_value.iter_mut().zip(all.positions(number)) {
                tallies[at].add(reached);
            }
        });
        (self.best, self.mean, self.worst) = (whole.least, whole.mean(), worst);
        self.by_fact = all.by_fact(by_value);
    }
}

/// Levels that were reached.
#[derive(Clone, Copy)]
struct Tally {
    least: f64,
    sum: f64,
    count: usize,
}

impl Default for Tally {
    fn default() -> Self {
        Self { least: f64::MAX, sum: 0.0, count: 0 }
    }
}

impl Tally {
    fn add(&mut self, level: f64) {
        *self = Self { least: self.least.min(level), sum: self.sum + level, count: self.count + 1 };
    }

    fn mean(&self) -> f64 {
        self.sum / self.count as f64
    }
}

/// Every combination of the values that some unknown facts may have, numbered from 0.
struct Combinations {
    slots: Vec<Slot>,
    lists: Vec<Vec<Option<Value>>>,
    /// How many values each fact had before its list was thinned.
    lengths: Vec<usize>,
}

impl Combinations {
    /// `None` where of some fact nothing may be supposed, or the combinations are too many. With many the
    /// longest lists are thinned to their ends.
    fn of(slots: Vec<Slot>, mut lists: Vec<Vec<Option<Value>>>) -> Option<Self> {
        if lists.iter().any(Vec::is_empty) {
            return None;
        }
        let lengths = lists.iter().map(Vec::len).collect();
        while count(&lists) > MOST_COMBINATIONS {
            let longest = lists.iter_mut().max_by_key(|values| values.len()).filter(|own| own.len() > 2)?;
            *longest = vec![longest[0].clone(), longest[longest.len() - 1].clone()];
        }
        Some(Self { slots, lists, lengths })
    }

    /// Calls `visit` with the number of each combination and the slots that it supposes.
    fn each(&self, mut visit: impl FnMut(usize, &[(Slot, Option<Value>)])) {
        let mut supposed: Vec<(Slot, Option<Value>)> =
            self.slots.iter().zip(&self.lists).map(|(slot, list)| (*slot, list[0].clone())).collect();
        for number in 0..count(&self.lists) {
            for (((_, value), list), at) in supposed.iter_mut().zip(&self.lists).zip(self.positions(number)) {
                *value = list[at].clone();
            }
            visit(number, &supposed);
        }
    }

    /// Which value of each list a combination holds.
    fn positions(&self, number: usize) -> impl Iterator<Item = usize> {
        let mut rest = number;
        self.lists.iter().map(move |list| {
            let at = rest % list.len();
            rest /= list.len();
            at
        })
    }

    /// What was tallied by the values of each fact. Of a list that was thinned the values between are not
    /// known, nor of a derived fact those that rules yet to run may add; such a fact binds nothing.
    fn by_fact(&self, tallies: Vec<Vec<Tally>>) -> Vec<ByFact> {
        let facts = self.slots.iter().zip(&self.lists).zip(&self.lengths).zip(tallies);
        let whole =
            facts.filter(|(((slot, list), length), _)| slot.space != Space::Fit && list.len() == **length);
        whole
            .map(|(((slot, list), _), tallies)| {
                let levels = list.iter().zip(tallies);
                let levels = levels.map(|(value, tally)| (value.clone(), tally.least, tally.mean()));
                ByFact { slot: *slot, levels: levels.collect() }
            })
            .collect()
    }
}

fn count(lists: &[Vec<Option<Value>>]) -> usize {
    lists.iter().map(Vec::len).fold(1, usize::saturating_mul)
}

fn truth(rule: &Rule, facts: &Supposing<'_, View<'_>>) -> Option<bool> {
    rule.when.as_ref().map_or(Some(true), |when| when.expr.truth(facts))
}

/// The unknown slots that keep an effect from being decided.
fn missing(rule: &Rule, effect: &Effect, view: &View<'_>) -> Vec<Slot> {
    let mut missing = Vec::new();
    if let Some(when) = &rule.when {
        when.expr.missing(view, &mut missing);
    }
    if let Effect::Rate { level: value, .. } | Effect::Derive { value, .. } = effect {
        value.expr.missing(view, &mut missing);
    }
    missing
}

/// The facts that these wait for, each once.
fn roots(slots: &[Slot], plausible: &impl Plausible) -> Vec<Slot> {
    let mut roots = Vec::new();
    for slot in slots.iter().flat_map(|slot| plausible.roots(*slot)) {
        if !roots.contains(&slot) {
            roots.push(slot);
        }
    }
    roots
}

/// The greatest level that an effect can give, as far as its form tells.
fn bound(effect: &Effect) -> f64 {
    match effect {
        Effect::Limit { level, .. } => *level,
        Effect::Rate { level, .. } => greatest(&level.expr).clamp(0.0, EXCLUDING),
        Effect::Exclude { .. } => EXCLUDING,
        _ => 0.0,
    }
}

fn greatest(level: &Expr) -> f64 {
    match level {
        Expr::Const(value) => value.as_number().unwrap_or(EXCLUDING),
        Expr::Grade(_, anchors) => anchors.iter().map(|(_, level)| *level).fold(0.0, f64::max),
        Expr::If(parts) => greatest(&parts[1]).max(greatest(&parts[2])),
        Expr::Extreme(true, parts) | Expr::First(parts) => parts.iter().map(greatest).fold(0.0, f64::max),
        Expr::Extreme(false, parts) => parts.iter().map(greatest).fold(EXCLUDING, f64::min),
        _ => EXCLUDING,
    }
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
            knowledge.vocabulary.list(list).positions().map(Value::Step).collect()
        }
        _ => Vec::new(),
    };
    any.into_iter().map(Some).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slots(count: usize) -> Vec<Slot> {
        (0..count).map(|index| Slot { space: Space::Site, index }).collect()
    }

    fn flags(count: usize) -> Vec<Vec<Option<Value>>> {
        vec![vec![Some(Value::Flag(false)), Some(Value::Flag(true))]; count]
    }

    #[test]
    fn every_combination_is_visited_once() {
        let all = Combinations::of(slots(4), flags(4)).unwrap();
        let mut seen = Vec::new();
        all.each(|number, supposed| {
            let at: Vec<usize> = all.positions(number).collect();
            let flags: Vec<bool> =
                supposed.iter().map(|(_, value)| value.as_ref().and_then(Value::as_flag).unwrap()).collect();
            assert_eq!(flags, at.iter().map(|at| *at == 1).collect::<Vec<_>>());
            assert!(!seen.contains(&flags));
            seen.push(flags);
        });
        assert_eq!(seen.len(), 16);
    }

    #[test]
    fn long_lists_are_thinned_to_their_ends_and_bind_nothing() {
        let steps = (0..10).map(|at| Some(Value::Step(at))).collect();
        let all = Combinations::of(slots(5), [vec![steps], flags(4)].concat()).unwrap();
        assert_eq!(all.lists[0], [Some(Value::Step(0)), Some(Value::Step(9))]);
        let tallies = all.lists.iter().map(|list| vec![Tally { count: 1, ..Tally::default() }; list.len()]);
        let by_fact = all.by_fact(tallies.collect());
        assert_eq!(by_fact.iter().map(|by| by.slot.index).collect::<Vec<_>>(), [1, 2, 3, 4]);
    }

    /// So many facts that their combinations pass what a number can hold.
    #[test]
    fn beyond_all_counting_nothing_is_tried() {
        assert!(Combinations::of(slots(200), flags(200)).is_none());
        assert!(Combinations::of(slots(2), vec![flags(1)[0].clone(), Vec::new()]).is_none());
    }
}
