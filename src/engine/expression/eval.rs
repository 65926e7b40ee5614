//! Evaluation in three-valued logic. An unknown input gives `None`, except where the answer does
//! not depend on it: false and unknown is false, true or unknown is true (Kleene).

use std::borrow::Cow;
use std::sync::Arc;

use super::ast::{Arithmetic, Comparison};
use super::typed::{Beyond, Expr, Summary};
use crate::engine::value::{Slot, Value};

/// Where the evaluation finds its facts.
pub trait Facts {
    /// The value in a slot, if it is known.
    fn get(&self, slot: Slot) -> Option<&Value>;

    /// Whether a slot without a value may still come to one, once an unknown is answered.
    fn is_awaited(&self, _slot: Slot) -> bool {
        false
    }

    /// Whether a slot has a value: unknown while that is still open.
    fn knows(&self, slot: Slot) -> Option<bool> {
        let known = self.get(slot).is_some();
        (known || !self.is_awaited(slot)).then_some(known)
    }
}

const DAYS_IN_MONTH: f64 = crate::units::factors::MONTH_D;

impl Expr {
    /// The value, or `None` where it is unknown.
    pub fn eval(&self, facts: &impl Facts) -> Option<Value> {
        match self {
            Self::Const(value) => Some(value.clone()),
            Self::Fact(slot) => facts.get(*slot).cloned(),
            Self::Not(_)
            | Self::All(_)
            | Self::Any(_)
            | Self::Known(_)
            | Self::In(..)
            | Self::Overlap(..) => self.truth(facts).map(Value::Flag),
            Self::Compare(sign, left, right) => compare(*sign, &left.eval(facts)?, &right.eval(facts)?),
            Self::Arithmetic(sign, left, right) => {
                zip_numbers(&left.eval(facts)?, &right.eval(facts)?, |a, b| apply(*sign, a, b))
            }
            Self::Negate(inner) => match inner.eval(facts)? {
                Value::Months(months) => Some(Value::Months(Arc::new(months.map(|number| -number)))),
                other => other.as_number().map(|number| Value::Number(-number)),
            },
            Self::If(parts) => {
                let [condition, yes, no] = &**parts;
                match condition.truth(facts) {
                    Some(true) => yes.eval(facts),
                    Some(false) => no.eval(facts),
                    // the same on both sides needs no condition
                    None => yes.eval(facts).filter(|value| no.eval(facts).as_ref() == Some(value)),
                }
            }
            Self::First(parts) => parts.iter().find_map(|part| part.eval(facts)),
            Self::Lookup(key, column) => column.get(key.eval(facts)?.as_position()?)?.clone(),
            Self::Extreme(..)
            | Self::Abs(_)
            | Self::Grade(..)
            | Self::Beyond(..)
            | Self::Steps(..)
            | Self::End(..)
            | Self::Count(_)
            | Self::Longest(_)
            | Self::Summarise(..)
            | Self::Size(_) => self.number(facts).map(Value::Number),
        }
    }

    /// The truth of a flag.
    pub fn truth(&self, facts: &impl Facts) -> Option<bool> {
        match self {
            Self::Not(inner) => inner.truth(facts).map(|truth| !truth),
            Self::All(parts) => kleene(parts.iter().map(|part| part.truth(facts)), false),
            Self::Any(parts) => kleene(parts.iter().map(|part| part.truth(facts)), true),
            Self::Known(slot) => facts.knows(*slot),
            Self::Compare(sign, left, right) => {
                compare(*sign, &*left.seen(facts)?, &*right.seen(facts)?)?.as_flag()
            }
            Self::In(item, set) => match (&*item.seen(facts)?, &*set.seen(facts)?) {
                (item, Value::Set(bits)) => Some(bits >> item.as_position()? & 1 == 1),
                (Value::Text(text), Value::Texts(texts)) => Some(texts.contains(text)),
                _ => None,
            },
            Self::Overlap(left, right) => match (&*left.seen(facts)?, &*right.seen(facts)?) {
                (Value::Set(left), Value::Set(right)) => Some(left & right != 0),
                (Value::Texts(left), Value::Texts(right)) => {
                    Some(left.iter().any(|text| right.contains(text)))
                }
                _ => None,
            },
            _ => match self.borrowed(facts) {
                Some(value) => value.as_flag(),
                None => self.eval(facts)?.as_flag(),
            },
        }
    }

    /// The number of a numeric expression.
    pub fn number(&self, facts: &impl Facts) -> Option<f64> {
        let number = match self {
            Self::Grade(inner, anchors) => interpolate(inner.number(facts)?, anchors)?,
            Self::Extreme(greatest, parts) => {
                let numbers = parts.iter().map(|part| part.number(facts));
                numbers.reduce(|a, b| {
                    let (a, b) = (a?, b?);
                    Some(if *greatest { a.max(b) } else { a.min(b) })
                })??
            }
            Self::Abs(inner) => inner.number(facts)?.abs(),
            Self::Beyond(beyond, number, range) => {
                let number = number.number(facts)?;
                let &Value::Range(low, high) = &*range.seen(facts)? else { return None };
                let (below, above) = ((low - number).max(0.0), (number - high).max(0.0));
                match beyond {
                    Beyond::Below => below,
                    Beyond::Above => above,
                    Beyond::Outside => below.max(above),
                }
            }
            Self::Steps(left, right) => {
                let position = |side: &Self| side.seen(facts)?.as_position().map(|at| at as f64);
                position(left)? - position(right)?
            }
            Self::End(range, upper) => {
                let &Value::Range(low, high) = &*range.seen(facts)? else { return None };
                if *upper { high } else { low }
            }
            Self::Count(mask) => {
                let Value::Mask(months) = mask.eval(facts)? else { return None };
                months.iter().filter(|month| **month).count() as f64 * DAYS_IN_MONTH
            }
            Self::Longest(mask) => {
                let Value::Mask(months) = mask.eval(facts)? else { return None };
                longest_run(&months) as f64 * DAYS_IN_MONTH
            }
            Self::Summarise(summary, months, mask) => {
                let mask = match mask {
                    Some(mask) => match mask.eval(facts)? {
                        Value::Mask(mask) => mask,
                        _ => return None,
                    },
                    None => [true; 12],
                };
                summarise(*summary, months.seen(facts)?.as_months()?, &mask)?
            }
            Self::Size(set) => match set.eval(facts)? {
                Value::Set(bits) => f64::from(bits.count_ones()),
                Value::Texts(texts) => texts.len() as f64,
                _ => return None,
            },
            Self::Arithmetic(sign, left, right) => {
                if let (Some(left), Some(right)) = (left.number(facts), right.number(facts)) {
                    apply(*sign, left, right)
                } else {
                    return None;
                }
            }
            _ => match self.borrowed(facts) {
                Some(value) => value.as_number()?,
                None => self.eval(facts)?.as_number()?,
            },
        };
        // an open end of a range is infinite, and grades are flat there
        (!number.is_nan()).then_some(number)
    }

    /// The value, without a copy where it stands somewhere.
    fn seen<'a>(&'a self, facts: &'a impl Facts) -> Option<Cow<'a, Value>> {
        match self {
            Self::Const(value) => Some(Cow::Borrowed(value)),
            Self::Fact(slot) => facts.get(*slot).map(Cow::Borrowed),
            _ => self.eval(facts).map(Cow::Owned),
        }
    }

    /// The value without a copy, of a constant or a plain fact.
    fn borrowed<'a>(&'a self, facts: &'a impl Facts) -> Option<&'a Value> {
        match self {
            Self::Const(value) => Some(value),
            Self::Fact(slot) => facts.get(*slot),
            _ => None,
        }
    }
}

/// Kleene's `or` (`decisive` true) and `and` (`decisive` false).
fn kleene(parts: impl Iterator<Item = Option<bool>>, decisive: bool) -> Option<bool> {
    let mut unknown = false;
    for part in parts {
        match part {
            Some(truth) if truth == decisive => return Some(decisive),
            Some(_) => {}
            None => unknown = true,
        }
    }
    if unknown { None } else { Some(!decisive) }
}

fn apply(sign: Arithmetic, a: f64, b: f64) -> f64 {
    match sign {
        Arithmetic::Add => a + b,
        Arithmetic::Subtract => a - b,
        Arithmetic::Multiply => a * b,
        Arithmetic::Divide => a / b,
    }
}

/// Applies to two numbers, or month by month where either side is months.
fn zip_numbers(left: &Value, right: &Value, f: impl Fn(f64, f64) -> f64) -> Option<Value> {
    let value = match (left, right) {
        (Value::Number(a), Value::Number(b)) => {
            return Some(f(*a, *b)).filter(|number| !number.is_nan()).map(Value::Number);
        }
        (Value::Months(a), Value::Number(b)) => a.map(|a| f(a, *b)),
        (Value::Number(a), Value::Months(b)) => b.map(|b| f(*a, b)),
        (Value::Months(a), Value::Months(b)) => std::array::from_fn(|month| f(a[month], b[month])),
        _ => return None,
    };
    value.iter().all(|number| !number.is_nan()).then(|| Value::Months(Arc::new(value)))
}

fn compare(sign: Comparison, left: &Value, right: &Value) -> Option<Value> {
    let holds = |ordering: Option<std::cmp::Ordering>| {
        ordering.is_some_and(|ordering| match sign {
            Comparison::Equal => ordering.is_eq(),
            Comparison::Unequal => ordering.is_ne(),
            Comparison::Less => ordering.is_lt(),
            Comparison::AtMost => ordering.is_le(),
            Comparison::More => ordering.is_gt(),
            Comparison::AtLeast => ordering.is_ge(),
        })
    };
    let numbers = |a: f64, b: f64| holds(a.partial_cmp(&b));
    Some(match (left, right) {
        (Value::Number(a), Value::Number(b)) => Value::Flag(numbers(*a, *b)),
        (Value::Months(a), Value::Number(b)) => Value::Mask(a.map(|a| numbers(a, *b))),
        (Value::Number(a), Value::Months(b)) => Value::Mask(b.map(|b| numbers(*a, b))),
        (Value::Months(a), Value::Months(b)) => {
            Value::Mask(std::array::from_fn(|month| numbers(a[month], b[month])))
        }
        (Value::Step(a), Value::Step(b)) | (Value::Choice(a), Value::Choice(b)) => {
            Value::Flag(holds(a.partial_cmp(b)))
        }
        (Value::Text(a), Value::Text(b)) => Value::Flag(holds(a.partial_cmp(b))),
        (Value::Flag(a), Value::Flag(b)) => Value::Flag(holds(a.partial_cmp(b))),
        (Value::Set(a), Value::Set(b)) => Value::Flag(holds(a.partial_cmp(b))),
        _ => return None,
    })
}

/// Linear between the anchors, flat beyond the ends.
fn interpolate(number: f64, anchors: &[(f64, f64)]) -> Option<f64> {
    let (first, last) = (anchors.first()?, anchors.last()?);
    if number <= first.0 {
        return Some(first.1);
    }
    for pair in anchors.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if number <= x1 {
            return Some(y0 + (y1 - y0) * (number - x0) / (x1 - x0));
        }
    }
    Some(last.1)
}

fn longest_run(months: &[bool; 12]) -> usize {
    if months.iter().all(|month| *month) {
        return 12;
    }
    let (mut run, mut longest) = (0, 0);
    for month in months.iter().cycle().take(24) {
        run = if *month { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    longest
}

fn summarise(summary: Summary, months: &[f64; 12], mask: &[bool; 12]) -> Option<f64> {
    let chosen = || months.iter().zip(mask).filter(|(_, chosen)| **chosen).map(|(number, _)| *number);
    match summary {
        Summary::Sum => Some(chosen().sum()),
        Summary::Mean => Some(chosen().sum::<f64>() / chosen().count() as f64),
        Summary::Least => chosen().reduce(f64::min),
        Summary::Greatest => chosen().reduce(f64::max),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_go_round_the_year() {
        let mut months = [false; 12];
        months[10] = true;
        months[11] = true;
        months[0] = true;
        months[5] = true;
        assert_eq!(longest_run(&months), 3);
        assert_eq!(longest_run(&[true; 12]), 12);
        assert_eq!(longest_run(&[false; 12]), 0);
    }

    #[test]
    fn grades_are_linear_between_anchors_and_flat_beyond() {
        let anchors = [(0.5, 4.0), (0.9, 2.0), (1.5, 0.0)];
        for (number, level) in [(0.2, 4.0), (0.7, 3.0), (0.9, 2.0), (1.2, 1.0), (9.0, 0.0)] {
            assert!((interpolate(number, &anchors).unwrap() - level).abs() < 1e-12);
        }
    }

    #[test]
    fn kleene_tables() {
        let all = |parts: &[Option<bool>]| kleene(parts.iter().copied(), false);
        let any = |parts: &[Option<bool>]| kleene(parts.iter().copied(), true);
        assert_eq!(all(&[None, Some(false)]), Some(false));
        assert_eq!(all(&[None, Some(true)]), None);
        assert_eq!(any(&[None, Some(true)]), Some(true));
        assert_eq!(any(&[None, Some(false)]), None);
        assert_eq!(all(&[]), Some(true));
        assert_eq!(any(&[]), Some(false));
    }
}
