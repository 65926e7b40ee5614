//! Text to tree. Faults of syntax are found all at once where the parser can go on.

use std::sync::Arc;

use toml::de::DeTable;

use super::convert::convert;
use super::tree::Table;
use crate::diag::{Finding, Findings, Place, Source};

/// The tree of a TOML text; `None` where its syntax is faulty, with every fault in `findings`, since
/// a walk over what could be read would report faults that are none.
pub fn parse(source: &Arc<Source>, findings: &mut Findings) -> Option<Table> {
    let (table, mut errors) = DeTable::parse_recoverable(&source.text);
    errors.sort_by_key(|error| error.span().map_or(0, |span| span.start));
    let mut told: Option<(usize, String)> = None;
    for error in &errors {
        let place = Place { source: source.clone(), span: error.span().unwrap_or(0..0) };
        let words: Vec<&str> = error.message().lines().collect();
        let help = slip(&source.text, place.span.start, &words);
        // one turned quotation mark makes several faults in its line
        let line = place.line_and_column().0;
        let again = help.as_ref().is_some_and(|help| told.as_ref() == Some(&(line, help.clone())));
        if again {
            continue;
        }
        told = help.clone().map(|help| (line, help));
        let message = format!("not valid TOML: {}", words.join(", "));
        findings.push(Finding::error("toml-syntax", &place, message).label("here").maybe_help(help));
    }
    let (table, too_deep) = convert(table.get_ref());
    if let Some(span) = &too_deep {
        let place = Place { source: source.clone(), span: span.clone() };
        findings.push(Finding::error("toml-syntax", &place, "tables are nested too deep"));
    }
    (errors.is_empty() && too_deep.is_none()).then_some(table)
}

/// Quotation marks that editors turn.
const TURNED: [char; 6] = ['\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}', '\u{201e}', '\u{ab}'];

/// What would mend a fault of syntax, where one of the usual slips is to blame for it.
fn slip(text: &str, at: usize, words: &[&str]) -> Option<String> {
    let at = (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at))?;
    let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
    let line = text[start..].lines().next().unwrap_or_default();
    let rest = &line[(at - start).min(line.len())..];
    let says = |part: &str| words.iter().any(|word| word.contains(part));
    if let Some(mark) = line.chars().find(|c| TURNED.contains(c)) {
        return Some(format!("{mark} is no quotation mark here: write straight ones, \" or '"));
    }
    if ["<<<<<<<", "=======", ">>>>>>>"].iter().any(|mark| line.starts_with(mark)) {
        return Some(
            "a merge left both sides here: keep one, and take out its three lines of marks".to_owned(),
        );
    }
    let word: String = rest.chars().take_while(|c| c.is_alphanumeric() || "-_.".contains(*c)).collect();
    if says("string values must be quoted") && !word.is_empty() {
        return Some(match word.to_lowercase().as_str() {
            "true" | "yes" => "write true, in lower case and without quotes".to_owned(),
            "false" | "no" => "write false, in lower case and without quotes".to_owned(),
            _ => format!("text stands in quotes: \"{word}\""),
        });
    }
    if line.trim_start().starts_with('[') && says("unclosed table") {
        let inner = line.trim().trim_matches(['[', ']']);
        let key = inner.to_lowercase().split_whitespace().collect::<Vec<_>>().join("-");
        let brackets = if line.trim_start().starts_with("[[") { ("[[", "]]") } else { ("[", "]") };
        return Some(format!("a key has no spaces: {}{key}{}", brackets.0, brackets.1));
    }
    if says("invalid basic string") || says("invalid literal string") {
        return Some("text ends with its quotation mark on the same line".to_owned());
    }
    if says("unexpected key or value") && line.matches('\'').count() > 2 && !line.contains('"') {
        return Some("text that holds ' stands in double quotes: \"species.kind = 'sedge'\"".to_owned());
    }
    None
}
