//! Root zones on their way through all years, side by side.

use super::caps::Search;
use super::needs::Beside;
use super::{
    Demand, Irrigation, MonthWater, Plant, SiteWater, WaterBalance, at_wilting, count, dried, greater, lesser,
};
use crate::site::rain_pattern::DAYS;
use crate::site::solar::DAYS_IN_MONTH;

/// A number for each of some root zones side by side. A day waits for the day before it, and while one root
/// zone waits others go on, so that eight take hardly more time than one.
pub(super) type Each<const N: usize> = [f64; N];

/// What may be given, into the soil.
pub(super) struct Offers<const N: usize> {
    /// Days a week on which it may be given.
    pub days_per_week: [u8; N],
    /// On each day of the week.
    pub doses: [Each<N>; 7],
    /// In a year.
    pub cap: Option<f64>,
}

impl<const N: usize> Offers<N> {
    /// What may be given on each number of days a week out of `days`.
    pub(super) fn on(days: [u8; N], irrigation: &Irrigation) -> Self {
        let depth = if irrigation.is_none() { 0.0 } else { irrigation.depth.0 * irrigation.efficiency };
        let weeks = days.map(|days_per_week| Irrigation { days_per_week, ..*irrigation }.week());
        Self {
            days_per_week: days,
            doses: std::array::from_fn(|weekday| weeks.map(|week| if week[weekday] { depth } else { 0.0 })),
            cap: irrigation.season_cap.map(|cap| cap.0 * irrigation.efficiency),
        }
    }
}

/// A year of days.
pub(super) struct YearDays<'d> {
    pub demand: &'d Demand,
    pub water: &'d [f64],
    pub taw: f64,
    /// Day of the week of the first of January.
    pub weekday: usize,
}

/// Days of one month.
struct MonthDays<'d> {
    etc: &'d [f64],
    leaves: &'d [f64],
    green: &'d [f64],
    water: &'d [f64],
    taw: f64,
    /// Day of the week of the first of them.
    weekday: usize,
}

/// Sums of one month over the years, mm in the soil, and counts of days.
#[derive(Clone, Copy)]
struct MonthSums<const N: usize> {
    etc: f64,
    eta: Each<N>,
    irrigation: Each<N>,
    deep_percolation: Each<N>,
    stress_days: Each<N>,
    wilting_days: Each<N>,
}

impl<const N: usize> MonthSums<N> {
    const NONE: Self = Self {
        etc: 0.0,
        eta: [0.0; N],
        irrigation: [0.0; N],
        deep_percolation: [0.0; N],
        stress_days: [0.0; N],
        wilting_days: [0.0; N],
    };

    fn add(&mut self, more: &Self) {
        self.etc += more.etc;
        add(&mut self.eta, &more.eta);
        add(&mut self.irrigation, &more.irrigation);
        add(&mut self.deep_percolation, &more.deep_percolation);
        add(&mut self.stress_days, &more.stress_days);
        add(&mut self.wilting_days, &more.wilting_days);
    }
}

fn add<const N: usize>(sums: &mut Each<N>, more: &Each<N>) {
    sums.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
}

/// The root zones: their state, and the sums of the sequence.
struct RootZones<const N: usize> {
    storage: Each<N>,
    wilting_run: Each<N>,
    longest_of_year: Each<N>,
    months: [MonthSums<N>; 12],
}

/// What became of each root zone.
pub(super) struct Course<const N: usize> {
    days_per_week: [u8; N],
    months: [MonthSums<N>; 12],
    /// Longest run of days at wilting of each year.
    pub yearly_runs: [Vec<f64>; N],
    /// The most that was given in a year, into the soil.
    pub most_given: Each<N>,
}

/// Goes through the days of all years, one year after the other.
pub(super) fn each_year(site: &SiteWater<'_>, plant: &Plant, mut year: impl FnMut(&YearDays<'_>)) {
    let (mut weekday, mut demand) = (0, Demand::default());
    for (at, rain) in site.entering.chunks_exact(DAYS).enumerate() {
        if at == 0 || !site.weather.et0_repeats() {
            demand.fill(site.weather.et0_of_year(at), plant);
        }
        year(&YearDays { demand: &demand, water: rain, taw: plant.shared_taw(), weekday });
        weekday = (weekday + DAYS) % 7;
    }
}

/// All years, from full root zones on the first day.
///
/// On a day when water may be given it is given up to the depletion and the depth allowed, after the
/// day's rain. In a year that would take more than the season's cap so, it is given only up to the level
/// of storage that the cap pays for.
pub(super) fn run_years<const N: usize>(
    site: &SiteWater<'_>,
    plant: &Plant,
    offers: &Offers<N>,
    beside: &mut impl Beside,
) -> Course<N> {
    let taw = plant.shared_taw();
    let mut roots = RootZones {
        storage: [taw; N],
        wilting_run: [0.0; N],
        longest_of_year: [0.0; N],
        months: [MonthSums::NONE; 12],
    };
    let mut search = offers.cap.map(|cap| Search::new(cap, taw));
    let mut yearly_runs = [(); N].map(|()| Vec::with_capacity(site.weather.years()));
    let mut most_given = [0.0; N];
    each_year(site, plant, |days| {
        let levels = match &mut search {
            Some(search) => search.levels(&roots.storage, &offers.doses, days),
            None => [taw; N],
        };
        let given = run_year(&mut roots, &offers.doses, &levels, days, beside);
        for at in 0..N {
            most_given[at] = greater(most_given[at], given[at]);
            yearly_runs[at].push(roots.longest_of_year[at]);
        }
        // a run that goes on counts whole in the next year too
        roots.longest_of_year = [0.0; N];
    });
    Course { days_per_week: offers.days_per_week, months: roots.months, yearly_runs, most_given }
}

/// The end of a day.
pub(super) struct DayEnd {
    /// What is left of the storage before anything enters.
    pub left: f64,
    /// Irrigation given, into the soil.
    pub given: f64,
    pub storage: f64,
}

/// One day: the plant draws, then rain enters, then what is offered as far as it fills up to the level.
#[inline]
pub(super) fn end_of_day(
    storage: f64,
    (etc, leaves, water): (f64, f64, f64),
    (offered, level): (f64, f64),
    taw: f64,
) -> DayEnd {
    let left = dried(storage, etc, leaves);
    let given = lesser(offered, greater(level - (left + water), 0.0));
    // rain fills up to what the roots hold, what is given to the level
    let filled = lesser(left + (water + offered), level);
    DayEnd { left, given, storage: greater(lesser(left + water, taw), filled) }
}

/// What was given in the year.
fn run_year<const N: usize>(
    roots: &mut RootZones<N>,
    doses: &[Each<N>; 7],
    levels: &Each<N>,
    days: &YearDays<'_>,
    beside: &mut impl Beside,
) -> Each<N> {
    let (mut from, mut weekday) = (0, days.weekday);
    let mut given = [0.0; N];
    for (month, length) in DAYS_IN_MONTH.into_iter().enumerate() {
        let span = from..from + usize::from(length);
        let of_month = MonthDays {
            etc: &days.demand.etc[span.clone()],
            leaves: &days.demand.leaves[span.clone()],
            green: &days.demand.green[span.clone()],
            water: &days.water[span.clone()],
            taw: days.taw,
            weekday,
        };
        let found = run_month(roots, doses, levels, &of_month, beside);
        roots.months[month].add(&found);
        add(&mut given, &found.irrigation);
        weekday = (weekday + usize::from(length)) % 7;
        from = span.end;
    }
    given
}

fn run_month<const N: usize>(
    roots: &mut RootZones<N>,
    doses: &[Each<N>; 7],
    levels: &Each<N>,
    days: &MonthDays<'_>,
    beside: &mut impl Beside,
) -> MonthSums<N> {
    let mut own = *beside;
    let mut sums = MonthSums { etc: days.etc.iter().sum(), ..MonthSums::NONE };
    let (mut storage, mut run, mut longest) = (roots.storage, roots.wilting_run, roots.longest_of_year);
    let mut weekday = days.weekday;
    let of_plant = days.etc.iter().zip(days.leaves).zip(days.green);
    for (((etc, leaves), green), water) in of_plant.zip(days.water) {
        own.day(*etc, *leaves, *green, *water);
        let dose = &doses[weekday];
        for at in 0..N {
            let before = storage[at];
            let end = end_of_day(before, (*etc, *leaves, *water), (dose[at], levels[at]), days.taw);
            sums.eta[at] += before - end.left;
            sums.stress_days[at] += one_if(before * leaves > before - etc);
            sums.deep_percolation[at] += greater(end.left + water - days.taw, 0.0);
            sums.irrigation[at] += end.given;
            storage[at] = end.storage;
            let dry = at_wilting(run[at] > 0.0, end.storage);
            sums.wilting_days[at] += one_if(dry);
            run[at] = if dry { run[at] + 1.0 } else { 0.0 };
            longest[at] = greater(longest[at], run[at]);
        }
        weekday = if weekday == 6 { 0 } else { weekday + 1 };
    }
    *beside = own;
    (roots.storage, roots.wilting_run, roots.longest_of_year) = (storage, run, longest);
    sums
}

#[inline]
fn one_if(so: bool) -> f64 {
    if so { 1.0 } else { 0.0 }
}

/// The value that is reached or passed in one year of ten, by the plotting position of Weibull:
/// the m-th greatest of n years returns every (n + 1) / m years; between two years on a straight
/// line, beyond the greatest that one.
pub(super) fn one_in_ten_years(years: &mut [f64]) -> f64 {
    years.sort_by(|a, b| b.total_cmp(a));
    let place = (years.len() as f64 + 1.0) / 10.0 - 1.0;
    let at = |place: f64| years.get(place as usize).copied().unwrap_or(0.0);
    if place <= 0.0 { at(0.0) } else { at(place) + (at(place + 1.0) - at(place)) * place.fract() }
}

impl<const N: usize> Course<N> {
    /// What the balance found of one of the root zones.
    pub(super) fn balance(&self, at: usize, site: &SiteWater<'_>, of: (&Plant, &Irrigation)) -> WaterBalance {
        let (plant, irrigation) = of;
        let yearly_wilting_runs = self.yearly_runs[at].clone();
        let years = yearly_wilting_runs.len();
        let per_year = 1.0 / count(years);
        let months = self.months.each_ref().map(|sums| MonthWater {
            etc: sums.etc * per_year * plant.water_share,
            eta: sums.eta[at] * per_year * plant.water_share,
            irrigation: sums.irrigation[at] * per_year / irrigation.efficiency,
            deep_percolation: sums.deep_percolation[at] * per_year,
            stress_days: sums.stress_days[at] * per_year,
            wilting_days: sums.wilting_days[at] * per_year,
        });
        let total = |field: fn(&MonthWater) -> f64| months.iter().map(field).sum::<f64>();
        let (etc_mm, eta_mm) = (total(|m| m.etc), total(|m| m.eta));
        let mean_yearly_wilting_run = yearly_wilting_runs.iter().sum::<f64>() * per_year;
        let longest_wilting_run = yearly_wilting_runs.iter().copied().fold(0.0, f64::max);
        WaterBalance {
            days_per_week: self.days_per_week[at],
            years,
            stress_days: total(|m| m.stress_days),
            wilting_days: total(|m| m.wilting_days),
            longest_wilting_run: longest_wilting_run as u32,
            one_in_ten_years_run: one_in_ten_years(&mut yearly_wilting_runs.clone()),
            yearly_wilting_runs,
            mean_yearly_wilting_run,
            eta_mm,
            etc_mm,
            et_share: if etc_mm > 0.0 { eta_mm / etc_mm } else { 1.0 },
            irrigation_mm: total(|m| m.irrigation),
            deep_percolation_mm: total(|m| m.deep_percolation),
            runoff_mm: site.runoff_year_mm,
            months,
        }
    }
}
