//! How several published values of one trait come to one, and what spread they leave.

use std::sync::Arc;

use super::species::Evidence;
use super::vocabulary::{Declaration, Kind, Merge};
use crate::engine::value::Value;

/// The merged value and the spread over all sources; `None` without evidence.
pub fn merge(declaration: &Declaration, evidence: &[Evidence]) -> Option<(Value, Option<(f64, f64)>)> {
    let first = &evidence.first()?.value;
    let weighted = |number: fn(&Value) -> Option<f64>| -> Vec<(f64, f64)> {
        evidence
            .iter()
            .filter_map(|one| Some((number(&one.value)?, one.citation.publication.weight())))
            .filter(|(number, _)| number.is_finite())
            .collect()
    };
    Some(match declaration.kind {
        Kind::Number(_) => {
            let value = match (declaration.merge, declaration.better_high) {
                (Merge::Best, Some(high)) => {
                    let numbers = weighted(Value::as_number).into_iter().map(|(number, _)| number);
                    numbers.reduce(if high { f64::max } else { f64::min })?
                }
                _ => weighted_median(weighted(Value::as_number))?,
            };
            let spreads = evidence.iter().map(|one| one.spread.unwrap_or((value, value)));
            let spread = spreads.fold((value, value), |all, one| (all.0.min(one.0), all.1.max(one.1)));
            (Value::Number(value), Some(spread))
        }
        Kind::Range(_) => {
            let lows = weighted(|value| if let Value::Range(low, _) = value { Some(*low) } else { None });
            let highs = weighted(|value| if let Value::Range(_, high) = value { Some(*high) } else { None });
            let (low, high) = if declaration.merge == Merge::Widest {
                let ends = |ends: &[(f64, f64)], pick: fn(f64, f64) -> f64| {
                    ends.iter().map(|(end, _)| *end).reduce(pick)
                };
                (ends(&lows, f64::min), ends(&highs, f64::max))
            } else {
                (weighted_median(lows), weighted_median(highs))
            };
            let (low, high) = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
            // medians of ends that came from different sources may cross
            (Value::Range(low.min(high), low.max(high)), None)
        }
        Kind::Scale(_) => {
            let steps = weighted(|value| value.as_position().map(|step| step as f64));
            let spread = steps
                .iter()
                .fold((f64::MAX, f64::MIN), |all, (step, _)| (all.0.min(*step), all.1.max(*step)));
            let median = weighted_median(steps)?;
            // between two steps, the less favourable one
            let cautious =
                if declaration.better_high == Some(false) { median.ceil() } else { median.floor() };
            (Value::Step(cautious as u8), Some(spread))
        }
        Kind::Choice(_) => {
            let weight_of = |choice: &Value| -> f64 {
                let same = evidence.iter().filter(|one| one.value == *choice);
                same.map(|one| one.citation.publication.weight()).sum()
            };
            let mut best = first;
            for one in evidence {
                if weight_of(&one.value) > weight_of(best) {
                    best = &one.value;
                }
            }
            (best.clone(), None)
        }
        Kind::Set(_) => {
            let bits = evidence
                .iter()
                .fold(0, |all, one| if let Value::Set(bits) = one.value { all | bits } else { all });
            (Value::Set(bits), None)
        }
        Kind::Flag => (Value::Flag(evidence.iter().any(|one| one.value == Value::Flag(true))), None),
        Kind::Texts => {
            let mut all: Vec<Arc<str>> = Vec::new();
            for one in evidence {
                let Value::Texts(texts) = &one.value else { continue };
                for text in texts.iter() {
                    if !all.contains(text) {
                        all.push(text.clone());
                    }
                }
            }
            (Value::Texts(all.into()), None)
        }
        Kind::Months(_) | Kind::Text => (first.clone(), None),
    })
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
