//! A property of several areas: one choice an area under limits that they share.
//!
//! Data flows one way here too: the file, an assessment of each area, what may be chosen as pure data, the
//! solver, the answer.

mod allowance;
mod answer;
mod areas;
mod bound;
#[cfg(test)]
mod brute_force;
#[cfg(test)]
mod brute_force_split;
mod file;
mod grounds;
mod known;
mod ladder;
mod limits_file;
mod model;
mod overlaid;
mod part;
mod pieces;
mod prices;
mod programme;
mod reduce;
mod relaxed;
mod solve;
mod split;
mod taking;
mod upkeep;
mod walk;
pub mod water;
mod zone_split;

pub use allowance::Charge;
pub use answer::{Answer, Best, Price, Step};
pub use areas::{Measure, Property, property};
pub(crate) use file::{MOST_AREAS, SIZES};
pub use grounds::{Grounds, NEIGHBOURS};
pub(crate) use limits_file::{ETO_IN, MOWING_KEYS, MOWING_M2_H};
pub use limits_file::{LandUse, M3_PER_GALLON};
pub use model::Limit;
pub(crate) use upkeep::TABLES as UPKEEP_TABLES;
