//! `swardwright knowledge …`

use clap::Subcommand;

use super::common::{AnswerOptions, Format, KnowledgeOptions, Outcome, Printed};
use super::knowledge_diff;
use swardwright::diag::Findings;
use swardwright::report::{check_json, check_text, show_text};
use swardwright::{UnitSystem, check_cases};

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
    /// Examples: swardwright knowledge check --knowledge knowledge;
    /// swardwright knowledge check --knowledge knowledge --format json
    Check {
        /// How findings are written; as JSON they stand in the answer
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
    },
    /// Shows a species, a rule, a trait or fact, a need, a table, a source or a place with a climate
    ///
    /// Examples: swardwright knowledge show cynodon-dactylon;
    /// swardwright knowledge show shade_class; swardwright knowledge show light-against-class
    Show {
        /// Its name
        name: String,
        #[command(flatten)]
        answer: AnswerOptions,
    },
    /// Shows what differs between two knowledge bases, and which answers change by which rule
    ///
    /// Examples: swardwright knowledge diff built-in knowledge --sites scenarios;
    /// swardwright knowledge diff built-in built-in --overlay county --sites scenarios
    Diff(knowledge_diff::Args),
}

impl Args {
    /// How findings are written.
    pub fn format(&self) -> Format {
        match self.action {
            Action::Check { format } => format,
            Action::Show { .. } | Action::Diff(_) => Format::Text,
        }
    }
}

/// Runs the command.
pub fn run(args: &Args) -> Outcome {
    match &args.action {
        Action::Check { format } => check(&args.options, *format),
        Action::Show { name, answer } => show(&args.options, name, answer).into(),
        Action::Diff(diff) => knowledge_diff::run(diff, &args.options).into(),
    }
}

fn check(options: &KnowledgeOptions, format: Format) -> Outcome {
    let (knowledge, findings) = match options.load() {
        Ok((knowledge, mut findings)) => {
            findings.extend(check_cases(knowledge));
            (Some(knowledge), findings)
        }
        Err(findings) => (None, findings),
    };
    let sound = findings.is_empty();
    // for programs the findings are the answer
    let (text, findings) = match format {
        Format::Text => (knowledge.map(check_text).unwrap_or_default(), findings),
        Format::Json => (format!("{:#}\n", check_json(knowledge, &findings)), Findings::new()),
    };
    if sound { Outcome::Answered(text.into()) } else { Outcome::Faults { findings, text } }
}

fn show(options: &KnowledgeOptions, name: &str, answer: &AnswerOptions) -> Result<Printed, Findings> {
    let (knowledge, _) = options.load()?;
    Ok(show_text(knowledge, name, &answer.look_in(UnitSystem::Si))?.into())
}
