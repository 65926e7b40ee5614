//! `edition.toml`: the version of the knowledge and what changed with each.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::diag::{Finding, Findings, Place, Source};
use crate::document::{NodeKind, Table, TableReader};
use crate::site::solar::days_of;

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
    /// Date, as `YYYY-MM-DD`.
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
        let date = read_date(&mut entry, findings);
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

/// The date of an entry, by year, month and day.
fn read_date(entry: &mut TableReader<'_>, findings: &mut Findings) -> String {
    let Some(date) = entry.required_text("date", findings) else { return String::new() };
    let meant = date_meant(date);
    if meant.as_deref() != Some(date) {
        let place = entry.node("date").map_or_else(|| entry.own_place(), |node| entry.place(node.span));
        let message = "a date is the year, the month and the day, such as \"2026-11-28\"";
        let help = meant.map(|meant| format!("write `date = \"{meant}\"`"));
        findings.push(Finding::error("bad-date", &place, message).maybe_help(help));
    }
    date.to_owned()
}

/// The nearest date of the calendar that a text may mean, as `YYYY-MM-DD`; `None` where its numbers may mean several.
/// A date of that form is left as it is.
fn date_meant(text: &str) -> Option<String> {
    let numbers: Vec<&str> =
        text.split(|c: char| !c.is_ascii_digit()).filter(|one| !one.is_empty()).collect();
    let [first, second, third] = numbers[..] else { return None };
    let number = |digits: &str| digits.parse::<u8>().ok();
    let (year, month, day) = match (first.len(), third.len()) {
        (4, 1 | 2) => (first, number(second)?, number(third)?),
        // the day may come before the month or behind it
        (1 | 2, 4) => match (number(first)?, number(second)?) {
            (month @ ..=12, day @ 13..) => (third, month, day),
            (day @ 13.., month @ ..=12) => (third, month, day),
            _ => return None,
        },
        _ => return None,
    };
    let year: i32 = year.parse().ok()?;
    let month = month.clamp(1, 12);
    Some(format!("{year:04}-{month:02}-{:02}", day.clamp(1, days_of(year, month))))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_date_of_the_calendar_is_offered() {
        let meant = |text: &str| date_meant(text).unwrap_or_default();
        for date in ["2026-11-28", "2024-02-29", "1999-12-31"] {
            assert_eq!(meant(date), date);
        }
        assert_eq!(meant("2026-1-5"), "2026-01-05");
        assert_eq!(meant("2026/11/28 "), "2026-11-28");
        assert_eq!(meant("2026-02-29"), "2026-02-28");
        assert_eq!(meant("2026-13-00"), "2026-12-01");
        assert_eq!((meant("28.11.2026"), meant("11/28/2026")), ("2026-11-28".into(), "2026-11-28".into()));
        for unclear in
            ["05/06/2026", "28 November 2026", "2026-11", "soon", "", "26-11-28", "2026-11-28T10:00"]
        {
            assert_eq!(date_meant(unclear), None, "{unclear}");
        }
    }
}
