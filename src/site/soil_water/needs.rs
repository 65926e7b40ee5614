//! The water that would keep a plant green, and that which would only keep it alive.

use super::inputs::validate;
use super::sequence::each_year;
use super::{
    Irrigation, Plant, SiteWater, SurvivalWatering, WaterError, at_wilting, count, dried, greater, lesser,
};
use crate::units::quantity::Millimetres;

/// Irrigation into the root zone that a plant would want, whatever is allowed, mm a year.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
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
    let mut wanting = Wanting::new(plant);
    each_year(site, plant, |year| {
        let days = year.demand.etc.iter().zip(&year.demand.leaves).zip(&year.demand.green);
        for (((etc, leaves), floor), water) in days.zip(year.water) {
            wanting.day(*etc, *leaves, *floor, *water);
        }
    });
    Ok(wanting.a_year(site, plant))
}

/// What goes through the days beside the schedules of irrigation.
pub(super) trait Beside: Copy {
    /// A day: demand, share of the storage that a stressed plant leaves, storage at which it is green
    /// enough, and water that enters the soil.
    fn day(&mut self, etc: f64, leaves: f64, floor: f64, water: f64);
}

/// Nothing does.
impl Beside for () {
    #[inline]
    fn day(&mut self, _: f64, _: f64, _: f64, _: f64) {}
}

/// A plant kept green and one only kept alive, on their way through the days.
#[derive(Clone, Copy)]
pub(super) struct Wanting {
    taw: f64,
    /// Days at wilting after which the dormant plant gets its first dose, and the next ones.
    first: u32,
    next: u32,
    dose: f64,
    green: f64,
    survival: f64,
    dry_run: u32,
    /// Days at wilting that it is left now.
    wait: u32,
    green_need: f64,
    survival_need: f64,
}

impl Wanting {
    pub(super) fn new(plant: &Plant) -> Self {
        let taw = plant.shared_taw();
        let never =
            SurvivalWatering { days_at_wilting: u32::MAX, days_between: u32::MAX, depth: Millimetres(0.0) };
        let SurvivalWatering { days_at_wilting, days_between, depth } = plant.survival.unwrap_or(never);
        Self {
            taw,
            first: days_at_wilting,
            next: days_between.min(days_at_wilting),
            dose: depth.0.max(0.0),
            green: taw,
            survival: taw,
            dry_run: 0,
            wait: days_at_wilting,
            green_need: 0.0,
            survival_need: 0.0,
        }
    }

    /// Means over the years.
    pub(super) fn a_year(self, site: &SiteWater<'_>, plant: &Plant) -> WaterNeeds {
        let per_year = 1.0 / count(site.weather.years());
        WaterNeeds {
            green_mm: self.green_need * per_year,
            survival_mm: plant.survival.map(|_| self.survival_need * per_year),
        }
    }
}

impl Beside for Wanting {
    #[inline]
    fn day(&mut self, etc: f64, leaves: f64, floor: f64, water: f64) {
        // Kept green: topped up in the morning to where Ks reaches the wanted value.
        self.green_need += greater(floor - self.green, 0.0);
        self.green = lesser(dried(greater(self.green, floor), etc, leaves) + water, self.taw);
        // Kept alive: a dose when the plant has been at wilting as long as it stands, then one now and
        // then until rain has made it green again.
        self.survival = lesser(dried(self.survival, etc, leaves) + water, self.taw);
        self.dry_run = if at_wilting(self.dry_run > 0, self.survival) { self.dry_run + 1 } else { 0 };
        self.wait = if self.survival >= floor { self.first } else { self.wait };
        if self.dry_run >= self.wait {
            let given = lesser(self.dose, self.taw - self.survival);
            self.survival += given;
            self.survival_need += given;
            self.dry_run = 0;
            self.wait = self.next;
        }
    }
}
