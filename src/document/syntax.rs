//! Faults of syntax, one a statement and none that only follows from another.
//!
//! A parser that lost its way finds faults in lines that are right. So it is believed in its first fault
//! alone; then the statement to blame is taken out, and what is left is parsed again.

use std::ops::Range;
use std::sync::Arc;

use toml::de::DeTable;

use super::convert::convert;
use super::statement::{Missing, Statement, Unmatched, statements};
use super::syntax_slip::{Told, slip, unmatched};
use super::tree::{Entry, NodeKind, Table};
use crate::diag::{Finding, Findings, Place, Source};

/// So many faults of a file are told: each is a parse of the whole text.
const MOST: usize = 20;

/// Tells the faults of a text.
pub fn tell(source: &Arc<Source>, findings: &mut Findings) {
    let mut text = source.text.to_string();
    for _ in 0..MOST {
        let Some((told, blamed)) = first_fault(&text) else { return };
        let place = |span| Place { source: source.clone(), span };
        let message = format!("not valid TOML: {}", told.message);
        let finding =
            Finding::error("toml-syntax", &place(told.span), message).label(told.label).maybe_help(told.help);
        findings.push(match told.also {
            Some((span, words)) => finding.also(&place(span), words),
            None => finding,
        });
        let left = without(&text, blamed);
        if left == text {
            return;
        }
        text = left;
    }
}

/// The first fault of a text, and the stretch that has to go before the rest can be judged.
fn first_fault(text: &str) -> Option<(Told, Range<usize>)> {
    let (table, errors) = DeTable::parse_recoverable(text);
    let error = errors.iter().min_by_key(|error| error.span().map_or(0, |span| span.start))?;
    let span = error.span().unwrap_or(0..0);
    let at = span.start.min(text.len());
    let all = statements(text);
    let number = all.iter().rposition(|one| one.span.start <= at);
    // a bracket left open is noticed in a line below, and never before the place where it should be closed
    let open = all[..number.map_or(0, |number| number + 1)]
        .iter()
        .rposition(|one| one.unmatched.as_ref().is_some_and(|unmatched| noticed_from(unmatched) <= at));
    if let Some((number, fault)) = open.and_then(|number| Some((number, all[number].unmatched.as_ref()?))) {
        return Some((unmatched(text, fault), stretch(text, &all, number)));
    }
    let words = error.message().lines().collect::<Vec<_>>().join(", ");
    let line = line_around(text, at);
    let Some(number) = number.filter(|number| all[*number].span.end >= line.start) else {
        let own = Statement { span: line.clone(), is_heading: false, unmatched: None };
        return Some((slip(text, &own, at, span, &words), line));
    };
    let statement = &all[number];
    let told = match words.contains("duplicate key") {
        true if statement.is_heading => duplicate_heading(text, &all[..=number]),
        true => duplicate(text, &convert(table.get_ref()).0, &all[..=number], span),
        false => slip(text, statement, at, span, &words),
    };
    Some((told, stretch(text, &all, number)))
}

/// From where on a parser meets a bracket without its pair.
fn noticed_from(unmatched: &Unmatched) -> usize {
    match unmatched {
        Unmatched::Open { missing: Missing::Behind(at) | Missing::Before(at), .. }
        | Unmatched::Stray(at)
        | Unmatched::Unopened(at) => *at,
    }
}

/// A heading, the last of these statements, that stands twice, with its other place.
fn duplicate_heading(text: &str, all: &[Statement]) -> Told {
    let written = |one: &Statement| text[one.span.clone()].split('#').next().unwrap_or_default().trim_end();
    let place = |one: &Statement| one.span.start..one.span.start + written(one).len();
    let (heading, span) = all.last().map(|one| (written(one), place(one))).unwrap_or_default();
    let first =
        all.iter().map(place).find(|first| first.start < span.start && text[first.clone()] == *heading);
    Told {
        message: format!("the heading `{heading}` stands twice"),
        span,
        label: "again here".to_owned(),
        also: first.map(|first| (first, "first here".to_owned())),
        help: Some("put all that belongs to it under one".to_owned()),
    }
}

/// A key of the last of these statements that stands twice, with its other place.
fn duplicate(text: &str, table: &Table, all: &[Statement], span: Range<usize>) -> Told {
    let key = text.get(span.clone()).unwrap_or_default();
    let own = all.last().map_or(0, |statement| statement.span.start);
    // the key of a statement stood first in another statement, one within it in the same
    let may_be_first = |at: usize| match span.start == own {
        true => at < own && all.iter().any(|one| one.span.start == at),
        false => (own..span.start).contains(&at),
    };
    let mut first: Option<(Range<usize>, bool)> = None;
    visit_keys(table, &mut |entry| {
        let place = entry.key_span.range();
        let is_later = first.as_ref().is_none_or(|(before, _)| before.start < place.start);
        if entry.key == key.trim_matches(['"', '\'']) && may_be_first(place.start) && is_later {
            first = Some((place, matches!(entry.node.kind, NodeKind::List(_))));
        }
    });
    let help = match first {
        Some((_, true)) => format!("one list holds both: `{key} = [{{ … }}, {{ … }}]`"),
        _ => "keep one of them".to_owned(),
    };
    Told {
        message: format!("the key `{key}` stands twice"),
        span,
        label: "again here".to_owned(),
        also: first.map(|(first, _)| (first, "first here".to_owned())),
        help: Some(help),
    }
}

/// Visits every key of a table and of the tables within it.
fn visit_keys(table: &Table, visit: &mut impl FnMut(&Entry)) {
    for (_, entry) in table.iter() {
        visit(entry);
        let nodes = match &entry.node.kind {
            NodeKind::List(items) => items.as_slice(),
            _ => std::slice::from_ref(&entry.node),
        };
        for inner in nodes.iter().filter_map(|node| node.as_table()) {
            visit_keys(inner, visit);
        }
    }
}

/// A statement; with all that stands under it where it is a heading, since that would come under another.
fn stretch(text: &str, all: &[Statement], number: usize) -> Range<usize> {
    let start = all[number].span.start;
    let next = match all[number].is_heading {
        true => all[number + 1..].iter().find(|one| one.is_heading),
        false => None,
    };
    let end = match (all[number].is_heading, next) {
        (true, Some(next)) => next.span.start,
        (true, None) => text.len(),
        (false, _) => all[number].span.end,
    };
    start..end
}

/// The line in which something stands.
fn line_around(text: &str, at: usize) -> Range<usize> {
    let bytes = text.as_bytes();
    let start = bytes[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    let end = bytes[start..].iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |end| start + end);
    start..end
}

/// The text with spaces in place of a stretch, so that all else keeps its place.
fn without(text: &str, stretch: Range<usize>) -> String {
    let blank = text[stretch.clone()].bytes().map(|byte| if byte == b'\n' { '\n' } else { ' ' });
    let blank: String = blank.collect();
    format!("{}{blank}{}", &text[..stretch.start], &text[stretch.end..])
}

#[cfg(test)]
mod tests {
    use super::super::parse;
    use super::*;

    fn faults(text: &str) -> Findings {
        let source = Arc::new(Source { path: "a.toml".into(), text: text.to_owned().into() });
        let mut findings = Findings::new();
        assert!(parse(&source, &mut findings).is_none(), "{text}");
        findings
    }

    /// Each slip is one fault at its own place, and the statements beside it are blamed for nothing.
    #[test]
    fn a_slip_is_told_once_where_it_is_mended_and_how() {
        for (slip, at, help) in [
            ("w = [{ v = 1 }", "}", "write `]` behind it"),
            ("w = [{ v = 1 ]", "]", "write `}` before it"),
            ("w = [{ v = 1", "1", "write `}]` behind it"),
            ("w = [{ v = ['a', s = 'b' }]", "'", "write `]` behind it"),
            ("w = [ v = 1, s = 2 }]", "v", "write `{` before it"),
            ("w = { v = 1 }]", "]", "take it out, or open its pair before it"),
            ("w = [{ v = 6,0, s = 'b' }]", "6,0", "write `6.0`: decimals stand behind a point"),
            ("w = -6,25", "-6,25", "write `-6.25`: decimals stand behind a point"),
            ("w: 1", "w:", "write `w =`"),
            ("w = [{ v: \"6b\", s = 1 }]", "v:", "write `v =`"),
            ("w \"a\"", "w", "write `w =`"),
            ("w =", "w", "write its value behind `=`, or take the key out"),
            ("w = [creeping example]", "creeping example", "text stands in quotes: `\"creeping example\"`"),
            (
                "w = [creeping example\"]",
                "creeping example\"",
                "text stands in quotes: `\"creeping example\"`",
            ),
            ("w = [{ v = full-sun, s = 'b' }]", "full-sun", "text stands in quotes: `\"full-sun\"`"),
            ("w = native", "native", "text stands in quotes: `\"native\"`"),
            ("w = soil pH # of all", "soil pH", "text stands in quotes: `\"soil pH\"`"),
            ("w = Yes", "Yes", "write `true`, in lower case and without quotes"),
            (
                "w = \"a = \"lawn\"\"",
                "\"lawn\"",
                "write `'lawn'`: names within a text stand in single quotes",
            ),
            (
                "w = { v = \"6b, s = \"trial\" }",
                "trial",
                "a quotation mark is missing in this line: a text begins and ends with one",
            ),
            ("w =\u{a0}\"a\"", "\u{a0}", "write a plain space in its place, or take it out"),
            ("w = [1,\u{a0}2]", "\u{a0}", "write a plain space in its place, or take it out"),
            ("w\u{202f}= 'a'", "\u{202f}", "write a plain space in its place, or take it out"),
            ("w = 'a'\u{200b}", "\u{200b}", "write a plain space in its place, or take it out"),
            ("w = [16.4; 18.4]", ";", "write `,` in its place"),
            ("w = { v = 6.0; s = 'b' }", ";", "write `,` in its place"),
            ("w = \u{2212}20", "\u{2212}20", "write `-20`"),
            (
                "w = { v = 6.0-7, s = 'b' }",
                "6.0-7",
                "write one number, or both as the ends of an entry: `low = 6.0, high = 7`",
            ),
            ("w = 6-7", "6-7", "write one number, or both as the ends of an entry: `low = 6, high = 7`"),
            (
                "w = { v = 6\u{2013}7 }",
                "6\u{2013}7",
                "write one number, or both as the ends of an entry: `low = 6, high = 7`",
            ),
            ("w = { v = 'a' s = 2 }", "s", "write `,` before it"),
            ("w = { v = 15 s = 2 }", "5", "write `,` behind it"),
            ("w = { v = low s = 2 }", "low", "text stands in quotes: `\"low\"`"),
            ("[w x]", "[w x]", "write `[w-x]`: a name has no spaces"),
            ("[w", "[w", "write `[w]`"),
            ("w", "w", "write `[w]` if it is a heading, or `w = …`"),
        ] {
            let text = format!("a = 1\n{slip}\nb = [{{ v = 2 }}]\nc = 'd'\n\n[e]\nf = 1\n");
            let told = faults(&text);
            assert_eq!(told.len(), 1, "{slip}: {told:#?}");
            let span = told[0].place.as_ref().map(|place| place.span.clone()).unwrap_or_default();
            assert_eq!((&text[span], told[0].help.as_deref()), (at, Some(help)), "{slip}: {told:#?}");
            assert_eq!(told[0].place.as_ref().map(|place| place.line_and_column().0), Some(2), "{slip}");
        }
    }

    #[test]
    fn what_stands_twice_is_told_with_its_first_place() {
        for (text, first, help) in [
            ("v = 1\nw = [1]\nx = { w = 2 }\nw = [2]\n", 6, "one list holds both: `w = [{ … }, { … }]`"),
            ("v = 1\nw = { v = 1, v = 2 }\n", 12, "keep one of them"),
            ("[v]\nw = 1\n[x]\nw = 1\nw = 2\n", 14, "keep one of them"),
            ("[v] # one\nw = 1\n[v]\nx = 2\n", 0, "put all that belongs to it under one"),
        ] {
            let told = faults(text);
            assert_eq!(told.len(), 1, "{text}: {told:#?}");
            assert_eq!(told[0].also.first().map(|(place, _)| place.span.start), Some(first), "{told:#?}");
            assert_eq!(told[0].help.as_deref(), Some(help), "{text}");
        }
    }

    #[test]
    fn faults_of_other_statements_are_told_beside_it() {
        let told = faults("a = [1\nb = \"c\nd = 1\n[e\nf = =\n[g]\nh = 6,0\nd = 1\nd = 2\n");
        let lines: Vec<usize> =
            told.iter().filter_map(|one| Some(one.place.as_ref()?.line_and_column().0)).collect();
        // what stands under a heading that cannot be read waits for it
        assert_eq!(lines, [1, 2, 4, 7, 9]);
        assert_eq!(faults(&"a = =\n".repeat(500)).len(), MOST);
    }

    /// Whatever is left out of a text, it is read or its faults are told, at places that it has.
    #[test]
    fn a_text_with_any_one_sign_left_out_is_judged_without_a_panic() {
        const WHOLE: &str = "ä = [ü, \"ö\"] # é\r\n[\"ß\".b]\nc = { “d = '''e\nf''', g = 6,5ü }\né: [[h]]\n";
        for (at, sign) in WHOLE.char_indices() {
            let (before, after) = (&WHOLE[..at], &WHOLE[at + sign.len_utf8()..]);
            for text in [format!("{before}{after}"), before.to_owned()] {
                let source = Arc::new(Source { path: "a.toml".into(), text: text.clone().into() });
                let mut findings = Findings::new();
                let read = parse(&source, &mut findings).is_some();
                assert_eq!(read, findings.is_empty(), "{text}");
                for place in findings.iter().filter_map(|one| one.place.as_ref()) {
                    assert!(text.get(place.span.clone()).is_some(), "{text}: {:?}", place.span);
                }
            }
        }
    }
}
