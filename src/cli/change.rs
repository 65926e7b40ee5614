//! `swardwright change SITE [SPECIES]`

use super::common::{AnswerOptions, KnowledgeOptions, Printed, SampleOptions, assess_file};
use swardwright::diag::Findings;
use swardwright::report::{change_text, turns_text};
use swardwright::unknown_species;

/// Arguments of `change`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright change scenarios/hot-dry-lawn/site.toml
  swardwright change scenarios/dry-shade-under-trees/site.toml bermudagrass --all")]
pub struct Args {
    /// Site file, or - for standard input
    site: String,
    /// Species, by its id or a common or botanical name; without one, the first choice
    species: Option<String>,
    /// Show every set of changes
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    samples: SampleOptions,
    #[command(flatten)]
    answer: AnswerOptions,
    #[command(flatten)]
    knowledge: KnowledgeOptions,
}

/// Runs the command.
pub fn run(args: &Args) -> Result<Printed, Findings> {
    let (mut assessment, warnings) = assess_file(&args.site, &args.knowledge)?;
    let look = args.answer.look(&assessment);
    let Some(name) = &args.species else {
        return Ok(Printed { text: turns_text(&assessment, &look), warnings });
    };
    let knowledge = assessment.knowledge;
    let Some(species) = knowledge.species_by_any_name(name) else {
        return Err(vec![unknown_species(name, knowledge)]);
    };
    if assessment.candidate(&species.id).is_none() {
        // a species that the site file leaves out may be asked for all the same
        assessment.add(species);
    }
    args.samples.draw(&mut assessment);
    let text = match assessment.candidate(&species.id) {
        Some(candidate) => change_text(&assessment, candidate, args.all, &look),
        None => String::new(),
    };
    Ok(Printed { text, warnings })
}
