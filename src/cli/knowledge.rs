//! `swardwright knowledge …`

use clap::Subcommand;

use super::common::{AnswerOptions, KnowledgeOptions, Outcome};
use swardwright::UnitSystem;
use swardwright::report::show_text;

/// Arguments of `knowledge`.
#[derive(clap::Args)]
pub struct Args {
    #[command(subcommand)]
    action: Action,
    #[command(flatten)]
    options: KnowledgeOptions,
}

#[derive(Subcommand)]
enum Action {
    /// Checks every file, and runs the cases of every rule
    ///
    /// Example: swardwright knowledge check --knowledge knowledge
    Check,
    /// Shows a species, a rule, a trait or fact, a need, a table or a source
    ///
    /// Examples: swardwright knowledge show cynodon-dactylon;
    /// swardwright knowledge show shade_class; swardwright knowledge show light-against-class
    Show {
        /// Its name
        name: String,
        #[command(flatten)]
        answer: AnswerOptions,
    },
}

/// Runs the command.
pub fn run(args: Args) -> Outcome {
    match args.action {
        Action::Check => check(&args.options),
        Action::Show { name, answer } => show(&args.options, &name, &answer),
    }
}

fn check(options: &KnowledgeOptions) -> Outcome {
    let (knowledge, mut findings) = match options.load() {
        Ok(loaded) => loaded,
        Err(findings) => return Outcome::Faults { findings, text: String::new() },
    };
    findings.extend(swardwright::check_cases(knowledge));
    let cases: usize = knowledge.rules.iter().map(|rule| rule.cases.len()).sum();
    let text = format!(
        "knowledge {} {}: {} species, {} rules with {cases} cases, {} sources\n",
        knowledge.edition.version,
        &knowledge.digest[..8],
        knowledge.species.len(),
        knowledge.rules.len(),
        knowledge.sources.len(),
    );
    if findings.is_empty() { Outcome::Answered(text.into()) } else { Outcome::Faults { findings, text } }
}

fn show(options: &KnowledgeOptions, name: &str, answer: &AnswerOptions) -> Outcome {
    let (knowledge, _) = match options.load() {
        Ok(loaded) => loaded,
        Err(findings) => return Outcome::Refused(findings),
    };
    match show_text(knowledge, name, &answer.look_in(UnitSystem::Si)) {
        Ok(text) => Outcome::Answered(text.into()),
        Err(findings) => Outcome::Refused(findings),
    }
}
