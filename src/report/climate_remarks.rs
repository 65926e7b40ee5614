//! What `climate check` finds, in few lines, for those who only read a file: counts by kind with the first
//! places.

use std::mem::discriminant;

use crate::site::climate::check::{Finding, check};
use crate::site::climate::day_report::{DayReport, ElementDays, OddDay};
use crate::site::climate::{ClimateTable, Note};

/// Findings of one kind that are told; the rest are counted.
const TOLD: usize = 2;

/// What a check finds, shortened.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remarks {
    /// What cannot be, or makes the table unfit for use.
    pub faults: Vec<String>,
    /// What is worth a look.
    pub notes: Vec<String>,
}

impl Remarks {
    /// Of a table; its own notes are not among them.
    #[must_use]
    pub fn of(table: &ClimateTable) -> Self {
        let mut remarks = Self::default();
        let mut found = check(table);
        // those that are told in one line, or by the notes of the table
        let few_years = few_years(&found, years_in_notes(table));
        found.retain(|one| !matches!(one, Finding::FewYears { .. }));
        while let Some(first) = found.first() {
            let (kind, is_fault) = (discriminant(first), first.is_fault());
            let alike = |one: &&Finding| discriminant(*one) == kind && one.is_fault() == is_fault;
            let all: Vec<String> = found.iter().filter(alike).map(ToString::to_string).collect();
            found.retain(|one| discriminant(one) != kind || one.is_fault() != is_fault);
            remarks.list(is_fault).push(some_of(&all));
        }
        remarks.notes.extend(few_years);
        if let Some(days) = &table.days {
            remarks.days(days);
        }
        remarks
    }

    fn list(&mut self, is_fault: bool) -> &mut Vec<String> {
        if is_fault { &mut self.faults } else { &mut self.notes }
    }

    fn days(&mut self, days: &DayReport) {
        self.notes.extend(days.elements.iter().filter_map(gaps));
        for (is_fault, one, several) in [
            (true, "day cannot be", "days cannot be"),
            (false, "day is hard to believe", "days are hard to believe"),
        ] {
            let odd: Vec<&OddDay> = days.odd.iter().filter(|day| day.is_fault() == is_fault).collect();
            if let Some(first) = odd.first() {
                let (which, kind) = if odd.len() == 1 { ("", one) } else { ("the first ", several) };
                self.list(is_fault).push(format!("{} {kind}: {which}{first}", odd.len()));
            }
        }
    }
}

/// The first of a kind, and how many more there are.
fn some_of(all: &[String]) -> String {
    let told = all.iter().take(TOLD).cloned().collect::<Vec<_>>().join("; ");
    match all.len() - all.len().min(TOLD) {
        0 => told,
        more => format!("{told}; and {more} more of this kind"),
    }
}

/// Fewest years that the notes of the table tell.
fn years_in_notes(table: &ClimateTable) -> Option<u16> {
    let told = table.notes.iter().filter_map(|note| match note {
        Note::ShortRecord(years) | Note::PublisherYears(years) => Some(*years),
        _ => None,
    });
    told.min()
}

/// Series that rest on fewer years than was told already, in one line.
fn few_years(found: &[Finding], told: Option<u16>) -> Option<String> {
    let few = found.iter().filter_map(|one| match one {
        Finding::FewYears { series, years } if told.is_none_or(|told| *years < told) => {
            Some((*series, *years))
        }
        _ => None,
    });
    let (names, years): (Vec<&str>, Vec<u16>) = few.unzip();
    let least = years.into_iter().min()?;
    let plural = if least == 1 { "" } else { "s" };
    Some(format!(
        "as few as {least} year{plural} behind a month ({}); thirty are customary",
        names.join(", ")
    ))
}

/// Days that an element lacks.
fn gaps(element: &ElementDays) -> Option<String> {
    let name = element.element.code();
    let missing: usize = element.gaps.iter().map(|run| run.days).sum();
    let years = element.missing_years.len();
    let parts: Vec<String> = [
        (years > 0).then(|| {
            let first = element.missing_years.first().map(ToString::to_string).unwrap_or_default();
            format!("no day in {years} year{}, the first {first}", if years == 1 { "" } else { "s" })
        }),
        element.gaps.first().map(|longest| {
            let plural = if missing == 1 { "" } else { "s" };
            match element.gaps.len() {
                1 => format!("{missing} day{plural} missing, {longest}"),
                runs => format!("{missing} days missing in {runs} runs, the longest {longest}"),
            }
        }),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| format!("{name}: {}", parts.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::climate::{ReadOptions, read_climate_bytes};

    fn remarks(text: &str) -> Remarks {
        Remarks::of(&read_climate_bytes(text.as_bytes(), &ReadOptions::default()).unwrap())
    }

    /// A year of an invented station: the maximum of 3 May lies below its minimum, and of 4 May too; the
    /// second half of June is missing.
    fn year() -> String {
        let mut text = String::from("date,attr,value,a,b,c,d\n");
        let lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
        for (month, days) in lengths.into_iter().enumerate() {
            for day in 1..=days {
                if month == 5 && day > 15 {
                    continue;
                }
                let odd = month == 4 && (day == 3 || day == 4);
                let (high, low) = if odd { (50, 90) } else { (150 + 10 * month, 50) };
                for (element, value) in [("TMAX", high), ("TMIN", low), ("PRCP", 10)] {
                    text.push_str(&format!("2019{:02}{day:02},{element},{value},,,X,2400\n", month + 1));
                }
            }
        }
        text
    }

    #[test]
    fn days_are_counted_by_kind_with_the_first_place() {
        let found = remarks(&year());
        let odd = found.faults.iter().find(|words| words.contains("cannot be")).unwrap();
        assert!(odd.starts_with("2 days cannot be: the first line "), "{odd}");
        assert!(odd.contains("2019-05-03: maximum 5 degC is below minimum 9"), "{odd}");
        let gap = found.notes.iter().find(|words| words.starts_with("TMAX")).unwrap();
        assert_eq!(gap, "TMAX: 15 days missing, 2019-06-16 to 2019-06-30 (15 days)");
    }

    #[test]
    fn findings_of_a_kind_are_told_together() {
        let all = ["a", "b", "c", "d"].map(str::to_owned);
        assert_eq!(some_of(&all), "a; b; and 2 more of this kind");
        assert_eq!(some_of(&all[..1]), "a");
    }

    /// In the long layout a number that was cut off is still a number.
    #[test]
    fn a_file_that_ends_within_a_line_is_told() {
        let whole = year();
        let table = |text: &str| read_climate_bytes(text.as_bytes(), &ReadOptions::default()).unwrap();
        let open = |text: &str| table(text).notes.iter().any(|note| matches!(note, Note::LastLineOpen(_)));
        assert!(!open(&whole));
        assert!(open(whole.trim_end()));
        assert!(!open(&format!("{whole}\u{1a}")), "an end-of-file mark is no line");
    }
}
