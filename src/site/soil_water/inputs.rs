//! What the soil-water balance takes: a plant on a soil, and the irrigation that a site allows.

use thiserror::Error;

use crate::site::solar::Monthly;
use crate::units::quantity::Millimetres;

/// A plant on a soil, as the balance sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plant {
    /// Total available water of its root zone (equation 82), roots held to the depth of the soil.
    pub taw: Millimetres,
    /// Share of the water that enters its soil which comes to it, above 0 to 1: tree roots drink the rest.
    pub water_share: f64,
    /// Depletion fraction p at 5 mm/d (Table 22), adjusted daily for `ETc`.
    pub p_table: f64,
    /// Crop coefficient by month (`ETc` = Kc ET0, equation 58).
    pub kc: Monthly,
    /// Stress coefficient down to which the cover stays green enough, 0 to 1; 1 for no stress.
    pub green_ks: f64,
    /// Watering that keeps it alive when dormant; `None` where it is not asked for.
    pub survival: Option<SurvivalWatering>,
}

impl Plant {
    /// What the soil holds for the plant and for those who drink with it, mm. Whoever gets a share of all
    /// water and draws on a store goes through the same days as all together who get the whole, draw as
    /// much more and have a store as much larger.
    pub(super) fn shared_taw(&self) -> f64 {
        self.taw.0 / self.water_share
    }
}

/// Watering of dormant plants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalWatering {
    /// Days in a row at wilting that the plant is left without water.
    pub days_at_wilting: u32,
    /// The same after a first dose, until the plant is green again.
    pub days_between: u32,
    /// Depth given on the day when that many have passed, mm. Extension sheets give 6 to 13 mm
    /// every two to four weeks.
    pub depth: Millimetres,
}

/// Irrigation that a site allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Irrigation {
    /// Days a week on which water may be given, 0 to 7.
    pub days_per_week: u8,
    /// Most that may be given on such a day, mm as applied.
    pub depth: Millimetres,
    /// Most that may be given in a calendar year, mm as applied. In a year that would take
    /// more the soil is filled only up to a lower level.
    pub season_cap: Option<Millimetres>,
    /// Share of the applied water that reaches the root zone, above 0 to 1.
    pub efficiency: f64,
}

impl Irrigation {
    /// No irrigation.
    pub const NONE: Self =
        Self { days_per_week: 0, depth: Millimetres(0.0), season_cap: None, efficiency: 1.0 };

    /// As much as the plant takes, every day.
    pub const FULL: Self =
        Self { days_per_week: 7, depth: Millimetres(1000.0), season_cap: None, efficiency: 1.0 };

    pub(super) fn is_none(&self) -> bool {
        self.days_per_week == 0 || self.depth.0 <= 0.0 || self.season_cap.is_some_and(|cap| cap.0 <= 0.0)
    }

    /// Whether water may be given on each day of the week. The days of a smaller number are among
    /// those of a greater one, so that more days are never fewer chances.
    pub(super) fn week(&self) -> [bool; 7] {
        const ORDER: [usize; 7] = [0, 4, 2, 6, 1, 5, 3];
        let mut week = [false; 7];
        for day in ORDER.iter().take(usize::from(self.days_per_week)) {
            week[*day] = true;
        }
        week
    }
}

/// An input that the balance cannot run on.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{what} is {value}: {wanted}")]
pub struct WaterError {
    /// Name of the input.
    pub what: &'static str,
    /// Offending value.
    pub value: f64,
    /// What it must be.
    pub wanted: &'static str,
}

/// Refuses inputs that are out of range.
pub(super) fn validate(plant: &Plant, irrigation: &Irrigation) -> Result<(), WaterError> {
    let positive = "a number above 0 is wanted";
    let share = "a number from 0 to 1 is wanted";
    let unit = 0.0..=1.0;
    let refuse = |what, value, wanted| Err(WaterError { what, value, wanted });
    if !(plant.taw.is_finite() && plant.taw.0 > 0.0) {
        return refuse("total available water", plant.taw.0, positive);
    }
    if !(unit.contains(&plant.water_share) && plant.water_share > 0.0) {
        return refuse("share of the water", plant.water_share, "above 0 to 1 is wanted");
    }
    if !unit.contains(&plant.p_table) {
        return refuse("depletion fraction", plant.p_table, share);
    }
    if !unit.contains(&plant.green_ks) {
        return refuse("green_ks", plant.green_ks, share);
    }
    if let Some(kc) = plant.kc.iter().find(|k| !(0.0..=3.0).contains(*k)) {
        return refuse("crop coefficient", *kc, "a number from 0 to 3 is wanted");
    }
    if !(irrigation.depth.is_finite() && irrigation.depth.0 >= 0.0) {
        return refuse("irrigation depth", irrigation.depth.0, "a number of 0 or more is wanted");
    }
    if !(unit.contains(&irrigation.efficiency) && irrigation.efficiency > 0.0) {
        return refuse("irrigation efficiency", irrigation.efficiency, "above 0 to 1 is wanted");
    }
    if let Some(cap) = irrigation.season_cap.filter(|c| c.0.is_nan() || c.0 < 0.0) {
        return refuse("season cap", cap.0, "a number of 0 or more is wanted");
    }
    Ok(())
}
