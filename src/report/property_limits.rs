//! The limits of a property in words and figures, for its text and its JSON.

use crate::property::{LandUse, Limit, M3_PER_GALLON, Measure, Property};
use crate::units::{Unit, UnitSystem, format_number};

/// A quantity of what is limited, with its unit.
pub fn amount(measure: Measure, quantity: f64, units: UnitSystem) -> String {
    match (measure, units) {
        (Measure::Nitrogen, _) => match Unit::named("kg") {
            Some(unit) => units.write(quantity, unit),
            None => format!("{} kg", format_number(quantity)),
        },
        (_, UnitSystem::Si) => format!("{} m3", format_number(quantity)),
        (_, UnitSystem::Us) => format!("{} gal", format_number((quantity / M3_PER_GALLON).round())),
    }
}

/// What is limited, as the head of a column.
pub fn head(measure: Measure) -> &'static str {
    match measure {
        Measure::Water => "water a year",
        Measure::Etwu => "ETWU a year",
        Measure::Nitrogen => "nitrogen a year",
    }
}

/// What is limited, as the key of JSON; water in m3, nitrogen in kg.
pub fn key(measure: Measure) -> &'static str {
    match measure {
        Measure::Water => "water_m3_yr",
        Measure::Etwu => "etwu_m3_yr",
        Measure::Nitrogen => "nitrogen_kg_yr",
    }
}

/// A limit in words, as it stands.
pub fn limit_words(property: &Property<'_>, limit: Limit, units: UnitSystem) -> String {
    let name = |area: usize| property.file.areas[area].name.as_str();
    match limit {
        Limit::Kinds => match property.model.kinds {
            Some(1) => "at most 1 kind".to_owned(),
            most => format!("at most {} kinds", most.unwrap_or_default()),
        },
        Limit::Resource(at) => {
            let measure = property.measures[at];
            let most = amount(measure, property.model.resources[at].most, units);
            match measure {
                Measure::Water => format!("at most {most} of irrigation a year"),
                Measure::Nitrogen => format!("at most {most} of nitrogen a year"),
                Measure::Etwu => format!(
                    "the allowance of the landscape ordinance (MAWA, {}) of {most} a year",
                    match property.file.limits.allowance {
                        Some((LandUse::Residential, _)) => "residential",
                        _ => "non-residential",
                    }
                ),
            }
        }
        Limit::Pair(at) => {
            let pair = property.model.pairs[at];
            let how = if pair.edged { "behind an edge" } else { "without an edge" };
            format!("{} and {} side by side {how}", name(pair.a), name(pair.b))
        }
        Limit::Zone(zone) => {
            let areas = property.file.areas.iter().filter(|area| area.zone == Some(zone));
            let names: Vec<&str> = areas.map(|area| area.name.as_str()).collect();
            format!("hydrozone {}: {} watered alike", property.file.zones[zone], names.join(", "))
        }
    }
}
