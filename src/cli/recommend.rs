//! `swardwright recommend SITE`

use clap::ValueEnum;

use super::common::{AnswerOptions, KnowledgeOptions, Outcome, Printed, read_site};
use swardwright::assess;
use swardwright::report::{Shown, recommend_json, recommend_text};

/// Arguments of `recommend`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright recommend scenarios/hot-dry-lawn/site.toml --top 5
  swardwright recommend site.toml --format json > answer.json
  swardwright recommend - < site.toml")]
pub struct Args {
    /// Site file, or - for standard input
    site: String,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Candidates shown with their reasons
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u16).range(1..=1000))]
    top: u16,
    /// Show every candidate and every reason
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    answer: AnswerOptions,
    #[command(flatten)]
    knowledge: KnowledgeOptions,
}

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For programs: the contract in schemas/recommend.schema.json
    Json,
}

/// Runs the command.
pub fn run(args: Args) -> Outcome {
    match answer(&args) {
        Ok(printed) => Outcome::Answered(printed),
        Err(findings) => Outcome::Refused(findings),
    }
}

fn answer(args: &Args) -> Result<Printed, swardwright::diag::Findings> {
    let source = read_site(&args.site)?;
    let (knowledge, _) = args.knowledge.load()?;
    let (assessment, warnings) = assess(&source, knowledge)?;
    let text = match args.format {
        Format::Text => {
            let shown = Shown { top: usize::from(args.top), all: args.all };
            recommend_text(&assessment, shown, &args.answer.look(&assessment))
        }
        Format::Json => format!("{:#}\n", recommend_json(&assessment)),
    };
    Ok(Printed { text, warnings })
}
