//! What a scaffold leaves open: found by its mark, and told once for each key, in place of all the
//! faults that the mark itself would give.

use std::sync::Arc;

use crate::alike::each_once;
use crate::diag::{Finding, Findings, Place, Source};
use crate::document::{Entry, NodeKind, Span, Table};

/// What stands where something is to be filled in.
pub const UNFILLED: &str = "?";

/// Reports every key of a file that still holds the mark, and drops the findings about the mark.
pub fn report(source: &Arc<Source>, table: &Table, findings: &mut Findings) {
    let mut all = Findings::new();
    let mut marks = Vec::new();
    for (key, entry) in table.iter() {
        match entry.node.as_table().filter(|_| key == "traits") {
            Some(traits) => traits.iter().for_each(|(name, inner)| {
                let help =
                    "write what the publication states; delete the line of a trait that nobody has published";
                all.extend(unfilled(source, name, inner, help, &mut marks));
            }),
            None => {
                let help = "replace each \"?\" as the comment of the scaffold says";
                all.extend(unfilled(source, key, entry, help, &mut marks));
            }
        }
    }
    if marks.is_empty() {
        return;
    }
    let about_a_mark = |finding: &Finding| {
        let place = finding.place.as_ref().filter(|place| Arc::ptr_eq(&place.source, source));
        place.is_some_and(|place| {
            marks.iter().any(|mark| mark.start <= place.span.start && place.span.end <= mark.end)
        })
    };
    findings.retain(|finding| !about_a_mark(finding));
    findings.extend(all);
}

/// The finding about one key, where a mark stands in its value.
fn unfilled(
    source: &Arc<Source>,
    key: &str,
    entry: &Entry,
    help: &str,
    marks: &mut Vec<std::ops::Range<usize>>,
) -> Option<Finding> {
    let mut found = Vec::new();
    collect(&entry.node.kind, entry.node.span, None, &mut found);
    let (_, first) = found.first()?;
    let place = Place { source: source.clone(), span: first.range() };
    marks.extend(found.iter().map(|(_, span)| span.range()));
    let names = each_once(found.iter().filter_map(|(name, _)| *name));
    let message = match names[..] {
        [] => format!("`{key}` is not filled in"),
        _ => format!("`{key}` is not filled in: {} still to write", names.join(", ")),
    };
    Some(Finding::error("not-filled-in", &place, message).help(help))
}

/// Marks with the key that they stand under, inside the value of another key. A key that is a mark
/// itself counts too.
fn collect<'a>(
    kind: &'a NodeKind,
    span: Span,
    under: Option<&'a str>,
    found: &mut Vec<(Option<&'a str>, Span)>,
) {
    match kind {
        NodeKind::Text(text) if text == UNFILLED => found.push((under, span)),
        NodeKind::List(items) => items.iter().for_each(|item| collect(&item.kind, item.span, under, found)),
        NodeKind::Table(table) => table.iter().for_each(|(key, entry)| {
            if key == UNFILLED {
                found.push((under, entry.key_span));
                collect(&entry.node.kind, entry.node.span, under, found);
            } else {
                collect(&entry.node.kind, entry.node.span, Some(key), found);
            }
        }),
        _ => {}
    }
}
