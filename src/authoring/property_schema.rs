//! The schema of a property file: what its areas share as a site file says it, the areas, and the limits.

use serde_json::{Map, Value, json};

use super::field::{described, table_schema};
use crate::knowledge::Knowledge;
use crate::property::{ETO_IN, MOST_AREAS, MOWING_KEYS, MOWING_M2_H, SIZES};
use crate::site::file::SCHEMA;

/// The schema.
pub fn schema(knowledge: &Knowledge, names: bool) -> Value {
    let mut of_site = super::site_schema::schema(knowledge, names);
    let mut sections = match of_site["properties"].take() {
        Value::Object(sections) => sections,
        _ => Map::new(),
    };
    sections.retain(|name, _| !["schema", "name"].contains(&name.as_str()));
    let ground = sections.remove("ground").unwrap_or_default();
    let refer = |name: &String| (name.clone(), json!({ "$ref": format!("#/$defs/{name}") }));
    let shared: Map<String, Value> = sections.keys().map(refer).collect();

    let mut top = shared.clone();
    top.insert("schema".to_owned(), json!({ "const": SCHEMA, "description": "version of this format" }));
    let words = "name of the property, as the answer prints it";
    top.insert("name".to_owned(), json!({ "type": "string", "description": words }));
    top.insert("ground".to_owned(), without_sizes(ground.clone()));
    let areas =
        json!({ "type": "array", "items": area(shared, ground), "minItems": 1, "maxItems": MOST_AREAS });
    let words = "the areas, each with its name and size; what one says goes before what all share";
    top.insert("area".to_owned(), described(areas, words));
    top.insert("limits".to_owned(), limits());
    let words = "A property of several areas: what they share as a site file says it, the areas, and what must not be passed in all.";
    let mut schema = table_schema(top, &["schema", "area"], words);
    schema["title"] = json!("swardwright: a property");
    schema["$defs"] = Value::Object(sections);
    schema
}

/// The ground that all areas share: each area has a size of its own.
fn without_sizes(mut ground: Value) -> Value {
    if let Some(properties) = ground["properties"].as_object_mut() {
        properties.retain(|key, _| !SIZES.contains(&key.as_str()));
    }
    ground
}

fn area(shared: Map<String, Value>, ground: Value) -> Value {
    let mut properties = shared;
    let text = |words: &str| json!({ "type": "string", "description": words });
    let names = |words: &str| json!({ "type": "array", "items": { "type": "string" }, "description": words });
    properties.insert("name".to_owned(), text("name of the area; no two areas share one"));
    for size in SIZES {
        properties.insert(size.to_owned(), ground["properties"][size].clone());
    }
    properties.insert("ground".to_owned(), ground);
    let words = "areas beside it, from which runners, and seed unless that is allowed, must not come over";
    properties.insert("beside".to_owned(), names(words));
    properties.insert("edged".to_owned(), names("areas beside it behind an edge that stops runners"));
    let words = "hydrozone: areas of one zone share a valve, and so their watering and their system";
    properties.insert("hydrozone".to_owned(), text(words));
    let words = "how water is put on, which says how much of it reaches the roots";
    properties.insert("system".to_owned(), json!({ "enum": ["spray", "drip"], "description": words }));
    let words = "whether the landscape ordinance takes it for a special landscape area; needs `mawa`";
    properties.insert("special_landscape".to_owned(), json!({ "type": "boolean", "description": words }));
    let mut schema = table_schema(properties, &["name"], "an area");
    let sized = |key: &str| json!({ "required": [key] });
    let in_ground = json!({
        "required": ["ground"],
        "properties": { "ground": { "anyOf": SIZES.map(sized) } },
    });
    let [one, other] = SIZES.map(sized);
    // one size and no second
    schema["oneOf"] = json!([one, other, in_ground]);
    schema
}

fn limits() -> Value {
    let least = |words: &str| json!({ "type": "number", "minimum": 0, "description": words });
    let flag = |words: &str| json!({ "type": "boolean", "description": words });
    let mowing = |unit: &str, m2: f64| {
        let words = format!(
            "{unit} that one person mows in an hour, in place of the table `mowing-use`; needs `hours_yr`"
        );
        let [low, high] = [(MOWING_M2_H[0] / m2).ceil(), (MOWING_M2_H[1] / m2).floor()];
        json!({ "type": "number", "minimum": low, "maximum": high, "description": words })
    };
    let properties = [
        ("kinds", json!({ "type": "integer", "minimum": 1, "description": "the most kinds in all" })),
        ("water_m3_yr", least("the most water a year, m3, as the meter counts it")),
        ("water_gal_yr", least("the most water a year, US gallons, as the meter counts it")),
        ("nitrogen_kg_yr", least("the most nitrogen a year, kg")),
        ("nitrogen_lb_yr", least("the most nitrogen a year, lb")),
        ("hours_yr", least("the most hours of upkeep a year, of one person")),
        (MOWING_KEYS[0].0, mowing("square metres", MOWING_KEYS[0].1)),
        (MOWING_KEYS[1].0, mowing("square feet", MOWING_KEYS[1].1)),
        ("mawa", flag("whether to keep to the allowance of the landscape ordinance; needs `land_use`")),
        (
            "land_use",
            json!({ "enum": ["residential", "non-residential"], "description": "the use of the land, by which the allowance differs; needs `mawa`" }),
        ),
        (
            "eto_in_yr",
            json!({ "type": "number", "minimum": ETO_IN[0], "maximum": ETO_IN[1], "description": "reference evapotranspiration by the ordinance's own table, inches a year; needs `mawa`" }),
        ),
        ("seed_drift", flag("true where seed may drift from an area into its neighbours")),
    ];
    let properties = properties.into_iter().map(|(key, schema)| (key.to_owned(), schema)).collect();
    let mut schema = table_schema(properties, &[], "what must not be passed in all");
    let together = |one: &str, other: &str| json!({ "not": { "required": [one, other] } });
    schema["dependentRequired"] = json!({
        "land_use": ["mawa"],
        "eto_in_yr": ["mawa"],
        "mowing_m2_h": ["hours_yr"],
        "mowing_ft2_h": ["hours_yr"],
    });
    schema["allOf"] = json!([
        together("water_m3_yr", "water_gal_yr"),
        together("nitrogen_kg_yr", "nitrogen_lb_yr"),
        together("mowing_m2_h", "mowing_ft2_h"),
        {
            "if": { "properties": { "mawa": { "const": true } }, "required": ["mawa"] },
            "then": { "required": ["land_use"] },
        },
    ]);
    schema
}
