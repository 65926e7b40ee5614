//! `tables/*.toml`: small cited tables that rules and formulas look up in.

use std::collections::HashMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::citation::{Citation, read_citations};
use super::names::{Declared, Faulty};
use super::values::{WhatIsRead, read_value};
use super::vocabulary::{Declaration, Kind, Vocabulary};
use super::vocabulary_file::refuse_other_unit;
use crate::diag::{Finding, Findings, Place, Source, nearest};
use crate::document::{NodeKind, Table, TableReader};
use crate::engine::value::{Space, Value};
use crate::units::Unit;

/// A column of a table.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub meaning: String,
    /// Its type.
    pub kind: Kind,
    /// One value for each step or name of the key; `None` where the table has no row.
    pub values: Arc<[Option<Value>]>,
}

/// A table keyed by the steps of a scale or the names of a choice.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct LookupTable {
    /// Its name.
    pub id: String,
    /// As reports print it.
    pub title: String,
    /// The scale or choice of its rows.
    pub key_kind: Kind,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Where it comes from.
    pub citations: Vec<Citation>,
    /// Where it stands.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

impl LookupTable {
    /// The number in a column at a position of the key.
    pub fn number(&self, position: usize, column: &str) -> Option<f64> {
        self.value(position, column)?.as_number()
    }

    /// The value in a column at a position of the key.
    pub fn value(&self, position: usize, column: &str) -> Option<&Value> {
        let column = self.columns.iter().find(|own| own.name == column)?;
        column.values.get(position)?.as_ref()
    }
}

/// The columns that formulas look up in by their names; those that rules name are held against the rules.
const READ_BY_PROGRAM: [(&str, &[&str]); 9] = [
    ("care-hours", &["sward_h_per_month", "cover_h_per_month"]),
    ("exposure", &["sun_hours", "shade"]),
    ("infiltration", &["low", "high"]),
    ("irrigation", &["share_of_et0", "days_per_week", "depth_mm"]),
    (
        "kind-upkeep",
        &[
            "share_of_growing_months",
            "share_of_warm_growth",
            "share_of_cool_growth",
            "share_of_sward_care",
            "mowing_borne",
        ],
    ),
    ("mowing-borne", &["cuts_per_yr", "cuts_per_month"]),
    ("mowing-need", &["cuts_per_week"]),
    ("mowing-use", &["share_of_growth", "cuts_per_yr", "mowing_m2_h"]),
    ("neighbours", &["creeps_from"]),
];

/// Reads one table; one that cannot be used is noted as faulty.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    declared: Declared<'_>,
    faulty: &mut Faulty,
    findings: &mut Findings,
) -> Option<LookupTable> {
    let read = read_sound(source, table, declared, findings);
    if let (None, Some(id)) = (&read, table.get("id").and_then(|entry| entry.node.as_text())) {
        faulty.note(format!("tables.{id}"));
    }
    read
}

fn read_sound(
    source: &Arc<Source>,
    table: &Table,
    Declared { vocabulary, sources }: Declared<'_>,
    findings: &mut Findings,
) -> Option<LookupTable> {
    let mut file = TableReader::of_file(source, table, "a table");
    let id = file.required_text("id", findings).map(str::to_owned);
    let title = file.required_text("title", findings).unwrap_or_default().to_owned();
    let key = file.table("key", "the key of a table", findings);
    let columns = file.tables("columns", "a column", findings);
    let rows = file.list("rows", findings).unwrap_or_default();
    let citations = read_citations(&mut file, sources, findings);
    let place = file.own_place();
    file.finish(findings);

    let mut key = key?;
    key.required_text("name", findings);
    let of = key.required_text("of", findings)?;
    let key_place = key.own_place();
    key.finish(findings);
    let key_kind = (vocabulary.list_named(of, true).map(Kind::Scale))
        .or_else(|| vocabulary.list_named(of, false).map(Kind::Choice));
    let Some(key_kind @ (Kind::Scale(list) | Kind::Choice(list))) = key_kind else {
        let message = format!("no scale or choice is called `{of}`");
        let finding = Finding::error("unknown-list", &key_place, message);
        findings.push(finding.undeclared(format!("list.{of}")));
        return None;
    };
    let bare = |id: &str, kind| Declaration::bare(id, Space::Site, kind);
    let key_declaration = bare("key", key_kind);
    // a column with a fault keeps its place, so that the rows are not blamed for it
    let heads: Vec<Option<(String, String, Kind)>> =
        columns.into_iter().map(|column| read_column(column, vocabulary, findings)).collect();
    let mut values = vec![vec![None; vocabulary.list(list).names.len()]; heads.len()];
    let mut first_rows: HashMap<usize, Place> = HashMap::new();
    for row in rows {
        let row_place = Place { source: source.clone(), span: row.span.range() };
        let NodeKind::List(cells) = &row.kind else {
            let message = format!("a row of this table must be a list of cells, not {}", row.type_name());
            findings.push(Finding::error("bad-row", &row_place, message));
            continue;
        };
        if cells.len() != heads.len() + 1 {
            let message = format!("a row of this table has {} cells, not {}", heads.len() + 1, cells.len());
            // `0,5` is two cells
            let help = (cells.len() > heads.len() + 1)
                .then(|| "decimals stand behind a point, and cells are set apart by commas".to_owned());
            findings.push(Finding::error("bad-row", &row_place, message).maybe_help(help));
            continue;
        }
        let what = |node, name| WhatIsRead { source, node, name, unit: None };
        let Some(at) = read_value(vocabulary, &key_declaration, what(&cells[0], "key"), findings) else {
            continue;
        };
        let Some(at) = at.as_position() else { continue };
        let own_place = Place { source: source.clone(), span: cells[0].span.range() };
        if let Some(first) = first_rows.get(&at) {
            let message = format!("the row of `{}` stands twice", vocabulary.list(list).names[at]);
            let finding = Finding::error("row-twice", &own_place, message).also(first, "first here");
            findings.push(finding.help("keep one of the two rows"));
            continue;
        }
        first_rows.insert(at, own_place);
        for ((cell, head), column) in cells[1..].iter().zip(&heads).zip(&mut values) {
            let Some((name, _, kind)) = head else { continue };
            column[at] = read_value(vocabulary, &bare(name, *kind), what(cell, name), findings);
        }
    }
    let columns: Option<Vec<Column>> = heads
        .into_iter()
        .zip(values)
        .map(|(head, values)| {
            head.map(|(name, meaning, kind)| Column { name, meaning, kind, values: values.into() })
        })
        .collect();
    let read = LookupTable { id: id?, title, key_kind, columns: columns?, citations, place };
    refuse_missing_columns(&read, findings);
    Some(read)
}

/// Refuses a table without a column that the program looks up in: what is computed from it would be unknown
/// without a word.
fn refuse_missing_columns(table: &LookupTable, findings: &mut Findings) {
    let Some((_, read)) = READ_BY_PROGRAM.iter().find(|(id, _)| *id == table.id) else { return };
    let has = |wanted: &str| table.columns.iter().any(|column| column.name == wanted);
    for wanted in read.iter().copied().filter(|wanted| !has(wanted)) {
        let message = format!("`{}` has no column `{wanted}`, and the program looks up in it", table.id);
        let others = table.columns.iter().map(|column| column.name.as_str());
        let help = match nearest(wanted, others.filter(|name| !read.contains(name))) {
            Some(near) => format!("write `{wanted}` where `columns` says `{near}`"),
            None => "add it to `columns` and to every row".to_owned(),
        };
        findings.push(Finding::error("missing-column", &table.place, message).help(help));
    }
}

fn read_column(
    mut column: TableReader<'_>,
    vocabulary: &Vocabulary,
    findings: &mut Findings,
) -> Option<(String, String, Kind)> {
    let name = column.required_text("name", findings).map(str::to_owned);
    let meaning = column.text("meaning", findings).unwrap_or_default().to_owned();
    let unit = column.text("unit", findings);
    let of = column.text("of", findings);
    let place = column.own_place();
    let unit_place = column.node("unit").map_or_else(|| place.clone(), |node| column.place(node.span));
    column.finish(findings);
    let kind = match (unit, of) {
        (Some(unit), None) => Unit::named(unit).map(Kind::Number),
        (None, Some(of)) => vocabulary.list_named(of, true).map(Kind::Scale),
        _ => None,
    };
    if kind.is_none() {
        let (message, near) = match (unit, of) {
            (Some(unit), None) => {
                (format!("unknown unit `{unit}`"), nearest(unit, Unit::all().iter().map(|unit| unit.name)))
            }
            (None, Some(of)) => {
                let scales = vocabulary.lists.iter().filter(|list| list.ordered).map(|list| list.id.as_str());
                (format!("no scale is called `{of}`"), nearest(of, scales))
            }
            _ => ("a column has either a `unit` or `of` a scale".to_owned(), None),
        };
        let help = near.map(|name| format!("did you mean `{name}`?"));
        let finding = Finding::error("bad-column", &place, message).maybe_help(help);
        let undeclared = of.filter(|_| unit.is_none()).map(|of| format!("list.{of}"));
        findings.push(Finding { undeclared, ..finding });
    }
    if let (Some(name), Some(unit)) = (&name, kind.and_then(Kind::unit)) {
        refuse_other_unit(name, unit, &unit_place, findings);
    }
    Some((name?, meaning, kind?))
}
