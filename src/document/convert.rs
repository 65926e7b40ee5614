//! The parser's tree to ours.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::tree::{Entry, Node, NodeKind, Span, Table};

/// Tables nested deeper than this are cut off, so that no walk can exhaust the stack.
const DEEPEST: usize = 40;

/// Our tree, and the place of what was nested too deep, if anything was.
pub fn convert(table: &DeTable<'_>) -> (Table, Option<Range<usize>>) {
    let mut too_deep = None;
    (convert_table(table, 0, &mut too_deep), too_deep)
}

fn convert_table(table: &DeTable<'_>, depth: usize, too_deep: &mut Option<Range<usize>>) -> Table {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string().into(),
            key_span: Span::new(&key.span()),
            node: convert_value(value, depth + 1, too_deep),
        })
        .collect();
    // the parser sorts by key; people read in the order that they wrote
    entries.sort_by_key(|entry| entry.key_span.range().start);
    Table { entries }
}

fn convert_value(value: &Spanned<DeValue<'_>>, depth: usize, too_deep: &mut Option<Range<usize>>) -> Node {
    let span = value.span();
    let kind = match value.get_ref() {
        _ if depth > DEEPEST => {
            too_deep.get_or_insert(span.clone());
            NodeKind::Date
        }
        DeValue::String(text) => NodeKind::Text(text.to_string().into()),
        DeValue::Integer(number) => {
            i64::from_str_radix(number.as_str(), number.radix()).map_or(NodeKind::Huge, NodeKind::Integer)
        }
        DeValue::Float(number) => match number.as_str().parse::<f64>().unwrap_or(f64::NAN) {
            // `inf` is written out; digits that come to infinity are only too many
            value if value.is_infinite() && !number.as_str().ends_with("inf") => NodeKind::Huge,
            value => NodeKind::Float(value),
        },
        DeValue::Boolean(flag) => NodeKind::Flag(*flag),
        DeValue::Datetime(_) => NodeKind::Date,
        DeValue::Array(items) => {
            NodeKind::List(items.iter().map(|item| convert_value(item, depth + 1, too_deep)).collect())
        }
        DeValue::Table(table) => NodeKind::Table(convert_table(table, depth, too_deep)),
    };
    Node { span: Span::new(&span), kind }
}
