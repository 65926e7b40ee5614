//! The balance over all years.

use super::caps::level_within_cap;
use super::inputs::validate;
use super::kept_alive::KeptAlive;
use super::needs::{Beside, Wanting, WaterNeeds};
use super::{
    Demand, Irrigation, MonthWater, Plant, SiteWater, WaterBalance, WaterError, at_wilting, count, dried,
    greater, lesser,
};
use crate::site::rain_pattern::DAYS;
use crate::site::solar::DAYS_IN_MONTH;

/// The root zone on its way through the years: its state, and the sums of the sequence.
#[derive(Clone, Copy)]
pub(super) struct RootZone {
    pub storage: f64,
    pub wilting_run: u32,
    longest_of_year: u32,
    months: [MonthWater; 12],
}

impl RootZone {
    /// Full on the first day.
    fn new(plant: &Plant) -> Self {
        let months = [MonthWater::default(); 12];
        Self { storage: plant.shared_taw(), wilting_run: 0, longest_of_year: 0, months }
    }

    /// What was given up to here, into the soil.
    fn given(&self) -> f64 {
        self.months.iter().map(|month| month.irrigation).sum()
    }
}

/// What may be given, into the soil.
pub(super) struct Allowed {
    /// On each day of the week.
    pub doses: [f64; 7],
    /// In a year.
    pub cap: Option<f64>,
    /// Whether the cap binds, this year or until its level is looked for in the year before.
    pub bound: bool,
    /// The level of the last year that it bound in.
    pub level: Option<f64>,
}

impl Allowed {
    fn new(irrigation: &Irrigation) -> Self {
        let depth = if irrigation.is_none() { 0.0 } else { irrigation.depth.0 * irrigation.efficiency };
        Self {
            doses: irrigation.week().map(|may| if may { depth } else { 0.0 }),
            cap: irrigation.season_cap.map(|cap| cap.0 * irrigation.efficiency),
            bound: false,
            level: None,
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

/// Runs the balance over all years, from a full root zone on the first day.
///
/// On a day when water may be given it is given up to the depletion and the depth allowed, after the
/// day's rain. In a year that would take more than the season's cap so, it is given only up to the level
/// of storage that the cap pays for. Monotone: where no cap binds, more days or depth never lower actual
/// evapotranspiration; nor does a higher cap, but for what the search for its level may leave of it. A deeper root zone never lowers mean yearly
/// evapotranspiration; nor, without a cap, does it lengthen any run at wilting.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run(site: &SiteWater<'_>, plant: &Plant, irrigation: &Irrigation) -> Result<WaterBalance, WaterError> {
    run_beside(site, plant, irrigation, &mut ())
}

/// The same, and [`super::needs`] of the plant beside it in hardly more time.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run_with_needs(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigation: &Irrigation,
) -> Result<(WaterBalance, WaterNeeds), WaterError> {
    let mut wanting = Wanting::new(plant);
    let balance = run_beside(site, plant, irrigation, &mut wanting)?;
    Ok((balance, wanting.a_year(site, plant)))
}

fn run_beside(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigation: &Irrigation,
    beside: &mut impl Beside,
) -> Result<WaterBalance, WaterError> {
    validate(plant, irrigation)?;
    let mut allowed = Allowed::new(irrigation);
    let mut roots = RootZone::new(plant);
    let mut kept_alive = KeptAlive::new(plant, irrigation);
    let mut yearly_runs = Vec::with_capacity(site.weather.years());
    let mut weekday = 0;
    let mut demand = Demand::default();
    for (year, rain) in site.entering.chunks_exact(DAYS).enumerate() {
        if year == 0 || !site.weather.et0_repeats() {
            demand.fill(site.weather.et0_of_year(year), plant);
        }
        let days = YearDays { demand: &demand, water: rain, taw: plant.shared_taw(), weekday };
        let before = roots;
        run_within_cap(&mut roots, &mut allowed, &days, beside);
        if let Some(kept_alive) = &mut kept_alive {
            kept_alive.year(&days, &before, roots.longest_of_year, allowed.bound);
        }
        weekday = (weekday + DAYS) % 7;
        yearly_runs.push(f64::from(roots.longest_of_year));
        // a run that goes on counts whole in the next year too
        roots.longest_of_year = 0;
    }
    let shares = (plant.water_share, irrigation.efficiency);
    Ok(summarise(site, (roots.months, shares), yearly_runs, kept_alive))
}

/// A year. Where the cap bound in the year before, the level that keeps to it is looked for at once; else
/// all that is allowed may be given, and the year is run again up to such a level if that is too much.
fn run_within_cap(
    roots: &mut RootZone,
    allowed: &mut Allowed,
    days: &YearDays<'_>,
    beside: &mut impl Beside,
) {
    let before = *roots;
    let level = if allowed.bound { level_within_cap(roots.storage, allowed, days) } else { days.taw };
    run_year(roots, &allowed.doses, level, days, beside);
    let taken = roots.given() - before.given();
    if !allowed.bound && allowed.cap.is_some_and(|cap| taken > cap) {
        (*roots, allowed.bound) = (before, true);
        let level = level_within_cap(roots.storage, allowed, days);
        run_year(roots, &allowed.doses, level, days, &mut ());
    }
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

fn run_year(
    roots: &mut RootZone,
    doses: &[f64; 7],
    level: f64,
    days: &YearDays<'_>,
    beside: &mut impl Beside,
) {
    let (mut from, mut weekday) = (0, days.weekday);
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
        let found = run_month(roots, doses, level, &of_month, beside);
        roots.months[month].add(&found);
        weekday = (weekday + usize::from(length)) % 7;
        from = span.end;
    }
}

fn run_month(
    roots: &mut RootZone,
    doses: &[f64; 7],
    level: f64,
    days: &MonthDays<'_>,
    beside: &mut impl Beside,
) -> MonthWater {
    let mut own = *beside;
    let mut sums = MonthWater { etc: days.etc.iter().sum(), ..MonthWater::default() };
    let (mut storage, mut run, mut longest) = (roots.storage, roots.wilting_run, roots.longest_of_year);
    let (mut stressed, mut wilting) = (0_u32, 0_u32);
    let mut weekday = days.weekday;
    let of_plant = days.etc.iter().zip(days.leaves).zip(days.green);
    for (((etc, leaves), green), water) in of_plant.zip(days.water) {
        own.day(*etc, *leaves, *green, *water);
        let before = storage;
        let end = end_of_day(before, (*etc, *leaves, *water), (doses[weekday], level), days.taw);
        sums.eta += before - end.left;
        stressed += u32::from(before * leaves > before - etc);
        sums.deep_percolation += greater(end.left + water - days.taw, 0.0);
        sums.irrigation += end.given;
        storage = end.storage;
        let dry = at_wilting(run > 0, storage);
        wilting += u32::from(dry);
        run = if dry { run + 1 } else { 0 };
        longest = longest.max(run);
        weekday = if weekday == 6 { 0 } else { weekday + 1 };
    }
    *beside = own;
    (roots.storage, roots.wilting_run, roots.longest_of_year) = (storage, run, longest);
    MonthWater { stress_days: f64::from(stressed), wilting_days: f64::from(wilting), ..sums }
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

fn summarise(
    site: &SiteWater<'_>,
    (sums, (water_share, efficiency)): ([MonthWater; 12], (f64, f64)),
    mut yearly_runs: Vec<f64>,
    kept_alive: Option<KeptAlive>,
) -> WaterBalance {
    let years = yearly_runs.len();
    let per_year = 1.0 / count(years);
    let months = sums.map(|sums| {
        let month = sums.times(per_year);
        let (etc, eta) = (month.etc * water_share, month.eta * water_share);
        MonthWater { etc, eta, irrigation: month.irrigation / efficiency, ..month }
    });
    let total = |field: fn(&MonthWater) -> f64| months.iter().map(field).sum::<f64>();
    let (etc_mm, eta_mm) = (total(|m| m.etc), total(|m| m.eta));
    let mean_yearly_wilting_run = yearly_runs.iter().sum::<f64>() * per_year;
    let longest_wilting_run = yearly_runs.iter().copied().fold(0.0, f64::max);
    let one_in_ten_years_run = one_in_ten_years(&mut yearly_runs);
    WaterBalance {
        years,
        stress_days: total(|m| m.stress_days),
        wilting_days: total(|m| m.wilting_days),
        longest_wilting_run: longest_wilting_run as u32,
        one_in_ten_years_run,
        kept_alive_run: kept_alive.map_or(one_in_ten_years_run, KeptAlive::one_in_ten_years_run),
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
