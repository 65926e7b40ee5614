//! A new file with every field explained, ready to be filled in.

use std::path::PathBuf;

use super::id::{self, IdForm};
use super::schema::SchemaKind;
use crate::diag::{Finding, Findings};
use crate::knowledge::species::unknown_species;
use crate::knowledge::text::KnowledgeText;
use crate::knowledge::{Knowledge, placeholder};

/// What stands where something is to be filled in; `knowledge check` names every one that is left.
pub const UNFILLED: &str = placeholder::UNFILLED;

/// What a scaffold is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ScaffoldKind {
    /// A species.
    Species,
    /// A rule, in this folder of rules where one is named.
    Rule {
        /// The folder.
        topic: Option<String>,
    },
    /// A source.
    Source,
    /// Values of a species of the base that an overlay changes.
    Values,
    /// The head of an overlay.
    Overlay,
}

/// A file to write.
#[derive(Clone, Debug)]
pub struct Scaffold {
    /// Where it belongs below a folder of knowledge.
    pub path: PathBuf,
    /// Its text.
    pub text: String,
    /// The schema that its first line names, and that an editor must find.
    pub schema: Option<SchemaKind>,
    /// What to do next, line by line.
    pub next: Vec<String>,
}

/// The scaffold of a species, rule or source that is not there yet. `text` is the base that
/// `knowledge` was read from: files with faults count as taken too. `schemas` is how the folder of
/// schemas is reached from the folder of knowledge, such as `../schemas`.
pub fn scaffold(
    knowledge: &Knowledge,
    text: &KnowledgeText,
    kind: &ScaffoldKind,
    id: &str,
    schemas: &str,
) -> Result<Scaffold, Findings> {
    check_id(kind.form(), id)?;
    if let Some(taken) = kind.taken_by(knowledge, text, id) {
        let message = format!("there is a {} called `{id}` already", kind.name());
        let help = format!("it stands in {taken}; `swardwright knowledge show {id}` shows it");
        return Err(vec![Finding::bare("id-taken", message).help(help)]);
    }
    let header = |depth: usize, schema: SchemaKind| {
        format!("#:schema {}{schemas}/{}\n", "../".repeat(depth), schema.file_name())
    };
    Ok(match kind {
        ScaffoldKind::Species => Scaffold {
            path: ["species", &format!("{id}.toml")].iter().collect(),
            text: header(1, SchemaKind::Species) + &super::species_scaffold::text(knowledge, id),
            schema: Some(SchemaKind::Species),
            next: vec![
                format!("replace each \"{UNFILLED}\"; delete the lines of traits that nobody published"),
                "enter each new publication: swardwright knowledge new source KEY".to_owned(),
            ],
        },
        ScaffoldKind::Rule { topic } => {
            let topic = match topic {
                Some(topic) => topic.clone(),
                None => likely_topic(knowledge, id),
            };
            check_id(id::TOPIC, &topic)?;
            Scaffold {
                path: ["rules", &topic, &format!("{id}.toml")].iter().collect(),
                text: header(2, SchemaKind::Rule) + &super::rule_scaffold::text(knowledge, id, &topic),
                schema: Some(SchemaKind::Rule),
                next: vec![format!(
                    "replace each \"{UNFILLED}\"; the end of the file lists all that a rule may read"
                )],
            }
        }
        ScaffoldKind::Source => Scaffold {
            path: ["sources", &format!("{id}.toml")].iter().collect(),
            text: header(1, SchemaKind::Sources) + &super::source_scaffold::text(id),
            schema: Some(SchemaKind::Sources),
            next: vec![
                format!("replace each \"{UNFILLED}\""),
                format!("cite it beside a value: source = \"{id}\", at = \"table 2\""),
            ],
        },
        ScaffoldKind::Values => {
            let species = knowledge.species_named(id).ok_or_else(|| vec![unknown_species(id, knowledge)])?;
            Scaffold {
                path: ["values", &format!("{id}.toml")].iter().collect(),
                text: header(1, SchemaKind::Values) + &super::values_scaffold::text(knowledge, species),
                schema: Some(SchemaKind::Values),
                next: vec![
                    format!("take away the `# ` before what changes, and replace each \"{UNFILLED}\""),
                    "enter each new publication: swardwright knowledge new source KEY".to_owned(),
                ],
            }
        }
        ScaffoldKind::Overlay => Scaffold {
            path: "overlay.toml".into(),
            text: header(0, SchemaKind::Overlay) + &super::overlay_head::text(id),
            schema: Some(SchemaKind::Overlay),
            next: vec![format!("replace each \"{UNFILLED}\"")],
        },
    })
}

fn check_id(form: IdForm, id: &str) -> Result<(), Findings> {
    form.check(id).map_or(Ok(()), |finding| Err(vec![finding]))
}

impl ScaffoldKind {
    fn name(&self) -> &'static str {
        match self {
            Self::Species => "species",
            Self::Rule { .. } => "rule",
            Self::Source => "source",
            Self::Values => "file of values",
            Self::Overlay => "overlay",
        }
    }

    fn form(&self) -> IdForm {
        match self {
            Self::Species | Self::Values => id::SPECIES,
            Self::Rule { .. } => id::RULE,
            Self::Source => id::SOURCE,
            Self::Overlay => id::OVERLAY,
        }
    }

    /// Where the id is in use.
    fn taken_by(&self, knowledge: &Knowledge, text: &KnowledgeText, id: &str) -> Option<String> {
        let place = match self {
            Self::Species => knowledge.species_named(id).map(|one| &one.place),
            Self::Rule { .. } => knowledge.rule_named(id).map(|one| &one.place),
            Self::Source => knowledge.sources.get(id).map(|one| &one.place),
            Self::Values | Self::Overlay => None,
        };
        let file = || {
            let folder = match self {
                Self::Species => "species/",
                Self::Rule { .. } => "rules/",
                // the file itself is never written over
                Self::Source | Self::Values | Self::Overlay => return None,
            };
            let name = format!("/{id}.toml");
            let found =
                text.all_files().find(|file| file.path.starts_with(folder) && file.path.ends_with(&name));
            found.map(|file| file.source.path.clone())
        };
        place.map(|place| place.source.path.clone()).or_else(file)
    }
}

/// The folder of rules that the first word of an id points to: one there is, a need, else `other`.
fn likely_topic(knowledge: &Knowledge, id: &str) -> String {
    let first = id.split('-').next().unwrap_or_default();
    let topics = || {
        let used = knowledge.rules.iter().map(|rule| rule.topic.as_str());
        used.chain(knowledge.needs.all.iter().map(|need| need.id.as_str()))
    };
    let whole = topics().filter(|topic| id.starts_with(&format!("{topic}-"))).max_by_key(|topic| topic.len());
    // caution-… stands in cautions, contain-… in containment
    let near = || topics().find(|topic| first.len() >= 4 && topic.starts_with(first));
    whole.or_else(near).unwrap_or("other").to_owned()
}

/// Words as comment lines, wrapped.
pub fn comment(text: &mut String, indent: &str, words: &str) {
    let lead = format!("# {indent}");
    let options = textwrap::Options::new(100)
        .initial_indent(&lead)
        .subsequent_indent(&lead)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    text.push_str(&textwrap::fill(words, options));
    text.push('\n');
}
