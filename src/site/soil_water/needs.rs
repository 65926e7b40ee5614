//! The water that would keep a plant green, and that which would only keep it alive.

use super::inputs::validate;
use super::{Demand, Irrigation, Plant, SiteWater, WILTING_STORAGE_MM, WaterError, count, dried};
use crate::site::rain_pattern::DAYS;

/// Irrigation into the root zone that a plant would want, whatever is allowed, mm a year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterNeeds {
    /// What would keep Ks at or above the plant's `green_ks` every day: a lower bound, given in the
    /// smallest doses and without losses.
    pub green_mm: f64,
    /// What would keep it alive while dormant; `None` where survival watering was not asked for.
    pub survival_mm: Option<f64>,
}

/// The water that would keep a plant green, and the water that would only keep it alive.
///
/// # Errors
///
/// [`WaterError`] names the input that is out of range.
pub fn needs(site: &SiteWater<'_>, plant: &Plant) -> Result<WaterNeeds, WaterError> {
    validate(plant, &Irrigation::NONE)?;
    let taw = plant.taw.0;
    let (limit, dose) = plant.survival.map_or((u32::MAX, 0.0), |s| (s.days_at_wilting, s.depth.0.max(0.0)));
    let (mut green, mut survival, mut dry_run) = (taw, taw, 0_u32);
    let (mut green_need, mut survival_need) = (0.0, 0.0);
    let mut demand = Demand::default();
    for (year, rain) in site.entering.chunks_exact(DAYS).enumerate() {
        if year == 0 || !site.weather.et0_repeats() {
            demand.fill(site.weather.et0_of_year(year), plant);
        }
        let days = demand.etc.iter().zip(&demand.leaves).zip(&demand.green);
        for (((etc, leaves), floor), water) in days.zip(rain) {
            // Kept green: topped up in the morning to where Ks reaches the wanted value.
            green_need += (floor - green).max(0.0);
            green = (dried(green.max(*floor), *etc, *leaves) + water).min(taw);
            // Kept alive: a dose whenever the plant has been at wilting as long as it stands.
            survival = (dried(survival, *etc, *leaves) + water).min(taw);
            dry_run = if survival <= WILTING_STORAGE_MM { dry_run + 1 } else { 0 };
            if dry_run >= limit {
                let given = dose.min(taw - survival);
                survival += given;
                survival_need += given;
                dry_run = 0;
            }
        }
    }
    let per_year = 1.0 / count(site.weather.years());
    Ok(WaterNeeds {
        green_mm: green_need * per_year,
        survival_mm: plant.survival.map(|_| survival_need * per_year),
    })
}
