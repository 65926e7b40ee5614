//! The ranked answer as JSON: a contract with programs. SI always, ratings and index 0 to 100.
//!
//! What many lines share is written once and named by its id: the sources and rules of the answer, and
//! the traits of a species. Candidates that are not shown stand there without their reasons.

use std::collections::BTreeMap;

use serde_json::{Map, Value as Json, json};

use super::month_table::demand_met;
use super::recommend_text::Shown;
use crate::assess::robust::TIES_FROM;
use crate::assess::{Assessment, Candidate};
use crate::engine::facts::Origin;
use crate::engine::value::{Slot, Space, Value};
use crate::explain::{
    Detail, Explanation, Figured, OverlaidFacts, explain, open_inputs, overlays_of_need,
    overlays_of_standing, trace_candidate, trace_site,
};
use crate::knowledge::citation::Citation;
use crate::knowledge::overlay::Overlay;
use crate::knowledge::rule::Rule;
use crate::knowledge::sources::Publication;
use crate::knowledge::vocabulary::Kind;
use crate::rank::{Class, Standing};
use crate::units::UnitSystem;

/// Version of the contract.
pub const SCHEMA: u32 = 2;

/// What the lines of an answer share, each written once.
#[derive(Default)]
struct Shared<'k> {
    rules: BTreeMap<&'k str, &'k Rule>,
    sources: BTreeMap<&'k str, Json>,
}

impl<'k> Shared<'k> {
    fn rule(&mut self, rule: &'k Rule) -> &'k str {
        if self.rules.insert(&rule.id, rule).is_none() {
            rule.citations.iter().for_each(|one| self.source(&one.publication));
        }
        &rule.id
    }

    fn source(&mut self, publication: &'k Publication) {
        let entry = || {
            json!({
                "title": publication.title,
                "kind": publication.kind.name(),
                "year": publication.year,
                "url": publication.url,
            })
        };
        self.sources.entry(&publication.key).or_insert_with(entry);
    }

    fn rules(&self) -> Json {
        let rule = |rule: &Rule| json!({ "title": rule.title, "sources": sources(&rule.citations) });
        self.rules.iter().map(|(id, own)| ((*id).to_owned(), rule(own))).collect::<Map<_, _>>().into()
    }

    fn sources(self) -> Json {
        self.sources.into_iter().map(|(key, own)| (key.to_owned(), own)).collect::<Map<_, _>>().into()
    }
}

/// The whole answer.
pub fn recommend_json(assessment: &Assessment<'_>, shown: Shown) -> Json {
    let knowledge = assessment.knowledge;
    let mut shared = Shared::default();
    let suited = assessment.candidates.iter().filter(|one| one.standing.class != Class::N);
    let last = suited.take(shown.top).count();
    let candidates = assessment.candidates.iter().enumerate();
    let ranking: Vec<Json> =
        candidates.map(|(at, one)| candidate(assessment, one, shown.all || at < last, &mut shared)).collect();
    let site_says = explain(assessment, None, &trace_site(assessment), UnitSystem::Si);
    let all: Vec<&Candidate<'_>> = assessment.candidates.iter().collect();
    let open: Vec<Json> = open_inputs(assessment, &all)
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
        "site": {
            "name": assessment.site.name,
            "facts": facts(assessment),
            "cautions": cautions(&site_says, &mut shared),
            "tasks": tasks(&site_says, &mut shared),
        },
        "ranking": ranking,
        "ties": ties(assessment),
        "open": open,
        "rules": shared.rules(),
        "sources": shared.sources(),
    })
}

/// From what shared places are told.
fn ties(assessment: &Assessment<'_>) -> Json {
    let telling = assessment.robustness.as_ref().filter(|own| own.tell_ties());
    let samples = telling.map(|own| own.samples);
    json!({
        "from": if samples.is_some() { "samples" } else { "index" },
        "samples": samples.unwrap_or(0),
        "least_share_before": samples.map(|_| TIES_FROM),
        "within_points": finite(assessment.knowledge.needs.tie_within),
    })
}

fn facts(assessment: &Assessment<'_>) -> Vec<Json> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let overlaid = OverlaidFacts::of(assessment);
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
            "overlays": overlaid.overlays_in_full(Slot { space: Space::Site, index }),
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

/// One candidate; without its reasons and cautions where it is not shown.
fn candidate<'k>(
    assessment: &Assessment<'k>,
    candidate: &Candidate<'k>,
    full: bool,
    shared: &mut Shared<'k>,
) -> Json {
    let needs = &assessment.knowledge.needs.all;
    let levels: Vec<Json> = candidate
        .needs
        .iter()
        .map(|state| {
            json!({
                "need": needs[state.need].id,
                "level": finite(state.counted().value()),
                "rating": finite(state.rating().value()),
                "overlays": overlays_of_need(candidate, state.need, assessment),
            })
        })
        .collect();
    let standing = &candidate.standing;
    let mut told = json!({
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
        "overlays": overlays_of_standing(candidate, assessment),
        "water": water(assessment, candidate, full),
        "needs": levels,
        "held_back_by": held_back_by(assessment, candidate, shared),
        "not_tried": not_tried(assessment, candidate),
        "detail": if full { "full" } else { "short" },
    });
    if let (true, Json::Object(told)) = (full, &mut told) {
        let trace = trace_candidate(assessment, candidate, Detail::Brief);
        let explanation = explain(assessment, Some(candidate), &trace, UnitSystem::Si);
        told.insert("reasons".to_owned(), reasons(assessment, &explanation, shared));
        told.insert("traits".to_owned(), traits(assessment, &explanation, shared));
        told.insert("cautions".to_owned(), cautions(&explanation, shared).into());
        told.insert("tasks".to_owned(), tasks(&explanation, shared).into());
    }
    told
}

/// The inputs that "N2" leaves aside, since they are not stated.
fn not_tried<'k>(assessment: &Assessment<'k>, candidate: &Candidate<'k>) -> Vec<&'k str> {
    candidate.left_out.iter().map(|fact| assessment.knowledge.vocabulary.site[*fact].id.as_str()).collect()
}

/// The rules behind the need that decides the class: those that brought it to its level, or where none
/// was decided those that are open.
fn held_back_by<'k>(
    assessment: &Assessment<'k>,
    candidate: &Candidate<'k>,
    shared: &mut Shared<'k>,
) -> Vec<&'k str> {
    let bears = || candidate.needs.iter().filter(|state| !state.is_saving);
    let Some(worst) = bears().map(|state| state.used().value()).reduce(f64::max) else { return Vec::new() };
    let mut rules: Vec<usize> = Vec::new();
    for state in bears().filter(|state| state.used().value() >= worst && worst > 0.0) {
        let outcome = &candidate.outcome.needs[state.need];
        let decided = outcome.contributions.iter().filter(|one| one.level >= worst).map(|one| one.rule);
        let before = rules.len();
        rules.extend(decided);
        if rules.len() == before {
            rules.extend(outcome.open.iter().map(|one| one.rule));
        }
    }
    rules.sort_unstable();
    rules.dedup();
    rules.into_iter().map(|rule| shared.rule(&assessment.knowledge.rules[rule])).collect()
}

fn reasons<'k>(assessment: &Assessment<'k>, explanation: &Explanation<'k>, shared: &mut Shared<'k>) -> Json {
    let quantity = |read: &Option<Figured>| {
        read.as_ref().map(|read| {
            let unit = read.kind.unit().map(|unit| unit.name);
            json!({ "fact": read.written, "value": plain(assessment, &read.value, read.kind), "unit": unit })
        })
    };
    let reasons = explanation.reasons.iter().map(|reason| {
        json!({
            "rule": shared.rule(reason.rule),
            "direction": reason.direction.name(),
            "need": assessment.knowledge.needs.all[reason.need].id,
            "level": reason.level.and_then(finite),
            "text": reason.text,
            "observed": quantity(&reason.observed),
            "needed": quantity(&reason.needed),
            "overlays": reason.overlays,
            "traits": reason.bases.iter().map(|basis| &basis.name).collect::<Vec<_>>(),
        })
    });
    reasons.collect()
}

/// The traits that the reasons of a species rest on, each once.
fn traits<'k>(assessment: &Assessment<'k>, explanation: &Explanation<'k>, shared: &mut Shared<'k>) -> Json {
    let mut traits = BTreeMap::new();
    for basis in explanation.reasons.iter().flat_map(|reason| &reason.bases) {
        if traits.contains_key(&basis.name) {
            continue;
        }
        let cited = basis.citations.iter();
        cited
            .filter_map(|(key, _)| assessment.knowledge.sources.get(key))
            .for_each(|publication| shared.source(publication));
        let told = json!({
            "estimated": basis.estimated,
            "from_memory": basis.memory,
            "common_practice": basis.practice,
            "sources": basis.citations.iter()
                .map(|(key, at)| json!({ "key": key, "at": at })).collect::<Vec<_>>(),
        });
        traits.insert(basis.name.clone(), told);
    }
    traits.into_iter().collect::<Map<_, _>>().into()
}

/// What the daily balance finds for a species, in the order in which it is read, with the keys of the contract: the
/// unit stands in each.
pub(super) const WATER: [(&str, &str); 9] = [
    ("fit.kc", "demand_pct_of_et0"),
    ("fit.water_need", "need_pct_of_et0"),
    ("fit.et_met", "need_met_driest_quarter_pct"),
    ("fit.et_met_year", "need_met_year_pct"),
    ("fit.demand_met", "demand_met_pct"),
    ("fit.stress_days", "stress_days_per_year"),
    ("fit.longest_wilting_d", "one_in_ten_years_wilting_run_days"),
    ("fit.green_irrigation_mm", "net_irrigation_green_mm_per_year"),
    ("fit.survival_irrigation_mm", "net_irrigation_survival_mm_per_year"),
];

/// The water of a species; null for a figure that waits for an input. Of the months only those that are
/// shown are worked out.
fn water(assessment: &Assessment<'_>, candidate: &Candidate<'_>, full: bool) -> Json {
    let vocabulary = &assessment.knowledge.vocabulary;
    let figure = |id: &str| {
        let slot = vocabulary.slot(id)?;
        let value = candidate.outcome.fit.get(slot.index)?.as_ref()?;
        Some(plain(assessment, value, vocabulary.declaration(slot)?.kind))
    };
    let mut told: Map<String, Json> =
        WATER.iter().map(|(id, key)| ((*key).to_owned(), json!(figure(id)))).collect();
    if full {
        let water = assessment.monthly_water(candidate);
        let met = water.and_then(|water| demand_met(&water.months)).and_then(|share| finite(100.0 * share));
        told.insert("demand_met_year_pct".to_owned(), json!(met));
    }
    told.into()
}

/// The neighbouring class, where the level that decides lies so near its border that either may hold;
/// none where it is settled whether anything helps a species that is refused.
fn class_border(standing: &Standing<usize>) -> Option<&'static str> {
    if standing.changeable.is_some() {
        return None;
    }
    let span = standing.span;
    [span.better, span.worse].into_iter().find(|class| *class != standing.class).map(Class::symbol)
}

fn cautions<'k>(explanation: &Explanation<'k>, shared: &mut Shared<'k>) -> Vec<Json> {
    explanation
        .cautions
        .iter()
        .map(|caution| {
            json!({
                "rule": shared.rule(caution.rule),
                "severity": caution.gravity.name(),
                "text": caution.text,
                "defer_to": caution.defer_to,
                "overlays": caution.overlays,
            })
        })
        .collect()
}

fn tasks<'k>(explanation: &Explanation<'k>, shared: &mut Shared<'k>) -> Vec<Json> {
    explanation
        .tasks
        .iter()
        .map(|task| {
            json!({
                "rule": shared.rule(task.rule),
                "stage": task.stage.name(),
                "text": task.text,
                "overlays": task.overlays,
            })
        })
        .collect()
}

fn sources(citations: &[Citation]) -> Vec<Json> {
    citations.iter().map(|one| json!({ "key": one.publication.key, "at": one.at })).collect()
}
