//! Where the statements of a TOML text begin and end, and whether their brackets match, as far as that can be
//! told of a text that is faulty: a bracket left open must not swallow the lines below it.

use std::ops::Range;

/// A heading, or a key with its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Statement {
    /// From its first sign to its last.
    pub span: Range<usize>,
    /// Whether it is a heading in brackets.
    pub is_heading: bool,
    /// The first bracket that is not matched.
    pub unmatched: Option<Unmatched>,
}

/// A bracket without the other one of its pair.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unmatched {
    /// A bracket that nothing closes.
    Open {
        /// Where it stands.
        opener: usize,
        /// What would close it and what is open within it.
        closers: String,
        /// Where that is missing.
        missing: Missing,
    },
    /// A bracket that closes nothing, and where it stands.
    Stray(usize),
    /// A brace that does not stand before the keys of a table, and where these begin.
    Unopened(usize),
}

/// Where something is missing, told by the sign beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Missing {
    /// Behind the sign that stands here.
    Behind(usize),
    /// Before it.
    Before(usize),
}

/// The statements of a text, in order. Empty lines and lines of comment belong to none.
pub fn statements(text: &str) -> Vec<Statement> {
    let mut scan = Scan { bytes: text.as_bytes(), at: 0 };
    let mut all = Vec::new();
    while scan.skip_to_statement() {
        all.push(if scan.bytes[scan.at] == b'[' { scan.heading() } else { scan.pair() });
    }
    all
}

struct Scan<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Scan<'_> {
    fn next(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn end_of_line(&self, from: usize) -> usize {
        self.bytes[from..].iter().position(|byte| *byte == b'\n').map_or(self.bytes.len(), |end| from + end)
    }

    /// Goes on to the next sign that is neither space nor comment; `false` at the end.
    fn skip_to_statement(&mut self) -> bool {
        while let Some(byte) = self.next() {
            match byte {
                b'#' => self.at = self.end_of_line(self.at),
                b' ' | b'\t' | b'\r' | b'\n' => self.at += 1,
                _ => return true,
            }
        }
        false
    }

    /// A heading takes its line.
    fn heading(&mut self) -> Statement {
        let start = self.at;
        self.at = self.end_of_line(start);
        Statement { span: start..self.end_of_signs(start), is_heading: true, unmatched: None }
    }

    /// Behind the last sign of what ends here that is no space.
    fn end_of_signs(&self, start: usize) -> usize {
        let length = self.bytes[start..self.at].trim_ascii_end().len();
        start + length
    }

    /// A key and its value, or a line without a value.
    fn pair(&mut self) -> Statement {
        let start = self.at;
        let mut brackets = Brackets::default();
        loop {
            match self.next() {
                None => break,
                Some(b'\n') if brackets.open.is_empty() || self.begins_anew(&brackets) => break,
                Some(b'#') => self.at = self.end_of_line(self.at),
                Some(byte @ (b'"' | b'\'')) => {
                    if !self.skip_text(byte) {
                        // what stands behind a text that does not end is not known
                        return Statement {
                            span: start..self.end_of_signs(start),
                            is_heading: false,
                            unmatched: None,
                        };
                    }
                    brackets.first.get_or_insert(self.at - 1);
                    brackets.last = Some(self.at - 1);
                }
                Some(byte) => {
                    brackets.take(byte, self.at);
                    self.at += 1;
                }
            }
        }
        brackets.end();
        Statement { span: start..self.end_of_signs(start), is_heading: false, unmatched: brackets.unmatched }
    }

    /// Goes behind a text that begins here; `false`, and to the end of its line, where it does not end.
    fn skip_text(&mut self, quote: u8) -> bool {
        let thrice = [quote; 3];
        if self.bytes[self.at..].starts_with(&thrice) {
            let mut at = self.at + 3;
            while at < self.bytes.len() {
                match self.bytes[at] {
                    b'\\' if quote == b'"' => at += 2,
                    _ if self.bytes[at..].starts_with(&thrice) => {
                        self.at = at + 3;
                        return true;
                    }
                    _ => at += 1,
                }
            }
            self.at = self.end_of_line(self.at);
            return false;
        }
        let end = self.end_of_line(self.at);
        let mut at = self.at + 1;
        while at < end {
            match self.bytes[at] {
                b'\\' if quote == b'"' => at += 2,
                byte if byte == quote => {
                    self.at = at + 1;
                    return true;
                }
                _ => at += 1,
            }
        }
        self.at = end;
        false
    }

    /// Whether the line behind this line end can only be a statement of its own, although a bracket is open.
    fn begins_anew(&self, brackets: &Brackets) -> bool {
        let mut below = Scan { bytes: self.bytes, at: self.at };
        if !below.skip_to_statement() {
            return false;
        }
        let goes_on = brackets.last.is_some_and(|last| b",[{".contains(&self.bytes[last]));
        match brackets.open.last() {
            Some((b'[', _)) if below.is_key() => true,
            Some((b'{', _)) if below.is_key() => !goes_on,
            _ => below.is_heading() && !goes_on,
        }
    }

    /// Whether a key and its sign of equality stand here.
    fn is_key(&self) -> bool {
        let line = &self.bytes[self.at..self.end_of_line(self.at)];
        let name = line.iter().position(|byte| !is_of_key(*byte)).unwrap_or(line.len());
        name > 0 && line[name..].trim_ascii_start().starts_with(b"=")
    }

    /// Whether a name in brackets stands here, and nothing else in the line.
    fn is_heading(&self) -> bool {
        let line = self.bytes[self.at..self.end_of_line(self.at)].trim_ascii_end();
        let inner = line.strip_prefix(b"[[").and_then(|line| line.strip_suffix(b"]]"));
        let inner = inner.or_else(|| line.strip_prefix(b"[").and_then(|line| line.strip_suffix(b"]")));
        inner.is_some_and(|inner| !inner.is_empty() && inner.iter().all(|byte| is_of_key(*byte)))
    }
}

/// Whether a sign may stand in a key that is not quoted whole.
fn is_of_key(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || b"-_.".contains(&byte)
}

/// The brackets of one statement.
#[derive(Default)]
struct Brackets {
    /// Those that are open, with their places.
    open: Vec<(u8, usize)>,
    /// The last sign that was no space.
    last: Option<usize>,
    /// The first sign within the innermost bracket.
    first: Option<usize>,
    /// The sign before the last comma within the innermost bracket.
    before_comma: Option<usize>,
    unmatched: Option<Unmatched>,
}

impl Brackets {
    fn take(&mut self, byte: u8, at: usize) {
        match byte {
            b' ' | b'\t' | b'\r' | b'\n' => return,
            b'[' | b'{' => {
                self.open.push((byte, at));
                (self.first, self.before_comma) = (None, None);
            }
            b']' | b'}' => self.close(byte, at),
            b',' => self.before_comma = self.last,
            b'=' if self.open.last().is_some_and(|(opener, _)| *opener == b'[') => self.key_in_list(),
            _ => {
                self.first.get_or_insert(at);
            }
        }
        self.last = Some(at);
    }

    /// A list holds no keys: it should have ended before the comma that came last, or have begun a table.
    fn key_in_list(&mut self) {
        match (self.before_comma, self.first) {
            (Some(before), _) => self.leave_open(1, Missing::Behind(before)),
            (None, Some(first)) => {
                self.unmatched.get_or_insert(Unmatched::Unopened(first));
                self.open.push((b'{', first));
            }
            (None, None) => {}
        }
    }

    fn close(&mut self, closer: u8, at: usize) {
        let depth = self.open.iter().rev().position(|(opener, _)| closing(*opener) == closer);
        match depth {
            Some(within) => {
                self.leave_open(within, Missing::Before(at));
                self.open.pop();
            }
            None => {
                self.unmatched.get_or_insert(Unmatched::Stray(at));
            }
        }
        self.before_comma = None;
    }

    /// Whatever is still open at the end.
    fn end(&mut self) {
        if let Some(last) = self.last {
            self.leave_open(self.open.len(), Missing::Behind(last));
        }
    }

    /// Takes the innermost brackets off, which nothing closes.
    fn leave_open(&mut self, count: usize, missing: Missing) {
        let left = self.open.split_off(self.open.len() - count);
        if let Some((_, opener)) = left.first() {
            let closers = left.iter().rev().map(|(opener, _)| char::from(closing(*opener))).collect();
            let opener = *opener;
            self.unmatched.get_or_insert(Unmatched::Open { opener, closers, missing });
        }
    }
}

/// The bracket that closes another.
fn closing(opener: u8) -> u8 {
    if opener == b'[' { b']' } else { b'}' }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The text of each statement, and of the one whose brackets do not match what is missing where.
    fn told(text: &str) -> (Vec<&str>, Vec<String>) {
        let all = statements(text);
        let missing = all.iter().filter_map(|one| {
            let sign = |at: usize| &text[at..=at];
            Some(match one.unmatched.as_ref()? {
                Unmatched::Open { closers, missing: Missing::Behind(at), .. } => {
                    format!("{closers} behind {}{}", &text[at - 1..*at], sign(*at))
                }
                Unmatched::Open { closers, missing: Missing::Before(at), .. } => {
                    format!("{closers} before {}", &text[*at..])
                }
                Unmatched::Stray(at) => format!("stray {}", sign(*at)),
                Unmatched::Unopened(at) => format!("{{ before {}", sign(*at)),
            })
        });
        let missing = missing.collect();
        (all.iter().map(|one| &text[one.span.clone()]).collect(), missing)
    }

    #[test]
    fn sound_statements_are_told_apart_over_lines_comments_and_texts() {
        let text = "# a = [\na = 1 # ]\n\n[b.c]\nd = [ # [\n  { e = \"]\", f = ']' },\n  [1, 2],\n]\ng = \"\"\"\n[\n\"\"\"\nh\n";
        let (all, missing) = told(text);
        assert_eq!(missing, Vec::<String>::new());
        assert_eq!(all.len(), 5, "{all:?}");
        assert!(all[2].starts_with("d = [") && all[2].ends_with(']'), "{all:?}");
        assert!(all[3].starts_with("g = ") && all[3].ends_with("\"\"\""), "{all:?}");
        assert_eq!(all[4], "h");
    }

    #[test]
    fn a_bracket_left_open_ends_where_the_next_statement_begins() {
        for (text, missing) in [
            ("a = [{ b = 1 }\nc = [2]\n", "] behind  }"),
            ("a = [{ b = 1 ]\nc = [2]\n", "} before ]\nc = [2]\n"),
            ("a = [1, 2\n\n[c]\nd = 1\n", "] behind  2"),
            ("a = { b = \"x\"\n[[c]]\n", "} behind x\""),
            ("a = [{ b = 1\nc = [2]\n", "}] behind  1"),
            ("a = [{ b = [\"x\", c = 2 }]\nd = 1\n", "] behind x\""),
            ("a = 1]\nc = 2\n", "stray ]"),
            ("a = [ b = 1, c = 2 }]\nd = 1\n", "{ before b"),
        ] {
            let (all, told) = told(text);
            assert_eq!(told, [missing], "{text}");
            assert!(!all[0].contains('\n'), "{all:?}");
        }
    }

    /// What only looks odd is left to the parser, and any bytes are walked to the end.
    #[test]
    fn texts_that_do_not_end_and_stray_signs_hide_no_line_below() {
        let (all, missing) = told("a = \"b\n[c\nd = 'e]\nf = \"\"\"g\nh = [= 1]\n=\nü = 1");
        assert_eq!(missing, Vec::<String>::new());
        assert_eq!(all.len(), 7, "{all:?}");
    }
}
