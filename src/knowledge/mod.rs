//! The knowledge base: text, then trees with places, then valid data.
//!
//! Everything is read by the vocabulary, and every fault of every file is found in one run.

pub mod backing;
mod bare_entry;
pub mod citation;
pub mod climates;
pub mod counted;
mod degrees;
pub mod difference;
pub mod digest;
pub mod edition;
mod estimates;
mod file_id;
pub mod later;
pub mod lever;
mod merge;
pub mod names;
pub mod needs;
pub mod overlay;
mod overlay_values;
pub mod placeholder;
mod region;
pub mod region_codes;
pub mod rule;
mod rule_cases;
pub mod rule_figures;
mod rule_file;
pub mod sources;
pub mod species;
mod species_names;
pub mod stored;
pub mod strict;
pub mod tables;
pub mod text;
pub mod text_form;
pub mod unrated;
pub mod values;
pub mod vocabulary;
mod vocabulary_file;

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::diag::{Finding, Findings, Place, Severity, Source};
use crate::document::{Table, parse};
use crate::engine::formula::Formula;
use crate::engine::strata::{Strata, stratify};
use climates::Climate;
use edition::Edition;
use file_id::file_id;
use later::Later;
use names::{Declared, Faulty, Names};
use needs::Needs;
use overlay::{Claims, Overlay};
use rule::Rule;
use sources::Sources;
use species::Species;
use tables::LookupTable;
use text::{KnowledgeFile, KnowledgeText};
use vocabulary::Vocabulary;

/// A checked knowledge base.
#[derive(Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Knowledge {
    /// Version and changelog.
    pub edition: Edition,
    /// Digest over the canonical content.
    pub digest: String,
    /// Overlays that are in force, in the order in which they were given.
    #[serde(skip)]
    pub overlays: Vec<Overlay>,
    /// Facts and traits.
    pub vocabulary: Vocabulary,
    /// Needs.
    pub needs: Needs,
    /// Publications.
    #[serde(with = "stored::sources")]
    pub sources: Sources,
    /// Tables.
    pub tables: Vec<LookupTable>,
    /// Climates of the gazetteer, by id.
    pub climates: Later<Vec<Climate>>,
    /// Species, by id.
    pub species: Vec<Species>,
    /// Rules, by id.
    pub rules: Vec<Rule>,
    /// Rules of the base that an overlay withdraws or replaces, with its position.
    #[serde(skip)]
    pub out_of_force: Vec<(usize, Rule)>,
    /// What the program computes for a species at a site while rules run.
    #[serde(skip)]
    pub formulas: Vec<Formula>,
    /// The order in which rules and formulas run.
    #[serde(skip)]
    pub strata: Strata,
}

impl Knowledge {
    /// Reads and checks a knowledge base. Findings that are only warnings do not refuse it.
    pub fn load(text: &KnowledgeText) -> Result<(Self, Findings), Findings> {
        let ready = text.ready.as_ref().filter(|ready| !ready.stored.is_empty() && text.overlays.is_empty());
        if let Some(knowledge) = ready.and_then(|ready| stored::restore(ready.stored, text)) {
            return Ok((knowledge, Findings::new()));
        }
        let mut findings = Findings::new();
        let knowledge = read_all(text, &mut findings);
        let refused = findings.iter().any(|finding| finding.severity == Severity::Error);
        match knowledge {
            Some(knowledge) if !refused => Ok((knowledge, findings)),
            _ => Err(findings),
        }
    }

    /// Reads as much of a knowledge base as can be read, for whoever is at work on it: what has faults
    /// is left out. Refused where the vocabulary or the needs, which everything else rests on, have any.
    pub fn load_what_is_sound(text: &KnowledgeText) -> Result<Self, Findings> {
        let mut findings = Findings::new();
        let knowledge = read_all(text, &mut findings);
        let foundations: Vec<&KnowledgeFile> =
            text.files.iter().filter(|file| FOUNDATIONS.contains(&file.path.as_str())).collect();
        let rocked = findings.iter().any(|finding| {
            let source = finding.place.as_ref().map(|place| &place.source);
            finding.severity == Severity::Error
                && source
                    .is_some_and(|source| foundations.iter().any(|file| Arc::ptr_eq(&file.source, source)))
        });
        knowledge.filter(|_| !rocked).ok_or(findings)
    }

    /// Finds the formulas of the program and the order in which they and the rules run.
    fn put_in_order(&mut self, findings: &mut Findings) {
        let names = self.names();
        let declared = crate::site::FORMULAS.iter();
        let formulas: Vec<Formula> =
            declared.filter_map(|declared| Formula::resolve(declared, &names)).collect();
        let strata = stratify(&self.rules, &formulas, &names, findings);
        (self.formulas, self.strata) = (formulas, strata);
    }

    /// The names that expressions may use.
    pub fn names(&self) -> Names<'_> {
        Names { vocabulary: &self.vocabulary, needs: &self.needs.all, tables: &self.tables }
    }

    /// A species by its id.
    pub fn species_named(&self, id: &str) -> Option<&Species> {
        self.species.iter().find(|species| species.id == id)
    }

    /// A species by its id, or by a name of its own in any case.
    pub fn species_by_any_name(&self, name: &str) -> Option<&Species> {
        species_names::species_called(name, &self.species)
    }

    /// The words for a group of plants.
    pub fn kind_name(&self, kind: u8) -> &str {
        let list = self.vocabulary.list_named("kind", false).map(|list| self.vocabulary.list(list));
        list.and_then(|list| list.names.get(usize::from(kind))).map_or("", String::as_str)
    }

    /// A place of the gazetteer by its id, or by its name in any case.
    pub fn climate_by_any_name(&self, name: &str) -> Option<&Climate> {
        let wanted = name.trim().to_lowercase();
        self.climates.iter().find(|place| place.id == wanted || place.name.to_lowercase() == wanted)
    }

    /// A rule by its id.
    pub fn rule_named(&self, id: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.id == id)
    }

    /// The overlay in which a place lies; `None` for the base.
    pub fn overlay_of(&self, place: &Place) -> Option<&Overlay> {
        self.overlays.iter().find(|overlay| overlay.holds(place))
    }

    /// A table by its id.
    pub fn table_named(&self, id: &str) -> Option<&LookupTable> {
        self.tables.iter().find(|table| table.id == id)
    }
}

/// What every other file is held against.
const FOUNDATIONS: [&str; 2] = ["vocabulary.toml", "needs.toml"];

/// `None` where the vocabulary or the needs cannot be read at all: every other file is held against
/// them, and would be blamed for names that are right.
fn read_all(text: &KnowledgeText, findings: &mut Findings) -> Option<Knowledge> {
    findings.extend(text.unreadable.iter().map(|(_, finding)| finding.clone()));
    let mut faulty = Faulty::default();
    let trees = Trees::of(text, findings);
    let layers = overlay::lay(text, &trees, findings);
    let single = |wanted: &str| text.files.iter().position(|file| file.path == wanted);
    let folder = |wanted: &'static str| {
        let inside = move |path: &str| path.strip_prefix(wanted).is_some_and(|rest| rest.starts_with('/'));
        let all = text.all_files().zip(&layers.in_force).enumerate();
        all.filter(move |(_, (file, in_force))| **in_force && inside(&file.path))
            .map(|(at, (file, _))| (at, file))
    };
    for name in ["edition.toml", "vocabulary.toml", "needs.toml"] {
        if single(name).is_none() && !text.unreadable.iter().any(|(path, _)| path == name) {
            findings.push(Finding::bare("missing-file", format!("{}: there is no `{name}`", text.origin)));
        }
    }
    if let Some(name) = FOUNDATIONS.into_iter().find(|name| single(name).is_none_or(|at| !trees.reads(at))) {
        if let Some(last) = findings.last_mut() {
            let note = format!("what the other files say is checked once `{name}` can be read");
            last.help = Some(match last.help.take() {
                Some(help) => format!("{help}; {note}"),
                None => note,
            });
        }
        return None;
    }
    let nowhere = Arc::new(Source { path: text.origin.clone(), text: "".into() });
    let read_single = |name: &str| match single(name) {
        Some(at) => (&text.files[at].source, trees.tree(at).unwrap_or_default()),
        None => (&nowhere, Cow::Owned(Table::default())),
    };
    let (source, table) = read_single("vocabulary.toml");
    let vocabulary = vocabulary_file::read(source, &table, &mut faulty, findings);
    let (source, table) = read_single("needs.toml");
    let needs = needs::read(source, &table, &vocabulary, &mut faulty, findings);
    let (source, table) = read_single("edition.toml");
    let edition = edition::read(source, &table, findings);

    // what a file declares that cannot be read, or is kept out, is not known
    for family in ["sources", "tables"] {
        let inside = |path: &str| path.split('/').next() == Some(family);
        let unreadable = text.unreadable.iter().any(|(path, _)| inside(path));
        let kept_out = layers.kept_out.iter().any(|path| inside(path));
        if unreadable || kept_out || folder(family).any(|(at, _)| !trees.reads(at)) {
            faulty.note(family);
        }
    }
    let base = base_alone(text);
    let mut sources = Sources::new();
    for (at, file) in folder("sources") {
        if let Some(table) = trees.tree(at) {
            sources::read(&file.source, &table, &mut sources, &mut faulty, findings);
        }
    }
    if let Some(base) = &base {
        sources::keep_what_is_repeated(&mut sources, &base.sources);
    }
    let declared = Declared { vocabulary: &vocabulary, sources: &sources };
    let tables: Vec<LookupTable> = folder("tables")
        .filter_map(|(at, file)| {
            tables::read(&file.source, &*trees.tree(at)?, declared, &mut faulty, findings)
        })
        .collect();
    // an overlay may withdraw a table; what is computed from it is unknown then
    if base.is_none() {
        let (source, table) = read_single("vocabulary.toml");
        vocabulary_file::check_tables(source, &table, &tables, findings);
    }
    let names = Names { vocabulary: &vocabulary, needs: &needs.all, tables: &tables };
    let read_rules_and_climates = || {
        let mut findings = Findings::new();
        let rules: Vec<Rule> = folder("rules")
            .filter_map(|(at, file)| {
                let topic = file.path.split('/').nth(1).filter(|topic| !topic.ends_with(".toml"));
                let table = trees.tree(at)?;
                rule_file::read(
                    &file.source,
                    &table,
                    topic.unwrap_or_default(),
                    &names,
                    &sources,
                    &mut findings,
                )
            })
            .collect();
        let climates: Vec<Climate> = folder("climates")
            .filter_map(|(at, file)| climates::read(&file.source, &*trees.tree(at)?, declared, &mut findings))
            .collect();
        (rules, climates, findings)
    };
    // rules and climates do not need the species, and reading all of them is most of the start
    let (mut species, (mut rules, mut climates, other_findings)) = std::thread::scope(|scope| {
        let others = scope.spawn(read_rules_and_climates);
        let species: Vec<Species> = folder("species")
            .filter_map(|(at, file)| species::read(&file.source, &*trees.tree(at)?, declared, findings))
            .collect();
        (species, others.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    });
    findings.extend(other_findings);
    let digest = trees.digest.clone();
    refuse_duplicates(species.iter().map(|one| (one.id.as_str(), &one.place)), "species", findings);
    refuse_duplicates(rules.iter().map(|one| (one.id.as_str(), &one.place)), "rule", findings);
    species_names::refuse_taken_synonyms(&species, findings);
    species_names::refuse_taken_names(&species, findings);
    trees.report_unfilled(text, findings);
    report_strangers(text, findings);
    let mut claims = Claims::default();
    for (at, file) in folder(overlay::VALUES) {
        let overlay = layers.overlays.iter().position(|one| one.holds_file(&file.source));
        if let (Some(overlay), Some(table)) = (overlay, trees.tree(at)) {
            let file = (&file.source, &*table);
            overlay_values::apply(file, overlay, &mut species, declared, &mut claims, findings);
        }
    }
    let out_of_force = out_of_force(text, &trees, &layers.overlays, &names, &sources);
    // the order of files must not show anywhere
    species.sort_by(|a, b| a.id.cmp(&b.id));
    rules.sort_by(|a, b| a.id.cmp(&b.id));
    climates.sort_by(|a, b| a.id.cmp(&b.id));
    counted::fill(&mut species, &vocabulary);
    let known = base.as_ref().map_or(&species, |base| &base.species);
    estimates::Known::of(known, &vocabulary).estimate_missing(&mut species, &vocabulary);
    let mut knowledge = Knowledge {
        edition,
        digest,
        overlays: layers.overlays,
        vocabulary,
        needs,
        sources,
        tables,
        climates: climates.into(),
        species,
        rules,
        out_of_force,
        formulas: Vec::new(),
        strata: Strata::default(),
    };
    knowledge.put_in_order(findings);
    faulty.drop_followers(findings);
    Some(knowledge)
}

/// The base as it stands without the overlays; `None` where there are none. What is wrong with it is told
/// when it is read with them.
fn base_alone(text: &KnowledgeText) -> Option<Knowledge> {
    if text.overlays.is_empty() {
        return None;
    }
    let alone = text.without_overlays();
    let stored = alone.ready.as_ref().filter(|ready| !ready.stored.is_empty());
    let stored = stored.and_then(|ready| stored::restore(ready.stored, &alone));
    stored.or_else(|| read_all(&alone, &mut Findings::new()))
}

/// The rules of the base that overlays take out of force. What is wrong with one is not their concern.
fn out_of_force(
    text: &KnowledgeText,
    trees: &Trees<'_>,
    overlays: &[Overlay],
    names: &Names<'_>,
    sources: &Sources,
) -> Vec<(usize, Rule)> {
    let mut unheard = Findings::new();
    let mut rules = Vec::new();
    for (number, overlay) in overlays.iter().enumerate() {
        for path in overlay.withdraws.iter().chain(&overlay.replaces) {
            let Some(topic) = path.strip_prefix("rules/").and_then(|rest| rest.split('/').next()) else {
                continue;
            };
            let file = text.files.iter().enumerate().find(|(_, file)| overlay::stem(&file.path) == path);
            let Some((file, table)) = file.and_then(|(at, file)| Some((file, trees.tree(at)?))) else {
                continue;
            };
            let rule = rule_file::read(&file.source, &table, topic, names, sources, &mut unheard);
            rules.extend(rule.map(|rule| (number, rule)));
        }
    }
    rules
}

/// The trees of all files, those of the base first: parsed, or inside the program and decoded when
/// asked for.
struct Trees<'a> {
    encoded: &'a [&'static [u8]],
    parsed: Vec<Option<Table>>,
    /// Digest over the base.
    digest: String,
}

impl<'a> Trees<'a> {
    fn of(text: &'a KnowledgeText, findings: &mut Findings) -> Self {
        let (encoded, ready) = match &text.ready {
            Some(ready) => (ready.trees.as_slice(), Some(ready.digest)),
            None => (&[][..], None),
        };
        let to_parse = text.all_files().skip(encoded.len());
        let parsed: Vec<Option<Table>> = to_parse.map(|file| parse(&file.source, findings)).collect();
        let sound =
            || text.files.iter().zip(&parsed).filter_map(|(file, table)| Some((file, table.as_ref()?)));
        let digest = ready.map_or_else(
            || digest::digest(sound().map(|(file, table)| (file.path.as_str(), table))),
            str::to_owned,
        );
        Self { encoded, parsed, digest }
    }

    /// Whether the syntax of a file is sound.
    fn reads(&self, at: usize) -> bool {
        at < self.encoded.len() || self.parsed[at - self.encoded.len()].is_some()
    }

    /// Reports what scaffolds left open; the knowledge inside the program has nothing of it.
    fn report_unfilled(&self, text: &KnowledgeText, findings: &mut Findings) {
        for (file, table) in text.all_files().skip(self.encoded.len()).zip(&self.parsed) {
            if let Some(table) = table {
                placeholder::report(&file.source, table, findings);
            }
        }
    }

    /// The tree of a file; `None` where its syntax is faulty.
    fn tree(&self, at: usize) -> Option<Cow<'_, Table>> {
        match self.encoded.get(at) {
            // the build script wrote these bytes with the same types
            Some(bytes) => postcard::from_bytes(bytes).ok().map(Cow::Owned),
            None => self.parsed[at - self.encoded.len()].as_ref().map(Cow::Borrowed),
        }
    }
}

/// Files that no part of the program reads are most often in the wrong folder.
fn report_strangers(text: &KnowledgeText, findings: &mut Findings) {
    for file in &text.files {
        let known = match file.path.split_once('/') {
            None => ["edition.toml", "vocabulary.toml", "needs.toml"].contains(&file.path.as_str()),
            Some((folder, _)) => ["sources", "tables", "climates", "species", "rules"].contains(&folder),
        };
        if !known {
            let place = Place { source: file.source.clone(), span: 0..file.source.text.len().min(1) };
            let message = format!("nothing reads `{}`", file.path);
            let help = "knowledge stands in edition.toml, vocabulary.toml, needs.toml, sources/, tables/, climates/, species/ and rules/<topic>/";
            findings.push(Finding::error("stray-file", &place, message).help(help));
        }
    }
}

fn refuse_duplicates<'a>(
    ids: impl Iterator<Item = (&'a str, &'a Place)>,
    what: &str,
    findings: &mut Findings,
) {
    let mut seen: HashMap<&str, &Place> = HashMap::new();
    for (id, place) in ids {
        if let Some(first) = seen.insert(id, place) {
            let message = format!("{what} `{id}` stands twice");
            findings.push(Finding::error("duplicate-id", place, message).also(first, "first here"));
        }
    }
}
