//! What a derived fact may be while some of the rules that derive it are undecided.
//!
//! A decided rule merges its value into every possibility; an undecided one adds to each
//! possibility what it might merge. One possibility left is a known fact. Merges commute, so the
//! order of rules does not show.

use super::value::{Slot, Value};
use crate::knowledge::vocabulary::{Declaration, Merge};

/// More possibilities than this are thinned, keeping the ends of a number's span.
const MOST: usize = 7;

/// The possibilities of one derived fact, and the site facts that it waits for.
#[derive(Clone, Debug, PartialEq)]
pub struct Possible {
    /// The possibilities; `None` is "no rule derived it".
    values: Vec<Option<Value>>,
    /// What undecided rules miss.
    pub waits_for: Vec<Slot>,
}

impl Default for Possible {
    fn default() -> Self {
        Self { values: vec![None], waits_for: Vec::new() }
    }
}

impl Possible {
    /// A computed fact, with the inputs that it waits for where it has several values. Those weigh alike, each
    /// being that of one case: were two which come to the same counted once, the mean would jump as soon as
    /// they differ by anything.
    pub fn of(mut values: Vec<Value>, waits_for: Vec<Slot>) -> Self {
        if values.windows(2).all(|pair| pair[0] == pair[1]) {
            values.truncate(1);
        }
        let mut possible = Self { values: values.into_iter().map(Some).collect(), waits_for };
        possible.thin();
        if possible.values.is_empty() {
            possible.values.push(None);
        }
        possible
    }

    /// A fact that is known from the start.
    pub fn known(value: Value) -> Self {
        Self { values: vec![Some(value)], waits_for: Vec::new() }
    }

    /// The value, if there is only one possibility.
    pub fn value(&self) -> Option<&Value> {
        match &self.values[..] {
            [only] => only.as_ref(),
            _ => None,
        }
    }

    /// The values that it may have; empty where it is known or may be nothing at all.
    pub fn plausible(&self) -> Vec<Value> {
        if self.values.len() > 1 { self.values.iter().flatten().cloned().collect() } else { Vec::new() }
    }

    /// Whether it may come out as nothing at all, or as something.
    pub fn may_be_nothing(&self) -> bool {
        self.values.len() > 1 && self.values.contains(&None)
    }

    /// A decided rule gives it a value. Tells whether anything changed.
    pub fn merge(&mut self, value: &Value, declaration: &Declaration) -> bool {
        let before = self.values.clone();
        let old = std::mem::take(&mut self.values);
        for possibility in old {
            for merged in merged(possibility, value, declaration) {
                self.add(Some(merged));
            }
        }
        self.thin();
        self.values != before
    }

    /// An undecided rule might give it one of several values, or none; tells whether that is new.
    pub fn might_merge(
        &mut self,
        values: &[Value],
        or_none: bool,
        declaration: &Declaration,
        missing: &[Slot],
    ) -> bool {
        let before = (self.values.clone(), self.waits_for.len());
        let old = std::mem::take(&mut self.values);
        for possibility in &old {
            if or_none {
                self.add(possibility.clone());
            }
            for value in values {
                for merged in merged(possibility.clone(), value, declaration) {
                    self.add(Some(merged));
                }
            }
        }
        if self.values.is_empty() {
            self.values = old;
        }
        self.thin();
        if self.value().is_none() {
            for slot in missing {
                if !self.waits_for.contains(slot) {
                    self.waits_for.push(*slot);
                }
            }
        }
        (&self.values, self.waits_for.len()) != (&before.0, before.1)
    }

    fn add(&mut self, value: Option<Value>) {
        if !self.values.contains(&value) {
            self.values.push(value);
        }
    }

    /// Keeps the ends and some between, evenly by rank.
    fn thin(&mut self) {
        if self.values.len() <= MOST {
            return;
        }
        let number = |value: &Option<Value>| value.as_ref().and_then(Value::as_number).unwrap_or(f64::MIN);
        self.values.sort_by(|a, b| number(a).total_cmp(&number(b)));
        let last = self.values.len() - 1;
        let kept = (0..MOST).map(|at| self.values[at * last / (MOST - 1)].clone()).collect();
        self.values = kept;
    }
}

/// Two values of one fact brought together; values that must agree and do not are both possible.
fn merged(old: Option<Value>, value: &Value, declaration: &Declaration) -> Vec<Value> {
    let Some(old) = old else { return vec![value.clone()] };
    // without a favourable end, more is worse: levels and risks
    let keeps_greater = (declaration.merge == Merge::Best) == (declaration.better_high == Some(true));
    let one = match (&old, value, declaration.merge) {
        (old, new, Merge::MustAgree) if old != new => return vec![old.clone(), new.clone()],
        (Value::Flag(a), Value::Flag(b), _) => Value::Flag(*a || *b),
        (Value::Set(a), Value::Set(b), _) => Value::Set(a | b),
        (Value::Number(a), Value::Number(b), Merge::Sum) => Value::Number(a + b),
        (Value::Number(a), Value::Number(b), _) => {
            Value::Number(if keeps_greater { a.max(*b) } else { a.min(*b) })
        }
        (Value::Step(a), Value::Step(b), _) => Value::Step(if keeps_greater { *a.max(b) } else { *a.min(b) }),
        _ => old,
    };
    vec![one]
}
