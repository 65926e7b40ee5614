//! Hours of upkeep: how often a planting is cut in a year, how long a cut takes, and the care besides.
//!
//! Hours of a square metre in a year = cuts / (m2 mown in an hour) + care of a month of growth x months of growth.
//! The cuts are those that growth asks for (table `mowing-need`: cuts a week in full growth, by how much mowing the
//! species wants) through the weeks of full growth that the climate gives its kind, where the use is a mown sward,
//! else the few that the use brings (table `mowing-use`); never more than the species bears. The care is weeding,
//! edging, feeding and trimming (table `care-hours`, by how much care it wants). The tables name their sources.

use super::known::{number, trait_of, value};
use crate::assess::{Assessment, Candidate};
use crate::engine::value::Value;
use crate::units::factors::{MONTH_D, YEAR_D};

/// Tables that hours rest on.
pub const TABLES: [&str; 3] = ["mowing-need", "mowing-use", "care-hours"];

/// Traits and facts that they rest on.
pub const FACTS: [&str; 6] = [
    "species.mowing_need",
    "species.mowing_borne",
    "species.upkeep_need",
    "site.growing_months",
    "site.warm_growth_months",
    "site.cool_growth_months",
];

/// Square metres that `care-hours` counts by.
const CARE_OF_M2: f64 = 100.0;

/// The upkeep of a square metre in a year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// Cuts.
    pub cuts: f64,
    /// Square metres that one person mows in an hour.
    pub mowing_m2_h: f64,
    /// Hours of care besides mowing.
    pub care_h: f64,
}

impl Work {
    /// Hours of mowing.
    pub fn mowing_h(&self) -> f64 {
        self.cuts / self.mowing_m2_h
    }

    /// Hours in all.
    pub fn hours(&self) -> f64 {
        self.mowing_h() + self.care_h
    }
}

/// What a candidate takes of upkeep where it stands; `None` where that is not known. `mowing_m2_h` is what one
/// person mows in an hour, where the client says it.
pub fn upkeep(
    assessment: &Assessment<'_>,
    candidate: &Candidate<'_>,
    mowing_m2_h: Option<f64>,
) -> Option<Work> {
    let (knowledge, species) = (assessment.knowledge, candidate.species);
    let [needs, uses, care] = TABLES.map(|id| knowledge.table_named(id));
    let position = |id: &str| trait_of(species, id, knowledge).and_then(Value::as_position);
    let purpose = value(assessment, "site.purpose")?.as_position()?;
    let of_use = |column: &str| uses?.number(purpose, column);

    let Growth { season, is_grass, care_column } = Growth::of(knowledge.kind_name(species.kind));
    let growing = number(assessment, "site.growing_months")?;
    // months are days here, and a rate is that of a day
    let by_growth = needs?.number(position("species.mowing_need")?, "cuts_per_week")?;
    let allowed = number(assessment, "site.mowings_per_week").unwrap_or(f64::INFINITY);
    let asked = by_growth.min(allowed) * number(assessment, season)?;
    let of_the_use = of_use("share_of_growth")? * asked + of_use("cuts_per_yr")? * YEAR_D;
    let cuts = of_the_use.min(most_cuts(position("species.mowing_borne"), is_grass, growing / MONTH_D));
    let care_by_month = care?.number(position("species.upkeep_need")?, care_column)?;
    let care_h = care_by_month * growing / MONTH_D / CARE_OF_M2;
    Some(Work { cuts, mowing_m2_h: mowing_m2_h.or_else(|| of_use("mowing_m2_h"))?, care_h })
}

/// How a kind of plant grows and is kept.
struct Growth {
    /// The fact that counts its months of full growth.
    season: &'static str,
    is_grass: bool,
    /// The column of `care-hours` that is its own.
    care_column: &'static str,
}

impl Growth {
    fn of(kind: &str) -> Self {
        let (sward, cover) = ("sward_h_per_month", "cover_h_per_month");
        let (season, is_grass, care_column) = match kind {
            "warm-season-grass" => ("site.warm_growth_months", true, sward),
            "cool-season-grass" => ("site.cool_growth_months", true, sward),
            "sedge" => ("site.growing_months", false, sward),
            _ => ("site.growing_months", false, cover),
        };
        Self { season, is_grass, care_column }
    }
}

/// The most cuts a year that a species bears, by the step of `mowing_borne`; where nothing is known of it a grass
/// bears all and anything else none.
fn most_cuts(borne: Option<usize>, is_grass: bool, growing_months: f64) -> f64 {
    match borne {
        Some(0) => 0.0,
        Some(1) => 1.0,
        Some(2) => growing_months,
        Some(_) => f64::INFINITY,
        None if is_grass => f64::INFINITY,
        None => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 24 cuts at 557 m2 an hour, and 0.65 h of care for 100 m2 in each of nine months: 0.0431 h and 0.0585 h (our
    /// own sum).
    #[test]
    fn hours_are_those_of_mowing_and_of_care() {
        let work = Work { cuts: 24.0, mowing_m2_h: 557.0, care_h: 0.65 * 9.0 / CARE_OF_M2 };
        assert!((work.mowing_h() - 0.0431).abs() < 5e-5);
        assert!((work.hours() - 0.1016).abs() < 5e-5);
    }

    #[test]
    fn nothing_is_cut_more_than_it_bears() {
        assert_eq!(most_cuts(Some(0), true, 8.0), 0.0);
        assert_eq!(most_cuts(Some(1), false, 8.0), 1.0);
        assert_eq!(most_cuts(Some(2), false, 8.0), 8.0);
        assert_eq!(most_cuts(Some(3), false, 8.0), f64::INFINITY);
        assert_eq!((most_cuts(None, true, 8.0), most_cuts(None, false, 8.0)), (f64::INFINITY, 0.0));
    }

    #[test]
    fn each_kind_has_its_own_season() {
        assert_eq!(Growth::of("warm-season-grass").season, "site.warm_growth_months");
        assert_eq!(Growth::of("cool-season-grass").season, "site.cool_growth_months");
        assert!(!Growth::of("woody-cover").is_grass);
        assert_ne!(Growth::of("sedge").care_column, Growth::of("broadleaf-cover").care_column);
    }
}
