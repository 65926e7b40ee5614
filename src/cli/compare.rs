//! `swardwright compare SITE SPECIES SPECIES…`

use super::common::{AnswerOptions, KnowledgeOptions, Printed, SampleOptions, assess_file};
use swardwright::diag::{Finding, Findings};
use swardwright::report::compare_text;
use swardwright::unknown_species;

/// Arguments of `compare`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright compare scenarios/hot-dry-lawn/site.toml bouteloua-dactyloides cynodon-dactylon
  swardwright compare site.toml \"tall fescue\" \"Kentucky bluegrass\" --all")]
pub struct Args {
    /// Site file, or - for standard input
    site: String,
    /// Species, two or more, by their ids or common or botanical names
    #[arg(required = true, num_args = 2..)]
    species: Vec<String>,
    /// Show the needs on which they are alike too
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
    let knowledge = assessment.knowledge;
    let mut ids: Vec<&str> = Vec::new();
    let mut unknown = Findings::new();
    for name in &args.species {
        match knowledge.species_by_any_name(name) {
            Some(species) => ids.push(&species.id),
            None => unknown.push(unknown_species(name, knowledge)),
        }
    }
    if !unknown.is_empty() {
        return Err(unknown);
    }
    let first = ids[0];
    if ids.iter().all(|id| *id == first) {
        let message = format!("`{first}` is the only species named");
        return Err(vec![
            Finding::bare("one-species", message).help("name at least one other to compare it with"),
        ]);
    }
    for id in &ids {
        // a species that the site file leaves out is compared all the same
        if let (None, Some(species)) = (assessment.candidate(id), knowledge.species_named(id)) {
            assessment.add(species);
        }
    }
    args.samples.draw(&mut assessment);
    let look = args.answer.look(&assessment);
    Ok(Printed { text: compare_text(&assessment, &ids, args.all, &look), warnings })
}
