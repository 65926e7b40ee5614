//! The code of a site's country and state, as rules of law and of native plants compare it.

/// Subdivisions of the United States in ISO 3166-2:US where people plant: the states, the federal
/// district and the inhabited territories.
const UNITED_STATES: [(&str, &str); 56] = [
    ("AK", "Alaska"),
    ("AL", "Alabama"),
    ("AR", "Arkansas"),
    ("AS", "American Samoa"),
    ("AZ", "Arizona"),
    ("CA", "California"),
    ("CO", "Colorado"),
    ("CT", "Connecticut"),
    ("DC", "District of Columbia"),
    ("DE", "Delaware"),
    ("FL", "Florida"),
    ("GA", "Georgia"),
    ("GU", "Guam"),
    ("HI", "Hawaii"),
    ("IA", "Iowa"),
    ("ID", "Idaho"),
    ("IL", "Illinois"),
    ("IN", "Indiana"),
    ("KS", "Kansas"),
    ("KY", "Kentucky"),
    ("LA", "Louisiana"),
    ("MA", "Massachusetts"),
    ("MD", "Maryland"),
    ("ME", "Maine"),
    ("MI", "Michigan"),
    ("MN", "Minnesota"),
    ("MO", "Missouri"),
    ("MP", "Northern Mariana Islands"),
    ("MS", "Mississippi"),
    ("MT", "Montana"),
    ("NC", "North Carolina"),
    ("ND", "North Dakota"),
    ("NE", "Nebraska"),
    ("NH", "New Hampshire"),
    ("NJ", "New Jersey"),
    ("NM", "New Mexico"),
    ("NV", "Nevada"),
    ("NY", "New York"),
    ("OH", "Ohio"),
    ("OK", "Oklahoma"),
    ("OR", "Oregon"),
    ("PA", "Pennsylvania"),
    ("PR", "Puerto Rico"),
    ("RI", "Rhode Island"),
    ("SC", "South Carolina"),
    ("SD", "South Dakota"),
    ("TN", "Tennessee"),
    ("TX", "Texas"),
    ("UT", "Utah"),
    ("VA", "Virginia"),
    ("VI", "Virgin Islands"),
    ("VT", "Vermont"),
    ("WA", "Washington"),
    ("WI", "Wisconsin"),
    ("WV", "West Virginia"),
    ("WY", "Wyoming"),
];

/// Why a text is no region, and what would mend it; nothing where it is one.
///
/// The form is held against ISO 3166-2 for every country, the subdivision itself for the United States
/// alone, since lists of law and of native plants in the knowledge are kept by its states.
pub fn fault(text: &str) -> Option<(String, String)> {
    if !has_form_of_iso_3166(text) {
        let message = format!("`{text}` is no code of a country and its state or province");
        let help = "write it as ISO 3166-2 does, such as `US-TX` for Texas or `CA-ON` for Ontario";
        return Some((message, help.to_owned()));
    }
    let part = text.strip_prefix("US-")?;
    if UNITED_STATES.iter().any(|(code, _)| *code == part) {
        return None;
    }
    let message = format!("`{text}` is no state, district or territory of the United States");
    let help = nearest(part).map_or_else(
        || "write the two letters of its postal code, such as `US-TX` for Texas".to_owned(),
        |(code, name)| format!("the nearest code is `US-{code}` ({name})"),
    );
    Some((message, help))
}

/// Two letters, a hyphen, one to three letters or digits.
fn has_form_of_iso_3166(text: &str) -> bool {
    let Some((country, part)) = text.split_once('-') else { return false };
    let is_code = |code: &str| code.bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit());
    let letters = country.bytes().all(|byte| byte.is_ascii_uppercase());
    country.len() == 2 && letters && (1..=3).contains(&part.len()) && is_code(part)
}

/// The code that takes the fewest changes of a letter, where one shares a letter with what was written;
/// among equals one that begins alike, then one whose name begins so (`TEX`, `CAL`), then by the alphabet.
fn nearest(part: &str) -> Option<(&'static str, &'static str)> {
    let shares = |code: &str| part.chars().any(|letter| code.contains(letter));
    let rank = |code: &str, name: &str| {
        let whole = name.to_uppercase().starts_with(part);
        let begins = code.chars().next() == part.chars().next();
        (!whole, strsim::damerau_levenshtein(part, code), !begins)
    };
    UNITED_STATES
        .into_iter()
        .filter(|(code, _)| shares(code))
        .min_by(|a, b| rank(a.0, a.1).cmp(&rank(b.0, b.1)).then_with(|| a.0.cmp(b.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_districts_and_other_countries_pass() {
        for region in ["US-TX", "US-DC", "US-PR", "US-MP", "CA-ON", "AU-NSW", "GB-WLS", "ES-M", "ZA-ZN"] {
            assert_eq!(fault(region), None, "{region}");
        }
    }

    #[test]
    fn the_codes_are_in_order_and_each_stands_once() {
        assert!(UNITED_STATES.windows(2).all(|pair| pair[0].0 < pair[1].0));
    }

    #[test]
    fn an_unknown_subdivision_of_the_united_states_is_told_the_nearest() {
        for (wrong, right) in [
            ("US-ZZ", "US-AZ"),
            ("US-TEX", "US-TX"),
            ("US-CAL", "US-CA"),
            ("US-T", "US-TN"),
            ("US-TT", "US-TN"),
        ] {
            let (message, help) = fault(wrong).unwrap();
            assert!(message.contains(wrong));
            assert!(help.contains(right), "{wrong}: {help}");
        }
        assert!(fault("US-48").unwrap().1.contains("postal code"));
    }

    #[test]
    fn what_has_not_the_form_is_refused() {
        for wrong in ["Utah", "UT", "us-ut", "US_UT", "USA-UT", "US-", "US-ABCD", ""] {
            assert!(fault(wrong).is_some(), "{wrong}");
        }
    }
}
