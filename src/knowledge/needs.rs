//! `needs.toml`: what a planting needs from its site.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::names::Faulty;
use super::vocabulary::Vocabulary;
use crate::diag::{Finding, Findings, Place, Source, nearest};
use crate::document::{Table, TableReader};
use crate::engine::value::Space;

/// One need, or one saving.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Need {
    /// Its name in rules, for example `soil-body`.
    pub id: String,
    /// As reports print it.
    pub title: String,
    /// Whether it is a saving: rated like a need, never lowering the class.
    pub saving: bool,
    /// Whether a rule may exclude on it.
    pub may_exclude: bool,
    /// Positions of the purposes for which an open point here holds a species at S2.
    pub key_for: u64,
    /// Facts of the site, by position, of which more never serves it worse, whatever else holds.
    pub more_never_harms: Vec<usize>,
    /// Where it is declared.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

/// The needs, in the order of reports.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Needs {
    /// All of them.
    pub all: Vec<Need>,
    /// Index points within which candidates share a rank.
    pub tie_within: f64,
}

/// Reads the needs.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    vocabulary: &Vocabulary,
    faulty: &mut Faulty,
    findings: &mut Findings,
) -> Needs {
    let mut file = TableReader::of_file(source, table, "the needs");
    let tie_within = file.number("tie_within", findings).unwrap_or(crate::rank::TIE_WITHIN);
    let mut needs = Needs { all: Vec::new(), tie_within };
    let purposes = vocabulary.list_named("purpose", false).map(|list| vocabulary.list(list));
    for (id, entry) in file.all().filter(|(id, _)| *id != "tie_within") {
        let Some(table) = entry.node.as_table() else {
            file.wrong_type::<()>(id, &entry.node, "a table", findings);
            faulty.note(format!("need.{id}"));
            continue;
        };
        let mut reader = TableReader::of_table(source, &entry.node, table, "a need");
        let title = reader.required_text("title", findings).unwrap_or(id).to_owned();
        let saving = match reader.required("kind", findings).map(|node| (node.as_text(), node)) {
            Some((Some("saving"), _)) => true,
            Some((Some("need"), _)) | None => false,
            Some((_, node)) => {
                let place = reader.place(node.span);
                let message = "the kind of a need is `need` or `saving`";
                let near = nearest(node.as_text().unwrap_or_default(), ["need", "saving"]);
                let help = near.map(|near| format!("did you mean `{near}`?"));
                findings.push(Finding::error("unknown-name", &place, message).maybe_help(help));
                false
            }
        };
        let may_exclude = reader.flag("exclude", findings).unwrap_or(false);
        let mut key_for = 0u64;
        for (purpose, node) in reader.texts("key_for", findings).unwrap_or_default() {
            match (purpose, purposes.and_then(|list| list.position(purpose))) {
                ("all", _) => key_for = u64::MAX,
                (_, Some(position)) => key_for |= 1 << position,
                (_, None) => {
                    let names = purposes.into_iter().flat_map(|list| list.names.iter().map(String::as_str));
                    let help = nearest(purpose, names).map(|name| format!("did you mean `{name}`?"));
                    let message = format!("no purpose is called `{purpose}`");
                    let finding = Finding::error("unknown-name", &reader.place(node.span), message);
                    // without purposes the list is what is missing, not a name in it
                    let undeclared = purposes.is_none().then(|| "list.purpose".to_owned());
                    findings.push(Finding { undeclared, ..finding.maybe_help(help) });
                }
            }
        }
        let more_never_harms = facts_of_site(&mut reader, vocabulary, findings);
        reader.finish(findings);
        let place = file.place(entry.key_span);
        let id = id.to_owned();
        needs.all.push(Need { id, title, saving, may_exclude, key_for, more_never_harms, place });
    }
    if needs.all.is_empty() {
        // every rule would be told that its need is unknown, and none is to blame
        faulty.note("need");
        let message = format!("`{}` declares no need", source.path);
        let help = "a need begins with `[name]` and has a `title` and a `kind`; what the other files say of needs is checked once there are any";
        findings.push(Finding::error("nothing-declared", &file.own_place(), message).help(help));
    }
    needs
}

/// The facts that `more_never_harms` names.
fn facts_of_site(
    reader: &mut TableReader<'_>,
    vocabulary: &Vocabulary,
    findings: &mut Findings,
) -> Vec<usize> {
    let mut facts = Vec::new();
    for (name, node) in reader.texts("more_never_harms", findings).unwrap_or_default() {
        match vocabulary.slot(name).filter(|slot| slot.space == Space::Site) {
            Some(slot) => facts.push(slot.index),
            None => {
                let names = vocabulary.site.iter().map(|one| one.id.as_str());
                let help = nearest(name, names).map(|name| format!("did you mean `{name}`?"));
                let message = format!("no fact of the site is called `{name}`");
                let finding = Finding::error("undeclared-fact", &reader.place(node.span), message);
                findings.push(finding.maybe_help(help).undeclared(name));
            }
        }
    }
    facts
}
