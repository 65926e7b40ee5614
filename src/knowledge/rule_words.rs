//! Words of a rule with `{expressions}` in them.

use std::ops::Range;
use std::sync::Arc;

use super::names::Names;
use super::rule::{Template, TemplatePart};
use super::rule_expression::{inner_span, report};
use crate::diag::{Finding, Findings, Place, Source};
use crate::document::Node;
use crate::engine::expression::{Expr, ExpressionFault, Typed, check, check_flag, parse};
use crate::engine::value::Value;
use crate::units::UnitSystem;

/// Words whose braces stand deeper within one another are refused, so that reading them cannot exhaust the stack.
const DEEPEST_WORDS: usize = 20;

/// Refuses the beginning and the end of a sentence in words that reports put behind the name of a species.
pub fn refuse_sentence(source: &Arc<Source>, node: &Node, findings: &mut Findings) {
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
pub fn read_template(
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
    if nesting(text) > DEEPEST_WORDS {
        let message = format!("`{key}` has more than {DEEPEST_WORDS} braces within one another");
        findings.push(Finding::error("expression-syntax", &place, message));
        return Template::default();
    }
    read_parts(source, node, text, 0, names, findings)
}

/// How many braces stand within one another at the most.
fn nesting(text: &str) -> usize {
    let mut open = 0_usize;
    let depths = text.bytes().map(|byte| {
        match byte {
            b'{' => open += 1,
            b'}' => open = open.saturating_sub(1),
            _ => {}
        }
        open
    });
    depths.max().unwrap_or(0)
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
