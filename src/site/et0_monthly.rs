//! Reference evapotranspiration of the twelve months of a place, from whatever is known of it.
//!
//! Method: FAO-56 Penman-Monteith with the procedures of that paper's chapter 3 for what is
//! missing (solar radiation by equation 50, humidity by equation 48, wind 2 m/s), or
//! Hargreaves-Samani (equation 52) where nothing but temperature is known.

use thiserror::Error;

use crate::units::quantity::{
    Celsius, CelsiusDifference, Degrees, Kilopascals, MegajoulesPerSquareMetreDay, Metres, MetresPerSecond,
    Percent,
};

use super::evapotranspiration::{
    PenmanMonteith, actual_from_rh_mean, actual_from_tmin, hargreaves_samani, monthly_soil_heat,
    net_longwave, net_shortwave, penman_monteith,
};
use super::solar::{
    DAYS_IN_MONTH, KRS_INTERIOR, Monthly, clear_sky_radiation, monthly_extraterrestrial,
    solar_from_temperature,
};

/// Wind speed taken where none is known: 2 m/s at 2 m (FAO-56 chapter 3, missing wind data).
pub const WIND_WHERE_UNKNOWN: MetresPerSecond = MetresPerSecond(2.0);

/// Dew point below the daily minimum in dry climates, K. FAO-56 gives 2 to 3 K (text of equation
/// 48 and annex 6, from memory); the lower end is taken.
pub const DRY_CLIMATE_DEPRESSION: CelsiusDifference = CelsiusDifference(2.0);

/// Yearly rain over yearly Hargreaves-Samani ET0 below which a climate counts as dry here: the
/// upper limit of the semi-arid class of the United Nations' aridity index, from memory.
pub const DRY_CLIMATE_INDEX: f64 = 0.5;

/// What is known of a place, twelve months each.
#[derive(Debug, Clone, PartialEq)]
pub struct Et0Inputs {
    /// Latitude, north positive.
    pub latitude: Degrees,
    /// Height above sea level.
    pub elevation: Metres,
    /// Mean daily maximum of air temperature, degC.
    pub tmax_c: Monthly,
    /// Mean daily minimum of air temperature, degC.
    pub tmin_c: Monthly,
    /// Solar radiation on the level, MJ m-2 d-1.
    pub solar_mj_m2_d: Option<Monthly>,
    /// Wind speed brought to 2 m (equation 47), m/s.
    pub wind_2m_m_s: Option<Monthly>,
    /// Mean relative humidity, %.
    pub rh_pct: Option<Monthly>,
    /// Rain, mm a month; only tells a dry climate, for the dew point where humidity is missing.
    pub precip_mm: Option<Monthly>,
    /// kRs of equation 50; [`KRS_INTERIOR`] where nothing is known of a coast.
    pub krs: f64,
    /// Solar radiation on the slope, per area of the map, over that on the level: what warms the slope,
    /// while clouds are told by the radiation on the level. 1 on the level.
    pub sun_ratio: Monthly,
}

impl Et0Inputs {
    /// Inputs with temperature alone, inland.
    #[must_use]
    pub fn new(latitude: Degrees, elevation: Metres, tmax_c: Monthly, tmin_c: Monthly) -> Self {
        Self {
            latitude,
            elevation,
            tmax_c,
            tmin_c,
            solar_mj_m2_d: None,
            wind_2m_m_s: None,
            rh_pct: None,
            precip_mm: None,
            krs: KRS_INTERIOR,
            sun_ratio: [1.0; 12],
        }
    }
}

/// Which quantities of a Penman-Monteith result were estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Estimates {
    /// Solar radiation from the daily range of temperature (equation 50).
    pub solar: bool,
    /// Wind taken as 2 m/s.
    pub wind: bool,
    /// Vapour pressure from the daily minimum (equation 48).
    pub humidity: bool,
    /// The dew point was set below the minimum because the climate is dry.
    pub dry_climate: bool,
}

/// How an ET0 was reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// FAO-56 equation 6, with what was estimated.
    PenmanMonteith(Estimates),
    /// FAO-56 equation 52, from temperature and latitude alone.
    HargreavesSamani,
}

impl Method {
    /// Relative error of the year's ET0 to expect of an estimate; `None` where all was given.
    ///
    /// From temperature, rain and place alone, against the yearly ET0 of seven places (Cabinda from
    /// FAO-56 figure 18; Brussels, Cambridge, Champion, Cordoba, Hyderabad and Tunis from daily files
    /// of the Python package aquacrop 3.1.0, their positions from memory): Hargreaves-Samani from 11 %
    /// too low to 19 % too high, root mean square 12 %; Penman-Monteith with solar radiation, wind
    /// and humidity estimated from 18 % too low to 6 % too high, root mean square 10 %. Where only
    /// some were estimated the same 10 % stands. None of the seven lies in country as dry and windy as the
    /// American West, where all of these fall short by more: [`super::et0_bias::expectation`].
    #[must_use]
    pub fn relative_error(&self) -> Option<f64> {
        match self {
            Self::HargreavesSamani => Some(0.12),
            Self::PenmanMonteith(e) => (e.solar || e.wind || e.humidity).then_some(0.10),
        }
    }

    /// One line that names the equation and each estimate.
    #[must_use]
    pub fn describe(&self) -> String {
        let Self::PenmanMonteith(estimates) = self else {
            return "Hargreaves-Samani (FAO-56 eq 52) from temperature alone".to_owned();
        };
        let mut parts = Vec::new();
        if estimates.solar {
            parts.push("solar radiation from temperature (eq 50)");
        }
        if estimates.humidity {
            parts.push(if estimates.dry_climate {
                "dew point from the minimum less 2 K, dry climate (eq 48)"
            } else {
                "dew point from the minimum (eq 48)"
            });
        }
        if estimates.wind {
            parts.push("wind taken as 2 m/s");
        }
        if parts.is_empty() {
            "FAO-56 Penman-Monteith (eq 6), all inputs given".to_owned()
        } else {
            format!("FAO-56 Penman-Monteith (eq 6); estimated: {}", parts.join(", "))
        }
    }
}

/// Which method to take.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Choice {
    /// Penman-Monteith where at least one of solar radiation, wind and humidity is known, else
    /// Hargreaves-Samani.
    #[default]
    ByData,
    /// Penman-Monteith, whatever must be estimated.
    PenmanMonteith,
    /// Hargreaves-Samani.
    HargreavesSamani,
}

/// ET0 of the twelve months.
#[derive(Debug, Clone, PartialEq)]
pub struct MonthlyEt0 {
    /// Mean rate, mm a day.
    pub mm_day: Monthly,
    /// Total, mm a month of a common year.
    pub mm_month: Monthly,
    /// Solar radiation used, MJ m-2 d-1: given, or by equation 50.
    pub solar_mj_m2_d: Monthly,
    /// Extraterrestrial radiation, MJ m-2 d-1.
    pub extraterrestrial_mj_m2_d: Monthly,
    /// Yearly rain over yearly Hargreaves-Samani ET0, where the rain is known: how dry the place is.
    pub aridity: Option<f64>,
    /// How it was reached.
    pub method: Method,
}

impl MonthlyEt0 {
    /// Total of the year, mm.
    #[must_use]
    pub fn year_mm(&self) -> f64 {
        self.mm_month.iter().sum()
    }
}

/// A value that no place on earth has, or that contradicts another.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Et0Error {
    /// A figure out of its physical range.
    #[error("{field} {value} is outside {low} to {high}{}", month_text(*.month))]
    OutOfRange {
        /// Name of the field as in [`Et0Inputs`].
        field: &'static str,
        /// Month from 0, where it is a monthly value.
        month: Option<usize>,
        /// Offending value.
        value: f64,
        /// Lowest value taken.
        low: f64,
        /// Highest value taken.
        high: f64,
    },
    /// A month whose mean maximum lies under its mean minimum.
    #[error("month {}: tmax_c {tmax} is below tmin_c {tmin}", month + 1)]
    MaximumBelowMinimum {
        /// Month from 0.
        month: usize,
        /// Mean daily maximum.
        tmax: f64,
        /// Mean daily minimum.
        tmin: f64,
    },
}

fn month_text(month: Option<usize>) -> String {
    month.map_or_else(String::new, |m| format!(" in month {}", m + 1))
}

fn check(
    field: &'static str,
    month: Option<usize>,
    value: f64,
    (low, high): (f64, f64),
) -> Result<(), Et0Error> {
    if value >= low && value <= high {
        Ok(())
    } else {
        Err(Et0Error::OutOfRange { field, month, value, low, high })
    }
}

fn check_months(field: &'static str, values: &Monthly, range: (f64, f64)) -> Result<(), Et0Error> {
    values.iter().enumerate().try_for_each(|(m, v)| check(field, Some(m), *v, range))
}

fn validate(inputs: &Et0Inputs) -> Result<(), Et0Error> {
    check("latitude", None, inputs.latitude.0, (-90.0, 90.0))?;
    check("elevation", None, inputs.elevation.0, (-450.0, 6000.0))?;
    check("krs", None, inputs.krs, (0.05, 0.3))?;
    check_months("tmax_c", &inputs.tmax_c, (-60.0, 55.0))?;
    check_months("tmin_c", &inputs.tmin_c, (-70.0, 45.0))?;
    for (month, (tmax, tmin)) in inputs.tmax_c.iter().zip(&inputs.tmin_c).enumerate() {
        if tmax < tmin {
            return Err(Et0Error::MaximumBelowMinimum { month, tmax: *tmax, tmin: *tmin });
        }
    }
    for (field, series, range) in [
        ("solar_mj_m2_d", &inputs.solar_mj_m2_d, (0.0, 45.0)),
        ("wind_2m_m_s", &inputs.wind_2m_m_s, (0.0, 40.0)),
        ("rh_pct", &inputs.rh_pct, (0.0, 100.0)),
        ("precip_mm", &inputs.precip_mm, (0.0, 4000.0)),
    ] {
        if let Some(values) = series {
            check_months(field, values, range)?;
        }
    }
    Ok(())
}

/// ET0 of the twelve months of a place.
///
/// Radiation outside the atmosphere is the mean of all days of each month (equations 21 to 25),
/// soil heat follows equation 43 round the year.
///
/// # Errors
///
/// [`Et0Error`] names the first figure that is out of its physical range.
pub fn monthly_et0(inputs: &Et0Inputs, choice: Choice) -> Result<MonthlyEt0, Et0Error> {
    validate(inputs)?;
    let ra = monthly_extraterrestrial(inputs.latitude);
    let mut solar = [0.0; 12];
    let mut clear = [0.0; 12];
    for month in 0..12 {
        let ra = MegajoulesPerSquareMetreDay(ra[month]);
        let rso = clear_sky_radiation(ra, inputs.elevation);
        let range = CelsiusDifference(inputs.tmax_c[month] - inputs.tmin_c[month]);
        clear[month] = rso.0;
        solar[month] = inputs
            .solar_mj_m2_d
            .map_or_else(|| solar_from_temperature(ra, range, inputs.krs, rso).0, |given| given[month]);
    }
    let by_temperature: Monthly = std::array::from_fn(|month| {
        let (tmax, tmin) = (Celsius(inputs.tmax_c[month]), Celsius(inputs.tmin_c[month]));
        hargreaves_samani(tmax, tmin, MegajoulesPerSquareMetreDay(ra[month] * inputs.sun_ratio[month])).0
    });
    let aridity = aridity(inputs, &by_temperature);
    let nothing_known =
        inputs.solar_mj_m2_d.is_none() && inputs.wind_2m_m_s.is_none() && inputs.rh_pct.is_none();
    let use_temperature_only = match choice {
        Choice::ByData => nothing_known,
        Choice::PenmanMonteith => false,
        Choice::HargreavesSamani => true,
    };
    let (mm_day, method) = if use_temperature_only {
        (by_temperature, Method::HargreavesSamani)
    } else {
        let dry = inputs.rh_pct.is_none() && aridity.is_some_and(|index| index < DRY_CLIMATE_INDEX);
        let estimates = Estimates {
            solar: inputs.solar_mj_m2_d.is_none(),
            wind: inputs.wind_2m_m_s.is_none(),
            humidity: inputs.rh_pct.is_none(),
            dry_climate: dry,
        };
        let rates = std::array::from_fn(|month| {
            penman_monteith_month(inputs, month, solar[month], clear[month], dry)
        });
        (rates, Method::PenmanMonteith(estimates))
    };
    let mm_month = std::array::from_fn(|m| mm_day[m] * f64::from(DAYS_IN_MONTH[m]));
    Ok(MonthlyEt0 { mm_day, mm_month, solar_mj_m2_d: solar, extraterrestrial_mj_m2_d: ra, aridity, method })
}

/// Yearly rain over the yearly demand of these rates, where both are known.
fn aridity(inputs: &Et0Inputs, mm_day: &Monthly) -> Option<f64> {
    let rain: f64 = inputs.precip_mm?.iter().sum();
    let demand: f64 = mm_day.iter().zip(DAYS_IN_MONTH).map(|(rate, days)| rate * f64::from(days)).sum();
    (demand > 0.0).then(|| rain / demand)
}

fn penman_monteith_month(inputs: &Et0Inputs, month: usize, solar: f64, clear: f64, dry: bool) -> f64 {
    let (tmax, tmin) = (Celsius(inputs.tmax_c[month]), Celsius(inputs.tmin_c[month]));
    let mean = |m: usize| Celsius(0.5 * (inputs.tmax_c[m] + inputs.tmin_c[m]));
    let ea: Kilopascals = inputs.rh_pct.map_or_else(
        || {
            let depression = if dry { DRY_CLIMATE_DEPRESSION } else { CelsiusDifference(0.0) };
            actual_from_tmin(tmin, depression)
        },
        |rh| actual_from_rh_mean(tmax, tmin, Percent(rh[month])),
    );
    let rs = MegajoulesPerSquareMetreDay(solar);
    let rso = MegajoulesPerSquareMetreDay(clear);
    let received = MegajoulesPerSquareMetreDay(solar * inputs.sun_ratio[month]);
    let rn = MegajoulesPerSquareMetreDay(net_shortwave(received).0 - net_longwave(tmax, tmin, ea, rs, rso).0);
    let u2 = inputs.wind_2m_m_s.map_or(WIND_WHERE_UNKNOWN, |w| MetresPerSecond(w[month]));
    let g = monthly_soil_heat(mean((month + 11) % 12), mean((month + 1) % 12));
    penman_monteith(&PenmanMonteith { tmax, tmin, ea, rn, g, u2, elevation: inputs.elevation }).0
}

#[cfg(test)]
mod tests;
