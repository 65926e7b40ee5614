//! The site: from a site file to facts, with the physics of climate, light, soil and water.

pub mod climate;
mod climate_facts;
pub mod climate_file;
mod counted_days;
pub mod daily_weather;
pub mod effective_rain;
pub mod et0_bias;
pub mod et0_monthly;
pub mod evapotranspiration;
pub mod facts;
pub mod file;
pub mod growth;
pub mod hardiness;
pub mod lending;
pub mod light;
mod light_facts;
pub mod nearest;
#[cfg(test)]
mod outside;
mod plausibility;
pub mod rain_pattern;
pub mod read_ahead;
mod region_facts;
mod region_position;
pub mod site_weather;
pub mod slope;
mod soil_facts;
pub mod soil_water;
pub mod solar;
pub mod texture;
pub mod water_balance;
pub mod water_facts;

pub use water_balance::{SiteBalance, SiteDays};

/// What the program computes for a species at a site while rules run.
pub const FORMULAS: &[crate::engine::formula::Declared] = &[water_balance::WATER_BALANCE];
