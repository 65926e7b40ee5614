//! `tables/*.toml`: small cited tables that rules and formulas look up in.

use std::sync::Arc;

use super::citation::{Citation, read_citations};
use super::sources::Sources;
use super::values::{WhatIsRead, read_value};
use super::vocabulary::{Change, Declaration, From, Kind, Merge, Vocabulary};
use crate::diag::{Finding, Findings, Place, Source, nearest};
use crate::document::{NodeKind, Table, TableReader};
use crate::engine::value::{Space, Value};
use crate::units::Unit;

/// A column of a table.
#[derive(Clone, Debug)]
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
#[derive(Clone, Debug)]
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

/// Reads one table.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    vocabulary: &Vocabulary,
    sources: &Sources,
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
        findings.push(Finding::error("unknown-list", &key_place, message));
        return None;
    };
    let key_declaration = declaration("key", key_kind);
    let heads: Vec<(String, String, Kind)> =
        columns.into_iter().filter_map(|column| read_column(column, vocabulary, findings)).collect();
    let mut values = vec![vec![None; vocabulary.list(list).names.len()]; heads.len()];
    for row in rows {
        let row_place = Place { source: source.clone(), span: row.span.range() };
        let NodeKind::List(cells) = &row.kind else {
            let message = format!("a row of this table must be a list of cells, not {}", row.type_name());
            findings.push(Finding::error("bad-row", &row_place, message));
            continue;
        };
        if cells.len() != heads.len() + 1 {
            let message = format!("a row of this table has {} cells, not {}", heads.len() + 1, cells.len());
            findings.push(Finding::error("bad-row", &row_place, message));
            continue;
        }
        let what = |node, name| WhatIsRead { source, node, name, unit: None };
        let Some(at) = read_value(vocabulary, &key_declaration, what(&cells[0], "key"), findings) else {
            continue;
        };
        let Some(at) = at.as_position() else { continue };
        for ((cell, (name, _, kind)), column) in cells[1..].iter().zip(&heads).zip(&mut values) {
            column[at] = read_value(vocabulary, &declaration(name, *kind), what(cell, name), findings);
        }
    }
    let columns = heads
        .into_iter()
        .zip(values)
        .map(|((name, meaning, kind), values)| Column { name, meaning, kind, values: values.into() })
        .collect();
    Some(LookupTable { id: id?, title, key_kind, columns, citations, place })
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
        findings.push(Finding::error("bad-column", &place, message).maybe_help(help));
    }
    Some((name?, meaning, kind?))
}

/// A declaration good enough to read a cell with.
fn declaration(id: &str, kind: Kind) -> Declaration {
    Declaration {
        id: id.to_owned(),
        space: Space::Site,
        meaning: String::new(),
        kind,
        allowed: None,
        plausible: Vec::new(),
        change: Change::Impossible,
        key: None,
        us_key: None,
        from: From::File,
        merge: Merge::MustAgree,
        better_high: None,
        estimate: false,
        key_trait: false,
        ask: String::new(),
    }
}
