//! Text to tree.

use std::sync::Arc;

use toml::de::DeTable;

use super::convert::convert;
use super::syntax;
use super::tree::Table;
use crate::diag::{Finding, Findings, Place, Source};

/// The tree of a TOML text; `None` where its syntax is faulty, with its faults in `findings`, since
/// a walk over what could be read would report faults that are none.
pub fn parse(source: &Arc<Source>, findings: &mut Findings) -> Option<Table> {
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    if !errors.is_empty() {
        syntax::tell(source, findings);
        return None;
    }
    let (table, too_deep) = convert(table.get_ref());
    if let Some(span) = too_deep {
        let place = Place { source: source.clone(), span };
        findings.push(Finding::error("toml-syntax", &place, "tables are nested too deep"));
        return None;
    }
    Some(table)
}
