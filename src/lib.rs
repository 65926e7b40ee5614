//! swardwright: which turf or ground cover will persist on a site, and why.
//!
//! Data flows one way: text, valid data, facts, derivation, ranking, explanation, report. The
//! modules stand in that order. The library never prints and never panics on input.

pub mod diag;
mod document;
mod engine;
mod knowledge;
mod rank;
mod site;
mod units;

pub use engine::cases::check_cases;
pub use knowledge::Knowledge;
pub use knowledge::text::KnowledgeText;
