//! The two kinds of case that every rule file brings along: `fires` and `stays_silent`.

use std::sync::Arc;

use super::names::Names;
use super::rule::{Case, Effect, Expectation};
use super::values::{WhatIsRead, read_value};
use crate::diag::{Finding, Findings, Place, Source, join_names};
use crate::document::{Node, TableReader};
use crate::engine::expression::LEVELS;
use crate::engine::value::{Slot, Space, Value};
use crate::rank::Level;

/// Reads all cases of a rule; a rule without one of each kind is refused.
pub fn read_cases(
    source: &Arc<Source>,
    file: &mut TableReader<'_>,
    names: &Names<'_>,
    effects: &[Effect],
    findings: &mut Findings,
) -> Vec<Case> {
    let mut cases = Vec::new();
    for (key, fires) in [("fires", true), ("stays_silent", false)] {
        let own_place = file.own_place();
        let before = findings.len();
        let readers = file.tables(key, "a case", findings);
        // what stands there and cannot be read has been told of
        if readers.is_empty() && findings.len() == before {
            let message = format!("the rule has no case in which it {}", key.replace('_', " "));
            let help = format!("add a [[{key}]] with `given = {{ … }}`");
            findings.push(Finding::error("no-case", &own_place, message).help(help));
        }
        for mut reader in readers {
            let place = reader.own_place();
            let given = read_given(source, &mut reader, names, findings);
            let expects = if fires {
                read_expectation(source, &mut reader, names, effects, findings)
            } else {
                Expectation::Silent
            };
            reader.finish(findings);
            cases.push(Case { given, expects, place });
        }
    }
    cases
}

fn read_given(
    source: &Arc<Source>,
    reader: &mut TableReader<'_>,
    names: &Names<'_>,
    findings: &mut Findings,
) -> Vec<(Slot, Value)> {
    let Some(mut given) = reader.table("given", "`given`", findings) else { return Vec::new() };
    let mut values = Vec::new();
    for (name, entry) in given.all() {
        let Some(slot) = names.slot(name) else {
            let place = Place { source: source.clone(), span: entry.key_span.range() };
            // an unquoted `site.ph` is a table to TOML
            let help = match entry.node.as_table().and_then(|inner| inner.iter().next()) {
                Some((inner, _)) => format!("write the full name in quotes: \"{name}.{inner}\""),
                None => names.hint(name),
            };
            let message = format!("no fact is called `{name}`");
            findings.push(Finding::error("undeclared-fact", &place, message).help(help).undeclared(name));
            continue;
        };
        let value = match names.vocabulary.declaration(slot) {
            Some(declaration) => {
                let what = WhatIsRead { source, node: &entry.node, name, unit: None };
                read_value(names.vocabulary, declaration, what, findings)
            }
            None => read_given_level(&given, name, &entry.node, findings).map(Value::Number),
        };
        values.extend(value.map(|value| (slot, value)));
    }
    values
}

/// The level of a need that a case takes as given.
fn read_given_level(
    given: &TableReader<'_>,
    name: &str,
    node: &Node,
    findings: &mut Findings,
) -> Option<f64> {
    match node.as_number() {
        Some(level) if Level::new(level).is_ok() => Some(level),
        Some(level) => {
            let message = format!("`{name}` is {level}, and levels go from 0 to 5");
            findings.push(Finding::error("out-of-range", &given.place(node.span), message));
            None
        }
        None => given.wrong_type(name, node, "a level from 0 to 5", findings),
    }
}

fn read_expectation(
    source: &Arc<Source>,
    reader: &mut TableReader<'_>,
    names: &Names<'_>,
    effects: &[Effect],
    findings: &mut Findings,
) -> Expectation {
    let level = reader.node("level");
    let value = reader.node("value");
    if let Some(node) = level {
        let rates = |effect: &Effect| {
            matches!(effect, Effect::Rate { .. } | Effect::Limit { .. } | Effect::Exclude { .. })
        };
        // an effect that could not be read has been told of
        if !effects.is_empty() && !effects.iter().any(rates) {
            let message = "`level` is for rules that rate, limit or exclude";
            let help = "take it out: that the rule fires is all that the case can hold";
            findings.push(Finding::error("wrong-type", &reader.place(node.span), message).help(help));
            return Expectation::Fires;
        }
        return read_level(reader, node, findings);
    }
    let derived = effects.iter().find_map(|effect| match effect {
        Effect::Derive { slot, .. } if slot.space != Space::Need => names.vocabulary.declaration(*slot),
        _ => None,
    });
    match (value, derived) {
        (Some(node), Some(declaration)) => {
            let what = WhatIsRead { source, node, name: "value", unit: None };
            read_value(names.vocabulary, declaration, what, findings)
                .map_or(Expectation::Fires, Expectation::Derives)
        }
        // an effect that could not be read has been told of
        (Some(_), None) if effects.is_empty() => Expectation::Fires,
        (Some(node), None) => {
            let message = "`value` is for rules that derive a fact";
            findings.push(Finding::error("wrong-type", &reader.place(node.span), message));
            Expectation::Fires
        }
        (None, _) => Expectation::Fires,
    }
}

/// The level that a rule reaches: by name, or a number.
fn read_level(reader: &TableReader<'_>, node: &Node, findings: &mut Findings) -> Expectation {
    let named = node.as_text().and_then(|text| LEVELS.iter().find(|(name, _)| *name == text));
    match (named, node.as_number()) {
        (Some((_, level)), _) => Expectation::Named(*level as u8),
        (None, Some(level)) if Level::new(level).is_ok() => Expectation::Level(level),
        _ => {
            let help = format!("levels are {}", join_names(LEVELS.iter().map(|(name, _)| *name)));
            let message = "a level is one of the names, or a number from 0 to 5";
            findings.push(Finding::error("unknown-level", &reader.place(node.span), message).help(help));
            Expectation::Fires
        }
    }
}
