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
        hargreaves_samani(tmax, tmin, MegajoulesPerSquareMetreDay(ra[month])).0
    });
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
        let dry = inputs.rh_pct.is_none() && is_dry(inputs, &by_temperature);
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
    Ok(MonthlyEt0 { mm_day, mm_month, solar_mj_m2_d: solar, extraterrestrial_mj_m2_d: ra, method })
}

/// Whether yearly rain falls short of [`DRY_CLIMATE_INDEX`] times the yearly demand.
fn is_dry(inputs: &Et0Inputs, mm_day: &Monthly) -> bool {
    inputs.precip_mm.is_some_and(|rain| {
        let demand: f64 = mm_day.iter().zip(DAYS_IN_MONTH).map(|(r, d)| r * f64::from(d)).sum();
        rain.iter().sum::<f64>() < DRY_CLIMATE_INDEX * demand
    })
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
    let rn = MegajoulesPerSquareMetreDay(net_shortwave(rs).0 - net_longwave(tmax, tmin, ea, rs, rso).0);
    let u2 = inputs.wind_2m_m_s.map_or(WIND_WHERE_UNKNOWN, |w| MetresPerSecond(w[month]));
    let g = monthly_soil_heat(mean((month + 11) % 12), mean((month + 1) % 12));
    penman_monteith(&PenmanMonteith { tmax, tmin, ea, rn, g, u2, elevation: inputs.elevation }).0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::evapotranspiration::{pressure, psychrometric_constant, saturation_slope};

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
    }

    /// Cabinda, from FAO-56 figure 18 (p. 69), as held in the R package SPEI 1.8.1: monthly
    /// figures of a place whose ET0 the paper prints. Solar radiation, wind and humidity are its
    /// own.
    fn cabinda() -> (Et0Inputs, Monthly) {
        let tmax = [29.6, 30.3, 30.6, 30.2, 28.6, 26.5, 25.1, 25.3, 26.5, 28.0, 28.7, 29.1];
        let tmin = [22.8, 22.7, 23.0, 23.0, 22.0, 19.2, 17.6, 18.6, 20.5, 22.5, 23.0, 23.0];
        let mut inputs = Et0Inputs::new(Degrees(-5.33), Metres(20.0), tmax, tmin);
        inputs.solar_mj_m2_d = Some([15.7, 16.9, 17.4, 16.4, 13.5, 12.2, 12.3, 12.4, 12.4, 12.9, 14.4, 15.2]);
        inputs.wind_2m_m_s =
            Some([0.903, 0.799, 0.903, 0.799, 0.799, 0.799, 0.903, 0.903, 1.204, 1.505, 1.203, 1.100]);
        inputs.rh_pct = Some([81.0, 82.0, 80.0, 82.0, 84.0, 81.0, 78.0, 78.0, 78.0, 79.0, 80.0, 82.0]);
        let printed = [105.4, 103.6, 117.8, 105.0, 89.9, 78.0, 80.6, 80.6, 84.0, 96.1, 99.0, 105.4];
        (inputs, printed)
    }

    #[test]
    fn fao56_figure_18_cabinda() {
        let (inputs, printed) = cabinda();
        let et0 = monthly_et0(&inputs, Choice::ByData).unwrap();
        assert_eq!(et0.method, Method::PenmanMonteith(Estimates::default()));
        let days = DAYS_IN_MONTH.map(f64::from);
        for month in 0..12 {
            // The paper prints mm a day to one digit and does not say how it took soil heat and
            // the day of the month: 0.15 mm/d.
            let theirs = printed[month] / days[month];
            let ours = et0.mm_day[month];
            assert!((ours - theirs).abs() <= 0.15, "month {}: {ours} for {theirs}", month + 1);
        }
        let year: f64 = printed.iter().sum();
        // 2.6 % below: the printed vapour pressures are not known, only the relative humidity.
        near(et0.year_mm() / year, 1.0, 0.03);
    }

    #[test]
    fn method_follows_what_is_known() {
        let (full, _) = cabinda();
        let bare = Et0Inputs::new(full.latitude, full.elevation, full.tmax_c, full.tmin_c);
        let by_temperature = monthly_et0(&bare, Choice::ByData).unwrap();
        assert_eq!(by_temperature.method, Method::HargreavesSamani);
        let mut wind_only = bare.clone();
        wind_only.wind_2m_m_s = full.wind_2m_m_s;
        wind_only.precip_mm = Some([5.0; 12]);
        let method = monthly_et0(&wind_only, Choice::ByData).unwrap().method;
        let expected = Estimates { solar: true, wind: false, humidity: true, dry_climate: true };
        assert_eq!(method, Method::PenmanMonteith(expected));
        assert_eq!(
            method.describe(),
            "FAO-56 Penman-Monteith (eq 6); estimated: solar radiation from temperature (eq 50), \
             dew point from the minimum less 2 K, dry climate (eq 48)"
        );
        let forced = monthly_et0(&bare, Choice::PenmanMonteith).unwrap();
        assert!(matches!(forced.method, Method::PenmanMonteith(e) if e.solar && e.wind));
    }

    /// In still air and at saturation equation 6 is its radiation term alone.
    #[test]
    fn saturated_still_air_leaves_the_radiation_term() {
        let mut inputs = Et0Inputs::new(Degrees(0.0), Metres(0.0), [25.0; 12], [25.0; 12]);
        inputs.solar_mj_m2_d = Some([18.0; 12]);
        inputs.rh_pct = Some([100.0; 12]);
        inputs.wind_2m_m_s = Some([0.0; 12]);
        let et0 = monthly_et0(&inputs, Choice::ByData).unwrap();
        let slope = saturation_slope(Celsius(25.0));
        let gamma = psychrometric_constant(pressure(Metres(0.0)));
        let rso = 0.75 * et0.extraterrestrial_mj_m2_d[0];
        let rs = MegajoulesPerSquareMetreDay(18.0);
        let t = Celsius(25.0);
        let ea = actual_from_rh_mean(t, t, Percent(100.0));
        let rn = net_shortwave(rs).0 - net_longwave(t, t, ea, rs, MegajoulesPerSquareMetreDay(rso)).0;
        near(et0.mm_day[0], 0.408 * slope * rn / (slope + gamma), 1e-9);
    }

    #[test]
    fn impossible_figures_are_named() {
        let (good, _) = cabinda();
        let mut bad = good.clone();
        bad.tmax_c[4] = 212.0;
        let error = monthly_et0(&bad, Choice::ByData).unwrap_err();
        assert_eq!(error.to_string(), "tmax_c 212 is outside -60 to 55 in month 5");
        let mut bad = good.clone();
        bad.tmin_c[0] = 30.0;
        let error = monthly_et0(&bad, Choice::ByData).unwrap_err();
        assert_eq!(error.to_string(), "month 1: tmax_c 29.6 is below tmin_c 30");
        let mut bad = good.clone();
        bad.latitude = Degrees(f64::NAN);
        assert!(monthly_et0(&bad, Choice::ByData).is_err());
    }
}
