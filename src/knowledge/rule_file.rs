//! `rules/<topic>/<id>.toml` to [`Rule`].

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use super::citation::read_citations;
use super::names::Names;
use super::rule::{Effect, Gravity, Rule, Stage, Template, TemplatePart};
use super::rule_cases::read_cases;
use super::rule_figures::{Figure, side_by_side};
use super::sources::Sources;
use super::vocabulary::From;
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};
use crate::document::{Node, NodeKind, Table, TableReader};
use crate::engine::expression::{
    Ast, Expr, ExpressionFault, LEVELS, Type, Typed, check, check_as, check_flag, parse,
};
use crate::engine::value::{Space, Value};
use crate::units::{Dimension, UnitSystem};

/// Reads one rule file.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    topic: &str,
    names: &Names<'_>,
    sources: &Sources,
    findings: &mut Findings,
) -> Option<Rule> {
    let before = findings.len();
    let mut file = TableReader::of_file(source, table, "a rule");
    let id_node = file.required("id", findings);
    let title = file.required_text("title", findings).unwrap_or_default().to_owned();
    let why = file.required_text("why", findings).unwrap_or_default().to_owned();
    let citations = read_citations(&mut file, sources, findings);
    let when_node = file.node("when");
    let when = when_node.and_then(|node| {
        let ast = parse_node(source, "when", node, findings)?;
        let checked = check_flag(&ast, names);
        let expr = report(source, node, checked, findings)?;
        Some((ast, Typed { expr, ty: Type::Flag, unit: None }))
    });
    let before_effects = findings.len();
    let effects = read_effects(source, &mut file, names, findings);
    // a case is not held against effects of which some could not be read
    let read_whole: &[Effect] = if findings.len() > before_effects { &[] } else { &effects };
    let observed = file.node("observed").and_then(|node| {
        let ast = parse_node(source, "observed", node, findings)?;
        Some(figure(report(source, node, check(&ast, names), findings)?, &ast))
    });
    let needed = file.node("needed").and_then(|node| {
        let Some(observed) = &observed else {
            if file.node("observed").is_none() {
                let message = "`needed` stands without `observed`, which it would be held against";
                let place = file.place(node.span);
                findings.push(Finding::error("missing-key", &place, message));
            }
            return None;
        };
        let ast = parse_node(source, "needed", node, findings)?;
        let typed = match check(&ast, names) {
            Ok(typed) if side_by_side(observed.typed.ty, typed.ty) => Ok(typed),
            // quoted text takes its meaning from what is observed, and anything else is refused
            _ => check_as(&ast, observed.typed.ty, names),
        };
        Some(figure(report(source, node, typed, findings)?, &ast))
    });
    let because = match file.required("because", findings) {
        Some(node) => {
            refuse_sentence(source, node, findings);
            read_template(source, "because", node, names, findings)
        }
        None => Template::default(),
    };
    let cases = read_cases(source, &mut file, names, read_whole, findings);
    let place = id_node.map_or_else(|| file.own_place(), |node| file.place(node.span));
    file.finish(findings);
    let id = super::file_id(source, id_node, &place, findings)?;
    if findings.len() > before {
        return None;
    }
    let (written, when) = when.unzip();
    let mut rule = Rule {
        id,
        topic: topic.to_owned(),
        title,
        why,
        citations,
        written: written.into(),
        when,
        effects,
        observed,
        needed,
        figures: OnceLock::new(),
        because: because.into(),
        cases: cases.into(),
        site_only: false,
        place,
    };
    let reads_only_site = rule.reads().iter().all(|slot| slot.space == Space::Site);
    let speaks_of_site = rule.effects.iter().all(|effect| match effect {
        Effect::Derive { slot, .. } => slot.space == Space::Site,
        Effect::Caution { .. } | Effect::Task { .. } => true,
        _ => false,
    });
    rule.site_only = reads_only_site && speaks_of_site;
    if let Some(Effect::Derive { .. }) = rule
        .effects
        .iter()
        .find(|effect| matches!(effect, Effect::Derive { slot, .. } if slot.space == Space::Site))
        && !rule.site_only
    {
        let message = "a rule that derives a fact of the site may read only facts of the site";
        let others = rule.reads().into_iter().filter(|slot| slot.space != Space::Site);
        let others: Vec<String> = others.map(|slot| format!("`{}`", names.name_of(slot))).collect();
        let help = format!("it reads {}; derive a fact under `fit.` instead", others.join(", "));
        findings.push(Finding::error("derives-site-from-species", &rule.place, message).help(help));
        return None;
    }
    Some(rule)
}

fn figure(typed: Typed, ast: &Ast) -> Figure {
    Figure { typed, written: ast.to_string() }
}

/// Where a task may stand among those of its stage.
const TASK_ORDERS: std::ops::RangeInclusive<f64> = 1.0..=99.0;
/// Where one stands that does not say it.
const TASK_ORDER_UNSAID: u8 = 50;
/// What may follow from a rule.
const EFFECTS: [&str; 7] = ["derive", "rate", "limit", "exclude", "credit", "caution", "task"];

fn read_effects(
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
        let excludes = level.is_some_and(|level| level >= 5.0);
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
    if then.is_empty() {
        let help = "say what follows, for example `then.limit = { need = \"light\", level = \"severe\" }`";
        findings.push(Finding::error("no-effect", &then.own_place(), "the rule does nothing").help(help));
    }
    then.finish(findings);
    effects
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
    if order.fract() == 0.0 && TASK_ORDERS.contains(&order) {
        return order as u8;
    }
    if let Some(place) = inner.node("order").map(|node| inner.place(node.span)) {
        let message = format!("`order` is {order}, not a whole number from 1 to 99");
        findings.push(Finding::error("out-of-range", &place, message).help(format!(
            "tasks of a stage are told from 1 to 99; {TASK_ORDER_UNSAID} is where one stands that does not say it"
        )));
    }
    TASK_ORDER_UNSAID
}

/// Parses the expression in a text node.
fn parse_node(source: &Arc<Source>, key: &str, node: &Node, findings: &mut Findings) -> Option<Ast> {
    let Some(text) = node.as_text() else {
        let place = Place { source: source.clone(), span: node.span.range() };
        let message = format!("`{key}` must be an expression in quotes, not {}", node.type_name());
        let bare = matches!(node.kind, NodeKind::Integer(_) | NodeKind::Float(_) | NodeKind::Flag(_));
        let written = source.text.get(node.span.range()).filter(|_| bare);
        let help = written.map(|written| format!("put it in quotes: `\"{written}\"`"));
        findings.push(Finding::error("wrong-type", &place, message).maybe_help(help));
        return None;
    };
    report(source, node, parse(text), findings)
}

/// Turns a fault in an expression into a finding at the very character in the file.
fn report<T>(
    source: &Arc<Source>,
    node: &Node,
    result: Result<T, ExpressionFault>,
    findings: &mut Findings,
) -> Option<T> {
    result
        .map_err(|fault| {
            let place = Place { source: source.clone(), span: inner_span(source, node, &fault.span) };
            let finding = Finding::error(fault.code, &place, fault.message).maybe_help(fault.help);
            findings.push(Finding { undeclared: fault.undeclared, ..finding });
        })
        .ok()
}

/// Where a stretch of a text value stands in the file. Text with escapes is marked whole.
fn inner_span(source: &Source, node: &Node, inner: &Range<usize>) -> Range<usize> {
    let (text, whole) = (node.as_text().unwrap_or_default(), node.span.range());
    let raw = source.text.get(node.span.range()).unwrap_or_default();
    match raw.find(text).filter(|_| !text.is_empty()) {
        Some(offset) => {
            let start = whole.start + offset;
            let end = (start + inner.end).max(start + inner.start + 1).min(whole.end);
            (start + inner.start).min(end)..end
        }
        None => whole,
    }
}

/// Refuses the beginning and the end of a sentence in words that reports put behind the name of a species.
fn refuse_sentence(source: &Arc<Source>, node: &Node, findings: &mut Findings) {
    let text = node.as_text().unwrap_or_default();
    let mut refuse = |span: Range<usize>, message: &str, help: String| {
        let place = Place { source: source.clone(), span: inner_span(source, node, &span) };
        findings.push(Finding::error("because-as-sentence", &place, message).help(help));
    };
    let first = text.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    if first.starts_with(char::is_uppercase) {
        let help = format!("write `{}`: the words continue the name of the species", first.to_lowercase());
        refuse(0..first.len(), "`because` begins with a capital", help);
    }
    // the last words may stand in a `{where … | …}`
    let words = text.trim_end_matches(['}', ' ']);
    if let Some(before) = words.strip_suffix('.') {
        let last = before.rsplit(char::is_whitespace).next().unwrap_or_default();
        let help = format!("write `{last}`: reports go on behind the words");
        refuse(before.len() - last.len()..words.len(), "`because` ends with a full stop", help);
    }
}

/// Reads words with `{expressions}` in them.
fn read_template(
    source: &Arc<Source>,
    key: &str,
    node: &Node,
    names: &Names<'_>,
    findings: &mut Findings,
) -> Template {
    let place = Place { source: source.clone(), span: node.span.range() };
    let Some(text) = node.as_text().filter(|text| !text.trim().is_empty()) else {
        findings.push(Finding::error("empty-text", &place, format!("`{key}` must be words")));
        return Template::default();
    };
    read_parts(source, node, text, 0, names, findings)
}

/// Reads the words and values of a stretch of a text value that begins at byte `from` of it.
fn read_parts(
    source: &Arc<Source>,
    node: &Node,
    text: &str,
    from: usize,
    names: &Names<'_>,
    findings: &mut Findings,
) -> Template {
    let mut template = Template::default();
    let mut at = 0;
    while let Some(open) = text[at..].find('{').map(|open| at + open) {
        if open > at {
            template.parts.push(TemplatePart::Words(text[at..open].to_owned()));
        }
        let Some(close) = closing_brace(text, open) else {
            let span = inner_span(source, node, &(from + open..from + open + 1));
            let place = Place { source: source.clone(), span };
            findings.push(Finding::error("expression-syntax", &place, "`{` is not closed"));
            return template;
        };
        let shift = |fault: ExpressionFault| {
            let start = from + open + 1;
            ExpressionFault { span: fault.span.start + start..fault.span.end + start, ..fault }
        };
        let inside = &text[open + 1..close];
        let under = inside.strip_prefix("where ").and_then(|rest| rest.split_once('|'));
        match under {
            Some((condition, words)) => {
                // spaces in place of the word keep the columns of a fault right
                let condition = format!("{:6}{condition}", "");
                let checked = parse(&condition).and_then(|ast| check_flag(&ast, names)).map_err(shift);
                let from = from + close - words.len();
                let inner = read_parts(source, node, words, from, names, findings);
                let condition = report(source, node, checked, findings);
                template.parts.extend(condition.map(|condition| TemplatePart::Where(condition, inner)));
            }
            None => {
                let typed =
                    parse(inside).and_then(|ast| metric(check(&ast, names)?, &ast.span)).map_err(shift);
                template.parts.extend(report(source, node, typed, findings).map(TemplatePart::Value));
            }
        }
        at = close + 1;
    }
    if at < text.len() {
        template.parts.push(TemplatePart::Words(text[at..].to_owned()));
    }
    template
}

/// Refuses a figure in US units: reports bring what is metric into those for whoever reads them, and not the
/// other way.
fn metric(typed: Typed, span: &Range<usize>) -> Result<Typed, ExpressionFault> {
    let (Expr::Const(Value::Number(base)), Some(unit)) =
        (&typed.expr, typed.unit.filter(|unit| unit.is_us()))
    else {
        return Ok(typed);
    };
    let metric = UnitSystem::Si.write(*base, unit.in_si());
    let message = format!("a figure of a sentence stands in metric units, not in {}", unit.name);
    let help = format!("write about {metric}; readers of US units get it in theirs");
    Err(ExpressionFault::new("us-unit-in-text", span.clone(), message).help(help))
}

/// The brace that closes the one at `open`.
fn closing_brace(text: &str, open: usize) -> Option<usize> {
    let mut depth = 0;
    for (at, sign) in text[open..].char_indices() {
        match sign {
            '{' => depth += 1,
            '}' if depth == 1 => return Some(open + at),
            '}' => depth -= 1,
            _ => {}
        }
    }
    None
}
