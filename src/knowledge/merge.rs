//! How several published values of one trait come to one, and what spread they leave.

use super::species::Evidence;
use super::vocabulary::{Declaration, Kind, Merge};
use crate::alike::each_once;
use crate::engine::value::Value;

/// The merged value and the spread over all sources; `None` without evidence.
pub fn merge(declaration: &Declaration, evidence: &[Evidence]) -> Option<(Value, Option<(f64, f64)>)> {
    let first = &evidence.first()?.value;
    Some(match declaration.kind {
        Kind::Number(_) => {
            let value = number(declaration, evidence)?;
            let spreads = evidence.iter().map(|one| one.spread.unwrap_or((value, value)));
            let spread = spreads.fold((value, value), |all, one| (all.0.min(one.0), all.1.max(one.1)));
            (Value::Number(value), Some(spread))
        }
        Kind::Range(_) => (range(declaration.merge, evidence), None),
        Kind::Scale(_) => {
            let steps = weighted(evidence, |value| value.as_position().map(|step| step as f64));
            let spread = steps
                .iter()
                .fold((f64::MAX, f64::MIN), |all, (step, _)| (all.0.min(*step), all.1.max(*step)));
            let median = weighted_median(steps)?;
            // between two steps, the less favourable one
            let cautious =
                if declaration.better_high == Some(false) { median.ceil() } else { median.floor() };
            (Value::Step(cautious as u8), Some(spread))
        }
        Kind::Choice(_) => (weightiest(first, evidence), None),
        Kind::Set(_) => {
            let bits = evidence
                .iter()
                .fold(0, |all, one| if let Value::Set(bits) = one.value { all | bits } else { all });
            (Value::Set(bits), None)
        }
        Kind::Flag => (Value::Flag(evidence.iter().any(|one| one.value == Value::Flag(true))), None),
        Kind::Texts => {
            let lists = evidence.iter().filter_map(|one| match &one.value {
                Value::Texts(texts) => Some(texts.iter().cloned()),
                _ => None,
            });
            (Value::Texts(each_once(lists.flatten()).into()), None)
        }
        Kind::Months(_) | Kind::Text => (first.clone(), None),
    })
}

/// What the values give of a number, each with the weight of its source; ends that are open are left out.
fn weighted(evidence: &[Evidence], number: impl Fn(&Value) -> Option<f64>) -> Vec<(f64, f64)> {
    evidence
        .iter()
        .filter_map(|one| Some((number(&one.value)?, one.citation.publication.weight())))
        .filter(|(number, _)| number.is_finite())
        .collect()
}

fn number(declaration: &Declaration, evidence: &[Evidence]) -> Option<f64> {
    let numbers = weighted(evidence, Value::as_number);
    match (declaration.merge, declaration.better_high) {
        (Merge::Best, Some(high)) => {
            let numbers = numbers.into_iter().map(|(number, _)| number);
            numbers.reduce(if high { f64::max } else { f64::min })
        }
        _ => weighted_median(numbers),
    }
}

fn range(merge: Merge, evidence: &[Evidence]) -> Value {
    let lows = weighted(evidence, |value| value.as_range().map(|(low, _)| low));
    let highs = weighted(evidence, |value| value.as_range().map(|(_, high)| high));
    let (low, high) = if merge == Merge::Widest {
        let outermost =
            |ends: &[(f64, f64)], pick: fn(f64, f64) -> f64| ends.iter().map(|(end, _)| *end).reduce(pick);
        (outermost(&lows, f64::min), outermost(&highs, f64::max))
    } else {
        (weighted_median(lows), weighted_median(highs))
    };
    let (low, high) = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
    // medians of ends that came from different sources may cross
    Value::Range(low.min(high), low.max(high))
}

/// The value with the most weight behind it, of those with as much the first.
fn weightiest(first: &Value, evidence: &[Evidence]) -> Value {
    let weight_of = |choice: &Value| -> f64 {
        let same = evidence.iter().filter(|one| one.value == *choice);
        same.map(|one| one.citation.publication.weight()).sum()
    };
    let all = evidence.iter().map(|one| &one.value);
    all.fold(first, |best, one| if weight_of(one) > weight_of(best) { one } else { best }).clone()
}

/// The value at which half the weight is reached; the middle of two where it falls between them.
fn weighted_median(mut values: Vec<(f64, f64)>) -> Option<f64> {
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = values.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
    let mut reached = 0.0;
    for (i, (value, weight)) in values.iter().enumerate() {
        reached += weight;
        if (reached - half).abs() < 1e-9 {
            let next = values.get(i + 1).map_or(*value, |next| next.0);
            return Some(f64::midpoint(*value, next));
        }
        if reached > half {
            return Some(*value);
        }
    }
    values.last().map(|(value, _)| *value)
}

#[cfg(test)]
mod tests {
    use super::weighted_median;

    #[test]
    fn weights_move_the_median() {
        assert_eq!(weighted_median(vec![(1.0, 1.0), (2.0, 1.0), (9.0, 1.0)]), Some(2.0));
        assert_eq!(weighted_median(vec![(9.0, 4.0), (1.0, 1.0), (2.0, 1.0)]), Some(9.0));
        assert_eq!(weighted_median(vec![(1.0, 2.0), (3.0, 2.0)]), Some(2.0));
        assert_eq!(weighted_median(vec![]), None);
    }
}
