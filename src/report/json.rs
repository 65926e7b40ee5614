//! The ranked answer as JSON: a contract with programs. SI always, ratings and index 0 to 100.

use serde_json::{Value as Json, json};

use crate::assess::{Assessment, Candidate, matters};
use crate::engine::facts::Origin;
use crate::engine::value::{Slot, Space, Value};
use crate::explain::{Detail, Explanation, Figured, explain, trace_candidate, trace_site};
use crate::knowledge::citation::Citation;
use crate::knowledge::overlay::Overlay;
use crate::knowledge::vocabulary::{Change, Kind};
use crate::rank::{Class, Standing};
use crate::units::UnitSystem;

/// Version of the contract.
pub const SCHEMA: u32 = 1;

/// The whole answer.
pub fn recommend_json(assessment: &Assessment<'_>) -> Json {
    let knowledge = assessment.knowledge;
    let ranking: Vec<Json> = assessment.candidates.iter().map(|one| candidate(assessment, one)).collect();
    let site_says = explain(assessment, None, &trace_site(assessment), UnitSystem::Si);
    let all: Vec<&Candidate<'_>> = assessment.candidates.iter().collect();
    let open: Vec<Json> = open_facts(assessment, &all)
        .iter()
        .map(|fact| {
            json!({
                "fact": knowledge.vocabulary.site[fact.index].id,
                "question": fact.question,
                "could_change": fact.could_change,
            })
        })
        .collect();
    json!({
        "schema": SCHEMA,
        "program": { "name": "swardwright", "version": env!("CARGO_PKG_VERSION") },
        "knowledge": {
            "edition": knowledge.edition.version.to_string(),
            "digest": knowledge.digest,
            "overlays": knowledge.overlays.iter().map(Overlay::label).collect::<Vec<_>>(),
        },
        "site": { "name": assessment.site.name, "facts": facts(assessment), "cautions": cautions(&site_says) },
        "ranking": ranking,
        "open": open,
    })
}

fn facts(assessment: &Assessment<'_>) -> Vec<Json> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let mut facts = Vec::new();
    for (index, value) in assessment.values.iter().enumerate() {
        let Some(value) = value else { continue };
        let declaration = &vocabulary.site[index];
        let (origin, method) = match assessment.facts.known[index].as_ref().map(|known| &known.origin) {
            Some(Origin::Given) => ("given", None),
            Some(Origin::Read(words)) => ("given", Some(words.clone())),
            Some(Origin::Nearest(words)) => ("nearest place", Some(words.clone())),
            Some(Origin::Computed(words)) => ("computed", Some(words.clone())),
            Some(Origin::Estimated(words)) => ("estimated", Some(words.clone())),
            Some(Origin::Derived(rule)) => ("derived", Some(rule.clone())),
            None => ("derived", None),
        };
        facts.push(json!({
            "id": declaration.id,
            "value": plain(assessment, value, declaration.kind),
            "unit": declaration.kind.unit().map(|unit| unit.name),
            "origin": origin,
            "method": method,
        }));
    }
    facts
}

/// A value as JSON writes it, in the unit of its declaration.
fn plain(assessment: &Assessment<'_>, value: &Value, kind: Kind) -> Json {
    let vocabulary = &assessment.knowledge.vocabulary;
    let number = |base: f64| kind.unit().map_or(base, |unit| unit.express(base));
    let round = |number: f64| (number * 1e6).round() / 1e6;
    match (value, kind) {
        (Value::Number(base), _) => json!(round(number(*base))),
        (Value::Range(low, high), _) => json!({ "low": finite(number(*low)), "high": finite(number(*high)) }),
        (Value::Months(months), _) => json!(months.map(|base| round(number(base)))),
        (Value::Flag(flag), _) => json!(flag),
        (Value::Step(at), Kind::Scale(list)) | (Value::Choice(at), Kind::Choice(list)) => {
            json!(vocabulary.list(list).names.get(usize::from(*at)))
        }
        (Value::Set(bits), Kind::Set(list)) => {
            let names = vocabulary.list(list).names.iter().enumerate();
            json!(names.filter(|(at, _)| bits >> at & 1 == 1).map(|(_, name)| name).collect::<Vec<_>>())
        }
        (Value::Text(text), _) => json!(&**text),
        (Value::Texts(texts), _) => json!(texts.iter().map(|text| &**text).collect::<Vec<&str>>()),
        _ => Json::Null,
    }
}

fn finite(number: f64) -> Option<f64> {
    number.is_finite().then_some((number * 1e6).round() / 1e6)
}

fn candidate(assessment: &Assessment<'_>, candidate: &Candidate<'_>) -> Json {
    let needs = &assessment.knowledge.needs.all;
    let trace = trace_candidate(assessment, candidate, Detail::Brief);
    let explanation = explain(assessment, Some(candidate), &trace, UnitSystem::Si);
    let levels: Vec<Json> = candidate
        .needs
        .iter()
        .map(|state| {
            json!({
                "need": needs[state.need].id,
                "level": finite(state.counted().value()),
                "rating": finite(state.rating().value()),
            })
        })
        .collect();
    let quantity = |read: &Option<Figured>| {
        read.as_ref().map(|read| {
            let unit = read.kind.unit().map(|unit| unit.name);
            json!({ "fact": read.written, "value": plain(assessment, &read.value, read.kind), "unit": unit })
        })
    };
    let reasons: Vec<Json> = explanation
        .reasons
        .iter()
        .map(|reason| {
            json!({
                "rule": reason.rule.id,
                "direction": reason.direction.name(),
                "need": needs[reason.need].id,
                "level": reason.level.and_then(finite),
                "text": reason.text,
                "observed": quantity(&reason.observed),
                "needed": quantity(&reason.needed),
                "sources": sources(&reason.rule.citations),
                "overlays": reason.overlays,
                "traits": reason.bases.iter().map(|basis| json!({
                    "trait": basis.name,
                    "estimated": basis.estimated,
                    "from_memory": basis.memory,
                    "common_practice": basis.practice,
                    "sources": basis.citations.iter()
                        .map(|(key, at)| json!({ "key": key, "at": at })).collect::<Vec<_>>(),
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    let standing = &candidate.standing;
    json!({
        "rank": candidate.rank,
        "tied_with": candidate.tied_with,
        "species": candidate.species.id,
        "common_name": candidate.species.name(),
        "class": standing.refined_symbol(),
        "class_border": class_border(standing),
        "class_best": standing.class_best.symbol(),
        "class_worst": standing.class_worst.symbol(),
        "index": (standing.index * 100.0).round() / 100.0,
        "robustness": assessment.shares(candidate).map(|(samples, shares)| json!({
            "samples": samples,
            "first": finite(shares.first),
            "first_three": finite(shares.first_three),
            "in_class": finite(shares.in_class),
        })),
        "overlay": assessment.knowledge.overlay_of(&candidate.species.place).map(|overlay| &overlay.id),
        "water": water(assessment, candidate),
        "needs": levels,
        "reasons": reasons,
        "cautions": cautions(&explanation),
    })
}

/// What the daily balance found for a species, by the keys of the contract: the unit stands in each.
const WATER: [(&str, &str); 8] = [
    ("fit.kc", "demand_pct_of_et0"),
    ("fit.water_need", "need_pct_of_et0"),
    ("fit.et_met", "need_met_driest_quarter_pct"),
    ("fit.et_met_year", "need_met_year_pct"),
    ("fit.stress_days", "stress_days_per_year"),
    ("fit.longest_wilting_d", "one_in_ten_years_wilting_run_days"),
    ("fit.green_irrigation_mm", "net_irrigation_green_mm_per_year"),
    ("fit.survival_irrigation_mm", "net_irrigation_survival_mm_per_year"),
];

/// The water of a species; null for a figure that waits for an input.
fn water(assessment: &Assessment<'_>, candidate: &Candidate<'_>) -> Json {
    let vocabulary = &assessment.knowledge.vocabulary;
    let figure = |id: &str| {
        let slot = vocabulary.slot(id)?;
        let value = candidate.outcome.fit.get(slot.index)?.as_ref()?;
        Some(plain(assessment, value, vocabulary.declaration(slot)?.kind))
    };
    Json::Object(WATER.iter().map(|(id, key)| ((*key).to_owned(), json!(figure(id)))).collect())
}

/// The neighbouring class, where the level that decides lies so near its border that either may hold.
fn class_border(standing: &Standing<usize>) -> Option<&'static str> {
    let span = standing.span;
    [span.better, span.worse].into_iter().find(|class| *class != standing.class).map(Class::symbol)
}

fn cautions(explanation: &Explanation<'_>) -> Vec<Json> {
    explanation
        .cautions
        .iter()
        .map(|caution| {
            json!({
                "rule": caution.rule.id,
                "severity": caution.gravity.name(),
                "text": caution.text,
                "defer_to": caution.defer_to,
                "sources": sources(&caution.rule.citations),
                "overlays": caution.overlays,
            })
        })
        .collect()
}

fn sources(citations: &[Citation]) -> Vec<Json> {
    citations.iter().map(|one| json!({ "key": one.publication.key, "at": one.at })).collect()
}

/// An input that the site file leaves out and that some rule waits for.
pub struct OpenInput {
    /// Position of its declaration.
    pub index: usize,
    /// How a client is asked for it.
    pub question: String,
    /// Whether it might change a level of a candidate.
    pub could_change: bool,
    /// The values that were tried in its place, written.
    pub tried: String,
}

/// The inputs that rules wait for, those that might change a level first.
pub fn open_facts(assessment: &Assessment<'_>, candidates: &[&Candidate<'_>]) -> Vec<OpenInput> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let mut waited: std::collections::BTreeMap<usize, bool> = std::collections::BTreeMap::new();
    let mut note = |slots: &[Slot], matters: bool| {
        for slot in slots.iter().filter(|slot| slot.space == Space::Site) {
            let inputs = assessment.facts.open.get(&slot.index).map(|open| open.waits_for.clone());
            let inputs = inputs.unwrap_or_else(|| vec![slot.index]);
            for input in inputs.into_iter().filter(|input| !vocabulary.site[*input].ask.is_empty()) {
                *waited.entry(input).or_default() |= matters;
            }
        }
    };
    for candidate in candidates {
        for need in &candidate.outcome.needs {
            for open in &need.open {
                note(&open.missing, matters(need.level, open.worst));
            }
        }
        candidate.outcome.unspoken.iter().for_each(|open| note(&open.missing, false));
    }
    assessment.site_outcome.unspoken.iter().for_each(|open| note(&open.missing, false));
    let mut open: Vec<OpenInput> = waited
        .into_iter()
        .map(|(index, could_change)| {
            let declaration = &vocabulary.site[index];
            let mut tried: Vec<String> = declaration
                .plausible
                .iter()
                .map(|value| vocabulary.write(value, declaration.kind, assessment.units()))
                .collect();
            tried.dedup();
            OpenInput { index, question: declaration.ask.clone(), could_change, tried: tried.join(", ") }
        })
        .collect();
    open.sort_by_key(|fact| {
        (!fact.could_change, vocabulary.site[fact.index].change == Change::Impossible, fact.index)
    });
    open
}
