//! swardwright: which turf or ground cover will persist on a site, and why.
//!
//! Data flows one way: text, valid data, facts, derivation, ranking, explanation, report. The
//! modules stand in that order. The library never prints and never panics on input.

mod alike;
mod assess;
mod authoring;
pub mod diag;
mod document;
mod embedded;
mod engine;
mod entries;
mod explain;
mod interview;
mod knowledge;
mod property;
pub mod rank;
pub mod report;
mod side_by_side;
mod site;
mod units;

pub use assess::robust::FEWEST_FOR_TIES;
pub use assess::{
    AnswerChange, Assessment, Candidate, Hearers, RuleUse, SpokenChange, answer_changes, assess,
    assess_ahead, count_rules, spoken_changes,
};
pub use authoring::{
    Scaffold, ScaffoldKind, SchemaKind, UNFILLED, scaffold, schema_text, stamp, without_digest_conflicts,
};
pub use engine::cases::check_cases;
pub use entries::{Import, import_entries};
pub use interview::{Interview, Next, Question};
pub use knowledge::Knowledge;
pub use knowledge::difference::{Difference, difference, entry_finding};
pub use knowledge::id_meant;
pub use knowledge::species::unknown_species;
pub use knowledge::strict::{Strict, strict_findings};
pub use knowledge::text::KnowledgeText;
pub use knowledge::unrated::unrated_needs;
pub use property::{Property, property};
pub use site::climate_file::{
    STDIN_NAME, read_climate_file, read_climate_stream, survey_climate_file, survey_climate_stream,
};
pub use site::read_ahead::ReadAhead;
pub use units::UnitSystem;

/// Formulas of climate, light, soil and water; each names its source and its range.
pub mod formulas {
    pub use crate::property::water as landscape_allowance;
    pub use crate::site::{
        climate, daily_weather, effective_rain, et0_monthly, evapotranspiration, growth, hardiness, light,
        rain_pattern, soil_water, solar, texture,
    };
    pub use crate::units::{factors, quantity};
}
