//! `then` of a rule file to [`Effect`]s.

use std::sync::Arc;

use super::names::Names;
use super::rule::{Effect, Gravity, Stage, TASK_ORDER_UNSAID, TASK_ORDERS};
use super::rule_expression::{parse_node, report};
use super::rule_words::read_template;
use super::vocabulary::From;
use crate::diag::{Finding, Findings, Source, join_names, nearest};
use crate::document::{Node, TableReader};
use crate::engine::expression::{LEVELS, Type, check_as};
use crate::rank::Level;
use crate::units::Dimension;

/// What may follow from a rule.
const EFFECTS: [&str; 7] = ["derive", "rate", "limit", "exclude", "credit", "caution", "task"];

/// All that follows; what is faulty is left out and told.
pub fn read_effects(
    source: &Arc<Source>,
    file: &mut TableReader<'_>,
    names: &Names<'_>,
    findings: &mut Findings,
) -> Vec<Effect> {
    let own_place = file.own_place();
    let Some(mut then) = file.table("then", "`then`", findings) else {
        if let Some((name, place)) = file.not_asked(&EFFECTS) {
            let message = format!("`{name}` is what follows from the rule, and stands outside `then`");
            let finding = Finding::error("unknown-key", &place, message);
            findings.push(finding.help(format!("write `then.{name}`")));
            return Vec::new();
        }
        let help = "add a line such as `then.limit = { need = \"light\", level = \"severe\" }`";
        findings.push(Finding::error("no-effect", &own_place, "the rule does nothing").help(help));
        return Vec::new();
    };
    let mut effects = Vec::new();
    read_rated(source, &mut then, names, &mut effects, findings);
    read_told(source, &mut then, names, &mut effects, findings);
    if then.is_empty() {
        let help = "say what follows, for example `then.limit = { need = \"light\", level = \"severe\" }`";
        findings.push(Finding::error("no-effect", &then.own_place(), "the rule does nothing").help(help));
    }
    then.finish(findings);
    effects
}

/// What moves a fact or a need.
fn read_rated(
    source: &Arc<Source>,
    then: &mut TableReader<'_>,
    names: &Names<'_>,
    effects: &mut Vec<Effect>,
    findings: &mut Findings,
) {
    if let Some(mut inner) = then.table_of("derive", "`derive`", &["fact", "value"], findings) {
        effects.extend(read_derive(source, &mut inner, names, findings));
        inner.finish(findings);
    }
    if let Some(mut inner) = then.table_of("rate", "`rate`", &["need", "level"], findings) {
        let need = read_need(&mut inner, names, None, findings);
        let level = inner.required("level", findings).and_then(|node| {
            let ast = parse_node(source, "level", node, findings)?;
            let checked = check_as(&ast, Type::Number(Dimension::NONE), names);
            Some((report(source, node, checked, findings)?, ast))
        });
        inner.finish(findings);
        effects.extend(need.zip(level).map(|(need, (level, written))| {
            let written = Some(written).into();
            Effect::Rate { need, level, written }
        }));
    }
    if let Some(mut inner) = then.table_of("limit", "`limit`", &["need", "level"], findings) {
        let level = inner.required("level", findings).and_then(|node| read_level(&inner, node, findings));
        let excludes = level.is_some_and(|level| level >= Level::EXCLUDING.value());
        let need = read_need(&mut inner, names, Some(excludes), findings);
        inner.finish(findings);
        effects.extend(need.zip(level).map(|(need, level)| Effect::Limit { need, level }));
    }
    if let Some(mut inner) = then.table_of("exclude", "`exclude`", &["need"], findings) {
        let need = read_need(&mut inner, names, Some(true), findings);
        inner.finish(findings);
        effects.extend(need.map(|need| Effect::Exclude { need }));
    }
    if let Some(mut inner) = then.table_of("credit", "`credit`", &["need"], findings) {
        let need = read_need(&mut inner, names, None, findings);
        inner.finish(findings);
        effects.extend(need.map(|need| Effect::Credit { need }));
    }
}

/// What is told beside the levels.
fn read_told(
    source: &Arc<Source>,
    then: &mut TableReader<'_>,
    names: &Names<'_>,
    effects: &mut Vec<Effect>,
    findings: &mut Findings,
) {
    if let Some(mut inner) = then.table_of("caution", "`caution`", &["severity", "defer_to"], findings) {
        let gravity = read_named(&mut inner, "severity", &Gravity::NAMES, findings);
        let defer_to = inner.required_text("defer_to", findings).map(str::to_owned);
        inner.finish(findings);
        effects
            .extend(gravity.zip(defer_to).map(|(gravity, defer_to)| Effect::Caution { gravity, defer_to }));
    }
    if let Some(mut inner) = then.table_of("task", "`task`", &["stage", "order", "what"], findings) {
        let stage = read_named(&mut inner, "stage", &Stage::NAMES, findings);
        let order = read_order(&mut inner, findings);
        let what = inner.required("what", findings);
        let what = what.map(|node| read_template(source, "what", node, names, findings));
        inner.finish(findings);
        effects.extend(stage.zip(what).map(|(stage, what)| Effect::Task { stage, order, what: what.into() }));
    }
}

fn read_derive(
    source: &Arc<Source>,
    inner: &mut TableReader<'_>,
    names: &Names<'_>,
    findings: &mut Findings,
) -> Option<Effect> {
    let fact_node = inner.required("fact", findings)?;
    let value_node = inner.required("value", findings)?;
    let place = inner.place(fact_node.span);
    let name = fact_node.as_text().unwrap_or_default();
    let slot = names.vocabulary.slot(name);
    let Some((slot, declaration)) = slot.and_then(|slot| Some((slot, names.vocabulary.declaration(slot)?)))
    else {
        let hint = names.hint(name);
        let help = match hint.starts_with("did you mean") {
            true => hint,
            false => format!("declare `[{name}]` in vocabulary.toml with `from = \"rules\"`"),
        };
        let finding = Finding::error("undeclared-fact", &place, format!("no fact is called `{name}`"));
        findings.push(finding.help(help).undeclared(name));
        return None;
    };
    if declaration.from != From::Rules {
        let message = format!("`{name}` is not a fact that rules derive");
        let help = "only facts declared with `from = \"rules\"` can be derived";
        findings.push(Finding::error("not-derivable", &place, message).help(help));
        return None;
    }
    let ast = parse_node(source, "value", value_node, findings)?;
    let value = report(source, value_node, check_as(&ast, Type::of(declaration.kind), names), findings)?;
    Some(Effect::Derive { slot, value, written: Some(ast).into() })
}

/// Reads the need of an effect; `excludes` is set where the effect may or may not refuse a species.
fn read_need(
    inner: &mut TableReader<'_>,
    names: &Names<'_>,
    excludes: Option<bool>,
    findings: &mut Findings,
) -> Option<usize> {
    let node = inner.required("need", findings)?;
    let place = inner.place(node.span);
    let name = node.as_text().unwrap_or_default();
    let Some(index) = names.needs.iter().position(|need| need.id == name) else {
        let known = || names.needs.iter().map(|need| need.id.as_str());
        let help = match nearest(name, known()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if names.needs.is_empty() => "needs.toml declares no need".to_owned(),
            None => format!("needs are {}", known().collect::<Vec<_>>().join(", ")),
        };
        let finding = Finding::error("unknown-need", &place, format!("no need is called `{name}`"));
        findings.push(finding.help(help).undeclared(format!("need.{name}")));
        return None;
    };
    if excludes == Some(true) && !names.needs[index].may_exclude {
        let message = format!("`{name}` is a need on which no species is refused");
        let help = "rate or limit it instead, or set `exclude = true` for it in needs.toml";
        findings.push(Finding::error("need-never-excludes", &place, message).help(help));
    }
    Some(index)
}

fn read_level(inner: &TableReader<'_>, node: &Node, findings: &mut Findings) -> Option<f64> {
    let found = node.as_text().and_then(|name| LEVELS.iter().find(|(own, _)| *own == name));
    if found.is_none() {
        let names = || LEVELS.iter().map(|(name, _)| *name);
        let known = join_names(names());
        let (message, help) = match (node.as_text(), node.as_number()) {
            (Some(name), _) => {
                let near = nearest(name, names()).map(|near| format!("did you mean `{near}`? "));
                (format!("no level is called `{name}`"), near.unwrap_or_default())
            }
            (None, Some(number)) => {
                let named = LEVELS.iter().find(|(_, level)| *level == number);
                let named = named.map(|(name, _)| format!("write `\"{name}\"`; "));
                (format!("`level` is {number}, and a limit names its level"), named.unwrap_or_default())
            }
            (None, None) => {
                (format!("`level` is {}, and a limit names its level", node.type_name()), String::new())
            }
        };
        let place = inner.place(node.span);
        findings
            .push(Finding::error("unknown-level", &place, message).help(format!("{help}levels are {known}")));
    }
    found.map(|(_, level)| *level)
}

fn read_named<'a, T: Copy>(
    inner: &mut TableReader<'a>,
    key: &'a str,
    known: &[(&str, T)],
    findings: &mut Findings,
) -> Option<T> {
    inner.required(key, findings)?;
    inner.one_of(key, known, findings)
}

/// Where among the tasks of its stage one stands; in the middle where that is not said.
fn read_order(inner: &mut TableReader<'_>, findings: &mut Findings) -> u8 {
    let Some(order) = inner.number("order", findings) else { return TASK_ORDER_UNSAID };
    let [first, last] = TASK_ORDERS;
    if order.fract() == 0.0 && (f64::from(first)..=f64::from(last)).contains(&order) {
        return order as u8;
    }
    if let Some(place) = inner.node("order").map(|node| inner.place(node.span)) {
        let message = format!("`order` is {order}, not a whole number from {first} to {last}");
        findings.push(Finding::error("out-of-range", &place, message).help(format!(
            "tasks of a stage are told from {first} to {last}; {TASK_ORDER_UNSAID} is where one stands that does not say it"
        )));
    }
    TASK_ORDER_UNSAID
}
