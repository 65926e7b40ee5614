//! One value of a declared fact: as a JSON Schema, and in words.

use serde_json::{Map, Value, json};

use crate::knowledge::text_form::TextForm;
use crate::knowledge::vocabulary::{Declaration, Kind, Vocabulary};
use crate::units::{Dimension, Unit, format_number};

/// The schema of a value, with its meaning as the description. `unit` is that of a bare number; by
/// default that of the declaration.
pub fn value_schema(
    vocabulary: &Vocabulary,
    declaration: &Declaration,
    unit: Option<&'static Unit>,
) -> Value {
    let number = || match unit.or(declaration.kind.unit()) {
        Some(unit) => number_schema(unit, declaration.allowed),
        None => json!({ "type": "number" }),
    };
    let months = || json!({ "type": "array", "items": number(), "minItems": 12, "maxItems": 12 });
    let names = |list| json!({ "enum": vocabulary.list(list).names });
    let schema = match declaration.kind {
        Kind::Number(_) => number(),
        Kind::Range(_) => json!({ "type": "array", "items": number(), "minItems": 2, "maxItems": 2 }),
        Kind::Months(_) if declaration.one_for_all => json!({ "anyOf": [number(), months()] }),
        Kind::Months(_) => months(),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Scale(list) | Kind::Choice(list) => names(list),
        Kind::Set(list) => json!({ "type": "array", "items": names(list) }),
        Kind::Text => text_of_form(declaration.form),
        Kind::Texts => json!({ "type": "array", "items": text_of_form(declaration.form) }),
    };
    let words = format!("{}: {}", declaration.meaning, value_words(vocabulary, declaration, unit));
    described(schema, &words)
}

fn text_of_form(form: TextForm) -> Value {
    match form.pattern() {
        Some(pattern) => json!({ "type": "string", "pattern": pattern }),
        None => json!({ "type": "string" }),
    }
}

/// A schema with a description.
pub fn described(schema: Value, words: &str) -> Value {
    match schema {
        Value::Object(mut fields) => {
            fields.insert("description".to_owned(), json!(words));
            Value::Object(fields)
        }
        other => other,
    }
}

/// A table that takes these keys and no others.
pub fn table_schema(properties: Map<String, Value>, required: &[&str], words: &str) -> Value {
    let mut schema = json!({
        "type": "object",
        "additionalProperties": false,
        "properties": properties,
    });
    if !required.is_empty() {
        schema["required"] = json!(required);
    }
    described(schema, words)
}

/// A number in a unit, bare or as text with a unit of the same dimension. The allowed range is held
/// against the bare number alone: a pattern cannot convert.
pub fn number_schema(unit: &'static Unit, allowed: Option<(f64, f64)>) -> Value {
    let mut bare = json!({ "type": "number" });
    if let Some((low, high)) = ends_in(unit, allowed) {
        bare["minimum"] = number_json(low);
        bare["maximum"] = number_json(high);
    }
    let escape = |name: &str| name.replace('(', r"\(").replace(')', r"\)");
    let units: Vec<String> = same_dimension(unit).map(|unit| escape(unit.name)).collect();
    let number = r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?";
    let pattern = format!(r"^\s*{number}\s*({})?\s*$", units.join("|"));
    json!({ "anyOf": [bare, { "type": "string", "pattern": pattern }] })
}

/// Text that says something, and is not the mark of a scaffold.
pub fn text_schema(words: &str) -> Value {
    json!({ "type": "string", "pattern": r"\S", "not": { "const": super::scaffold::UNFILLED }, "description": words })
}

fn same_dimension(unit: &'static Unit) -> impl Iterator<Item = &'static Unit> {
    Unit::all().iter().filter(move |other| other.dimension == unit.dimension)
}

/// The ends of the allowed range in a unit, without the noise of conversion.
fn ends_in(unit: &'static Unit, allowed: Option<(f64, f64)>) -> Option<(f64, f64)> {
    let tidy = |base: f64| format!("{:.8e}", unit.express(base)).parse::<f64>().unwrap_or(base);
    allowed.map(|(low, high)| (tidy(low), tidy(high)))
}

/// Whole numbers without a point.
fn number_json(number: f64) -> Value {
    if number.fract() == 0.0 && number.abs() < 1e15 { json!(number as i64) } else { json!(number) }
}

/// What may be written as a value, in words: type, unit and other units, allowed range, steps.
pub fn value_words(
    vocabulary: &Vocabulary,
    declaration: &Declaration,
    unit: Option<&'static Unit>,
) -> String {
    let names = |list| vocabulary.list(list).names.join(", ");
    let number = |what: &str| match unit.or(declaration.kind.unit()) {
        Some(unit) => number_words(what, unit, declaration.allowed),
        None => what.to_owned(),
    };
    match declaration.kind {
        Kind::Number(_) if declaration.whole => number("a whole number"),
        Kind::Number(_) => number("a number"),
        Kind::Range(_) => number("two numbers (the lower first)"),
        Kind::Months(_) if declaration.one_for_all => number("one number, or 12 (January first)"),
        Kind::Months(_) => number("12 numbers (January first)"),
        Kind::Flag => "true or false".to_owned(),
        Kind::Scale(list) => format!("one step of, the least first: {}", names(list)),
        Kind::Choice(list) => format!("one of: {}", names(list)),
        Kind::Set(list) => format!("a list of any of: {}", names(list)),
        Kind::Text => declaration.form.words().to_owned(),
        Kind::Texts => declaration.form.words_of_list().to_owned(),
    }
}

fn number_words(what: &str, unit: &'static Unit, allowed: Option<(f64, f64)>) -> String {
    let mut words = what.to_owned();
    if unit.name != "1" {
        words = format!("{words} in {}", unit.name);
    }
    if let Some((low, high)) = ends_in(unit, allowed) {
        words = format!("{words} from {} to {}", format_number(low), format_number(high));
    }
    // shares and rates without a dimension are no units of each other in a reader's mind
    let mut others: Vec<&str> = same_dimension(unit)
        .filter(|other| other.name != unit.name && unit.dimension != Dimension::NONE)
        .map(|other| other.name)
        .collect();
    if others.len() > 4 {
        others.retain(|name| *name == unit.in_us().name);
    }
    if !others.is_empty() {
        words = format!("{words}, or text with a unit of {}", others.join(", "));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_those_of_the_unit_of_the_key() {
        let celsius = Unit::named("degC").unwrap();
        let schema = number_schema(Unit::named("degF").unwrap(), Some((-60.0, celsius.to_base(25.0))));
        assert_eq!(schema["anyOf"][0], json!({ "type": "number", "minimum": -76, "maximum": 77 }));
        let schema = number_schema(Unit::named("in").unwrap(), Some((0.002, 0.6)));
        assert!((schema["anyOf"][0]["minimum"].as_f64().unwrap() - 0.078_740_16).abs() < 1e-7, "{schema}");
    }

    #[test]
    fn units_with_brackets_are_escaped() {
        let schema = number_schema(Unit::named("%/(dS/m)").unwrap(), None);
        assert!(schema["anyOf"][1]["pattern"].as_str().unwrap().contains(r"(%/\(dS/m\))?"), "{schema}");
    }
}
