//! Several undecided rules of one need together. Rules that wait for the same fact cannot each come
//! out at their best at once: where one speaks on yes and another on no, one of them speaks for sure.

use super::open_point::OpenPoint;
use super::value::{Slot, Value};

/// Levels of an undecided rule by the values of one fact that it misses.
#[derive(Clone, Debug, PartialEq)]
pub struct ByFact {
    /// The fact.
    pub slot: Slot,
    /// For each value tried, in order: the value, the level at best and the mean level with it.
    pub levels: Vec<Levels>,
}

/// A value, the level at best and the mean level with it.
type Levels = (Option<Value>, f64, f64);

/// What a need may come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// The level if what is missing comes out best.
    pub best: f64,
    /// The mean level over what is plausible.
    pub mean: f64,
    /// The level if what is missing comes out worst.
    pub worst: f64,
}

/// A need of which `level` is decided, under these undecided rules. The decided level is a floor under
/// what they come to on the whole, so that a rare chance does not weigh twice. Rules that wait for the
/// same fact are held together at each of its values in turn.
#[must_use]
pub fn jointly(level: f64, points: &[&OpenPoint]) -> Spread {
    let over = |pick: fn(&OpenPoint) -> f64| points.iter().map(|point| pick(point)).fold(level, f64::max);
    let mut spread =
        Spread { best: over(|point| point.best), mean: over(|point| point.mean), worst: over(|p| p.worst) };
    for (slot, values) in shared(points) {
        let together = |value: &Option<Value>, pick: fn(&Levels) -> f64| {
            let waiting = points.iter().filter_map(|point| point.by_fact.iter().find(|by| by.slot == slot));
            let held = waiting.filter_map(|by| by.levels.iter().find(|levels| levels.0 == *value));
            held.map(pick).fold(0.0, f64::max)
        };
        let best = values.iter().map(|value| together(value, |levels| levels.1));
        let mean = values.iter().map(|value| together(value, |levels| levels.2));
        spread.best = spread.best.max(best.fold(f64::MAX, f64::min));
        spread.mean = spread.mean.max(mean.sum::<f64>() / values.len() as f64);
    }
    spread
}

/// The facts that more than one rule waits for, with the values that are tried.
fn shared(points: &[&OpenPoint]) -> Vec<(Slot, Vec<Option<Value>>)> {
    let mut found: Vec<(Slot, Vec<Option<Value>>)> = Vec::new();
    for (at, point) in points.iter().enumerate() {
        for by in &point.by_fact {
            let again =
                points[at + 1..].iter().any(|other| other.by_fact.iter().any(|one| one.slot == by.slot));
            if again && !found.iter().any(|(slot, _)| *slot == by.slot) {
                found.push((by.slot, by.levels.iter().map(|(value, ..)| value.clone()).collect()));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::value::Space;

    fn point(slot: usize, levels: [f64; 2]) -> OpenPoint {
        let slot = Slot { space: Space::Site, index: slot };
        let by = |flag: bool| (Some(Value::Flag(flag)), levels[usize::from(flag)], levels[usize::from(flag)]);
        OpenPoint {
            rule: 0,
            effect: 0,
            missing: vec![slot],
            best: levels[0].min(levels[1]),
            worst: levels[0].max(levels[1]),
            mean: f64::midpoint(levels[0], levels[1]),
            by_fact: vec![ByFact { slot, levels: vec![by(false), by(true)] }],
            might_derive: Vec::new(),
            might_be_silent: false,
        }
    }

    #[test]
    fn one_of_two_rules_that_exclude_each_other_speaks() {
        let (green, tan) = (point(0, [5.0, 0.0]), point(0, [0.0, 3.3]));
        assert_eq!(jointly(0.0, &[&green, &tan]), Spread { best: 3.3, mean: 4.15, worst: 5.0 });
        // a rule that waits for something else is as free as before
        let other = point(1, [0.0, 4.0]);
        assert_eq!(jointly(0.0, &[&green, &other]), Spread { best: 0.0, mean: 2.5, worst: 5.0 });
        assert_eq!(jointly(1.0, &[]), Spread { best: 1.0, mean: 1.0, worst: 1.0 });
    }

    #[test]
    fn what_is_decided_bounds_it_from_below() {
        let (green, tan) = (point(0, [2.0, 0.0]), point(0, [0.0, 1.0]));
        assert_eq!(jointly(1.5, &[&green, &tan]), Spread { best: 1.5, mean: 1.5, worst: 2.0 });
    }
}
