//! A species as a reader of the knowledge wants to see it: every published value with its spread,
//! source and weight, how they were brought together, and which rules read each trait.

use super::layout::Look;
use super::show_text::{reader_words, readers};
use crate::engine::value::{Slot, Space};
use crate::knowledge::Knowledge;
use crate::knowledge::sources::{Publication, SourceKind};
use crate::knowledge::species::{Evidence, Species, TraitValue};
use crate::knowledge::strict::names_key;
use crate::knowledge::vocabulary::{Declaration, Kind, Merge};

/// More rules than these that read a trait are only counted.
const MOST_READERS: usize = 12;

/// The species, written out.
pub fn species_text(knowledge: &Knowledge, species: &Species, look: &Look) -> String {
    let vocabulary = &knowledge.vocabulary;
    let mut text = look.heading(&format!("{} ({})", species.name(), species.botanical));
    let kind = vocabulary.list_named("kind", false).map(|list| vocabulary.list(list));
    let kind = kind.and_then(|list| list.names.get(usize::from(species.kind))).map_or("", String::as_str);
    let names = species.common.join(", ");
    let head = format!("{} · id {} · {names}", kind.replace('-', " "), species.id);
    text.push_str(&look.paragraph(0, &head));
    if !species.synonyms.is_empty() {
        text.push_str(&look.paragraph(0, &format!("Also looked for as: {}", species.synonyms.join(", "))));
    }
    if let Some(summary) = &species.summary {
        text.push_str(&look.paragraph(0, summary));
    }
    text.push('\n');
    text.push_str(&rests_on(knowledge, species, look));
    let mut absent = Vec::new();
    let mut group = "";
    for (index, declaration) in vocabulary.species.iter().enumerate() {
        let Some(value) = &species.traits[index] else {
            absent.extend(declaration.is_entered().then_some(declaration));
            continue;
        };
        if declaration.group != group || index == 0 {
            group = &declaration.group;
            text.push('\n');
            if !group.is_empty() {
                text.push_str(&look.heading(group));
            }
        }
        text.push_str(&trait_text(knowledge, declaration, value, look));
        let slot = Slot { space: Space::Species, index };
        let rules = readers(knowledge, slot);
        let reading = match rules.len() > MOST_READERS {
            true => format!("{} rules, which `knowledge show {}` lists", rules.len(), name_of(declaration)),
            false => reader_words(&rules),
        };
        text.push_str(&look.paragraph(4, &format!("read by {reading}")));
    }
    text.push('\n');
    text.push_str(&not_known(&absent, look));
    text.push_str(&bibliography(species, knowledge, look));
    text.push_str(&look.paragraph(0, &format!("file {}", species.place.locate())));
    text
}

fn name_of(declaration: &Declaration) -> &str {
    declaration.id.trim_start_matches("species.")
}

/// How much of what stands below was published.
fn rests_on(knowledge: &Knowledge, species: &Species, look: &Look) -> String {
    let traits: Vec<(&str, &TraitValue)> = (knowledge.vocabulary.species.iter().zip(&species.traits))
        .filter_map(|(declaration, value)| Some((name_of(declaration), value.as_ref()?)))
        .filter(|(name, _)| *name != "kind")
        .collect();
    let evidence = || traits.iter().flat_map(|(_, value)| &value.evidence);
    let published = |one: &&Evidence| !one.citation.is_unpublished();
    let stated = traits.iter().filter(|(_, value)| !value.evidence.is_empty()).count();
    let mut text = look.paragraph(
        0,
        &format!(
            "{} values of {stated} traits, {} of them published, in {} publications",
            evidence().count(),
            evidence().filter(published).count(),
            publications(species).iter().filter(|one| one.kind != SourceKind::Practice).count(),
        ),
    );
    let mut list = |label: &str, belongs: &dyn Fn(&TraitValue) -> bool| {
        let names: Vec<&str> =
            traits.iter().filter(|(_, value)| belongs(value)).map(|(name, _)| *name).collect();
        if !names.is_empty() {
            text.push_str(&look.paragraph(0, &format!("{label}: {}", names.join(", "))));
        }
    };
    let alone = |value: &TraitValue| {
        !value.evidence.is_empty() && value.evidence.iter().all(|one| one.citation.is_unpublished())
    };
    let memory =
        |value: &TraitValue| alone(value) && value.evidence.iter().all(|one| one.citation.is_memory());
    list("On common practice alone", &|value| alone(value) && !memory(value));
    list("From memory alone", &memory);
    list("Estimated", &|value| value.estimated.is_some());
    text
}

fn trait_text(knowledge: &Knowledge, declaration: &Declaration, value: &TraitValue, look: &Look) -> String {
    let vocabulary = &knowledge.vocabulary;
    let written = vocabulary.write(&value.value, declaration.kind, look.units);
    let mut remarks = Vec::new();
    if let Some(words) = &value.estimated {
        remarks.push(format!("estimated: {words}"));
    }
    remarks.extend(spread_text(knowledge, declaration, value.spread, look));
    if value.evidence.len() > 1 {
        remarks.push(format!("{} of {} values", merge_words(declaration.merge), value.evidence.len()));
    }
    if let Some(counted) = &declaration.counted {
        let of = counted.of.trim_start_matches("species.");
        remarks.push(format!("counted from {of}"));
    }
    if declaration.key_trait {
        remarks.push("key trait".to_owned());
    }
    let remarks = if remarks.is_empty() { String::new() } else { format!(" ({})", remarks.join("; ")) };
    let mut text = look.paragraph(2, &format!("{}: {written}{remarks}", name_of(declaration)));
    text.push_str(&look.paragraph(4, &declaration.meaning));
    for one in &value.evidence {
        let own = vocabulary.write(&one.value, declaration.kind, look.units);
        let spread = spread_text(knowledge, declaration, one.spread, look);
        let spread = spread.map_or_else(String::new, |words| format!(" ({words})"));
        let publication = &one.citation.publication;
        let weight = format!("[{}, weight {}]", publication.kind.name(), publication.weight());
        let note = one.note.as_ref().map(|note| format!(" ({note})")).unwrap_or_default();
        let places = [&one.place, &publication.place];
        let overlay = places.into_iter().find_map(|place| knowledge.overlay_of(place));
        let overlay = overlay.map_or_else(String::new, |one| format!(" · overlay {}", one.id));
        let words = format!("{own}{spread}: {} {weight}{note}{overlay}", one.citation.short());
        text.push_str(&look.paragraph(4, &words));
    }
    text
}

/// `spread 2b to 5a`, where there is one.
fn spread_text(
    knowledge: &Knowledge,
    declaration: &Declaration,
    spread: Option<(f64, f64)>,
    look: &Look,
) -> Option<String> {
    let (low, high) = spread.filter(|(low, high)| low < high)?;
    match declaration.kind {
        Kind::Number(unit) => Some(format!("spread {}", look.units.write_range(low, high, unit))),
        Kind::Scale(list) => {
            let names = &knowledge.vocabulary.list(list).names;
            let step = |at: f64| names.get(at as usize).map_or("", String::as_str).replace('-', " ");
            Some(format!("spread {} to {}", step(low), step(high)))
        }
        _ => None,
    }
}

fn merge_words(merge: Merge) -> &'static str {
    match merge {
        Merge::WeightedMedian => "weighted median",
        Merge::Widest => "lowest to highest",
        Merge::Union => "all names",
        Merge::Any => "yes as soon as one says so, out",
        Merge::Worst => "least favourable",
        Merge::Best => "most favourable",
        Merge::Sum => "sum",
        Merge::MustAgree => "agreement",
    }
}

fn not_known(absent: &[&Declaration], look: &Look) -> String {
    let mut text = String::new();
    for (label, key) in [("Not known, though key traits", true), ("Not known", false)] {
        let names: Vec<&str> =
            absent.iter().filter(|one| one.key_trait == key).map(|one| name_of(one)).collect();
        if !names.is_empty() {
            text.push_str(&look.paragraph(0, &format!("{label}: {}", names.join(", "))));
        }
    }
    text
}

/// Every publication that a value of the species rests on, each once, in the order of the keys.
fn publications(species: &Species) -> Vec<&Publication> {
    let evidence = species.traits.iter().flatten().flat_map(|value| &value.evidence);
    let mut all: Vec<&Publication> = evidence.map(|one| &*one.citation.publication).collect();
    all.sort_by(|a, b| a.key.cmp(&b.key));
    all.dedup_by(|a, b| a.key == b.key);
    all
}

fn bibliography(species: &Species, knowledge: &Knowledge, look: &Look) -> String {
    let mut all = publications(species);
    if all.is_empty() {
        return String::new();
    }
    // those besides that a note names
    let evidence = species.traits.iter().flatten().flat_map(|value| &value.evidence);
    let notes: Vec<&str> = evidence.filter_map(|one| one.note.as_deref()).collect();
    let is_noted = |key: &str| notes.iter().any(|note| names_key(note, key));
    let resting: Vec<&str> = all.iter().map(|one| one.key.as_str()).collect();
    let others =
        knowledge.sources.iter().filter(|(key, _)| !resting.contains(&key.as_str()) && is_noted(key));
    let others: Vec<&Publication> = others.map(|(_, own)| &**own).collect();
    all.extend(others);
    all.sort_by(|a, b| a.key.cmp(&b.key));
    let mut text = String::from("\n") + &look.heading("Sources");
    for one in all {
        let year = one.year.map(|year| format!(", {year}")).unwrap_or_default();
        let read = one.read.as_ref().map(|read| format!("; read: {read}")).unwrap_or_default();
        text.push_str(&look.paragraph(2, &format!("{}: {}{year}{read}", one.key, one.title)));
        if let Some(url) = &one.url {
            text.push_str(&look.paragraph(4, url));
        }
    }
    text.push('\n');
    text
}
