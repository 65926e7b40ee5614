//! What `knowledge check` answers, and findings as a document for programs.

use serde_json::{Value as Json, json};

use crate::diag::{Finding, render_json};
use crate::knowledge::Knowledge;
use crate::knowledge::overlay::Overlay;
use crate::knowledge::strict::{LARGEST_SHARE, Strict, share};

/// Version of the contract `schemas/findings.schema.json`.
const SCHEMA: u32 = 1;

/// What was checked, in one line.
pub fn check_text(knowledge: &Knowledge) -> String {
    let overlays: String =
        knowledge.overlays.iter().map(|overlay| format!(", overlay {}", overlay.label())).collect();
    format!(
        "knowledge {} {}{overlays}: {} species, {} rules with {} cases, {} sources\n",
        knowledge.edition.version,
        &knowledge.digest[..8],
        knowledge.species.len(),
        knowledge.rules.len(),
        cases(knowledge),
        knowledge.sources.len(),
    )
}

/// What the strict check counted, each with what it may be.
pub fn strict_text(strict: &Strict) -> String {
    let Strict { coverage, key_on_practice, trade_alone, uncited, .. } = strict;
    let all = coverage.known();
    let most = LARGEST_SHARE * 100.0;
    let line = |count: usize, words: &str, limit: &str| {
        format!("  {count:>5} of {all}, {:>4.1} %, {words}{limit}\n", share(count, all))
    };
    let mut text = String::from("strict: values of traits by what stands behind them\n");
    text.push_str(&line(coverage.published, "a publication", ""));
    text.push_str(&line(coverage.trade, "trade pages alone", ""));
    text.push_str(&line(coverage.practice, "common practice", &format!(" (at most {most:.0} %)")));
    text.push_str(&line(coverage.memory, "memory", &format!(" (at most {most:.0} %; of key traits none)")));
    text.push_str(&format!(
        "  warnings: {key_on_practice} key traits on common practice, {trade_alone} values on trade pages \
         though a better source may say, {uncited} sources that nothing cites\n"
    ));
    text
}

/// What was checked, where it could be read, with all findings.
pub fn check_json(knowledge: Option<&Knowledge>, findings: &[Finding]) -> Json {
    let checked = knowledge.map(|knowledge| {
        json!({
            "edition": knowledge.edition.version.to_string(),
            "digest": knowledge.digest,
            "overlays": knowledge.overlays.iter().map(Overlay::label).collect::<Vec<_>>(),
            "species": knowledge.species.len(),
            "rules": knowledge.rules.len(),
            "cases": cases(knowledge),
            "sources": knowledge.sources.len(),
        })
    });
    json!({ "schema": SCHEMA, "knowledge": checked, "findings": render_json(findings) })
}

/// Findings alone: why an input was refused, or what is worth a word about it.
pub fn findings_json(findings: &[Finding]) -> Json {
    json!({ "schema": SCHEMA, "findings": render_json(findings) })
}

fn cases(knowledge: &Knowledge) -> usize {
    knowledge.rules.iter().map(|rule| rule.cases.len()).sum()
}
