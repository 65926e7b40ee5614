//! The code of a site's country and state, as rules of law and of native plants compare it.

use super::region_codes::{AUSTRALIA, CANADA, COUNTRIES, UNITED_STATES};

/// A country whose states or provinces are known, with what they are called and an example.
struct Divided {
    country: &'static str,
    name: &'static str,
    parts: &'static [(&'static str, &'static str)],
    called: &'static str,
    example: &'static str,
}

/// Lists of law and of native plants are kept by the states and provinces of these.
const DIVIDED: [Divided; 3] = [
    Divided {
        country: "US",
        name: "the United States",
        parts: &UNITED_STATES,
        called: "state, district or territory",
        example: "write the two letters of its postal code, such as `US-TX` for Texas",
    },
    Divided {
        country: "AU",
        name: "Australia",
        parts: &AUSTRALIA,
        called: "state or territory",
        example: "write it as ISO 3166-2 does, such as `AU-NSW` for New South Wales",
    },
    Divided {
        country: "CA",
        name: "Canada",
        parts: &CANADA,
        called: "province or territory",
        example: "write the two letters of its postal code, such as `CA-ON` for Ontario",
    },
];

/// Codes that people write, and the one that ISO 3166-1 has.
const MISTAKEN: [(&str, &str); 3] = [("UK", "GB"), ("EN", "GB"), ("EL", "GR")];

/// Why a text is no region, and what would mend it; nothing where it is one.
///
/// The country is held against ISO 3166-1, and the subdivision against ISO 3166-2 for those countries
/// whose subdivisions are known here; of others its form alone.
pub fn fault(text: &str) -> Option<(String, String)> {
    let Some((country, part)) = text.split_once('-').filter(|_| has_form_of_iso_3166(text)) else {
        let message = format!("`{text}` is no code of a country and its state or province");
        let help = match meant(text) {
            Some((code, name)) => format!("write `{code}` for {name}, as ISO 3166-2 does"),
            None => {
                "write it as ISO 3166-2 does, such as `US-TX` for Texas or `CA-ON` for Ontario".to_owned()
            }
        };
        return Some((message, help));
    };
    if COUNTRIES.binary_search(&country).is_err() {
        let message = format!("`{country}` is no code of a country in ISO 3166-1");
        let help = match MISTAKEN.iter().find(|(wrong, _)| *wrong == country) {
            Some((_, right)) => format!("the code is `{right}`"),
            None => {
                "write the two letters of the country, such as US, CA, AU or GB, before the hyphen".into()
            }
        };
        return Some((message, help));
    }
    let divided = DIVIDED.iter().find(|one| one.country == country)?;
    if divided.parts.iter().any(|(code, _)| *code == part) {
        return None;
    }
    let message = format!("`{text}` is no {} of {}", divided.called, divided.name);
    let help = nearest(part, divided.parts).map_or_else(
        || divided.example.to_owned(),
        |(code, name)| format!("the nearest code is `{country}-{code}` ({name})"),
    );
    Some((message, help))
}

/// The code and name of the one state or province that a name, a bare code or a code in small letters means.
fn meant(text: &str) -> Option<(String, &'static str)> {
    let upper = text.trim().to_uppercase();
    let parts = DIVIDED.iter().flat_map(|one| one.parts.iter().map(move |part| (one.country, part)));
    let mut fits = parts.filter(|(country, (code, name))| {
        [*code, &*name.to_uppercase()].contains(&&*upper) || upper == format!("{country}-{code}")
    });
    let (country, (code, name)) = fits.next()?;
    // WA is a state of two countries
    fits.next().is_none().then(|| (format!("{country}-{code}"), *name))
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
fn nearest(part: &str, among: &[(&'static str, &'static str)]) -> Option<(&'static str, &'static str)> {
    let shares = |code: &str| part.chars().any(|letter| code.contains(letter));
    let rank = |code: &str, name: &str| {
        let whole = name.to_uppercase().starts_with(part);
        let begins = code.chars().next() == part.chars().next();
        (!whole, strsim::damerau_levenshtein(part, code), !begins)
    };
    among
        .iter()
        .copied()
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
        assert!(COUNTRIES.is_sorted_by(|a, b| a < b));
        assert!(DIVIDED.iter().all(|one| one.parts.is_sorted_by(|a, b| a.0 < b.0)));
        assert!(DIVIDED.iter().all(|one| COUNTRIES.contains(&one.country)));
        assert!(
            MISTAKEN.iter().all(|(wrong, right)| !COUNTRIES.contains(wrong) && COUNTRIES.contains(right))
        );
    }

    #[test]
    fn a_country_that_is_none_and_a_part_that_it_has_not_are_refused() {
        for (wrong, help) in [
            ("XX-YY", "US, CA, AU or GB"),
            ("UK-ENG", "the code is `GB`"),
            ("AU-NS", "`AU-NSW` (New South Wales)"),
            ("AU-XYZ", "such as `AU-NSW`"),
            ("CA-QUE", "`CA-QC` (Quebec)"),
            ("Kansas", "write `US-KS` for Kansas"),
            ("us-ks", "write `US-KS` for Kansas"),
            ("ON", "write `CA-ON` for Ontario"),
            // a state of two countries, so that nobody can say which
            ("WA", "such as `US-TX` for Texas"),
        ] {
            assert!(fault(wrong).unwrap().1.contains(help), "{wrong}: {:?}", fault(wrong));
        }
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
