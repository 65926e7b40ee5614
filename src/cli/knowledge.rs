//! `swardwright knowledge …`

use clap::Subcommand;

use super::common::{AnswerOptions, Format, KnowledgeOptions, Outcome, Printed};
use super::{knowledge_diff, knowledge_new, knowledge_schema, knowledge_table};
use swardwright::diag::{Findings, Severity};
use swardwright::report::{check_json, check_text, show_text, strict_text};
use swardwright::{UnitSystem, check_cases, strict_findings, unrated_needs};

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
    /// swardwright knowledge check --knowledge knowledge --format json;
    /// swardwright knowledge check --strict
    Check {
        /// How findings are written; as JSON they stand in the answer
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
        /// Ask too that values rest on publications: faults where key traits or many values do not,
        /// warnings where more reading would mend a value
        #[arg(long)]
        strict: bool,
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
    /// Prints or exports traits as a table, or reads an edited CSV of entries back
    Table(knowledge_table::Args),
    /// Begins a file for a species, a rule or a source, with every field explained
    ///
    /// Examples: swardwright knowledge new species exampla-repens --output county;
    /// swardwright knowledge new rule light-example-shade; swardwright knowledge new source example-trial-2020
    New(knowledge_new::Args),
    /// Prints the JSON Schema of a kind of file, by which editors complete and check
    ///
    /// Examples: swardwright knowledge schema site;
    /// swardwright knowledge schema species --names --output schemas/species.schema.json
    Schema(knowledge_schema::Args),
}

impl Args {
    /// How findings are written.
    pub fn format(&self) -> Format {
        match self.action {
            Action::Check { format, .. } => format,
            _ => Format::Text,
        }
    }
}

/// Runs the command.
pub fn run(args: &Args) -> Outcome {
    match &args.action {
        Action::Check { format, strict } => check(&args.options, *format, *strict),
        Action::Show { name, answer } => show(&args.options, name, answer).into(),
        Action::Diff(diff) => knowledge_diff::run(diff, &args.options),
        Action::Table(table) => knowledge_table::run(table, &args.options).into(),
        Action::New(new) => knowledge_new::run(new, &args.options).into(),
        Action::Schema(schema) => knowledge_schema::run(schema, &args.options).into(),
    }
}

fn check(options: &KnowledgeOptions, format: Format, strict: bool) -> Outcome {
    let (knowledge, mut findings) = match options.load() {
        Ok((knowledge, mut findings)) => {
            findings.extend(check_cases(knowledge));
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

fn show(options: &KnowledgeOptions, name: &str, answer: &AnswerOptions) -> Result<Printed, Findings> {
    let (knowledge, _) = options.load()?;
    Ok(show_text(knowledge, name, &answer.look_in(UnitSystem::Si))?.into())
}
