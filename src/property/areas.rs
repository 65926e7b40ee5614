//! Each area through the rules, and what may be chosen for it as pure data.

use std::sync::Arc;

use super::answer::{Answer, answer};
use super::file::{self, Area, PropertyFile, System};
use super::limits_file::{LandUse, M3_PER_GALLON};
use super::model::{Model, ModelArea, ModelOption, Pair, Resource};
use super::water::{DRIP_EFFICIENCY, ETAF_OTHER, ETAF_RESIDENTIAL, SPRAY_EFFICIENCY, etwu_gal, mawa_gal};
use crate::assess::{Assessment, Candidate, assess_unparted};
use crate::diag::{Finding, Findings, Source};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::species::Species;
use crate::rank::Class;
use crate::units::UnitSystem;
use crate::units::factors::{FT2_M2, INCH_M};

/// A property with its answer.
#[derive(Debug)]
pub struct Property<'k> {
    /// The file.
    pub file: PropertyFile,
    /// The areas as assessed, in the order of the file.
    pub assessments: Vec<Assessment<'k>>,
    /// For each area the positions of its candidates that may be chosen, as the model numbers them.
    pub options: Vec<Vec<usize>>,
    /// What each resource of the model is.
    pub measures: Vec<Measure>,
    /// For each area the suited candidates that a limit could not be held against, by measure.
    pub without_figure: Vec<Vec<(Measure, usize)>>,
    /// What was solved.
    pub model: Model,
    /// What came of it.
    pub answer: Answer,
}

/// What is limited.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Irrigation a year by the daily balance, m3 at the meter.
    Water,
    /// Estimated total water use of the landscape ordinance, m3 a year.
    Etwu,
    /// Nitrogen a year, kg.
    Nitrogen,
}

/// Reads, assesses and answers a property.
pub fn property<'k>(
    source: &Arc<Source>,
    knowledge: &'k Knowledge,
) -> Result<(Property<'k>, Findings), Findings> {
    let (file, warnings) = file::read(source, knowledge)?;
    let assessments: Vec<Assessment<'k>> = file
        .areas
        .iter()
        .map(|area| assess_unparted(area.site.clone(), knowledge))
        .collect::<Result<_, Findings>>()?;
    let measures = measures(&file);
    let pairs = file.pairs.iter().map(|pair| Pair { a: pair.a, b: pair.b, edged: pair.edged }).collect();
    let resources = measures
        .iter()
        .map(|measure| resource(*measure, &file, &assessments))
        .collect::<Result<Vec<Resource>, Findings>>()?;
    let mut model = Model { areas: Vec::new(), pairs, resources, kinds: file.limits.kinds };
    let (mut options, mut without_figure) = (Vec::new(), Vec::new());
    for (area, assessment) in file.areas.iter().zip(&assessments) {
        let taking = Taking { area, assessment, file: &file };
        let (own, positions, missing) = taking.options(&measures);
        model.areas.push(ModelArea { size: area.area_m2, zone: area.zone, options: own });
        options.push(positions);
        without_figure.push(missing);
    }
    let answer = answer(&model).map_err(|undecided| {
        let message = format!("the best choice could not be found: {}", undecided.0);
        let help = "give fewer areas, or name the species to choose among under `[candidates]`";
        vec![Finding::bare("undecided", message).help(help)]
    })?;
    Ok((Property { file, assessments, options, measures, without_figure, model, answer }, warnings))
}

impl<'k> Property<'k> {
    /// The units that the file is written in.
    pub fn units(&self) -> UnitSystem {
        self.file.areas.first().map_or(UnitSystem::Si, |area| area.site.units)
    }

    /// Whether some choice keeps all limits.
    pub fn has_choice(&self) -> bool {
        matches!(self.answer, Answer::Best(_))
    }

    /// The candidate that an option of an area stands for.
    pub fn candidate(&self, area: usize, option: usize) -> &Candidate<'k> {
        &self.assessments[area].candidates[self.options[area][option]]
    }
}

fn measures(file: &PropertyFile) -> Vec<Measure> {
    let limits = &file.limits;
    let stated = [
        (Measure::Water, limits.water_m3.is_some()),
        (Measure::Etwu, limits.allowance.is_some()),
        (Measure::Nitrogen, limits.nitrogen_kg.is_some()),
    ];
    stated.into_iter().filter(|(_, stated)| *stated).map(|(measure, _)| measure).collect()
}

/// How much there is of what is limited.
fn resource(
    measure: Measure,
    file: &PropertyFile,
    assessments: &[Assessment<'_>],
) -> Result<Resource, Findings> {
    let limits = &file.limits;
    let figure = |limit: &Option<(f64, _)>| limit.as_ref().map_or(f64::INFINITY, |(most, _)| *most);
    let most = match measure {
        Measure::Water => figure(&limits.water_m3),
        Measure::Nitrogen => figure(&limits.nitrogen_kg),
        Measure::Etwu => allowance_m3(file, assessments)?,
    };
    Ok(Resource { most, zoned: measure != Measure::Nitrogen })
}

/// The allowance over all areas that are watered. Areas that are never watered count neither here nor
/// in what is used.
fn allowance_m3(file: &PropertyFile, assessments: &[Assessment<'_>]) -> Result<f64, Findings> {
    let Some((land_use, place)) = &file.limits.allowance else { return Ok(f64::INFINITY) };
    let etaf = match land_use {
        LandUse::Residential => ETAF_RESIDENTIAL,
        LandUse::Other => ETAF_OTHER,
    };
    let mut gallons = 0.0;
    for (area, assessment) in file.areas.iter().zip(assessments) {
        if !is_watered(assessment) {
            continue;
        }
        let Some(eto) = eto_in(file, assessment) else {
            let message = format!("`mawa` needs the reference evapotranspiration of `{}`", area.name);
            let help =
                "state its climate or its place, or `eto_in_yr` in [limits], from the ordinance's table";
            return Err(vec![Finding::error("allowance-without-et0", place, message).help(help)]);
        };
        let size = area.area_m2 / FT2_M2;
        gallons += mawa_gal(eto, etaf, size, if area.special { size } else { 0.0 });
    }
    Ok(gallons * M3_PER_GALLON)
}

fn eto_in(file: &PropertyFile, assessment: &Assessment<'_>) -> Option<f64> {
    file.limits.eto_in.or_else(|| number(assessment, "site.et0_year_mm").map(|metres| metres / INCH_M))
}

fn number(assessment: &Assessment<'_>, id: &str) -> Option<f64> {
    value(assessment, id)?.as_number()
}

fn value<'a>(assessment: &'a Assessment<'_>, id: &str) -> Option<&'a Value> {
    let slot = assessment.knowledge.vocabulary.slot(id)?;
    assessment.values.get(slot.index)?.as_ref()
}

/// Whether an area is watered, as far as is known.
fn is_watered(assessment: &Assessment<'_>) -> bool {
    value(assessment, "site.irrigation").and_then(Value::as_position) != Some(0)
}

/// What candidates take at one area.
struct Taking<'a, 'k> {
    area: &'a Area,
    assessment: &'a Assessment<'k>,
    file: &'a PropertyFile,
}

impl Taking<'_, '_> {
    /// What may be chosen: every species that is not refused and of which each limited figure is known.
    fn options(&self, measures: &[Measure]) -> (Vec<ModelOption>, Vec<usize>, Vec<(Measure, usize)>) {
        let knowledge = self.assessment.knowledge;
        let (mut options, mut positions) = (Vec::new(), Vec::new());
        let mut missing: Vec<(Measure, usize)> = Vec::new();
        for (at, candidate) in self.assessment.candidates.iter().enumerate() {
            if candidate.standing.class == Class::N {
                continue;
            }
            let taken: Vec<Option<f64>> =
                measures.iter().map(|measure| self.takes(*measure, candidate)).collect();
            let takes: Option<Vec<f64>> = taken.iter().copied().collect();
            let kind = knowledge.species.iter().position(|own| own.id == candidate.species.id);
            let (Some(takes), Some(kind)) = (takes, kind) else {
                let unknown = measures.iter().zip(&taken).filter(|(_, taken)| taken.is_none());
                for (measure, _) in unknown {
                    match missing.iter_mut().find(|(own, _)| own == measure) {
                        Some((_, count)) => *count += 1,
                        None => missing.push((*measure, 1)),
                    }
                }
                continue;
            };
            let seeds = !self.file.limits.seed_drift && reseeds(candidate.species, knowledge);
            let creeps = creeps(candidate.species, knowledge);
            options.push(ModelOption { kind, value: candidate.standing.index, takes, creeps, seeds });
            positions.push(at);
        }
        (options, positions, missing)
    }

    /// What a candidate takes for each square metre; `None` where that is not known.
    fn takes(&self, measure: Measure, candidate: &Candidate<'_>) -> Option<f64> {
        let efficiency = match self.area.system {
            Some(System::Drip) => DRIP_EFFICIENCY,
            Some(System::Spray) | None => SPRAY_EFFICIENCY,
        };
        match measure {
            Measure::Nitrogen => nitrogen(candidate.species, self.assessment.knowledge),
            _ if !is_watered(self.assessment) => Some(0.0),
            Measure::Water => Some(self.irrigation_m(candidate)? / efficiency),
            Measure::Etwu => {
                let eto = eto_in(self.file, self.assessment)?;
                let factor = self.worst(candidate, "fit.water_need")?;
                Some(etwu_gal(eto, factor, efficiency, 1.0 / FT2_M2) * M3_PER_GALLON)
            }
        }
    }

    /// Irrigation a year, metres at the roots: what keeps it green, or alive where a tan rest is
    /// accepted; never more than the cap of the season.
    fn irrigation_m(&self, candidate: &Candidate<'_>) -> Option<f64> {
        let rests = value(self.assessment, "site.accept_dormant").and_then(Value::as_flag) == Some(true);
        let id = if rests { "fit.survival_irrigation_mm" } else { "fit.green_irrigation_mm" };
        let wanted = self.worst(candidate, id)?;
        Some(number(self.assessment, "site.season_cap_mm").map_or(wanted, |cap| wanted.min(cap)))
    }

    /// A figure of the species at this area; the highest where it may be several.
    fn worst(&self, candidate: &Candidate<'_>, id: &str) -> Option<f64> {
        let slot = self.assessment.knowledge.vocabulary.slot(id)?;
        if let Some(Some(known)) = candidate.outcome.fit.get(slot.index) {
            return known.as_number();
        }
        let computed = self.assessment.yearly_water(candidate).into_iter().find(|fact| fact.slot == slot)?;
        computed.values.iter().filter_map(Value::as_number).reduce(f64::max)
    }
}

fn trait_of<'a>(species: &'a Species, id: &str, knowledge: &Knowledge) -> Option<&'a Value> {
    let slot = knowledge.vocabulary.slot(id)?;
    species.traits.get(slot.index)?.as_ref().map(|one| &one.value)
}

/// Nitrogen that it wants at least, kg a square metre and year.
fn nitrogen(species: &Species, knowledge: &Knowledge) -> Option<f64> {
    trait_of(species, "species.nitrogen_kg_ha_yr", knowledge)?.as_range().map(|(low, _)| low)
}

/// Whether its runners go into a neighbour, by the table of neighbours; what is not known of its growth
/// is taken for the worse.
fn creeps(species: &Species, knowledge: &Knowledge) -> bool {
    let position = |id: &str| trait_of(species, id, knowledge).and_then(Value::as_position);
    let Some(habit) = position("species.spread_habit") else { return true };
    let table = knowledge.table_named("neighbours");
    let Some(from) = table.and_then(|table| table.value(habit, "creeps_from")?.as_position()) else {
        return false;
    };
    position("species.spread_rate").is_none_or(|pace| pace >= from)
}

/// Whether it is on record that it seeds itself; of most species nothing is.
fn reseeds(species: &Species, knowledge: &Knowledge) -> bool {
    trait_of(species, "species.reseeds", knowledge).and_then(Value::as_flag) == Some(true)
}
