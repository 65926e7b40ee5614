//! `swardwright explain SITE SPECIES`

use std::path::Path;

use super::common::{AnswerOptions, KnowledgeOptions, Printed, SampleOptions, assess_file};
use swardwright::diag::Findings;
use swardwright::report::{ExplainOptions, explain_text};
use swardwright::unknown_species;

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
    samples: SampleOptions,
    #[command(flatten)]
    answer: AnswerOptions,
    #[command(flatten)]
    knowledge: KnowledgeOptions,
}

/// Runs the command.
pub fn run(args: &Args) -> Result<Printed, Findings> {
    let (mut assessment, warnings) = assess_file(&args.site, &args.knowledge).map_err(|mut findings| {
        if !Path::new(&args.site).exists() && Path::new(&args.species).is_file() {
            let help = "the site file comes first, then the species".to_owned();
            findings.iter_mut().for_each(|finding| finding.help = Some(help.clone()));
        }
        findings
    })?;
    let knowledge = assessment.knowledge;
    let named = knowledge.species_by_any_name(&args.species);
    let Some(species) = named else {
        return Err(vec![unknown_species(&args.species, knowledge)]);
    };
    if assessment.candidate(&species.id).is_none() {
        // a species that the site file leaves out is explained all the same
        assessment.add(species);
    }
    args.samples.draw(&mut assessment);
    let options = ExplainOptions { all: args.all, months: args.months };
    let look = args.answer.look(&assessment);
    let text = match assessment.candidate(&species.id) {
        Some(candidate) => explain_text(&assessment, candidate, options, &look),
        None => String::new(),
    };
    Ok(Printed { text, warnings })
}
