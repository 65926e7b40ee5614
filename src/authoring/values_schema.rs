//! The schema of `values/*.toml` of an overlay.

use serde_json::{Map, Value, json};

use super::field::table_schema;
use super::schema::{any_name, source_key};
use super::species_schema::{place_in_source, traits_schema};
use crate::knowledge::Knowledge;

/// The schema.
pub fn schema(knowledge: &Knowledge, names: bool) -> Value {
    let traits = traits_schema(&knowledge.vocabulary);
    let withdraw = json!({
        "type": "array",
        "items": { "enum": traits.keys().collect::<Vec<_>>() },
        "uniqueItems": true,
        "description": "traits of the base that do not hold here, by name",
    });
    // said once for both: there are many traits
    let own_traits = |words: &str| json!({ "$ref": "#/$defs/traits", "description": words });
    let species = knowledge.species.iter().map(|one| one.id.as_str());
    let words = "a species of the base; the file carries the same name";
    let properties = Map::from_iter([
        ("id".to_owned(), any_name(super::id::SPECIES.pattern(), species, names, words)),
        ("withdraw".to_owned(), withdraw),
        ("add".to_owned(), own_traits("values laid beside those of the base: all are merged")),
        ("replace".to_owned(), own_traits("values in the place of those of the base")),
    ]);
    let mut schema =
        table_schema(properties, &["id"], "Values of a species of the base that an overlay changes.");
    schema["title"] = json!("swardwright: changed values of a species");
    schema["$defs"] = json!({
        "source": source_key(knowledge, names),
        "place": place_in_source(),
        "traits": table_schema(traits, &[], "traits; each is a list of published values"),
    });
    schema
}
