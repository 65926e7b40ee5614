//! Each area through the rules, and what may be chosen for it as pure data.

use std::sync::Arc;

use super::allowance::{Charge, Eto, allowance_m3, charge, eto};
use super::answer::{Answer, answer};
use super::file::{self, PropertyFile};
use super::known::{is_watered, value};
use super::model::{Model, ModelArea, Pair, Resource};
use super::taking::Taking;
use super::upkeep::{Work, upkeep};
use crate::assess::{Assessment, Candidate, assess_unparted};
use crate::diag::{Finding, Findings, Source};
use crate::knowledge::Knowledge;
use crate::units::UnitSystem;

/// A property with its answer.
#[derive(Debug)]
pub struct Property<'k> {
    /// The file.
    pub file: PropertyFile,
    /// The areas as assessed, in the order of the file.
    pub assessments: Vec<Assessment<'k>>,
    /// For each area the positions of its candidates that may be chosen, as the model numbers them.
    pub options: Vec<Vec<usize>>,
    /// For each area the ETo that the landscape ordinance reckons by, where its allowance is asked for.
    pub etos: Vec<Option<Eto>>,
    /// What each resource of the model is.
    pub measures: Vec<Measure>,
    /// For each area the suited candidates that a limit could not be held against, by measure.
    pub without_figure: Vec<Vec<(Measure, usize)>>,
    /// What was solved.
    pub model: Model,
    /// What came of it.
    pub answer: Answer,
    /// Where some areas can hold nothing, the others by themselves, if there are any.
    pub others: Option<Box<Property<'k>>>,
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
    /// Upkeep a year, hours of one person.
    Hours,
}

/// Reads, assesses and answers a property.
pub fn property<'k>(
    source: &Arc<Source>,
    knowledge: &'k Knowledge,
) -> Result<(Property<'k>, Findings), Findings> {
    let (file, warnings) = file::read(source, knowledge)?;
    Ok((answered(file, knowledge)?, warnings))
}

/// Assesses and answers a property that was read.
fn answered(file: PropertyFile, knowledge: &Knowledge) -> Result<Property<'_>, Findings> {
    let assessments: Vec<Assessment<'_>> = file
        .areas
        .iter()
        .map(|area| assess_unparted(area.site.clone(), knowledge))
        .collect::<Result<_, Findings>>()?;
    let measures = measures(&file);
    let asks_for = |one: &Assessment<'_>| file.limits.allowance.is_some() && is_watered(one);
    let etos: Vec<Option<Eto>> =
        assessments.iter().map(|one| asks_for(one).then(|| eto(&file, one)).flatten()).collect();
    let pairs = file.pairs.iter().map(|pair| Pair { a: pair.a, b: pair.b, edged: pair.edged }).collect();
    let resources = measures
        .iter()
        .map(|measure| resource(*measure, &file, &assessments, &etos))
        .collect::<Result<Vec<Resource>, Findings>>()?;
    let mut model = Model { areas: Vec::new(), pairs, resources, kinds: file.limits.kinds };
    let (mut options, mut without_figure) = (Vec::new(), Vec::new());
    for ((area, assessment), eto) in file.areas.iter().zip(&assessments).zip(&etos) {
        let own = Taking { area, assessment, eto: eto.as_ref(), limits: &file.limits }.options(&measures);
        // what is never watered is on no valve
        let zone = area.zone.filter(|_| is_watered(assessment));
        model.areas.push(ModelArea { size: area.area_m2, zone, options: own.options });
        options.push(own.positions);
        without_figure.push(own.without_figure);
    }
    let answer = answer(&model).map_err(|undecided| {
        let message = format!("the best choice could not be found: {}", undecided.0);
        let help = "give fewer areas, or name the species to choose among under `[candidates]`";
        vec![Finding::bare("undecided", message).help(help)]
    })?;
    let others = match &answer {
        Answer::NothingSuits(areas) | Answer::NotKnown(areas) => file.without(areas),
        Answer::Best(_) | Answer::Conflict(_) => None,
    };
    let others = others.map(|file| answered(file, knowledge)).transpose()?.map(Box::new);
    Ok(Property { file, assessments, options, etos, measures, without_figure, model, answer, others })
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

    /// The upkeep of each area in a choice, for each square metre; empty where hours are not limited, and of an
    /// area nothing where it is not known.
    pub fn works(&self, choice: &[usize]) -> Vec<Option<Work>> {
        if !self.measures.contains(&Measure::Hours) {
            return Vec::new();
        }
        let works = self.assessments.iter().zip(choice).enumerate();
        works
            .map(|(at, (one, option))| upkeep(one, self.candidate(at, *option), self.file.limits.mowing_m2_h))
            .collect()
    }

    /// How the landscape ordinance charges each area in a choice; empty where its allowance is not asked for.
    pub fn charges(&self, choice: &[usize]) -> Vec<Charge> {
        let Some(at) = self.measures.iter().position(|own| *own == Measure::Etwu) else { return Vec::new() };
        let rates = self.model.rates(choice, at);
        let areas = self.file.areas.iter().zip(&self.etos).zip(rates);
        areas
            .map(|((area, eto), rate)| eto.as_ref().map_or(Charge::Dry, |eto| charge(area, eto, rate)))
            .collect()
    }
}

fn measures(file: &PropertyFile) -> Vec<Measure> {
    let limits = &file.limits;
    let stated = [
        (Measure::Water, limits.water_m3.is_some()),
        (Measure::Etwu, limits.allowance.is_some()),
        (Measure::Nitrogen, limits.nitrogen_kg.is_some()),
        (Measure::Hours, limits.hours.is_some()),
    ];
    stated.into_iter().filter(|(_, stated)| *stated).map(|(measure, _)| measure).collect()
}

/// How much there is of what is limited.
fn resource(
    measure: Measure,
    file: &PropertyFile,
    assessments: &[Assessment<'_>],
    etos: &[Option<Eto>],
) -> Result<Resource, Findings> {
    let limits = &file.limits;
    let figure = |limit: &Option<(f64, _)>| limit.as_ref().map_or(f64::INFINITY, |(most, _)| *most);
    let most = match measure {
        Measure::Water => {
            check_climates(file, assessments)?;
            figure(&limits.water_m3)
        }
        Measure::Hours => {
            check_seasons(file, assessments)?;
            figure(&limits.hours)
        }
        Measure::Nitrogen => figure(&limits.nitrogen_kg),
        Measure::Etwu => allowance_m3(file, assessments, etos)?,
    };
    Ok(Resource { most, zoned: matches!(measure, Measure::Water | Measure::Etwu) })
}

/// Without a climate nobody knows what any plant takes, so that a limit on water means nothing.
fn check_climates(file: &PropertyFile, assessments: &[Assessment<'_>]) -> Result<(), Findings> {
    let Some((_, place)) = &file.limits.water_m3 else { return Ok(()) };
    let areas = file.areas.iter().zip(assessments);
    let mut dark =
        areas.filter(|(_, one)| is_watered(one) && value(one, "site.et0_mm").is_none()).map(|(area, _)| area);
    let Some(area) = dark.next() else { return Ok(()) };
    let message = format!("a limit on water needs the climate of `{}`", area.name);
    let help = "state its climate and latitude, or `near = true` under [climate] with its place";
    Err(vec![Finding::error("water-without-climate", place, message).help(help)])
}

/// Without a climate nobody knows how long anything grows, so that a limit on hours means nothing.
fn check_seasons(file: &PropertyFile, assessments: &[Assessment<'_>]) -> Result<(), Findings> {
    let Some((_, place)) = &file.limits.hours else { return Ok(()) };
    let mut areas = file.areas.iter().zip(assessments);
    let dark = areas.find(|(_, one)| value(one, "site.growing_months").is_none()).map(|(area, _)| area);
    let Some(area) = dark else { return Ok(()) };
    let message = format!("a limit on hours needs the climate of `{}`", area.name);
    let help = "state its monthly temperatures and latitude, or `near = true` under [climate] with its place";
    Err(vec![Finding::error("hours-without-climate", place, message).help(help)])
}
