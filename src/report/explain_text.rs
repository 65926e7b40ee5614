//! Why one species stands where it stands: every need, every rule that spoke, and why not more.

use comfy_table::CellAlignment;

use super::header::{header, methods, overlay_mark, species_mark};
use super::layout::{Look, table_text};
use super::month_table::month_table;
use super::recommend_text::{held_back, level_words, place_label};
use crate::assess::{Assessment, Candidate};
use crate::engine::trace::Observation;
use crate::engine::value::{Slot, Value};
use crate::explain::{Detail, Explanation, Reason, explain, trace_candidate};
use crate::knowledge::vocabulary::Kind;
use crate::rank::Class;

/// What an explanation shows beyond the reasons.
#[derive(Clone, Copy, Debug)]
pub struct ExplainOptions {
    /// Every condition, and the rules that stayed silent.
    pub all: bool,
    /// The table of months.
    pub months: bool,
}

/// The explanation.
pub fn explain_text(
    assessment: &Assessment<'_>,
    candidate: &Candidate<'_>,
    options: ExplainOptions,
    look: &Look,
) -> String {
    let all = options.all;
    let trace = trace_candidate(assessment, candidate, Detail::Full);
    let explanation = explain(assessment, Some(candidate), &trace, look.units);
    let species = candidate.species;
    let mut text = header(assessment, look);
    let mark = species_mark(assessment, species);
    text.push_str(&look.heading(&format!("{} ({}){mark}", species.name(), species.botanical)));
    if let Some(summary) = &species.summary {
        text.push_str(&look.paragraph(0, summary));
    }
    text.push('\n');
    text.push_str(&look.paragraph(0, &verdict(assessment, candidate)));
    text.push('\n');
    text.push_str(&need_table(assessment, candidate, look));
    text.push('\n');
    text.push_str(&reasons_text(assessment, &explanation, all, look));
    if !explanation.cautions.is_empty() {
        text.push_str("Cautions\n");
        for caution in &explanation.cautions {
            let words = format!("{}. Ask: {}", caution.text, caution.defer_to);
            text.push_str(&look.labelled(2, caution.gravity.name(), 6, &words));
            text.push_str(&look.paragraph(9, &rule_line(caution.rule, &caution.overlays)));
        }
        text.push('\n');
    }
    if !explanation.tasks.is_empty() {
        text.push_str("What to do\n");
        for task in &explanation.tasks {
            let words = format!("{} [{}{}]", task.text, task.rule.id, overlay_mark(&task.overlays));
            text.push_str(&look.labelled(2, task.stage.name(), 10, &words));
        }
        text.push('\n');
    }
    text.push_str(&open_text(assessment, &explanation, look));
    if all {
        text.push_str(&format!("Rules that stay silent ({})\n", explanation.silent.len()));
        for (rule, conditions) in &explanation.silent {
            text.push_str(&look.paragraph(2, &format!("{}: {}", rule.id, rule.title)));
            for condition in conditions {
                text.push_str(&look.paragraph(6, &observation(assessment, condition, look)));
            }
        }
        text.push('\n');
    }
    if options.months {
        text.push_str(&month_table(assessment, candidate, look));
    }
    text.push_str("Figures\n");
    text.push_str(&methods(assessment, all, look));
    text
}

/// Where it stands and why, in a sentence or two.
fn verdict(assessment: &Assessment<'_>, candidate: &Candidate<'_>) -> String {
    let standing = &candidate.standing;
    let needs = &assessment.knowledge.needs.all;
    let of = assessment.candidates.len();
    let mut words = format!(
        "Class {} ({}), index {:.0}, place {} of {of}. Held back by: {}.",
        standing.label(),
        standing.class.words(),
        standing.index,
        place_label(candidate),
        held_back(assessment, candidate)
    );
    if standing.class == Class::N {
        let excluding: Vec<&str> = candidate
            .needs
            .iter()
            .filter(|need| !need.is_saving && Class::from_worst(need.used()) == Class::N)
            .map(|need| needs[need.need].title.as_str())
            .collect();
        words.push_str(&format!(" It falls away on {}.", excluding.join(", ")));
    } else if let Some(first) =
        assessment.candidates.first().filter(|first| first.species.id != candidate.species.id)
    {
        let behind: Vec<String> = candidate
            .needs
            .iter()
            .zip(&first.needs)
            .map(|(own, best)| (own.need, best.rating().value() - own.rating().value()))
            .filter(|(_, lost)| *lost >= 3.0)
            .map(|(need, lost)| format!("{} by {lost:.0}", needs[need].title))
            .collect();
        if !behind.is_empty() {
            words.push_str(&format!(
                " Behind {}, the first, in rating of {}.",
                first.species.name(),
                behind.join(", ")
            ));
        }
    }
    if standing.class_best != standing.class_worst {
        words.push_str(&format!(
            " What is open leaves it between {} and {}.",
            standing.class_best.symbol(),
            standing.class_worst.symbol()
        ));
    }
    words
}

fn need_table(assessment: &Assessment<'_>, candidate: &Candidate<'_>, look: &Look) -> String {
    let mut table = look.wrapping_table();
    table.set_header(["need", "level", "rating", "class", ""]);
    for state in &candidate.needs {
        let need = &assessment.knowledge.needs.all[state.need];
        let outcome = &candidate.outcome.needs[state.need];
        if outcome.contributions.is_empty() && outcome.open.is_empty() {
            continue;
        }
        let class = if need.saving { "-" } else { Class::from_worst(state.used()).symbol() };
        let mut marks = Vec::new();
        if candidate.standing.deciding.contains(&state.need) {
            marks.push("decides".to_owned());
        }
        if candidate.standing.open.contains(&state.need) {
            marks.push(format!("open: {} to {}", state.best.name(), state.worst.name()));
        }
        table.add_row([
            need.title.clone(),
            level_words(state.counted()),
            format!("{:.0}", state.rating().value()),
            class.to_owned(),
            marks.join(", "),
        ]);
    }
    if let Some(column) = table.column_mut(2) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table_text(&table)
}

fn reasons_text(
    assessment: &Assessment<'_>,
    explanation: &Explanation<'_>,
    all: bool,
    look: &Look,
) -> String {
    let needs = &assessment.knowledge.needs.all;
    let mut text = String::new();
    let mut last = usize::MAX;
    for reason in &explanation.reasons {
        if reason.need != last {
            last = reason.need;
            let title = &needs[reason.need].title;
            text.push_str(&format!("{}{}\n", title[..1].to_uppercase(), &title[1..]));
        }
        let label = match reason.level {
            Some(level) => format!("{level:.1}"),
            None => "for".to_owned(),
        };
        text.push_str(&look.labelled(2, &label, 4, &reason.text));
        if let Some(words) = figures(assessment, reason, look) {
            text.push_str(&look.paragraph(7, &words));
        }
        text.push_str(&look.paragraph(7, &rule_line(reason.rule, &reason.overlays)));
        for condition in reason.conditions.iter().filter(|_| all) {
            text.push_str(&look.paragraph(7, &observation(assessment, condition, look)));
        }
        for basis in &reason.bases {
            let from = if basis.caveat().is_empty() {
                let shown: Vec<String> =
                    basis.citations.iter().take(3).map(|(key, at)| format!("{key}, {at}")).collect();
                let more = basis.citations.len().saturating_sub(3);
                let more = if more > 0 { format!(" and {more} more") } else { String::new() };
                format!("{}{more}", shown.join("; "))
            } else {
                basis.caveat().to_owned()
            };
            let mark = overlay_mark(&basis.overlays);
            let words = format!("{} {}: {from}{mark}", basis.name.replace('_', " "), basis.value);
            text.push_str(&look.paragraph(7, &words));
        }
    }
    if !explanation.reasons.is_empty() {
        text.push('\n');
    }
    text
}

/// `observed … against needed …`.
fn figures(assessment: &Assessment<'_>, reason: &Reason<'_>, look: &Look) -> Option<String> {
    let write = |read: &Option<(Slot, Value, Kind)>| {
        let (slot, value, kind) = read.as_ref()?;
        let name = assessment.knowledge.names().name_of(*slot);
        Some(format!("{name} {}", assessment.knowledge.vocabulary.write(value, *kind, look.units)))
    };
    match (write(&reason.observed), write(&reason.needed)) {
        (Some(observed), Some(needed)) => Some(format!("{observed} against {needed}")),
        (Some(only), None) | (None, Some(only)) => Some(only),
        (None, None) => None,
    }
}

fn rule_line(rule: &crate::knowledge::rule::Rule, overlays: &[String]) -> String {
    let sources: Vec<String> = rule.citations.iter().map(|citation| citation.short()).collect();
    format!("rule {} [{}{}]", rule.id, sources.join("; "), overlay_mark(overlays))
}

fn observation(assessment: &Assessment<'_>, condition: &Observation, look: &Look) -> String {
    let truth = match condition.truth {
        Some(true) => "holds",
        Some(false) => "does not hold",
        None => "unknown",
    };
    let write = |side: &Option<(Value, Kind)>| match side {
        Some((value, kind)) => assessment.knowledge.vocabulary.write(value, *kind, look.units),
        None => "unknown".to_owned(),
    };
    let seen = match (&condition.observed, &condition.threshold) {
        (None, None) => String::new(),
        (observed, threshold) => format!(" ({} against {})", write(observed), write(threshold)),
    };
    format!("{} {truth}{seen}", condition.text)
}

fn open_text(assessment: &Assessment<'_>, explanation: &Explanation<'_>, look: &Look) -> String {
    let open: Vec<_> = explanation.open.iter().filter(|open| open.need.is_some()).collect();
    if open.is_empty() {
        return String::new();
    }
    let names = assessment.knowledge.names();
    let mut text = String::from("Open\n");
    for point in open {
        let need = point.need.map_or("", |need| assessment.knowledge.needs.all[need].title.as_str());
        let missing: Vec<String> = point.missing.iter().map(|slot| names.name_of(*slot)).collect();
        let words = format!(
            "{need}: {} waits for {}; the level would be {:.1} to {:.1}",
            point.rule.id,
            missing.join(", "),
            point.best,
            point.worst
        );
        text.push_str(&look.paragraph(2, &words));
    }
    text.push('\n');
    text
}
