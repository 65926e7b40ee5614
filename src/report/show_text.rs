//! What a reader of the knowledge wants to see of a species, a rule, a fact or trait, a need, a
//! table, a source or a place of the gazetteer: all values with their spread and sources, and which rules read them.

use super::layout::Look;
use super::show_species::species_text;
use crate::diag::{Finding, Findings, join_names, nearest};
use crate::document::parse;
use crate::engine::value::{Slot, Space};
use crate::knowledge::Knowledge;
use crate::knowledge::backing::Backing;
use crate::knowledge::climates::Climate;
use crate::knowledge::rule::{Effect, Expectation, Rule, TemplatePart};
use crate::knowledge::sources::Publication;
use crate::knowledge::species::{TraitValue, species_near_word, species_so_called, species_with_word};
use crate::knowledge::tables::LookupTable;
use crate::knowledge::vocabulary::{Declaration, From, Kind, ListId, NameList};
use crate::rank::Level;
use crate::units::Unit;

/// All that is called `name`, written out; or the finding that nothing is.
pub fn show_text(knowledge: &Knowledge, name: &str, look: &Look) -> Result<String, Findings> {
    let name = name.trim();
    let mut found: Vec<String> = Vec::new();
    found.extend(knowledge.species_by_any_name(name).map(|species| species_text(knowledge, species, look)));
    found.extend(knowledge.rule_named(name).map(|rule| rule_text(knowledge, rule, look)));
    let prefixed = ["", "species.", "site.", "fit."].into_iter().map(|prefix| format!("{prefix}{name}"));
    let mut slots: Vec<Slot> = prefixed.filter_map(|id| knowledge.vocabulary.slot(&id)).collect();
    // a site file calls a fact by its key
    for (index, fact) in knowledge.vocabulary.site.iter().enumerate() {
        let mut keys = [&fact.key, &fact.us_key].into_iter().flatten();
        let slot = Slot { space: Space::Site, index };
        if keys.any(|key| key.path() == name || key.key == name) && !slots.contains(&slot) {
            slots.push(slot);
        }
    }
    found.extend(slots.into_iter().map(|slot| fact_text(knowledge, slot, look)));
    let lists = knowledge.vocabulary.lists.iter().enumerate().filter(|(_, list)| list.id == name);
    if found.is_empty() {
        found.extend(lists.map(|(at, list)| list_text(knowledge, ListId(at), list, look)));
    }
    let need = knowledge.needs.all.iter().position(|need| need.id == name);
    found.extend(need.map(|need| need_text(knowledge, need, look)));
    found.extend(knowledge.table_named(name).map(|table| table_text(knowledge, table, look)));
    found.extend(knowledge.sources.get(name).map(|publication| source_text(knowledge, publication, look)));
    found.extend(knowledge.climate_by_any_name(name).map(|climate| climate_text(knowledge, climate, look)));
    if !found.is_empty() {
        return Ok(found.join("\n"));
    }
    let places = knowledge.climates.iter().flat_map(|one| [one.id.as_str(), one.name.as_str()]);
    let common =
        knowledge.species.iter().flat_map(|one| one.common.iter().chain(&one.synonyms).map(String::as_str));
    let names = knowledge
        .species
        .iter()
        .map(|one| one.id.as_str())
        .chain(knowledge.rules.iter().map(|one| one.id.as_str()))
        .chain(knowledge.vocabulary.ids().filter_map(|id| id.split_once('.').map(|(_, name)| name)))
        .chain(knowledge.needs.all.iter().map(|one| one.id.as_str()))
        .chain(knowledge.tables.iter().map(|one| one.id.as_str()))
        .chain(knowledge.vocabulary.lists.iter().map(|one| one.id.as_str()))
        .chain(common)
        .chain(places);
    // sources are many and called after persons, which lie near to anything
    let sources = knowledge.sources.keys().map(String::as_str);
    let meant = |near: &str| format!("did you mean `{near}`?");
    let help = species_so_called(name, &knowledge.species)
        .or_else(|| species_with_word(name, &knowledge.species))
        .or_else(|| nearest(name, names).map(meant))
        .or_else(|| species_near_word(name, &knowledge.species))
        .or_else(|| nearest(name, sources).map(meant));
    let help = match help {
        Some(help) => help,
        None => {
            let places = knowledge.climates.iter().map(|one| one.id.as_str());
            let places = join_names(places);
            let kinds = "name a species, a rule, a trait or fact, a need, a table, a source or a place";
            if places.is_empty() { kinds.to_owned() } else { format!("{kinds}; places are {places}") }
        }
    };
    let message = format!("nothing in the knowledge is called `{name}`");
    Err(vec![Finding::bare("unknown-name", message).help(help)])
}

/// Ids of the rules that read a fact, all of them.
pub(super) fn readers(knowledge: &Knowledge, slot: Slot) -> Vec<&str> {
    let rules = knowledge.rules.iter().filter(|rule| rule.reads().contains(&slot));
    rules.map(|rule| rule.id.as_str()).collect()
}

/// The same in words.
pub(super) fn reader_words(rules: &[&str]) -> String {
    if rules.is_empty() { "no rule yet".to_owned() } else { rules.join(", ") }
}

fn rule_text(knowledge: &Knowledge, rule: &Rule, look: &Look) -> String {
    let needs = &knowledge.needs.all;
    let mut text = look.heading(&format!("rule {}", rule.id));
    text.push_str(&look.paragraph(0, &rule.title));
    text.push('\n');
    text.push_str(&look.labelled(2, "why", 8, &rule.why));
    if let Some(written) = &*rule.written {
        text.push_str(&look.labelled(2, "when", 8, &written.to_string()));
    }
    for effect in &rule.effects {
        let words = match effect {
            Effect::Derive { slot, written, .. } => {
                format!("{} = {written}", knowledge.names().name_of(*slot))
            }
            Effect::Rate { need, written, .. } => format!("{} by {written}", needs[*need].title),
            Effect::Limit { need, level } => {
                let level = Level::clamped(*level).map_or("", |level| level.name().as_str());
                format!("{} to {level}", needs[*need].title)
            }
            Effect::Exclude { need } | Effect::Credit { need } => needs[*need].title.clone(),
            Effect::Caution { gravity, defer_to } => format!("{}, ask {defer_to}", gravity.name()),
            Effect::Task { stage, what, .. } => format!("{}: {}", stage.name(), template_words(what)),
        };
        text.push_str(&look.labelled(2, effect.name(), 8, &words));
    }
    text.push_str(&look.labelled(2, "says", 8, &because_as_written(rule)));
    let figures = rule.figures(&knowledge.names());
    // what the file does not say is found in the level or the condition
    let found = if rule.observed.is_some() { "" } else { " (found by the program)" };
    for (label, figure) in [("observed", figures.observed.first()), ("needed", figures.needed.as_ref())] {
        if let Some(figure) = figure {
            text.push_str(&look.labelled(2, label, 8, &format!("{}{found}", figure.written)));
        }
    }
    let reads: Vec<String> = rule.reads().iter().map(|slot| knowledge.names().name_of(*slot)).collect();
    text.push_str(&look.labelled(2, "reads", 8, &reads.join(", ")));
    for citation in &rule.citations {
        text.push_str(&look.labelled(
            2,
            "source",
            8,
            &format!("{}: {}", citation.short(), citation.publication.title),
        ));
    }
    let silent = rule.cases.iter().filter(|case| case.expects == Expectation::Silent).count();
    let cases = format!("{} in which it fires, {silent} in which it stays silent", rule.cases.len() - silent);
    text.push_str(&look.labelled(2, "cases", 8, &cases));
    text.push_str(&look.labelled(2, "file", 8, &rule.place.locate()));
    text
}

/// What a rule says, with the expressions between braces as its file has them.
fn because_as_written(rule: &Rule) -> String {
    let file = parse(&rule.place.source, &mut Findings::new());
    let written = file.as_ref().and_then(|table| table.get("because")?.node.as_text());
    written.map_or_else(|| template_words(&rule.because), str::to_owned)
}

/// A template with what stands between braces left as a sign.
fn template_words(template: &crate::knowledge::rule::Template) -> String {
    let part = |part: &TemplatePart| match part {
        TemplatePart::Words(words) => words.clone(),
        TemplatePart::Value(_) => "…".to_owned(),
        TemplatePart::Where(_, inner) => format!("[{}]", template_words(inner)),
    };
    template.parts.iter().map(part).collect()
}

fn fact_text(knowledge: &Knowledge, slot: Slot, look: &Look) -> String {
    let vocabulary = &knowledge.vocabulary;
    let Some(declaration) = vocabulary.declaration(slot) else { return String::new() };
    let mut text = look.heading(&declaration.id);
    text.push_str(&look.paragraph(0, &declaration.meaning));
    text.push('\n');
    let list = |id| vocabulary.list(id).names.join(", ");
    let kind = match declaration.kind {
        Kind::Number(unit) => format!("a number in {}", unit.name),
        Kind::Range(unit) => format!("a range in {}", unit.name),
        Kind::Months(unit) => format!("twelve numbers in {}", unit.name),
        Kind::Flag => "true or false".to_owned(),
        Kind::Scale(id) => format!("a step of: {}", list(id)),
        Kind::Choice(id) => format!("one of: {}", list(id)),
        Kind::Set(id) => format!("several of: {}", list(id)),
        Kind::Text => declaration.form.words().to_owned(),
        Kind::Texts => declaration.form.words_of_list().to_owned(),
    };
    text.push_str(&look.labelled(2, "type", 9, &kind));
    if let (Some((low, high)), Some(unit)) = (declaration.allowed, declaration.kind.unit()) {
        text.push_str(&look.labelled(2, "allowed", 9, &look.units.write_range(low, high, unit)));
    }
    for key in [&declaration.key, &declaration.us_key].into_iter().flatten() {
        text.push_str(&look.labelled(2, "key", 9, &key.path()));
    }
    let from = match declaration.from {
        From::File if slot.space == Space::Site => "the site file",
        From::File => "species files",
        From::Computed => "the program",
        From::Rules => "rules",
    };
    text.push_str(&look.labelled(2, "from", 9, from));
    if !declaration.tables.is_empty() {
        text.push_str(&look.labelled(2, "by table", 9, &declaration.tables.join(", ")));
    }
    if !declaration.ask.is_empty() {
        text.push_str(&look.labelled(2, "asked as", 9, &declaration.ask));
    }
    text.push_str(&look.labelled(2, "read by", 9, &reader_words(&readers(knowledge, slot))));
    if slot.space != Space::Species {
        return text;
    }
    text.push('\n');
    let mut absent = Vec::new();
    for species in &knowledge.species {
        match &species.traits[slot.index] {
            Some(value) => {
                let written = vocabulary.write(&value.value, declaration.kind, look.units);
                let mark = foundation(value);
                text.push_str(&look.labelled(2, species.name(), 32, &format!("{written} ({mark})")));
            }
            None => absent.push(species.name()),
        }
    }
    if !absent.is_empty() {
        text.push_str(&look.paragraph(2, &format!("Not known of {}", absent.join(", "))));
    }
    text
}

/// What stands behind a value, in a word: how many publications, or that there is none.
fn foundation(value: &TraitValue) -> String {
    let mut published: Vec<&str> = value
        .evidence
        .iter()
        .filter(|one| !one.citation.is_unpublished())
        .map(|one| one.citation.publication.key.as_str())
        .collect();
    published.sort_unstable();
    published.dedup();
    match (published.len(), Backing::of(value)) {
        (0, Some(Backing::Memory)) => "from memory".to_owned(),
        (0, Some(_)) => "common practice".to_owned(),
        (0, None) => "estimated".to_owned(),
        (1, _) => "1 source".to_owned(),
        (count, _) => format!("{count} sources"),
    }
}

/// The steps of a scale or the names of a choice, and the facts that take them.
fn list_text(knowledge: &Knowledge, id: ListId, list: &NameList, look: &Look) -> String {
    let vocabulary = &knowledge.vocabulary;
    let (what, entries) = if list.ordered { ("scale", "steps") } else { ("choice", "names") };
    let mut text = look.heading(&format!("{what} {}", list.id));
    text.push('\n');
    text.push_str(&look.labelled(2, entries, 9, &list.names.join(", ")));
    let takes = |fact: &&Declaration| matches!(fact.kind, Kind::Scale(own) | Kind::Choice(own) | Kind::Set(own) if own == id);
    let facts = [&vocabulary.site, &vocabulary.species, &vocabulary.fit].into_iter().flatten();
    let facts: Vec<&str> = facts.filter(takes).map(|fact| fact.id.as_str()).collect();
    let facts = if facts.is_empty() { "no fact yet".to_owned() } else { facts.join(", ") };
    text + &look.labelled(2, "taken by", 9, &facts)
}

fn need_text(knowledge: &Knowledge, index: usize, look: &Look) -> String {
    let need = &knowledge.needs.all[index];
    let mut text = look.heading(&format!("need {}", need.id));
    let kind = if need.saving { "a saving: enters the index, never the class" } else { "a need" };
    text.push_str(&look.paragraph(0, &format!("{}: {kind}", need.title)));
    for rule in &knowledge.rules {
        if rule.effects.iter().any(|effect| effect.rated_need() == Some(index)) {
            text.push_str(&look.paragraph(2, &format!("{}: {}", rule.id, rule.title)));
        }
    }
    text
}

fn table_text(knowledge: &Knowledge, table: &LookupTable, look: &Look) -> String {
    let mut text = look.heading(&format!("table {}", table.id));
    text.push_str(&look.paragraph(0, &table.title));
    for column in &table.columns {
        text.push_str(&look.paragraph(2, &format!("{}: {}", column.name, column.meaning)));
    }
    let (Kind::Scale(list) | Kind::Choice(list)) = table.key_kind else { return text };
    for (at, name) in knowledge.vocabulary.list(list).names.iter().enumerate() {
        let cells: Vec<String> = table
            .columns
            .iter()
            .filter_map(|column| Some((column, table.value(at, &column.name)?)))
            .map(|(column, value)| {
                format!("{} {}", column.name, knowledge.vocabulary.write(value, column.kind, look.units))
            })
            .collect();
        text.push_str(&look.labelled(2, name, 14, &cells.join(", ")));
    }
    let sources: Vec<String> = table.citations.iter().map(|citation| citation.short()).collect();
    text.push_str(&look.paragraph(2, &format!("source {}", sources.join("; "))));
    text
}

fn climate_text(knowledge: &Knowledge, climate: &Climate, look: &Look) -> String {
    const LABEL: usize = 14;
    let vocabulary = &knowledge.vocabulary;
    let mut text = look.heading(&format!("place {}", climate.id));
    text.push_str(&look.paragraph(0, &format!("{}, normals of {}", climate.name, climate.period)));
    let height =
        Unit::named("m").map_or_else(String::new, |unit| look.units.write(climate.elevation_m, unit));
    let position = format!("{}, {}", climate.latitude_deg, climate.longitude_deg);
    text.push('\n');
    text.push_str(&look.labelled(2, "position", LABEL, &format!("{position} (degrees north, degrees east)")));
    text.push_str(&look.labelled(2, "height", LABEL, &height));
    for (index, value) in &climate.values {
        let declaration = &vocabulary.site[*index];
        let name = declaration.id.trim_start_matches("site.");
        text.push_str(&look.labelled(2, name, LABEL, &vocabulary.write(value, declaration.kind, look.units)));
    }
    for citation in &climate.citations {
        let words = format!("{}: {}", citation.short(), citation.publication.title);
        text.push_str(&look.labelled(2, "source", LABEL, &words));
    }
    text.push_str(&look.labelled(2, "file", LABEL, &climate.place.locate()));
    text
}

fn source_text(knowledge: &Knowledge, publication: &Publication, look: &Look) -> String {
    let mut text = look.heading(&format!("source {}", publication.key));
    text.push_str(&look.paragraph(0, &publication.title));
    let year = publication.year.map(|year| format!(", {year}")).unwrap_or_default();
    text.push_str(&look.paragraph(0, &format!("{}{year}", publication.kind.name())));
    for words in [&publication.url, &publication.read].into_iter().flatten() {
        text.push_str(&look.paragraph(0, words));
    }
    text.push('\n');
    for species in &knowledge.species {
        let traits: Vec<&str> = knowledge
            .vocabulary
            .species
            .iter()
            .zip(&species.traits)
            .filter(|(_, value)| {
                let evidence = value.iter().flat_map(|value| &value.evidence);
                evidence.into_iter().any(|one| one.citation.publication.key == publication.key)
            })
            .map(|(declaration, _)| declaration.id.trim_start_matches("species."))
            .collect();
        if !traits.is_empty() {
            text.push_str(&look.labelled(2, species.name(), 32, &traits.join(", ")));
        }
    }
    let rules: Vec<&str> = knowledge
        .rules
        .iter()
        .filter(|rule| rule.citations.iter().any(|citation| citation.publication.key == publication.key))
        .map(|rule| rule.id.as_str())
        .collect();
    if !rules.is_empty() {
        text.push_str(&look.labelled(2, "rules", 32, &rules.join(", ")));
    }
    text
}
