//! Temperature, light and water of a species at a site, month by month.

use comfy_table::{CellAlignment, Table, presets};

use super::layout::{Look, table_text};
use crate::assess::{Assessment, Candidate};
use crate::site::soil_water::MonthWater;
use crate::units::{Unit, UnitSystem, format_number};

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
/// Facts of the site with a column, and the head of the column without its unit.
const FACTS: [(&str, &str); 5] = [
    ("site.tmax_c", "max"),
    ("site.tmin_c", "min"),
    ("site.dli_months", "light"),
    ("site.precip_mm", "rain"),
    ("site.et0_mm", "ET0"),
];
/// A quantity of the balance with the head of its column.
type WaterColumn = (&'static str, fn(&MonthWater) -> f64);
/// Depths of water, mm.
const DEPTHS: [WaterColumn; 3] =
    [("demand", |month| month.etc), ("used", |month| month.eta), ("irrig.", |month| month.irrigation)];
/// Numbers of days.
const DAYS: [WaterColumn; 2] =
    [("short", |month| month.stress_days), ("wilting", |month| month.wilting_days)];

/// The table; columns of what is unknown are left out.
pub fn month_table(assessment: &Assessment<'_>, candidate: &Candidate<'_>, look: &Look) -> String {
    let mut columns: Vec<(String, Vec<String>)> = Vec::new();
    for (id, head) in FACTS {
        let vocabulary = &assessment.knowledge.vocabulary;
        let Some(slot) = vocabulary.slot(id) else { continue };
        let months = assessment.values[slot.index].as_ref().and_then(|value| value.as_months());
        if let (Some(months), Some(unit)) = (months, vocabulary.site[slot.index].kind.unit()) {
            let unit = look.units.unit(unit);
            let cells = months.iter().map(|value| format_number(round(unit.express(*value)))).collect();
            columns.push((format!("{head} {}", unit.symbol), cells));
        }
    }
    if let Some(water) = assessment.monthly_water(candidate) {
        let unit = if look.units == UnitSystem::Us { "in" } else { "mm" };
        for (head, pick) in DEPTHS {
            let cells = water.iter().map(|month| {
                let metres = pick(month) / 1000.0;
                format_number(Unit::named(unit).map_or(0.0, |unit| round(unit.express(metres))))
            });
            columns.push((format!("{head} {unit}"), cells.collect()));
        }
        for (head, pick) in DAYS {
            let cells = water.iter().map(|month| format_number(pick(month).round()));
            columns.push((format!("{head} days"), cells.collect()));
        }
    }
    let mut text = String::from("Month by month\n");
    let mut left = &columns[..];
    while !left.is_empty() {
        // a table takes as many columns as find room, and one in any case
        let (block, count) = (1..=left.len())
            .map(|count| (block(&left[..count]), count))
            .take_while(|(block, count)| *count == 1 || widest(block) <= look.columns())
            .last()
            .unwrap_or_default();
        text.push_str(&block);
        text.push('\n');
        left = &left[count.max(1)..];
    }
    let words = "demand, used and irrigation are means a month of the daily balance; short days are those \
                 on which demand is not met in full.";
    text + &look.paragraph(2, words) + "\n"
}

/// A table of some columns behind the names of the months.
fn block(columns: &[(String, Vec<String>)]) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header(
        [String::new()].into_iter().chain(columns.iter().map(|(head, _)| head.replace(' ', "\n"))),
    );
    for (month, name) in MONTHS.into_iter().enumerate() {
        table.add_row([name].into_iter().chain(columns.iter().map(|(_, cells)| cells[month].as_str())));
    }
    for column in 1..=columns.len() {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table_text(&table)
}

fn widest(text: &str) -> usize {
    text.lines().map(|line| line.chars().count()).max().unwrap_or_default()
}

/// One decimal is all that monthly figures carry.
fn round(number: f64) -> f64 {
    (number * 10.0).round() / 10.0
}
