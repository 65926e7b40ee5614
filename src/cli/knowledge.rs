//! `swardwright knowledge …`

use clap::Subcommand;

use super::common::{KnowledgeOptions, Outcome};

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
}

/// Runs the command.
pub fn run(args: Args) -> Outcome {
    match args.action {
        Action::Check => check(&args.options),
    }
}

fn check(options: &KnowledgeOptions) -> Outcome {
    let (knowledge, mut findings) = match options.load() {
        Ok(loaded) => loaded,
        Err(findings) => return Outcome::Faults { findings, text: String::new() },
    };
    findings.extend(swardwright::check_cases(&knowledge));
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
