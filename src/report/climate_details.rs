//! What `climate check` says of the days of a station and of the publisher's flags.

use std::fmt::Write;

use crate::site::climate::day_report::{DayReport, ElementDays};
use crate::site::climate::flags::{completeness_meaning, measurement_meaning, quality_meaning};
use crate::site::climate::{ClimateTable, Series};

/// Lines of one kind that are written; the rest are counted.
const MOST: usize = 10;
/// Gaps of an element that are named.
const GAPS_NAMED: usize = 3;

/// Writes the lines; whether any of them is a fault.
pub(super) fn details(text: &mut String, table: &ClimateTable) -> bool {
    completeness(text, table);
    table.days.as_ref().is_some_and(|days| {
        of_days(text, days);
        balance(text, table, days);
        days.odd.iter().any(|day| day.is_fault())
    })
}

/// Completeness flags of the publisher's normals, by series and letter.
fn completeness(text: &mut String, table: &ClimateTable) {
    let series: [(&str, &Series); 4] = [
        ("tmax_c", &table.tmax_c),
        ("tmin_c", &table.tmin_c),
        ("precip_mm", &table.precip_mm),
        ("wet days", &table.wet_days),
    ];
    for (name, months) in series {
        let letters: std::collections::BTreeSet<char> =
            months.iter().flatten().filter_map(|month| month.flag).collect();
        for letter in letters {
            let count = months.iter().flatten().filter(|month| month.flag == Some(letter)).count();
            let meaning = told(completeness_meaning(table.format, letter));
            let _ =
                writeln!(text, "  note: {name}: completeness {letter} in {} ({meaning})", months_of(count));
        }
    }
}

fn of_days(text: &mut String, days: &DayReport) {
    let _ = writeln!(text, "  days {} to {}", days.first, days.last);
    days.elements.iter().for_each(|element| gaps(text, element));
    for (kind, counts, meaning) in [
        ("quality", &days.flags.quality, quality_meaning as fn(char) -> Option<&'static str>),
        ("measurement", &days.flags.measurement, measurement_meaning),
    ] {
        let left_out = if kind == "quality" { ", left out" } else { "" };
        for (letter, count) in counts {
            let values = if *count == 1 { "value" } else { "values" };
            let meaning = told(meaning(*letter));
            let _ = writeln!(text, "  note: {kind} flag {letter} on {count} {values}{left_out} ({meaning})");
        }
    }
    for (word, fault) in [("fault", true), ("note", false)] {
        let kind: Vec<_> = days.odd.iter().filter(|day| day.is_fault() == fault).collect();
        for day in kind.iter().take(MOST) {
            let _ = writeln!(text, "  {word}: {day}");
        }
        if kind.len() > MOST {
            let _ = writeln!(text, "  {word}: {} more such days", kind.len() - MOST);
        }
    }
}

fn gaps(text: &mut String, element: &ElementDays) {
    let name = element.element.code();
    let _ = writeln!(text, "  {name}: {} with a value", days_of(element.known));
    if !element.missing_years.is_empty() {
        let _ = writeln!(text, "  note: {name}: no day in {}", years(&element.missing_years));
    }
    if element.gaps.is_empty() {
        return;
    }
    let missing: usize = element.gaps.iter().map(|run| run.days).sum();
    let named: Vec<String> = element.gaps.iter().take(GAPS_NAMED).map(ToString::to_string).collect();
    let longest = match element.gaps.len() {
        0..=GAPS_NAMED => named.join(", "),
        runs => format!("{runs} runs, the longest {}", named.join(", ")),
    };
    let _ = writeln!(text, "  note: {name}: {} missing: {longest}", days_of(missing));
}

/// What the balance by days makes of the record.
fn balance(text: &mut String, table: &ClimateTable, days: &DayReport) {
    let left_out = match days.left_out.is_empty() {
        true => String::new(),
        false => format!("; left out for too many missing days: {}", years(&days.left_out)),
    };
    let Some(record) = &table.daily else {
        let _ = writeln!(text, "  note: no year is whole enough for a balance by days{left_out}");
        return;
    };
    let _ = writeln!(text, "  note: the balance by days takes {}{left_out}", years(&record.years));
    if record.temperatures_filled > 0 {
        let filled = record.temperatures_filled;
        let values = if filled == 1 { "temperature" } else { "temperatures" };
        let _ = writeln!(text, "  note: in it {filled} {values} drawn between the neighbouring days");
    }
    if record.rain_taken_as_dry > 0 {
        let dry = days_of(record.rain_taken_as_dry);
        let _ = writeln!(text, "  note: in it {dry} without a report of rain taken as dry");
    }
}

fn told(meaning: Option<&'static str>) -> &'static str {
    meaning.unwrap_or("not in the publisher's list")
}

fn days_of(count: usize) -> String {
    format!("{count} day{}", if count == 1 { "" } else { "s" })
}

fn months_of(count: usize) -> String {
    format!("{count} month{}", if count == 1 { "" } else { "s" })
}

/// Years with those in a row drawn together: "1995 to 1997, 2001".
fn years(list: &[i32]) -> String {
    let mut runs: Vec<(i32, i32)> = Vec::new();
    for year in list {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *year => *last = *year,
            _ => runs.push((*year, *year)),
        }
    }
    let word = |(first, last): &(i32, i32)| match last - first {
        0 => first.to_string(),
        _ => format!("{first} to {last}"),
    };
    runs.iter().map(word).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn years_in_a_row_are_drawn_together() {
        assert_eq!(years(&[1995, 1996, 1997, 2001]), "1995 to 1997, 2001");
        assert_eq!(years(&[]), "");
    }
}
