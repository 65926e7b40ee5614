//! The tree of a site file to its values, key by key.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::besides_facts::{
    read_candidates, read_climate_file, read_file_units, read_fixed, read_near, read_priorities,
};
use super::together::{FileKeys, check_light, check_together};
use super::{NOT_FACTS, SiteFile, check_schema, find_key, key_anywhere, sections, zone_key};
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};
use crate::document::{Entry, Span, Table, TableReader};
use crate::knowledge::Knowledge;
use crate::knowledge::values::{WhatIsRead, read_value};
use crate::knowledge::vocabulary::Declaration;
use crate::units::UnitSystem;

/// Keys of the section of the climate that are no facts of the site.
const OF_CLIMATE: [&str; 3] = ["file", "file_units", "near"];

/// Reads a site from the tree of a file, without the files that it names.
pub fn read_table(
    source: &Arc<Source>,
    table: &Table,
    knowledge: &Knowledge,
    place: Place,
    findings: &mut Findings,
) -> SiteFile {
    let mut file = TableReader::of_file(source, table, "a site file");
    check_schema(&mut file, "a site file", "sites", findings);
    let mut site = nothing_said(knowledge, place);
    // reports write what could steer the reader's terminal as codes
    site.name = file.text("name", findings).unwrap_or_default().trim().to_owned();
    read_priorities(&mut file, knowledge, &mut site, findings);
    read_fixed(&mut file, knowledge, &mut site, findings);
    read_candidates(&mut file, knowledge, &mut site, findings);
    let mut reading =
        Reading { source, declarations: &knowledge.vocabulary.site, knowledge, site, us_keys: 0, si_keys: 0 };
    for (key, entry) in table.iter().filter(|(key, _)| !NOT_FACTS.contains(key)) {
        reading.entry(key, entry, findings);
    }
    let Reading { mut site, us_keys, si_keys, .. } = reading;
    site.units = if us_keys > si_keys { UnitSystem::Us } else { UnitSystem::Si };
    if let (Some((_, place)), None) = (&site.file_units, &site.climate_file) {
        let message = "`file_units` says the units of a climate file, and none is named";
        let help = "name it with `file`, or leave `file_units` out";
        findings.push(Finding::error("units-without-file", place, message).help(help));
    }
    check_together(knowledge, &site, findings);
    check_light(&FileKeys { source, table, declarations: &knowledge.vocabulary.site }, findings);
    site
}

/// A site of which nothing is known.
fn nothing_said(knowledge: &Knowledge, place: Place) -> SiteFile {
    SiteFile {
        name: String::new(),
        values: vec![None; knowledge.vocabulary.site.len()],
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
    }
}

/// A site file while its facts are read.
struct Reading<'a> {
    source: &'a Arc<Source>,
    knowledge: &'a Knowledge,
    declarations: &'a [Declaration],
    site: SiteFile,
    /// How many facts that have a key for each system of units are stated in US units.
    us_keys: usize,
    /// How many of them are not.
    si_keys: usize,
}

impl Reading<'_> {
    fn place(&self, span: Span) -> Place {
        Place { source: self.source.clone(), span: span.range() }
    }

    /// An entry above the sections, or a section.
    fn entry(&mut self, key: &str, entry: &Entry, findings: &mut Findings) {
        let is_section = sections(self.declarations).contains(&key);
        let is_fact = find_key(self.declarations, key).is_some();
        match entry.node.as_table() {
            Some(inner) if is_section => self.section(key, inner, findings),
            None if !is_section && is_fact => self.fact(key, entry, findings),
            Some(_) if is_fact => {
                let message = format!("`{key}` must be a value, not a section");
                let help = format!("write a line `{key} = …` above the first section");
                findings.push(Finding::error("wrong-type", &self.place(entry.key_span), message).help(help));
            }
            None if is_section => {
                let message = format!("`{key}` must be a section `[{key}]`, not {}", entry.node.type_name());
                findings.push(Finding::error("wrong-type", &self.place(entry.node.span), message));
            }
            _ => findings.push(self.unknown_key(key, entry)),
        }
    }

    /// The finding for a key above the sections that says nothing of a site.
    fn unknown_key(&self, key: &str, entry: &Entry) -> Finding {
        let sections = sections(self.declarations);
        let names = || sections.iter().copied().chain(NOT_FACTS).chain(["purpose"]);
        let help = match nearest(key, names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => match key_anywhere(self.declarations, key) {
                Some(path) => format!("write it as `{path}`"),
                None => format!("a site file takes {}", names().collect::<Vec<_>>().join(", ")),
            },
        };
        let message = format!("unknown key `{key}` in a site file");
        Finding::error("unknown-key", &self.place(entry.key_span), message).help(help)
    }

    fn section(&mut self, section: &str, table: &Table, findings: &mut Findings) {
        for (key, entry) in table.iter() {
            match (section, key) {
                ("climate", "file") => read_climate_file(self.source, entry, &mut self.site, findings),
                ("climate", "file_units") => read_file_units(self.source, entry, &mut self.site, findings),
                ("climate", "near") => read_near(self.source, entry, &mut self.site, findings),
                _ => self.fact(&format!("{section}.{key}"), entry, findings),
            }
        }
    }

    fn fact(&mut self, path: &str, entry: &Entry, findings: &mut Findings) {
        let (section, name) = path.split_once('.').unwrap_or(("", path));
        let Some((index, key, is_us)) = find_key(self.declarations, path) else {
            findings.push(self.unknown_fact(section, name, entry));
            return;
        };
        let declaration = &self.declarations[index];
        if declaration.us_key.is_some() {
            *(if is_us { &mut self.us_keys } else { &mut self.si_keys }) += 1;
        }
        let what = WhatIsRead { source: self.source, node: &entry.node, name, unit: key.unit };
        let Some(value) = read_value(&self.knowledge.vocabulary, declaration, what, findings) else {
            self.site.unread.push(index);
            return;
        };
        if let Some((_, first)) = &self.site.values[index] {
            let message = format!("`{}` is given twice, in two units", declaration.id);
            let finding = Finding::error("both-units", &self.place(entry.key_span), message);
            findings.push(finding.also(first, "first here").help("keep one of the two"));
            return;
        }
        self.site.values[index] = Some((value, self.place(entry.node.span)));
    }

    /// The finding for a key of a section that no fact has.
    fn unknown_fact(&self, section: &str, name: &str, entry: &Entry) -> Finding {
        // those that are no facts first: a long list is cut at its end
        let not_facts = OF_CLIMATE.into_iter().filter(|_| section == "climate");
        let keys = self.declarations.iter().flat_map(|one| [one.key.as_ref(), one.us_key.as_ref()]).flatten();
        let in_section: Vec<&str> =
            not_facts.chain(keys.filter(|key| key.section == section).map(|key| key.key.as_str())).collect();
        let help = match nearest(name, in_section.iter().copied()) {
            _ if let Some(help) = zone_key::help(name, &entry.node.kind) => help,
            Some(near) => format!("did you mean `{near}`?"),
            None => match key_anywhere(self.declarations, name) {
                Some(path) => format!("it stands elsewhere: `{path}`"),
                None => format!("[{section}] takes {}", join_names(in_section)),
            },
        };
        let message = format!("unknown key `{name}` in [{section}]");
        Finding::error("unknown-key", &self.place(entry.key_span), message).help(help)
    }
}
