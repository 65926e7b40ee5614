//! The schema of a file of sources.

use serde_json::{Map, Value, json};

use super::field::{table_schema, text_schema};
use crate::knowledge::sources::{SourceKind, WEIGHTS_IN_WORDS, YEARS};

/// The schema.
pub fn schema() -> Value {
    let kinds: Vec<&str> = SourceKind::NAMES.iter().map(|(name, _)| *name).collect();
    let kind = json!({
        "enum": kinds,
        "description": format!("decides how much its values weigh: {WEIGHTS_IN_WORDS}"),
    });
    let year = json!({
        "type": "integer",
        "minimum": YEARS.start(),
        "maximum": YEARS.end(),
        "description": "year of publication, all four digits",
    });
    let publication = Map::from_iter([
        ("title".to_owned(), text_schema("publisher or authors, title, number")),
        ("kind".to_owned(), kind),
        ("year".to_owned(), year),
        ("url".to_owned(), text_schema("address where it stands")),
        ("read".to_owned(), text_schema("how much of it was read")),
    ]);
    let publication =
        table_schema(publication, &["title", "kind"], "a publication, under the key by which it is cited");
    json!({
        "title": "swardwright: sources",
        "description": "Publications that values and rules rest on, each under a [key] of its own",
        "type": "object",
        "propertyNames": { "pattern": super::id::SOURCE.pattern() },
        "additionalProperties": publication,
    })
}
