//! The landscape ordinance and the areas of a property: the ETo that each is reckoned by, what all are
//! allowed, and what a plant is charged.

use super::file::{Area, PropertyFile, System};
use super::known::is_watered;
use super::limits_file::{LandUse, M3_PER_GALLON};
use super::water::{
    DRIP_EFFICIENCY, ETAF_OTHER, ETAF_RESIDENTIAL, SPRAY_EFFICIENCY, etwu_gal, etwu_special_gal, mawa_gal,
};
use crate::assess::Assessment;
use crate::diag::{Finding, Findings};
use crate::engine::facts::Origin;
use crate::site::facts::derive;
use crate::units::factors::{FT2_M2, INCH_M};

/// Reference evapotranspiration of a year by which an area is reckoned.
#[derive(Clone, Debug, PartialEq)]
pub struct Eto {
    /// Inches.
    pub inches: f64,
    /// Where it comes from; given where the limits state it.
    pub origin: Origin,
}

/// How an area is charged in a choice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Charge {
    /// Never watered: nothing.
    Dry,
    /// A special landscape area: all of ETo.
    Special,
    /// By plant factor and efficiency of the irrigation; the plant factor is that of the thirstiest of its
    /// hydrozone.
    Regular {
        /// Share of ETo.
        plant_factor: f64,
        /// Share of the water that reaches the roots.
        efficiency: f64,
    },
}

/// ETo of an area: what the limits state, else that of its place, on the level. The allowance rests on the
/// place: a slope to the sun earns nothing for the rest of the property.
pub fn eto(file: &PropertyFile, assessment: &Assessment<'_>) -> Option<Eto> {
    if let Some(inches) = file.limits.eto_in {
        return Some(Eto { inches, origin: Origin::Given });
    }
    let vocabulary = &assessment.knowledge.vocabulary;
    let year = vocabulary.slot("site.et0_year_mm")?.index;
    let slope: Vec<usize> = ["site.slope_pct", "site.aspect"]
        .into_iter()
        .filter_map(|id| Some(vocabulary.slot(id)?.index))
        .filter(|at| assessment.site.values[*at].is_some())
        .collect();
    let known = if slope.is_empty() {
        assessment.facts.known[year].clone()
    } else {
        let mut level = assessment.site.clone();
        slope.into_iter().for_each(|at| level.values[at] = None);
        derive(&level, assessment.knowledge).known[year].clone()
    }?;
    Some(Eto { inches: known.value.as_number()? / INCH_M, origin: known.origin })
}

/// The allowance of all areas that are watered, m3 a year; without end where none is asked for. Areas that
/// are never watered count neither here nor in what is used.
pub fn allowance_m3(
    file: &PropertyFile,
    assessments: &[Assessment<'_>],
    etos: &[Option<Eto>],
) -> Result<f64, Findings> {
    let Some((land_use, place)) = &file.limits.allowance else { return Ok(f64::INFINITY) };
    let etaf = match land_use {
        LandUse::Residential => ETAF_RESIDENTIAL,
        LandUse::Other => ETAF_OTHER,
    };
    let mut gallons = 0.0;
    for ((area, assessment), eto) in file.areas.iter().zip(assessments).zip(etos) {
        if !is_watered(assessment) {
            continue;
        }
        let Some(eto) = eto else {
            let message = format!("`mawa` needs the reference evapotranspiration of `{}`", area.name);
            let help =
                "state its climate or its place, or `eto_in_yr` in [limits], from the ordinance's table";
            return Err(vec![Finding::error("allowance-without-et0", place, message).help(help)]);
        };
        let size = area.area_m2 / FT2_M2;
        gallons += mawa_gal(eto.inches, etaf, size, if area.special { size } else { 0.0 });
    }
    Ok(gallons * M3_PER_GALLON)
}

/// What a watered area is charged for each square metre, m3 a year, for plants of some plant factor.
pub fn charged_m3(area: &Area, eto: &Eto, plant_factor: f64) -> f64 {
    let size = 1.0 / FT2_M2;
    let gallons = if area.special {
        etwu_special_gal(eto.inches, size)
    } else {
        etwu_gal(eto.inches, plant_factor, efficiency(area), size)
    };
    gallons * M3_PER_GALLON
}

/// How a watered area is charged that is charged so much for each square metre.
pub fn charge(area: &Area, eto: &Eto, m3: f64) -> Charge {
    if area.special {
        return Charge::Special;
    }
    Charge::Regular { plant_factor: m3 / charged_m3(area, eto, 1.0), efficiency: efficiency(area) }
}

/// Efficiency of the irrigation of an area; that of spray where nothing is said.
pub fn efficiency(area: &Area) -> f64 {
    match area.system {
        Some(System::Drip) => DRIP_EFFICIENCY,
        Some(System::Spray) | None => SPRAY_EFFICIENCY,
    }
}
