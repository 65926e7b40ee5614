//! Texts that must be written one way, since rules compare them letter by letter: a code or a name that is
//! written otherwise would match nothing without a word.

use serde::{Deserialize, Serialize};

use super::region;

/// What a text must look like.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum TextForm {
    /// Anything.
    #[default]
    Any,
    /// A country and its state or province, as ISO 3166-2 writes them.
    Region,
    /// The name of a county or district, alone.
    County,
}

/// What is wrong with a text.
pub struct TextFault {
    /// Code of the finding.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// What would mend it.
    pub help: String,
}

/// What people add to the name of a county.
const ADDED: [&str; 5] = [" county", " co.", " parish", " borough", " district"];

impl TextForm {
    /// The forms by the names that the vocabulary gives them.
    pub const NAMES: &[(&str, Self)] = &[("region", Self::Region), ("county", Self::County)];

    /// Why a text has not this form; nothing where it has.
    #[must_use]
    pub fn fault(self, text: &str) -> Option<TextFault> {
        match self {
            Self::Any => None,
            Self::Region => {
                let (message, help) = region::fault(text)?;
                Some(TextFault { code: "not-a-region", message, help })
            }
            Self::County => {
                let name = county_alone(text);
                let fault = |name: String| TextFault {
                    code: "not-a-county",
                    message: format!("`{text}` is not the name of a county alone"),
                    help: format!("write \"{name}\""),
                };
                (name != text).then(|| fault(name))
            }
        }
    }

    /// The form in words, for one text.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Any => "text",
            Self::Region => "a code of ISO 3166-2, such as US-TX",
            Self::County => "the name of a county alone, such as Washington",
        }
    }

    /// The form in words, for a list of texts.
    #[must_use]
    pub fn words_of_list(self) -> &'static str {
        match self {
            Self::Any => "a list of texts",
            Self::Region => "a list of codes of ISO 3166-2, such as US-TX",
            Self::County => "a list of names of counties alone, such as Washington",
        }
    }

    /// What an editor can check of it: a pattern of JSON Schema.
    #[must_use]
    pub fn pattern(self) -> Option<&'static str> {
        match self {
            Self::Region => Some("^[A-Z]{2}-[A-Z0-9]{1,3}$"),
            Self::Any | Self::County => None,
        }
    }
}

/// The name of a county without what is added to it, in the letters of a name.
fn county_alone(text: &str) -> String {
    let lower = text.to_lowercase();
    let added = ADDED.iter().find(|added| lower.ends_with(**added)).map_or(0, |added| added.len());
    // an added word is ASCII, so that its length counts the same in both
    let name = text.get(..text.len() - added).unwrap_or(text).trim();
    if name.chars().any(char::is_uppercase) && name.chars().any(char::is_lowercase) {
        return name.to_owned();
    }
    let capital = |word: &str| {
        let mut letters = word.chars();
        let first = letters.next().into_iter().flat_map(char::to_uppercase);
        first.chain(letters.flat_map(char::to_lowercase)).collect::<String>()
    };
    let words = name.split_whitespace().enumerate().map(|(at, word)| match word.to_lowercase().as_str() {
        small @ ("of" | "the" | "and" | "de" | "del") if at > 0 => small.to_owned(),
        _ => capital(word),
    });
    words.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::TextForm;

    #[test]
    fn a_county_is_named_alone() {
        let help = |text: &str| TextForm::County.fault(text).map(|fault| fault.help);
        assert_eq!(help("Washington"), None);
        assert_eq!(help("San Juan"), None);
        assert_eq!(help("DeKalb"), None);
        for (text, name) in [
            ("Washington County", "Washington"),
            ("washington", "Washington"),
            ("SAN JUAN COUNTY", "San Juan"),
            ("prince of wales", "Prince of Wales"),
            ("East Baton Rouge Parish", "East Baton Rouge"),
        ] {
            assert_eq!(help(text), Some(format!("write \"{name}\"")), "{text}");
        }
    }

    #[test]
    fn a_region_is_a_code() {
        let code = |text: &str| TextForm::Region.fault(text).map(|fault| fault.code);
        assert_eq!(code("US-KS"), None);
        for text in ["Kansas", "KS", "us-ks", "USKS", "US-KX"] {
            assert_eq!(code(text), Some("not-a-region"), "{text}");
        }
    }
}
