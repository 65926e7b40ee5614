//! Checks of a climate table that no single value shows.

use std::fmt;

use crate::site::hardiness::extreme_above;
use crate::site::solar::{DAYS_IN_MONTH, TWILIGHT_MJ_M2_D, monthly_extraterrestrial};
use crate::units::quantity::Degrees;

use super::limits::{self, Beyond};
use super::normals::{ClimateTable, Series, complete};

/// Something about a table that is missing or cannot be.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// Months without a value.
    Gap {
        /// Name of the series.
        series: &'static str,
        /// Months from 1.
        months: Vec<usize>,
    },
    /// A mean maximum not above the mean minimum.
    MaximumNotAbove {
        /// Month from 1.
        month: usize,
        /// Mean maximum, degC.
        tmax: f64,
        /// Mean minimum, degC.
        tmin: f64,
    },
    /// All months the same.
    AllMonthsEqual(&'static str),
    /// No rain in any month.
    NoRainAtAll,
    /// Solar radiation above what comes from outside the atmosphere.
    SolarAboveExtraterrestrial {
        /// Month from 1.
        month: usize,
        /// Solar radiation, MJ m-2 d-1.
        solar: f64,
        /// Extraterrestrial radiation, MJ m-2 d-1.
        limit: f64,
    },
    /// Less solar radiation over the year than a sky overcast every day lets through.
    SolarBelowOvercast {
        /// Share of the radiation outside the atmosphere.
        share: f64,
    },
    /// Relative humidity of one percent and less in every month.
    HumidityAsFraction,
    /// More rain on a day with rain than falls anywhere in the mean of a month.
    RainOfWetDay {
        /// Month from 1.
        month: usize,
        /// Rain of the month, mm.
        rain: f64,
        /// Days with rain.
        days: f64,
    },
    /// Summer in the wrong half of the year: a wrong sign of the latitude.
    WrongHemisphere {
        /// Stated latitude.
        latitude_deg: f64,
    },
    /// A figure that no place on earth has, or hardly any.
    Beyond(Beyond),
    /// More days with rain than the month has days.
    TooManyWetDays {
        /// Month from 1.
        month: usize,
        /// Days with rain.
        days: f64,
    },
    /// A mean annual extreme minimum above the mean minimum of the coldest month, in words.
    ExtremeAboveMinimum(String),
    /// A height that no station has.
    Elevation(f64),
    /// A latitude that is none.
    Latitude(f64),
    /// Fewer years than are customary behind a month.
    FewYears {
        /// Name of the series.
        series: &'static str,
        /// Fewest years behind one of its months.
        years: u16,
    },
}

impl Finding {
    /// Whether the table must not be used as it is (else it is a remark).
    #[must_use]
    pub fn is_fault(&self) -> bool {
        match self {
            Self::Gap { series, .. } => series.starts_with("mean daily"),
            // on the equator, in whole degrees, all months may be alike
            Self::FewYears { .. } | Self::NoRainAtAll | Self::AllMonthsEqual(_) => false,
            Self::Beyond(beyond) => beyond.limit.is_impossible,
            _ => true,
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Gap { series, months } => {
                let list: Vec<String> = months.iter().map(ToString::to_string).collect();
                write!(f, "{series}: no value in month {}", list.join(", "))
            }
            Self::MaximumNotAbove { month, tmax, tmin } => {
                write!(f, "month {month}: mean maximum {tmax:.1} degC is not above minimum {tmin:.1}")
            }
            Self::AllMonthsEqual(series) => {
                write!(f, "{series}: the same in all months, as only a place near the equator has it")
            }
            Self::NoRainAtAll => {
                write!(f, "precipitation is 0 in all months: taken as a place where it never rains")
            }
            Self::SolarAboveExtraterrestrial { month, solar, limit } => write!(
                f,
                "month {month}: solar radiation {solar:.1} MJ/m2/d is above the {limit:.1} outside \
                 the atmosphere"
            ),
            Self::SolarBelowOvercast { share } => write!(
                f,
                "solar radiation of the year is {:.0} % of that outside the atmosphere, less than a sky overcast \
                 every day lets through: kWh/m2/d taken for MJ/m2/d (1 kWh is 3.6 MJ)?",
                share * 100.0
            ),
            Self::HumidityAsFraction => {
                write!(f, "relative humidity is 1 % or less in every month: a fraction taken for percent?")
            }
            Self::RainOfWetDay { month, rain, days } => {
                write!(f, "month {month} has {rain:.0} mm of rain on {days:.2} days with rain")
            }
            Self::WrongHemisphere { latitude_deg } => {
                write!(f, "the warm season does not fit latitude {latitude_deg:.2}: a wrong sign?")
            }
            Self::Beyond(beyond) => write!(f, "{beyond}"),
            Self::TooManyWetDays { month, days } => write!(f, "month {month} has no {days} days with rain"),
            Self::ExtremeAboveMinimum(words) => write!(f, "{words}"),
            Self::Elevation(z) => write!(f, "elevation {z} m is outside -450 to 6000 m"),
            Self::Latitude(l) => write!(f, "latitude {l} is outside -90 to 90 degrees"),
            Self::FewYears { series, years } => {
                let plural = if *years == 1 { "" } else { "s" };
                write!(f, "{series}: {years} year{plural} behind a month; thirty are customary")
            }
        }
    }
}

/// Latitude below which the seasons say nothing of the hemisphere, degrees.
const TROPICS_DEG: f64 = 15.0;
/// Share of the radiation outside the atmosphere that reaches the ground on overcast days, 0.25 (`a_s` of FAO-56
/// equation 35), less a tenth for what measurements miss; the dullest places have some 0.3 in a year (from memory).
const OVERCAST_SHARE: f64 = 0.225;
/// Rain of a day with rain that no place has in the mean of a month, mm (common practice).
const WET_DAY_MM: f64 = 150.0;
/// Radiation above the computed limit that still passes: finer sun positions differ by some percent.
const SOLAR_SLACK: f64 = 1.06;

/// Gaps, contradictions and remarks of a table.
#[must_use]
pub fn check(table: &ClimateTable) -> Vec<Finding> {
    let mut found = Vec::new();
    let series: [(&'static str, &Series, bool); 7] = [
        ("mean daily maximum", &table.tmax_c, true),
        ("mean daily minimum", &table.tmin_c, true),
        ("precipitation", &table.precip_mm, false),
        ("days with rain", &table.wet_days, false),
        ("solar radiation", &table.solar_mj_m2_d, false),
        ("wind", &table.wind_m_s, false),
        ("relative humidity", &table.rh_pct, false),
    ];
    for (name, values, required) in series {
        let months: Vec<usize> = (1..=12).filter(|m| values[m - 1].is_none()).collect();
        if required && !months.is_empty() || !months.is_empty() && months.len() < 12 {
            found.push(Finding::Gap { series: name, months });
        }
        let years = values.iter().flatten().filter_map(|v| v.years).min();
        if let Some(years) = years.filter(|n| *n < 30 && table.period.is_some()) {
            found.push(Finding::FewYears { series: name, years });
        }
    }
    for month in 0..12 {
        if let (Some(max), Some(min)) = (table.tmax_c[month], table.tmin_c[month])
            && max.value <= min.value
        {
            let (tmax, tmin) = (max.value, min.value);
            found.push(Finding::MaximumNotAbove { month: month + 1, tmax, tmin });
        }
    }
    if let Some(tmax) = complete(&table.tmax_c)
        && tmax.iter().all(|t| (t - tmax[0]).abs() < 1e-9)
    {
        found.push(Finding::AllMonthsEqual("mean daily maximum"));
    }
    if complete(&table.precip_mm).is_some_and(|rain| rain.iter().all(|r| *r == 0.0)) {
        found.push(Finding::NoRainAtAll);
    }
    if let (Some(extreme), Some(tmin)) = (table.extreme_min, complete(&table.tmin_c))
        && extreme.is_usable()
        && let Some(words) = extreme_above(extreme.mean_c, &tmin)
    {
        found.push(Finding::ExtremeAboveMinimum(words));
    }
    found.extend(limits::beyond(table).into_iter().map(Finding::Beyond));
    for (month, days) in table.wet_days.iter().enumerate() {
        let length = f64::from(DAYS_IN_MONTH[month]) + if month == 1 { 1.0 } else { 0.0 };
        if let Some(days) = days.filter(|days| days.value > length + 1e-9) {
            found.push(Finding::TooManyWetDays { month: month + 1, days: days.value });
        }
    }
    for (month, (rain, days)) in table.precip_mm.iter().zip(&table.wet_days).enumerate() {
        if let (Some(rain), Some(days)) = (rain, days)
            && rain.value >= 5.0
            && rain.value > WET_DAY_MM * days.value
        {
            found.push(Finding::RainOfWetDay { month: month + 1, rain: rain.value, days: days.value });
        }
    }
    if complete(&table.rh_pct).is_some_and(|months| months.iter().all(|month| *month <= 1.0)) {
        found.push(Finding::HumidityAsFraction);
    }
    position(table, &mut found);
    found
}

fn position(table: &ClimateTable, found: &mut Vec<Finding>) {
    if let Some(z) = table.station.elevation_m.filter(|z| !(-450.0..=6000.0).contains(z)) {
        found.push(Finding::Elevation(z));
    }
    let Some(latitude) = table.station.latitude_deg else {
        return;
    };
    if !(-90.0..=90.0).contains(&latitude) {
        found.push(Finding::Latitude(latitude));
        return;
    }
    let limits = monthly_extraterrestrial(Degrees(latitude));
    for (month, limit) in limits.iter().enumerate() {
        let most = SOLAR_SLACK * limit + TWILIGHT_MJ_M2_D;
        if let Some(solar) = table.solar_mj_m2_d[month].filter(|s| s.value > most) {
            found.push(Finding::SolarAboveExtraterrestrial {
                month: month + 1,
                solar: solar.value,
                limit: *limit,
            });
        }
    }
    if let Some(solar) = complete(&table.solar_mj_m2_d) {
        let share = solar.iter().sum::<f64>() / limits.iter().sum::<f64>();
        if share < OVERCAST_SHARE {
            found.push(Finding::SolarBelowOvercast { share });
        }
    }
    if let Some(tmax) = complete(&table.tmax_c).filter(|_| latitude.abs() > TROPICS_DEG) {
        let northern: f64 = tmax[5..8].iter().sum::<f64>() - tmax[0] - tmax[1] - tmax[11];
        if northern * latitude < 0.0 {
            found.push(Finding::WrongHemisphere { latitude_deg: latitude });
        }
    }
}
