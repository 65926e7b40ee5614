//! What may be chosen for an area, and what each candidate takes of what is limited.

use super::allowance::{Eto, charged_m3, efficiency};
use super::areas::Measure;
use super::file::Area;
use super::known::{is_watered, number, spread_of, trait_of, value};
use super::limits_file::Limits;
use super::model::ModelOption;
use super::upkeep::upkeep;
use crate::assess::{Assessment, Candidate};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::species::Species;
use crate::rank::Class;
use crate::units::factors::YEAR_D;

/// A depth that no plant takes in a day, metres: allowed every day it binds nothing.
const PLENTY_A_DAY_M: f64 = 0.02;

/// An area of which candidates take.
pub struct Taking<'a, 'k> {
    /// The area.
    pub area: &'a Area,
    /// The same, assessed.
    pub assessment: &'a Assessment<'k>,
    /// The ETo that it is reckoned by.
    pub eto: Option<&'a Eto>,
    /// What must not be passed.
    pub limits: &'a Limits,
}

/// What may be chosen for an area.
#[derive(Default)]
pub struct Options {
    /// What each takes; infinite where that is not known.
    pub options: Vec<ModelOption>,
    /// The position of each among the candidates.
    pub positions: Vec<usize>,
    /// How many of them a limit cannot be held against, by measure.
    pub without_figure: Vec<(Measure, usize)>,
}

impl Taking<'_, '_> {
    /// What may be chosen: every species that is not refused.
    pub fn options(&self, measures: &[Measure]) -> Options {
        let knowledge = self.assessment.knowledge;
        let mut found = Options::default();
        for (at, candidate) in self.assessment.candidates.iter().enumerate() {
            let kind = knowledge.species.iter().position(|own| own.id == candidate.species.id);
            let Some(kind) = kind.filter(|_| candidate.standing.class != Class::N) else { continue };
            let taken =
                measures.iter().map(|measure| self.takes(*measure, candidate).unwrap_or(f64::INFINITY));
            let takes: Vec<f64> = taken.collect();
            for (measure, _) in measures.iter().zip(&takes).filter(|(_, takes)| takes.is_infinite()) {
                match found.without_figure.iter_mut().find(|(own, _)| own == measure) {
                    Some((_, count)) => *count += 1,
                    None => found.without_figure.push((*measure, 1)),
                }
            }
            let seeds = !self.limits.seed_drift && reseeds(candidate.species, knowledge);
            let creeps = creeps(candidate.species, knowledge);
            let option = ModelOption { kind, value: candidate.standing.index, takes, creeps, seeds };
            found.options.push(option);
            found.positions.push(at);
        }
        found
    }

    /// What a candidate takes for each square metre; `None` where that is not known.
    fn takes(&self, measure: Measure, candidate: &Candidate<'_>) -> Option<f64> {
        match measure {
            Measure::Nitrogen => self.nitrogen(candidate),
            Measure::Hours => {
                upkeep(self.assessment, candidate, self.limits.mowing_m2_h).map(|work| work.hours())
            }
            _ if !is_watered(self.assessment) => Some(0.0),
            Measure::Water => Some(self.irrigation_m(candidate)? / efficiency(self.area)),
            Measure::Etwu => {
                // a special area is charged the same whatever stands there
                let factor = if self.area.special { 1.0 } else { self.plant_factor(candidate)? };
                Some(charged_m3(self.area, self.eto?, factor))
            }
        }
    }

    /// Share of ETo that it is charged: the plant factor that publications state, or where none does the share
    /// that keeps it in acceptable cover.
    fn plant_factor(&self, candidate: &Candidate<'_>) -> Option<f64> {
        let stated = trait_of(candidate.species, "species.plant_factor", self.assessment.knowledge);
        stated.and_then(Value::as_number).or_else(|| self.worst(candidate, "fit.water_need"))
    }

    /// Irrigation a year, metres at the roots: what keeps it green, or alive where a tan rest is
    /// accepted; never more than may be given.
    fn irrigation_m(&self, candidate: &Candidate<'_>) -> Option<f64> {
        let rests = self.derived(candidate, "fit.may_rest").and_then(Value::as_flag) == Some(true);
        let id = if rests { "fit.survival_irrigation_mm" } else { "fit.green_irrigation_mm" };
        let wanted = self.worst(candidate, id)?;
        let most = [number(self.assessment, "site.season_cap_mm"), self.within_days_m(candidate)];
        Some(most.into_iter().flatten().fold(wanted, f64::min))
    }

    /// The most that is given in a year within the days and the depth allowed, metres: what the daily balance
    /// of the area puts on or, where it cannot run, all that days and depth come to. `None` where they bind
    /// nothing.
    fn within_days_m(&self, candidate: &Candidate<'_>) -> Option<f64> {
        let step = value(self.assessment, "site.irrigation").and_then(Value::as_position);
        let table = self.assessment.knowledge.table_named("irrigation");
        let allowed =
            |id: &str, column: &str| number(self.assessment, id).or_else(|| table?.number(step?, column));
        // days a week are a share of days
        let days = allowed("site.days_per_week", "days_per_week")?;
        let depth_m = allowed("site.irrigation_depth_mm", "depth_mm")?;
        if days >= 1.0 && depth_m >= PLENTY_A_DAY_M {
            return None;
        }
        let given = self.assessment.monthly_water(candidate);
        let given_mm = given.map(|water| water.months.iter().map(|month| month.irrigation).sum::<f64>());
        Some(given_mm.map_or(days * YEAR_D * depth_m, |mm| mm / 1000.0))
    }

    /// Nitrogen that it wants at least in the use of this area, kg a square metre and year.
    fn nitrogen(&self, candidate: &Candidate<'_>) -> Option<f64> {
        let wanted = self.derived(candidate, "fit.nitrogen_wanted_kg_ha")?;
        wanted.as_range().map(|(low, _)| low)
    }

    /// What the rules made of the species at this area.
    fn derived<'c>(&self, candidate: &'c Candidate<'_>, id: &str) -> Option<&'c Value> {
        let slot = self.assessment.knowledge.vocabulary.slot(id)?;
        candidate.outcome.fit.get(slot.index)?.as_ref()
    }

    /// A figure of the species at this area; the highest where it may be several.
    fn worst(&self, candidate: &Candidate<'_>, id: &str) -> Option<f64> {
        if let Some(known) = self.derived(candidate, id) {
            return known.as_number();
        }
        let slot = self.assessment.knowledge.vocabulary.slot(id)?;
        let computed = self.assessment.yearly_water(candidate).into_iter().find(|fact| fact.slot == slot)?;
        computed.values.iter().filter_map(Value::as_number).reduce(f64::max)
    }
}

/// Whether its runners go into a neighbour, by the table of neighbours; what is not known of its growth
/// is taken for the worse, and where publications differ the fastest pace that one gives.
fn creeps(species: &Species, knowledge: &Knowledge) -> bool {
    let position = |id: &str| trait_of(species, id, knowledge).and_then(Value::as_position);
    let Some(habit) = position("species.spread_habit") else { return true };
    let table = knowledge.table_named("neighbours");
    let Some(from) = table.and_then(|table| table.value(habit, "creeps_from")?.as_position()) else {
        return false;
    };
    let Some(pace) = position("species.spread_rate") else { return true };
    let fastest =
        spread_of(species, "species.spread_rate", knowledge).map_or(pace as f64, |(_, fastest)| fastest);
    fastest >= from as f64
}

/// Whether it is on record that it seeds itself; of most species nothing is.
fn reseeds(species: &Species, knowledge: &Knowledge) -> bool {
    trait_of(species, "species.reseeds", knowledge).and_then(Value::as_flag) == Some(true)
}
