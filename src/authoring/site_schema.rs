//! The schema of a site file: the keys that the vocabulary declares, and those that `site::file`
//! reads by name.

use serde_json::{Map, Value, json};

use super::field::{described, number_schema, table_schema, value_schema};
use super::schema::any_name;
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::{Declaration, SiteKey};
use crate::site::file::{LIGHT, SCHEMA};
use crate::units::Unit;

/// The schema.
pub fn schema(knowledge: &Knowledge, names: bool) -> Value {
    let vocabulary = &knowledge.vocabulary;
    let mut top = Map::new();
    top.insert("schema".to_owned(), json!({ "const": SCHEMA, "description": "version of this format" }));
    let words = "name of the site, as the answer prints it";
    top.insert("name".to_owned(), json!({ "type": "string", "description": words }));
    let mut sections: Vec<(&str, Map<String, Value>)> = Vec::new();
    for declaration in &vocabulary.site {
        for key in keys(declaration) {
            let schema = value_schema(vocabulary, declaration, key.unit);
            let properties = match sections.iter_mut().find(|(name, _)| *name == key.section) {
                _ if key.section.is_empty() => &mut top,
                Some((_, properties)) => properties,
                None => {
                    sections.push((&key.section, Map::new()));
                    match sections.last_mut() {
                        Some((_, properties)) => properties,
                        None => continue,
                    }
                }
            };
            properties.insert(key.key.clone(), schema);
        }
    }
    for (name, mut properties) in sections {
        if name == "climate" {
            properties.extend(climate_sources());
        }
        let mut section = table_schema(properties, &[], &format!("section [{name}]"));
        let refused = never_together(&vocabulary.site, name);
        if !refused.is_empty() {
            section["allOf"] = json!(refused);
        }
        top.insert(name.to_owned(), section);
    }
    top.insert("priorities".to_owned(), priorities(knowledge));
    top.insert("fixed".to_owned(), fixed(&vocabulary.site));
    top.insert("candidates".to_owned(), candidates(knowledge, names));
    let words = "What is known of a place to plant. Leave out what is not known; numbers are in the unit of their key, or text with a unit.";
    let mut schema = table_schema(top, &["schema"], words);
    schema["title"] = json!("swardwright: a site");
    schema
}

fn keys(declaration: &Declaration) -> impl Iterator<Item = &SiteKey> {
    [&declaration.key, &declaration.us_key].into_iter().flatten()
}

fn climate_sources() -> Map<String, Value> {
    let file = json!({
        "type": "string",
        "minLength": 1,
        "description": "a file of monthly normals, a station file or a typical-year file, named from the folder of the site file; what the site file states comes first",
    });
    let near = json!({
        "type": "boolean",
        "description": "whether to take the climate of the nearest place known, named with its distance",
    });
    let units = json!({
        "enum": ["si", "us", "tenths"],
        "description": "units of the climate file, for a layout that does not state them: degC and mm, degF and inches, or tenths of degC and of mm",
    });
    Map::from_iter([("file".to_owned(), file), ("file_units".to_owned(), units), ("near".to_owned(), near)])
}

/// Pairs of keys of a section of which one at most may stand: the two units of one fact, and the
/// ways of saying the light.
fn never_together(declarations: &[Declaration], section: &str) -> Vec<Value> {
    let refuse = |one: &str, other: &str| json!({ "not": { "required": [one, other] } });
    let mut pairs = Vec::new();
    for declaration in declarations {
        if let (Some(si), Some(us)) = (&declaration.key, &declaration.us_key)
            && si.section == section
            && us.section == section
        {
            pairs.push(refuse(&si.key, &us.key));
        }
    }
    let light: Vec<&str> = LIGHT
        .iter()
        .filter_map(|id| declarations.iter().find(|one| one.id == *id)?.key.as_ref())
        .filter(|key| key.section == section)
        .map(|key| key.key.as_str())
        .collect();
    for (at, one) in light.iter().enumerate() {
        pairs.extend(light[at + 1..].iter().map(|other| refuse(one, other)));
    }
    pairs
}

fn priorities(knowledge: &Knowledge) -> Value {
    let weight = |title: &str| match Unit::named("1") {
        Some(unit) => {
            // text with a unit makes no sense of a weight
            let number = number_schema(unit, Some((0.0, 5.0)))["anyOf"][0].take();
            described(number, &format!("weight of {title}, 1 unless said"))
        }
        None => Value::Null,
    };
    let needs = knowledge.needs.all.iter().map(|need| (need.id.clone(), weight(&need.title)));
    table_schema(needs.collect(), &[], "weights of needs in the index, from 0 to 5; 0 takes a need out of it")
}

fn fixed(declarations: &[Declaration]) -> Value {
    let mut names: Vec<&str> = Vec::new();
    for declaration in declarations {
        let Some(key) = &declaration.key else { continue };
        for name in [key.key.as_str(), declaration.id.trim_start_matches("site.")] {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    let inputs = json!({
        "type": "array",
        "items": { "enum": names },
        "description": "inputs that may not be proposed for change",
    });
    table_schema(Map::from_iter([("inputs".to_owned(), inputs)]), &[], "what is out of the client's hands")
}

fn candidates(knowledge: &Knowledge, names: bool) -> Value {
    let species = || {
        let known = knowledge.species.iter().map(|one| one.id.as_str());
        any_name(super::id::SPECIES.pattern(), known, names, "id of a species")
    };
    let only =
        json!({ "type": "array", "items": species(), "minItems": 1, "description": "only these species" });
    let without = json!({ "type": "array", "items": species(), "description": "not these species" });
    let keys = [("only".to_owned(), only), ("without".to_owned(), without)];
    table_schema(Map::from_iter(keys), &[], "which species are looked at; all of them unless said")
}
