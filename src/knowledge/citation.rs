//! A citation: a source and the place in it.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::sources::{COMMON_PRACTICE, FROM_MEMORY, Publication, Sources};
use crate::diag::{Finding, Findings, Place, nearest};
use crate::document::{Node, TableReader};

/// A source and where in it.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Citation {
    /// The publication.
    #[serde(with = "super::stored::publication")]
    pub publication: Arc<Publication>,
    /// Page, table or section; empty for practice and memory.
    pub at: String,
}

impl Citation {
    /// Whether no publication stands behind it.
    pub fn is_unpublished(&self) -> bool {
        [COMMON_PRACTICE, FROM_MEMORY].contains(&self.publication.key.as_str())
    }

    /// Whether it is from memory.
    pub fn is_memory(&self) -> bool {
        self.publication.key == FROM_MEMORY
    }

    /// `key`, or `key, place`.
    pub fn short(&self) -> String {
        if self.at.is_empty() {
            self.publication.key.clone()
        } else {
            format!("{}, {}", self.publication.key, self.at)
        }
    }
}

/// Reads `sources = [{ key, at }]`.
pub fn read_citations(
    reader: &mut TableReader<'_>,
    sources: &Sources,
    findings: &mut Findings,
) -> Vec<Citation> {
    let own_place = reader.own_place();
    let before = findings.len();
    let inner = reader.tables_of("sources", "a citation", &["key", "at"], findings);
    // what stands there and cannot be read has been told of
    if inner.is_empty() && findings.len() == before {
        let help = "name at least one, or write `sources = [{ key = \"common-practice\" }]`";
        findings.push(no_source(&own_place, &reader.subject()).help(help));
    }
    inner
        .into_iter()
        .filter_map(|mut citation| {
            let key = citation.required("key", findings);
            let found = resolve(&mut citation, key, sources, findings);
            citation.finish(findings);
            found
        })
        .collect()
}

/// The finding for something that names no source.
pub fn no_source(place: &Place, subject: &str) -> Finding {
    Finding::error("no-source", place, format!("{subject} names no source"))
}

/// Finds a source by the key in `node`, and where in it by the `at` beside.
pub fn resolve(
    reader: &mut TableReader<'_>,
    node: Option<&Node>,
    sources: &Sources,
    findings: &mut Findings,
) -> Option<Citation> {
    let stands_there = reader.node("at").is_some();
    let at = reader.text("at", findings);
    // what stands there and is no text has been told of
    let is_misread = stands_there && at.is_none();
    let node = node?;
    let place = reader.place(node.span);
    let key = node.as_text().unwrap_or_default();
    let Some(publication) = sources.get(key) else {
        let help = match nearest(key, sources.keys().map(String::as_str)) {
            Some(name) => format!("did you mean `{name}`? Otherwise enter it in a file of sources/"),
            None => "enter it in a file of sources/, or write common-practice".to_owned(),
        };
        let finding = Finding::error("unknown-source", &place, format!("no source is called `{key}`"));
        findings.push(finding.help(help).undeclared(format!("sources.{key}")));
        return None;
    };
    let citation =
        Citation { publication: publication.clone(), at: at.unwrap_or_default().trim().to_owned() };
    if citation.at.is_empty() && !is_misread && !citation.is_unpublished() {
        let help = "say where in the source: `at = \"table 2\"`";
        findings.push(
            Finding::error("no-locator", &place, format!("`{key}` is cited without a place")).help(help),
        );
    }
    Some(citation)
}
