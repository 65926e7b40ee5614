//! `swardwright knowledge …`

use clap::Subcommand;

use super::common::{AnswerOptions, Format, KnowledgeOptions, Outcome, Printed};
use super::{knowledge_check, knowledge_diff, knowledge_new, knowledge_schema, knowledge_table};
use swardwright::UnitSystem;
use swardwright::diag::Findings;
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
    /// Examples: swardwright knowledge check --knowledge knowledge;
    /// swardwright knowledge check --knowledge knowledge --format json;
    /// swardwright knowledge check --strict;
    /// swardwright knowledge check --knowledge knowledge --stamp "salinity of two sedges"
    Check(knowledge_check::Args),
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
    /// Prints or exports traits or the use of rules as a table, or reads an edited CSV of entries back
    Table(knowledge_table::Args),
    /// Begins a file for a species, a rule or a source, with every field explained
    ///
    /// A folder that --overlay names is begun as an overlay where it is none yet.
    /// Examples: swardwright knowledge new species exampla-repens --overlay county;
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
        match &self.action {
            Action::Check(check) => check.format,
            _ => Format::Text,
        }
    }
}

/// Runs the command.
pub fn run(args: &Args) -> Outcome {
    match &args.action {
        Action::Check(check) => knowledge_check::run(check, &args.options),
        Action::Show { name, answer } => show(&args.options, name, answer).into(),
        Action::Diff(diff) => knowledge_diff::run(diff, &args.options),
        Action::Table(table) => knowledge_table::run(table, &args.options).into(),
        Action::New(new) => knowledge_new::run(new, &args.options).into(),
        Action::Schema(schema) => knowledge_schema::run(schema, &args.options).into(),
    }
}

fn show(options: &KnowledgeOptions, name: &str, answer: &AnswerOptions) -> Result<Printed, Findings> {
    let (knowledge, _) = options.load()?;
    Ok(show_text(knowledge, name, &answer.look_in(UnitSystem::Si))?.into())
}
