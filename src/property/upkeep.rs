//! Hours of upkeep: how often a planting is cut in a year, how long a cut takes, and the care besides.
//!
//! Hours of a square metre in a year = cuts / (m2 mown in an hour) + care of a month of growth x months of growth.
//! The cuts are those that growth asks for (table `mowing-need`: cuts a week in full growth, by how much mowing the
//! species wants) through the months of full growth that the climate gives its kind (table `kind-upkeep`), where the
//! use is a mown sward, else the few that the use brings (table `mowing-use`); never more than the species bears
//! (table `mowing-borne`). The care is weeding, edging, feeding and trimming (table `care-hours`, by how much care it
//! wants; by the table of kinds that of a sward or that of a cover). The tables name their sources.

use super::known::{number, trait_of, value};
use crate::assess::{Assessment, Candidate};
use crate::engine::value::Value;
use crate::knowledge::tables::LookupTable;
use crate::units::factors::{MONTH_D, YEAR_D};

/// Tables that hours rest on.
pub const TABLES: [&str; 5] = ["mowing-need", "mowing-use", "mowing-borne", "kind-upkeep", "care-hours"];

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
    let [needs, uses, borne, kinds, care] = TABLES.map(|id| knowledge.table_named(id));
    let position = |id: &str| trait_of(species, id, knowledge).and_then(Value::as_position);
    let purpose = value(assessment, "site.purpose")?.as_position()?;
    let of_use = |column: &str| uses?.number(purpose, column);
    let of_kind = |column: &str| kinds?.number(usize::from(species.kind), column);

    // months are days here, and a rate is that of a day
    let growing = number(assessment, "site.growing_months")?;
    let by_growth = needs?.number(position("species.mowing_need")?, "cuts_per_week")?;
    let allowed = number(assessment, "site.mowings_per_week").unwrap_or(f64::INFINITY);
    let asked = by_growth.min(allowed) * full_growth(of_kind, |fact| number(assessment, fact))?;
    let of_the_use = of_use("share_of_growth")? * asked + of_use("cuts_per_yr")? * YEAR_D;
    let usual_step = || kinds?.value(usize::from(species.kind), "mowing_borne")?.as_position();
    let step = position("species.mowing_borne").or_else(usual_step)?;
    let cuts = of_the_use.min(most_cuts(borne?, step, growing / MONTH_D)?);
    let of_care = |column: &str| care?.number(position("species.upkeep_need")?, column);
    let as_sward = of_kind("share_of_sward_care")?;
    let care_by_month =
        as_sward * of_care("sward_h_per_month")? + (1.0 - as_sward) * of_care("cover_h_per_month")?;
    let care_h = care_by_month * growing / MONTH_D / CARE_OF_M2;
    Some(Work { cuts, mowing_m2_h: mowing_m2_h.or_else(|| of_use("mowing_m2_h"))?, care_h })
}

/// What the full growth of a kind is a share of: the column of `kind-upkeep`, and the fact that counts it.
const SEASONS: [(&str, &str); 3] = [
    ("share_of_growing_months", "site.growing_months"),
    ("share_of_warm_growth", "site.warm_growth_months"),
    ("share_of_cool_growth", "site.cool_growth_months"),
];

/// Full growth in a year, from the shares of a kind; a fact of which it takes no share need not be known.
fn full_growth(share_of: impl Fn(&str) -> Option<f64>, counted: impl Fn(&str) -> Option<f64>) -> Option<f64> {
    let mut months = 0.0;
    for (column, fact) in SEASONS {
        let share = share_of(column)?;
        if share != 0.0 {
            months += share * counted(fact)?;
        }
    }
    Some(months)
}

/// The most cuts a year that a species bears, by its step of `mowing_borne`; a step without a row bears all.
fn most_cuts(borne: &LookupTable, step: usize, growing_months: f64) -> Option<f64> {
    let Some(by_year) = borne.number(step, "cuts_per_yr") else { return Some(f64::INFINITY) };
    Some(by_year * YEAR_D + borne.number(step, "cuts_per_month")? * growing_months)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::Knowledge;
    use crate::knowledge::text::KnowledgeText;

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
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let table = knowledge.table_named("mowing-borne").unwrap();
        let list = knowledge.vocabulary.list_named("mowing", true).unwrap();
        let most = |step: &str| {
            let step = knowledge.vocabulary.list(list).position(step).unwrap();
            most_cuts(table, usize::from(step), 8.0).unwrap()
        };
        assert_eq!((most("never"), most("monthly")), (0.0, 8.0));
        assert!((most("yearly") - 1.0).abs() < 1e-12);
        assert_eq!(most("weekly"), f64::INFINITY);
    }

    #[test]
    fn each_kind_grows_through_its_own_season() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let kinds = knowledge.table_named("kind-upkeep").unwrap();
        let list = knowledge.vocabulary.list_named("kind", false).unwrap();
        let months = |fact: &str| match fact {
            "site.growing_months" => Some(8.0),
            "site.warm_growth_months" => Some(5.0),
            _ => None,
        };
        let growth = |kind: &str| {
            let kind = usize::from(knowledge.vocabulary.list(list).position(kind).unwrap());
            full_growth(|column| kinds.number(kind, column), months)
        };
        assert_eq!((growth("warm-season-grass"), growth("sedge")), (Some(5.0), Some(8.0)));
        // what nobody counted is known only to those that take no share of it
        assert_eq!(growth("cool-season-grass"), None);
    }

    /// A kind without a row would have no hours, without a word.
    #[test]
    fn every_kind_has_a_row() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let kinds = knowledge.table_named("kind-upkeep").unwrap();
        let list = knowledge.vocabulary.list_named("kind", false).unwrap();
        for kind in knowledge.vocabulary.list(list).positions() {
            let borne = kinds.value(usize::from(kind), "mowing_borne");
            assert!(borne.is_some(), "{}", knowledge.kind_name(kind));
        }
    }
}
