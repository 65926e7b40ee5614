//! Text to tree. Faults of syntax are found all at once where the parser can go on.

use std::sync::Arc;

use indexmap::IndexMap;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::tree::{Entry, Node, NodeKind, Table};
use crate::diag::{Finding, Findings, Place, Source};

/// Tables nested deeper than this are refused, so that no walk can exhaust the stack.
const DEEPEST: usize = 40;

/// The tree of a TOML text; what is wrong with its syntax goes into `findings`, and the tree then
/// holds what could be read.
pub fn parse(source: &Arc<Source>, findings: &mut Findings) -> Table {
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let place = Place { source: source.clone(), span };
        findings.push(
            Finding::error("toml-syntax", &place, format!("not valid TOML: {}", first_line(error.message())))
                .label("here"),
        );
    }
    let mut too_deep = None;
    let table = convert_table(table.get_ref(), 0, &mut too_deep);
    if let Some(span) = too_deep {
        let place = Place { source: source.clone(), span };
        findings.push(Finding::error("toml-syntax", &place, "tables are nested too deep"));
    }
    table
}

fn first_line(message: &str) -> String {
    message.lines().collect::<Vec<_>>().join(", ")
}

fn convert_table(
    table: &DeTable<'_>,
    depth: usize,
    too_deep: &mut Option<std::ops::Range<usize>>,
) -> IndexMap<String, Entry> {
    table
        .iter()
        .map(|(key, value)| {
            let entry = Entry { key_span: key.span(), node: convert(value, depth + 1, too_deep) };
            (key.get_ref().to_string(), entry)
        })
        .collect()
}

fn convert(
    value: &Spanned<DeValue<'_>>,
    depth: usize,
    too_deep: &mut Option<std::ops::Range<usize>>,
) -> Node {
    let span = value.span();
    let kind = match value.get_ref() {
        _ if depth > DEEPEST => {
            too_deep.get_or_insert(span.clone());
            NodeKind::Date
        }
        DeValue::String(text) => NodeKind::Text(text.to_string()),
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
            .map_or_else(|_| NodeKind::Float(f64::INFINITY), NodeKind::Integer),
        DeValue::Float(number) => NodeKind::Float(number.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(flag) => NodeKind::Flag(*flag),
        DeValue::Datetime(_) => NodeKind::Date,
        DeValue::Array(items) => {
            NodeKind::List(items.iter().map(|item| convert(item, depth + 1, too_deep)).collect())
        }
        DeValue::Table(table) => NodeKind::Table(convert_table(table, depth, too_deep)),
    };
    Node { span, kind }
}
