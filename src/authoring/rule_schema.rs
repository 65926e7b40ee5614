//! The schema of a rule file. Expressions are text to it: `knowledge check` reads them.

use serde_json::{Map, Value, json};

use super::field::{table_schema, text_schema, value_schema};
use super::schema::source_key;
use crate::engine::expression::LEVELS;
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Gravity, Stage, TASK_ORDER_UNSAID, TASK_ORDERS};
use crate::knowledge::sources::{COMMON_PRACTICE, FROM_MEMORY};
use crate::knowledge::vocabulary::{Declaration, From};

/// The schema.
pub fn schema(knowledge: &Knowledge, names: bool) -> Value {
    let id = json!({
        "type": "string",
        "pattern": super::id::RULE.pattern(),
        "description": "name of the rule; the file carries the same name",
    });
    let sources = json!({
        "type": "array",
        "items": { "$ref": "#/$defs/citation" },
        "minItems": 1,
        "description": "where the rule comes from",
    });
    let cases = |items: &str, words: &str| json!({ "type": "array", "items": { "$ref": items }, "minItems": 1, "description": words });
    let properties = object([
        ("id", id),
        ("title", text_schema("what it compares with what")),
        ("why", text_schema("why that matters, in plain words")),
        ("sources", sources),
        (
            "when",
            text_schema("the condition; without one the rule fires whenever all that it reads is known"),
        ),
        ("then", then(knowledge)),
        (
            "because",
            text_schema(
                "what it says when it fires: goes on from the name of the species, a verb first, no capital, no full stop; {…} holds an expression that is written with its unit",
            ),
        ),
        (
            "observed",
            text_schema(
                "an expression: what reports print as observed, where it is not a side of the condition",
            ),
        ),
        (
            "needed",
            text_schema(
                "an expression of the same kind: what reports print it against; only with `observed`",
            ),
        ),
        ("fires", cases("#/$defs/fires", "cases in which it fires")),
        ("stays_silent", cases("#/$defs/silent", "cases in which it does not fire")),
    ]);
    let required = ["id", "title", "why", "sources", "then", "because", "fires", "stays_silent"];
    let mut schema = table_schema(properties, &required, "One rule with its sources and its cases.");
    schema["title"] = json!("swardwright: a rule");
    schema["$defs"] = json!({
        "source": source_key(knowledge, names),
        "citation": citation(),
        "level": { "enum": level_names(), "description": "name of a level; none is 0, excluding is 5" },
        "given": given(knowledge),
        "fires": fires(),
        "silent": table_schema(object([("given", json!({ "$ref": "#/$defs/given" }))]), &[], "a case in which it does not fire"),
    });
    schema
}

fn object<const N: usize>(pairs: [(&str, Value); N]) -> Map<String, Value> {
    pairs.into_iter().map(|(key, value)| (key.to_owned(), value)).collect()
}

fn level_names() -> Vec<&'static str> {
    LEVELS.iter().map(|(name, _)| *name).collect()
}

fn citation() -> Value {
    let keys = object([
        ("key", json!({ "$ref": "#/$defs/source" })),
        ("at", text_schema("page, table or section of the source")),
    ]);
    let mut citation = table_schema(keys, &["key"], "a source and the place in it");
    let unpublished = json!([COMMON_PRACTICE, FROM_MEMORY]);
    citation["if"] =
        json!({ "required": ["key"], "properties": { "key": { "not": { "enum": unpublished } } } });
    citation["then"] = json!({ "required": ["at"] });
    citation
}

fn then(knowledge: &Knowledge) -> Value {
    let needs = |all: bool| -> Value {
        let needs = knowledge.needs.all.iter().filter(|need| all || need.may_exclude);
        json!({ "enum": needs.map(|need| need.id.as_str()).collect::<Vec<_>>(), "description": "the need" })
    };
    let mut limit = effect(
        object([("need", needs(true)), ("level", json!({ "$ref": "#/$defs/level" }))]),
        "sets a need to a fixed level",
    );
    limit["if"] = json!({ "required": ["level"], "properties": { "level": { "const": "excluding" } } });
    limit["then"] = json!({ "properties": { "need": needs(false) } });
    let level = text_schema(
        "an expression in quotes for a level from 0 to 5, often grade(…); the comfortable part included",
    );
    let rate =
        effect(object([("need", needs(true)), ("level", level)]), "rates a need on a continuous level");
    let exclude = effect(object([("need", needs(false))]), "refuses the species; never averaged away");
    let credit = effect(object([("need", needs(true))]), "speaks for the species: text only, moves no rank");
    let effects = object([
        ("derive", derive(knowledge)),
        ("rate", rate),
        ("limit", limit),
        ("exclude", exclude),
        ("credit", credit),
        ("caution", caution()),
        ("task", task()),
    ]);
    let mut then = table_schema(effects, &[], "what follows: one or more effects");
    then["minProperties"] = json!(1);
    then
}

/// An effect of which every key must be there.
fn effect(keys: Map<String, Value>, words: &str) -> Value {
    let required: Vec<String> = keys.keys().cloned().collect();
    let required: Vec<&str> = required.iter().map(String::as_str).collect();
    table_schema(keys, &required, words)
}

/// One of some names.
fn named(names: Vec<&str>, words: &str) -> Value {
    json!({ "enum": names, "description": words })
}

fn derive(knowledge: &Knowledge) -> Value {
    let vocabulary = &knowledge.vocabulary;
    let derived: Vec<&str> = [&vocabulary.site, &vocabulary.species, &vocabulary.fit]
        .into_iter()
        .flatten()
        .filter(|declaration| declaration.from == From::Rules)
        .map(|declaration| declaration.id.as_str())
        .collect();
    let fact = named(derived, "the fact, one declared with from = \"rules\"");
    let value = text_schema("an expression in quotes");
    effect(object([("fact", fact), ("value", value)]), "gives a fact its value")
}

fn caution() -> Value {
    let severities = Gravity::NAMES.iter().map(|(name, _)| *name).collect();
    let severity = named(severities, "how grave it is");
    let defer_to = text_schema("whom to ask: label, local code, licensed practice");
    effect(object([("severity", severity), ("defer_to", defer_to)]), "warns")
}

fn task() -> Value {
    let stages = Stage::NAMES.iter().map(|(name, _)| *name).collect();
    let stage = named(stages, "when it falls due");
    let order = json!({
        "type": "integer",
        "minimum": TASK_ORDERS[0],
        "maximum": TASK_ORDERS[1],
        "description": format!("where among the tasks of its stage it is told; {TASK_ORDER_UNSAID} where it is not said"),
    });
    let what = text_schema("what to do; {…} holds an expression that is written with its unit");
    let keys = object([("stage", stage), ("order", order), ("what", what)]);
    table_schema(keys, &["stage", "what"], "says what to do, and when")
}

/// The facts of a case, by their full names in quotes.
fn given(knowledge: &Knowledge) -> Value {
    let vocabulary = &knowledge.vocabulary;
    let declared = [&vocabulary.site, &vocabulary.species, &vocabulary.fit].into_iter().flatten();
    let fact = |one: &Declaration| (one.id.clone(), value_schema(vocabulary, one, None));
    let level = |words: String| json!({ "type": "number", "description": words });
    let needs = knowledge.needs.all.iter().map(|need| {
        (format!("need.{}", need.id), level(format!("level that {} has reached, from 0 to 5", need.title)))
    });
    let words = "what is known, by full names in quotes; everything else is unknown";
    table_schema(declared.map(fact).chain(needs).collect(), &[], words)
}

fn fires() -> Value {
    let number = json!({ "type": "number", "minimum": 0, "maximum": 5 });
    let keys = object([
        ("given", json!({ "$ref": "#/$defs/given" })),
        (
            "level",
            json!({
                "anyOf": [{ "$ref": "#/$defs/level" }, number],
                "description": "level that must come of it: a name (its whole part) or a number",
            }),
        ),
        ("value", json!({ "description": "value that a rule with derive must give" })),
    ]);
    table_schema(keys, &[], "a case in which it fires")
}
