//! What no place on earth has as a monthly mean, or hardly any: figures beyond it stand in another unit
//! than they are taken for, or are damaged.
//!
//! The limits stand a little outside the records. Those are from memory: Death Valley's July, with mean
//! maxima of 47 to 48 degC and in 2018 the hottest month measured, of 42.3 degC; the winters of the
//! Antarctic plateau, with means near -68 and minima near -72 degC; the hills of Meghalaya with 11 to
//! 12 m of rain in a mean year, 3 m in a mean July; daily ranges of 22 to 24 K in high deserts.

use std::fmt;

use super::normals::{ClimateTable, Series, complete};

/// A limit with what a figure beyond it most likely is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Key of the fact in a site file.
    pub key: &'static str,
    /// What is limited, in words.
    pub what: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The limit.
    pub limit: f64,
    /// Whether figures above it are beyond, else those below.
    pub above: bool,
    /// Whether it cannot be; else it is only unlikely.
    pub is_impossible: bool,
    /// Why, and what may be wrong.
    pub reason: &'static str,
}

/// Figures beyond a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Beyond {
    /// Months from 1; none where it is of the whole year.
    pub months: Vec<usize>,
    /// The figure that is farthest beyond.
    pub value: f64,
    /// What it passes.
    pub limit: Limit,
}

impl fmt::Display for Beyond {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Limit { what, unit, limit, above, reason, .. } = self.limit;
        let side = if above { "above" } else { "below" };
        let up_to = match (&self.months[..], above) {
            ([] | [_], _) => "",
            (_, true) => " up to",
            (_, false) => " down to",
        };
        let when = match &self.months[..] {
            [] => "year".to_owned(),
            months if months.len() == 12 => "every month".to_owned(),
            months => {
                format!("month {}", months.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))
            }
        };
        write!(f, "{when}: {what}{up_to} {:.1} {unit} is {side} {limit} {unit}: {reason}", self.value)
    }
}

const NOT_ON_EARTH: &str =
    "no place on earth has such a month; degrees F, or tenths, taken for degrees C, or a damaged value";
const TOO_COLD: &str = "no place on earth has such a month; a code for missing values, or a damaged value";

const fn temperature(key: &'static str, what: &'static str, limit: f64, above: bool) -> Limit {
    let reason = if above { NOT_ON_EARTH } else { TOO_COLD };
    Limit { key, what, unit: "degC", limit, above, is_impossible: true, reason }
}

const HOT_DAYS: Limit = temperature("tmax_c", "mean daily maximum", 48.0, true);
const HOT_NIGHTS: Limit = temperature("tmin_c", "mean daily minimum", 36.0, true);
const HOT: Limit = temperature("tmax_c", "mean temperature", 42.5, true);
const COLD_DAYS: Limit = temperature("tmax_c", "mean daily maximum", -68.0, false);
const COLD_NIGHTS: Limit = temperature("tmin_c", "mean daily minimum", -75.0, false);
const RANGE: Limit = Limit {
    key: "tmax_c",
    what: "daily range of temperature",
    unit: "K",
    limit: 26.0,
    above: true,
    is_impossible: false,
    reason: "high deserts have 22 to 24 K; degrees F taken for degrees C, or maxima and minima of two places",
};
const COLD_SUMMER: Limit = Limit {
    key: "tmax_c",
    what: "mean daily maximum of the warmest month",
    unit: "degC",
    limit: 5.0,
    above: false,
    is_impossible: false,
    reason: "a place of ice or high mountains; degrees C read as degrees F, or a damaged value",
};
const WET_MONTH: Limit = Limit {
    key: "precip_mm",
    what: "precipitation",
    unit: "mm",
    limit: 3500.0,
    above: true,
    is_impossible: true,
    reason: "no place on earth has such a month on the mean; tenths, or hundredths of an inch, taken for mm",
};
const WET_YEAR: Limit = Limit {
    key: "precip_mm",
    what: "precipitation",
    unit: "mm",
    limit: 4000.0,
    above: true,
    is_impossible: false,
    reason: "only some wet hills have more; tenths of a mm, or hundredths of an inch, taken for mm, or a month's rain in every day",
};
const FLOODED_YEAR: Limit = Limit {
    limit: 12_500.0,
    is_impossible: true,
    reason: "the wettest places on earth have 11 to 12 m; tenths of a mm, or hundredths of an inch, taken for mm",
    ..WET_YEAR
};
const DRY_YEAR: Limit = Limit {
    limit: 80.0,
    above: false,
    reason: "only a desert has so little; inches taken for mm, or rain of a day for that of a month",
    ..WET_YEAR
};
const WIND: Limit = Limit {
    key: "wind_m_s",
    what: "mean wind",
    unit: "m/s",
    limit: 10.0,
    above: true,
    is_impossible: false,
    reason: "a fresh breeze all month; km/h, knots or miles an hour taken for m/s",
};

const CALM: Limit = Limit {
    limit: 0.2,
    above: false,
    reason: "a calm all month; wind that was not recorded, or another unit taken for m/s",
    ..WIND
};

/// Figures beyond the limits, by limit and month.
#[must_use]
pub fn beyond(table: &ClimateTable) -> Vec<Beyond> {
    let mut found = Vec::new();
    let both = |own: fn(f64, f64) -> f64| -> [Option<f64>; 12] {
        std::array::from_fn(|month| Some(own(table.tmax_c[month]?.value, table.tmin_c[month]?.value)))
    };
    let plain = |series: &Series| series.map(|month| month.map(|own| own.value));
    for (limit, months) in [
        (HOT_DAYS, plain(&table.tmax_c)),
        (HOT_NIGHTS, plain(&table.tmin_c)),
        (COLD_DAYS, plain(&table.tmax_c)),
        (COLD_NIGHTS, plain(&table.tmin_c)),
        (HOT, both(f64::midpoint)),
        (RANGE, both(|high, low| high - low)),
        (WET_MONTH, plain(&table.precip_mm)),
        (WIND, plain(&table.wind_m_s)),
        (CALM, plain(&table.wind_m_s)),
    ] {
        // a hot mean is told by its maximum or minimum already
        let told = |month| {
            limit == HOT && found.iter().any(|own: &Beyond| own.limit.above && own.months.contains(&month))
        };
        let beyond: Vec<(usize, f64)> = (1..)
            .zip(months)
            .filter_map(|(month, value)| Some((month, value?)))
            .filter(|(month, value)| limit.is_passed(*value) && !told(*month))
            .collect();
        let farthest = |a: f64, b: f64| if limit.above { a.max(b) } else { a.min(b) };
        if let Some(value) = beyond.iter().map(|(_, value)| *value).reduce(farthest) {
            let months = beyond.into_iter().map(|(month, _)| month).collect();
            found.push(Beyond { months, value, limit });
        }
    }
    if let Some(months) = complete(&table.tmax_c) {
        let warmest = months.iter().copied().fold(f64::MIN, f64::max);
        if COLD_SUMMER.is_passed(warmest) {
            let months = months.iter().position(|own| *own == warmest).map(|at| at + 1).into_iter().collect();
            found.push(Beyond { months, value: warmest, limit: COLD_SUMMER });
        }
    }
    if let Some(months) = complete(&table.precip_mm) {
        let value: f64 = months.iter().sum();
        let of_year =
            |limit: Limit| limit.is_passed(value).then_some(Beyond { months: Vec::new(), value, limit });
        let wet = of_year(FLOODED_YEAR).or_else(|| of_year(WET_YEAR));
        // a year without any rain is told as such
        found.extend(wet.or_else(|| of_year(DRY_YEAR).filter(|_| value > 0.0)));
    }
    found
}

impl Limit {
    fn is_passed(&self, value: f64) -> bool {
        if self.above { value > self.limit } else { value < self.limit }
    }
}

#[cfg(test)]
mod tests {
    use super::super::normals::{Format, MonthValue};
    use super::*;

    fn table(tmax: [f64; 12], tmin: [f64; 12], rain: [f64; 12]) -> ClimateTable {
        let series =
            |months: [f64; 12]| months.map(|value| Some(MonthValue { value, years: None, flag: None }));
        let mut table = ClimateTable::empty(Format::MonthlyTable);
        (table.tmax_c, table.tmin_c, table.precip_mm) = (series(tmax), series(tmin), series(rain));
        table
    }

    const TMAX: [f64; 12] = [2.0, 4.0, 10.0, 16.0, 22.0, 27.0, 29.0, 28.0, 24.0, 18.0, 10.0, 4.0];
    const TMIN: [f64; 12] = [-8.0, -7.0, -2.0, 4.0, 9.0, 14.0, 17.0, 16.0, 11.0, 5.0, 0.0, -5.0];
    const RAIN: [f64; 12] = [60.0, 55.0, 70.0, 80.0, 95.0, 100.0, 105.0, 95.0, 80.0, 70.0, 65.0, 60.0];

    fn words(table: &ClimateTable) -> Vec<(bool, String)> {
        beyond(table).iter().map(|own| (own.limit.is_impossible, own.to_string())).collect()
    }

    #[test]
    fn a_temperate_year_and_the_records_of_the_earth_pass() {
        assert_eq!(words(&table(TMAX, TMIN, RAIN)), []);
        // about the hottest July there is
        let (mut high, mut low) = (TMAX, TMIN);
        (high[6], low[6]) = (47.5, 34.0);
        assert_eq!(words(&table(high, low, RAIN)), []);
    }

    #[test]
    fn each_limit_is_told_with_month_value_limit_and_reason() {
        let one = |month: usize, high: f64, low: f64| {
            let (mut tmax, mut tmin) = (TMAX, TMIN);
            (tmax[month - 1], tmin[month - 1]) = (high, low);
            words(&table(tmax, tmin, RAIN))
        };
        let told = one(7, 54.0, 30.0);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(
            told[0].0
                && told[0].1.starts_with("month 7: mean daily maximum 54.0 degC is above 48 degC: no place")
        );
        let told = one(7, 41.0, 37.0);
        assert!(told[0].1.starts_with("month 7: mean daily minimum 37.0 degC is above 36 degC"), "{told:?}");
        let told = one(8, 47.9, 35.9);
        // the mean of the two is 41.9
        assert_eq!(told, []);
        let told = one(5, 33.0, 5.0);
        assert!(
            !told[0].0 && told[0].1.starts_with("month 5: daily range of temperature 28.0 K is above 26 K")
        );
        let told = one(1, -70.0, -76.0);
        assert_eq!(told.len(), 2, "{told:?}");
    }

    /// Wind of 2 m/s passes, that of no month does not, either way.
    #[test]
    fn a_year_of_calm_or_of_gales_is_told() {
        let windy = |speed: f64| {
            let mut table = table(TMAX, TMIN, RAIN);
            table.wind_m_s = [Some(MonthValue { value: speed, years: None, flag: None }); 12];
            words(&table)
        };
        assert_eq!(windy(2.0), []);
        assert_eq!(windy(0.2), []);
        let told = windy(0.0);
        assert!(
            told.len() == 1
                && !told[0].0
                && told[0].1.starts_with("every month: mean wind down to 0.0 m/s is below 0.2 m/s: a calm"),
            "{told:?}"
        );
        let told = windy(15.0);
        assert!(told[0].1.starts_with("every month: mean wind up to 15.0 m/s is above 10 m/s"), "{told:?}");
    }

    /// The same year in the units of another: every mix-up is told.
    #[test]
    fn units_taken_for_others_are_told() {
        let fahrenheit = |months: [f64; 12]| months.map(|c| c * 1.8 + 32.0);
        let told = words(&table(fahrenheit(TMAX), fahrenheit(TMIN), RAIN));
        assert!(told.iter().any(|own| own.0 && own.1.contains("degrees F")), "{told:?}");
        let celsius = |months: [f64; 12]| months.map(|f| (f - 32.0) / 1.8);
        let told = words(&table(celsius(TMAX), celsius(TMIN), RAIN));
        assert!(told.iter().any(|own| own.1.contains("read as degrees F")), "{told:?}");
        let told = words(&table(TMAX, TMIN, RAIN.map(|mm| mm / 25.4)));
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(
            told[0].1.starts_with("year: precipitation 36.8 mm is below 80 mm: only a desert"),
            "{told:?}"
        );
        let told = words(&table(TMAX, TMIN, RAIN.map(|mm| mm * 10.0)));
        assert!(told[0].1.starts_with("year: precipitation 9350.0 mm is above 4000 mm"), "{told:?}");
        let told = words(&table(TMAX, TMIN, RAIN.map(|mm| mm * 25.4)));
        assert!(told.iter().any(|own| own.0), "{told:?}");
    }
}
