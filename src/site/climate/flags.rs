//! The letters with which NOAA marks values, counted and told in words.
//!
//! Days: GHCN-Daily `readme.txt`, section III, MFLAG and QFLAG (read in public copies of it).
//! Normals: readme of the 1981-2010 normals, section VI; 2020 normals calculation methodology,
//! table 2.

use std::collections::BTreeMap;

use super::daily::Element;
use super::normals::Format;

/// How often each flag was met in the days of a station, maximum, minimum and rain together.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FlagCounts {
    /// Of how a value was taken; values that failed a check are not in it.
    pub measurement: BTreeMap<char, u32>,
    /// Of the check that a value failed.
    pub quality: BTreeMap<char, u32>,
    traces: u32,
}

impl FlagCounts {
    /// Counts the flags of a value; whether it is to be kept.
    fn keep(&mut self, element: Element, measurement: &str, quality: &str) -> bool {
        if let Some(letter) = quality.chars().next() {
            *self.quality.entry(letter).or_default() += 1;
            return false;
        }
        if let Some(letter) = measurement.chars().next() {
            *self.measurement.entry(letter).or_default() += 1;
            self.traces += u32::from(element == Element::Precip && letter == 'T');
        }
        true
    }

    fn add(&mut self, other: &Self) {
        for (all, some) in [(&mut self.measurement, &other.measurement), (&mut self.quality, &other.quality)]
        {
            for (letter, count) in some {
                *all.entry(*letter).or_default() += count;
            }
        }
        self.traces += other.traces;
    }

    /// Values that failed a check.
    pub(super) fn dropped(&self) -> u32 {
        self.quality.values().sum()
    }

    /// Days with a trace of rain.
    pub(super) const fn traces(&self) -> u32 {
        self.traces
    }
}

/// The same for each year of a station.
#[derive(Default)]
pub(super) struct YearlyFlags(BTreeMap<i32, FlagCounts>);

impl YearlyFlags {
    /// Counts the flags of a value of that year; whether it is to be kept.
    pub(super) fn keep(&mut self, year: i32, element: Element, measurement: &str, quality: &str) -> bool {
        let bare = measurement.is_empty() && quality.is_empty();
        bare || self.0.entry(year).or_default().keep(element, measurement, quality)
    }

    /// Of all years from the first to the last.
    pub(super) fn within(&self, first: i32, last: i32) -> FlagCounts {
        let mut all = FlagCounts::default();
        let years = self.0.iter().filter(|(year, _)| (first..=last).contains(*year));
        years.for_each(|(_, counts)| all.add(counts));
        all
    }
}

/// What a measurement flag of GHCN-Daily says; `None` for a letter that its readme does not have.
#[must_use]
pub const fn measurement_meaning(letter: char) -> Option<&'static str> {
    Some(match letter {
        'B' => "rain added up from two totals of 12 hours",
        'D' => "rain added up from four totals of 6 hours",
        'H' => "highest or lowest of hourly temperatures",
        'K' => "converted from knots",
        'L' => "temperature seems to belong to another time than that of its reading",
        'O' => "converted from oktas",
        'P' => "missing, and presumed to be zero",
        'T' => "a trace, too little to measure",
        'W' => "converted from a code of 16 points",
        _ => return None,
    })
}

/// Which check a quality flag of GHCN-Daily says that the value failed.
#[must_use]
pub const fn quality_meaning(letter: char) -> Option<&'static str> {
    Some(match letter {
        'D' => "repeats the values of another year or month",
        'G' => "stands apart from all other values by a gap",
        'I' => "contradicts another value of the day",
        'K' => "the same value too often or too long in a row",
        'L' => "total of several days of doubtful length",
        'M' => "contradicts another value of the whole record",
        'N' => "zeros where there must be none",
        'O' => "far from what the climate has",
        'R' => "too far from the values of the days about it",
        'S' => "unlike the stations about it",
        'T' => "a leap from one day to the next",
        'W' => "too warm for the snow reported",
        'X' => "outside what the earth has",
        'Z' => "found wrong by an inquiry",
        _ => return None,
    })
}

/// What a completeness flag of an edition of the NOAA normals says.
#[must_use]
pub fn completeness_meaning(format: Format, letter: char) -> Option<&'static str> {
    Some(match (format, letter) {
        (Format::NoaaNormals1981 | Format::NoaaNormals1991, 'C') => "complete, all 30 years",
        (Format::NoaaNormals1991, 'S') => "standard, 24 years or more",
        (Format::NoaaNormals1991, 'R') => "10 years or more, gaps filled from neighbouring stations",
        (Format::NoaaNormals1991, 'P') => "provisional, 10 years or more, gaps not filled",
        (Format::NoaaNormals1991, 'E') => "estimated from 2 years or more",
        (Format::NoaaNormals1981, 'S') => "standard, at most 5 years missing, at most 3 in a row",
        (Format::NoaaNormals1981, 'R') => "incomplete, scaled or filled to stand for the 30 years",
        (Format::NoaaNormals1981, 'P') => "provisional, 10 years or more",
        (Format::NoaaNormals1981, 'Q') => "quasi-normal, from 2 years or more by way of neighbours",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flags_are_those_of_the_years_asked_for() {
        let mut flags = YearlyFlags::default();
        assert!(!flags.keep(2001, Element::Tmax, "", "I"));
        assert!(flags.keep(2002, Element::Precip, "T", ""));
        assert!(flags.keep(2002, Element::Tmin, "", ""));
        assert!(!flags.keep(2003, Element::Tmin, "", "I"));
        let of = |first, last| flags.within(first, last);
        assert_eq!((of(2001, 2001).dropped(), of(2001, 2001).traces()), (1, 0));
        assert_eq!((of(2002, 2002).dropped(), of(2002, 2002).traces()), (0, 1));
        assert_eq!((of(2001, 2003).dropped(), of(2001, 2003).quality[&'I']), (2, 2));
        assert_eq!(of(1990, 2000), FlagCounts::default());
    }
}
