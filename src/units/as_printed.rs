//! Numbers as print has them, and no file: with a minus sign of its own, or two with a dash between them.

/// The minus sign and the dashes of print.
const DASHES: [char; 5] = ['\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2212}'];

/// The same text with a plain minus, where it begins with one of print before a number.
pub fn with_plain_minus(text: &str) -> Option<String> {
    let rest = text.strip_prefix(DASHES)?;
    rest.starts_with(|c: char| c.is_ascii_digit()).then(|| format!("-{rest}"))
}

/// Both numbers of a text such as `4-6 h`, and the unit behind them.
pub fn two_numbers(text: &str) -> Option<(&str, &str, &str)> {
    let end = |text: &str| text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
    let (low, rest) = text.split_at(end(text));
    let rest = rest.trim_start();
    let rest = (rest.strip_prefix("to ").or_else(|| rest.strip_prefix(['-', '\u{2014}'])))
        .or_else(|| rest.strip_prefix(DASHES))?
        .trim_start();
    let (high, unit) = rest.split_at(end(rest));
    // a third number makes a date of it
    let is_both = low.parse::<f64>().is_ok() && high.parse::<f64>().is_ok() && !unit.starts_with('-');
    is_both.then_some((low, high, unit.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_print_are_known() {
        assert_eq!(with_plain_minus("\u{2212}20 degC").as_deref(), Some("-20 degC"));
        assert_eq!(with_plain_minus("\u{2013}1.5").as_deref(), Some("-1.5"));
        assert_eq!(with_plain_minus("-20"), None);
        assert_eq!(with_plain_minus("\u{2013} none"), None);
        assert_eq!(two_numbers("4-6 h"), Some(("4", "6", "h")));
        assert_eq!(two_numbers("6.0 \u{2013} 7.5"), Some(("6.0", "7.5", "")));
        assert_eq!(two_numbers("10 to 15 cm"), Some(("10", "15", "cm")));
        for none in ["-4", "4e-5", "2026-11-28", "6 in", "4-", "four to six", ""] {
            assert_eq!(two_numbers(none), None, "{none}");
        }
    }
}
