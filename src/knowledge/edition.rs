//! `edition.toml`: the version of the knowledge and what changed with each.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::diag::{Finding, Findings, Place, Source};
use crate::document::{NodeKind, Table, TableReader};

/// A version of the knowledge: `major` when the meaning of a trait or the rule language changes,
/// `minor` when values are added or changed, `patch` when only words are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Version {
    /// Major number.
    pub major: u32,
    /// Minor number.
    pub minor: u32,
    /// Patch number.
    pub patch: u32,
}

impl std::fmt::Display for Version {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}.{}.{}", self.major, self.minor, self.patch)
    }
}

impl std::str::FromStr for Version {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        let mut numbers = text.split('.').map(|part| part.parse::<u32>().map_err(|_| ()));
        let mut next = || numbers.next().unwrap_or(Err(()));
        let version = Self { major: next()?, minor: next()?, patch: next()? };
        if numbers.next().is_some() { Err(()) } else { Ok(version) }
    }
}

/// An edition.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Edition {
    /// Its version.
    pub version: Version,
    /// What changed, newest first.
    pub changes: Vec<EditionChange>,
}

/// An entry of the changelog.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct EditionChange {
    /// Version that brought the change.
    pub version: Version,
    /// Date as text.
    pub date: String,
    /// What changed, a line for each change.
    pub what: Vec<String>,
    /// Digest of the content that it describes, where it is stamped.
    pub digest: Option<String>,
    /// Where that stands, else the entry.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

impl Edition {
    /// The entry of its own version.
    pub fn current(&self) -> Option<&EditionChange> {
        self.changes.iter().find(|change| change.version == self.version)
    }

    /// The finding that the content is another than the changelog entry was stamped for, or that the entry is
    /// not stamped at all, so that no value changes within an edition without a word.
    pub fn digest_finding(&self, digest: &str) -> Option<Finding> {
        let change = self.current()?;
        let folder =
            change.place.source.path.strip_suffix("edition.toml").map(|folder| folder.trim_end_matches('/'));
        let folder = folder.filter(|folder| !folder.is_empty()).unwrap_or(".");
        let stamp = format!("`swardwright knowledge check --knowledge {folder} --stamp \"WHAT CHANGED\"`");
        let short = |digest: &str| digest.chars().take(8).collect::<String>();
        match &change.digest {
            Some(own) if own == digest => None,
            Some(own) => {
                let message = format!(
                    "the content is no more what edition {} was stamped for: its digest was {} and is {}",
                    self.version,
                    short(own),
                    short(digest)
                );
                let help =
                    format!("{stamp} writes the digest, and those words as a line of what the entry says");
                Some(Finding::error("digest-differs", &change.place, message).help(help))
            }
            None => {
                let message = format!("the changelog entry of edition {} holds no digest", self.version);
                Some(Finding::error("no-digest", &change.place, message).help(format!("{stamp} writes it")))
            }
        }
    }
}

/// Reads the edition; its version must stand in the changelog.
pub fn read(source: &Arc<Source>, table: &Table, findings: &mut Findings) -> Edition {
    let mut file = TableReader::of_file(source, table, "the edition");
    let before = findings.len();
    let version = read_version(&mut file, findings);
    let is_version = findings.len() == before;
    let mut changes = Vec::new();
    for mut entry in file.tables("changelog", "an entry of the changelog", findings) {
        let version = read_version(&mut entry, findings);
        let date = entry.required_text("date", findings).unwrap_or_default().to_owned();
        let what = read_what(&mut entry, findings);
        let digest = entry.text("digest", findings).map(str::to_owned);
        let place = entry.node("digest").map_or_else(|| entry.own_place(), |node| entry.place(node.span));
        entry.finish(findings);
        changes.push(EditionChange { version, date, what, digest, place });
    }
    if is_version && !table.is_empty() && !changes.iter().any(|change| change.version == version) {
        let message = format!("version {version} has no entry in the changelog");
        let help = "add a [[changelog]] with version, date and what";
        findings.push(Finding::error("no-changelog", &file.own_place(), message).help(help));
    }
    let newest = changes.iter().map(|change| change.version).max();
    if let Some(newest) = newest.filter(|newest| is_version && *newest > version) {
        let message = format!("version {version} is older than {newest}, which stands in the changelog");
        let help = format!("write `version = \"{newest}\"`, or take that entry out of the changelog");
        findings.push(Finding::error("version-behind", &file.own_place(), message).help(help));
    }
    file.finish(findings);
    Edition { version, changes }
}

/// What changed: a list with a line for each change, or one text.
fn read_what(entry: &mut TableReader<'_>, findings: &mut Findings) -> Vec<String> {
    let is_list = entry.node("what").is_some_and(|node| matches!(node.kind, NodeKind::List(_)));
    if !is_list {
        return entry.required_text("what", findings).map(str::to_owned).into_iter().collect();
    }
    let lines = entry.texts("what", findings).unwrap_or_default();
    if lines.iter().all(|(line, _)| line.trim().is_empty()) {
        let place = entry.node("what").map_or_else(|| entry.own_place(), |node| entry.place(node.span));
        findings.push(Finding::error("empty-text", &place, "`what` is empty"));
    }
    lines.into_iter().map(|(line, _)| line.to_owned()).collect()
}

/// A version under the key `version`.
pub(super) fn read_version(reader: &mut TableReader<'_>, findings: &mut Findings) -> Version {
    if reader.source().text.is_empty() {
        return Version::default();
    }
    let Some(node) = reader.required("version", findings) else { return Version::default() };
    node.as_text().unwrap_or_default().parse().unwrap_or_else(|()| {
        let message = "a version is three numbers, such as \"0.1.0\"";
        findings.push(Finding::error("bad-version", &reader.place(node.span), message));
        Version::default()
    })
}
