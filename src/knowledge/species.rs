//! `species/*.toml`: a species, its traits, and for each trait every published value.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::bare_entry::entry_like;
use super::citation::{Citation, no_source, resolve};
use super::later::Later;
use super::merge::merge;
use super::names::Declared;
use super::values::{WhatIsRead, read_number, read_value};
use super::vocabulary::{Declaration, Kind, Vocabulary};
use crate::diag::{Finding, Findings, Place, Source, nearest};
use crate::document::{Entry, Node, NodeKind, Table, TableReader};
use crate::engine::facts::Values;
use crate::engine::value::{Space, Value};

pub use super::species_names::{species_near_word, species_so_called, species_with_word, unknown_species};

/// One published value of a trait.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Evidence {
    /// The value, in the base of the unit.
    pub value: Value,
    /// Spread that the source itself states, of a number.
    pub spread: Option<(f64, f64)>,
    /// Where it was published.
    pub citation: Citation,
    /// What a reader must know of it.
    pub note: Option<String>,
    /// Where it is entered.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

/// A trait of a species.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct TraitValue {
    /// What all evidence comes to.
    pub value: Value,
    /// Lowest and highest that any source gives, of a number or the position of a step.
    pub spread: Option<(f64, f64)>,
    /// Every published value; empty for an estimate.
    pub evidence: Later<Vec<Evidence>>,
    /// How the estimate was made, where the value is one.
    pub estimated: Option<String>,
}

/// A species.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Species {
    /// Its id, which is the stem of its file.
    pub id: String,
    /// Botanical name without authors.
    pub botanical: String,
    /// Common names, the one that is printed first.
    pub common: Vec<String>,
    /// Other names under which it is looked for, botanical ones of older books among them.
    pub synonyms: Vec<String>,
    /// Position of its group in the choice `kind`.
    pub kind: u8,
    /// What it is, in one sentence.
    pub summary: Option<String>,
    /// Its traits, in the order of the vocabulary.
    pub traits: Vec<Option<TraitValue>>,
    /// Where it is entered.
    #[serde(with = "super::stored::place")]
    pub place: Place,
    /// Positions of traits whose values an overlay withdrew, and where it says so.
    #[serde(skip)]
    pub withdrawn: Vec<(usize, Place)>,
}

impl Species {
    /// The values of its traits alone, as the engine reads them.
    pub fn trait_values(&self) -> Values {
        self.traits.iter().map(|one| one.as_ref().map(|one| one.value.clone())).collect()
    }

    /// The name that is printed.
    pub fn name(&self) -> &str {
        self.common.first().map_or(&self.botanical, String::as_str)
    }

    /// Every name that it goes by.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        let own = [&self.id, &self.botanical].into_iter().chain(&self.common).chain(&self.synonyms);
        own.map(String::as_str)
    }
}

/// Reads one species file.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    declared: Declared<'_>,
    findings: &mut Findings,
) -> Option<Species> {
    let vocabulary = declared.vocabulary;
    let mut file = TableReader::of_file(source, table, "a species");
    let id_node = file.required("id", findings);
    let botanical = file.required_text("botanical", findings).unwrap_or_default().to_owned();
    let states_common = file.node("common").is_some_and(|node| !matches!(node.kind, NodeKind::List(_)));
    let common = file.texts("common", findings).unwrap_or_default();
    let synonyms = file.texts("synonyms", findings).unwrap_or_default();
    let botanical_node = file.node("botanical").filter(|_| !botanical.is_empty());
    let first = botanical_node.and_then(|node| Some((node.as_text()?, node)));
    for (name, node) in first.iter().chain(&common).chain(&synonyms) {
        refuse_blanks(name, &file.place(node.span), findings);
    }
    let kind = read_kind(&mut file, vocabulary, findings);
    let summary = file.text("summary", findings).map(str::to_owned);
    let mut traits: Vec<Option<TraitValue>> = vec![None; vocabulary.species.len()];
    if let Some(mut inner) = file.table("traits", "the traits", findings) {
        for (at, value, _) in read_traits(&mut inner, id_node.and_then(Node::as_text), declared, findings) {
            traits[at] = Some(value);
        }
    }
    // what stands there and is no list has been told
    if common.is_empty() && !states_common {
        let message = "a species needs at least one common name";
        findings.push(Finding::error("missing-key", &file.own_place(), message).help("common = [\"…\"]"));
    }
    let place = id_node.map_or_else(|| file.own_place(), |node| file.place(node.span));
    report_traits_outside(&mut file, table, vocabulary, findings);
    file.finish(findings);
    let id = super::file_id(source, id_node, &place, findings)?;
    let kind = kind?;
    if let Some(slot) = vocabulary.slot("species.kind") {
        traits[slot.index] = Some(TraitValue {
            value: Value::Choice(kind),
            spread: None,
            evidence: Vec::new().into(),
            estimated: None,
        });
    }
    let names = |list: Vec<(&str, _)>| list.into_iter().map(|(name, _)| name.to_owned()).collect();
    let (common, synonyms) = (names(common), names(synonyms));
    Some(Species { id, botanical, common, synonyms, kind, summary, traits, place, withdrawn: Vec::new() })
}

/// Traits that stand beside the names: the line `[traits]` above them is missing, which is told once.
fn report_traits_outside<'a>(
    file: &mut TableReader<'a>,
    table: &'a Table,
    vocabulary: &Vocabulary,
    findings: &mut Findings,
) {
    let stray: Vec<(&str, &Entry)> = table
        .iter()
        .filter(|(name, _)| *name != "summary" && trait_named(name, vocabulary).is_some())
        .collect();
    let Some((name, entry)) = stray.first() else { return };
    for (name, _) in &stray {
        file.entry(name);
    }
    let message = format!("`{name}` is a trait, and traits stand under [traits]");
    let mut finding = Finding::error("unknown-key", &file.place(entry.key_span), message)
        .help("write a line `[traits]` above the first trait");
    if stray.len() > 1 {
        finding = finding.label(format!("and {} more below", stray.len() - 1));
    }
    findings.push(finding);
}

/// Refuses a name with blanks that nobody types: it would never be found by it.
fn refuse_blanks(name: &str, place: &Place, findings: &mut Findings) {
    let plain = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if plain.is_empty() {
        findings
            .push(Finding::error("empty-text", place, "a name is empty").help("write it, or take it out"));
    } else if plain != name {
        let message = format!("`{name}` has a blank that nobody would type");
        findings.push(Finding::error("blank-in-name", place, message).help(format!("write \"{plain}\"")));
    }
}

fn read_kind(file: &mut TableReader<'_>, vocabulary: &Vocabulary, findings: &mut Findings) -> Option<u8> {
    let node = file.required("kind", findings)?;
    let list = vocabulary.list(vocabulary.list_named("kind", false)?);
    let text = node.as_text().unwrap_or_default();
    let position = list.position(text);
    if position.is_none() {
        findings.push(super::values::unknown_name(list, text, "kind", &file.place(node.span)));
    }
    position
}

/// The trait that is being read.
#[derive(Clone, Copy)]
pub struct Trait<'a> {
    /// The file that is read.
    pub source: &'a Arc<Source>,
    /// Its name without `species.`.
    pub name: &'a str,
    /// The species, where its file says which it is.
    pub species: Option<&'a str>,
    /// What it is read against.
    pub declared: Declared<'a>,
}

impl Trait<'_> {
    /// In words.
    fn subject(&self) -> String {
        match self.species {
            Some(species) => format!("a value of `{}` of `{species}`", self.name),
            None => format!("a value of `{}`", self.name),
        }
    }
}

/// The traits of a table, each with its position in the vocabulary and the place of its key.
pub(super) fn read_traits(
    reader: &mut TableReader<'_>,
    species: Option<&str>,
    declared: Declared<'_>,
    findings: &mut Findings,
) -> Vec<(usize, TraitValue, Place)> {
    let source = reader.source();
    let entries = reader.all();
    entries
        .filter_map(|(name, entry)| {
            let (at, value) = read_trait(Trait { source, name, species, declared }, entry, findings)?;
            Some((at, value, Place { source: source.clone(), span: entry.key_span.range() }))
        })
        .collect()
}

fn read_trait(whose: Trait<'_>, entry: &Entry, findings: &mut Findings) -> Option<(usize, TraitValue)> {
    let Trait { source, name, declared: Declared { vocabulary, .. }, .. } = whose;
    let place = Place { source: source.clone(), span: entry.key_span.range() };
    let Some(index) = trait_named(name, vocabulary) else {
        findings.push(unknown_trait(name, &place, vocabulary));
        return None;
    };
    let declaration = &vocabulary.species[index];
    let value_place = Place { source: source.clone(), span: entry.node.span.range() };
    let NodeKind::List(items) = &entry.node.kind else {
        let message = format!("`{name}` must be a list of values, not {}", entry.node.type_name());
        let help = match entry.node.kind {
            NodeKind::Table(_) => format!("put square brackets about it: `{name} = [{{ … }}]`"),
            _ => format!("write `{name} = [{}]`", entry_like(whose, &[&entry.node], declaration)),
        };
        findings.push(Finding::error("wrong-type", &value_place, message).help(help));
        return None;
    };
    // bare values are one slip, told once
    if items.len() > 1 && items.iter().all(|item| item.as_table().is_none()) {
        let message = format!("a value of `{name}` must be a table, not {}", items[0].type_name());
        let bare: Vec<&Node> = items.iter().collect();
        let help = format!("write `{name} = [{}]`", entry_like(whose, &bare, declaration));
        findings.push(Finding::error("wrong-type", &value_place, message).help(help));
        return None;
    }
    let evidence: Vec<Evidence> =
        items.iter().filter_map(|item| read_evidence(whose, item, declaration, findings)).collect();
    refuse_repeated(name, &evidence, findings);
    let (value, spread) = merge(declaration, &evidence)?;
    Some((index, TraitValue { value, spread, evidence: evidence.into(), estimated: None }))
}

/// Position of a trait that a file may give values of, by its name without `species.`.
pub fn trait_named(name: &str, vocabulary: &Vocabulary) -> Option<usize> {
    let slot = vocabulary.slot(&format!("species.{name}"))?;
    (slot.space == Space::Species && vocabulary.species[slot.index].is_entered()).then_some(slot.index)
}

/// What a species file says of the species before its traits.
const ABOVE_TRAITS: [&str; 6] = ["id", "botanical", "common", "synonyms", "kind", "summary"];

/// The finding for a trait that the vocabulary does not declare.
pub fn unknown_trait(name: &str, place: &Place, vocabulary: &Vocabulary) -> Finding {
    let id = format!("species.{name}");
    let counted = vocabulary.species.iter().find(|one| one.id == id).and_then(|one| one.counted.as_ref());
    if let Some(counted) = counted {
        let of = counted.of.trim_start_matches("species.");
        let message = format!("`{name}` is counted from `{of}`, and nobody enters it");
        let help = format!("enter a value of `{of}` for each publication");
        return Finding::error("counted-trait", place, message).help(help);
    }
    let entered = vocabulary.species.iter().filter(|one| one.is_entered());
    let names = entered.filter_map(|trait_| trait_.id.strip_prefix("species."));
    let help = match nearest(name, names) {
        _ if ABOVE_TRAITS.contains(&name) => {
            format!("`{name}` is no trait: write it above the line `[traits]`")
        }
        Some(near) => format!("did you mean `{near}`?"),
        None => "traits are declared in vocabulary.toml under [species.…]".to_owned(),
    };
    let finding = Finding::error("unknown-trait", place, format!("unknown trait `{name}`")).help(help);
    finding.undeclared(id)
}

/// Reads one entry; `None` with a finding where something is wrong with it.
pub fn read_evidence(
    whose: Trait<'_>,
    item: &Node,
    declaration: &Declaration,
    findings: &mut Findings,
) -> Option<Evidence> {
    let Trait { source, name, declared: Declared { vocabulary, sources }, .. } = whose;
    let place = Place { source: source.clone(), span: item.span.range() };
    let Some(table) = item.as_table() else {
        let message = format!("a value of `{name}` must be a table, not {}", item.type_name());
        let help = format!("write `{}`", entry_like(whose, &[item], declaration));
        findings.push(Finding::error("wrong-type", &place, message).help(help));
        return None;
    };
    let mut reader = TableReader::of_table(source, item, table, "a value");
    let key = reader.node("source");
    if key.is_none() {
        let help =
            "add `source = \"…\"`, or `source = \"common-practice\"` for what the trade takes for granted";
        findings.push(no_source(&place, &whose.subject()).help(help));
    }
    let citation = resolve(&mut reader, key, sources, findings);
    let note = reader.text("note", findings).map(str::to_owned);
    let (low, high) = read_ends(whose, (table, &place), declaration, &mut reader, findings)?;
    if let (Kind::Range(_), Some(entry)) = (declaration.kind, table.get("value")) {
        reader.entry("value");
        let message = format!("unknown key `value`: `{name}` is a range, and a range has none");
        let help = "a range is stated by `low` and `high`, or by one of them where the source gives no other";
        findings.push(Finding::error("unknown-key", &reader.place(entry.key_span), message).help(help));
    }
    let stated = |reader: &mut TableReader<'_>, findings: &mut Findings| {
        let node = find(table, "value", reader)?;
        read_value(vocabulary, declaration, WhatIsRead { source, node, name, unit: None }, findings)
    };
    let (value, spread) = match declaration.kind {
        Kind::Range(_) => match (low, high) {
            (None, None) => (None, None),
            _ => {
                let range = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
                (Some(Value::Range(range.0, range.1)), None)
            }
        },
        Kind::Number(_) => {
            let value = stated(&mut reader, findings);
            let middle = low.zip(high).map(|(low, high)| Value::Number(f64::midpoint(low, high)));
            let known: Vec<f64> =
                [low, value.as_ref().and_then(Value::as_number), high].into_iter().flatten().collect();
            let spread = known.iter().copied().reduce(f64::min).zip(known.iter().copied().reduce(f64::max));
            (value.or(middle), spread)
        }
        _ => (stated(&mut reader, findings), None),
    };
    if value.is_none() && !told_already(table, declaration, (low, high)) {
        let wanted = match declaration.kind {
            Kind::Range(_) => "`low`, `high` or both",
            Kind::Number(_) => "`value`, or `low` and `high`",
            _ => "`value`",
        };
        findings.push(Finding::error("missing-key", &place, format!("a value of `{name}` needs {wanted}")));
    }
    reader.finish(findings);
    Some(Evidence { value: value?, spread, citation: citation?, note, place })
}

/// Both ends of what an entry states; `None` with a finding where they are swapped.
fn read_ends(
    whose: Trait<'_>,
    (table, place): (&Table, &Place),
    declaration: &Declaration,
    reader: &mut TableReader<'_>,
    findings: &mut Findings,
) -> Option<(Option<f64>, Option<f64>)> {
    let Trait { source, name, .. } = whose;
    if !matches!(declaration.kind, Kind::Number(_) | Kind::Range(_)) {
        return Some((None, None));
    }
    let mut end = |key: &'static str| {
        let node = find(table, key, reader)?;
        read_number(declaration, WhatIsRead { source, node, name: key, unit: None }, findings)
    };
    let (low, high) = (end("low"), end("high"));
    if low.zip(high).is_none_or(|(low, high)| low <= high) {
        return Some((low, high));
    }
    let low = table.get("low").map_or_else(|| place.clone(), |entry| reader.place(entry.node.span));
    let message = format!("`low` of `{name}` is above its `high`");
    let help = match declaration.kind.unit().filter(|unit| !["1", "pH"].contains(&unit.name)) {
        Some(unit) => format!("the smaller comes first; a number without a unit is in {}", unit.name),
        None => "the smaller comes first".to_owned(),
    };
    findings.push(Finding::error("ends-swapped", &low, message).help(help));
    None
}

/// Whether an entry without a value has a fault that was told. One end alone gives a number no value, which is
/// still to be told.
fn told_already(table: &Table, declaration: &Declaration, (low, high): (Option<f64>, Option<f64>)) -> bool {
    let has = |key: &str| table.get(key).is_some();
    let half = matches!(declaration.kind, Kind::Number(_))
        && !has("value")
        && low.is_some() != high.is_some()
        && !(has("low") && has("high"));
    !half && ["value", "low", "high"].into_iter().any(has)
}

/// The same value out of the same place of a source, entered twice, would weigh twice in the merge.
pub fn refuse_repeated(name: &str, evidence: &[Evidence], findings: &mut Findings) {
    for (at, one) in evidence.iter().enumerate() {
        let key = &one.citation.publication.key;
        let first = evidence[..at].iter().find(|first| {
            (&first.citation.publication.key, &first.citation.at) == (key, &one.citation.at)
                && (&first.value, first.spread) == (&one.value, one.spread)
        });
        if let Some(first) = first {
            let message = format!("`{name}` has the same value of `{key}` twice");
            let help = "take one of them out, since each weighs in the merge; of two places say which: `at`";
            let finding = Finding::error("entry-twice", &one.place, message);
            findings.push(finding.also(&first.place, "first here").help(help));
        }
    }
}

/// The node of a key, marked as asked for.
fn find<'a>(table: &'a Table, key: &'static str, reader: &mut TableReader<'_>) -> Option<&'a Node> {
    reader.entry(key);
    table.get(key).map(|entry| &entry.node)
}
