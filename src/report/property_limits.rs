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
        (Measure::Hours, _) => format!("{} h", format_number(quantity)),
        (_, UnitSystem::Si) => format!("{} m3", format_number(quantity)),
        (_, UnitSystem::Us) => format!("{} gal", format_number((quantity / M3_PER_GALLON).round())),
    }
}

/// The same for what must be allowed at least: rounded up, so that the figure as it is printed is enough.
pub fn amount_at_least(measure: Measure, quantity: f64, units: UnitSystem) -> String {
    match (measure, units, Unit::named("kg")) {
        (Measure::Nitrogen, _, Some(unit)) => {
            amount(measure, units.round_beyond(quantity, true, 0, unit), units)
        }
        (Measure::Nitrogen | Measure::Hours, ..) | (_, UnitSystem::Si, _) => {
            amount(measure, printed_from(quantity), units)
        }
        (_, UnitSystem::Us, _) => {
            amount(measure, (quantity / M3_PER_GALLON - 1e-6).ceil() * M3_PER_GALLON, units)
        }
    }
}

/// The least number that is printed as it is, not below another.
fn printed_from(number: f64) -> f64 {
    Unit::named("1").map_or(number, |unit| UnitSystem::Si.round_beyond(number, true, 0, unit))
}

/// What is limited, as the head of a column.
pub fn head(measure: Measure) -> &'static str {
    match measure {
        Measure::Water => "water a year",
        Measure::Etwu => "ETWU a year",
        Measure::Nitrogen => "nitrogen a year",
        Measure::Hours => "upkeep a year",
    }
}

/// What is limited, as the key of JSON; water in m3, nitrogen in kg, upkeep in hours.
pub fn key(measure: Measure) -> &'static str {
    match measure {
        Measure::Water => "water_m3_yr",
        Measure::Etwu => "etwu_m3_yr",
        Measure::Nitrogen => "nitrogen_kg_yr",
        Measure::Hours => "hours_yr",
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
                Measure::Hours => format!("at most {most} of upkeep a year"),
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
            let areas = property.model.areas.iter().enumerate();
            let names: Vec<&str> =
                areas.filter(|(_, area)| area.zone == Some(zone)).map(|(at, _)| name(at)).collect();
            format!("hydrozone {}: {} watered alike", property.file.zones[zone], names.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whoever allows what is printed allows enough.
    #[test]
    fn what_must_be_allowed_is_rounded_up() {
        let least = |measure, quantity, units| amount_at_least(measure, quantity, units);
        assert_eq!(least(Measure::Nitrogen, 69.61, UnitSystem::Si), "69.7 kg");
        assert_eq!(least(Measure::Nitrogen, 69.6, UnitSystem::Si), "69.6 kg");
        assert_eq!(least(Measure::Nitrogen, 0.4312, UnitSystem::Si), "0.44 kg");
        assert_eq!(least(Measure::Water, 911.2, UnitSystem::Si), "912 m3");
        assert_eq!(least(Measure::Hours, 31.24, UnitSystem::Us), "31.3 h");
        assert_eq!(least(Measure::Water, 100.2 * M3_PER_GALLON, UnitSystem::Us), "101 gal");
        let pound = Unit::named("lb").unwrap();
        let us = least(Measure::Nitrogen, pound.to_base(12.31), UnitSystem::Us);
        assert_eq!(us, "12.4 lb");
    }
}
