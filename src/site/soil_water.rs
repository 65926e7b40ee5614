//! Daily soil-water balance of a root zone under rain and the irrigation that a site allows.
//!
//! Source of the equations: Allen, Pereira, Raes & Smith, FAO Irrigation and Drainage Paper 56,
//! "Crop evapotranspiration", 1998, chapter 8 (82 to 88). Left out: capillary rise, snow (winter
//! precipitation counts as rain on the day), and growth of roots through the year.
//!
//! Two departures:
//! - actual evapotranspiration is held to the water that is left, since one daily step of equation
//!   84 can overshoot where the root zone holds hardly a day's demand;
//! - a day is *at wilting* when no more than 1 mm of available water is left, and after such a day until
//!   more than 3 mm are, depths and not shares: by equation 84 storage dries out ever more slowly and
//!   never quite reaches the wilting point, and by share a small rain would count for more in a shallow
//!   soil than in a deep one.
//!
//! Both keep the order of two runs: storage at the end of a day never falls when storage at its
//! start, the rain or the depth of soil is greater, nor does depletion when the soil is deeper.

mod caps;
mod inputs;
mod kept_alive;
mod needs;
mod schedules;
mod sequence;

use crate::units::quantity::{Millimetres, MillimetresPerDay};

use super::daily_weather::{DailyWeather, runoff_mm};
use super::solar::DAYS_IN_MONTH;
use super::texture::depletion_fraction;

pub use inputs::{Irrigation, Plant, SurvivalWatering, WaterError};
pub use needs::{WaterNeeds, needs};
pub use schedules::{Watered, run, run_with_needs};

/// Available water at or below which a run of days at wilting begins, mm.
pub const WILTING_STORAGE_MM: f64 = 1.0;
/// Available water above which such a run is over, mm: a drizzle or a sprinkling that lifts the soil a little
/// above wilting for a day brings no plant round (common practice).
pub const REVIVING_STORAGE_MM: f64 = 3.0;

/// Whether a day that ends with that storage is at wilting, by whether the day before was.
#[inline]
fn at_wilting(before: bool, storage: f64) -> bool {
    storage <= if before { REVIVING_STORAGE_MM } else { WILTING_STORAGE_MM }
}

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
    /// Days a week on which water might be given.
    pub days_per_week: u8,
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
    /// Longest run of days at wilting of each year.
    pub yearly_wilting_runs: Vec<f64>,
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
        Self { weather, runoff_year_mm: lost / count(weather.years()), entering }
    }
}

fn count(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::NAN, f64::from)
}

/// Demand on each day of a year of a plant and of those who drink with it, and what the stress function
/// needs. Filled anew for each year in the same place.
#[derive(Default)]
struct Demand {
    etc: Vec<f64>,
    /// Share of the storage that a stressed plant leaves in the day: 1 - `ETc` / (TAW - RAW), at least 0.
    leaves: Vec<f64>,
    /// Storage at which Ks is the plant's `green_ks`.
    green: Vec<f64>,
}

impl Demand {
    /// Takes a year's ET0, mm.
    fn fill(&mut self, et0: &[f64], plant: &Plant) {
        for days in [&mut self.etc, &mut self.leaves, &mut self.green] {
            days.resize(et0.len(), 0.0);
        }
        let mut start = 0;
        for (kc, length) in plant.kc.iter().zip(DAYS_IN_MONTH) {
            let days = start..start + usize::from(length);
            start = days.end;
            let found = self.etc[days.clone()].iter_mut().zip(&mut self.leaves[days.clone()]);
            let found = found.zip(&mut self.green[days.clone()]);
            for (et0, ((etc, leaves), green)) in et0[days].iter().zip(found) {
                let own = kc * et0;
                let p = depletion_fraction(plant.p_table, MillimetresPerDay(own));
                *etc = own / plant.water_share;
                let stressed_range = (1.0 - p) * plant.shared_taw();
                *leaves = greater(1.0 - *etc / stressed_range, 0.0);
                *green = plant.green_ks * stressed_range;
            }
        }
    }
}

/// Storage at the end of a day without water, from that at its start: the plant takes Ks `ETc` by equation
/// 84, held to the storage. With Ks = storage / (TAW - RAW) it leaves the greater of storage times what a
/// stressed plant leaves, and storage less `ETc`. Written so that the next day need not wait for more.
#[inline]
fn dried(storage: f64, etc: f64, leaves: f64) -> f64 {
    greater(storage * leaves, storage - etc)
}

/// The greater of two numbers. [`f64::max`] must ask besides whether one of them is none, and every day
/// waits for that.
#[inline]
fn greater(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The lesser of two numbers, in the same way.
#[inline]
fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

#[cfg(test)]
mod tests;
