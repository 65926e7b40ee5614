//! The form of ids: what they are made of, and what a writer most likely meant.

use crate::diag::Finding;
use crate::knowledge::id_meant;

/// The form of one kind of id.
#[derive(Clone, Copy, Debug)]
pub struct IdForm {
    /// What it names, for messages.
    what: &'static str,
    /// Least number of words between hyphens.
    least_words: usize,
    /// An example.
    example: &'static str,
}

/// Species: genus and epithet.
pub const SPECIES: IdForm = IdForm { what: "species", least_words: 2, example: "exampla-repens" };
/// Rules.
pub const RULE: IdForm = IdForm { what: "rule", least_words: 1, example: "light-example-shade" };
/// Sources.
pub const SOURCE: IdForm = IdForm { what: "source", least_words: 1, example: "example-trial-2020" };
/// Overlays.
pub const OVERLAY: IdForm = IdForm { what: "overlay", least_words: 1, example: "example-county" };
/// Folders of rules.
pub const TOPIC: IdForm = IdForm { what: "topic", least_words: 1, example: "light" };

/// Longer ids make file names that some systems refuse.
const LONGEST: usize = 80;

impl IdForm {
    /// The form as a pattern: words of lower-case letters and digits, joined by hyphens. Keys of
    /// sources may begin with a digit, as publications do.
    pub fn pattern(self) -> String {
        format!("^[a-z0-9]+(-[a-z0-9]+){{{},}}$", self.least_words - 1)
    }

    fn fits(self, id: &str) -> bool {
        let has_form = !id.is_empty() && id_meant(id) == id;
        has_form && id.len() <= LONGEST && id.split('-').count() >= self.least_words
    }

    /// The finding that an id has another form, with what was most likely meant.
    pub fn check(self, id: &str) -> Option<Finding> {
        if self.fits(id) {
            return None;
        }
        let stem = id.trim().strip_suffix(".toml").unwrap_or(id.trim());
        let meant = id_meant(stem);
        let is_one_word = !meant.is_empty() && !meant.contains('-');
        // letters beyond a to z would be lost without a word
        let whole = stem.to_lowercase().chars().all(|c| c.is_ascii() || !c.is_alphanumeric());
        let shown: String = id.chars().filter(|c| !c.is_control()).take(LONGEST).collect();
        let what = self.what;
        let help = if whole && self.fits(&meant) {
            format!("did you mean `{meant}`?")
        } else if self.least_words > 1 && is_one_word {
            format!("a {what} id is the whole botanical name, such as `{}`", self.example)
        } else {
            format!(
                "write lower-case letters a to z, digits and single hyphens, {LONGEST} characters at most, such as `{}`",
                self.example
            )
        };
        Some(Finding::bare("bad-id", format!("`{shown}` is no id of a {what}")).help(help))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_form_is_told_with_what_was_meant() {
        let help = |id: &str| SPECIES.check(id).and_then(|finding| finding.help).unwrap_or_default();
        assert!(SPECIES.check("epimedium-x-versicolor").is_none());
        assert_eq!(help("Exampla Repens"), "did you mean `exampla-repens`?");
        assert_eq!(help("exampla_repens.toml"), "did you mean `exampla-repens`?");
        assert_eq!(help("Exampla \u{d7} dubia"), "did you mean `exampla-x-dubia`?");
        assert_eq!(help("../../etc/passwd"), "did you mean `etc-passwd`?");
        assert!(help("exampla").contains("whole botanical name"), "{}", help("exampla"));
        assert!(help("exämpla-repens").starts_with("write lower-case letters"));
        assert!(help("").starts_with("write lower-case letters"));
        assert!(help(&"a-".repeat(60)).contains("80 characters"));
    }
}
