//! The doses that keep a year to a season's cap.

use super::lanes::{Allowed, Lane, YearDays, end_of_day};
use super::lesser;
use crate::site::solar::DAYS_IN_MONTH;

/// Times that smaller doses are tried for a year that would take more than the cap.
const TRIES: usize = 4;
/// Share of the cap that may be left over.
const NEAR_ENOUGH: f64 = 0.002;

/// Gives every lane the doses of the coming year: of those whose cap is thought to bind the ones that keep
/// to it, of the others all that is allowed. Where the cap turns out not to bind, that is noted.
pub(super) fn keep_to_caps(lanes: &mut [Lane], allowed: &mut [Allowed], days: &YearDays<'_>) {
    for (lane, own) in lanes.iter_mut().zip(&*allowed) {
        (lane.doses, lane.left) = ([own.depth; 12], f64::INFINITY);
    }
    if !allowed.iter().any(|own| own.bound) {
        return;
    }
    let of_bound = lanes.iter_mut().zip(allowed).filter(|(_, own)| own.bound);
    let mut searches: Vec<Search<'_>> = of_bound.map(|(lane, own)| Search::new(lane, own, days)).collect();
    for _ in 0..TRIES {
        let mut open = false;
        let tried: Vec<[f64; 12]> = searches.iter().map(|search| search.doses()).collect();
        let given = given_in_year(&searches, &tried, days);
        for ((search, doses), given) in searches.iter_mut().zip(tried).zip(given) {
            (search.lane.doses, search.lane.left) = (doses, search.cap);
            open |= search.next(given);
        }
        if !open {
            break;
        }
    }
    for search in searches.into_iter().filter(|search| !search.near) {
        let whole = [search.allowed.depth; 12];
        if given_in_year(std::slice::from_ref(&search), &[whole], days)[0] < search.cap {
            search.allowed.bound = false;
            (search.lane.doses, search.lane.left) = (whole, f64::INFINITY);
        }
    }
}

/// The search for the greatest dose that keeps a year to the cap, from below: what is given grows ever
/// more slowly with the dose, so that the way from two doses to a third stays below the cap.
struct Search<'l> {
    lane: &'l mut Lane,
    allowed: &'l mut Allowed,
    cap: f64,
    /// What each month wants, to the one that wants most.
    wants: [f64; 12],
    /// Dose on a day of the month that wants most.
    dose: f64,
    /// The dose before it with what it gave.
    last: (f64, f64),
    /// Whether hardly anything of the cap was left.
    near: bool,
}

impl<'l> Search<'l> {
    fn new(lane: &'l mut Lane, allowed: &'l mut Allowed, days: &YearDays<'_>) -> Self {
        let wants = days.demand.wants(allowed.shares, days.entering_month);
        let cap = allowed.cap.unwrap_or(f64::INFINITY);
        let days_a_week: f64 = allowed.week.iter().sum();
        let weeks = wants.iter().zip(DAYS_IN_MONTH).map(|(want, days)| want * f64::from(days) / 7.0);
        // were each dose taken whole, this would be the cap
        let dose = cap / (days_a_week * weeks.sum::<f64>()).max(f64::MIN_POSITIVE);
        Self { lane, allowed, cap, wants, dose, last: (0.0, 0.0), near: false }
    }

    /// The doses of the months.
    fn doses(&self) -> [f64; 12] {
        self.wants.map(|want| self.allowed.depth.min(self.dose * want))
    }

    /// Takes what the dose gave; whether another is worth trying.
    fn next(&mut self, given: f64) -> bool {
        let left = self.cap - given;
        self.near = left <= NEAR_ENOUGH * self.cap;
        if self.near {
            return false;
        }
        let slope = (given - self.last.1) / (self.dose - self.last.0);
        let next = if slope > 0.0 { self.dose + left / slope } else { self.dose };
        self.last = (self.dose, given);
        let moves = next.is_finite() && next > self.dose;
        if moves {
            self.dose = next;
        }
        moves
    }
}

/// What each would be given with those doses, within its cap: a year's balance with nothing else of it.
fn given_in_year(searches: &[Search<'_>], doses: &[[f64; 12]], days: &YearDays<'_>) -> Vec<f64> {
    let mut given = Vec::with_capacity(searches.len());
    let (threes, rest) = searches.as_chunks::<3>();
    let (doses_of_threes, doses_of_rest) = doses.as_chunks::<3>();
    for (three, doses) in threes.iter().zip(doses_of_threes) {
        given.extend(given_to(three, doses, days));
    }
    for (one, doses) in rest.iter().zip(doses_of_rest) {
        given.extend(given_to(std::array::from_ref(one), std::array::from_ref(doses), days));
    }
    given
}

fn given_to<const N: usize>(
    searches: &[Search<'_>; N],
    doses: &[[f64; 12]; N],
    days: &YearDays<'_>,
) -> [f64; N] {
    let mut storage: [f64; N] = std::array::from_fn(|lane| searches[lane].lane.storage);
    let mut left: [f64; N] = std::array::from_fn(|lane| searches[lane].cap);
    let (mut from, mut weekday) = (0, days.weekday);
    for (month, length) in DAYS_IN_MONTH.into_iter().enumerate() {
        let span = from..from + usize::from(length);
        from = span.end;
        let offers: [[f64; 7]; N] =
            std::array::from_fn(|lane| searches[lane].allowed.week.map(|may| may * doses[lane][month]));
        let of_plant = days.demand.etc[span.clone()].iter().zip(&days.demand.leaves[span.clone()]);
        for ((etc, leaves), water) in of_plant.zip(&days.water[span]) {
            for lane in 0..N {
                let offered = lesser(offers[lane][weekday], left[lane]);
                let end = end_of_day(storage[lane], (*etc, *leaves, *water), offered, days.taw);
                left[lane] -= end.given;
                storage[lane] = end.storage;
            }
            weekday = if weekday == 6 { 0 } else { weekday + 1 };
        }
    }
    std::array::from_fn(|lane| searches[lane].cap - left[lane])
}
