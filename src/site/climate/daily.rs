//! Daily values gathered by month and year, and their means over the years.

use std::collections::BTreeMap;

use super::daily_record::{DAYS, DailyRecord};
use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, ExtremeMinimum, MonthValue, Note, ReadOptions, Series};
use super::text::Field;

/// Years taken where none are stated.
const YEARS_TAKEN: i32 = 30;
/// Days of temperature that may be missing in a month that counts (as NOAA's monthly summaries).
const TEMPERATURE_GAP: u32 = 5;
/// Days of rain that may be missing in a month that counts: a missing day may hold the month's rain.
const RAIN_GAP: u32 = 1;
/// Days of minimum temperature that a year must have for its lowest to count.
const DAYS_FOR_EXTREME: u32 = 350;
/// Rain from which a day counts as wet, mm (0.01 in).
const WET_MM: f64 = 0.25;
/// Maximum above which a day counts as hot, degC.
const HOT_C: f64 = 30.0;

/// A quantity of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Element {
    Tmax,
    Tmin,
    Precip,
}

impl Element {
    /// By the code of GHCN-Daily.
    pub(super) fn from_code(code: &str) -> Option<Self> {
        match code {
            "TMAX" => Some(Self::Tmax),
            "TMIN" => Some(Self::Tmin),
            "PRCP" => Some(Self::Precip),
            _ => None,
        }
    }

    pub(super) const fn code(self) -> &'static str {
        match self {
            Self::Tmax => "TMAX",
            Self::Tmin => "TMIN",
            Self::Precip => "PRCP",
        }
    }
}

/// A calendar day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Date {
    pub year: i32,
    /// From 1.
    pub month: u8,
    /// From 1.
    pub day: u8,
}

/// Days of a month in a year.
pub(super) fn days_of(year: i32, month: u8) -> u8 {
    let leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

impl Date {
    /// A day that exists.
    pub(super) fn new(year: i32, month: u8, day: u8) -> Option<Self> {
        let exists = (1600..=2200).contains(&year)
            && (1..=12).contains(&month)
            && (1..=days_of(year, month)).contains(&day);
        exists.then_some(Self { year, month, day })
    }

    /// From `YYYY-MM-DD` (zeros may be left out) or `YYYYMMDD`.
    pub(super) fn parse(field: &Field<'_>) -> Result<Self, ReadError> {
        let text = field.text;
        let parts = if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) {
            Some((&text[..4], &text[4..6], &text[6..]))
        } else {
            let mut split = text.splitn(3, '-');
            match (split.next(), split.next(), split.next()) {
                (Some(y), Some(m), Some(d)) => Some((y, m, d)),
                _ => None,
            }
        };
        parts
            .and_then(|(y, m, d)| Self::new(y.parse().ok()?, m.parse().ok()?, d.parse().ok()?))
            .ok_or_else(|| field.error(Fault::NotADate(text.to_owned())))
    }
}

/// A value kept in single precision, back to a hundredth of its unit.
fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

#[derive(Debug, Clone, Copy)]
struct Tally {
    sum: f64,
    /// One bit a day.
    days: u32,
    /// Days that pass the element's mark (wet or hot).
    marked: u32,
    lowest: f64,
}

impl Tally {
    const NEW: Self = Self { sum: 0.0, days: 0, marked: 0, lowest: f64::INFINITY };

    fn count(&self) -> u32 {
        self.days.count_ones()
    }
}

/// One year: by month for the means, and by day for the balance.
struct Year {
    months: [[Tally; 3]; 12],
    /// Maximum, minimum and rain of 365 days; NaN where nothing was reported.
    days: [[f32; DAYS]; 3],
}

impl Year {
    fn new() -> Box<Self> {
        Box::new(Self { months: [[Tally::NEW; 3]; 12], days: [[f32::NAN; DAYS]; 3] })
    }
}

/// Day of a year of 365 days from 0; `None` for 29 February.
fn day_of_common_year(date: Date) -> Option<usize> {
    let before: usize = (1..date.month).map(|month| usize::from(days_of(2001, month))).sum();
    (date.day <= days_of(2001, date.month)).then(|| before + usize::from(date.day) - 1)
}

/// Values of all days of one station.
#[derive(Default)]
pub(super) struct Days {
    years: BTreeMap<i32, Box<Year>>,
    pub dropped: u32,
    pub traces: u32,
}

impl Days {
    /// Adds a value in degC or mm; `field` is where it stands.
    pub(super) fn add(
        &mut self,
        element: Element,
        date: Date,
        value: f64,
        field: &Field<'_>,
    ) -> Result<(), ReadError> {
        let (low, high, from, to) = match element {
            Element::Precip => (0.0, 2000.0, "0", "2000 mm"),
            Element::Tmax | Element::Tmin => (-90.0, 60.0, "-90", "60 degC"),
        };
        if !(low..=high).contains(&value) {
            let fault = Fault::OutOfRange { value: field.text.to_owned(), low: from, high: to };
            return Err(field.error(fault).in_field(element.code()));
        }
        let year = self.years.entry(date.year).or_insert_with(Year::new);
        let tally = &mut year.months[usize::from(date.month - 1)][element as usize];
        let bit = 1_u32 << (date.day - 1);
        if tally.days & bit != 0 {
            let what = format!("{} of {:04}-{:02}-{:02}", element.code(), date.year, date.month, date.day);
            return Err(field.error(Fault::Duplicate(what)));
        }
        tally.days |= bit;
        tally.sum += value;
        tally.lowest = tally.lowest.min(value);
        tally.marked += u32::from(match element {
            Element::Tmax => value > HOT_C,
            Element::Precip => value >= WET_MM,
            Element::Tmin => false,
        });
        if let Some(day) = day_of_common_year(date) {
            // stations report tenths: single precision holds them
            #[expect(clippy::cast_possible_truncation)]
            let value = value as f32;
            year.days[element as usize][day] = value;
        }
        Ok(())
    }

    /// First and last year to use.
    fn span(&self, options: &ReadOptions) -> Option<(i32, i32)> {
        if let Some(years) = options.years {
            return Some(years);
        }
        let last = *self.years.keys().next_back()?;
        let first = *self.years.keys().next()?;
        Some((first.max(last - YEARS_TAKEN + 1), last))
    }

    /// Writes means, counts and notes into a table.
    pub(super) fn finish(self, table: &mut ClimateTable, options: &ReadOptions) {
        let Some((first, last)) = self.span(options) else {
            return;
        };
        table.period = Some((first, last));
        let mean = |t: &Tally, _: u8| t.sum / f64::from(t.count());
        table.tmax_c = self.series(Element::Tmax, first, last, mean);
        table.tmin_c = self.series(Element::Tmin, first, last, mean);
        table.precip_mm = self.series(Element::Precip, first, last, |t, _| t.sum);
        table.wet_days = self.series(Element::Precip, first, last, |t, _| f64::from(t.marked));
        // The share of the days present, brought to the length of the month.
        table.hot_days = self.series(Element::Tmax, first, last, |t, days| {
            f64::from(t.marked) / f64::from(t.count()) * f64::from(days)
        });
        table.extreme_min = self.extreme(first, last);
        table.daily = DailyRecord::gather(&self, first, last);
        let years = table.tmin_c.iter().map(|v| v.and_then(|v| v.years).unwrap_or(0)).min();
        if let Some(years) = years.filter(|n| *n < 30) {
            table.notes.push(Note::ShortRecord(years));
        }
        if self.dropped > 0 {
            table.notes.push(Note::QualityDropped(self.dropped));
        }
        if self.traces > 0 {
            table.notes.push(Note::Traces(self.traces));
        }
    }

    /// Maximum, minimum and rain of each day, year by year.
    pub(super) fn whole_years(
        &self,
        first: i32,
        last: i32,
    ) -> impl Iterator<Item = (i32, [Vec<Option<f64>>; 3])> {
        let series = |days: &[f32; DAYS]| {
            days.iter().map(|value| (!value.is_nan()).then(|| hundredths(f64::from(*value)))).collect()
        };
        self.years
            .range(first..=last.max(first))
            .map(move |(year, record)| (*year, record.days.each_ref().map(series)))
    }

    fn series(&self, element: Element, first: i32, last: i32, of: fn(&Tally, u8) -> f64) -> Series {
        let gap = if element == Element::Precip { RAIN_GAP } else { TEMPERATURE_GAP };
        let mut means = [None; 12];
        for (month, slot) in (1_u8..).zip(means.iter_mut()) {
            let (mut sum, mut years) = (0.0, 0_u16);
            for (year, record) in self.years.range(first..=last.max(first)) {
                let tally = &record.months[usize::from(month - 1)][element as usize];
                let days = days_of(*year, month);
                if tally.count() + gap >= u32::from(days) {
                    sum += of(tally, days);
                    years += 1;
                }
            }
            if years > 0 {
                *slot = Some(MonthValue { value: sum / f64::from(years), years: Some(years), flag: None });
            }
        }
        means
    }

    fn extreme(&self, first: i32, last: i32) -> Option<ExtremeMinimum> {
        let (mut sum, mut years, mut lowest) = (0.0, 0_u16, f64::INFINITY);
        for year in self.years.range(first..=last.max(first)).map(|(_, year)| year) {
            let tallies = year.months.iter().map(|m| &m[Element::Tmin as usize]);
            if tallies.clone().map(Tally::count).sum::<u32>() >= DAYS_FOR_EXTREME {
                let year = tallies.map(|t| t.lowest).fold(f64::INFINITY, f64::min);
                sum += year;
                years += 1;
                lowest = lowest.min(year);
            }
        }
        (years > 0).then(|| ExtremeMinimum { mean_c: sum / f64::from(years), lowest_c: lowest, years })
    }
}
