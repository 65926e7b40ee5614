//! Text to tree. Faults of syntax are found all at once where the parser can go on.

use std::sync::Arc;

use toml::de::DeTable;

use super::convert::convert;
use super::tree::Table;
use crate::diag::{Finding, Findings, Place, Source};

/// The tree of a TOML text; `None` where its syntax is faulty, with every fault in `findings`, since
/// a walk over what could be read would report faults that are none.
pub fn parse(source: &Arc<Source>, findings: &mut Findings) -> Option<Table> {
    let (table, mut errors) = DeTable::parse_recoverable(&source.text);
    errors.sort_by_key(|error| error.span().map_or(0, |span| span.start));
    for error in &errors {
        let place = Place { source: source.clone(), span: error.span().unwrap_or(0..0) };
        let words: Vec<&str> = error.message().lines().collect();
        let message = format!("not valid TOML: {}", words.join(", "));
        findings.push(Finding::error("toml-syntax", &place, message).label("here"));
    }
    let (table, too_deep) = convert(table.get_ref());
    if let Some(span) = &too_deep {
        let place = Place { source: source.clone(), span: span.clone() };
        findings.push(Finding::error("toml-syntax", &place, "tables are nested too deep"));
    }
    (errors.is_empty() && too_deep.is_none()).then_some(table)
}
