//! Temperature, light and water of a species at a site, month by month.

use comfy_table::{CellAlignment, Table, presets};

use super::layout::{Look, table_text};
use crate::assess::{Assessment, Candidate};
use crate::explain::awaited_names;
use crate::site::daily_weather::WeatherOrigin;
use crate::site::soil_water::{Irrigation, MonthWater};
use crate::site::solar::DAYS_IN_MONTH;
use crate::site::water_balance::{STORE_BESIDE_TREE_ROOTS, SpeciesMonths, WATER_BESIDE_TREE_ROOTS};
use crate::units::factors::INCH_MM;
use crate::units::{Unit, UnitSystem, format_number};

/// The months, and the year behind them.
const ROWS: [&str; 13] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec", "Year"];
/// What the last row says of a column.
#[derive(Clone, Copy)]
enum Year {
    /// Mean of the months, each by its days.
    Mean,
    /// Sum of the months.
    Sum,
}

impl Year {
    fn of(self, months: &[f64; 12]) -> f64 {
        match self {
            Self::Sum => months.iter().sum(),
            Self::Mean => {
                let weighted: f64 = months.iter().zip(DAYS_IN_MONTH).map(|(m, d)| m * f64::from(d)).sum();
                weighted / f64::from(DAYS_IN_MONTH.iter().sum::<u16>())
            }
        }
    }
}

/// Facts of the site with a column, the head of the column without its unit, and its year.
const FACTS: [(&str, &str, Year); 5] = [
    ("site.tmax_c", "max", Year::Mean),
    ("site.tmin_c", "min", Year::Mean),
    ("site.dli_months", "light", Year::Mean),
    ("site.precip_mm", "rain", Year::Sum),
    ("site.et0_mm", "ET0", Year::Sum),
];
/// A quantity of the balance with the head of its column.
type WaterColumn = (&'static str, fn(&MonthWater) -> f64);
/// Depths of water, mm.
const DEPTHS: [WaterColumn; 3] =
    [("demand", |month| month.etc), ("used", |month| month.eta), ("irrig.", |month| month.irrigation)];
/// Numbers of days.
const DAYS: [WaterColumn; 2] = [("short", |month| month.stress_days), ("wilt", |month| month.wilting_days)];

/// A column: its head, and a cell for each of [`ROWS`].
type Column = (String, Vec<String>);

/// The table; columns of what is unknown are left out.
pub fn month_table(assessment: &Assessment<'_>, candidate: &Candidate<'_>, look: &Look) -> String {
    let water = assessment.monthly_water(candidate);
    let mut columns = columns_of_site(assessment, look);
    columns.extend(water.iter().flat_map(|water| columns_of_water(water, look)));
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
    let told = match &water {
        Some(water) => told_of_water(water, assessment, look),
        None => {
            let unknown = unknown_of_water(assessment);
            let why = if unknown.is_empty() { String::new() } else { format!(": not known is {unknown}") };
            format!("Water by months is not worked out{why}.")
        }
    };
    text + &look.paragraph(2, &told) + "\n"
}

fn columns_of_site(assessment: &Assessment<'_>, look: &Look) -> Vec<Column> {
    let mut columns = Vec::new();
    for (id, head, year) in FACTS {
        let vocabulary = &assessment.knowledge.vocabulary;
        let Some(slot) = vocabulary.slot(id) else { continue };
        let months = assessment.values[slot.index].as_ref().and_then(|value| value.as_months());
        if let (Some(months), Some(unit)) = (months, vocabulary.site[slot.index].kind.unit()) {
            let unit = look.units.unit(unit);
            let year = year.of(months);
            let all = months.iter().chain([&year]);
            let cells = all.map(|value| format_number(round(unit.express(*value)))).collect();
            columns.push((format!("{head} {}", unit.symbol), cells));
        }
    }
    columns
}

fn columns_of_water(water: &SpeciesMonths, look: &Look) -> Vec<Column> {
    let mut columns = Vec::new();
    let unit = if look.units == UnitSystem::Us { "in" } else { "mm" };
    for (head, pick) in DEPTHS {
        let months = water.months.each_ref().map(pick);
        let cells = months.into_iter().chain([Year::Sum.of(&months)]).map(|mm| {
            let metres = mm / 1000.0;
            format_number(Unit::named(unit).map_or(0.0, |unit| round(unit.express(metres))))
        });
        columns.push((format!("{head} {unit}"), cells.collect()));
    }
    let shares = water.months.iter().map(|month| demand_met(std::slice::from_ref(month)));
    let shares = shares.chain([demand_met(&water.months)]);
    let cells =
        shares.map(|share| share.map_or_else(|| "-".to_owned(), |share| format!("{:.0}", 100.0 * share)));
    columns.push(("met %".to_owned(), cells.collect()));
    for (head, pick) in DAYS {
        let months = water.months.each_ref().map(pick);
        let all = months.into_iter().chain([Year::Sum.of(&months)]);
        // halves go the way that the figures of the year go elsewhere in an answer
        let cells = all.map(|days| format!("{days:.0}"));
        columns.push((format!("{head} days"), cells.collect()));
    }
    columns
}

/// What the columns of water mean, and what they rest on.
fn told_of_water(water: &SpeciesMonths, assessment: &Assessment<'_>, look: &Look) -> String {
    let words = "demand, used and irrigation are means a month of the daily balance, irrigation as much as is put on \
                 where water is given on every day that the rule allows until the soil is full (keeping green takes \
                 less: see above), and met is what is used of the demand; short days are those on which demand is not met in full, wilt days those at \
                 wilting. The year is the mean of temperatures and light, the sum of the rest.";
    let rain = rain_words(assessment, look).unwrap_or_default();
    let trees = match water.beside_trees {
        Some(true) => {
            let percent = |share: f64| format_number((share * 100.0).round());
            format!(
                " Tree roots share the soil: {} % of what it holds is counted on, and of rain and irrigation {} % \
                 come to the plant.",
                percent(STORE_BESIDE_TREE_ROOTS),
                percent(WATER_BESIDE_TREE_ROOTS)
            )
        }
        None => {
            " It is not known whether tree roots share the soil; the table supposes none, and with them there is less."
                .to_owned()
        }
        Some(false) => String::new(),
    };
    let from_below = if water.from_below {
        " The ground stays moist: water from below is counted on to meet what rain does not, without irrigation."
    } else {
        ""
    };
    let cap = water.capped.map(|given| cap_words(&given, look)).unwrap_or_default();
    format!("{words}{rain}{from_below}{cap}{trees}")
}

/// Facts of the site without which no months of water can be worked out.
const OF_WATER: [&str; 6] =
    ["site.et0_mm", "site.precip_mm", "site.taw_mm_m", "site.soil_depth_cm", "site.irrigation", "site.shade"];

/// What those of them wait for that are not known, as the figures of the year name it.
fn unknown_of_water(assessment: &Assessment<'_>) -> String {
    let slots = OF_WATER.iter().filter_map(|id| assessment.knowledge.vocabulary.slot(id));
    let unknown: Vec<_> = slots.filter(|slot| assessment.values[slot.index].is_none()).collect();
    awaited_names(assessment, unknown.iter())
}

/// Share of the unstressed demand (ETc) of some months that is met; `None` where nothing is asked for.
pub fn demand_met(months: &[MonthWater]) -> Option<f64> {
    let (demand, used) =
        months.iter().fold((0.0, 0.0), |(demand, used), month| (demand + month.etc, used + month.eta));
    (demand > 0.0).then(|| used / demand)
}

/// Rain of the days that the balance runs on, where those are a station's: the column of rain may be of more
/// years than these.
fn rain_words(assessment: &Assessment<'_>, look: &Look) -> Option<String> {
    let [days] = &assessment.weather.as_ref()?.days[..] else { return None };
    if *days.origin() != WeatherOrigin::Records {
        return None;
    }
    let metres = days.rain_mm().iter().sum::<f64>() / 1000.0 / days.years() as f64;
    let rain = look.units.tell(metres, Unit::named("mm")?);
    Some(format!(
        " Rain is the mean of all years that were read or stated; the whole years that the balance runs on \
         have {rain} a year."
    ))
}

/// How the water of a season's cap is given in the table, and which figure is not of it.
fn cap_words(given: &Irrigation, look: &Look) -> String {
    let (depth, unit) = match look.units {
        UnitSystem::Us => (given.depth.0 / INCH_MM, "in"),
        _ => (given.depth.0, "mm"),
    };
    let days = given.days_per_week;
    let plural = if days == 1 { "" } else { "s" };
    let depth = format_number(round(depth));
    format!(
        " Water is given on {days} day{plural} a week, up to {depth} {unit} a day; in a year that would take \
         more than the season's water so, only as far as it fills the soil to the level that the season's \
         water lasts for, which keeps it as even as can be. Of the numbers of days that are allowed this one \
         meets most of the demand; each figure among the reasons is of the one that serves it best, and the \
         longest run at wilting supposes that the water is kept back for survival instead where that \
         shortens the run."
    )
}

/// A table of some columns behind the names of the months.
fn block(columns: &[(String, Vec<String>)]) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header(
        [String::new()].into_iter().chain(columns.iter().map(|(head, _)| head.replace(' ', "\n"))),
    );
    for (row, name) in ROWS.into_iter().enumerate() {
        table.add_row([name].into_iter().chain(columns.iter().map(|(_, cells)| cells[row].as_str())));
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
