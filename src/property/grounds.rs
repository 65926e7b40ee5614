//! What the figures of a property rest on: traits, facts and tables, by which an answer tells where they come from.

use super::areas::Measure;
use super::upkeep;

/// Ids of what a figure of a species in an area is reckoned from.
#[derive(Clone, Copy, Debug)]
pub struct Grounds {
    /// Traits, and facts of the area and of the species there.
    pub facts: &'static [&'static str],
    /// Tables that are looked up in besides those that the facts name.
    pub tables: &'static [&'static str],
}

/// Whether neighbours must be kept apart.
pub const NEIGHBOURS: Grounds = Grounds {
    facts: &["species.spread_habit", "species.spread_rate", "species.reseeds"],
    tables: &["neighbours"],
};

impl Measure {
    /// What is taken of it rests on these.
    pub fn grounds(self) -> Grounds {
        match self {
            Self::Water => Grounds {
                facts: &["fit.green_irrigation_mm", "fit.survival_irrigation_mm"],
                tables: &["irrigation"],
            },
            Self::Etwu => Grounds {
                facts: &["species.plant_factor", "fit.water_need", "site.et0_year_mm"],
                tables: &[],
            },
            Self::Nitrogen => Grounds { facts: &["fit.nitrogen_wanted_kg_ha"], tables: &[] },
            Self::Hours => Grounds { facts: &upkeep::FACTS, tables: &upkeep::TABLES },
        }
    }
}
