//! Merged values of traits as a table: species by species, with spread and what they rest on.

use super::csv_text::{csv_number, csv_text};
use super::layout::{Look, keep_whole, table_text};
use super::selection::{Selection, short};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::backing::Backing;
use crate::knowledge::species::TraitValue;
use crate::knowledge::strict::share;
use crate::knowledge::vocabulary::{Declaration, Kind};
use crate::units::UnitSystem;

/// Columns of the CSV.
const COLUMNS: [&str; 13] = [
    "species",
    "common_name",
    "kind",
    "trait",
    "value",
    "low",
    "high",
    "unit",
    "entries",
    "sourced_entries",
    "sourced_pct",
    "rests_on",
    "estimated",
];

/// One block a trait, for people.
pub fn trait_text(knowledge: &Knowledge, selection: &Selection, look: &Look) -> String {
    let blocks = selection.traits.iter().map(|index| block(knowledge, selection, *index, look));
    blocks.collect::<Vec<_>>().join("\n")
}

fn block(knowledge: &Knowledge, selection: &Selection, index: usize, look: &Look) -> String {
    let declaration = &knowledge.vocabulary.species[index];
    let mark = if declaration.key_trait { " (key trait)" } else { "" };
    let mut text = look.heading(&format!("{}{mark}: {}", short(declaration), declaration.meaning));
    let mut table = look.wrapping_table();
    table.set_header(["species", "value", "spread", "rests on", "sourced entries"]);
    let mut absent = Vec::new();
    let mut rows = 0;
    for at in &selection.species {
        let species = &knowledge.species[*at];
        let Some(value) = &species.traits[index] else {
            absent.push(species.id.as_str());
            continue;
        };
        rows += 1;
        let sourced = match (value.evidence.len(), sourced(value)) {
            (0, _) => String::new(),
            (all, count) => format!("{:.0} % of {all}", share(count, all)),
        };
        table.add_row([
            species.id.clone(),
            knowledge.vocabulary.write(&value.value, declaration.kind, look.units),
            spread(knowledge, declaration, value, look.units),
            rests_on(value).to_owned(),
            sourced,
        ]);
    }
    if rows > 0 {
        keep_whole(&mut table, 0);
        text.push_str(&table_text(&table));
    }
    if !absent.is_empty() {
        text.push_str(&look.paragraph(1, &format!("not known of {}: {}", absent.len(), absent.join(", "))));
    }
    text
}

/// Lowest to highest of all sources, where they differ.
fn spread(knowledge: &Knowledge, declaration: &Declaration, value: &TraitValue, units: UnitSystem) -> String {
    match (value.spread, declaration.kind) {
        (Some((low, high)), Kind::Number(unit)) if low < high => units.write_range(low, high, unit),
        (Some((low, high)), Kind::Scale(_)) if low < high => {
            let step = |at: f64| knowledge.vocabulary.write(&Value::Step(at as u8), declaration.kind, units);
            format!("{} to {}", step(low), step(high))
        }
        _ => String::new(),
    }
}

fn sourced(value: &TraitValue) -> usize {
    value.evidence.iter().filter(|entry| !entry.citation.is_unpublished()).count()
}

fn rests_on(value: &TraitValue) -> &'static str {
    Backing::of(value).map_or("estimate", Backing::name)
}

/// One row a trait and species, in the units of the vocabulary; what is not known has an empty value.
pub fn trait_csv(knowledge: &Knowledge, selection: &Selection) -> String {
    let mut rows = vec![COLUMNS.map(str::to_owned).to_vec()];
    for index in &selection.traits {
        let declaration = &knowledge.vocabulary.species[*index];
        for at in &selection.species {
            let species = &knowledge.species[*at];
            let value = species.traits[*index].as_ref();
            let [figure, low, high] =
                value.map(|value| cells(knowledge, declaration, value)).unwrap_or_default();
            let entries = value.map_or(0, |value| value.evidence.len());
            let count = value.map_or(0, sourced);
            rows.push(vec![
                species.id.clone(),
                species.name().to_owned(),
                knowledge.kind_name(species.kind).to_owned(),
                short(declaration).to_owned(),
                figure,
                low,
                high,
                declaration.kind.unit().map_or("", |unit| unit.name).to_owned(),
                entries.to_string(),
                count.to_string(),
                if entries == 0 { String::new() } else { csv_number(share(count, entries).round()) },
                value.map_or("", rests_on).to_owned(),
                value.is_some_and(|value| value.estimated.is_some()).to_string(),
            ]);
        }
    }
    csv_text(rows)
}

/// Value, low and high as species files write them.
fn cells(knowledge: &Knowledge, declaration: &Declaration, value: &TraitValue) -> [String; 3] {
    let names = |kind: Kind| match kind {
        Kind::Scale(list) | Kind::Choice(list) | Kind::Set(list) => {
            &knowledge.vocabulary.list(list).names[..]
        }
        _ => &[],
    };
    let names = names(declaration.kind);
    let name = |at: u8| names.get(usize::from(at)).cloned().unwrap_or_default();
    let number = |base: f64| {
        csv_number(
            declaration
                .kind
                .unit()
                .map_or(base, |unit| if base.is_finite() { unit.express(base) } else { base }),
        )
    };
    let figure = match &value.value {
        Value::Number(base) => number(*base),
        Value::Range(low, high) => return [String::new(), number(*low), number(*high)],
        Value::Months(months) => months.iter().map(|base| number(*base)).collect::<Vec<_>>().join("; "),
        Value::Flag(flag) => flag.to_string(),
        Value::Step(at) | Value::Choice(at) => name(*at),
        Value::Set(bits) => {
            (0..64u8).filter(|at| bits >> at & 1 == 1).map(name).collect::<Vec<_>>().join("; ")
        }
        Value::Text(text) => text.to_string(),
        Value::Texts(texts) => texts.join("; "),
        Value::Mask(_) => String::new(),
    };
    let end = |end: f64| if names.is_empty() { number(end) } else { name(end as u8) };
    let (low, high) = value.spread.map(|(low, high)| (end(low), end(high))).unwrap_or_default();
    [figure, low, high]
}
