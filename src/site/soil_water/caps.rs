//! The level of water in the soil that a season's cap can hold a year to.
//!
//! Whoever may give only so much a year waters little, and before it is too late: by equation 84 what a
//! plant takes falls off in proportion to the storage, so that of two ways to spend the same water the one
//! that keeps the storage more even serves better, and a low storage loses less of the next rain. In a year
//! that a cap holds down the soil is therefore filled up to one level only, the highest that the cap pays
//! for; in dry spells the doses come of themselves, and in wet months none do.

use super::sequence::{Allowed, YearDays, end_of_day};

/// Times that three other levels are tried for a year that would take more than the cap.
const ROUNDS: usize = 6;
/// Share of the cap that may be left over.
const NEAR_ENOUGH: f64 = 0.002;
/// How far the outer two of the levels tried lie from the middle one, as a share of what is still open.
const SPREAD: f64 = 0.1;

/// The highest level that keeps the coming year to the cap, as near as it was found, from below. Where the
/// cap turns out not to bind, that is noted, and the level is all that the roots hold.
pub(super) fn level_within_cap(storage: f64, allowed: &mut Allowed, days: &YearDays<'_>) -> f64 {
    let cap = allowed.cap.unwrap_or(f64::INFINITY);
    let middle = allowed.level.unwrap_or(days.taw / 2.0);
    let mut bracket = Bracket { below: (0.0, 0.0), above: None };
    let mut tried = around(middle, SPREAD * middle, days.taw);
    for _ in 0..ROUNDS {
        let given = given_in_year(storage, &tried, &allowed.doses, days);
        tried.into_iter().zip(given).for_each(|tried| bracket.learn(tried, cap));
        let (low, given) = bracket.below;
        if low >= days.taw || (low > 0.0 && cap - given <= NEAR_ENOUGH * cap) {
            break;
        }
        tried = bracket.next(cap, days.taw);
    }
    let level = bracket.below.0;
    allowed.level = Some(level).filter(|level| *level > 0.0);
    allowed.bound = level < days.taw;
    level
}

fn around(middle: f64, spread: f64, taw: f64) -> [f64; 3] {
    [middle - spread, middle, middle + spread].map(|level| level.clamp(0.0, taw))
}

/// Between which levels the one that is looked for lies, each with what it gives.
struct Bracket {
    /// The highest that was found to keep to the cap.
    below: (f64, f64),
    /// The lowest that was found not to.
    above: Option<(f64, f64)>,
}

impl Bracket {
    /// What is given grows with the level.
    fn learn(&mut self, (level, given): (f64, f64), cap: f64) {
        if given <= cap {
            if level > self.below.0 {
                self.below = (level, given);
            }
        } else if self.above.is_none_or(|(lowest, _)| level < lowest) {
            self.above = Some((level, given));
        }
    }

    /// About where a straight line between both ends meets the cap.
    fn next(&self, cap: f64, taw: f64) -> [f64; 3] {
        let (low, least) = self.below;
        match self.above {
            Some((high, most)) => {
                let width = high - low;
                around(low + width * (cap - least) / (most - least), SPREAD * width, taw)
            }
            // nothing was too much yet
            None => {
                let reach = if least > 0.0 { low * cap / least } else { taw };
                around(reach.min(taw), (reach - low) / 2.0, taw)
            }
        }
    }
}

/// What would be given up to each level, whatever the cap: a year's balance with nothing else of it.
fn given_in_year(storage: f64, levels: &[f64; 3], doses: &[f64; 7], days: &YearDays<'_>) -> [f64; 3] {
    let mut storage = [storage; 3];
    let mut given = [0.0; 3];
    let mut weekday = days.weekday;
    let of_plant = days.demand.etc.iter().zip(&days.demand.leaves);
    for ((etc, leaves), water) in of_plant.zip(days.water) {
        for at in 0..3 {
            let offer = (doses[weekday], levels[at]);
            let end = end_of_day(storage[at], (*etc, *leaves, *water), offer, days.taw);
            given[at] += end.given;
            storage[at] = end.storage;
        }
        weekday = if weekday == 6 { 0 } else { weekday + 1 };
    }
    given
}
