//! The site file: TOML text to values of declared facts, with every fault of the file at its place.
//!
//! Which sections and keys exist is said by the vocabulary alone; only what is not a fact of the
//! site (the schema, the name, the climate file, priorities, what is fixed, the candidates) is
//! read here by name.

mod besides_facts;
mod reading;
mod together;
mod zone_key;

use std::collections::BTreeMap;
use std::sync::Arc;

use reading::read_table;

pub use together::{FRACTIONS, LIGHT};

use super::climate::FileUnits;
use super::climate_file::{self, FromClimateFile};
use super::nearest::{self as nearest_place, FromNearest};
use super::plausibility;
use super::read_ahead::ReadAhead;
use super::region_position;
use crate::diag::{Finding, Findings, Place, Severity, Source};
use crate::document::{Table, TableReader, parse};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::{Declaration, SiteKey};
use crate::units::UnitSystem;

/// A checked site file.
#[derive(Clone, Debug)]
pub struct SiteFile {
    /// Name of the site.
    pub name: String,
    /// Facts given, by the position of their declaration.
    pub values: Vec<Option<(Value, Place)>>,
    /// Positions of the facts that the file states and that could not be read.
    pub unread: Vec<usize>,
    /// Climate file named, with the place of its name.
    pub climate_file: Option<(String, Place)>,
    /// Units of the climate file, for a layout that does not state them, with the place.
    pub file_units: Option<(FileUnits, Place)>,
    /// What the climate file gave, once it was read.
    pub from_climate: Option<FromClimateFile>,
    /// Where the nearest place of the gazetteer is asked for.
    pub near: Option<Place>,
    /// What the nearest place gave, once it was found.
    pub from_nearest: Option<FromNearest>,
    /// Weights of needs, by their position.
    pub priorities: BTreeMap<usize, f64>,
    /// Positions of the facts that may not be proposed for change.
    pub fixed: Vec<usize>,
    /// Only these species, where any are named.
    pub only: Vec<String>,
    /// Not these.
    pub without: Vec<String>,
    /// Where those two lists stand, by their keys.
    pub lists: Vec<(&'static str, Place)>,
    /// The units that the file is written in.
    pub units: UnitSystem,
    /// Place of the file itself.
    pub place: Place,
}

/// Keys of a site file that are no facts of the site.
pub const NOT_FACTS: [&str; 5] = ["schema", "name", "priorities", "fixed", "candidates"];

/// The only schema there is.
pub const SCHEMA: i64 = 1;

/// Reads a site file; its climate file may have been read before.
pub fn read(
    source: &Arc<Source>,
    knowledge: &Knowledge,
    ahead: Option<ReadAhead>,
) -> Result<(SiteFile, Findings), Findings> {
    let mut findings = Findings::new();
    let Some(table) = parse(source, &mut findings) else { return Err(findings) };
    let place = Place { source: source.clone(), span: 0..source.text.len().min(1) };
    if table.is_empty() {
        let message = format!("{}: says nothing about a site", source.path);
        let help = "write at least `schema = 1` and what is known of the site";
        return Err(vec![Finding::bare("empty-site", message).help(help)]);
    }
    let mut site = read_table(source, &table, knowledge, place, &mut findings);
    take_files(&mut site, knowledge, ahead, &mut findings);
    let refused = findings.iter().any(|finding| finding.severity == Severity::Error);
    if refused { Err(findings) } else { Ok((site, findings)) }
}

/// Reads a site from the tree of a file, or of a part of one, with the files that it names.
pub fn read_tree(
    source: &Arc<Source>,
    table: &Table,
    knowledge: &Knowledge,
    place: Place,
    findings: &mut Findings,
) -> SiteFile {
    let mut site = read_table(source, table, knowledge, place, findings);
    take_files(&mut site, knowledge, None, findings);
    site
}

/// Fills what the climate file or the nearest place gives, and holds the whole against itself.
fn take_files(site: &mut SiteFile, knowledge: &Knowledge, ahead: Option<ReadAhead>, findings: &mut Findings) {
    climate_file::fill(site, knowledge, ahead, findings);
    nearest_place::fill(site, knowledge, findings);
    plausibility::check(site, knowledge, findings);
    region_position::check(site, knowledge, findings);
}

/// Holds the `schema` of a file against [`SCHEMA`]: `what` is the file in words, `of_what` what such files
/// describe.
pub fn check_schema(file: &mut TableReader<'_>, what: &str, of_what: &str, findings: &mut Findings) {
    let help = format!("write `schema = {SCHEMA}`");
    match file.node("schema") {
        Some(node) if node.as_number() == Some(SCHEMA as f64) => {}
        Some(node) => {
            let message = format!("this program reads {of_what} of schema {SCHEMA}");
            let place = file.place(node.span);
            findings.push(Finding::error("unknown-schema", &place, message).help(help));
        }
        None => {
            let message = format!("{what} has no `schema`");
            findings.push(Finding::error("missing-key", &file.own_place(), message).help(help));
        }
    }
}

/// The sections that a site file may have.
pub fn sections(declarations: &[Declaration]) -> Vec<&str> {
    let mut sections: Vec<&str> = Vec::new();
    for declaration in declarations {
        let section = declaration.key.as_ref().map_or("", |key| key.section.as_str());
        if !section.is_empty() && !sections.contains(&section) {
            sections.push(section);
        }
    }
    sections
}

/// The declaration whose key, or key in US units, is `path`.
pub fn find_key<'a>(declarations: &'a [Declaration], path: &str) -> Option<(usize, &'a SiteKey, bool)> {
    declarations.iter().enumerate().find_map(|(index, declaration)| {
        let is = |key: &&'a SiteKey| key.path() == path;
        (declaration.key.as_ref().filter(is).map(|key| (index, key, false)))
            .or_else(|| declaration.us_key.as_ref().filter(is).map(|key| (index, key, true)))
    })
}

/// The full path of a key that stands in another section than the writer thought.
fn key_anywhere(declarations: &[Declaration], key: &str) -> Option<String> {
    let keys = || declarations.iter().flat_map(|one| [one.key.as_ref(), one.us_key.as_ref()]).flatten();
    // `latitude` for `latitude_deg`, but nothing for a letter or two, nor `days` for `days_per_week`
    let is_unit = |rest: &str| rest.starts_with('_') && !rest.starts_with("_per_");
    let begins = |own: &&SiteKey| key.len() > 2 && own.key.strip_prefix(key).is_some_and(is_unit);
    let found = keys().find(|own| own.key == key).or_else(|| keys().find(begins));
    found.map(SiteKey::path)
}
