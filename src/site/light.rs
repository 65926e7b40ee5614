//! Light on the turf: solar radiation to daily light integral, and what trees and walls leave of it.

mod at_turf;
mod photons;
mod shade_class;

pub use at_turf::*;
pub use photons::*;
pub use shade_class::*;
