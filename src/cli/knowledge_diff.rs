//! `swardwright knowledge diff OLD NEW`

use std::path::{Path, PathBuf};

use super::common::{AnswerOptions, KnowledgeOptions, Outcome, base_text, read_site};
use super::site_files::site_files;
use swardwright::diag::{Findings, nearest};
use swardwright::report::{Look, answer_changes_text, diff_text};
use swardwright::{
    Knowledge, KnowledgeText, UnitSystem, answer_changes, assess, difference, entry_finding, spoken_changes,
};

/// The word for the knowledge inside the program.
const BUILT_IN: &str = "built-in";

/// Arguments of `knowledge diff`.
#[derive(clap::Args)]
pub struct Args {
    /// Folder of the old knowledge, or `built-in`
    old: String,
    /// Folder of the new knowledge, or `built-in`; overlays are laid over this one
    new: String,
    /// Folder with site files, at any depth, or a site file, whose answers are compared too
    #[arg(long, value_name = "DIR|FILE")]
    sites: Option<PathBuf>,
    #[command(flatten)]
    answer: AnswerOptions,
}

/// Runs the command.
pub fn run(args: &Args, options: &KnowledgeOptions) -> Outcome {
    match compare(args, options) {
        Ok((text, findings)) if findings.is_empty() => Outcome::Answered(text.into()),
        Ok((text, findings)) => Outcome::Faults { findings, text },
        Err(findings) => Outcome::Refused(findings),
    }
}

/// The report, and what the new edition lacks.
fn compare(args: &Args, options: &KnowledgeOptions) -> Result<(String, Findings), Findings> {
    let old_text = text(&args.old)?;
    let new_text =
        options.overlay.iter().try_fold(text(&args.new)?, |text, folder| text.with_overlay(folder))?;
    let (old, new) = (Knowledge::load(&old_text)?.0, Knowledge::load(&new_text)?.0);
    let look = args.answer.look_in(UnitSystem::Si);
    let difference = difference((&old_text, &old), (&new_text, &new));
    let mut report = diff_text(&old, &new, &difference, &look);
    if let Some(folder) = &args.sites {
        report.push_str(&answers(folder, &old, &new, &look)?);
    }
    let lacks = [difference.edition_finding(&old, (&new_text, &new)), entry_finding(&old, (&new_text, &new))];
    Ok((report, lacks.into_iter().flatten().collect()))
}

fn text(argument: &str) -> Result<KnowledgeText, Findings> {
    if argument == BUILT_IN {
        return Ok(KnowledgeText::embedded());
    }
    let folder = Path::new(argument);
    base_text(folder).map_err(|findings| {
        // the word misspelt is taken for a folder that is not there
        let is_meant = !folder.exists() && nearest(argument, [BUILT_IN]).is_some();
        let help = || format!("did you mean `{BUILT_IN}`, the knowledge inside the program?");
        let told = findings.into_iter();
        told.map(|finding| if is_meant { finding.help(help()) } else { finding }).collect()
    })
}

/// The answers that change, site by site.
fn answers(folder: &Path, old: &Knowledge, new: &Knowledge, look: &Look) -> Result<String, Findings> {
    let sites = site_files(folder)?;
    let mut text = String::new();
    let (mut changed, mut unanswered) = (0, String::new());
    for path in &sites {
        let source = read_site(&path.display().to_string())?;
        let below = path.strip_prefix(folder).ok().filter(|below| !below.as_os_str().is_empty());
        let shown = below.unwrap_or(path).display().to_string();
        // a file that one of them refuses is told, and does not hide the other answers
        let words = match (assess(&source, old), assess(&source, new)) {
            (Ok((before, _)), Ok((after, _))) => {
                let (moved, spoken) = (answer_changes(&before, &after), spoken_changes(&before, &after));
                answer_changes_text(&shown, &moved, &spoken, look)
            }
            // what neither answers is no answer that changes
            (Err(before), Err(_)) => {
                let first = before.first().map(|one| one.message.as_str()).unwrap_or_default();
                unanswered.push_str(&look.paragraph(2, &format!("{shown}: {first}")));
                continue;
            }
            (before, after) => {
                let refused = |by: &str, findings: &Findings| {
                    let first = findings.first().map(|one| one.message.as_str()).unwrap_or_default();
                    look.paragraph(4, &format!("refused by {by}: {first}"))
                };
                let by_old = before.err().map(|findings| refused("the old", &findings));
                let by_new = after.err().map(|findings| refused("the new", &findings));
                let lines: Vec<String> = [by_old, by_new].into_iter().flatten().collect();
                format!("  {shown}\n{}", lines.concat())
            }
        };
        changed += usize::from(!words.is_empty());
        text.push_str(&words);
    }
    if !unanswered.is_empty() {
        unanswered.insert_str(0, "\nRefused by the old and the new\n");
    }
    Ok(format!("\nAnswers that change ({changed} of {} sites)\n{text}{unanswered}", sites.len()))
}
