//! What the days of a station's record lack, and what of them cannot be right or is hard to believe.
//!
//! Values that the publisher's own checks refused are no longer among them: what is found here has
//! passed those checks, or the file carries none.

use std::fmt;

use super::daily::{Date, Days, Element, StationDay};
use super::daily_record::DailyRecord;
use super::flags::FlagCounts;

/// Standard deviations from its month's mean beyond which a temperature is doubted.
const FAR: f64 = 5.0;
/// Values of a month, over all years, from which a standard deviation says something.
const FEWEST_FOR_DEVIATION: usize = 30;
/// Rain of a day beyond which it is doubted, mm.
const MUCH_RAIN_MM: f64 = 500.0;

/// Days in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// The first.
    pub first: Date,
    /// The last.
    pub last: Date,
    /// How many.
    pub days: usize,
}

impl fmt::Display for Run {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.days {
            1 => write!(f, "{}", self.first),
            days => write!(f, "{} to {} ({days} days)", self.first, self.last),
        }
    }
}

/// How whole the days of one element are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ElementDays {
    /// The element.
    pub element: Element,
    /// Days with a value.
    pub known: usize,
    /// Years without any.
    pub missing_years: Vec<i32>,
    /// Days missing in the other years, the longest run first.
    pub gaps: Vec<Run>,
}

/// What is wrong, or doubtful, with a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Oddity {
    /// The maximum lies below the minimum.
    MaximumBelowMinimum {
        /// Maximum, degC.
        tmax: f64,
        /// Minimum, degC.
        tmin: f64,
    },
    /// A temperature more than five standard deviations from the mean of its month.
    FarFromMean {
        /// Which.
        element: Element,
        /// Its value, degC.
        value: f64,
        /// Mean of the month over all years, degC.
        mean: f64,
        /// Standard deviation, K.
        deviation: f64,
    },
    /// More rain than all but a few storms on record bring in a day, mm.
    MuchRain(f64),
}

/// An odd day with its place in the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddDay {
    /// The day.
    pub date: Date,
    /// The line of the file.
    pub line: u64,
    /// What is odd.
    pub what: Oddity,
}

impl OddDay {
    /// Whether it cannot be; else it is only hard to believe.
    #[must_use]
    pub const fn is_fault(&self) -> bool {
        matches!(self.what, Oddity::MaximumBelowMinimum { .. })
    }
}

impl fmt::Display for OddDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, {}: ", self.line, self.date)?;
        match &self.what {
            Oddity::MaximumBelowMinimum { tmax, tmin } => {
                write!(f, "maximum {tmax} degC is below minimum {tmin}")
            }
            Oddity::FarFromMean { element, value, mean, deviation } => write!(
                f,
                "{} {value} degC is {:.1} standard deviations of {deviation:.1} K from its month's \
                 mean {mean:.1}",
                element.code(),
                (value - mean).abs() / deviation
            ),
            Oddity::MuchRain(mm) => {
                write!(f, "{mm} mm of rain in a day: the total of several days, or wrong units?")
            }
        }
    }
}

/// The days of a station, held against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct DayReport {
    /// First day looked at.
    pub first: Date,
    /// Last day looked at.
    pub last: Date,
    /// How whole each element is; one that the file does not have is left out.
    pub elements: Vec<ElementDays>,
    /// Days that cannot be right or are hard to believe, in order.
    pub odd: Vec<OddDay>,
    /// Flags of the whole file.
    pub flags: FlagCounts,
    /// Years with days that the balance by days leaves out, for too many gaps.
    pub left_out: Vec<i32>,
}

impl DayReport {
    /// Looks at the days of a span of years. Where the user stated the span it counts whole, else
    /// from the first day that the file has in it to the last.
    pub(super) fn of(
        days: &Days,
        (first, last): (i32, i32),
        stated: bool,
        record: Option<&DailyRecord>,
    ) -> Option<Self> {
        let (begin, end) = (Date::new(first, 1, 1)?, Date::new(last, 12, 31)?);
        let (begin, end) = if stated { (begin, end) } else { with_values(days, begin, end)? };
        let elements = Element::ALL.iter().filter_map(|element| element_days(days, *element, begin, end));
        let mut odd: Vec<OddDay> = days.each(begin, end).filter_map(|day| contradiction(&day)).collect();
        for element in [Element::Tmax, Element::Tmin] {
            odd.extend(far_from_mean(days, element, begin, end));
        }
        odd.extend(days.each(begin, end).filter_map(|day| much_rain(&day)));
        odd.sort_by_key(|day| day.date);
        let taken = |year: &i32| record.is_some_and(|record| record.years.contains(year));
        let left_out = days.years().filter(|year| (first..=last).contains(year) && !taken(year));
        Some(Self {
            first: begin,
            last: end,
            elements: elements.collect(),
            odd,
            flags: days.flags.within(first, last),
            left_out: left_out.collect(),
        })
    }
}

/// The first and the last day of a span that have any value.
fn with_values(days: &Days, begin: Date, end: Date) -> Option<(Date, Date)> {
    let any = |day: &StationDay<'_>| Element::ALL.iter().any(|element| day.value(*element).is_some());
    let first = days.each(begin, end).find(any)?;
    // the last day with a value lies in the last year that has one
    let year = days.years().rev().find(|year| *year <= end.year)?;
    let last = days.each(Date::new(year, 1, 1)?, end).filter(any).last()?;
    Some((first.date(), last.date()))
}

fn element_days(days: &Days, element: Element, first: Date, last: Date) -> Option<ElementDays> {
    let mut found = ElementDays { element, known: 0, missing_years: Vec::new(), gaps: Vec::new() };
    for year in first.year..=last.year {
        let begin = first.max(Date { year, month: 1, day: 1 });
        let end = last.min(Date { year, month: 12, day: 31 });
        let (mut known, mut missing) = (0, Vec::new());
        days.each(begin, end).for_each(|day| match day.value(element) {
            Some(_) => known += 1,
            None => missing.push(day.date()),
        });
        found.known += known;
        if known == 0 {
            found.missing_years.push(year);
            continue;
        }
        for date in missing {
            match found.gaps.last_mut() {
                // a run goes on over the end of a year
                Some(run) if run.last.next() == date => {
                    run.last = date;
                    run.days += 1;
                }
                _ => found.gaps.push(Run { first: date, last: date, days: 1 }),
            }
        }
    }
    found.gaps.sort_by_key(|run| (std::cmp::Reverse(run.days), run.first));
    (found.known > 0).then_some(found)
}

fn contradiction(day: &StationDay<'_>) -> Option<OddDay> {
    let (tmax, tmin) = (day.value(Element::Tmax)?, day.value(Element::Tmin)?);
    let what = Oddity::MaximumBelowMinimum { tmax, tmin };
    (tmax < tmin).then(|| OddDay { date: day.date(), line: day.line(Element::Tmax), what })
}

fn much_rain(day: &StationDay<'_>) -> Option<OddDay> {
    let mm = day.value(Element::Precip)?;
    let odd = || OddDay { date: day.date(), line: day.line(Element::Precip), what: Oddity::MuchRain(mm) };
    (mm > MUCH_RAIN_MM).then(odd)
}

/// What the values of a month, over all years, are held against.
#[derive(Clone, Copy, Default)]
struct Usual {
    values: usize,
    sum: f64,
    squares: f64,
}

impl Usual {
    fn mean(&self) -> f64 {
        self.sum / self.values as f64
    }

    fn deviation(&self) -> f64 {
        (self.squares / (self.values as f64 - 1.0)).sqrt()
    }
}

fn far_from_mean(days: &Days, element: Element, first: Date, last: Date) -> Vec<OddDay> {
    let values = || days.each(first, last).filter_map(|day| Some((day, day.value(element)?)));
    let mut usual = [Usual::default(); 12];
    values().for_each(|(day, value)| {
        let of_month = &mut usual[day.month()];
        of_month.values += 1;
        of_month.sum += value;
    });
    let means = usual.map(|of_month| of_month.mean());
    values().for_each(|(day, value)| usual[day.month()].squares += (value - means[day.month()]).powi(2));
    let odd = values().filter_map(|(day, value)| {
        let (own, mean) = (usual[day.month()], means[day.month()]);
        let far = own.values >= FEWEST_FOR_DEVIATION && (value - mean).abs() > FAR * own.deviation();
        let what = || Oddity::FarFromMean { element, value, mean, deviation: own.deviation() };
        far.then(|| OddDay { date: day.date(), line: day.line(element), what: what() })
    });
    odd.collect()
}

#[cfg(test)]
mod tests {
    use std::fmt::Write;

    use super::super::{ClimateTable, FileUnits, ReadOptions, read_climate_bytes};
    use super::*;

    /// A wide table of whole years of one mild day, from the first of a year to the last of another;
    /// what `change` gives in its place stands for a day, and nothing drops its line.
    fn table(years: (i32, i32), change: impl Fn(&str) -> Option<String>) -> ClimateTable {
        let mut text = String::from("date,TMAX,TMIN,PRCP\n");
        let (first, last) = (Date::new(years.0, 1, 1).unwrap(), Date::new(years.1, 12, 31).unwrap());
        for date in
            std::iter::successors(Some(first), |date| Some(date.next())).take_while(|date| *date <= last)
        {
            // a little scatter: equal values have no deviation
            let usual = format!("{date},{},{},1", 20 + date.day % 5, 10 + date.day % 5);
            if let Some(line) =
                change(&date.to_string()).map(|line| if line.is_empty() { usual } else { line })
            {
                let _ = writeln!(text, "{line}");
            }
        }
        let options = ReadOptions { units: Some(FileUnits::Metric), years: None };
        read_climate_bytes(text.as_bytes(), &options).unwrap()
    }

    fn report(years: (i32, i32), change: impl Fn(&str) -> Option<String>) -> DayReport {
        table(years, change).days.unwrap()
    }

    #[test]
    fn missing_years_and_runs_are_told_by_element() {
        let days = report((2001, 2004), |date| match date {
            date if date.starts_with("2002") => None,
            // over the end of a year, and a single day without rain
            "2003-12-30" | "2003-12-31" | "2004-01-01" => None,
            "2004-02-29" => Some(format!("{date},21,11,")),
            _ => Some(String::new()),
        });
        assert_eq!(
            (days.first.to_string(), days.last.to_string()),
            ("2001-01-01".into(), "2004-12-31".into())
        );
        let shown =
            |at: usize| -> Vec<String> { days.elements[at].gaps.iter().map(ToString::to_string).collect() };
        assert_eq!(shown(0), ["2003-12-30 to 2004-01-01 (3 days)"]);
        assert_eq!(shown(2), ["2003-12-30 to 2004-01-01 (3 days)", "2004-02-29"]);
        assert!(days.elements.iter().all(|element| element.missing_years == [2002]));
        assert_eq!(days.elements[0].known, 365 + 363 + 365);
        assert!(days.odd.is_empty(), "{:?}", days.odd);
        assert!(days.left_out.is_empty(), "{:?}", days.left_out);
    }

    #[test]
    fn days_that_cannot_be_or_are_hard_to_believe_have_date_and_line() {
        let read = table((2001, 2004), |date| match date {
            "2001-01-03" => Some(format!("{date},3,9,0")),
            "2003-07-04" => Some(format!("{date},55,12,0")),
            "2004-02-29" => Some(format!("{date},21,22,501")),
            _ => Some(String::new()),
        });
        let odd = &read.days.as_ref().unwrap().odd;
        let shown: Vec<String> = odd.iter().map(ToString::to_string).collect();
        assert_eq!(shown[0], "line 4, 2001-01-03: maximum 3 degC is below minimum 9");
        // the same day is far below the mean of January too
        assert!(shown[1].starts_with("line 4, 2001-01-03: TMAX 3 degC is "), "{}", shown[1]);
        assert!(shown[2].starts_with("line 916, 2003-07-04: TMAX 55 degC is "), "{}", shown[2]);
        assert!(shown[3].contains("2004-02-29: maximum 21 degC is below minimum 22"), "{}", shown[3]);
        assert!(
            shown[4..].iter().any(|line| line.contains("2004-02-29: 501 mm of rain in a day")),
            "{shown:?}"
        );
        let faults: Vec<bool> = odd.iter().map(OddDay::is_fault).collect();
        assert_eq!(faults.iter().filter(|fault| **fault).count(), 2, "{shown:?}");
        assert!(
            read.notes.iter().any(|note| note.to_string() == "2 days have a maximum below their minimum")
        );
    }

    #[test]
    fn years_that_the_balance_leaves_out_are_named() {
        let days = report((2001, 2003), |date| (!date.starts_with("2002-05")).then(String::new));
        assert_eq!(days.left_out, [2002]);
        let all = report((2001, 2001), |date| (!date.starts_with("2001-05")).then(String::new));
        assert_eq!(all.left_out, [2001]);
    }

    /// A record that begins or ends within a year lacks nothing there, unless the user asked for more.
    #[test]
    fn the_span_is_that_of_the_record_or_of_the_user() {
        let dly = super::super::tests::fixture("ghcn-daily.dly");
        let own = read_climate_bytes(&dly, &ReadOptions::default()).unwrap().days.unwrap();
        assert_eq!(own.first.year, own.last.year);
        let years = Some((own.first.year - 2, own.first.year));
        let asked = read_climate_bytes(&dly, &ReadOptions { units: None, years }).unwrap().days.unwrap();
        assert_eq!(asked.elements[0].missing_years, [own.first.year - 2, own.first.year - 1]);
        assert_eq!(asked.flags, own.flags);
        assert_eq!(own.flags.quality.values().sum::<u32>(), 2);
        assert!(own.flags.measurement[&'T'] > 0);
    }
}
