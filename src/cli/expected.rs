//! `--expect-edition`: answers of different knowledge are not mixed.

use std::path::Path;

use serde_json::Value as Json;
use swardwright::Knowledge;
use swardwright::diag::{Finding, Findings, read_text};

/// An answer file larger than this is refused.
const LARGEST_ANSWER: u64 = 256 << 20;

/// What an answer was made with: edition, digest as far as it is stated, and overlays where the
/// whole of an answer is at hand.
struct Expected {
    edition: String,
    digest: Option<String>,
    overlays: Option<Vec<String>>,
}

/// Refuses knowledge that is not the one expected: `0.2.0`, `0.2.0 9f3c21ab` as answers print it, or
/// the file of an answer in JSON.
pub fn hold_against(expected: &str, knowledge: &Knowledge) -> Result<(), Findings> {
    let expected = read(expected)?;
    let edition = knowledge.edition.version.to_string();
    let overlays: Vec<String> = knowledge.overlays.iter().map(|overlay| overlay.label()).collect();
    let differs = |what: &str, wanted: &str, own: &str| {
        let message = format!("{what} {wanted} is expected, and this is {own}");
        let help = "answer both with one knowledge: leave out --expect-edition to go on with this one";
        Err(vec![Finding::bare("edition-differs", message).help(help)])
    };
    if expected.edition != edition {
        return differs("edition", &expected.edition, &edition);
    }
    if let Some(digest) = expected.digest.filter(|digest| !knowledge.digest.starts_with(digest.as_str())) {
        return differs("digest", &digest, &knowledge.digest[..digest.len().clamp(8, 64)]);
    }
    let named =
        |overlays: &[String]| if overlays.is_empty() { "none".to_owned() } else { overlays.join(", ") };
    match expected.overlays {
        Some(wanted) if wanted != overlays => differs("overlays:", &named(&wanted), &named(&overlays)),
        _ => Ok(()),
    }
}

fn read(text: &str) -> Result<Expected, Findings> {
    let mut words = text.split_whitespace();
    let (edition, digest) = (words.next().unwrap_or_default(), words.next());
    let is_edition =
        edition.split('.').count() == 3 && edition.split('.').all(|part| part.parse::<u32>().is_ok());
    if is_edition && words.next().is_none() {
        let digest = digest.map(str::to_lowercase);
        if let Some(odd) = digest.as_ref().filter(|own| !is_digest(own)) {
            let message = format!("`{odd}` is no digest: it has at least 8 hexadecimal digits");
            return Err(vec![Finding::bare("bad-edition", message)]);
        }
        return Ok(Expected { edition: edition.to_owned(), digest, overlays: None });
    }
    if !Path::new(text).exists() {
        let message = format!("`{text}` is neither an edition nor the file of an answer");
        let help = "write --expect-edition 0.2.0, --expect-edition \"0.2.0 9f3c21ab\" or the file of an answer in JSON";
        return Err(vec![Finding::bare("bad-edition", message).help(help)]);
    }
    let answer: Option<Json> = serde_json::from_str(&read_text(Path::new(text), LARGEST_ANSWER)?).ok();
    let knowledge = answer.as_ref().map(|answer| &answer["knowledge"]);
    let words = |key: &str| knowledge.and_then(|own| Some(own[key].as_str()?.to_owned()));
    let overlays = knowledge.and_then(|own| own["overlays"].as_array());
    let overlays = overlays.map(|all| all.iter().filter_map(|one| Some(one.as_str()?.to_owned())).collect());
    match (words("edition"), words("digest").filter(|digest| is_digest(digest))) {
        (Some(edition), Some(digest)) => Ok(Expected { edition, digest: Some(digest), overlays }),
        _ => {
            let message =
                format!("{text}: is no answer of `recommend --format json`: it names no edition and digest");
            Err(vec![Finding::bare("bad-edition", message)])
        }
    }
}

/// Whether a text is a digest as far as answers print it, or more of it.
fn is_digest(text: &str) -> bool {
    text.len() >= 8 && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}
