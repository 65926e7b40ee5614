//! The answer of a property as JSON: SI, indices 0 to 100.

use serde_json::{Value as Json, json};

use super::header::{not_known, origin_words};
use super::property_cautions::cautions;
use super::property_limits::{key, limit_words};
use crate::alike::{each_once, grouped};
use crate::explain::{overlays_of_limit, overlays_of_option, overlays_of_taking};
use crate::knowledge::overlay::Overlay;
use crate::property::{Answer, Best, Charge, Limit, Measure, Property};
use crate::units::UnitSystem;

/// Version of the contract `schemas/property-answer.schema.json`.
pub const SCHEMA: u32 = 1;

/// The whole answer.
pub fn property_json(property: &Property<'_>) -> Json {
    let knowledge = property.assessments.first().map(|one| {
        json!({
            "edition": one.knowledge.edition.version.to_string(),
            "digest": one.knowledge.digest,
            "overlays": one.knowledge.overlays.iter().map(Overlay::label).collect::<Vec<_>>(),
        })
    });
    let (outcome, answer) = answer_json(property);
    let in_the_dark = property.assessments.iter().zip(&property.file.areas);
    let in_the_dark: Vec<Json> = in_the_dark
        .map(|(one, area)| (not_known(one), area))
        .filter(|(missing, _)| !missing.is_empty())
        .map(|(missing, area)| json!({ "area": area.name, "facts": missing }))
        .collect();
    json!({
        "schema": SCHEMA,
        "program": { "name": "swardwright", "version": env!("CARGO_PKG_VERSION") },
        "knowledge": knowledge,
        "property": { "name": property.file.name, "area_m2": property.model.size() },
        "not_known": in_the_dark,
        "outcome": outcome,
        "answer": answer,
        "left_out": left_out_json(property),
    })
}

/// What came of it, and what it holds.
fn answer_json(property: &Property<'_>) -> (&'static str, Json) {
    let without = |areas: &[usize]| {
        let areas: Vec<&str> = areas.iter().map(|at| property.file.areas[*at].name.as_str()).collect();
        let others = property.others.as_deref().map(|others| {
            let (outcome, answer) = answer_json(others);
            json!({ "outcome": outcome, "answer": answer, "left_out": left_out_json(others) })
        });
        json!({ "areas": areas, "others": others })
    };
    match &property.answer {
        Answer::Best(best) => ("best", best_json(property, best)),
        Answer::Conflict(limits) => {
            let limits: Vec<Json> = limits.iter().map(|limit| limit_json(property, *limit)).collect();
            ("conflict", json!({ "limits": limits }))
        }
        Answer::NothingSuits(areas) => ("nothing-suits", without(areas)),
        Answer::NotKnown(areas) => ("not-known", without(areas)),
    }
}

fn left_out_json(property: &Property<'_>) -> Vec<Json> {
    let areas = property.without_figure.iter().zip(&property.file.areas);
    let of_area = areas.flat_map(|(missing, area)| {
        let one = |(measure, count): &(Measure, usize)| json!({ "area": area.name, "not_known": key(*measure), "species": count });
        missing.iter().map(one)
    });
    of_area.collect()
}

fn best_json(property: &Property<'_>, best: &Best) -> Json {
    let model = &property.model;
    let value = model.value(&best.choice);
    let limits: Vec<Json> = model
        .limits()
        .iter()
        .map(|limit| {
            let mut one = limit_json(property, *limit);
            one["overlays"] = json!(overlays_of_limit(property, &best.choice, *limit));
            let price = best.prices.iter().find(|price| price.limit == *limit);
            let priced = !best.unpriced.contains(limit);
            one["binds"] = if priced { json!(price.is_some()) } else { Json::Null };
            one["lifted_mean_index"] = json!(price.map(|price| round(price.lifted)));
            if let Limit::Resource(_) = limit {
                one["lifted_takes_unknown"] = json!(price.map(|price| price.with_unknown));
            }
            let step = price.and_then(|price| price.step);
            one["least_that_helps"] = json!(
                step.map(|step| json!({ "most": round_up(step.allowed), "mean_index": round(step.value) }))
            );
            match limit {
                Limit::Resource(at) => one["used"] = json!(round(model.used(&best.choice, *at))),
                Limit::Kinds => one["used"] = json!(model.count_kinds(&best.choice)),
                Limit::Pair(_) | Limit::Zone(_) => {}
            }
            one
        })
        .collect();
    let runner_up = best.runner_up.as_ref().map(
        |second| json!({ "mean_index": round(model.value(second)), "areas": areas_json(property, second) }),
    );
    json!({
        "mean_index": round(value),
        "areas": areas_json(property, &best.choice),
        "limits": limits,
        "runner_up": runner_up,
        "mean_index_without_neighbours": best.all_apart.map(round),
        "cautions": cautions_json(property, &best.choice),
    })
}

fn areas_json(property: &Property<'_>, choice: &[usize]) -> Vec<Json> {
    let model = &property.model;
    let rates: Vec<Vec<f64>> = (0..property.measures.len()).map(|at| model.rates(choice, at)).collect();
    let (charges, works) = (property.charges(choice), property.works(choice));
    (0..choice.len())
        .map(|at| {
            let candidate = property.candidate(at, choice[at]);
            let size = property.file.areas[at].area_m2;
            let mut area = json!({
                "name": property.file.areas[at].name,
                "area_m2": size,
                "species": candidate.species.id,
                "common_name": candidate.species.name(),
                "class": candidate.standing.class.symbol(),
                "index": round(candidate.standing.index),
                "overlays": overlays_of_option(property, at, choice[at]),
            });
            let overlays = |measure| json!(overlays_of_taking(property, at, choice[at], measure));
            for (measure, rates) in property.measures.iter().zip(&rates) {
                area[key(*measure)] = json!(round(rates[at] * size));
            }
            if let Some(charge) = charges.get(at) {
                area["allowance"] = charge_json(property, at, *charge);
                area["allowance"]["overlays"] = overlays(Measure::Etwu);
            }
            if let Some(work) = works.get(at).copied().flatten() {
                area["upkeep"] = json!({
                    "cuts_yr": round(work.cuts),
                    "mowing_m2_h": round(work.mowing_m2_h),
                    "mowing_hours_yr": round(work.mowing_h() * size),
                    "care_hours_yr": round(work.care_h * size),
                    "overlays": overlays(Measure::Hours),
                });
            }
            area
        })
        .collect()
}

/// What the landscape ordinance reckons an area by.
fn charge_json(property: &Property<'_>, area: usize, charge: Charge) -> Json {
    let (how, plant_factor, efficiency) = match charge {
        Charge::Dry => ("not-watered", None, None),
        Charge::Special => ("special", None, None),
        Charge::Regular { plant_factor, efficiency } => {
            ("regular", Some(round(plant_factor)), Some(efficiency))
        }
    };
    let eto = property.etos[area].as_ref();
    json!({
        "landscape": how,
        "plant_factor": plant_factor,
        "efficiency": efficiency,
        "eto_in_yr": eto.map(|eto| round(eto.inches)),
        "eto_source": eto.map(|eto| origin_words(&eto.origin).unwrap_or_else(|| "eto_in_yr".to_owned())),
    })
}

fn limit_json(property: &Property<'_>, limit: Limit) -> Json {
    let words = limit_words(property, limit, UnitSystem::Si);
    let name = |at: usize| property.file.areas[at].name.as_str();
    match limit {
        Limit::Kinds => json!({ "limit": "kinds", "most": property.model.kinds, "words": words }),
        Limit::Resource(at) => json!({
            "limit": key(property.measures[at]),
            "most": round(property.model.resources[at].most),
            "words": words,
        }),
        Limit::Pair(at) => {
            let pair = property.model.pairs[at];
            let areas = [name(pair.a), name(pair.b)];
            json!({ "limit": "neighbours", "areas": areas, "edged": pair.edged, "words": words })
        }
        Limit::Zone(zone) => {
            json!({ "limit": "hydrozone", "name": property.file.zones[zone], "words": words })
        }
    }
}

/// Each caution once, with the areas that it is of.
fn cautions_json(property: &Property<'_>, choice: &[usize]) -> Vec<Json> {
    let told = cautions(property, choice, UnitSystem::Si);
    let told = told.iter().map(|(caution, at)| {
        let words = json!({
            "rule": caution.rule.id,
            "severity": caution.gravity.name(),
            "text": caution.text,
            "defer_to": caution.defer_to,
            "overlays": caution.overlays,
        });
        (words, property.file.areas[*at].name.as_str())
    });
    let with_areas = grouped(told).into_iter().map(|(mut caution, areas)| {
        caution["areas"] = json!(each_once(areas));
        caution
    });
    with_areas.collect()
}

/// Rounded so that it is enough.
fn round_up(number: f64) -> f64 {
    (number * 1e6).ceil() / 1e6
}

fn round(number: f64) -> f64 {
    (number * 1e6).round() / 1e6
}
