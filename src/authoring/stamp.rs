//! The digest and a few words into the changelog entry of an edition; layout and comments stay.

use toml_edit::{Array, DocumentMut, Item, RawString, Table, Value};

use crate::entries::lines_end_as_in;

/// The text of `edition.toml` with the digest in the entry of this version, and with these words as a line of
/// what it says; `None` where no `[[changelog]]` is of this version.
pub fn stamp(text: &str, version: &str, digest: &str, words: &str) -> Option<String> {
    let mut document = text.parse::<DocumentMut>().ok()?;
    let entries = document.get_mut("changelog")?.as_array_of_tables_mut()?;
    let own = |entry: &&mut Table| entry.get("version").and_then(Item::as_str) == Some(version);
    let entry = entries.iter_mut().find(own)?;
    let words = words.trim();
    if !words.is_empty() {
        let said = match entry.get("what").and_then(Item::as_value) {
            Some(Value::Array(lines)) => with_line(lines.clone(), words),
            // one text becomes the first of a list of lines
            Some(text) => with_line(text.as_str().into_iter().collect(), words),
            None => with_line(Array::new(), words),
        };
        put(entry, "what", said.into());
    }
    put(entry, "digest", digest.into());
    Some(lines_end_as_in(text, document.to_string()))
}

/// A list of texts with one more, each on a line of its own, so that a reader can tell them apart and a merge
/// of two stamps is one of lines.
fn with_line(mut lines: Array, words: &str) -> Array {
    lines.push(words);
    for line in lines.iter_mut() {
        let prefix = line.decor().prefix().and_then(RawString::as_str).unwrap_or_default();
        if !prefix.contains('\n') {
            line.decor_mut().set_prefix("\n  ");
        }
    }
    lines.set_trailing_comma(true);
    lines.set_trailing("\n");
    lines
}

/// Sets a key; a comment behind the old value stays.
fn put(entry: &mut Table, key: &str, value: Value) {
    match entry.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            let decor = old.decor().clone();
            *old = value;
            *old.decor_mut() = decor;
        }
        None => {
            entry.insert(key, toml_edit::value(value));
        }
    }
}

/// The text without the conflicts of a merge in which nothing but the digest is at odds, since it is
/// written anew anyway; `None` where there is no such conflict.
pub fn without_digest_conflicts(text: &str) -> Option<String> {
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let mut kept = String::new();
    let mut at = 0;
    let mut found = false;
    while at < lines.len() {
        let end = lines[at].starts_with("<<<<<<<").then(|| {
            let end = lines[at..].iter().position(|line| line.starts_with(">>>>>>>"))?;
            let is_digest = |line: &&str| line.trim_start().starts_with("digest") || line.trim().is_empty();
            let is_mark = |line: &&str| line.starts_with("=======") || line.starts_with("|||||||");
            let inner = &lines[at + 1..at + end];
            inner.iter().all(|line| is_digest(line) || is_mark(line)).then_some((inner, at + end))
        });
        match end.flatten() {
            Some((inner, end)) => {
                found = true;
                kept.extend(inner.iter().find(|line| line.trim_start().starts_with("digest")).copied());
                at = end + 1;
            }
            None => {
                kept.push_str(lines[at]);
                at += 1;
            }
        }
    }
    found.then_some(kept)
}

#[cfg(test)]
mod tests {
    use super::*;

    const EDITION: &str = "version = \"0.2.0\" # now\n\n[[changelog]]\nversion = \"0.2.0\"\ndate = \"2026-11-25\"\nwhat = \"Sedges.\" # more to come\n\n# the first\n[[changelog]]\nversion = \"0.1.0\"\ndate = \"2026-11-24\"\nwhat = \"Grasses.\"\n";

    #[test]
    fn the_entry_of_the_version_takes_digest_and_words_and_the_rest_stays() {
        let stamped = stamp(EDITION, "0.2.0", "abc", " salinity of one grass").unwrap();
        let wanted = EDITION.replace(
            "\"Sedges.\" # more to come\n",
            "[\n  \"Sedges.\",\n  \"salinity of one grass\",\n] # more to come\ndigest = \"abc\"\n",
        );
        assert_eq!(stamped, wanted);
        let longer = stamp(&stamped, "0.2.0", "def", "cold of another").unwrap();
        let more = "grass\",\n  \"cold of another\",\n]";
        assert_eq!(longer, stamped.replace("grass\",\n]", more).replace("abc", "def"));
        let again = stamp(&stamped, "0.2.0", "def", "").unwrap();
        assert_eq!(again, stamped.replace("abc", "def"));
        let returns = EDITION.replace('\n', "\r\n");
        assert_eq!(stamp(&returns, "0.2.0", "abc", "").unwrap().matches("\r\n").count(), 13);
        assert_eq!(stamp(EDITION, "0.3.0", "abc", ""), None);
    }

    #[test]
    fn a_conflict_of_digests_alone_is_resolved() {
        let conflict =
            "a = 1\n<<<<<<< ours\ndigest = \"x\"\n=======\ndigest = \"y\"\n>>>>>>> theirs\nb = 2\n";
        assert_eq!(without_digest_conflicts(conflict).unwrap(), "a = 1\ndigest = \"x\"\nb = 2\n");
        assert_eq!(without_digest_conflicts(&conflict.replace("digest = \"y\"", "what = \"y\"")), None);
        assert_eq!(without_digest_conflicts("a = 1\n"), None);
    }
}
