//! Text that somebody else wrote, as a terminal can be trusted with it.

use std::borrow::Cow;

/// The text with every character that would move the cursor, turn the direction of reading or hide, written
/// as its code: `\u{202e}`. `keep` are those of them that may stay.
pub fn printable<'a>(text: &'a str, keep: &[char]) -> Cow<'a, str> {
    // nearly every text is plain, which is quicker to tell
    if text.bytes().all(|byte| byte == b' ' || byte.is_ascii_graphic()) {
        return Cow::Borrowed(text);
    }
    let odd = |c: char| is_hidden(c) && !keep.contains(&c);
    if !text.chars().any(odd) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if odd(c) { shown.extend(c.escape_unicode()) } else { shown.push(c) }
    }
    Cow::Owned(shown)
}

/// Controls, marks and overrides of direction, joiners that show nothing, separators of lines.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{2069}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_moves_turns_or_hides_is_written_as_its_code() {
        assert_eq!(printable("Gro\u{df}e Wiese, \u{6c34}", &[]), "Gro\u{df}e Wiese, \u{6c34}");
        assert_eq!(printable("a\u{202e}b\u{1b}[31m", &[]), "a\\u{202e}b\\u{1b}[31m");
        assert_eq!(printable("a\nb\tc", &['\n']), "a\nb\\u{9}c");
    }
}
