//! What `knowledge check --strict` asks beyond sound files: that the base rests on publications.
//!
//! Faults are what nobody should put a name to. What asks for more reading, or is a matter of taste,
//! is a warning with its place, so that it can be worked off one by one.

use std::collections::{HashMap, HashSet};

use super::Knowledge;
use super::backing::{Backing, Coverage};
use super::citation::Citation;
use super::sources::{COMMON_PRACTICE, FROM_MEMORY, SourceKind};
use crate::diag::{Finding, Findings};

/// Largest share of values that may rest on memory, and on common practice, each.
pub const LARGEST_SHARE: f64 = 0.1;

/// What the strict check found.
#[derive(Debug)]
pub struct Strict {
    /// Faults and warnings, each with its place.
    pub findings: Findings,
    /// All values of all species by what stands behind them.
    pub coverage: Coverage,
    /// Key traits that rest on common practice alone.
    pub key_on_practice: usize,
    /// Values of trade pages alone where a better source covers species and trait.
    pub trade_alone: usize,
    /// Sources that nothing cites.
    pub uncited: usize,
}

/// Holds a base that is sound otherwise against what a strict reader asks.
///
/// Faults: an entry from memory in a key trait (`key-from-memory`); more than [`LARGEST_SHARE`] of the
/// values on memory (`much-from-memory`) or on common practice (`much-practice`). Warnings: a key
/// trait on common practice alone (`key-on-practice`); a value on trade pages alone though a better
/// source that the base cites for this species is cited for this trait elsewhere (`trade-alone`); a
/// source that no value, rule, table or place cites (`uncited-source`; with overlays, one of their own).
pub fn strict_findings(knowledge: &Knowledge) -> Strict {
    let mut strict = Strict {
        findings: Findings::new(),
        coverage: Coverage::default(),
        key_on_practice: 0,
        trade_alone: 0,
        uncited: 0,
    };
    check_values(knowledge, &mut strict);
    check_shares(knowledge, &mut strict);
    check_cited(knowledge, &mut strict);
    // faults before warnings, each in the order of the files
    strict.findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    strict
}

fn check_values(knowledge: &Knowledge, strict: &mut Strict) {
    let readers = better_sources(knowledge);
    for species in &knowledge.species {
        let own: HashSet<&str> = species
            .traits
            .iter()
            .flatten()
            .flat_map(|value| &value.evidence)
            .filter(|entry| is_better(&entry.citation))
            .map(|entry| entry.citation.publication.key.as_str())
            .collect();
        for (index, declaration) in knowledge.vocabulary.species.iter().enumerate() {
            let Some(value) = &species.traits[index] else { continue };
            let (Some(backing), Some(first)) = (Backing::of(value), value.evidence.first()) else { continue };
            strict.coverage.count(Some(value));
            let name = declaration.id.trim_start_matches("species.");
            let subject = format!("`{name}` of `{}`", species.id);
            if declaration.key_trait {
                let memory = value.evidence.iter().filter(|entry| entry.citation.is_memory());
                strict.findings.extend(memory.map(|entry| {
                    let message = format!("{subject} rests on memory, and it is a key trait");
                    let help = "enter what a publication states, or leave the trait out";
                    Finding::error("key-from-memory", &entry.place, message).help(help)
                }));
            }
            if declaration.key_trait && backing == Backing::Practice {
                strict.key_on_practice += 1;
                let message = format!("{subject} rests on common practice alone, and it is a key trait");
                let help = "look for a publication that states it; until then every answer says so";
                strict
                    .findings
                    .push(Finding::error("key-on-practice", &first.place, message).as_warning().help(help));
            }
            let mut better: Vec<&str> =
                readers.get(&index).into_iter().flatten().filter(|key| own.contains(*key)).copied().collect();
            if backing == Backing::Trade && !better.is_empty() {
                strict.trade_alone += 1;
                better.sort_unstable();
                let message = format!("{subject} rests on trade pages alone");
                let listed = better.join(", ");
                let help = format!(
                    "cited for this species, and for `{name}` of others: {listed}; see what is stated here"
                );
                strict
                    .findings
                    .push(Finding::error("trade-alone", &first.place, message).as_warning().help(help));
            }
        }
    }
}

/// For each trait, the papers, agencies, standards and extension publications that give it somewhere.
fn better_sources(knowledge: &Knowledge) -> HashMap<usize, HashSet<&str>> {
    let mut found: HashMap<usize, HashSet<&str>> = HashMap::new();
    for species in &knowledge.species {
        for (index, value) in species.traits.iter().enumerate() {
            let entries = value.iter().flat_map(|value| &value.evidence);
            let better = entries.filter(|entry| is_better(&entry.citation));
            found
                .entry(index)
                .or_default()
                .extend(better.map(|entry| entry.citation.publication.key.as_str()));
        }
    }
    found
}

fn is_better(citation: &Citation) -> bool {
    use SourceKind::{Agency, Extension, Paper, Standard};
    matches!(citation.publication.kind, Paper | Agency | Standard | Extension)
}

fn check_shares(knowledge: &Knowledge, strict: &mut Strict) {
    const HELP: &str =
        "`knowledge table --coverage` shows which traits; look for publications, or leave values out";
    let Coverage { memory, practice, .. } = strict.coverage;
    let all = strict.coverage.known();
    let message = |count: usize, words: &str| {
        let most = LARGEST_SHARE * 100.0;
        format!(
            "{count} of {all} values rest on {words}: {:.1} %, and at most {most:.0} % may",
            share(count, all)
        )
    };
    let too_many = |count: usize| count as f64 > all as f64 * LARGEST_SHARE;
    if let (true, Some(source)) = (too_many(memory), knowledge.sources.get(FROM_MEMORY)) {
        let message = message(memory, "memory");
        strict.findings.push(Finding::error("much-from-memory", &source.place, message).help(HELP));
    }
    if let (true, Some(source)) = (too_many(practice), knowledge.sources.get(COMMON_PRACTICE)) {
        let message = message(practice, "common practice");
        strict.findings.push(Finding::error("much-practice", &source.place, message).help(HELP));
    }
}

/// A share in percent; 0 of nothing.
pub fn share(count: usize, all: usize) -> f64 {
    if all == 0 { 0.0 } else { 100.0 * count as f64 / all as f64 }
}

/// Whether a note names a source by its key: as a word, not as a part of a longer key.
pub fn names_key(note: &str, key: &str) -> bool {
    let is_key = |letter: char| letter.is_alphanumeric() || letter == '-';
    note.match_indices(key)
        .any(|(at, _)| !note[..at].ends_with(is_key) && !note[at + key.len()..].starts_with(is_key))
}

fn check_cited(knowledge: &Knowledge, strict: &mut Strict) {
    let values = knowledge.species.iter().flat_map(|species| species.traits.iter().flatten());
    let values = values.flat_map(|value| value.evidence.iter().map(|entry| &entry.citation));
    let rules = knowledge.rules.iter().flat_map(|rule| &rule.citations);
    let tables = knowledge.tables.iter().flat_map(|table| &table.citations);
    let climates = knowledge.climates.iter().flat_map(|climate| &climate.citations);
    let cited: HashSet<&str> = values
        .chain(rules)
        .chain(tables)
        .chain(climates)
        .map(|citation| citation.publication.key.as_str())
        .chain([COMMON_PRACTICE, FROM_MEMORY])
        .collect();
    let method = crate::rank::SOURCES;
    // a note may name what speaks beside or against the value that it stands with
    let entries = knowledge.species.iter().flat_map(|species| species.traits.iter().flatten());
    let noted: Vec<&str> =
        entries.flat_map(|value| value.evidence.iter().filter_map(|entry| entry.note.as_deref())).collect();
    for (key, publication) in &knowledge.sources {
        let is_noted = || noted.iter().any(|note| names_key(note, key));
        // what an overlay takes out of force may have cited it: the base answers for its own sources alone
        let is_beneath =
            || !knowledge.overlays.is_empty() && knowledge.overlay_of(&publication.place).is_none();
        if cited.contains(key.as_str()) || method.contains(&key.as_str()) || is_noted() || is_beneath() {
            continue;
        }
        strict.uncited += 1;
        let message = format!("nothing cites the source `{key}`");
        let help = "cite it where a value or a rule rests on it, or take it out";
        strict
            .findings
            .push(Finding::error("uncited-source", &publication.place, message).as_warning().help(help));
    }
}
