//! `swardwright knowledge check`

use std::path::Path;

use super::common::{Format, KnowledgeOptions, Outcome, Printed};
use super::write_file::write_all;
use swardwright::diag::{Finding, Findings, Severity};
use swardwright::report::{check_json, check_text, strict_text};
use swardwright::{
    Knowledge, KnowledgeText, check_cases, stamp, strict_findings, unrated_needs, without_digest_conflicts,
};

/// Arguments of `knowledge check`.
#[derive(clap::Args)]
pub struct Args {
    /// How findings are written; as JSON they stand in the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Ask too that values rest on publications: faults where key traits or many values do not,
    /// warnings where more reading would mend a value
    #[arg(long)]
    strict: bool,
    /// Where nothing else is at fault, write the digest of the content into the changelog entry of the
    /// edition in the folder of --knowledge, with these words as a line of what the entry says. The words
    /// may be left out where the entry is stamped for the first time, and after a merge: a conflict of
    /// digests alone is resolved by it
    #[arg(long, value_name = "WHAT CHANGED", num_args = 0..=1, default_missing_value = "", conflicts_with_all = ["strict", "format"])]
    stamp: Option<String>,
    /// Stamp what a merge brought together without words of its own: the lines of both sides tell it
    #[arg(long, requires = "stamp")]
    merge: bool,
}

/// Runs the command.
pub fn run(args: &Args, options: &KnowledgeOptions) -> Outcome {
    match &args.stamp {
        Some(words) => stamp_edition(Stamp { words, merge: args.merge }, options),
        None => check(options, args.format, args.strict),
    }
}

fn check(options: &KnowledgeOptions, format: Format, strict: bool) -> Outcome {
    let (knowledge, mut findings) = match options.load() {
        Ok((knowledge, mut findings)) => {
            findings.extend(check_cases(knowledge));
            // what is at fault cannot be stamped yet
            if findings.iter().all(|finding| finding.severity == Severity::Warning) {
                findings.extend(knowledge.edition.digest_finding(&knowledge.digest));
            }
            (Some(knowledge), findings)
        }
        Err(findings) => (None, findings),
    };
    let mut sound = findings.is_empty();
    let mut text = knowledge.map(check_text).unwrap_or_default();
    if let Some(knowledge) = knowledge {
        let unrated = unrated_needs(knowledge);
        sound &= !strict || unrated.is_empty();
        findings.extend(unrated.into_iter().map(|one| if strict { one } else { one.as_warning() }));
    }
    if let Some(knowledge) = knowledge.filter(|_| strict) {
        let strict = strict_findings(knowledge);
        text.push_str(&strict_text(&strict));
        // warnings of the strict check ask for reading, and refuse nothing
        sound &= strict.findings.iter().all(|finding| finding.severity == Severity::Warning);
        findings.extend(strict.findings);
    }
    // for programs the findings are the answer
    if format == Format::Json {
        text = format!("{:#}\n", check_json(knowledge, &findings));
        findings.clear();
    }
    if sound {
        Outcome::Answered(Printed { text, warnings: findings })
    } else {
        Outcome::Faults { findings, text }
    }
}

/// The file that names the edition.
const EDITION: &str = "edition.toml";

/// What the changelog entry is stamped with.
#[derive(Clone, Copy)]
struct Stamp<'a> {
    /// What changed.
    words: &'a str,
    /// Whether a merge brought the words already.
    merge: bool,
}

fn stamp_edition(with: Stamp<'_>, options: &KnowledgeOptions) -> Outcome {
    let folder = match (&options.knowledge, options.overlay.first()) {
        (_, Some(overlay)) => {
            let message = format!("{}: an overlay has no digest to stamp", overlay.display());
            return refused(
                "digest-of-overlay",
                message,
                "leave --overlay out; the digest is that of the base",
            );
        }
        (None, None) => {
            let message = "the built-in knowledge cannot be changed";
            let help = "name the folder of a knowledge base that is yours: `--knowledge DIR`";
            return refused("built-in-knowledge", message, help);
        }
        (Some(folder), None) => folder,
    };
    match read_and_stamp(with, folder) {
        Ok(text) => Outcome::Answered(text.into()),
        // faults of the content come first: what is stamped must be sound
        Err(findings) => Outcome::Faults { findings, text: String::new() },
    }
}

/// The finding that the content changed, for whoever would stamp it without a word.
fn without_words(finding: Finding) -> Finding {
    let help =
        "say what changed: --stamp \"WHAT CHANGED\"; after a merge of entries that say all, --stamp --merge";
    finding.help(help)
}

fn refused(code: &'static str, message: impl Into<String>, help: &str) -> Outcome {
    Outcome::Refused(vec![Finding::bare(code, message).help(help)])
}

fn read_and_stamp(Stamp { words, merge }: Stamp<'_>, folder: &Path) -> Result<String, Findings> {
    let path = folder.join(EDITION);
    let mut text = KnowledgeText::from_folder(folder)?;
    let file = |text: &KnowledgeText| text.files.iter().find(|file| file.path == EDITION).cloned();
    let before = file(&text);
    let conflict =
        before.as_ref().and_then(|file| Some((file, without_digest_conflicts(&file.source.text)?)));
    let merge = merge || conflict.is_some();
    if let Some((before, whole)) = conflict {
        text = text.with_text(&before.source.path, whole);
    }
    let (knowledge, _) = Knowledge::load(&text)?;
    let faults = check_cases(&knowledge);
    if !faults.is_empty() {
        return Err(faults);
    }
    let edition = &knowledge.edition;
    let changed =
        edition.current().is_some_and(|own| own.digest.as_ref().is_some_and(|own| *own != knowledge.digest));
    if words.trim().is_empty() && changed && !merge {
        return Err(edition.digest_finding(&knowledge.digest).into_iter().map(without_words).collect());
    }
    let version = edition.version.to_string();
    let written = file(&text).map(|file| file.source.text.to_string()).unwrap_or_default();
    let Some(stamped) = stamp(&written, &version, &knowledge.digest, words) else {
        let message = format!("{}: no [[changelog]] is of version {version}", path.display());
        let help = "write each entry of the changelog under a line [[changelog]] of its own";
        return Err(vec![Finding::bare("no-changelog", message).help(help)]);
    };
    let digest = &knowledge.digest[..8];
    if before.is_some_and(|file| *file.source.text == *stamped) {
        return Ok(format!(
            "edition {version} is stamped with digest {digest} already; nothing was written\n"
        ));
    }
    write_all(&[(path.clone(), stamped)])?;
    let mut said = format!("stamped edition {version} with digest {digest} in {}\n", path.display());
    if changed {
        said.push_str(&format!(
            "  where others have edition {version} already, raise `version` with a [[changelog]] of its own instead\n"
        ));
    }
    if words.trim().is_empty() {
        said.push_str("  its changelog entry says what it said: what changed must stand in its `what`\n");
    }
    Ok(said)
}
