//! Daily values gathered by month and year, and their means over the years.

use std::fmt;

use super::daily_record::DailyRecord;
use super::day_report::DayReport;
use super::error::{Fault, ReadError};
use super::flags::YearlyFlags;
use super::impossible::Impossible;
use super::normals::{ClimateTable, ExtremeMinimum, MonthValue, Note, ReadOptions, Series};
use super::text::Field;
use crate::site::solar::days_of;

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
/// Days of a leap year.
const LEAP_DAYS: usize = 366;
/// Position of 29 February in one.
const LEAP_DAY: usize = 59;

/// A quantity of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Element {
    /// Highest temperature, degC.
    Tmax,
    /// Lowest temperature, degC.
    Tmin,
    /// Rain and melted snow, mm.
    Precip,
}

impl Element {
    /// All that is read.
    pub const ALL: [Self; 3] = [Self::Tmax, Self::Tmin, Self::Precip];

    /// By the code of GHCN-Daily.
    pub(super) fn from_code(code: &str) -> Option<Self> {
        match code {
            "TMAX" => Some(Self::Tmax),
            "TMIN" => Some(Self::Tmin),
            "PRCP" => Some(Self::Precip),
            _ => None,
        }
    }

    /// Its code in GHCN-Daily.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Tmax => "TMAX",
            Self::Tmin => "TMIN",
            Self::Precip => "PRCP",
        }
    }
}

/// A calendar day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    /// Of the Gregorian calendar.
    pub year: i32,
    /// From 1.
    pub month: u8,
    /// From 1.
    pub day: u8,
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl Date {
    /// The day after it.
    pub(super) fn next(self) -> Self {
        match self {
            Self { year, month, day } if day < days_of(year, month) => Self { year, month, day: day + 1 },
            Self { year, month, .. } if month < 12 => Self { year, month: month + 1, day: 1 },
            Self { year, .. } => Self { year: year + 1, month: 1, day: 1 },
        }
    }

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

/// To a hundredth of its unit: stations report tenths, and degF come out in between.
fn hundredths(value: f64) -> f64 {
    // beside so great a number there is no room for a fraction, which spares a call for every value
    const NO_FRACTIONS: f64 = 6_755_399_441_055_744.0;
    ((value * 100.0 + NO_FRACTIONS) - NO_FRACTIONS) / 100.0
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

/// One year: by month for the means, and by day for the balance and the checks.
struct Year {
    months: [[Tally; 3]; 12],
    /// Maximum, minimum and rain of 366 days; NaN where nothing was reported.
    days: [[f64; LEAP_DAYS]; 3],
    /// The lines of the file on which they stand.
    lines: [[u32; LEAP_DAYS]; 3],
}

impl Year {
    fn new() -> Box<Self> {
        Box::new(Self {
            months: [[Tally::NEW; 3]; 12],
            days: [[f64::NAN; LEAP_DAYS]; 3],
            lines: [[0; LEAP_DAYS]; 3],
        })
    }
}

/// Days of a leap year before each of its months.
const BEFORE: [usize; 12] = [0, 31, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335];
/// The month of each day of a leap year, from 0.
const MONTH: [u8; LEAP_DAYS] = {
    let (mut months, mut day, mut month) = ([0; LEAP_DAYS], 0, 0);
    while day < LEAP_DAYS {
        if month + 1 < BEFORE.len() && day == BEFORE[month + 1] {
            month += 1;
        }
        months[day] = month as u8;
        day += 1;
    }
    months
};

/// Day of a leap year from 0.
fn day_of_leap_year(date: Date) -> usize {
    BEFORE[usize::from(date.month - 1)] + usize::from(date.day) - 1
}

/// A day of a station's record.
#[derive(Clone, Copy)]
pub(super) struct StationDay<'d> {
    pub year: i32,
    /// Of a leap year, from 0.
    day: usize,
    /// Nothing where the whole year is missing.
    record: Option<&'d Year>,
}

impl StationDay<'_> {
    /// Its value, where there is one.
    pub(super) fn value(&self, element: Element) -> Option<f64> {
        self.record.map(|year| year.days[element as usize][self.day]).filter(|value| !value.is_nan())
    }

    /// The line of the file on which its value stands.
    pub(super) fn line(&self, element: Element) -> u64 {
        self.record.map_or(0, |year| u64::from(year.lines[element as usize][self.day]))
    }

    /// Its month, from 0.
    pub(super) fn month(&self) -> usize {
        usize::from(MONTH[self.day])
    }

    pub(super) fn date(&self) -> Date {
        let day = self.day + 1 - BEFORE[self.month()];
        Date { year: self.year, month: MONTH[self.day] + 1, day: day as u8 }
    }
}

/// Values of all days of one station.
#[derive(Default)]
pub(super) struct Days {
    /// In order of the years.
    years: Vec<(i32, Box<Year>)>,
    /// Position of the year last added to: files run by year, so it is nearly always the next one's too.
    latest: usize,
    /// Values that no place on earth has; no day holds them.
    impossible: Impossible,
    pub flags: YearlyFlags,
}

impl Days {
    /// Adds a value in degC or mm that stands in a line; `field` is its place in it.
    pub(super) fn add<'f>(
        &mut self,
        element: Element,
        date: Date,
        value: f64,
        line: u64,
        field: impl Fn() -> Field<'f>,
    ) -> Result<(), ReadError> {
        let range = match element {
            Element::Precip => (0.0, 2000.0, "0", "2000 mm"),
            Element::Tmax | Element::Tmin => (-90.0, 60.0, "-90", "60 degC"),
        };
        // the place of a field takes time to make, and nearly all values can be
        if !(range.0..=range.1).contains(&value) {
            self.impossible.spare(field().within(element.code(), value, range).map(Some))?;
            return Ok(());
        }
        let year = self.year_of(date.year);
        let tally = &mut year.months[usize::from(date.month - 1)][element as usize];
        let bit = 1_u32 << (date.day - 1);
        if tally.days & bit != 0 {
            return Err(field().error(Fault::Duplicate(format!("{} of {date}", element.code()))));
        }
        tally.days |= bit;
        tally.sum += value;
        tally.lowest = if value < tally.lowest { value } else { tally.lowest };
        tally.marked += u32::from(match element {
            Element::Tmax => value > HOT_C,
            Element::Precip => value >= WET_MM,
            Element::Tmin => false,
        });
        let day = day_of_leap_year(date);
        year.days[element as usize][day] = hundredths(value);
        year.lines[element as usize][day] = u32::try_from(line).unwrap_or(u32::MAX);
        Ok(())
    }

    /// The record of a year, begun where there is none.
    fn year_of(&mut self, year: i32) -> &mut Year {
        if self.years.get(self.latest).is_none_or(|(latest, _)| *latest != year) {
            self.latest = self.position(year).unwrap_or_else(|at| {
                self.years.insert(at, (year, Year::new()));
                at
            });
        }
        &mut self.years[self.latest].1
    }

    /// Where a year stands, or would.
    fn position(&self, year: i32) -> Result<usize, usize> {
        self.years.binary_search_by_key(&year, |(year, _)| *year)
    }

    /// The years of a span, in order.
    fn within(&self, first: i32, last: i32) -> &[(i32, Box<Year>)] {
        let from = self.years.partition_point(|(year, _)| *year < first);
        let to = self.years.partition_point(|(year, _)| *year <= last);
        &self.years[from..to.max(from)]
    }

    /// First and last year to use.
    fn span(&self, options: &ReadOptions) -> Option<(i32, i32)> {
        if let Some(years) = options.years {
            return Some(years);
        }
        let (last, first) = (self.years.last()?.0, self.years.first()?.0);
        Some((first.max(last - YEARS_TAKEN + 1), last))
    }

    /// Writes means, counts and notes into a table.
    pub(super) fn finish(mut self, table: &mut ClimateTable, options: &ReadOptions) {
        table.impossible.append(std::mem::take(&mut self.impossible));
        let Some((first, last)) = self.span(options) else {
            return;
        };
        table.recorded = self.years.first().zip(self.years.last()).map(|(first, last)| (first.0, last.0));
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
        let flags = self.flags.within(first, last);
        let dropped = flags.dropped();
        if dropped > 0 {
            table.notes.push(Note::QualityDropped(dropped));
        }
        let traces = flags.traces();
        if traces > 0 {
            table.notes.push(Note::Traces(traces));
        }
        table.days = DayReport::of(&self, (first, last), options.years.is_some(), table.daily.as_ref());
        let contradictory = table.days.iter().flat_map(|days| &days.odd).filter(|day| day.is_fault()).count();
        if contradictory > 0 {
            table.notes.push(Note::ContradictoryDays(contradictory));
        }
    }

    /// The years that have any day, in order.
    pub(super) fn years(&self) -> impl DoubleEndedIterator<Item = i32> {
        self.years.iter().map(|(year, _)| *year)
    }

    /// The days from one to another in their order, both taken.
    pub(super) fn each(&self, first: Date, last: Date) -> impl Iterator<Item = StationDay<'_>> {
        (first.year..=last.year).flat_map(move |year| {
            let record = self.position(year).ok().map(|at| &*self.years[at].1);
            let begin = if year == first.year { day_of_leap_year(first) } else { 0 };
            let end = if year == last.year { day_of_leap_year(last) } else { LEAP_DAYS - 1 };
            let leap = days_of(year, 2) == 29;
            let days = (begin..=end).filter(move |day| leap || *day != LEAP_DAY);
            days.map(move |day| StationDay { year, day, record })
        })
    }

    /// Maximum, minimum and rain of each day, year by year; 29 February is left out.
    pub(super) fn whole_years(
        &self,
        first: i32,
        last: i32,
    ) -> impl Iterator<Item = (i32, [Vec<Option<f64>>; 3])> {
        let series = |days: &[f64; LEAP_DAYS]| {
            let common = days[..LEAP_DAY].iter().chain(&days[LEAP_DAY + 1..]);
            common.map(|value| (!value.is_nan()).then_some(*value)).collect()
        };
        self.within(first, last).iter().map(move |(year, record)| (*year, record.days.each_ref().map(series)))
    }

    fn series(&self, element: Element, first: i32, last: i32, of: fn(&Tally, u8) -> f64) -> Series {
        let gap = if element == Element::Precip { RAIN_GAP } else { TEMPERATURE_GAP };
        let mut means = [None; 12];
        for (month, slot) in (1_u8..).zip(means.iter_mut()) {
            let (mut sum, mut years) = (0.0, 0_u16);
            for (year, record) in self.within(first, last) {
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
        for year in self.within(first, last).iter().map(|(_, year)| year) {
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
