//! `swardwright knowledge table …`

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::ValueEnum;

use super::common::{AnswerOptions, KnowledgeOptions, Printed, read_site};
use super::site_files::site_files;
use super::write_file::{write_all, write_or_give};
use swardwright::diag::{Finding, Findings, Source, read_text};
use swardwright::report::{
    Selection, SiteUse, coverage_csv, coverage_text, entries_csv, import_text, rules_csv, rules_text,
    trait_csv, trait_text,
};
use swardwright::{Knowledge, KnowledgeText, RuleUse, UnitSystem, assess, count_rules, import_entries};

/// Arguments of `knowledge table`.
#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Traits to show; with --species, --kind, --coverage or --entries all of them by default
    #[arg(value_name = "TRAIT", required_unless_present_any = ["species", "kind", "coverage", "entries", "import", "rules"])]
    traits: Vec<String>,
    /// Only this species; may be given several times
    #[arg(long, value_name = "ID", num_args = 1..)]
    species: Vec<String>,
    /// Only this group of plants, such as sedge; may be given several times
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// How the table is written; --entries always writes CSV
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    format: TableFormat,
    /// Write to this file; nothing is printed then
    #[arg(long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Show how far each trait is sourced, from practice, from memory or absent
    #[arg(long)]
    coverage: bool,
    /// Show of each rule in how many pairs of a species with a site it fires, is open and stays silent, and
    /// in how many of its own cases
    #[arg(long, conflicts_with_all = ["coverage", "entries", "traits", "species", "kind"])]
    rules: bool,
    /// Folder with site files, at any depth, or a site file, on which --rules counts; rules that fire in no
    /// pair or in every pair are marked
    // what is required is not asked for where it conflicts with another option that stands there, and this one
    // would be passed over without a word: so the conflicts are named here too
    #[arg(long, value_name = "DIR|FILE", requires = "rules", conflicts_with_all = ["coverage", "entries", "import", "traits", "species", "kind"])]
    sites: Option<PathBuf>,
    /// Write single entries as CSV, one row an entry, to be edited and read back by --import
    #[arg(long, conflicts_with_all = ["coverage", "format"])]
    entries: bool,
    /// Read an edited CSV of entries and show what it changes in the folder of --knowledge
    #[arg(long, value_name = "FILE", conflicts_with_all = ["coverage", "entries", "rules", "traits", "species", "kind", "format", "output"])]
    import: Option<PathBuf>,
    /// Write what --import changes, after the whole base was checked with it
    #[arg(long, requires = "import", conflicts_with_all = ["coverage", "entries", "rules", "traits", "species", "kind"])]
    apply: bool,
    #[command(flatten)]
    answer: AnswerOptions,
}

const EXAMPLES: &str = "\
Examples:
  swardwright knowledge table heat_tolerance wear --kind sedge
  swardwright knowledge table ph --format csv --output ph.csv
  swardwright knowledge table --coverage
  swardwright knowledge table --rules --sites scenarios
  swardwright knowledge table --rules --sites scenarios --format csv --output rules.csv
  swardwright knowledge table wear --entries --knowledge knowledge --output wear.csv
  swardwright knowledge table --import wear.csv --knowledge knowledge
  swardwright knowledge table --import wear.csv --knowledge knowledge --apply

In a CSV of entries the rows of a species and trait are all its entries: a row that is taken out is
taken out of the base, and a row of species and trait alone takes out the trait. Species and traits
without a row stay as they are. Several names in a cell are set apart by semicolons; [] is none.";

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum TableFormat {
    /// For people
    Text,
    /// For spreadsheets and programs, in the units of the vocabulary
    Csv,
}

/// A CSV larger than this is refused.
const LARGEST: u64 = 16 << 20;

/// Runs the command.
pub fn run(args: &Args, options: &KnowledgeOptions) -> Result<Printed, Findings> {
    if let (true, Some(overlay)) = (args.entries || args.import.is_some(), options.overlay.first()) {
        let message =
            format!("{}: single entries are those of the base, without an overlay", overlay.display());
        let help = "leave --overlay out; the values of an overlay stand in the files of its folder values/";
        return Err(vec![Finding::bare("entries-of-overlay", message).help(help)]);
    }
    if let Some(file) = &args.import {
        return import(args, file, options);
    }
    let (knowledge, warnings) = options.load()?;
    if args.rules {
        let text = rules(args, knowledge)?;
        return Ok(Printed { text: write_or_give(text, args.output.as_deref())?, warnings });
    }
    let selection = Selection::new(knowledge, &args.traits, &args.species, &args.kind)?;
    let look = args.answer.look_in(UnitSystem::Si);
    let text = match (args.entries, args.coverage, args.format) {
        (true, ..) => entries_csv(knowledge, &selection),
        (_, true, TableFormat::Text) => coverage_text(knowledge, &selection, &look),
        (_, true, TableFormat::Csv) => coverage_csv(knowledge, &selection),
        (.., TableFormat::Text) => trait_text(knowledge, &selection, &look),
        (.., TableFormat::Csv) => trait_csv(knowledge, &selection),
    };
    Ok(Printed { text: write_or_give(text, args.output.as_deref())?, warnings })
}

/// The use of the rules, on the sites of a folder where one is named.
fn rules(args: &Args, knowledge: &Knowledge) -> Result<String, Findings> {
    let on_sites = args.sites.as_deref().map(|folder| -> Result<SiteUse, Findings> {
        let paths = site_files(folder)?;
        let mut rules = vec![RuleUse::default(); knowledge.rules.len()];
        for path in &paths {
            let (assessment, _) = assess(&read_site(&path.display().to_string())?, knowledge)?;
            count_rules(&assessment, &mut rules);
        }
        Ok(SiteUse { sites: paths.len(), rules })
    });
    let on_sites = on_sites.transpose()?;
    Ok(match args.format {
        TableFormat::Text => rules_text(knowledge, on_sites.as_ref(), &args.answer.look_in(UnitSystem::Si)),
        TableFormat::Csv => rules_csv(knowledge, on_sites.as_ref()),
    })
}

fn import(args: &Args, file: &Path, options: &KnowledgeOptions) -> Result<Printed, Findings> {
    let Some(folder) = &options.knowledge else {
        let message = "the built-in knowledge cannot be changed";
        let help = "name the folder of a knowledge base that is yours: `--knowledge DIR`";
        return Err(vec![Finding::bare("built-in-knowledge", message).help(help)]);
    };
    let csv = Source { path: file.display().to_string(), text: read_text(file, LARGEST)?.into() };
    let text = KnowledgeText::from_folder(folder)?;
    let (knowledge, _) = Knowledge::load(&text)?;
    let import = import_entries(&Arc::new(csv), &text, &knowledge)?;
    if args.apply {
        write_all(&import.files)?;
    }
    Ok(import_text(&knowledge, &import, args.apply, &args.answer.look_in(UnitSystem::Si)).into())
}
