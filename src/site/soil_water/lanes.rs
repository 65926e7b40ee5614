//! The balance over all years, for several schedules of irrigation side by side.

use super::caps::keep_to_caps;
use super::inputs::validate;
use super::needs::{Beside, Wanting, WaterNeeds};
use super::{
    Demand, Irrigation, MonthWater, Plant, Shares, SiteWater, WILTING_STORAGE_MM, WaterBalance, WaterError,
    count, dried, greater, lesser,
};
use crate::site::rain_pattern::DAYS;
use crate::site::solar::DAYS_IN_MONTH;

/// One schedule of irrigation on its way through the years: its state, and the sums of the sequence.
#[derive(Clone, Copy)]
pub(super) struct Lane {
    /// What may be given on a day when water may be given, in each month, into the soil.
    pub doses: [f64; 12],
    pub storage: f64,
    /// Water of the season's cap that is not yet given; without end where none binds.
    pub left: f64,
    wilting_run: u32,
    longest_of_year: u32,
    months: [MonthWater; 12],
}

/// What a lane may give, and the tallies of its years.
pub(super) struct Allowed {
    /// Whether water may be given on each day of the week: 1 or 0.
    pub week: [f64; 7],
    /// Most that may be given on such a day, into the soil.
    pub depth: f64,
    /// Most that may be given in a year, into the soil.
    pub cap: Option<f64>,
    /// How the doses of a year that the cap holds down are shared out.
    pub shares: Shares,
    /// Whether the cap binds, this year or until its doses are looked for in the year before.
    pub bound: bool,
    efficiency: f64,
    longest: u32,
    yearly_runs: Vec<f64>,
}

impl Allowed {
    fn new(irrigation: &Irrigation, years: usize) -> Self {
        let given = !irrigation.is_none();
        Self {
            week: irrigation.week().map(|allowed| if allowed && given { 1.0 } else { 0.0 }),
            depth: irrigation.depth.0 * irrigation.efficiency,
            cap: irrigation.season_cap.map(|cap| cap.0 * irrigation.efficiency),
            shares: irrigation.shares,
            bound: false,
            efficiency: irrigation.efficiency,
            longest: 0,
            yearly_runs: Vec::with_capacity(years),
        }
    }
}

impl Lane {
    fn new(plant: &Plant) -> Self {
        Self {
            doses: [0.0; 12],
            storage: plant.taw.0,
            left: f64::INFINITY,
            wilting_run: 0,
            longest_of_year: 0,
            months: [MonthWater::default(); 12],
        }
    }

    /// What was given up to here, into the soil.
    fn given(&self) -> f64 {
        self.months.iter().map(|month| month.irrigation).sum()
    }
}

/// A year of days, the same for all lanes.
pub(super) struct YearDays<'d> {
    pub demand: &'d Demand,
    pub water: &'d [f64],
    pub taw: f64,
    /// Day of the week of the first of January.
    pub weekday: usize,
    /// Mean of each month over the years of what enters the soil.
    pub entering_month: &'d [f64; 12],
}

/// Days of one month, the same for all lanes.
struct MonthDays<'d> {
    month: usize,
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
/// day's rain. In a year that would take more than the season's cap so, the doses are made smaller until
/// it does not, shared out among the months as [`Shares`] says. Monotone: more days, depth or
/// cap never lower actual evapotranspiration where no cap binds, and where one does only the cap does;
/// [`super::water_balance`] therefore takes the best of fewer days and of both ways to share. A deeper root zone never lowers mean
/// yearly evapotranspiration; nor, without a cap, does it lengthen any run at wilting.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run(site: &SiteWater<'_>, plant: &Plant, irrigation: &Irrigation) -> Result<WaterBalance, WaterError> {
    Ok(run_each(site, plant, std::slice::from_ref(irrigation))?.remove(0))
}

/// The same for several schedules of irrigation side by side, in their order: since each day waits for
/// the one before, several lanes take little longer than one.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run_each(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigations: &[Irrigation],
) -> Result<Vec<WaterBalance>, WaterError> {
    run_beside(site, plant, irrigations, &mut ())
}

/// The same, and [`super::needs`] of the plant beside it in hardly more time.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run_each_with_needs(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigations: &[Irrigation],
) -> Result<(Vec<WaterBalance>, WaterNeeds), WaterError> {
    let mut wanting = Wanting::new(plant);
    let balances = run_beside(site, plant, irrigations, &mut wanting)?;
    Ok((balances, wanting.a_year(site, plant)))
}

fn run_beside(
    site: &SiteWater<'_>,
    plant: &Plant,
    irrigations: &[Irrigation],
    beside: &mut impl Beside,
) -> Result<Vec<WaterBalance>, WaterError> {
    let years = site.weather.years();
    let mut lanes = Vec::with_capacity(irrigations.len());
    let mut allowed = Vec::with_capacity(irrigations.len());
    for irrigation in irrigations {
        validate(plant, irrigation)?;
        lanes.push(Lane::new(plant));
        allowed.push(Allowed::new(irrigation, years));
    }
    let mut weekday = 0;
    let mut demand = Demand::default();
    for (year, rain) in site.entering.chunks_exact(DAYS).enumerate() {
        if year == 0 || !site.weather.et0_repeats() {
            demand.fill(site.weather.et0_of_year(year), plant);
        }
        let entering_month = &site.entering_month;
        let days = YearDays { demand: &demand, water: rain, taw: plant.taw.0, weekday, entering_month };
        run_within_caps(&mut lanes, &mut allowed, &days, beside);
        weekday = (weekday + DAYS) % 7;
        for (lane, allowed) in lanes.iter_mut().zip(&mut allowed) {
            allowed.longest = allowed.longest.max(lane.longest_of_year);
            allowed.yearly_runs.push(f64::from(lane.longest_of_year));
            // a run that goes on counts whole in the next year too
            lane.longest_of_year = 0;
        }
    }
    Ok(lanes.into_iter().zip(allowed).map(|(lane, allowed)| summarise(site, lane, allowed)).collect())
}

/// A year of every lane. Where the cap bound in the year before, doses that keep to it are looked for at
/// once; else the lane may take all that is allowed, and is run again with such doses if that is too much.
fn run_within_caps(
    lanes: &mut [Lane],
    allowed: &mut [Allowed],
    days: &YearDays<'_>,
    beside: &mut impl Beside,
) {
    let capped = allowed.iter().any(|own| own.cap.is_some());
    let before = if capped { lanes.to_vec() } else { Vec::new() };
    keep_to_caps(lanes, allowed, days);
    let weeks: Vec<&[f64; 7]> = allowed.iter().map(|own| &own.week).collect();
    run_year(lanes, &weeks, days, beside);
    for (at, before) in before.into_iter().enumerate() {
        let (lane, own) = (&mut lanes[at..=at], &mut allowed[at..=at]);
        let taken = lane[0].given() - before.given();
        if !own[0].bound && own[0].cap.is_some_and(|cap| taken > cap) {
            (lane[0], own[0].bound) = (before, true);
            keep_to_caps(lane, own, days);
            run_year(lane, &[&own[0].week], days, &mut ());
        }
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

/// One day: the plant draws, then rain enters, then what is offered as far as there is room for it.
#[inline]
pub(super) fn end_of_day(
    storage: f64,
    (etc, leaves, water): (f64, f64, f64),
    offered: f64,
    taw: f64,
) -> DayEnd {
    let left = dried(storage, etc, leaves);
    let given = lesser(offered, greater(taw - (left + water), 0.0));
    // what is given fills up to what the roots hold, as rain does
    DayEnd { left, given, storage: lesser(left + (water + offered), taw) }
}

fn run_year(lanes: &mut [Lane], weeks: &[&[f64; 7]], days: &YearDays<'_>, beside: &mut impl Beside) {
    let (mut from, mut weekday) = (0, days.weekday);
    for (month, length) in DAYS_IN_MONTH.into_iter().enumerate() {
        let span = from..from + usize::from(length);
        let of_month = MonthDays {
            month,
            etc: &days.demand.etc[span.clone()],
            leaves: &days.demand.leaves[span.clone()],
            green: &days.demand.green[span.clone()],
            water: &days.water[span.clone()],
            taw: days.taw,
            weekday,
        };
        run_month(lanes, weeks, &of_month, beside);
        weekday = (weekday + usize::from(length)) % 7;
        from = span.end;
    }
}

/// One month of all lanes: by threes, which the registers hold, then one by one; what goes beside goes with
/// the last.
fn run_month(lanes: &mut [Lane], weeks: &[&[f64; 7]], days: &MonthDays<'_>, beside: &mut impl Beside) {
    match (lanes, weeks) {
        ([a, b, c, others @ ..], [x, y, z, weeks @ ..]) if !others.is_empty() => {
            run_lanes([a, b, c], [x, y, z], days, &mut ());
            run_month(others, weeks, days, beside);
        }
        ([a, b, c], [x, y, z]) => run_lanes([a, b, c], [x, y, z], days, beside),
        ([a, others @ ..], [x, weeks @ ..]) if !others.is_empty() => {
            run_lanes([a], [x], days, &mut ());
            run_month(others, weeks, days, beside);
        }
        ([a], [x]) => run_lanes([a], [x], days, beside),
        _ => {}
    }
}

fn run_lanes<const N: usize>(
    lanes: [&mut Lane; N],
    weeks: [&[f64; 7]; N],
    days: &MonthDays<'_>,
    beside: &mut impl Beside,
) {
    let mut own = *beside;
    let mut storage: [f64; N] = std::array::from_fn(|lane| lanes[lane].storage);
    let mut left_of_cap: [f64; N] = std::array::from_fn(|lane| lanes[lane].left);
    let doses: [[f64; 7]; N] =
        std::array::from_fn(|lane| weeks[lane].map(|may| may * lanes[lane].doses[days.month]));
    let mut sums = [MonthWater::default(); N];
    let (mut stressed, mut wilting) = ([0_u32; N], [0_u32; N]);
    let mut runs: [u32; N] = std::array::from_fn(|lane| lanes[lane].wilting_run);
    let mut longest: [u32; N] = std::array::from_fn(|lane| lanes[lane].longest_of_year);
    let mut weekday = days.weekday;
    let of_plant = days.etc.iter().zip(days.leaves).zip(days.green);
    for (((etc, leaves), green), water) in of_plant.zip(days.water) {
        own.day(*etc, *leaves, *green, *water);
        for lane in 0..N {
            let before = storage[lane];
            let offered = lesser(doses[lane][weekday], left_of_cap[lane]);
            let end = end_of_day(before, (*etc, *leaves, *water), offered, days.taw);
            sums[lane].eta += before - end.left;
            stressed[lane] += u32::from(before * leaves > before - etc);
            sums[lane].deep_percolation += greater(end.left + water - days.taw, 0.0);
            left_of_cap[lane] -= end.given;
            sums[lane].irrigation += end.given;
            storage[lane] = end.storage;
            let dry = storage[lane] <= WILTING_STORAGE_MM;
            wilting[lane] += u32::from(dry);
            runs[lane] = if dry { runs[lane] + 1 } else { 0 };
            longest[lane] = longest[lane].max(runs[lane]);
        }
        weekday = if weekday == 6 { 0 } else { weekday + 1 };
    }
    let etc: f64 = days.etc.iter().sum();
    *beside = own;
    for (at, lane) in lanes.into_iter().enumerate() {
        (lane.storage, lane.left) = (storage[at], left_of_cap[at]);
        (lane.wilting_run, lane.longest_of_year) = (runs[at], longest[at]);
        let month = &mut lane.months[days.month];
        month.etc += etc;
        month.eta += sums[at].eta;
        month.irrigation += sums[at].irrigation;
        month.deep_percolation += sums[at].deep_percolation;
        month.stress_days += f64::from(stressed[at]);
        month.wilting_days += f64::from(wilting[at]);
    }
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

fn summarise(site: &SiteWater<'_>, lane: Lane, allowed: Allowed) -> WaterBalance {
    let Lane { mut months, .. } = lane;
    let Allowed { longest, mut yearly_runs, efficiency, .. } = allowed;
    let years = yearly_runs.len();
    let per_year = 1.0 / count(years);
    for month in &mut months {
        month.irrigation /= efficiency;
        for value in [
            &mut month.etc,
            &mut month.eta,
            &mut month.irrigation,
            &mut month.deep_percolation,
            &mut month.stress_days,
            &mut month.wilting_days,
        ] {
            *value *= per_year;
        }
    }
    let total = |field: fn(&MonthWater) -> f64| months.iter().map(field).sum::<f64>();
    let (etc_mm, eta_mm) = (total(|m| m.etc), total(|m| m.eta));
    WaterBalance {
        years,
        stress_days: total(|m| m.stress_days),
        wilting_days: total(|m| m.wilting_days),
        longest_wilting_run: longest,
        one_in_ten_years_run: one_in_ten_years(&mut yearly_runs),
        mean_yearly_wilting_run: yearly_runs.iter().sum::<f64>() * per_year,
        eta_mm,
        etc_mm,
        et_share: if etc_mm > 0.0 { eta_mm / etc_mm } else { 1.0 },
        irrigation_mm: total(|m| m.irrigation),
        deep_percolation_mm: total(|m| m.deep_percolation),
        runoff_mm: site.runoff_year_mm,
        months,
    }
}
