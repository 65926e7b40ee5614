//! JSON Schemas (draft 2020-12) of the kinds of file that people write.

use serde_json::{Value, json};

use crate::knowledge::Knowledge;

/// A kind of file with a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SchemaKind {
    /// A site file.
    Site,
    /// A property file.
    Property,
    /// A species file.
    Species,
    /// A rule file.
    Rule,
    /// A file of sources.
    Sources,
    /// Changed values of a species in an overlay.
    Values,
    /// The head of an overlay.
    Overlay,
}

impl SchemaKind {
    /// Every kind.
    pub const ALL: [Self; 7] =
        [Self::Site, Self::Property, Self::Species, Self::Rule, Self::Sources, Self::Values, Self::Overlay];

    /// The name of its file in a folder of schemas.
    pub fn file_name(self) -> &'static str {
        match self {
            Self::Site => "site.schema.json",
            Self::Property => "property.schema.json",
            Self::Species => "species.schema.json",
            Self::Rule => "rule.schema.json",
            Self::Sources => "sources.schema.json",
            Self::Values => "values.schema.json",
            Self::Overlay => "overlay.schema.json",
        }
    }
}

/// The schema as text. What it says comes from the vocabulary, the needs and the format of rules,
/// so that it stays the same while species and sources are added; `names` also lists the species and
/// sources there are, as help for completion: others stay allowed, since an overlay may add them.
pub fn schema_text(knowledge: &Knowledge, kind: SchemaKind, names: bool) -> String {
    let mut schema = match kind {
        SchemaKind::Site => super::site_schema::schema(knowledge, names),
        SchemaKind::Property => super::property_schema::schema(knowledge, names),
        SchemaKind::Species => super::species_schema::schema(knowledge, names),
        SchemaKind::Rule => super::rule_schema::schema(knowledge, names),
        SchemaKind::Sources => super::sources_schema::schema(),
        SchemaKind::Values => super::values_schema::schema(knowledge, names),
        SchemaKind::Overlay => super::overlay_head::schema(),
    };
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["$comment"] = json!("written by `swardwright knowledge schema`: do not edit");
    format!("{schema:#}\n")
}

/// The key of a source: any name, and for completion those there are.
pub fn source_key(knowledge: &Knowledge, names: bool) -> Value {
    let words = "key of a publication in sources/; common-practice for what the trade takes for granted, from-memory for what nobody has looked up yet";
    any_name(super::id::SOURCE.pattern(), knowledge.sources.keys().map(String::as_str), names, words)
}

/// Text of some form, with names to complete where they are wished for.
pub fn any_name<'a>(
    pattern: String,
    known: impl Iterator<Item = &'a str>,
    names: bool,
    words: &str,
) -> Value {
    let form = json!({ "type": "string", "pattern": pattern });
    if !names {
        return super::field::described(form, words);
    }
    json!({ "description": words, "anyOf": [{ "enum": known.collect::<Vec<_>>() }, form] })
}
