//! The scaffold of a file with one source.

use super::scaffold::{UNFILLED, comment};
use crate::knowledge::sources::{SourceKind, WEIGHTS_IN_WORDS};

/// The text.
pub fn text(key: &str) -> String {
    let mut text = String::new();
    comment(
        &mut text,
        "",
        "A publication that values and rules rest on. Enter only what you have read, and only values that it states. Several sources may stand in one file, each with its own [key].",
    );
    text.push_str(&format!("\n[{key}]\n"));
    comment(&mut text, "", "publisher or authors, title, number");
    text.push_str(&format!("title = \"{UNFILLED}\"\n\n"));
    let kinds: Vec<&str> = SourceKind::NAMES.iter().map(|(name, _)| *name).collect();
    comment(
        &mut text,
        "",
        &format!(
            "one of: {}. The kind decides how much its values weigh: {WEIGHTS_IN_WORDS}",
            kinds.join(", ")
        ),
    );
    text.push_str(&format!("kind = \"{UNFILLED}\"\n\n"));
    comment(&mut text, "", "take away the `# ` before what is known: year, address, how much of it was read");
    text.push_str("# year = 2020\n# url = \"https://…\"\n# read = \"abstract and tables\"\n");
    text
}
