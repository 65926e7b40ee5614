//! Water of a season's cap that is kept back to bring a dormant plant through, instead of keeping it green.

use super::inputs::{Irrigation, Plant};
use super::sequence::{Each, YearDays, each_year, one_in_ten_years};
use super::{SiteWater, at_wilting, dried, greater, lesser};

/// Days at wilting after which a dose is given, and the dose as a share of that of a survival watering, of
/// which the best is taken. Extension sheets water dormant turf every two to four weeks; what lasts longer may
/// be left longer, where the water would not last else. On shallow soil, where a plant lasts less long, less
/// must come sooner.
const WAYS: [(f64, f64); 16] = [
    (1.0, 0.25),
    (2.0, 0.25),
    (3.0, 0.25),
    (4.0, 0.25),
    (5.0, 0.25),
    (7.0, 0.25),
    (10.0, 0.25),
    (14.0, 0.25),
    (21.0, 0.25),
    (7.0, 1.0),
    (14.0, 1.0),
    (21.0, 1.0),
    (28.0, 1.0),
    (42.0, 1.0),
    (60.0, 1.0),
    (90.0, 1.0),
];

type Ways = Each<{ WAYS.len() }>;

/// Run of days at wilting that is reached or passed in one year of ten, by the best of the ways that are
/// allowed. Whoever waters may choose between it and looks every year: `of_looks` are the longest runs of each
/// year were the water spent so. `None` where there is no cap, where no way is allowed (on no day may as much
/// be given as the least dose), and where the runs of looks are as short as keeping back could make them.
pub(super) fn kept_alive_run(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigation: &Irrigation,
    of_looks: &[f64],
) -> Option<f64> {
    let (cap, watering) = (irrigation.season_cap?, plant.survival?);
    let apart = f64::from(7_u8.div_ceil(irrigation.days_per_week.max(1)));
    let may = WAYS.map(|(wait, part)| wait >= apart && part * watering.depth.0 <= irrigation.depth.0);
    let soonest =
        WAYS.iter().zip(may).filter_map(|((wait, _), may)| may.then_some(*wait)).reduce(f64::min)?;
    // whoever keeps water back lets it wilt as long as that before any is given
    if of_looks.iter().all(|run| *run <= soonest) {
        return None;
    }
    let (dose, cap) = (watering.depth.0 * irrigation.efficiency, cap.0 * irrigation.efficiency);
    let mut states = States { storage: [plant.shared_taw(); WAYS.len()], run: [0.0; WAYS.len()] };
    let mut yearly = [(); WAYS.len()].map(|()| Vec::with_capacity(of_looks.len()));
    each_year(site, plant, |days| {
        let longest = states.year((dose, cap), days);
        yearly.iter_mut().zip(longest).for_each(|(runs, longest)| runs.push(longest));
    });
    let allowed = yearly.iter_mut().zip(may).filter_map(|(runs, may)| may.then_some(runs));
    let runs = allowed.map(|runs| {
        runs.iter_mut().zip(of_looks).for_each(|(run, of_looks)| *run = lesser(*run, *of_looks));
        one_in_ten_years(runs)
    });
    runs.reduce(f64::min)
}

/// The same plant under each of the ways, side by side.
struct States {
    storage: Ways,
    run: Ways,
}

impl States {
    /// The longest run at wilting of each in the year, a run that began before counting whole.
    fn year(&mut self, (dose, cap): (f64, f64), days: &YearDays<'_>) -> Ways {
        let (mut storage, mut run) = (self.storage, self.run);
        let (mut left, mut longest) = ([cap; WAYS.len()], [0.0; WAYS.len()]);
        let (waits, doses) = (WAYS.map(|(wait, _)| wait), WAYS.map(|(_, part)| part * dose));
        let of_plant = days.demand.etc.iter().zip(&days.demand.leaves);
        for ((etc, leaves), water) in of_plant.zip(days.water) {
            for at in 0..WAYS.len() {
                let entered = lesser(dried(storage[at], *etc, *leaves) + water, days.taw);
                let dry = at_wilting(run[at] > 0.0, entered);
                let now = if dry { run[at] + 1.0 } else { 0.0 };
                longest[at] = greater(longest[at], now);
                // the last water is not given in drops, which would end no run
                let room = lesser(doses[at], days.taw - entered);
                let given = (now >= waits[at]) & (left[at] >= room);
                let dose = if given { room } else { 0.0 };
                storage[at] = entered + dose;
                left[at] -= dose;
                run[at] = if given { 0.0 } else { now };
            }
        }
        (self.storage, self.run) = (storage, run);
        longest
    }
}
