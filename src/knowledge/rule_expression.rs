//! Expressions in the text values of a rule file.

use std::ops::Range;
use std::sync::Arc;

use crate::diag::{Finding, Findings, Place, Source};
use crate::document::{Node, NodeKind};
use crate::engine::expression::{Ast, ExpressionFault, parse};

/// Parses the expression in a text node.
pub fn parse_node(source: &Arc<Source>, key: &str, node: &Node, findings: &mut Findings) -> Option<Ast> {
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
pub fn report<T>(
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
pub fn inner_span(source: &Source, node: &Node, inner: &Range<usize>) -> Range<usize> {
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
