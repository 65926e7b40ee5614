//! The id of a species, a rule or whatever else has a file of its own.

use crate::diag::{Finding, Findings, Place, Source};
use crate::document::Node;

/// The id, which must be lower-case words joined by hyphens, and the stem of its file.
pub(super) fn file_id(
    source: &Source,
    node: Option<&Node>,
    place: &Place,
    findings: &mut Findings,
) -> Option<String> {
    let id = node?.as_text().unwrap_or_default();
    let stem = source.path.rsplit(['/', '\\']).next().and_then(|name| name.strip_suffix(".toml"));
    let meant = id_meant(id);
    if meant != id {
        let message = format!(
            "`{id}` is no id: an id is lower-case words of letters a to z and digits, joined by hyphens"
        );
        let help = match stem {
            _ if meant.is_empty() => "write one such as `id = \"exampla-repens\"`".to_owned(),
            Some(stem) if stem != meant => {
                format!("write `id = \"{meant}\"` and call the file `{meant}.toml`")
            }
            _ => format!("write `id = \"{meant}\"`"),
        };
        findings.push(Finding::error("bad-id", place, message).help(help));
        return None;
    }
    if let Some(stem) = stem.filter(|stem| *stem != id) {
        let message = format!("`{id}` stands in a file called `{stem}.toml`");
        let rename = format!("rename the file to `{id}.toml`");
        let help =
            if id_meant(stem) == stem { format!("write `id = \"{stem}\"` or {rename}") } else { rename };
        findings.push(Finding::error("id-unlike-file", place, message).help(help));
        return None;
    }
    Some(id.to_owned())
}

/// The id that a text was meant to be: its letters a to z and digits in lower-case words joined by hyphens. Text of
/// that form is left as it is.
pub fn id_meant(text: &str) -> String {
    let lower = text.to_lowercase().replace('\u{d7}', "x");
    let words: Vec<&str> =
        lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
    words.join("-")
}
