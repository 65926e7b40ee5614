//! The engine: values, the rule language, the order in which rules run, and the run itself.

pub mod cases;
pub mod cone;
pub mod expression;
pub mod facts;
pub mod formula;
pub mod jointly;
pub mod open_point;
pub mod plausible;
pub mod positions;
mod possible;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod random_sites;
pub mod run;
pub mod strata;
pub mod trace;
pub mod value;
