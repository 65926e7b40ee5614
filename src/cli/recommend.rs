//! `swardwright recommend SITE`

use super::common::{AnswerOptions, Format, KnowledgeOptions, Printed, SampleOptions, assess_file};
use swardwright::diag::Findings;
use swardwright::report::{Shown, recommend_json, recommend_text};

/// Arguments of `recommend`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright recommend scenarios/hot-dry-lawn/site.toml --top 5
  swardwright recommend site.toml --samples 1000
  swardwright recommend site.toml --format json > answer.json
  swardwright recommend site.toml --overlay county --expect-edition answer.json
  swardwright recommend - < site.toml")]
pub struct Args {
    /// Site file, or - for standard input
    site: String,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Candidates shown with their reasons, 0 for none; in JSON the others stand there without
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u16).range(0..=1000))]
    top: u16,
    /// Show every candidate and every reason
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    samples: SampleOptions,
    /// Refuse to answer with other knowledge: an edition ("0.2.0"), with its digest ("0.2.0 9f3c21ab"), or
    /// the file of an answer in JSON
    #[arg(long, value_name = "EDITION|FILE")]
    expect_edition: Option<String>,
    #[command(flatten)]
    answer: AnswerOptions,
    #[command(flatten)]
    knowledge: KnowledgeOptions,
}

/// Runs the command.
pub fn run(args: &Args) -> Result<Printed, Findings> {
    let (mut assessment, warnings) = assess_file(&args.site, &args.knowledge)?;
    if let Some(expected) = &args.expect_edition {
        super::expected::hold_against(expected, assessment.knowledge)?;
    }
    args.samples.draw(&mut assessment);
    let shown = Shown { top: usize::from(args.top), all: args.all };
    let text = match args.format {
        Format::Text => recommend_text(&assessment, shown, &args.answer.look(&assessment)),
        Format::Json => format!("{:#}\n", recommend_json(&assessment, shown)),
    };
    Ok(Printed { text, warnings })
}
