//! The head of an overlay, `overlay.toml`: its schema and its scaffold.

use serde_json::{Map, Value, json};

use super::field::{table_schema, text_schema};
use super::scaffold::{UNFILLED, comment};

/// The schema.
pub fn schema() -> Value {
    let version = json!({
        "type": "string",
        "pattern": r"^\d+\.\d+\.\d+$",
        "description": "three numbers, raised with every change that others get",
    });
    let paths = |words: &str| {
        json!({
            "type": "array",
            "items": { "type": "string", "pattern": "^(sources|tables|climates|species|rules)/[a-z0-9/-]+$" },
            "uniqueItems": true,
            "description": format!("{words}, by their paths without `.toml`"),
        })
    };
    let properties = Map::from_iter([
        ("id".to_owned(), text_schema("short name by which answers call it")),
        ("title".to_owned(), text_schema("whose additions these are")),
        ("version".to_owned(), version),
        ("replaces".to_owned(), paths("files of the base in whose place this folder has its own")),
        ("withdraws".to_owned(), paths("files of the base that do not hold here")),
    ]);
    let mut schema = table_schema(properties, &["id", "title", "version"], "The head of an overlay.");
    schema["title"] = json!("swardwright: the head of an overlay");
    schema
}

/// The text below the line that names the schema.
pub fn text(id: &str) -> String {
    let mut text = String::from("#\n");
    let mut field = |words: &str, line: &str| {
        comment(&mut text, "", words);
        text.push_str(line);
        text.push('\n');
    };
    field(
        "The head of an overlay; DEVELOPERS.md, section \"An overlay, step by step\", goes through a whole one.",
        &format!("id = \"{id}\""),
    );
    field("whose additions these are", &format!("title = \"{UNFILLED}\""));
    field("raise it with every change that others get", "version = \"1.0.0\"");
    field(
        "files of the base that do not hold here, by their paths without `.toml`: take away the `# `",
        &format!("# withdraws = [\"{UNFILLED}\"]"),
    );
    field(
        "files of the base in whose place this folder has its own",
        &format!("# replaces = [\"{UNFILLED}\"]"),
    );
    text
}
