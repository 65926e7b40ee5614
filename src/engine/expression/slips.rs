//! What people write who know other languages, or whose editor turns quotation marks, and how it is
//! said here.

use super::lexer::{ExpressionFault, TokenKind};

/// Signs of other languages with the ones that are meant; longer ones first.
const FOREIGN: [(&str, &str); 21] = [
    ("&&", "and"),
    ("||", "or"),
    ("==", "="),
    ("<>", "!="),
    ("=<", "<="),
    ("=>", ">="),
    ("**", "*"),
    ("\u{b0}C", "degC"),
    ("\u{b0}F", "degF"),
    ("\u{b0}", "deg"),
    ("&", "and"),
    ("|", "or"),
    ("\u{2264}", "<="),
    ("\u{2265}", ">="),
    ("\u{2260}", "!="),
    ("\u{2212}", "-"),
    ("\u{2013}", "-"),
    ("\u{2014}", "-"),
    ("\u{d7}", "*"),
    ("\u{f7}", "/"),
    ("!", "not"),
];

/// Quotation marks that print shops use.
const TURNED_QUOTES: [char; 12] = [
    '\u{2018}', '\u{2019}', '\u{201a}', '\u{201b}', '\u{201c}', '\u{201d}', '\u{201e}', '\u{201f}', '\u{ab}',
    '\u{bb}', '\u{2039}', '\u{203a}',
];

/// The fault of a sign that the rule language does not have, with the one that does the same.
pub fn foreign_sign(rest: &str, start: usize) -> Option<ExpressionFault> {
    let fault = |length: usize, message: String, help: String| {
        Some(ExpressionFault::new("expression-syntax", start..start + length, message).help(help))
    };
    let first = rest.chars().next()?;
    if TURNED_QUOTES.contains(&first) || first == '`' {
        let inner = &rest[first.len_utf8()..];
        let end = inner.find(|c: char| TURNED_QUOTES.contains(&c) || "`'\"".contains(c));
        let word = end.map_or("…", |end| &inner[..end]);
        let message = format!("{first} is no quotation mark here");
        return fault(first.len_utf8(), message, format!("write straight ones: '{word}'"));
    }
    let (sign, meant) = FOREIGN.iter().find(|(sign, _)| rest.starts_with(sign) && !rest.starts_with("!="))?;
    let help = if *meant == "=" { "write a single `=`".to_owned() } else { format!("write `{meant}`") };
    fault(sign.len(), format!("`{sign}` is not used here"), help)
}

/// What mends a token that stands where an operator or the end is wanted; `before` and `after` are
/// its neighbours.
pub fn instead_of_operator(
    token: &TokenKind,
    before: Option<&TokenKind>,
    after: Option<&TokenKind>,
) -> String {
    const COMPARISONS: [&str; 6] = ["=", "!=", "<", "<=", ">", ">="];
    match token {
        TokenKind::Word(word) => match word.to_lowercase().as_str() {
            lower @ ("and" | "or" | "not" | "in" | "then" | "else") => {
                return format!("write `{lower}` in lower case");
            }
            "is" | "equals" | "are" => return "write `=`".to_owned(),
            "between" => return "write both ends: `x >= 6 and x <= 7`".to_owned(),
            "contains" | "includes" | "has" => {
                return "the name comes first: `'seed' in species.methods`".to_owned();
            }
            _ => {}
        },
        TokenKind::Sign(",") => {
            if let (Some(TokenKind::Number(whole, _)), Some(TokenKind::Number(part, unit))) = (before, after)
            {
                let unit = unit.map(|unit| format!(" {}", unit.name)).unwrap_or_default();
                return format!("decimals stand behind a point: {whole}.{part}{unit}");
            }
        }
        TokenKind::Sign(sign) if COMPARISONS.contains(sign) => {
            return "one comparison at a time: `6 < x and x < 7`".to_owned();
        }
        _ => {}
    }
    "between two parts stand and, or, =, !=, <, <=, >, >=, in, not in, +, -, * or /".to_owned()
}

#[cfg(test)]
mod tests {
    use super::super::parser::parse;

    #[test]
    fn each_slip_is_told_what_is_written_here() {
        for (written, at, help) in [
            ("a.x && b.y", "&&", "write `and`"),
            ("a.x || b.y", "||", "write `or`"),
            ("a.x == 3", "==", "write a single `=`"),
            ("!a.x", "!", "write `not`"),
            ("a.x <> 'b'", "<>", "write `!=`"),
            ("a.x \u{2265} 3", "\u{2265}", "write `>=`"),
            ("a.x > 3 \u{b0}C", "\u{b0}C", "write `degC`"),
            ("a.x = \u{2018}clay\u{2019}", "\u{2018}", "write straight ones: 'clay'"),
            ("a.x = 3 AND b.y = 4", "AND", "write `and` in lower case"),
            ("a.x is 3", "is", "write `=`"),
            ("a.x > 7,5", ",", "decimals stand behind a point: 7.5"),
            ("6 < a.x < 7", "<", "one comparison at a time: `6 < x and x < 7`"),
            ("a.x > 6b", "b", "a step or a name stands in quotes: '6b'"),
        ] {
            let fault = parse(written).unwrap_err();
            assert_eq!(&written[fault.span.clone()], at, "{written}");
            let told = fault.help.unwrap_or_default();
            assert!(told.starts_with(help), "{written}: {told}");
        }
        // what is right stays right
        for right in ["a.x != 3", "not a.x", "a.x - b.y", "grade(a.x, none = 1, slight = -2)"] {
            assert!(parse(right).is_ok(), "{right}");
        }
    }
}
