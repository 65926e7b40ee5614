//! The schema of a species file.

use serde_json::{Map, Value, json};

use super::field::{described, number_schema, table_schema, text_schema, value_schema, value_words};
use super::schema::source_key;
use crate::knowledge::Knowledge;
use crate::knowledge::sources::{COMMON_PRACTICE, FROM_MEMORY};
use crate::knowledge::vocabulary::{Declaration, Kind, Vocabulary};

/// The schema.
pub fn schema(knowledge: &Knowledge, names: bool) -> Value {
    let vocabulary = &knowledge.vocabulary;
    let kinds = vocabulary.list_named("kind", false).map(|list| &vocabulary.list(list).names);
    let traits = traits_schema(vocabulary);
    let id = json!({
        "type": "string",
        "pattern": super::id::SPECIES.pattern(),
        "description": "botanical name in lower case with hyphens; the file carries the same name",
    });
    let common = json!({
        "type": "array",
        "items": text_schema("a common name"),
        "minItems": 1,
        "description": "common names; the first is the one that is printed",
    });
    let synonyms = json!({
        "type": "array",
        "items": text_schema("a name"),
        "description": "other names under which it is looked for: botanical ones of older books, common ones that are not printed",
    });
    let properties = Map::from_iter([
        ("id".to_owned(), id),
        ("botanical".to_owned(), text_schema("botanical name without authors")),
        ("common".to_owned(), common),
        ("synonyms".to_owned(), synonyms),
        ("kind".to_owned(), json!({ "enum": kinds, "description": "group of plants that it belongs to" })),
        ("summary".to_owned(), text_schema("what it is, in one sentence")),
        ("traits".to_owned(), table_schema(traits, &[], "the traits; each is a list of published values")),
    ]);
    let mut schema = table_schema(
        properties,
        &["id", "botanical", "common", "kind"],
        "One species with its traits, each value with its source. A trait that nobody published stays out.",
    );
    schema["title"] = json!("swardwright: a species");
    schema["$defs"] = json!({ "source": source_key(knowledge, names), "place": place_in_source() });
    schema
}

/// Every source but practice and memory is cited with a place in it.
pub fn place_in_source() -> Value {
    let unpublished = json!([COMMON_PRACTICE, FROM_MEMORY]);
    json!({
        "if": { "required": ["source"], "properties": { "source": { "not": { "enum": unpublished } } } },
        "then": { "required": ["at"] },
    })
}

/// Every trait that a file may give values of, by its name.
pub fn traits_schema(vocabulary: &Vocabulary) -> Map<String, Value> {
    vocabulary
        .species
        .iter()
        .filter(|declaration| declaration.is_entered())
        .map(|declaration| (declaration.id.trim_start_matches("species."), declaration))
        .map(|(name, declaration)| (name.to_owned(), trait_schema(vocabulary, declaration)))
        .collect()
}

fn trait_schema(vocabulary: &Vocabulary, declaration: &Declaration) -> Value {
    let mut properties = Map::from_iter([
        ("source".to_owned(), json!({ "$ref": "#/$defs/source" })),
        ("at".to_owned(), text_schema("page, table or section of the source")),
        ("note".to_owned(), text_schema("what a reader must know of this value")),
    ]);
    let end = |words: &str| match declaration.kind.unit() {
        Some(unit) => {
            described(number_schema(unit, declaration.allowed), &format!("{words}, in {}", unit.name))
        }
        None => Value::Bool(true),
    };
    // where there are several ways of giving a value, one of them must be there
    let ways = match declaration.kind {
        Kind::Range(_) => {
            properties.insert("low".to_owned(), end("lower end"));
            properties.insert("high".to_owned(), end("upper end"));
            json!([{ "required": ["low"] }, { "required": ["high"] }])
        }
        Kind::Number(_) => {
            properties.insert("value".to_owned(), value_schema(vocabulary, declaration, None));
            properties.insert("low".to_owned(), end("lowest that the source states"));
            properties.insert("high".to_owned(), end("highest that the source states"));
            json!([{ "required": ["value"] }, { "required": ["low", "high"] }])
        }
        _ => {
            properties.insert("value".to_owned(), value_schema(vocabulary, declaration, None));
            Value::Null
        }
    };
    let required: &[&str] = if ways.is_null() { &["value", "source"] } else { &["source"] };
    let mut evidence = table_schema(properties, required, "one published value");
    if !ways.is_null() {
        evidence["anyOf"] = ways;
    }
    evidence["allOf"] = json!([{ "$ref": "#/$defs/place" }]);
    json!({
        "type": "array",
        "items": evidence,
        "minItems": 1,
        "description": trait_words(vocabulary, declaration),
    })
}

/// What a trait means and takes, in words.
fn trait_words(vocabulary: &Vocabulary, declaration: &Declaration) -> String {
    let mut words = format!("{}: {}", declaration.meaning, value_words(vocabulary, declaration, None));
    if declaration.key_trait {
        words.push_str(" (a key trait: never from memory)");
    }
    words
}
