//! `swardwright property FILE`

use super::common::{AnswerOptions, Format, KnowledgeOptions, Outcome, Printed, read_site};
use swardwright::diag::Findings;
use swardwright::property;
use swardwright::report::{property_json, property_text};

/// Arguments of `property`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright property tests/property/invented-court/property.toml
  swardwright property court.toml --format json > choice.json

The file says what a site file says, which all areas share; then each area begins with a line `[[area]]`:
its `name`, its `area_m2` or `area_ft2`, and any section of a site file for it alone, such as `[area.light]`.
  beside = [\"bed\"]          areas that it must neither invade nor be invaded by
  edged = [\"path\"]          the same, where an edge stops runners
  hydrozone = \"front\"       areas of one name are watered alike, by one system
  system = \"drip\"           or \"spray\"
  special_landscape = true  a special landscape area of the landscape ordinance
`[limits]` takes kinds, water_m3_yr (or water_gal_yr), nitrogen_kg_yr (or nitrogen_lb_yr), hours_yr of upkeep (and
mowing_m2_h or mowing_ft2_h, what one person mows in an hour), mawa = true with land_use = \"residential\" or
\"non-residential\" (and eto_in_yr, 5 to 150), seed_drift = true to allow it.

Exit code: 0 a best choice was found, 1 no choice keeps the limits, 2 the file was refused.")]
pub struct Args {
    /// Property file, or - for standard input
    file: String,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    #[command(flatten)]
    answer: AnswerOptions,
    #[command(flatten)]
    knowledge: KnowledgeOptions,
}

/// Runs the command.
pub fn run(args: &Args) -> Outcome {
    match answer(args) {
        Ok((printed, true)) => Outcome::Answered(printed),
        Ok((printed, false)) => Outcome::Faults { findings: printed.warnings, text: printed.text },
        Err(findings) => Outcome::Refused(findings),
    }
}

/// The answer, and whether there is a choice.
fn answer(args: &Args) -> Result<(Printed, bool), Findings> {
    let source = read_site(&args.file)?;
    let (knowledge, _) = args.knowledge.load()?;
    let (property, warnings) = property(&source, knowledge)?;
    let text = match args.format {
        Format::Text => property_text(&property, &args.answer.look_in(property.units())),
        Format::Json => format!("{:#}\n", property_json(&property)),
    };
    Ok((Printed { text, warnings }, property.has_choice()))
}
