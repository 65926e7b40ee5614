//! The balance over all years, for several schedules of irrigation side by side.

use super::inputs::validate;
use super::{
    Demand, Irrigation, MonthWater, Plant, SiteWater, WILTING_STORAGE_MM, WaterBalance, WaterError, count,
    dried,
};
use crate::site::rain_pattern::DAYS;
use crate::site::solar::DAYS_IN_MONTH;

/// One schedule of irrigation on its way through the years: its state, and the tallies of the whole
/// sequence.
struct Lane {
    /// What may be given on each day of the week, into the soil.
    doses: [f64; 7],
    efficiency: f64,
    /// Most that may be given in a year, into the soil.
    cap: Option<f64>,
    storage: f64,
    /// Water of the season's cap that is freed and not yet given; without end where there is no cap.
    bank: f64,
    wilting_run: u32,
    longest: u32,
    longest_of_year: u32,
    yearly_runs: Vec<f64>,
    months: [MonthWater; 12],
}

impl Lane {
    fn new(irrigation: &Irrigation, plant: &Plant, years: usize) -> Self {
        let given = !irrigation.is_none();
        let depth = irrigation.depth.0 * irrigation.efficiency;
        Self {
            doses: irrigation.week().map(|allowed| if allowed && given { depth } else { 0.0 }),
            efficiency: irrigation.efficiency,
            cap: irrigation.season_cap.map(|cap| cap.0 * irrigation.efficiency),
            storage: plant.taw.0,
            bank: f64::INFINITY,
            wilting_run: 0,
            longest: 0,
            longest_of_year: 0,
            yearly_runs: Vec::with_capacity(years),
            months: [MonthWater::default(); 12],
        }
    }

    fn begin_year(&mut self) {
        self.longest_of_year = 0;
        self.bank = if self.cap.is_some() { 0.0 } else { f64::INFINITY };
    }

    /// A run begun in the year before counts whole.
    fn end_year(&mut self) {
        self.longest = self.longest.max(self.longest_of_year);
        self.yearly_runs.push(f64::from(self.longest_of_year));
    }
}

/// Days of one month, the same for all lanes.
struct MonthDays<'d> {
    month: usize,
    etc: &'d [f64],
    leaves: &'d [f64],
    water: &'d [f64],
    /// Share of a season's cap that a day frees.
    share: f64,
    taw: f64,
    /// Day of the week of the first of them.
    weekday: usize,
}

/// Runs the balance over all years, from a full root zone on the first day.
///
/// On a day when water may be given it is given up to the depletion, the depth allowed and what
/// is left of the cap, after the day's rain. Monotone: more days, depth or cap never lower actual
/// evapotranspiration, but with a cap only the cap does (more days or depth may spend it before a
/// rain); [`super::water_balance`] therefore takes the best of fewer days. A deeper root zone never lowers mean
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
    let years = site.weather.years();
    let mut lanes = Vec::with_capacity(irrigations.len());
    for irrigation in irrigations {
        validate(plant, irrigation)?;
        lanes.push(Lane::new(irrigation, plant, years));
    }
    let mut weekday = 0;
    let mut demand = Demand::default();
    for (year, rain) in site.entering.chunks_exact(DAYS).enumerate() {
        if year == 0 || !site.weather.et0_repeats() {
            demand.fill(site.weather.et0_of_year(year), plant);
        }
        let shares = demand.shares(&site.entering_month);
        lanes.iter_mut().for_each(Lane::begin_year);
        let mut from = 0;
        for (month, length) in DAYS_IN_MONTH.into_iter().enumerate() {
            let days = from..from + usize::from(length);
            run_month(
                &mut lanes,
                &MonthDays {
                    month,
                    etc: &demand.etc[days.clone()],
                    leaves: &demand.leaves[days.clone()],
                    water: &rain[days.clone()],
                    share: shares[month],
                    taw: plant.taw.0,
                    weekday,
                },
            );
            weekday = (weekday + usize::from(length)) % 7;
            from = days.end;
        }
        lanes.iter_mut().for_each(Lane::end_year);
    }
    Ok(lanes.into_iter().map(|lane| summarise(site, lane)).collect())
}

/// One month of all lanes: by threes, which the registers hold, then one by one.
fn run_month(lanes: &mut [Lane], days: &MonthDays<'_>) {
    let (threes, rest) = lanes.as_chunks_mut::<3>();
    threes.iter_mut().for_each(|lanes| run_lanes(lanes, days));
    let (singles, _) = rest.as_chunks_mut::<1>();
    singles.iter_mut().for_each(|lane| run_lanes(lane, days));
}

fn run_lanes<const N: usize>(lanes: &mut [Lane; N], days: &MonthDays<'_>) {
    let mut storage: [f64; N] = std::array::from_fn(|lane| lanes[lane].storage);
    let mut bank: [f64; N] = std::array::from_fn(|lane| lanes[lane].bank);
    let freed: [f64; N] = std::array::from_fn(|lane| lanes[lane].cap.map_or(0.0, |cap| days.share * cap));
    let mut sums = [MonthWater::default(); N];
    let (mut stressed, mut wilting) = ([0_u32; N], [0_u32; N]);
    let mut runs: [u32; N] = std::array::from_fn(|lane| lanes[lane].wilting_run);
    let mut longest: [u32; N] = std::array::from_fn(|lane| lanes[lane].longest_of_year);
    let mut weekday = days.weekday;
    for ((etc, leaves), water) in days.etc.iter().zip(days.leaves).zip(days.water) {
        for lane in 0..N {
            let left = dried(storage[lane], *etc, *leaves);
            let eta = storage[lane] - left;
            stressed[lane] += u32::from(storage[lane] * leaves > storage[lane] - etc);
            let after = left + water;
            sums[lane].eta += eta;
            sums[lane].deep_percolation += (after - days.taw).max(0.0);
            bank[lane] += freed[lane];
            let offered = lanes[lane].doses[weekday].min(bank[lane]);
            let given = offered.min((days.taw - after).max(0.0));
            bank[lane] -= given;
            sums[lane].irrigation += given;
            // what is given fills up to what the roots hold, as rain does
            storage[lane] = (left + (water + offered)).min(days.taw);
            let dry = storage[lane] <= WILTING_STORAGE_MM;
            wilting[lane] += u32::from(dry);
            runs[lane] = if dry { runs[lane] + 1 } else { 0 };
            longest[lane] = longest[lane].max(runs[lane]);
        }
        weekday = if weekday == 6 { 0 } else { weekday + 1 };
    }
    let etc: f64 = days.etc.iter().sum();
    for (at, lane) in lanes.iter_mut().enumerate() {
        (lane.storage, lane.bank) = (storage[at], bank[at]);
        (lane.wilting_run, lane.longest_of_year) = (runs[at], longest[at]);
        let month = &mut lane.months[days.month];
        month.etc += etc;
        month.eta += sums[at].eta;
        month.irrigation += sums[at].irrigation / lane.efficiency;
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

fn summarise(site: &SiteWater<'_>, lane: Lane) -> WaterBalance {
    let Lane { longest, mut months, mut yearly_runs, .. } = lane;
    let years = yearly_runs.len();
    let per_year = 1.0 / count(years);
    for month in &mut months {
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
