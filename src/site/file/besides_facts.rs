//! What a site file says besides facts of the site: where its climate comes from, what counts for more,
//! what is fixed, which species are candidates.

use std::sync::Arc;

use super::SiteFile;
use crate::diag::{Finding, Findings, Place, Source, nearest};
use crate::document::{Entry, NodeKind, TableReader};
use crate::knowledge::Knowledge;
use crate::knowledge::species::unknown_species;
use crate::knowledge::vocabulary::Declaration;
use crate::site::climate::FileUnits;

pub(super) fn read_climate_file(
    source: &Arc<Source>,
    entry: &Entry,
    site: &mut SiteFile,
    findings: &mut Findings,
) {
    let place = Place { source: source.clone(), span: entry.node.span.range() };
    match entry.node.as_text().filter(|text| !text.is_empty()) {
        Some(path) => site.climate_file = Some((path.to_owned(), place)),
        None => {
            findings.push(Finding::error("wrong-type", &place, "`file` must be the name of a climate file"));
        }
    }
}

/// The names of units are those of `climate read --units`.
pub(super) fn read_file_units(
    source: &Arc<Source>,
    entry: &Entry,
    site: &mut SiteFile,
    findings: &mut Findings,
) {
    let place = Place { source: source.clone(), span: entry.node.span.range() };
    let Some(units) = entry.node.as_text().and_then(FileUnits::named) else {
        let message = "`file_units` must be \"si\" (degC and mm), \"us\" (degF and inches) or \"tenths\" (of degC and of mm)";
        findings.push(Finding::error("wrong-type", &place, message));
        return;
    };
    site.file_units = Some((units, place));
}

pub(super) fn read_near(source: &Arc<Source>, entry: &Entry, site: &mut SiteFile, findings: &mut Findings) {
    let place = Place { source: source.clone(), span: entry.node.span.range() };
    match entry.node.kind {
        NodeKind::Flag(asked) => site.near = asked.then_some(place),
        _ => {
            let message = "`near` must be true, for the climate of the nearest place known, or false";
            findings.push(Finding::error("wrong-type", &place, message));
        }
    }
}

pub(super) fn read_priorities(
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

pub(super) fn read_fixed(
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

pub(super) fn read_candidates(
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
                let finding = unknown_species(id, knowledge);
                findings.push(Finding { place: Some(reader.place(node.span)), ..finding });
                continue;
            }
            if key == "only" { &mut site.only } else { &mut site.without }.push(id.to_owned());
        }
    }
    reader.finish(findings);
}
