//! `sources/*.toml`: the publications that values and rules rest on.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use indexmap::IndexMap;

use super::names::Faulty;
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};
use crate::document::{Table, TableReader, Words};

/// What kind of publication a source is; the kind decides how much its values weigh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum SourceKind {
    /// A paper.
    Paper,
    /// A public agency.
    Agency,
    /// A published standard.
    Standard,
    /// University extension.
    Extension,
    /// A botanic garden or plant society.
    Society,
    /// The trade and the press.
    Trade,
    /// Common practice, or memory.
    Practice,
}

impl SourceKind {
    /// The kinds with the names that files use.
    pub const NAMES: [(&'static str, Self); 7] = [
        ("paper", Self::Paper),
        ("agency", Self::Agency),
        ("standard", Self::Standard),
        ("extension", Self::Extension),
        ("society", Self::Society),
        ("trade", Self::Trade),
        ("practice", Self::Practice),
    ];

    /// The name.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(_, kind)| *kind == self).map_or("", |(name, _)| name)
    }
}

/// One publication.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Publication {
    /// Its key.
    pub key: String,
    /// Publisher, title, number.
    #[serde(deserialize_with = "crate::document::words")]
    pub title: Words,
    /// Kind.
    pub kind: SourceKind,
    /// Year, where known.
    pub year: Option<i64>,
    /// Address, where known.
    #[serde(deserialize_with = "super::later::maybe_words")]
    pub url: Option<Words>,
    /// How much of it was read, where that is said.
    #[serde(deserialize_with = "super::later::maybe_words")]
    pub read: Option<Words>,
    /// Where it is entered.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

impl Publication {
    /// Whether another entry says the same, wherever it stands.
    fn says_what(&self, other: &Self) -> bool {
        let said = |one: &Self| (one.title.clone(), one.kind, one.year, one.url.clone(), one.read.clone());
        said(self) == said(other)
    }

    /// How much a value of this source weighs in a merge: papers, agencies and standards most, then
    /// extension, societies, trade; practice as the trade, memory least.
    pub fn weight(&self) -> f64 {
        match self.kind {
            SourceKind::Paper | SourceKind::Agency | SourceKind::Standard => 4.0,
            SourceKind::Extension => 3.0,
            SourceKind::Society => 2.0,
            SourceKind::Trade => 1.0,
            SourceKind::Practice if self.key == FROM_MEMORY => 0.5,
            SourceKind::Practice => 1.0,
        }
    }
}

/// [`Publication::weight`] in words, for whoever writes a file.
pub const WEIGHTS_IN_WORDS: &str =
    "papers, agencies and standards 4, extension 3, societies 2, trade and practice 1";

/// Key of values that the trade takes for granted.
pub const COMMON_PRACTICE: &str = "common-practice";
/// Key of values that nobody has looked up yet.
pub const FROM_MEMORY: &str = "from-memory";

/// All publications by key.
pub type Sources = IndexMap<String, Arc<Publication>>;

/// Reads one file of sources into `sources`; a key that stands twice is refused with both places.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    sources: &mut Sources,
    faulty: &mut Faulty,
    findings: &mut Findings,
) {
    let mut file = TableReader::of_file(source, table, "a file of sources");
    for (key, entry) in file.all() {
        let place = file.place(entry.key_span);
        let Some(table) = entry.node.as_table() else {
            file.wrong_type::<()>(key, &entry.node, "a table", findings);
            faulty.note(format!("sources.{key}"));
            continue;
        };
        let mut reader = TableReader::of_table(source, &entry.node, table, "a source");
        let title = reader.required_text("title", findings).unwrap_or_default().to_owned().into();
        let kind = read_kind(&mut reader, findings);
        let year = read_year(&mut reader, findings);
        let url_place = reader.node("url").map(|node| reader.place(node.span));
        let url = reader.text("url", findings);
        if let (Some(written), Some(place)) = (url, url_place)
            && !written.starts_with("https://")
            && !written.starts_with("http://")
        {
            let message = format!("`{written}` is no address of a page");
            let help = "it begins with https:// or http://; without one leave `url` out";
            findings.push(Finding::error("not-an-address", &place, message).help(help));
        }
        let url = url.map(|url| url.to_owned().into());
        let read = reader.text("read", findings).map(|read| read.to_owned().into());
        reader.finish(findings);
        if let Some(first) = sources.get(key) {
            let message = format!("source `{key}` stands twice");
            let finding =
                Finding::error("duplicate-source", &place, message).also(&first.place, "first here");
            findings.push(finding);
            continue;
        }
        let publication = Publication { key: key.to_owned(), title, kind, year, url, read, place };
        sources.insert(key.to_owned(), Arc::new(publication));
    }
}

/// What a file of an overlay repeats as it stands in the base stays the base's: whoever replaces a file of
/// sources means the entries that differ.
pub fn keep_what_is_repeated(sources: &mut Sources, base: &Sources) {
    for (key, own) in sources.iter_mut() {
        if let Some(first) = base.get(key).filter(|first| first.says_what(own)) {
            *own = first.clone();
        }
    }
}

/// Years of publications; anything outside is a slip of the pen.
pub const YEARS: std::ops::RangeInclusive<i64> = 1600..=2200;

/// The year of a publication, which is no shortened one.
fn read_year(reader: &mut TableReader<'_>, findings: &mut Findings) -> Option<i64> {
    let year = reader.number("year", findings)?;
    if !YEARS.contains(&(year as i64)) || year.fract() != 0.0 {
        let place = reader.node("year").map_or_else(|| reader.own_place(), |node| reader.place(node.span));
        let message = format!("`year` is {year}, which is no year of a publication");
        findings
            .push(Finding::error("out-of-range", &place, message).help("write all four digits: year = 2024"));
        return None;
    }
    Some(year as i64)
}

fn read_kind(reader: &mut TableReader<'_>, findings: &mut Findings) -> SourceKind {
    let Some(node) = reader.required("kind", findings) else { return SourceKind::Practice };
    let text = node.as_text().unwrap_or_default();
    if let Some((_, kind)) = SourceKind::NAMES.iter().find(|(name, _)| *name == text) {
        return *kind;
    }
    let names = || SourceKind::NAMES.iter().map(|(name, _)| *name);
    let kinds = join_names(names());
    let help = match nearest(text, names()) {
        Some(near) => format!("did you mean `{near}`? Kinds are {kinds}"),
        None => format!("kinds are {kinds}"),
    };
    let message = format!("`{text}` is no kind of source");
    findings.push(Finding::error("unknown-name", &reader.place(node.span), message).help(help));
    SourceKind::Practice
}
