//! The level of water in the soil that a season's cap can hold a year to.
//!
//! Whoever may give only so much a year waters little, and before it is too late: by equation 84 what a
//! plant takes falls off in proportion to the storage, so that of two ways to spend the same water the one
//! that keeps the storage more even serves better, and a low storage loses less of the next rain. In a year
//! that a cap holds down the soil is therefore filled up to one level only, the highest that the cap pays
//! for; in dry spells the doses come of themselves, and in wet months none do.

use super::sequence::{Each, YearDays, end_of_day};

/// Times that another level is tried for a year that would take more than the cap.
const ROUNDS: usize = 12;
/// Share of the cap that may be left over.
const NEAR_ENOUGH: f64 = 0.002;
/// Share of what is still open by which the next level differs from both ends at least.
const NEAREST_END: f64 = 0.02;
/// How far beyond the straight line the next level is while none was too high yet, so that one soon is.
const FARTHER: f64 = 1.1;

/// The search for the levels of root zones side by side, year after year. None looks at another, so that what
/// is found for one does not depend on which others there are.
pub(super) struct Search<const N: usize> {
    cap: f64,
    /// Those of the last year.
    levels: Each<N>,
    /// How much more each millimetre of level took in it, about.
    slopes: Each<N>,
}

impl<const N: usize> Search<N> {
    /// For root zones that hold `taw`, under a cap on what is given in a year.
    pub(super) fn new(cap: f64, taw: f64) -> Self {
        Self { cap, levels: [taw; N], slopes: [f64::NAN; N] }
    }

    /// The highest levels that keep the coming year to the cap, as near as they were found, from below; all
    /// that the roots hold where the cap does not bind.
    pub(super) fn levels(&mut self, storage: &Each<N>, doses: &[Each<N>; 7], days: &YearDays<'_>) -> Each<N> {
        let mut brackets: [Bracket; N] =
            std::array::from_fn(|at| Bracket::around(self.levels[at], self.slopes[at], self.cap));
        for _ in 0..ROUNDS {
            let tried = brackets.each_ref().map(|bracket| bracket.trying);
            let given = given_in_year(storage, &tried, doses, days);
            for (bracket, given) in brackets.iter_mut().zip(given) {
                bracket.learn(given, self.cap, days.taw);
            }
            if brackets.iter().all(|bracket| bracket.found) {
                break;
            }
        }
        self.slopes = brackets.each_ref().map(|bracket| bracket.slope);
        // a year without any need tells nothing of the next one
        let usable = brackets.each_ref().map(|bracket| bracket.below.0);
        self.levels = usable.map(|level| if level > 0.0 { level } else { days.taw / 2.0 });
        usable
    }
}

/// Between which levels the one that is looked for lies, each with how far what it gives is from the cap.
struct Bracket {
    /// The highest that was found to keep to the cap, and what it leaves of it.
    below: (f64, f64),
    /// The lowest that was found not to, and what it gives beyond.
    above: Option<(f64, f64)>,
    /// The last one tried, and what it left of the cap, below nothing where it gave more.
    last: Option<(f64, f64)>,
    slope: f64,
    trying: f64,
    found: bool,
}

impl Bracket {
    /// Nothing is given up to no level at all.
    fn around(level: f64, slope: f64, cap: f64) -> Self {
        Self { below: (0.0, cap), above: None, last: None, slope, trying: level, found: false }
    }

    /// What is given grows with the level. The second level follows from the slope of the year before, which
    /// changes less than the level does; of two ends between which a straight line leads to the ones after it,
    /// one that stays twice weighs half, lest it stay for ever (the Illinois rule).
    fn learn(&mut self, given: f64, cap: f64, taw: f64) {
        if self.found {
            return;
        }
        let (level, left) = (self.trying, cap - given);
        let keeps = left >= 0.0;
        let before = self.last.replace((level, left));
        let again = before.is_some_and(|(_, was_left)| (was_left >= 0.0) == keeps);
        if keeps {
            self.below = (level, left);
            self.found = level >= taw || left <= NEAR_ENOUGH * cap;
        } else {
            self.above = Some((level, -left));
        }
        match &mut self.above {
            Some((_, beyond)) if keeps && again => *beyond /= 2.0,
            Some(_) if again => self.below.1 /= 2.0,
            _ => {}
        }
        if let Some((other, was_left)) = before.filter(|(other, _)| *other != level) {
            self.slope = (was_left - left) / (level - other);
        }
        // what is aimed at lies within what may be left over
        let aim = NEAR_ENOUGH / 2.0 * cap;
        let (low, left_low) = self.below;
        let by_slope = level + (left - aim) / self.slope;
        self.trying = match self.above {
            Some((high, _)) if before.is_none() && by_slope > low && by_slope < high => by_slope,
            Some((high, beyond)) => {
                let share = (left_low - aim) / (left_low + beyond);
                low + (high - low) * share.clamp(NEAREST_END, 1.0 - NEAREST_END)
            }
            // nothing was too much yet
            None if by_slope > low => by_slope.min(taw),
            None => (low * FARTHER * cap / given.max(cap / 10.0)).min(taw),
        };
    }
}

/// What would be given up to each level, whatever the cap: a year's balance with nothing else of it.
fn given_in_year<const N: usize>(
    storage: &Each<N>,
    levels: &Each<N>,
    doses: &[Each<N>; 7],
    days: &YearDays<'_>,
) -> Each<N> {
    let mut storage = *storage;
    let mut given = [0.0; N];
    let mut weekday = days.weekday;
    let of_plant = days.demand.etc.iter().zip(&days.demand.leaves);
    for ((etc, leaves), water) in of_plant.zip(days.water) {
        let dose = &doses[weekday];
        for at in 0..N {
            let end = end_of_day(storage[at], (*etc, *leaves, *water), (dose[at], levels[at]), days.taw);
            given[at] += end.given;
            storage[at] = end.storage;
        }
        weekday = if weekday == 6 { 0 } else { weekday + 1 };
    }
    given
}
