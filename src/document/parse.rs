//! Text to tree. Faults of syntax are found all at once where the parser can go on.

use std::sync::Arc;

use toml::de::DeTable;

use super::convert::convert;
use super::tree::Table;
use crate::diag::{Finding, Findings, Place, Source};

/// The tree of a TOML text; what is wrong with its syntax goes into `findings`, and the tree then
/// holds what could be read.
pub fn parse(source: &Arc<Source>, findings: &mut Findings) -> Table {
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    for error in errors {
        let place = Place { source: source.clone(), span: error.span().unwrap_or(0..0) };
        let words: Vec<&str> = error.message().lines().collect();
        let message = format!("not valid TOML: {}", words.join(", "));
        findings.push(Finding::error("toml-syntax", &place, message).label("here"));
    }
    let (table, too_deep) = convert(table.get_ref());
    if let Some(span) = too_deep {
        let place = Place { source: source.clone(), span };
        findings.push(Finding::error("toml-syntax", &place, "tables are nested too deep"));
    }
    table
}
