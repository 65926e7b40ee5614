//! The site file: TOML text to values of declared facts, with every fault of the file at its place.
//!
//! Which sections and keys exist is said by the vocabulary alone; only what is not a fact of the
//! site (the schema, the name, the climate file, priorities, what is fixed, the candidates) is
//! read here by name.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::climate::FileUnits;
use super::climate_file::{self, FromClimateFile};
use super::nearest::{self as nearest_place, FromNearest};
use super::plausibility;
use super::read_ahead::ReadAhead;
use super::region_position;
use crate::diag::{Finding, Findings, Place, Severity, Source, join_names, nearest};
use crate::document::{Entry, NodeKind, Table, TableReader, parse};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::species::unknown_species;
use crate::knowledge::values::{WhatIsRead, read_value};
use crate::knowledge::vocabulary::{Declaration, SiteKey};
use crate::units::{UnitSystem, format_number};

/// A checked site file.
#[derive(Clone, Debug)]
pub struct SiteFile {
    /// Name of the site.
    pub name: String,
    /// Facts given, by the position of their declaration.
    pub values: Vec<Option<(Value, Place)>>,
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

/// The keys of a site file with their places.
struct FileKeys<'a> {
    source: &'a Arc<Source>,
    table: &'a Table,
    declarations: &'a [Declaration],
}

impl FileKeys<'_> {
    /// The key under which the file states a fact, and its place.
    fn of(&self, id: &str) -> Option<(&str, Place)> {
        let declaration = self.declarations.iter().find(|one| one.id == id)?;
        [&declaration.key, &declaration.us_key].into_iter().flatten().find_map(|key| {
            let section = match key.section.as_str() {
                "" => self.table,
                section => self.table.get(section)?.node.as_table()?,
            };
            let span = section.get(&key.key)?.key_span.range();
            Some((key.key.as_str(), Place { source: self.source.clone(), span }))
        })
    }
}

/// Facts that each say all of the light, those that say it best first.
pub const LIGHT: [&str; 5] =
    ["site.dli_measured", "site.sun_hours", "site.horizon_deg", "site.canopy_cover", "site.exposure"];

/// The light is said once: two statements would contradict each other, and one go unheard.
fn check_light(keys: &FileKeys<'_>, findings: &mut Findings) {
    let mut said: Vec<(&str, Place)> = LIGHT.iter().filter_map(|id| keys.of(id)).collect();
    said.sort_by_key(|(_, place)| place.span.start);
    if let Some(((first, first_place), others)) = said.split_first() {
        for (other, place) in others {
            let message = format!("the light is given twice, as `{first}` and as `{other}`");
            let help = "keep one: a measured `dli` says most, then `sun_hours`, `horizon_deg`, `canopy_cover` and `exposure`";
            let finding = Finding::error("light-twice", place, message).also(first_place, "first here");
            findings.push(finding.help(help));
        }
    }
    let kind = keys.of("site.canopy").filter(|_| keys.of("site.canopy_cover").is_none());
    if let Some((_, place)) = kind {
        let message = "`canopy` says what kind of trees, not how much they shade";
        let help = match said.first() {
            Some((other, _)) => format!("leave it out, since `{other}` says the light"),
            None => "add `canopy_cover`, a fraction of the sky".to_owned(),
        };
        findings.push(Finding::error("canopy-without-cover", &place, message).help(help));
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
    let Some(value) = read_value(&knowledge.vocabulary, declaration, what, findings) else { return };
    if let Some((_, first)) = &site.values[index] {
        let message = format!("`{}` is given twice, in two units", declaration.id);
        let finding = Finding::error("both-units", &key_place, message).also(first, "first here");
        findings.push(finding.help("keep one of the two"));
        return;
    }
    site.values[index] = Some((value, Place { source: source.clone(), span: entry.node.span.range() }));
}

fn read_climate_file(source: &Arc<Source>, entry: &Entry, site: &mut SiteFile, findings: &mut Findings) {
    let place = Place { source: source.clone(), span: entry.node.span.range() };
    match entry.node.as_text().filter(|text| !text.is_empty()) {
        Some(path) => site.climate_file = Some((path.to_owned(), place)),
        None => {
            findings.push(Finding::error("wrong-type", &place, "`file` must be the name of a climate file"));
        }
    }
}

/// The names of units are those of `climate read --units`.
fn read_file_units(source: &Arc<Source>, entry: &Entry, site: &mut SiteFile, findings: &mut Findings) {
    let place = Place { source: source.clone(), span: entry.node.span.range() };
    let Some(units) = entry.node.as_text().and_then(FileUnits::named) else {
        let message = "`file_units` must be \"si\" (degC and mm), \"us\" (degF and inches) or \"tenths\" (of degC and of mm)";
        findings.push(Finding::error("wrong-type", &place, message));
        return;
    };
    site.file_units = Some((units, place));
}

fn read_near(source: &Arc<Source>, entry: &Entry, site: &mut SiteFile, findings: &mut Findings) {
    let place = Place { source: source.clone(), span: entry.node.span.range() };
    match entry.node.kind {
        NodeKind::Flag(asked) => site.near = asked.then_some(place),
        _ => {
            let message = "`near` must be true, for the climate of the nearest place known, or false";
            findings.push(Finding::error("wrong-type", &place, message));
        }
    }
}

fn read_priorities(
    file: &mut TableReader<'_>,
    knowledge: &Knowledge,
    site: &mut SiteFile,
    findings: &mut Findings,
) {
    let Some(mut reader) = file.table("priorities", "the priorities", findings) else { return };
    for (name, entry) in reader.all() {
        let needs = &knowledge.needs.all;
        let Some(index) = needs.iter().position(|need| need.id == name) else {
            let known = || needs.iter().map(|need| need.id.as_str());
            let help = match nearest(name, known()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("needs are {}", known().collect::<Vec<_>>().join(", ")),
            };
            let message = format!("no need is called `{name}`");
            findings.push(Finding::error("unknown-need", &reader.place(entry.key_span), message).help(help));
            continue;
        };
        match entry.node.as_number().filter(|weight| (0.0..=5.0).contains(weight)) {
            Some(weight) => {
                site.priorities.insert(index, weight);
            }
            None => {
                let message = format!("the priority of `{name}` must be a number from 0 to 5");
                findings.push(Finding::error("out-of-range", &reader.place(entry.node.span), message));
            }
        }
    }
}

fn read_fixed(
    file: &mut TableReader<'_>,
    knowledge: &Knowledge,
    site: &mut SiteFile,
    findings: &mut Findings,
) {
    let Some(mut reader) = file.table("fixed", "what is fixed", findings) else { return };
    for (name, node) in reader.texts("inputs", findings).unwrap_or_default() {
        let short = |declaration: &'_ Declaration| declaration.key.as_ref().map(|key| key.key.clone());
        let inputs = &knowledge.vocabulary.site;
        // what no site file gives cannot be held fixed in one
        let is = |one: &Declaration| {
            one.key.is_some() && (short(one).as_deref() == Some(name) || one.id == format!("site.{name}"))
        };
        match inputs.iter().position(is) {
            Some(index) => site.fixed.push(index),
            None => {
                let known: Vec<String> = inputs.iter().filter_map(short).collect();
                let help = nearest(name, known.iter().map(String::as_str))
                    .map(|near| format!("did you mean `{near}`?"));
                let message = format!("no input is called `{name}`");
                findings.push(
                    Finding::error("unknown-input", &reader.place(node.span), message).maybe_help(help),
                );
            }
        }
    }
    reader.finish(findings);
}

fn read_candidates(
    file: &mut TableReader<'_>,
    knowledge: &Knowledge,
    site: &mut SiteFile,
    findings: &mut Findings,
) {
    let Some(mut reader) = file.table("candidates", "the candidates", findings) else { return };
    for key in ["only", "without"] {
        if let Some(node) = reader.node(key) {
            site.lists.push((key, reader.place(node.span)));
        }
        let named = reader.texts(key, findings);
        if let ("only", Some([]), Some((_, place))) = (key, named.as_deref(), site.lists.last()) {
            let finding = Finding::error("no-candidates", place, "`only` names no species");
            findings.push(finding.help("leave it out to take every species as a candidate"));
        }
        for (id, node) in named.unwrap_or_default() {
            if knowledge.species_named(id).is_none() {
                let finding = unknown_species(id, &knowledge.species);
                findings.push(Finding { place: Some(reader.place(node.span)), ..finding });
                continue;
            }
            if key == "only" { &mut site.only } else { &mut site.without }.push(id.to_owned());
        }
    }
    reader.finish(findings);
}

/// Values that are each allowed and cannot hold together.
fn check_together(knowledge: &Knowledge, site: &SiteFile, findings: &mut Findings) {
    let get = |id: &str| {
        let slot = knowledge.vocabulary.slot(id)?;
        site.values.get(slot.index)?.as_ref()
    };
    if let (Some((Value::Months(high), place)), Some((Value::Months(low), other))) =
        (get("site.tmax_c"), get("site.tmin_c"))
        && let Some(month) = (0..12).find(|month| high[*month] < low[*month])
    {
        let message = format!("in month {} the mean maximum is below the mean minimum", month + 1);
        findings.push(Finding::error("maximum-below-minimum", place, message).also(other, "the minima"));
    }
    let parts: Vec<(f64, &Place)> = ["site.sand_pct", "site.silt_pct", "site.clay_pct"]
        .iter()
        .filter_map(|id| get(id).and_then(|(value, place)| Some((value.as_number()?, place))))
        .collect();
    if !parts.is_empty() {
        let sum = parts.iter().map(|(part, _)| part * 100.0).sum::<f64>();
        if parts.len() < 3 {
            let message = "sand, silt and clay must be given all three";
            findings.push(
                Finding::error("texture-incomplete", parts[0].1, message)
                    .help("or name the class: texture = \"clay loam\""),
            );
        } else if (sum - 100.0).abs() > 1.0 {
            let message = format!("sand, silt and clay add up to {} %, not 100 %", format_number(sum));
            let help = ((sum - 1.0).abs() < 0.02).then(|| "write percent: 40, not 0.4".to_owned());
            findings.push(Finding::error("texture-sum", parts[0].1, message).maybe_help(help));
        }
        if let Some((_, place)) = get("site.texture") {
            let message = "the texture is given twice, as a class and as fractions";
            findings.push(
                Finding::error("texture-twice", place, message)
                    .also(parts[0].1, "and here")
                    .help("keep one of the two"),
            );
        }
    }
    if let Some((Value::Text(region), place)) = get("site.region")
        && let Some((message, help)) = super::region::fault(region)
    {
        // rules of law and of native plants compare the code, and would stay silent without a word
        findings.push(Finding::error("not-a-region", place, message).help(help));
    }
}
