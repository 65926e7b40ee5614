//! The site: from a site file to facts, with the physics of climate, light, soil and water.

pub mod effective_rain;
pub mod et0_monthly;
pub mod evapotranspiration;
pub mod growth;
pub mod hardiness;
pub mod light;
pub mod salinity;
pub mod solar;
pub mod texture;
