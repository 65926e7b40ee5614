//! Text of an expression to tokens.

use std::ops::Range;

use super::slips;
use crate::units::{Unit, unknown_unit_help};

/// A token with its byte range.
#[derive(Clone, Debug, PartialEq)]
pub struct Token {
    /// Byte range in the expression.
    pub span: Range<usize>,
    /// What it is.
    pub kind: TokenKind,
}

/// What a token is.
#[derive(Clone, Debug, PartialEq)]
pub enum TokenKind {
    /// A number, with the unit written behind it.
    Number(f64, Option<&'static Unit>),
    /// Text in single or double quotes.
    Text(String),
    /// A word: a name, a keyword or a function.
    Word(String),
    /// A sign such as `<=` or `(`.
    Sign(&'static str),
    /// The end of the text.
    End,
}

/// A fault with its byte range, its words and perhaps a help.
#[derive(Clone, Debug, PartialEq)]
pub struct ExpressionFault {
    /// Stable code of the finding.
    pub code: &'static str,
    /// Byte range in the expression.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What would mend it.
    pub help: Option<String>,
    /// The name that nothing declares, where that is the fault.
    pub undeclared: Option<String>,
}

impl ExpressionFault {
    /// A fault.
    pub fn new(code: &'static str, span: Range<usize>, message: impl Into<String>) -> Self {
        Self { code, span, message: message.into(), help: None, undeclared: None }
    }

    /// The same with the name that nothing declares.
    pub fn undeclared(mut self, name: impl Into<String>) -> Self {
        self.undeclared = Some(name.into());
        self
    }

    /// The same with a help.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

const SIGNS: [&str; 15] = ["!=", "<=", ">=", "=", "<", ">", "+", "-", "*", "/", "(", ")", "[", "]", ","];
const KEYWORDS: [&str; 8] = ["and", "or", "not", "in", "if", "then", "else", "where"];

/// All tokens of an expression, with an [`TokenKind::End`] behind the last.
pub fn tokenize(text: &str) -> Result<Vec<Token>, ExpressionFault> {
    let mut tokens = Vec::new();
    let mut at = 0;
    while let Some(first) = text[at..].chars().next() {
        let rest = &text[at..];
        let start = at;
        let kind = if first.is_whitespace() {
            at += first.len_utf8();
            continue;
        } else if first.is_ascii_digit() {
            let (number, unit, length) = number_with_unit(rest, start)?;
            at += length;
            TokenKind::Number(number, unit)
        } else if first == '\'' || first == '"' {
            let Some(length) = rest[1..].find(first) else {
                let message = "the text is not closed";
                return Err(ExpressionFault::new("expression-syntax", start..text.len(), message));
            };
            at += length + 2;
            TokenKind::Text(rest[1..=length].to_owned())
        } else if first.is_ascii_alphabetic() || first == '_' {
            let length = word_length(rest);
            at += length;
            TokenKind::Word(rest[..length].to_owned())
        } else if let Some(fault) = slips::foreign_sign(rest, start) {
            return Err(fault);
        } else if let Some(sign) = SIGNS.iter().find(|sign| rest.starts_with(**sign)) {
            at += sign.len();
            TokenKind::Sign(sign)
        } else {
            let span = start..start + first.len_utf8();
            return Err(ExpressionFault::new("expression-syntax", span, format!("unexpected `{first}`")));
        };
        tokens.push(Token { span: start..at, kind });
    }
    tokens.push(Token { span: text.len()..text.len(), kind: TokenKind::End });
    Ok(tokens)
}

/// Letters, digits, `_`, `.` and inner `-`: a minus between two names needs spaces about it.
fn word_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    while end < bytes.len() {
        let byte = bytes[end];
        let joins =
            (byte == b'-' || byte == b'.') && bytes.get(end + 1).is_some_and(u8::is_ascii_alphanumeric);
        if !(byte.is_ascii_alphanumeric() || byte == b'_' || joins) {
            break;
        }
        end += 1;
    }
    end
}

fn number_with_unit(
    text: &str,
    start: usize,
) -> Result<(f64, Option<&'static Unit>, usize), ExpressionFault> {
    let bytes = text.as_bytes();
    let mut end = bytes.iter().take_while(|byte| byte.is_ascii_digit()).count();
    if bytes.get(end) == Some(&b'.') && bytes.get(end + 1).is_some_and(u8::is_ascii_digit) {
        end += 1 + bytes[end + 1..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    }
    let number: f64 = text[..end].parse().unwrap_or(f64::NAN);
    if !number.is_finite() {
        let message = format!("`{}` is no number", &text[..end]);
        return Err(ExpressionFault::new("expression-syntax", start..start + end, message));
    }
    let blanks = text[end..].len() - text[end..].trim_start().len();
    let unit_text = &text[end + blanks..];
    let longest = unit_text
        .find(|c: char| !(c.is_ascii_alphanumeric() || "%/()-".contains(c)))
        .map_or(unit_text, |stop| &unit_text[..stop]);
    // the longest unit that ends at a boundary, so that `30 mm / site.x` still divides
    let unit = Unit::all()
        .iter()
        .filter(|unit| longest.starts_with(unit.name) && !unit.name.starts_with(|c: char| c.is_ascii_digit()))
        .filter(|unit| {
            let behind = longest.as_bytes().get(unit.name.len());
            unit.name.ends_with([')', '%']) || !behind.is_some_and(u8::is_ascii_alphanumeric)
        })
        .max_by_key(|unit| unit.name.len());
    if let Some(unit) = unit {
        return Ok((number, Some(unit), end + blanks + unit.name.len()));
    }
    let word = &longest[..longest.bytes().take_while(u8::is_ascii_alphanumeric).count()];
    // `3 AND …` is told by the parser
    if !word.is_empty() && !KEYWORDS.contains(&word.to_lowercase().as_str()) {
        let span = start + end + blanks..start + end + blanks + word.len();
        let fault = ExpressionFault::new("unknown-unit", span, format!("unknown unit `{word}`"));
        let help = unknown_unit_help(word, None);
        // `6b` is a step that lacks its quotes
        let glued = blanks == 0 && word.len() == 1 && help.starts_with("units are");
        return Err(fault.help(match glued {
            true => format!("a step or a name stands in quotes: '{}{word}'", &text[..end]),
            false => help,
        }));
    }
    Ok((number, None, end))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds(text: &str) -> Vec<TokenKind> {
        tokenize(text).unwrap().into_iter().map(|token| token.kind).collect()
    }

    #[test]
    fn units_are_taken_greedily_up_to_a_boundary() {
        let mm = Unit::named("mm");
        assert_eq!(kinds("30 mm/site.x")[0], TokenKind::Number(30.0, mm));
        assert_eq!(kinds("12 mol/m2/d")[0], TokenKind::Number(12.0, Unit::named("mol/m2/d")));
        assert_eq!(kinds("5 % and")[0], TokenKind::Number(5.0, Unit::named("%")));
        assert_eq!(kinds("2 %/(dS/m)")[0], TokenKind::Number(2.0, Unit::named("%/(dS/m)")));
        assert_eq!(kinds("5 and")[0], TokenKind::Number(5.0, None));
    }

    #[test]
    fn hyphens_join_words_and_spaces_part_them() {
        assert_eq!(kinds("very-severe")[0], TokenKind::Word("very-severe".into()));
        assert_eq!(kinds("a - b")[1], TokenKind::Sign("-"));
    }

    #[test]
    fn an_unknown_unit_is_pointed_at() {
        let fault = tokenize("site.dli < 3 inches").unwrap_err();
        assert_eq!(&"site.dli < 3 inches"[fault.span], "inches");
        assert_eq!(fault.code, "unknown-unit");
    }
}
