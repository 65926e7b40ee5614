//! From the text of all files to a knowledge base: what is read against what, and in which order.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use super::climates::{self, Climate};
use super::names::{Declared, Faulty, Names};
use super::overlay::{self, Claims, Layers, Overlay};
use super::rule::Rule;
use super::sources::{self, Sources};
use super::species::{self, Species};
use super::tables::{self, LookupTable};
use super::text::{KnowledgeFile, KnowledgeText};
use super::trees::Trees;
use super::vocabulary::Vocabulary;
use super::{
    Knowledge, Strata, counted, edition, estimates, needs, overlay_values, rule_file, species_names, stored,
    vocabulary_file,
};
use crate::diag::{Finding, Findings, Place, Source};
use crate::document::Table;

/// What every other file is held against.
pub const FOUNDATIONS: [&str; 2] = ["vocabulary.toml", "needs.toml"];

/// The files that stand above the folders.
const SINGLE: [&str; 3] = ["edition.toml", "vocabulary.toml", "needs.toml"];

/// The files of a base and of what is laid over it, with their trees.
struct Files<'a> {
    text: &'a KnowledgeText,
    trees: Trees<'a>,
    layers: Layers,
    /// What stands in for a file that is not there.
    nowhere: Arc<Source>,
}

impl<'a> Files<'a> {
    fn of(text: &'a KnowledgeText, findings: &mut Findings) -> Self {
        findings.extend(text.unreadable.iter().map(|(_, finding)| finding.clone()));
        let trees = Trees::of(text, findings);
        let layers = overlay::lay(text, &trees, findings);
        let nowhere = Arc::new(Source { path: text.origin.clone(), text: "".into() });
        Self { text, trees, layers, nowhere }
    }

    /// Position of a file that stands above the folders.
    fn position(&self, name: &str) -> Option<usize> {
        self.text.files.iter().position(|file| file.path == name)
    }

    /// A file that stands above the folders. Of one with a faulty syntax nothing is missing: that is told already.
    fn single(&self, name: &str) -> (&Arc<Source>, Cow<'_, Table>) {
        match self.position(name).filter(|at| self.trees.reads(*at)) {
            Some(at) => (&self.text.files[at].source, self.trees.tree(at).unwrap_or_default()),
            None => (&self.nowhere, Cow::Owned(Table::default())),
        }
    }

    /// The files of a folder that are in force, with their positions.
    fn folder(&self, name: &str) -> impl Iterator<Item = (usize, &'a KnowledgeFile)> {
        let inside = move |path: &str| path.strip_prefix(name).is_some_and(|rest| rest.starts_with('/'));
        let all = self.text.all_files().zip(&self.layers.in_force).enumerate();
        all.filter(move |(_, (file, in_force))| **in_force && inside(&file.path))
            .map(|(at, (file, _))| (at, file))
    }

    /// Those of which the syntax is sound, with their trees.
    fn sound(&self, folder: &str) -> impl Iterator<Item = (&'a KnowledgeFile, Cow<'_, Table>)> {
        self.folder(folder).filter_map(|(at, file)| Some((file, self.trees.tree(at)?)))
    }

    /// Tells which of the single files are not there.
    fn report_missing(&self, findings: &mut Findings) {
        for name in SINGLE {
            if self.position(name).is_none() && !self.text.unreadable.iter().any(|(path, _)| path == name) {
                let message = format!("{}: there is no `{name}`", self.text.origin);
                findings.push(Finding::bare("missing-file", message));
            }
        }
    }

    /// Whether all that other files are held against can be read; if not, the last finding says what is left
    /// unchecked for it.
    fn stands_on_foundations(&self, findings: &mut Findings) -> bool {
        let is_missing = |name: &&str| self.position(name).is_none_or(|at| !self.trees.reads(at));
        let Some(name) = FOUNDATIONS.into_iter().find(is_missing) else { return true };
        if let Some(last) = findings.last_mut() {
            let note = format!("what the other files say is checked once `{name}` can be read");
            last.help = Some(match last.help.take() {
                Some(help) => format!("{help}; {note}"),
                None => note,
            });
        }
        false
    }

    /// Notes the families of which a file cannot be read, or is kept out: what it declares is not known.
    fn note_unread(&self, faulty: &mut Faulty) {
        for family in ["sources", "tables"] {
            let inside = |path: &str| path.split('/').next() == Some(family);
            let unreadable = self.text.unreadable.iter().any(|(path, _)| inside(path));
            let kept_out = self.layers.kept_out.iter().any(|path| inside(path));
            if unreadable || kept_out || self.folder(family).any(|(at, _)| !self.trees.reads(at)) {
                faulty.note(family);
            }
        }
    }
}

/// Reads all that can be read. `None` where the vocabulary or the needs cannot be read at all: every other file
/// is held against them, and would be blamed for names that are right.
pub fn read_all(text: &KnowledgeText, findings: &mut Findings) -> Option<Knowledge> {
    let files = Files::of(text, findings);
    files.report_missing(findings);
    if !files.stands_on_foundations(findings) {
        return None;
    }
    let mut faulty = Faulty::default();
    let (source, table) = files.single("vocabulary.toml");
    let vocabulary = vocabulary_file::read(source, &table, &mut faulty, findings);
    let (source, table) = files.single("needs.toml");
    let needs = needs::read(source, &table, &vocabulary, &mut faulty, findings);
    let (source, table) = files.single("edition.toml");
    let edition = edition::read(source, &table, findings);
    files.note_unread(&mut faulty);

    let base = base_alone(text);
    let sources = read_sources(&files, base.as_ref(), &mut faulty, findings);
    let declared = Declared { vocabulary: &vocabulary, sources: &sources };
    let tables = read_tables(&files, declared, &mut faulty, findings);
    // an overlay may withdraw a table; what is computed from it is unknown then
    if base.is_none() {
        let (source, table) = files.single("vocabulary.toml");
        vocabulary_file::check_tables(source, &table, &tables, findings);
    }
    let names = Names { vocabulary: &vocabulary, needs: &needs.all, tables: &tables };
    let (mut species, mut rules, mut climates) = read_entries(&files, declared, names, findings);
    refuse_duplicates(species.iter().map(|one| (one.id.as_str(), &one.place)), "species", findings);
    refuse_duplicates(rules.iter().map(|one| (one.id.as_str(), &one.place)), "rule", findings);
    species_names::refuse_taken_synonyms(&species, findings);
    species_names::refuse_taken_names(&species, findings);
    files.trees.report_unfilled(text, findings);
    report_strangers(text, findings);
    change_values(&files, &mut species, declared, findings);
    let out_of_force = out_of_force(text, &files.trees, &files.layers.overlays, &names, &sources);
    // the order of files must not show anywhere
    species.sort_by(|a, b| a.id.cmp(&b.id));
    rules.sort_by(|a, b| a.id.cmp(&b.id));
    climates.sort_by(|a, b| a.id.cmp(&b.id));
    fill(&mut species, base.as_ref(), &vocabulary);
    let Files { trees, layers, .. } = files;
    let mut knowledge = Knowledge {
        edition,
        digest: trees.digest,
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

fn read_sources(
    files: &Files<'_>,
    base: Option<&Knowledge>,
    faulty: &mut Faulty,
    findings: &mut Findings,
) -> Sources {
    let mut sources = Sources::new();
    for (file, table) in files.sound("sources") {
        sources::read(&file.source, &table, &mut sources, faulty, findings);
    }
    if let Some(base) = base {
        sources::keep_what_is_repeated(&mut sources, &base.sources);
    }
    sources
}

fn read_tables(
    files: &Files<'_>,
    declared: Declared<'_>,
    faulty: &mut Faulty,
    findings: &mut Findings,
) -> Vec<LookupTable> {
    let all = files.sound("tables");
    all.filter_map(|(file, table)| tables::read(&file.source, &table, declared, faulty, findings)).collect()
}

/// Species, rules and climates. The latter two do not need the species, and reading all of them is most of the
/// start, so that they are read side by side.
fn read_entries(
    files: &Files<'_>,
    declared: Declared<'_>,
    names: Names<'_>,
    findings: &mut Findings,
) -> (Vec<Species>, Vec<Rule>, Vec<Climate>) {
    let read_others = || {
        let mut findings = Findings::new();
        let rules: Vec<Rule> = files
            .sound("rules")
            .filter_map(|(file, table)| {
                let topic = topic_of(file, &mut findings);
                rule_file::read(&file.source, &table, topic, &names, declared.sources, &mut findings)
            })
            .collect();
        let climates: Vec<Climate> = files
            .sound("climates")
            .filter_map(|(file, table)| climates::read(&file.source, &table, declared, &mut findings))
            .collect();
        (rules, climates, findings)
    };
    let (species, (rules, climates, of_others)) = std::thread::scope(|scope| {
        let others = scope.spawn(read_others);
        let species: Vec<Species> = files
            .sound("species")
            .filter_map(|(file, table)| species::read(&file.source, &table, declared, findings))
            .collect();
        (species, others.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    });
    findings.extend(of_others);
    (species, rules, climates)
}

/// Applies what overlays change of single species.
fn change_values(
    files: &Files<'_>,
    species: &mut [Species],
    declared: Declared<'_>,
    findings: &mut Findings,
) {
    let mut claims = Claims::default();
    for (file, table) in files.sound(overlay::VALUES) {
        let overlay = files.layers.overlays.iter().position(|one| one.holds_file(&file.source));
        if let Some(overlay) = overlay {
            let file = (&file.source, &*table);
            overlay_values::apply(file, overlay, species, declared, &mut claims, findings);
        }
    }
}

/// Fills the traits that nobody enters: what is counted, and estimates, which come of the base alone.
fn fill(species: &mut [Species], base: Option<&Knowledge>, vocabulary: &Vocabulary) {
    counted::fill(species, vocabulary);
    let known = estimates::Known::of(base.map_or(&*species, |base| &base.species), vocabulary);
    known.estimate_missing(species, vocabulary);
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

/// Files that no part of the program reads are most often in the wrong folder.
fn report_strangers(text: &KnowledgeText, findings: &mut Findings) {
    for file in &text.files {
        let known = match file.path.split_once('/') {
            None => SINGLE.contains(&file.path.as_str()),
            Some((folder, _)) => overlay::FOLDERS.contains(&folder),
        };
        if !known {
            let message = format!("nothing reads `{}`", file.path);
            let help = "knowledge stands in edition.toml, vocabulary.toml, needs.toml, sources/, tables/, climates/, species/ and rules/<topic>/";
            findings.push(Finding::error("stray-file", &start_of(file), message).help(help));
        }
    }
}

/// The folder of a rule, by which rules are gathered; one that stands in none is refused.
fn topic_of<'a>(file: &'a KnowledgeFile, findings: &mut Findings) -> &'a str {
    let below = file.path.strip_prefix("rules/").unwrap_or(&file.path);
    if let Some((topic, _)) = below.split_once('/') {
        return topic;
    }
    let message = format!("the rule `{}` stands in no folder of a topic", overlay::stem(below));
    let help = format!("move it to `rules/<topic>/{below}`, into a folder that is there or a new one");
    findings.push(Finding::error("stray-file", &start_of(file), message).help(help));
    ""
}

fn start_of(file: &KnowledgeFile) -> Place {
    Place { source: file.source.clone(), span: 0..file.source.text.len().min(1) }
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
