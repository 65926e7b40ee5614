//! The usual slips against the syntax of TOML, told in the words of someone who knows no TOML.

use std::ops::Range;

use super::statement::{Missing, Statement, Unmatched};
use crate::units::{two_numbers, with_plain_minus};

/// What is at fault, where, and what would mend it.
pub struct Told {
    /// What is at fault.
    pub message: String,
    /// Where.
    pub span: Range<usize>,
    /// Words at the place.
    pub label: String,
    /// Another place that belongs to the fault, with its words.
    pub also: Option<(Range<usize>, String)>,
    /// What would mend it, where that is known.
    pub help: Option<String>,
}

impl Told {
    fn new(message: impl Into<String>, span: Range<usize>, help: impl Into<String>) -> Self {
        Self { message: message.into(), span, label: String::new(), also: None, help: Some(help.into()) }
    }
}

/// A bracket that nothing matches. The place is where the missing one belongs.
pub fn unmatched(text: &str, unmatched: &Unmatched) -> Told {
    // a place may be that of the last byte of a sign
    let sign = |at: usize| {
        let start = (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap_or_default();
        start..start + text[start..].chars().next().map_or(0, char::len_utf8)
    };
    match unmatched {
        Unmatched::Open { opener, closers, missing } => {
            let (at, beside) = match *missing {
                Missing::Behind(at) => (at, "behind"),
                Missing::Before(at) => (at, "before"),
            };
            let message = format!("the `{}` is not closed", &text[sign(*opener)]);
            Told {
                label: format!("`{closers}` is missing {beside} this"),
                also: Some((sign(*opener), "not closed".to_owned())),
                ..Told::new(message, sign(at), format!("write `{closers}` {beside} it"))
            }
        }
        Unmatched::Stray(at) => {
            let message = format!("the `{}` closes nothing", &text[sign(*at)]);
            Told::new(message, sign(*at), "take it out, or open its pair before it")
        }
        Unmatched::Unopened(at) => {
            Told::new("no `{` stands before the keys of a table", sign(*at), "write `{` before it")
        }
    }
}

/// Quotation marks that editors turn.
const TURNED: [char; 6] = ['\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}', '\u{201e}', '\u{ab}'];

/// What the parser found at `at` of a statement, told as the slip that is to blame for it where it is one of
/// the usual ones.
pub fn slip(text: &str, statement: &Statement, at: usize, span: Range<usize>, words: &str) -> Told {
    let line = Line::around(text, at);
    line.not_toml()
        .or_else(|| line.foreign_blank())
        .or_else(|| line.decimal_comma())
        .or_else(|| line.two_numbers(words))
        .or_else(|| line.without_equals(words))
        .or_else(|| line.without_value(words))
        .or_else(|| line.without_quotes(words))
        .or_else(|| line.quotes_within(words))
        .or_else(|| line.without_comma(words))
        .or_else(|| line.heading(statement, words))
        .unwrap_or_else(|| Told {
            message: words.to_owned(),
            span,
            label: "here".to_owned(),
            also: None,
            help: line.hint(words),
        })
}

/// The line in which the parser met a fault.
struct Line<'a> {
    text: &'a str,
    /// Where it begins in the whole text.
    start: usize,
    /// Where in the line the fault is.
    at: usize,
}

impl<'a> Line<'a> {
    fn around(text: &'a str, at: usize) -> Self {
        let at = (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or_default();
        let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
        let line = text[start..].lines().next().unwrap_or_default();
        Self { text: line, start, at: (at - start).min(line.len()) }
    }

    fn before(&self) -> &'a str {
        &self.text[..self.at]
    }

    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    /// A stretch of the line as one of the whole text.
    fn span(&self, stretch: Range<usize>) -> Range<usize> {
        self.start + stretch.start..self.start + stretch.end
    }

    /// What no part of a file should hold.
    fn not_toml(&self) -> Option<Told> {
        if let Some((at, mark)) = self.text.char_indices().find(|(_, c)| TURNED.contains(c)) {
            let span = self.span(at..at + mark.len_utf8());
            return Some(Told::new(
                format!("{mark} is no quotation mark here"),
                span,
                "write straight ones, \" or '",
            ));
        }
        let of_merge = ["<<<<<<<", "=======", ">>>>>>>"].iter().any(|mark| self.text.starts_with(mark));
        of_merge.then(|| {
            Told::new(
                "a merge left both sides here",
                self.span(0..self.text.len()),
                "keep one, and take out its three lines of marks",
            )
        })
    }

    /// A blank of web pages and word processors, which looks like a space or like nothing.
    fn foreign_blank(&self) -> Option<Told> {
        let rest = self.rest().trim_start_matches([' ', '\t']);
        let sign = rest.chars().next().filter(|sign| {
            !sign.is_ascii()
                && (sign.is_whitespace() || ['\u{ad}', '\u{200b}', '\u{2060}', '\u{feff}'].contains(sign))
        })?;
        let name = match sign {
            '\u{a0}' | '\u{202f}' => "a non-breaking space",
            _ => "an invisible sign",
        };
        let at = self.text.len() - rest.len();
        Some(Told::new(
            format!("{name} (U+{:04X}) stands here", u32::from(sign)),
            self.span(at..at + sign.len_utf8()),
            "write a plain space in its place, or take it out",
        ))
    }

    /// `4-6` for the two ends of what a source states.
    fn two_numbers(&self, words: &str) -> Option<Told> {
        let value = self.before().rfind(['=', '[', ',']).map_or(0, |sign| sign + 1);
        let value = value + self.text[value..].len() - self.text[value..].trim_start().len();
        let written = self.text[value..].split([',', ']', '}', '#', '"', '\'']).next()?.trim_end();
        let (low, high, _) = two_numbers(written)?;
        // a text that is not closed may end on such a pair
        let is_value =
            ["must be quoted", "invalid float", "invalid date"].iter().any(|part| words.contains(part));
        if !is_value || !(value..=value + written.len()).contains(&self.at) {
            return None;
        }
        Some(Told::new(
            format!("`{written}` is no number"),
            self.span(value..value + written.len()),
            format!("write one number, or both as the ends of an entry: `low = {low}, high = {high}`"),
        ))
    }

    /// `6,0` for 6.0.
    fn decimal_comma(&self) -> Option<Told> {
        let value = self.before().rfind('=')? + 1;
        let value = value + self.text[value..].len() - self.text[value..].trim_start().len();
        let written = &self.text[value..];
        let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
        let sign = usize::from(written.starts_with(['-', '+']));
        let whole = sign + digits(&written[sign..]);
        let part = digits(written[whole..].strip_prefix(',')?);
        let end = whole + 1 + part;
        let ends = !written[end..].starts_with(|c: char| c.is_alphanumeric() || c == '.');
        if whole == sign || part == 0 || !ends || self.at > value + end + 1 {
            return None;
        }
        let number = &written[..end];
        Some(Told::new(
            format!("`{number}` is no number"),
            self.span(value..value + end),
            format!("write `{}`: decimals stand behind a point", number.replace(',', ".")),
        ))
    }

    /// `key: value` or `key value`.
    fn without_equals(&self, words: &str) -> Option<Told> {
        let next = self.at + self.rest().len() - self.rest().trim_start().len();
        let colon = self.text[next..].starts_with(':');
        let looked_for = words.contains("expected `=`") || words.contains("invalid unquoted key");
        if !looked_for || !(colon || self.text[next..].starts_with(['"', '[', '{'])) {
            return None;
        }
        let before = self.text[..next].trim_end();
        let is_of_key = |c: char| c.is_alphanumeric() || "-_.\"'".contains(c);
        let start = before.trim_end_matches(is_of_key).len();
        let key = Some(&before[start..]).filter(|key| !key.is_empty())?;
        let end = if colon { next + 1 } else { before.len() };
        let written = &self.text[start..end];
        Some(Told::new(
            format!("`{written}` stands where `{key} =` is wanted"),
            self.span(start..end),
            format!("write `{key} =`"),
        ))
    }

    /// A key with nothing behind its sign of equality.
    fn without_value(&self, words: &str) -> Option<Told> {
        let before = self.before().trim_end().strip_suffix('=')?.trim_end();
        let nothing = self.rest().trim_start();
        let nothing = nothing.is_empty() || nothing.starts_with(['#', ',', '}']);
        if !nothing || !words.contains("string values must be quoted") {
            return None;
        }
        let key = before.rsplit(|c: char| c.is_whitespace() || "{,".contains(c)).next().unwrap_or_default();
        Some(Told::new(
            format!("`{key}` has no value"),
            self.span(before.len() - key.len()..before.len()),
            "write its value behind `=`, or take the key out",
        ))
    }

    /// A text, or true or false, that is not written as such.
    fn without_quotes(&self, words: &str) -> Option<Told> {
        let ends = |c: char| ",]}#\"'=".contains(c);
        let run = self.rest().split(ends).next().unwrap_or_default();
        let runs_into_key = self.rest()[run.len()..].starts_with('=');
        // the last word before a sign of equality is the key of what follows
        let all = match run.trim_end().rsplit_once(char::is_whitespace) {
            Some((value, _)) if runs_into_key => value.trim_end(),
            _ => run.trim_end(),
        };
        // a word that begins as `true`, `false`, `nan` or `inf` does is taken for one of them
        let unquoted = [
            "string values must be quoted",
            "missing opening quote",
            "invalid boolean",
            "expected `nan`",
            "expected `inf`",
        ];
        if !unquoted.iter().any(|part| words.contains(part)) || all.is_empty() {
            return None;
        }
        if runs_into_key && all.parse::<f64>().is_ok() {
            let last = self.at + all.len() - 1;
            return Some(Told::new(
                format!("no comma stands behind `{all}`"),
                self.span(last..last + 1),
                "write `,` behind it",
            ));
        }
        if let Some(at) = all.find(';').filter(|at| all[..*at].trim_end().parse::<f64>().is_ok()) {
            let at = self.at + at;
            return Some(Told::new(
                "`;` sets nothing apart",
                self.span(at..at + 1),
                "write `,` in its place",
            ));
        }
        if let Some(plain) = with_plain_minus(all).filter(|plain| plain.parse::<f64>().is_ok()) {
            let span = self.span(self.at..self.at + all.len());
            return Some(Told::new(
                format!("`{all}` has a minus sign of print"),
                span,
                format!("write `{plain}`"),
            ));
        }
        // one of its two quotation marks may stand there
        let half = usize::from(self.rest()[all.len()..].starts_with('"'));
        let span = self.span(self.at..self.at + all.len() + half);
        let help = match all.to_lowercase().as_str() {
            "true" | "yes" => "write `true`, in lower case and without quotes".to_owned(),
            "false" | "no" => "write `false`, in lower case and without quotes".to_owned(),
            _ => format!("text stands in quotes: `\"{all}\"`"),
        };
        Some(Told::new(format!("`{all}` is no value"), span, help))
    }

    /// A text in double quotes within another, or a quotation mark left out.
    fn quotes_within(&self, words: &str) -> Option<Told> {
        let name = self.rest().split(|c: char| !(c.is_alphanumeric() || "-_. ".contains(c))).next()?;
        let is_behind = !name.trim().is_empty() && self.before().ends_with('"');
        if !is_behind || words.contains("invalid") {
            return None;
        }
        let closed = self.rest()[name.len()..].starts_with('"');
        if closed && self.text.matches('"').count().is_multiple_of(2) {
            return Some(Told::new(
                format!("the text ends before `{name}`"),
                self.span(self.at - 1..self.at + name.len() + 1),
                format!("write `'{name}'`: names within a text stand in single quotes"),
            ));
        }
        Some(Told::new(
            format!("the text ends before `{name}`"),
            self.span(self.at..self.at + name.len()),
            "a quotation mark is missing in this line: a text begins and ends with one",
        ))
    }

    /// Two keys or values with nothing between them.
    fn without_comma(&self, words: &str) -> Option<Told> {
        let next = self.rest().trim_start();
        let sign = next.chars().next().filter(|_| words.contains("missing comma"))?;
        let at = self.text.len() - next.len();
        let name = next.split(|c: char| c.is_whitespace() || ",]}".contains(c)).next().unwrap_or(next);
        let span = self.span(at..at + sign.len_utf8());
        Some(Told::new(format!("no comma stands before `{name}`"), span, "write `,` before it"))
    }

    /// A heading with a fault in its name or its brackets, or one without brackets.
    fn heading(&self, statement: &Statement, words: &str) -> Option<Told> {
        let whole = self.text.split('#').next().unwrap_or_default();
        let written = whole.trim();
        let at = whole.len() - whole.trim_start().len();
        let span = self.span(at..at + written.len());
        let inner = written.trim_matches(['[', ']']);
        let name = inner.to_lowercase().split_whitespace().collect::<Vec<_>>().join("-");
        if name.is_empty() {
            return None;
        }
        if statement.is_heading && words.contains("unclosed table") {
            let (open, close) = if written.starts_with("[[") { ("[[", "]]") } else { ("[", "]") };
            let (message, why) = match name == inner {
                true => (format!("the heading `{written}` is not closed"), ""),
                false => (format!("`{inner}` is no name of a heading"), ": a name has no spaces"),
            };
            return Some(Told::new(message, span, format!("write `{open}{name}{close}`{why}")));
        }
        let bare = written.chars().all(|c| c.is_alphanumeric() || "-_.".contains(c));
        if bare && words.contains("key with no value") {
            return Some(Told::new(
                format!("`{written}` has no value"),
                span,
                format!("write `[{written}]` if it is a heading, or `{written} = …`"),
            ));
        }
        None
    }

    /// What helps where the parser's own words say what is at fault.
    fn hint(&self, words: &str) -> Option<String> {
        if words.contains("invalid basic string") || words.contains("invalid literal string") {
            return Some("text ends with its quotation mark on the same line".to_owned());
        }
        let singles = self.text.matches('\'').count();
        let quoted = words.contains("unexpected key or value") && singles > 2 && !self.text.contains('"');
        quoted.then(|| "text that holds ' stands in double quotes: \"species.kind = 'sedge'\"".to_owned())
    }
}
