//! Findings to text (with the source line and carets) and to JSON.

use std::ops::Range;
use std::sync::Arc;

use annotate_snippets::{Annotation, AnnotationKind, Level, Renderer, Snippet};
use serde_json::{Value, json};

use super::finding::{Finding, Place, Severity};
use super::printable::printable;

/// Columns of a source line that are shown around a fault.
const WIDTH: usize = 110;

/// All findings as text, one after the other, with a count at the end.
pub fn render_all(findings: &[Finding], coloured: bool) -> String {
    let renderer = if coloured { Renderer::styled() } else { Renderer::plain() }.term_width(WIDTH);
    let mut text = String::new();
    for finding in findings {
        text.push_str(&render(finding, &renderer));
        text.push_str("\n\n");
    }
    let errors = findings.iter().filter(|finding| finding.severity == Severity::Error).count();
    let warnings = findings.len() - errors;
    let count = |number: usize, word: &str| format!("{number} {word}{}", if number == 1 { "" } else { "s" });
    match (errors, warnings) {
        (0, 0) => {}
        (_, 0) => text.push_str(&count(errors, "fault")),
        (0, _) => text.push_str(&count(warnings, "warning")),
        _ => text.push_str(&format!("{}, {}", count(errors, "fault"), count(warnings, "warning"))),
    }
    if !findings.is_empty() {
        text.push('\n');
    }
    text
}

fn render(finding: &Finding, renderer: &Renderer) -> String {
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    // both may hold what somebody wrote
    let message = printable(&finding.message, &['\n']);
    let help = finding.help.as_deref().map(|help| printable(help, &['\n']));
    let title = level.primary_title(&*message).id(finding.code);
    let mut group = match &finding.place {
        // without a place there is nothing to frame
        None => {
            let mut text = renderer.render(&[annotate_snippets::Group::with_title(title)]);
            if let Some(help) = &help {
                text.push_str("\n  = help: ");
                text.push_str(help);
            }
            return text;
        }
        Some(place) => {
            // two places of a file share its lines
            let own = finding.also.iter().filter(|(also, _)| Arc::ptr_eq(&also.source, &place.source));
            let own = own.map(|(also, words)| annotation(also, words, AnnotationKind::Context));
            let first = snippet(place).annotation(annotation(place, &finding.label, AnnotationKind::Primary));
            title.element(first.annotations(own))
        }
    };
    let source = finding.place.as_ref().map(|place| &place.source);
    for (place, words) in &finding.also {
        if !source.is_some_and(|source| Arc::ptr_eq(source, &place.source)) {
            group =
                group.element(snippet(place).annotation(annotation(place, words, AnnotationKind::Context)));
        }
    }
    if let Some(help) = &help {
        group = group.element(Level::HELP.message(&**help));
    }
    renderer.render(&[group])
}

fn snippet<'a>(place: &'a Place) -> Snippet<'a, Annotation<'a>> {
    Snippet::source(&*place.source.text).path(place.source.path.as_str())
}

fn annotation<'a>(place: &Place, label: &'a str, kind: AnnotationKind) -> Annotation<'a> {
    let annotation = kind.span(whole_characters(&place.source.text, &place.span));
    if label.is_empty() { annotation } else { annotation.label(label) }
}

/// The span widened to whole characters, and held inside the text.
fn whole_characters(text: &str, span: &Range<usize>) -> Range<usize> {
    let (mut start, mut end) = (span.start.min(text.len()), span.end.min(text.len()));
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end.max(start)
}

/// All findings as a JSON list, for programs.
pub fn render_json(findings: &[Finding]) -> Value {
    findings
        .iter()
        .map(|finding| {
            let also = finding.also.iter().map(|(place, words)| json!({ "place": place_json(place), "words": words }));
            json!({
                "code": finding.code,
                "severity": match finding.severity { Severity::Error => "error", Severity::Warning => "warning" },
                "message": finding.message,
                "place": finding.place.as_ref().map(place_json),
                "label": finding.label,
                "also": also.collect::<Vec<_>>(),
                "help": finding.help,
            })
        })
        .collect()
}

fn place_json(place: &Place) -> Value {
    let (line, column) = place.line_and_column();
    json!({ "file": place.source.path, "line": line, "column": column })
}

#[cfg(test)]
mod tests {
    use super::super::Source;
    use super::*;

    #[test]
    fn columns_count_characters_and_carets_stand_under_the_value() {
        let text = "name = \"Großenhain\" # Ü\nph = 99\n".to_owned();
        let start = text.find("Großenhain").unwrap() + "Groß".len();
        let source = Arc::new(Source { path: "site.toml".into(), text: text.into() });
        let place = Place { source, span: start..start + 3 };
        assert_eq!(place.locate(), "site.toml:1:13");
        let finding = Finding::error("test", &place, "odd letters").label("here").help("none");
        let rendered = render_all(&[finding], false);
        assert!(rendered.contains("site.toml:1:13"), "{rendered}");
        assert!(rendered.contains("1 fault"), "{rendered}");
    }
}
