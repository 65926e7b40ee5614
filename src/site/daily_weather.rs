//! Daily demand and rain over whole years, the driver of the soil-water balance.

use thiserror::Error;

use super::growth::daily_course;
use super::rain_pattern::{DAYS, daily_rain};
use super::solar::{DAYS_IN_MONTH, Monthly};
use super::texture::Texture;

/// Days of ET0 and rain that make up no whole number of usable years.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum WeatherError {
    /// The two series differ in length or are no whole years.
    #[error("{et0} days of ET0 and {rain} of rain: both must be the same whole number of years of 365 days")]
    Length {
        /// Days of ET0.
        et0: usize,
        /// Days of rain.
        rain: usize,
    },
    /// A value below zero, or not a number.
    #[error("{what} on day {day} is {value}: it must be zero or more")]
    Value {
        /// `ET0` or `rain`.
        what: &'static str,
        /// Day from 1.
        day: usize,
        /// Offending value.
        value: f64,
    },
}

/// How the days were made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WeatherOrigin {
    /// From monthly normals: ET0 along a smooth course, rain by a random pattern with this seed.
    Normals {
        /// Seed of the pattern.
        seed: u64,
    },
    /// From daily records.
    Records,
}

/// ET0 and rain of each day over whole years of 365 days (29 February left out).
#[derive(Debug, Clone, PartialEq)]
pub struct DailyWeather {
    et0_mm: Vec<f64>,
    rain_mm: Vec<f64>,
    /// Whether every year has the first year's ET0, so that it need be kept only once.
    repeats: bool,
    origin: WeatherOrigin,
}

impl DailyWeather {
    /// Days from daily records: ET0 and rain, mm, whole years, 29 February left out.
    ///
    /// # Errors
    ///
    /// [`WeatherError`] where lengths do not fit or a value is negative or not finite.
    pub fn from_records(et0_mm: Vec<f64>, rain_mm: Vec<f64>) -> Result<Self, WeatherError> {
        if et0_mm.len() != rain_mm.len() || et0_mm.is_empty() || !et0_mm.len().is_multiple_of(DAYS) {
            return Err(WeatherError::Length { et0: et0_mm.len(), rain: rain_mm.len() });
        }
        for (what, series) in [("ET0", &et0_mm), ("rain", &rain_mm)] {
            if let Some(at) = series.iter().position(|v| !v.is_finite() || *v < 0.0) {
                return Err(WeatherError::Value { what, day: at + 1, value: series[at] });
            }
        }
        Ok(Self { et0_mm, rain_mm, repeats: false, origin: WeatherOrigin::Records })
    }

    /// Days from monthly normals over `years` years (at least one): ET0 (mm a day) runs along
    /// straight lines between the months, scaled to keep each month's total; rain (mm a month) by
    /// the seeded pattern of [`daily_rain`].
    ///
    /// # Errors
    ///
    /// [`WeatherError::Value`] where a monthly value is negative or not finite; `day` is then the
    /// month.
    pub fn from_normals(
        et0_mm_day: &Monthly,
        rain_mm_month: &Monthly,
        wet_days: Option<&Monthly>,
        years: usize,
        seed: u64,
    ) -> Result<Self, WeatherError> {
        for (what, series) in [("ET0", et0_mm_day), ("rain", rain_mm_month)] {
            if let Some(at) = series.iter().position(|v| !v.is_finite() || *v < 0.0) {
                return Err(WeatherError::Value { what, day: at + 1, value: series[at] });
            }
        }
        let rain_mm = daily_rain(rain_mm_month, wet_days, years.max(1), seed);
        let et0_mm = et0_course(et0_mm_day);
        Ok(Self { et0_mm, rain_mm, repeats: true, origin: WeatherOrigin::Normals { seed } })
    }

    /// The same with the latest years only.
    #[must_use]
    pub fn latest(&self, years: usize) -> Self {
        let left_out = self.years().saturating_sub(years) * DAYS;
        let et0_from = if self.repeats { 0 } else { left_out };
        Self {
            et0_mm: self.et0_mm[et0_from..].to_vec(),
            rain_mm: self.rain_mm[left_out..].to_vec(),
            repeats: self.repeats,
            origin: self.origin.clone(),
        }
    }

    /// Number of years.
    #[must_use]
    pub fn years(&self) -> usize {
        self.rain_mm.len() / DAYS
    }

    /// How the days were made.
    #[must_use]
    pub const fn origin(&self) -> &WeatherOrigin {
        &self.origin
    }

    /// Rain of each day, mm.
    #[must_use]
    pub fn rain_mm(&self) -> &[f64] {
        &self.rain_mm
    }

    /// ET0 of the days of one year counted from 0, mm; empty beyond the last.
    #[must_use]
    pub fn et0_of_year(&self, year: usize) -> &[f64] {
        let first = if self.repeats { 0 } else { year * DAYS };
        if year < self.years() { self.et0_mm.get(first..first + DAYS).unwrap_or(&[]) } else { &[] }
    }

    /// Whether every year has the same ET0.
    #[must_use]
    pub const fn et0_repeats(&self) -> bool {
        self.repeats
    }
}

/// Daily ET0 along the smooth course, each month scaled to its own mean.
fn et0_course(et0_mm_day: &Monthly) -> Vec<f64> {
    let mut course = daily_course(et0_mm_day).to_vec();
    let mut start = 0;
    for (mean, days) in et0_mm_day.iter().zip(DAYS_IN_MONTH) {
        let end = start + usize::from(days);
        let sum: f64 = course[start..end].iter().sum();
        let factor = if sum > 0.0 { mean * f64::from(days) / sum } else { 0.0 };
        for value in &mut course[start..end] {
            *value *= factor;
        }
        start = end;
    }
    course
}

/// Curve number of grass cover over more than three quarters of the ground: 39, 61, 74 and 80 for
/// hydrologic soil groups A to D (USDA-NRCS Technical Release 55, 1986, table 2-2a; read in a
/// reprint). Groups by texture as in that report's appendix A (from memory): A sand, loamy sand,
/// sandy loam; B loam, silt loam, silt; C sandy clay loam; D the others.
#[must_use]
pub const fn curve_number(texture: Texture) -> f64 {
    match texture {
        Texture::Sand | Texture::LoamySand | Texture::SandyLoam => 39.0,
        Texture::Loam | Texture::SiltLoam | Texture::Silt => 61.0,
        Texture::SandyClayLoam => 74.0,
        Texture::ClayLoam
        | Texture::SiltyClayLoam
        | Texture::SandyClay
        | Texture::SiltyClay
        | Texture::Clay => 80.0,
    }
}

/// Slope for which curve numbers are made, rise over run.
const SLOPE_OF_TABLES: f64 = 0.05;

/// Curve number on a slope (rise over run): CN + (CN3 - CN) / 3 (1 - 2 exp(-13.86 slope)), with the
/// number of wet ground CN3 = CN exp(0.00673 (100 - CN)).
///
/// Source: Sharpley & Williams 1990, EPIC model documentation (the formula read in public codes of
/// watershed models that name it, not in the document). Ground flatter than the 5 % that the tables
/// are made for keeps their number.
#[must_use]
pub fn curve_number_on_slope(curve_number: f64, slope: f64) -> f64 {
    let wet = curve_number * (0.006_73 * (100.0 - curve_number)).exp();
    let factor = 1.0 - 2.0 * (-13.86 * slope.max(SLOPE_OF_TABLES)).exp();
    curve_number + (wet - curve_number) / 3.0 * factor.max(0.0)
}

/// Rain that runs off in a day, curve number method: Q = (P - 0.2 S)^2 / (P + 0.8 S) where P exceeds
/// 0.2 S, S = 25400 / CN - 254 mm (USDA-NRCS Technical Release 55, 1986, equations 2-3 and 2-4, from
/// memory, in millimetres). Average wetness before the rain; slope is not in it.
#[must_use]
pub fn runoff_mm(rain_mm: f64, curve_number: f64) -> f64 {
    let storage = 25_400.0 / curve_number.clamp(1.0, 100.0) - 254.0;
    let excess = rain_mm - 0.2 * storage;
    if excess > 0.0 { excess * excess / (rain_mm + 0.8 * storage) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ET0: Monthly = [0.8, 1.2, 2.2, 3.4, 4.6, 5.6, 6.1, 5.4, 4.0, 2.5, 1.3, 0.8];

    #[test]
    fn months_keep_their_demand() {
        let weather = DailyWeather::from_normals(&ET0, &[60.0; 12], None, 4, 1).unwrap();
        assert_eq!(weather.years(), 4);
        let year = weather.et0_of_year(3);
        let july: f64 = year[181..212].iter().sum();
        assert!((july - 6.1 * 31.0).abs() < 1e-9);
        assert!(weather.et0_of_year(4).is_empty());
        assert_eq!(weather.origin(), &WeatherOrigin::Normals { seed: 1 });
    }

    #[test]
    fn records_are_checked() {
        let whole = || vec![1.0; 730];
        assert_eq!(DailyWeather::from_records(whole(), whole()).unwrap().years(), 2);
        let error = DailyWeather::from_records(whole(), vec![1.0; 731]).unwrap_err();
        assert_eq!(error, WeatherError::Length { et0: 730, rain: 731 });
        let two = DailyWeather::from_records([vec![1.0; 365], vec![2.0; 365]].concat(), whole()).unwrap();
        let latest = two.latest(1);
        assert_eq!((latest.years(), latest.et0_of_year(0)[0], latest.rain_mm().len()), (1, 2.0, 365));
        assert_eq!(two.latest(5), two);
        let mut bad = whole();
        bad[9] = -1.0;
        let error = DailyWeather::from_records(whole(), bad).unwrap_err();
        assert_eq!(error.to_string(), "rain on day 10 is -1: it must be zero or more");
        assert!(DailyWeather::from_normals(&[f64::NAN; 12], &[1.0; 12], None, 1, 1).is_err());
    }

    /// Computed, no worked example was read: CN 74 has CN3 = 74 exp(0.00673 x 26) = 88.15; on a slope of 20 % the factor is
    /// 1 - 2 exp(-2.772) = 0.87493, so the number is 74 + 14.15 / 3 x 0.87493 = 78.13.
    #[test]
    fn slopes_shed_more_water_computed() {
        assert!((curve_number_on_slope(74.0, 0.20) - 78.13).abs() < 0.01);
        assert!((curve_number_on_slope(74.0, 0.0) - 74.0).abs() < 0.01);
        let slopes = [0.0, 0.02, 0.06, 0.1, 0.3, 1.0, 3.0];
        for pair in slopes.windows(2) {
            assert!(curve_number_on_slope(61.0, pair[1]) >= curve_number_on_slope(61.0, pair[0]));
        }
    }

    /// Computed, no worked example was read: CN 80 has S = 63.5 mm; 50 mm of rain give (50 - 12.7)^2 / (50 + 50.8) = 13.8 mm.
    #[test]
    fn runoff_computed() {
        assert!((runoff_mm(50.0, 80.0) - 13.802).abs() < 1e-3);
        assert!(runoff_mm(12.0, 80.0) == 0.0);
        assert!((runoff_mm(25.0, 100.0) - 25.0).abs() < 1e-9);
        assert!(runoff_mm(60.0, curve_number(Texture::Sand)) == 0.0);
    }
}
