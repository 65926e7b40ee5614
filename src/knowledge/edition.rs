//! `edition.toml`: the version of the knowledge and what changed with each.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::diag::{Finding, Findings, Source};
use crate::document::{Table, TableReader};

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
    /// What changed.
    pub what: String,
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
        let what = entry.required_text("what", findings).unwrap_or_default().to_owned();
        entry.finish(findings);
        changes.push(EditionChange { version, date, what });
    }
    if is_version && !table.is_empty() && !changes.iter().any(|change| change.version == version) {
        let message = format!("version {version} has no entry in the changelog");
        let help = "add a [[changelog]] with version, date and what";
        findings.push(Finding::error("no-changelog", &file.own_place(), message).help(help));
    }
    file.finish(findings);
    Edition { version, changes }
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
