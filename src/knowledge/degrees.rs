//! Degrees as people write them: with a letter for the side of the globe, with minutes and seconds.

/// The decimal degrees that a text such as `40 N`, `W 97.5°` or `34°12'30"` means, where it needs rewriting.
pub fn decimal_degrees(text: &str) -> Option<String> {
    let side = |letter: char| "NSEWnsew".contains(letter);
    let (letter, rest) = match text.strip_suffix(side) {
        Some(rest) => (text.chars().last(), rest),
        None => match text.strip_prefix(side) {
            Some(rest) => (text.chars().next(), rest),
            None => (None, text),
        },
    };
    // typographic marks, and their letters on a keyboard
    let words =
        rest.replace("degrees", "°").replace("deg", "°").replace(['′', '’'], "'").replace(['″', '”'], "\"");
    let (below, words) = match words.trim().strip_prefix('-') {
        Some(words) => (true, words),
        None => (false, words.trim()),
    };
    let parts: Vec<&str> =
        words.split(['°', '\'', '"', ' ']).map(str::trim).filter(|part| !part.is_empty()).collect();
    if parts.is_empty() || parts.len() > 3 || (letter.is_none() && parts.len() == 1) {
        return None;
    }
    let mut degrees = 0.0;
    for (part, share) in parts.iter().zip([1.0, 60.0, 3600.0]) {
        let digits = part.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let number = part.parse::<f64>().ok().filter(|number| digits && (share == 1.0 || *number < 60.0))?;
        degrees += number / share;
    }
    let opposite = letter.is_some_and(|letter| "SWsw".contains(letter));
    // both a sign and a letter: which of them counts is not for us to say
    if below && letter.is_some() {
        return None;
    }
    let sign = if (opposite || below) && degrees > 0.0 { "-" } else { "" };
    Some(format!("{sign}{}", (degrees * 1e4).round() / 1e4))
}

#[cfg(test)]
mod tests {
    use super::decimal_degrees;

    #[test]
    fn as_people_write_them() {
        let meant = |text: &str| decimal_degrees(text).unwrap_or_else(|| "nothing".to_owned());
        for (text, degrees) in [
            ("34.2N", "34.2"),
            ("W 97.5°", "-97.5"),
            ("34°12'", "34.2"),
            ("-84° 18' 36\"", "-84.31"),
            ("84°18′36″ W", "-84.31"),
            ("40 deg 30 N", "40.5"),
            // nothing to rewrite, or nothing that is an angle
            ("34.2", "nothing"),
            ("34.2 deg", "nothing"),
            ("-12 S", "nothing"),
            ("34°72'", "nothing"),
            ("34 m", "nothing"),
            ("N", "nothing"),
            ("1 2 3 4", "nothing"),
            ("", "nothing"),
        ] {
            assert_eq!(meant(text), degrees, "{text}");
        }
    }
}
