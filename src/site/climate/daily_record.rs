//! The days themselves of a station's whole years, which drive the soil-water balance.
//!
//! Twelve means flatten the droughts of single years; where a file has the days, they are kept.

use super::daily::Days;

/// Days of a year: 29 February is left out.
pub const DAYS: usize = 365;
/// Days of a year on which a temperature may be missing; each is drawn between its neighbours.
const TEMPERATURE_GAPS: usize = 15;
/// Longest run of missing days of temperature that is filled.
const LONGEST_GAP: usize = 5;
/// Days of a year on which rain may be missing; each counts as dry.
const RAIN_GAPS: usize = 10;

/// Maximum, minimum and rain of every day of whole years, 365 days each.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyRecord {
    /// The years, in order; years with too many missing days are left out.
    pub years: Vec<i32>,
    /// Years of the span that were left out.
    pub left_out: usize,
    /// Daily maximum, degC.
    pub tmax_c: Vec<f64>,
    /// Daily minimum, degC; not above the maximum.
    pub tmin_c: Vec<f64>,
    /// Rain, mm.
    pub rain_mm: Vec<f64>,
    /// Days of temperature drawn between their neighbours.
    pub temperatures_filled: usize,
    /// Days without a report of rain, counted as dry.
    pub rain_taken_as_dry: usize,
}

impl DailyRecord {
    /// The whole years of a span; `None` where there is none.
    pub(super) fn gather(days: &Days, first: i32, last: i32) -> Option<Self> {
        let mut record = Self {
            years: Vec::new(),
            left_out: 0,
            tmax_c: Vec::new(),
            tmin_c: Vec::new(),
            rain_mm: Vec::new(),
            temperatures_filled: 0,
            rain_taken_as_dry: 0,
        };
        for (year, [tmax, tmin, rain]) in days.whole_years(first, last) {
            match (bridge(&tmax), bridge(&tmin), dry_where_missing(&rain)) {
                (Some((tmax, high_gaps)), Some((tmin, low_gaps)), Some((rain, rain_gaps))) => {
                    record.years.push(year);
                    // a minimum read on another morning may lie above the day's maximum
                    record.tmin_c.extend(tmin.iter().zip(&tmax).map(|(low, high)| low.min(*high)));
                    record.tmax_c.extend(tmax);
                    record.rain_mm.extend(rain);
                    record.temperatures_filled += high_gaps + low_gaps;
                    record.rain_taken_as_dry += rain_gaps;
                }
                _ => record.left_out += 1,
            }
        }
        (!record.years.is_empty()).then_some(record)
    }

    /// The years in words: "2009 to 2012", or with those that were left out.
    #[must_use]
    pub fn words(&self) -> String {
        let (first, last) = (self.years.first().unwrap_or(&0), self.years.last().unwrap_or(&0));
        let mut words = format!("{} year{}", self.years.len(), if self.years.len() == 1 { "" } else { "s" });
        words.push_str(&if first == last { format!(", {first}") } else { format!(", {first} to {last}") });
        if self.left_out > 0 {
            words.push_str(&format!(" without {} of too many gaps", self.left_out));
        }
        words
    }
}

/// A year of temperature with its short gaps drawn straight between the neighbouring days, and how
/// many days that were; `None` where too much is missing.
fn bridge(year: &[Option<f64>]) -> Option<(Vec<f64>, usize)> {
    let missing = year.iter().filter(|day| day.is_none()).count();
    if missing > TEMPERATURE_GAPS {
        return None;
    }
    let mut filled = Vec::with_capacity(year.len());
    let mut before = None;
    let mut day = 0;
    while day < year.len() {
        if let Some(value) = year[day] {
            filled.push(value);
            before = Some(value);
            day += 1;
            continue;
        }
        let length = year[day..].iter().take_while(|day| day.is_none()).count();
        let after = year.get(day + length).copied().flatten();
        if length > LONGEST_GAP {
            return None;
        }
        // at the ends of the year the one neighbour stands for the missing days
        let (from, to) = (before.or(after)?, after.or(before)?);
        let steps = (1..=length).map(|step| step as f64 / (length + 1) as f64);
        filled.extend(steps.map(|part| from + (to - from) * part));
        day += length;
    }
    Some((filled, missing))
}

/// A year of rain with missing days dry, and how many those were; `None` where too many are.
fn dry_where_missing(year: &[Option<f64>]) -> Option<(Vec<f64>, usize)> {
    let missing = year.iter().filter(|day| day.is_none()).count();
    (missing <= RAIN_GAPS).then(|| (year.iter().map(|day| day.unwrap_or(0.0)).collect(), missing))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_gaps_are_drawn_between_their_neighbours_and_long_ones_refuse_the_year() {
        let mut year = vec![Some(10.0); DAYS];
        year[100] = None;
        year[101] = None;
        year[102] = Some(16.0);
        year[364] = None;
        let (filled, gaps) = bridge(&year).unwrap();
        assert_eq!((filled[100], filled[101], filled[364], gaps), (12.0, 14.0, 10.0, 3));
        year[200..206].fill(None);
        assert_eq!(bridge(&year), None, "six days in a row are too many");
        let mut scattered = vec![Some(1.0); DAYS];
        (0..16).for_each(|n| scattered[n * 20] = None);
        assert_eq!(bridge(&scattered), None, "sixteen days in all are too many");
        assert_eq!(bridge(&[None; 3]), None);
    }

    #[test]
    fn rain_that_nobody_reported_counts_as_dry_up_to_ten_days() {
        let mut year = vec![Some(2.0); DAYS];
        year[..10].fill(None);
        let (rain, gaps) = dry_where_missing(&year).unwrap();
        assert_eq!((rain[9], rain[10], gaps), (0.0, 2.0, 10));
        year[10] = None;
        assert_eq!(dry_where_missing(&year), None);
    }
}
