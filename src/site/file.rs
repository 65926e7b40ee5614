//! The site file: TOML text to values of declared facts, with every fault of the file at its place.
//!
//! Which sections and keys exist is said by the vocabulary alone; only what is not a fact of the
//! site (the schema, the name, the climate file, priorities, what is fixed, the candidates) is
//! read here by name.

mod besides_facts;
mod together;
mod zone_key;

use std::collections::BTreeMap;
use std::sync::Arc;

use besides_facts::{
    read_candidates, read_climate_file, read_file_units, read_fixed, read_near, read_priorities,
};
use together::{FileKeys, check_light, check_together};

pub use together::LIGHT;

use super::climate::FileUnits;
use super::climate_file::{self, FromClimateFile};
use super::nearest::{self as nearest_place, FromNearest};
use super::plausibility;
use super::read_ahead::ReadAhead;
use super::region_position;
use crate::diag::{Finding, Findings, Place, Severity, Source, join_names, nearest};
use crate::document::{Entry, Table, TableReader, parse};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::values::{WhatIsRead, read_value};
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

fn read_table(
    source: &Arc<Source>,
    table: &Table,
    knowledge: &Knowledge,
    place: Place,
    findings: &mut Findings,
) -> SiteFile {
    let vocabulary = &knowledge.vocabulary;
    let mut site = SiteFile {
        name: String::new(),
        values: vec![None; vocabulary.site.len()],
        unread: Vec::new(),
        climate_file: None,
        file_units: None,
        from_climate: None,
        near: None,
        from_nearest: None,
        priorities: BTreeMap::new(),
        fixed: Vec::new(),
        only: Vec::new(),
        without: Vec::new(),
        lists: Vec::new(),
        units: UnitSystem::Si,
        place,
    };
    let mut us_keys = 0usize;
    let mut si_keys = 0usize;
    let mut file = TableReader::of_file(source, table, "a site file");
    let help = format!("write `schema = {SCHEMA}`");
    match file.node("schema") {
        Some(node) if node.as_number() == Some(SCHEMA as f64) => {}
        Some(node) => {
            let message = format!("this program reads sites of schema {SCHEMA}");
            let place = file.place(node.span);
            findings.push(Finding::error("unknown-schema", &place, message).help(help));
        }
        None => {
            let message = "a site file has no `schema`";
            findings.push(Finding::error("missing-key", &file.own_place(), message).help(help));
        }
    }
    // reports write what could steer the reader's terminal as codes
    site.name = file.text("name", findings).unwrap_or_default().trim().to_owned();
    read_priorities(&mut file, knowledge, &mut site, findings);
    read_fixed(&mut file, knowledge, &mut site, findings);
    read_candidates(&mut file, knowledge, &mut site, findings);
    let known_elsewhere = NOT_FACTS;
    let sections = sections(&vocabulary.site);
    for (key, entry) in table.iter() {
        if known_elsewhere.contains(&key) {
            continue;
        }
        match entry.node.as_table() {
            Some(inner) if sections.contains(&key) => {
                for (inner_key, inner_entry) in inner.iter() {
                    if key == "climate" && inner_key == "file" {
                        read_climate_file(source, inner_entry, &mut site, findings);
                        continue;
                    }
                    if key == "climate" && inner_key == "file_units" {
                        read_file_units(source, inner_entry, &mut site, findings);
                        continue;
                    }
                    if key == "climate" && inner_key == "near" {
                        read_near(source, inner_entry, &mut site, findings);
                        continue;
                    }
                    let path = format!("{key}.{inner_key}");
                    read_fact(
                        source,
                        &path,
                        inner_entry,
                        knowledge,
                        &mut site,
                        (&mut us_keys, &mut si_keys),
                        findings,
                    );
                }
            }
            None if !sections.contains(&key) && find_key(&vocabulary.site, key).is_some() => {
                read_fact(source, key, entry, knowledge, &mut site, (&mut us_keys, &mut si_keys), findings);
            }
            Some(_) if find_key(&vocabulary.site, key).is_some() => {
                let place = Place { source: source.clone(), span: entry.key_span.range() };
                let message = format!("`{key}` must be a value, not a section");
                let help = format!("write a line `{key} = …` above the first section");
                findings.push(Finding::error("wrong-type", &place, message).help(help));
            }
            None if sections.contains(&key) => {
                let span = Place { source: source.clone(), span: entry.node.span.range() };
                let message = format!("`{key}` must be a section `[{key}]`, not {}", entry.node.type_name());
                findings.push(Finding::error("wrong-type", &span, message));
            }
            _ => {
                let names = || sections.iter().copied().chain(known_elsewhere).chain(["purpose"]);
                let help = match nearest(key, names()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => match key_anywhere(&vocabulary.site, key) {
                        Some(path) => format!("write it as `{path}`"),
                        None => format!("a site file takes {}", names().collect::<Vec<_>>().join(", ")),
                    },
                };
                let span = Place { source: source.clone(), span: entry.key_span.range() };
                let message = format!("unknown key `{key}` in a site file");
                findings.push(Finding::error("unknown-key", &span, message).help(help));
            }
        }
    }
    site.units = if us_keys > si_keys { UnitSystem::Us } else { UnitSystem::Si };
    if let (Some((_, place)), None) = (&site.file_units, &site.climate_file) {
        let message = "`file_units` says the units of a climate file, and none is named";
        let help = "name it with `file`, or leave `file_units` out";
        findings.push(Finding::error("units-without-file", place, message).help(help));
    }
    check_together(knowledge, &site, findings);
    let keys = FileKeys { source, table, declarations: &vocabulary.site };
    check_light(&keys, findings);
    site
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

fn read_fact(
    source: &Arc<Source>,
    path: &str,
    entry: &Entry,
    knowledge: &Knowledge,
    site: &mut SiteFile,
    (us_keys, si_keys): (&mut usize, &mut usize),
    findings: &mut Findings,
) {
    let declarations = &knowledge.vocabulary.site;
    let key_place = Place { source: source.clone(), span: entry.key_span.range() };
    let (section, name) = path.split_once('.').unwrap_or(("", path));
    let Some((index, key, is_us)) = find_key(declarations, path) else {
        // those that are no facts first: a long list is cut at its end
        let not_facts = ["file", "file_units", "near"].into_iter().filter(|_| section == "climate");
        let keys = declarations.iter().flat_map(|one| [one.key.as_ref(), one.us_key.as_ref()]).flatten();
        let in_section: Vec<&str> =
            not_facts.chain(keys.filter(|key| key.section == section).map(|key| key.key.as_str())).collect();
        let help = match nearest(name, in_section.iter().copied()) {
            _ if let Some(help) = zone_key::help(name, &entry.node.kind) => help,
            Some(near) => format!("did you mean `{near}`?"),
            None => match key_anywhere(declarations, name) {
                Some(path) => format!("it stands elsewhere: `{path}`"),
                None => format!("[{section}] takes {}", join_names(in_section)),
            },
        };
        let message = format!("unknown key `{name}` in [{section}]");
        findings.push(Finding::error("unknown-key", &key_place, message).help(help));
        return;
    };
    let declaration = &declarations[index];
    if declaration.us_key.is_some() {
        *(if is_us { us_keys } else { si_keys }) += 1;
    }
    let what = WhatIsRead { source, node: &entry.node, name, unit: key.unit };
    let Some(value) = read_value(&knowledge.vocabulary, declaration, what, findings) else {
        site.unread.push(index);
        return;
    };
    if let Some((_, first)) = &site.values[index] {
        let message = format!("`{}` is given twice, in two units", declaration.id);
        let finding = Finding::error("both-units", &key_place, message).also(first, "first here");
        findings.push(finding.help("keep one of the two"));
        return;
    }
    site.values[index] = Some((value, Place { source: source.clone(), span: entry.node.span.range() }));
}
