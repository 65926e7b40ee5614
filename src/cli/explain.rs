//! `swardwright explain SITE SPECIES`

use super::common::{AnswerOptions, KnowledgeOptions, Outcome, Printed, read_site};
use swardwright::report::{ExplainOptions, explain_text};
use swardwright::{assess, unknown_species};

/// Arguments of `explain`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright explain scenarios/hot-dry-lawn/site.toml bouteloua-dactyloides
  swardwright explain site.toml \"Kentucky bluegrass\" --all")]
pub struct Args {
    /// Site file, or - for standard input
    site: String,
    /// Species, by its id or a common or botanical name
    species: String,
    /// Show the rules that stayed silent too
    #[arg(long)]
    all: bool,
    /// Show temperature, light and water month by month
    #[arg(long)]
    months: bool,
    #[command(flatten)]
    answer: AnswerOptions,
    #[command(flatten)]
    knowledge: KnowledgeOptions,
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
    let (mut assessment, warnings) = assess(&source, knowledge)?;
    let named = knowledge.species_by_any_name(&args.species);
    let Some(species) = named else {
        return Err(vec![unknown_species(&args.species, knowledge.species.iter())]);
    };
    if assessment.candidate(&species.id).is_none() {
        // a species that the site file leaves out is explained all the same
        assessment.add(species);
    }
    let options = ExplainOptions { all: args.all, months: args.months };
    let look = args.answer.look(&assessment);
    let text = match assessment.candidate(&species.id) {
        Some(candidate) => explain_text(&assessment, candidate, options, &look),
        None => String::new(),
    };
    Ok(Printed { text, warnings })
}
