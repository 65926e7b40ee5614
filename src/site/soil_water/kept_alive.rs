//! Water of a season's cap that is kept back to bring a dormant plant through, instead of keeping it green.

use super::inputs::{Irrigation, Plant};
use super::sequence::{RootZone, YearDays, one_in_ten_years};
use super::{at_wilting, dried, lesser};

/// Days at wilting after which a dose is given, and the dose as a share of that of a survival watering, of
/// which the best is taken. Extension sheets water dormant turf every two to four weeks; what lasts longer may
/// be left longer, where the water would not last else. On shallow soil, where a plant lasts less long, less
/// must come sooner.
const WAYS: [(u32, f64); 15] = [
    (1, 0.25),
    (2, 0.25),
    (3, 0.25),
    (5, 0.25),
    (7, 0.25),
    (10, 0.25),
    (14, 0.25),
    (21, 0.25),
    (7, 1.0),
    (14, 1.0),
    (21, 1.0),
    (28, 1.0),
    (42, 1.0),
    (60, 1.0),
    (90, 1.0),
];

/// The same plant under each of the ways, side by side, from the year on in which the cap first binds.
pub(super) struct KeptAlive {
    dose: f64,
    cap: f64,
    /// What may be given in a week, as a share of the dose.
    of_dose: f64,
    /// Days between two days on which water may be given, about.
    days_apart: u32,
    states: Option<[State; WAYS.len()]>,
    yearly_runs: [Vec<f64>; WAYS.len()],
}

#[derive(Clone, Copy)]
struct State {
    storage: f64,
    run: u32,
}

impl KeptAlive {
    /// `None` where there is no cap, or not as much allowed in a week as the least dose.
    pub(super) fn new(plant: &Plant, irrigation: &Irrigation) -> Option<Self> {
        let (cap, watering) = (irrigation.season_cap?, plant.survival?);
        let weekly = f64::from(irrigation.days_per_week) * irrigation.depth.0;
        let of_dose = weekly / watering.depth.0;
        let enough = WAYS.iter().any(|(_, part)| of_dose >= *part);
        enough.then(|| Self {
            of_dose,
            dose: watering.depth.0 * irrigation.efficiency,
            cap: cap.0 * irrigation.efficiency,
            days_apart: 7_u32.div_ceil(u32::from(irrigation.days_per_week.max(1))),
            states: None,
            yearly_runs: Default::default(),
        })
    }

    /// A year, with what it would be were the water spent on looks: its start, and its longest run at
    /// wilting. Whoever waters may choose between both every year.
    pub(super) fn year(&mut self, days: &YearDays<'_>, start: &RootZone, green: u32, bound: bool) {
        if bound && self.states.is_none() {
            self.states = Some([State { storage: start.storage, run: start.wilting_run }; WAYS.len()]);
        }
        let longest = match &mut self.states {
            Some(states) => run_year(states, (self.dose, self.cap), days).map(|longest| longest.min(green)),
            None => [green; WAYS.len()],
        };
        self.yearly_runs.iter_mut().zip(longest).for_each(|(runs, longest)| runs.push(f64::from(longest)));
    }

    /// Run of days at wilting that is reached or passed in one year of ten, by the best way.
    pub(super) fn one_in_ten_years_run(mut self) -> f64 {
        let (apart, of_dose) = (self.days_apart, self.of_dose);
        let may = |(wait, part): (u32, f64)| wait >= apart && part <= of_dose;
        let allowed = self.yearly_runs.iter_mut().zip(WAYS).filter(|(_, way)| may(*way));
        allowed.map(|(runs, _)| one_in_ten_years(runs)).fold(f64::INFINITY, f64::min)
    }
}

/// The longest run at wilting of each in the year, a run that began before counting whole.
fn run_year(
    states: &mut [State; WAYS.len()],
    (dose, cap): (f64, f64),
    days: &YearDays<'_>,
) -> [u32; WAYS.len()] {
    let mut storage = states.map(|state| state.storage);
    let mut run = states.map(|state| state.run);
    let (mut left, mut longest) = ([cap; WAYS.len()], [0; WAYS.len()]);
    let of_plant = days.demand.etc.iter().zip(&days.demand.leaves);
    for ((etc, leaves), water) in of_plant.zip(days.water) {
        for at in 0..WAYS.len() {
            let entered = lesser(dried(storage[at], *etc, *leaves) + water, days.taw);
            let dry = at_wilting(run[at] > 0, entered);
            run[at] = if dry { run[at] + 1 } else { 0 };
            longest[at] = longest[at].max(run[at]);
            // the last water is not given in drops, which would end no run
            let (wait, part) = WAYS[at];
            let room = lesser(part * dose, days.taw - entered);
            let given = run[at] >= wait && left[at] >= room;
            let dose = if given { room } else { 0.0 };
            storage[at] = entered + dose;
            left[at] -= dose;
            run[at] = if given { 0 } else { run[at] };
        }
    }
    for (at, state) in states.iter_mut().enumerate() {
        *state = State { storage: storage[at], run: run[at] };
    }
    longest
}
