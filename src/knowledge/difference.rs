//! What differs between two knowledge bases: species, values of traits, rules, other files.

use std::collections::{BTreeMap, BTreeSet};

use super::digest::canonical;
use super::edition::Version;
use super::species::{Species, TraitValue};
use super::text::KnowledgeText;
use super::{Knowledge, overlay};
use crate::diag::{Finding, Findings, Place};
use crate::document::{NodeKind, Table, parse};
use crate::knowledge::vocabulary::Declaration;
use crate::units::UnitSystem;

/// What became of something that both, or one of two, have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change<T> {
    /// Only the new one has it.
    Added(T),
    /// Only the old one has it.
    Removed(T),
    /// Both have it, and they differ.
    Changed(T, T),
}

/// A trait whose value or evidence differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TraitChange {
    /// Id of the species.
    pub species: String,
    /// Name of the trait, without `species.`.
    pub name: String,
    /// Its merged value, written; where that is the same, its evidence differs.
    pub value: Change<String>,
}

/// A rule that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleChange {
    /// Its id.
    pub id: String,
    /// The keys of its file that differ, with what stood and what stands there.
    pub what: Change<Vec<String>>,
}

/// What differs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Difference {
    /// Species that only one of them has.
    pub species: Vec<Change<String>>,
    /// Traits of species that both have.
    pub traits: Vec<TraitChange>,
    /// Rules.
    pub rules: Vec<RuleChange>,
    /// Paths of other files that differ: vocabulary, needs, tables, sources, climates.
    pub others: Vec<Change<String>>,
}

impl Difference {
    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Whether nothing but words differ: titles, whys and becauses of rules, and the changelog.
    pub fn is_only_words(&self) -> bool {
        const WORDS: [&str; 3] = ["title = ", "why = ", "because = "];
        let words = |line: &String| WORDS.iter().any(|word| line.starts_with(word));
        let rules = self.rules.iter().all(|rule| match &rule.what {
            Change::Changed(was, is) => was.iter().chain(is).all(words),
            _ => false,
        });
        let changelog =
            |change: &Change<String>| matches!(change, Change::Changed(path, _) if path == EDITION);
        self.species.is_empty() && self.traits.is_empty() && rules && self.others.iter().all(changelog)
    }

    /// What the new edition lacks for a difference like this: a version raised by a minor number where
    /// values differ, by a patch where only words do, each with its entry in the changelog (which loading
    /// checks). An overlay has a version of its own.
    pub fn edition_finding(&self, old: &Knowledge, (new_text, new): Side<'_>) -> Option<Finding> {
        let (before, after) = (old.edition.version, new.edition.version);
        let numbers = |version: Version| (version.major, version.minor);
        let raised = if self.is_only_words() { after > before } else { numbers(after) > numbers(before) };
        if self.is_empty() || raised || !new.overlays.is_empty() {
            return None;
        }
        let what = if self.is_only_words() { "words differ" } else { "values or rules differ" };
        let message = format!("{what} from edition {before}, and this is edition {after}");
        let wanted = match self.is_only_words() {
            true => Version { patch: before.patch.saturating_add(1), ..before },
            false => Version { minor: before.minor.saturating_add(1), patch: 0, ..before },
        };
        let mut help =
            format!("raise `version` to at least \"{wanted}\", with a [[changelog]] that says what changed");
        // an edition that is still at work on is stamped anew with each change
        if after == before {
            help.push_str(&format!(
                "; where nobody has edition {before} yet, compare with the one before it"
            ));
        }
        Some(Finding::error("edition-not-raised", &version_place(new_text)?, message).help(help))
    }
}

/// The finding that a later edition has no entry of an earlier one any more, as where it was written over.
pub fn entry_finding(old: &Knowledge, (new_text, new): Side<'_>) -> Option<Finding> {
    if new.edition.version < old.edition.version {
        return None;
    }
    let stays = |version: Version| new.edition.changes.iter().any(|change| change.version == version);
    let gone = old.edition.changes.iter().find(|change| !stays(change.version))?.version;
    let message = format!("the changelog has no entry of edition {gone} any more");
    let help = "put it back as it was, and give the new edition a [[changelog]] of its own above it";
    Some(Finding::error("entry-gone", &version_place(new_text)?, message).help(help))
}

/// Where an edition states its version.
fn version_place(text: &KnowledgeText) -> Option<Place> {
    let file = text.all_files().find(|file| overlay::stem(&file.path) == EDITION)?;
    let start = file.source.text.find("version").unwrap_or(0);
    let end = file.source.text[start..].find('\n').map_or(file.source.text.len(), |line| start + line);
    Some(Place { source: file.source.clone(), span: start..end })
}

/// Path of the edition without ending.
const EDITION: &str = "edition";

/// One of the two: its files and what they say.
pub type Side<'a> = (&'a KnowledgeText, &'a Knowledge);

/// What differs from an old knowledge base to a new one. Units are those of the vocabulary.
pub fn difference((old_text, old): Side<'_>, (new_text, new): Side<'_>) -> Difference {
    let mut all = Difference::default();
    let ids = |knowledge: &Knowledge| -> BTreeSet<String> {
        knowledge.species.iter().map(|one| one.id.clone()).collect()
    };
    let (old_ids, new_ids) = (ids(old), ids(new));
    all.species.extend(old_ids.difference(&new_ids).cloned().map(Change::Removed));
    all.species.extend(new_ids.difference(&old_ids).cloned().map(Change::Added));
    for id in old_ids.intersection(&new_ids) {
        if let (Some(before), Some(after)) = (old.species_named(id), new.species_named(id)) {
            all.traits.extend(trait_changes((before, old), (after, new)));
        }
    }
    let (old_trees, new_trees) = (trees(old_text, old), trees(new_text, new));
    for path in old_trees.keys().chain(new_trees.keys()).collect::<BTreeSet<_>>() {
        let folder = path.split('/').next().unwrap_or_default();
        if folder == "species" || folder == overlay::VALUES {
            continue;
        }
        let change = match (old_trees.get(path), new_trees.get(path)) {
            (Some(before), Some(after)) => {
                let (was, is) = differing(before, after);
                if was.is_empty() && is.is_empty() {
                    continue;
                }
                Change::Changed(was, is)
            }
            (Some(_), None) => Change::Removed(Vec::new()),
            (None, _) => Change::Added(Vec::new()),
        };
        if folder == "rules" {
            let id = path.rsplit('/').next().unwrap_or_default().to_owned();
            all.rules.push(RuleChange { id, what: change });
        } else {
            all.others.push(match change {
                Change::Added(_) => Change::Added(path.clone()),
                Change::Removed(_) => Change::Removed(path.clone()),
                Change::Changed(..) => Change::Changed(path.clone(), path.clone()),
            });
        }
    }
    all
}

/// The trees of all files in force by path without ending; an overlay's file stands in the place of the
/// base's, and nothing in the place of one that it withdraws.
fn trees(text: &KnowledgeText, knowledge: &Knowledge) -> BTreeMap<String, Table> {
    // both were loaded without a fault
    let mut findings = Findings::new();
    let mut trees: BTreeMap<String, Table> = text
        .all_files()
        .filter_map(|file| Some((overlay::stem(&file.path).to_owned(), parse(&file.source, &mut findings)?)))
        .collect();
    for path in knowledge.overlays.iter().flat_map(|overlay| &overlay.withdraws) {
        trees.remove(path);
    }
    trees
}

/// The keys that differ, each with its canonical value on either side; of cases only that they do.
fn differing(before: &Table, after: &Table) -> (Vec<String>, Vec<String>) {
    let values = |table: &Table| -> BTreeSet<(String, String)> {
        let mut all = BTreeSet::new();
        leaves(table, "", &mut all);
        all
    };
    let (before, after) = (values(before), values(after));
    let written = |(key, value): &(String, String)| match key.as_str() {
        "fires" | "stays_silent" => format!("other cases of {key}"),
        _ => format!("{key} = {value}"),
    };
    (before.difference(&after).map(written).collect(), after.difference(&before).map(written).collect())
}

/// Every value of a table by its dotted key.
fn leaves(table: &Table, above: &str, all: &mut BTreeSet<(String, String)>) {
    for (key, entry) in table.iter() {
        let key = format!("{above}{key}");
        match &entry.node.kind {
            NodeKind::Table(inner) => leaves(inner, &format!("{key}."), all),
            _ => {
                all.insert((key, canonical(&entry.node)));
            }
        }
    }
}

fn trait_changes(
    (before, old): (&Species, &Knowledge),
    (after, new): (&Species, &Knowledge),
) -> Vec<TraitChange> {
    let by_name = |species: &Species, knowledge: &Knowledge| -> BTreeMap<String, (String, Vec<String>)> {
        let declared = knowledge.vocabulary.species.iter().zip(&species.traits);
        declared
            .filter_map(|(declaration, own)| {
                let own = own.as_ref()?;
                let name = declaration.id.trim_start_matches("species.").to_owned();
                Some((name, (written(own, declaration, knowledge), evidence(own, declaration, knowledge))))
            })
            .collect()
    };
    let (old_traits, new_traits) = (by_name(before, old), by_name(after, new));
    let names: BTreeSet<&String> = old_traits.keys().chain(new_traits.keys()).collect();
    names
        .into_iter()
        .filter_map(|name| {
            let value = match (old_traits.get(name), new_traits.get(name)) {
                (Some(was), Some(is)) if was == is => return None,
                (Some((was, _)), Some((is, _))) => Change::Changed(was.clone(), is.clone()),
                (Some((was, _)), None) => Change::Removed(was.clone()),
                (None, is) => Change::Added(is?.0.clone()),
            };
            Some(TraitChange { species: before.id.clone(), name: name.clone(), value })
        })
        .collect()
}

fn written(own: &TraitValue, declaration: &Declaration, knowledge: &Knowledge) -> String {
    let value = knowledge.vocabulary.write(&own.value, declaration.kind, UnitSystem::Si);
    if own.estimated.is_some() { format!("{value} (estimated)") } else { value }
}

/// Every published value with its source, in order.
fn evidence(own: &TraitValue, declaration: &Declaration, knowledge: &Knowledge) -> Vec<String> {
    let mut all: Vec<String> = own
        .evidence
        .iter()
        .map(|one| {
            let value = knowledge.vocabulary.write(&one.value, declaration.kind, UnitSystem::Si);
            format!("{value} {:?} {}", one.spread, one.citation.short())
        })
        .collect();
    all.sort();
    all
}
