//! Daily soil-water balance of a root zone under rain and the irrigation that a site allows.
//!
//! Source of the equations: Allen, Pereira, Raes & Smith, FAO Irrigation and Drainage Paper 56,
//! "Crop evapotranspiration", 1998, chapter 8 (82 to 88). Left out: capillary rise, snow (winter
//! precipitation counts as rain on the day), and growth of roots through the year.
//!
//! Two departures:
//! - actual evapotranspiration is held to the water that is left, since one daily step of equation
//!   84 can overshoot where the root zone holds hardly a day's demand;
//! - a day is *at wilting* when less than 1 mm of available water is left, a depth and not a share:
//!   by equation 84 storage dries out ever more slowly and never quite reaches the wilting point,
//!   and by share a small rain would count for more in a shallow soil than in a deep one.
//!
//! Both keep the order of two runs: storage at the end of a day never falls when storage at its
//! start, the rain or the depth of soil is greater, nor does depletion when the soil is deeper.

mod inputs;

use crate::units::quantity::{Millimetres, MillimetresPerDay};

use super::daily_weather::{DailyWeather, runoff_mm};
use super::rain_pattern::DAYS;
use super::solar::DAYS_IN_MONTH;
use super::texture::depletion_fraction;

use inputs::validate;
pub use inputs::{Irrigation, Plant, SurvivalWatering, WaterError};

/// Available water at or below which a day counts as at wilting, mm.
pub const WILTING_STORAGE_MM: f64 = 1.0;

/// Water stress coefficient, FAO-56 equation 84: Ks = (TAW - Dr) / (TAW - RAW) where the depletion
/// Dr exceeds RAW, else 1; 0 to 1.
#[must_use]
pub fn stress_coefficient(depletion: Millimetres, taw: Millimetres, raw: Millimetres) -> f64 {
    if depletion.0 <= raw.0 { 1.0 } else { ((taw.0 - depletion.0) / (taw.0 - raw.0)).clamp(0.0, 1.0) }
}

/// One day of the balance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// Stress coefficient by the depletion at the start of the day.
    pub ks: f64,
    /// Actual evapotranspiration, Ks `ETc`, held to the water that is left.
    pub eta: MillimetresPerDay,
    /// Water lost below the roots (equation 88).
    pub deep_percolation: Millimetres,
    /// Depletion at the end of the day (equation 85).
    pub depletion: Millimetres,
}

/// One day, FAO-56 equation 85: Dr = Dr' - (P - RO) - I + `ETa` + DP, with Ks by the depletion at
/// the start of the day; `water` is rain less runoff plus irrigation. The plain form, for single
/// days and as the reference of [`run`].
#[must_use]
pub fn balance_day(
    depletion: Millimetres,
    taw: Millimetres,
    raw: Millimetres,
    etc: MillimetresPerDay,
    water: Millimetres,
) -> Day {
    let ks = stress_coefficient(depletion, taw, raw);
    let eta = (ks * etc.0).min(taw.0 - depletion.0).max(0.0);
    let after = depletion.0 + eta - water.0;
    Day {
        ks,
        eta: MillimetresPerDay(eta),
        deep_percolation: Millimetres((-after).max(0.0)),
        depletion: Millimetres(after.clamp(0.0, taw.0)),
    }
}

/// Means of a month over the years, mm unless said otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MonthWater {
    /// Demand, `ETc`.
    pub etc: f64,
    /// Actual evapotranspiration.
    pub eta: f64,
    /// Irrigation as applied.
    pub irrigation: f64,
    /// Water lost below the roots.
    pub deep_percolation: f64,
    /// Days on which the demand was not met (Ks below 1).
    pub stress_days: f64,
    /// Days at wilting.
    pub wilting_days: f64,
}

/// What the balance found, per year of the sequence unless said otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterBalance {
    /// Years in the sequence.
    pub years: usize,
    /// Means by month.
    pub months: [MonthWater; 12],
    /// Days on which the demand was not met (Ks below 1), a year.
    pub stress_days: f64,
    /// Days at wilting, a year.
    pub wilting_days: f64,
    /// Longest run of days at wilting in the whole sequence.
    pub longest_wilting_run: u32,
    /// Run of days at wilting that is reached or passed in one year of ten; the longest of all where
    /// there are fewer than ten years.
    pub one_in_ten_years_run: f64,
    /// Mean over the years of each year's longest run at wilting.
    pub mean_yearly_wilting_run: f64,
    /// Actual evapotranspiration, mm a year.
    pub eta_mm: f64,
    /// Demand `ETc`, mm a year.
    pub etc_mm: f64,
    /// Share of the demand that was met, 0 to 1; 1 where there is none.
    pub et_share: f64,
    /// Irrigation as applied, mm a year.
    pub irrigation_mm: f64,
    /// Water lost below the roots, mm a year.
    pub deep_percolation_mm: f64,
    /// Rain run off, mm a year.
    pub runoff_mm: f64,
}

/// Rain of each day that enters the soil, and what ran off: once for a site, used for all plants.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteWater<'a> {
    weather: &'a DailyWeather,
    entering: Vec<f64>,
    /// Mean of each month over the years of what enters, mm.
    entering_month: [f64; 12],
    runoff_year_mm: f64,
}

impl<'a> SiteWater<'a> {
    /// With runoff by curve number ([`runoff_mm`]), or without runoff.
    #[must_use]
    pub fn new(weather: &'a DailyWeather, curve_number: Option<f64>) -> Self {
        let rain = weather.rain_mm();
        let entering: Vec<f64> = match curve_number {
            Some(number) => rain.iter().map(|r| r - runoff_mm(*r, number)).collect(),
            None => rain.to_vec(),
        };
        let lost = rain.iter().sum::<f64>() - entering.iter().sum::<f64>();
        let mut entering_month = [0.0; 12];
        for year in entering.chunks_exact(DAYS) {
            month_sums(year).iter().zip(&mut entering_month).for_each(|(sum, month)| *month += sum);
        }
        let years = count(weather.years());
        let entering_month = entering_month.map(|sum| sum / years);
        Self { weather, runoff_year_mm: lost / years, entering, entering_month }
    }
}

/// Sums of the twelve months of a year of days.
fn month_sums(days: &[f64]) -> [f64; 12] {
    let mut start = 0;
    DAYS_IN_MONTH.map(|length| {
        let end = start + usize::from(length);
        let sum = days[start..end].iter().sum();
        start = end;
        sum
    })
}

fn count(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::NAN, f64::from)
}

/// Demand of a plant on each day of a year, and what the stress function needs.
struct Demand {
    etc: [f64; DAYS],
    /// Share of the storage that a stressed plant takes in the day: `ETc` / (TAW - RAW), held to 1.
    rate: [f64; DAYS],
    /// Storage at which Ks is the plant's `green_ks`.
    green: [f64; DAYS],
    /// Demand of each month.
    months: [f64; 12],
}

impl Demand {
    fn new(et0: &[f64], plant: &Plant) -> Self {
        let mut demand = Self { etc: [0.0; DAYS], rate: [0.0; DAYS], green: [0.0; DAYS], months: [0.0; 12] };
        let mut start = 0;
        for (kc, days) in plant.kc.iter().zip(DAYS_IN_MONTH) {
            let end = start + usize::from(days);
            for (day, et0) in et0.iter().enumerate().take(end).skip(start) {
                let etc = kc * et0;
                let p = depletion_fraction(plant.p_table, MillimetresPerDay(etc));
                let stressed_range = (1.0 - p) * plant.taw.0;
                demand.etc[day] = etc;
                demand.rate[day] = (etc / stressed_range).min(1.0);
                demand.green[day] = plant.green_ks * stressed_range;
            }
            start = end;
        }
        demand.months = month_sums(&demand.etc);
        demand
    }

    /// Share of a season's cap that each day of a month frees: in proportion to what the month wants
    /// over the rain that it usually has, since water given in the wet months is wasted; where no month
    /// wants more than that, in proportion to demand.
    fn shares(&self, entering_month: &[f64; 12]) -> [f64; 12] {
        let short: [f64; 12] = std::array::from_fn(|m| (self.months[m] - entering_month[m]).max(0.0));
        let wanted = if short.iter().sum::<f64>() > 0.0 { short } else { self.months };
        let total: f64 = wanted.iter().sum();
        let a_day = |m: usize| wanted[m] / total / f64::from(DAYS_IN_MONTH[m]);
        std::array::from_fn(|m| if total > 0.0 { a_day(m) } else { 0.0 })
    }
}

/// Evapotranspiration of a day from the storage at its start: Ks `ETc` by equation 84, held to the
/// storage. With Ks = storage / (TAW - RAW) that is the lesser of storage times rate and `ETc`.
#[inline]
fn evaporate(storage: f64, etc: f64, rate: f64) -> f64 {
    (storage * rate).min(etc)
}

/// State of a run, and the tallies of the whole sequence.
struct State {
    storage: f64,
    wilting_run: u32,
    longest: u32,
    /// Water of the season's cap that is freed and not yet given.
    bank: f64,
    weekday: usize,
}

/// Runs the balance over all years, from a full root zone on the first day.
///
/// On a day when water may be given it is given up to the depletion, the depth allowed and what
/// is left of the cap, after the day's rain. Monotone: more days, depth or cap never lower actual
/// evapotranspiration, but with a cap only the cap does (more days or depth may spend it before a
/// rain); [`super::water_balance`] therefore takes the best of fewer days. A deeper root zone never lowers mean yearly evapotranspiration; nor, without a cap, does
/// it lengthen any run at wilting.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn run(site: &SiteWater<'_>, plant: &Plant, irrigation: &Irrigation) -> Result<WaterBalance, WaterError> {
    validate(plant, irrigation)?;
    let years = site.weather.years();
    let mut state = State { storage: plant.taw.0, wilting_run: 0, longest: 0, bank: 0.0, weekday: 0 };
    let mut months = [MonthWater::default(); 12];
    let mut yearly_runs = Vec::with_capacity(years);
    let mut demand = Demand::new(site.weather.et0_of_year(0), plant);
    for (year, rain) in site.entering.chunks_exact(DAYS).enumerate() {
        if year > 0 && !site.weather.et0_repeats() {
            demand = Demand::new(site.weather.et0_of_year(year), plant);
        }
        state.bank = 0.0;
        let run_of_year = if irrigation.is_none() {
            run_year::<false>(&mut state, &mut months, &demand, rain, plant, (irrigation, &[0.0; 12]))
        } else {
            let shares = demand.shares(&site.entering_month);
            run_year::<true>(&mut state, &mut months, &demand, rain, plant, (irrigation, &shares))
        };
        yearly_runs.push(f64::from(run_of_year));
    }
    Ok(summarise(site, &state, months, years, yearly_runs))
}

/// One year; returns its longest run at wilting, a run begun in the year before counted whole.
fn run_year<const IRRIGATED: bool>(
    state: &mut State,
    months: &mut [MonthWater; 12],
    demand: &Demand,
    rain: &[f64],
    plant: &Plant,
    (irrigation, shares): (&Irrigation, &[f64; 12]),
) -> u32 {
    let taw = plant.taw.0;
    let week = irrigation.week();
    let depth = irrigation.depth.0 * irrigation.efficiency;
    let cap = irrigation.season_cap.map(|cap| cap.0 * irrigation.efficiency);
    let mut longest = 0;
    let mut day = 0;
    for ((month, days), share) in months.iter_mut().zip(DAYS_IN_MONTH).zip(shares) {
        let mut sum = MonthWater::default();
        let (mut stressed, mut wilting) = (0_u32, 0_u32);
        let end = day + usize::from(days);
        let days = demand.etc[day..end].iter().zip(&demand.rate[day..end]);
        for ((etc, rate), water) in days.zip(&rain[day..end]) {
            let eta = evaporate(state.storage, *etc, *rate);
            stressed += u32::from(eta < *etc);
            let after = state.storage - eta + water;
            sum.etc += etc;
            sum.eta += eta;
            sum.deep_percolation += (after - taw).max(0.0);
            state.storage = after.min(taw);
            if IRRIGATED {
                if let Some(cap) = cap {
                    state.bank += share * cap;
                }
                if week[state.weekday] {
                    let allowed = if cap.is_some() { depth.min(state.bank) } else { depth };
                    let given = allowed.min(taw - state.storage);
                    state.storage += given;
                    sum.irrigation += given;
                    state.bank -= given;
                }
                state.weekday = if state.weekday == 6 { 0 } else { state.weekday + 1 };
            }
            let at_wilting = state.storage <= WILTING_STORAGE_MM;
            wilting += u32::from(at_wilting);
            state.wilting_run = if at_wilting { state.wilting_run + 1 } else { 0 };
            longest = longest.max(state.wilting_run);
        }
        month.etc += sum.etc;
        month.eta += sum.eta;
        month.irrigation += sum.irrigation / irrigation.efficiency;
        month.deep_percolation += sum.deep_percolation;
        month.stress_days += f64::from(stressed);
        month.wilting_days += f64::from(wilting);
        day = end;
    }
    state.longest = state.longest.max(longest);
    longest
}

/// Irrigation into the root zone that a plant would want, whatever is allowed, mm a year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterNeeds {
    /// What would keep Ks at or above the plant's `green_ks` every day: a lower bound, given in the
    /// smallest doses and without losses.
    pub green_mm: f64,
    /// What would keep it alive while dormant; `None` where survival watering was not asked for.
    pub survival_mm: Option<f64>,
}

/// The water that would keep a plant green, and the water that would only keep it alive.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn needs(site: &SiteWater<'_>, plant: &Plant) -> Result<WaterNeeds, WaterError> {
    validate(plant, &Irrigation::NONE)?;
    let taw = plant.taw.0;
    let (limit, dose) = plant.survival.map_or((u32::MAX, 0.0), |s| (s.days_at_wilting, s.depth.0.max(0.0)));
    let (mut green, mut survival, mut dry_run) = (taw, taw, 0_u32);
    let (mut green_need, mut survival_need) = (0.0, 0.0);
    let mut demand = Demand::new(site.weather.et0_of_year(0), plant);
    for (year, rain) in site.entering.chunks_exact(DAYS).enumerate() {
        if year > 0 && !site.weather.et0_repeats() {
            demand = Demand::new(site.weather.et0_of_year(year), plant);
        }
        let days = demand.etc.iter().zip(&demand.rate).zip(&demand.green);
        for (((etc, rate), floor), water) in days.zip(rain) {
            // Kept green: topped up in the morning to where Ks reaches the wanted value.
            let top_up = (floor - green).max(0.0);
            green_need += top_up;
            green += top_up;
            green = (green - evaporate(green, *etc, *rate) + water).min(taw);
            // Kept alive: a dose whenever the plant has been at wilting as long as it stands.
            survival = (survival - evaporate(survival, *etc, *rate) + water).min(taw);
            dry_run = if survival <= WILTING_STORAGE_MM { dry_run + 1 } else { 0 };
            if dry_run >= limit {
                let given = dose.min(taw - survival);
                survival += given;
                survival_need += given;
                dry_run = 0;
            }
        }
    }
    let per_year = 1.0 / count(site.weather.years());
    Ok(WaterNeeds {
        green_mm: green_need * per_year,
        survival_mm: plant.survival.map(|_| survival_need * per_year),
    })
}

/// The value that is reached or passed in one year of ten, by the plotting position of Weibull:
/// the m-th greatest of n years returns every (n + 1) / m years; between two years on a straight
/// line, beyond the greatest that one.
fn one_in_ten_years(years: &mut [f64]) -> f64 {
    years.sort_by(|a, b| b.total_cmp(a));
    let place = (years.len() as f64 + 1.0) / 10.0 - 1.0;
    let at = |place: f64| years.get(place as usize).copied().unwrap_or(0.0);
    if place <= 0.0 { at(0.0) } else { at(place) + (at(place + 1.0) - at(place)) * place.fract() }
}

fn summarise(
    site: &SiteWater<'_>,
    state: &State,
    mut months: [MonthWater; 12],
    years: usize,
    mut yearly_runs: Vec<f64>,
) -> WaterBalance {
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
        longest_wilting_run: state.longest,
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

#[cfg(test)]
mod tests;
