//! Hot days, the frost-free season and degree days counted in a station's own days.

use super::climate::DailyRecord;
use super::climate::daily_record::DAYS;
use super::growth::degree_days;
use super::solar::{DAYS_IN_MONTH, Monthly, first_day_of_month};
use crate::units::quantity::Celsius;

/// Fewest whole years whose counts go before the estimate from monthly means.
const FEWEST_YEARS: usize = 3;
/// A day with a minimum at or below this has frost, degC.
const FROST_C: f64 = 0.0;

/// Means over the years of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct CountedDays {
    /// Days a year whose maximum passes the limit.
    pub hot_days: f64,
    /// Longest run of days without frost between two winters; `None` where no winter stands between
    /// two whole years that follow each other (southern half).
    pub frost_free_days: Option<f64>,
    /// Degree days a year over the base, by the plain average of each day.
    pub degree_days: f64,
    /// The years, in words.
    pub words: String,
}

/// Counts the days of a record: maxima above `hot`, degree days over `base`, and the run without frost
/// in each year. `None` with fewer than three whole years.
///
/// A year for the frosts runs from winter to winter: from 1 January where the middle of the calendar
/// year is its warm part, else from 1 July. A year without any frost counts as 365 days.
#[must_use]
pub fn count_days(record: &DailyRecord, hot: Celsius, base: Celsius) -> Option<CountedDays> {
    let years = record.years.len();
    if years < FEWEST_YEARS || record.tmin_c.len() != years * DAYS || record.tmax_c.len() != years * DAYS {
        return None;
    }
    let hot_days = record.tmax_c.iter().filter(|high| **high > hot.0).count() as f64 / years as f64;
    let warmth = record.tmax_c.iter().zip(&record.tmin_c);
    let degree_days: f64 = warmth.map(|(high, low)| degree_days(Celsius(*high), Celsius(*low), base)).sum();
    let seasons = if warm_in_the_middle(&record.tmax_c) {
        record.tmin_c.chunks_exact(DAYS).map(longest_without_frost).collect()
    } else {
        southern_seasons(record)
    };
    let frost_free_days = (!seasons.is_empty())
        .then(|| seasons.iter().map(|days| *days as f64).sum::<f64>() / seasons.len() as f64);
    Some(CountedDays {
        hot_days,
        frost_free_days,
        degree_days: degree_days / years as f64,
        words: words(record),
    })
}

/// From 1 July of each year to 30 June of the next, where the record has both.
fn southern_seasons(record: &DailyRecord) -> Vec<usize> {
    let july = usize::from(first_day_of_month(6)) - 1;
    let follows = |at: &usize| record.years[at + 1] == record.years[*at] + 1;
    (0..record.years.len().saturating_sub(1))
        .filter(follows)
        .map(|at| longest_without_frost(&record.tmin_c[at * DAYS + july..(at + 1) * DAYS + july]))
        .collect()
}

/// Whether May to October are warmer than the rest, as north of the equator.
fn warm_in_the_middle(tmax_c: &[f64]) -> bool {
    let mut months: Monthly = [0.0; 12];
    for year in tmax_c.chunks_exact(DAYS) {
        let mut rest = year;
        for (sum, days) in months.iter_mut().zip(DAYS_IN_MONTH) {
            let (month, later) = rest.split_at(usize::from(days));
            *sum += month.iter().sum::<f64>() / f64::from(days);
            rest = later;
        }
    }
    let middle: f64 = months[4..10].iter().sum();
    2.0 * middle >= months.iter().sum()
}

fn longest_without_frost(tmin_c: &[f64]) -> usize {
    tmin_c.split(|low| *low <= FROST_C).map(<[f64]>::len).max().unwrap_or(0)
}

fn words(record: &DailyRecord) -> String {
    let (first, last) = (record.years.first().unwrap_or(&0), record.years.last().unwrap_or(&0));
    let mut words = format!("counted in the station's days, {first} to {last}");
    if record.left_out > 0 {
        let plural = if record.left_out == 1 { "" } else { "s" };
        words.push_str(&format!(" without {} year{plural} of too many gaps", record.left_out));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented years: frost up to and with day `last_frost` and from day `first_frost` on (days from
    /// 0), ten days of 32 degC in the middle, else 20 over 8 degC.
    fn record(years: Vec<i32>, frost_until: usize, frost_from: usize, turned: bool) -> DailyRecord {
        let mut tmax_c = vec![20.0; DAYS];
        let mut tmin_c = vec![8.0; DAYS];
        tmax_c[..frost_until].fill(4.0);
        tmin_c[..frost_until].fill(0.0);
        tmax_c[frost_from..].fill(4.0);
        tmin_c[frost_from..].fill(-6.0);
        tmax_c[200..210].fill(32.0);
        // exactly at the limit is not above it
        tmax_c[210] = 30.0;
        if turned {
            tmax_c.rotate_left(181);
            tmin_c.rotate_left(181);
        }
        let count = years.len();
        DailyRecord {
            years,
            left_out: 0,
            tmax_c: tmax_c.repeat(count),
            tmin_c: tmin_c.repeat(count),
            rain_mm: vec![0.0; DAYS * count],
            temperatures_filled: 0,
            rain_taken_as_dry: 0,
        }
    }

    fn count(record: &DailyRecord) -> Option<CountedDays> {
        count_days(record, Celsius(30.0), Celsius(10.0))
    }

    #[test]
    fn days_are_counted_and_a_frost_of_just_zero_counts() {
        let counted = count(&record(vec![2001, 2002, 2004], 110, 290, false)).unwrap();
        assert_eq!((counted.hot_days, counted.frost_free_days), (10.0, Some(180.0)));
        // 169 days of 14 degC, ten of 20, one of 19 over a base of 10
        assert!((counted.degree_days - (169.0 * 4.0 + 10.0 * 10.0 + 9.0)).abs() < 1e-9, "{counted:?}");
        assert_eq!(counted.words, "counted in the station's days, 2001 to 2004");
        assert_eq!(count(&record(vec![2001, 2002], 110, 290, false)), None, "two years are too few");
    }

    #[test]
    fn a_frost_in_summer_ends_the_run_and_a_year_without_frost_is_whole() {
        let mut cold = record(vec![2001, 2002, 2003], 110, 290, false);
        cold.tmin_c[150] = -0.5;
        let wanted = (139.0 + 180.0 + 180.0) / 3.0;
        assert_eq!(count(&cold).unwrap().frost_free_days, Some(wanted));
        let mild = record(vec![2001, 2002, 2003], 0, DAYS, false);
        assert_eq!(count(&mild).unwrap().frost_free_days, Some(365.0));
    }

    /// The same course half a year later: the season spans the new year.
    #[test]
    fn southern_seasons_span_the_new_year_and_take_years_that_follow_each_other() {
        let south = count(&record(vec![2001, 2002, 2003], 110, 290, true)).unwrap();
        assert_eq!((south.hot_days, south.frost_free_days), (10.0, Some(180.0)));
        let apart = count(&record(vec![2001, 2003, 2005], 110, 290, true)).unwrap();
        assert_eq!(apart.frost_free_days, None);
    }
}
