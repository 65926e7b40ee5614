//! Why one species stands where it stands: every need, every rule that spoke, and why not more.

use comfy_table::CellAlignment;

use super::header::{header, methods, overlay_mark, overlay_tag, species_mark, too_little};
use super::json::WATER;
use super::layout::{Look, capitalised, table_text};
use super::month_table::month_table;
use super::recommend_text::{held_back, level_words, open_span, place_label};
use super::what_if_text::what_if_text;
use crate::assess::{Assessment, Candidate};
use crate::engine::trace::Observation;
use crate::engine::value::{Slot, Space, Value};
use crate::explain::why_not::{gaps, weighs};
use crate::explain::{
    Detail, Explanation, Figured, Reason, awaited_names, explain, overlays_of_need, overlays_of_standing,
    plan, trace_candidate, trace_site,
};
use crate::knowledge::vocabulary::Kind;
use crate::rank::{Class, Level};

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
    let mut text = header(assessment, look) + &too_little(assessment, look);
    let mark = species_mark(assessment, species);
    text.push_str(&look.heading(&format!("{} ({}){mark}", species.name(), species.botanical)));
    if let Some(summary) = &species.summary {
        text.push_str(&look.paragraph(0, summary));
    }
    text.push('\n');
    let left_out = left_out_by(assessment, candidate);
    if let Some(key) = left_out {
        let words = format!("Left out by `{key}` in the site file: judged as if it stood for choice.");
        text.push_str(&look.paragraph(0, &words));
    }
    text.push_str(&look.paragraph(0, &verdict(assessment, candidate, left_out.is_some())));
    text.push('\n');
    text.push_str(&need_table(assessment, candidate, look));
    text.push('\n');
    text.push_str(&water_text(assessment, candidate, look));
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
    let of_site = explain(assessment, None, &trace_site(assessment), look.units);
    let tasks = plan(&of_site, &explanation);
    if !tasks.is_empty() {
        text.push_str("What to do\n");
        for task in &tasks {
            let words = format!("{} [{}{}]", task.text, task.rule.id, overlay_mark(&task.overlays));
            text.push_str(&look.labelled(2, task.stage.name(), 10, &words));
        }
        text.push('\n');
    }
    text.push_str(&open_text(assessment, &explanation, all, look));
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
    text.push_str(&what_if_text(assessment, candidate, all, look));
    if options.months {
        text.push_str(&month_table(assessment, candidate, look));
    }
    text.push_str("Figures\n");
    text.push_str(&methods(assessment, all, look));
    text
}

/// The key of the site file that leaves a species out of the candidates.
fn left_out_by(assessment: &Assessment<'_>, candidate: &Candidate<'_>) -> Option<&'static str> {
    let (site, id) = (&assessment.site, &candidate.species.id);
    if site.without.contains(id) {
        return Some("candidates.without");
    }
    (!site.only.is_empty() && !site.only.contains(id)).then_some("candidates.only")
}

/// Where it stands and why, in a sentence or two. What is left out or refused has no place.
fn verdict(assessment: &Assessment<'_>, candidate: &Candidate<'_>, left_out: bool) -> String {
    let standing = &candidate.standing;
    let needs = &assessment.knowledge.needs.all;
    let place = if left_out || standing.class.is_refused() {
        String::new()
    } else {
        let suited = assessment.candidates.iter().filter(|one| !one.standing.class.is_refused());
        format!(", place {} of {} suited", place_label(candidate), suited.count())
    };
    let mut words = format!(
        "Class {} ({}), index {:.0}{place}. Held back by: {}.",
        standing.label(),
        standing.class.words(),
        standing.index,
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
        let behind: Vec<String> = gaps(first, candidate)
            .iter()
            .map(|gap| format!("{} by {:.0}", needs[gap.need].title, gap.points))
            .collect();
        if !behind.is_empty() {
            let weighed = if weighs(first) || weighs(candidate) {
                ", each counted by its weight in the index"
            } else {
                ""
            };
            words.push_str(&format!(
                " Behind {}, the first, in rating of {}{weighed}.",
                first.species.name(),
                behind.join(", ")
            ));
        }
    }
    if let Some(span) = open_span(candidate) {
        words.push_str(&format!(" {}.", capitalised(&span)));
    }
    words + &overlay_tag(&overlays_of_standing(candidate, assessment))
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
        // a range within one step tells nothing
        if candidate.standing.open.contains(&state.need) && state.best.name() != state.worst.name() {
            marks.push(format!("open: {} to {}", state.best.name(), state.worst.name()));
        }
        let overlays = overlays_of_need(candidate, state.need, assessment);
        if !overlays.is_empty() {
            marks.push(format!("overlay {}", overlays.join(", ")));
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

/// What the daily balance found, as ranges where an input is not known; nothing where nothing can be said.
fn water_text(assessment: &Assessment<'_>, candidate: &Candidate<'_>, look: &Look) -> String {
    let vocabulary = &assessment.knowledge.vocabulary;
    let slots: Vec<Slot> = WATER.iter().filter_map(|(id, _)| vocabulary.slot(id)).collect();
    let known = |slot: &Slot| candidate.outcome.fit.get(slot.index).and_then(Option::as_ref);
    let open = if slots.iter().all(|slot| known(slot).is_some()) {
        Vec::new()
    } else {
        assessment.yearly_water(candidate)
    };
    let mut waits_for: Vec<Slot> = Vec::new();
    let mut figures: Vec<(String, String)> = Vec::new();
    for slot in slots {
        let Some(declaration) = vocabulary.declaration(slot) else { continue };
        let tell = |value: &Value| vocabulary.tell(value, declaration.kind, look.units);
        let told = match known(&slot) {
            Some(value) => tell(value),
            None => {
                let Some(fact) = open.iter().find(|fact| fact.slot == slot) else { continue };
                let Some(range) = spread(&fact.values) else { continue };
                waits_for.extend(&fact.waits_for);
                tell(&range)
            }
        };
        figures.push((declaration.label(), told));
    }
    if figures.is_empty() {
        return String::new();
    }
    let widest = figures.iter().map(|(label, _)| label.chars().count()).max().unwrap_or_default();
    let lines: String =
        figures.iter().map(|(label, value)| format!("  {label:widest$}  {value}\n")).collect();
    let awaited = awaited_names(assessment, waits_for.iter());
    let note = match awaited.as_str() {
        "" => String::new(),
        names => look
            .paragraph(2, &format!("Ranges run from the driest case to the wettest: not known is {names}.")),
    };
    format!("Water by the daily balance\n{lines}{note}\n")
}

/// The least and the greatest of numbers as a range, or the one that all are.
fn spread(values: &[Value]) -> Option<Value> {
    let numbers = values.iter().filter_map(Value::as_number);
    let (low, high) = (numbers.clone().reduce(f64::min)?, numbers.reduce(f64::max)?);
    Some(if low < high { Value::Range(low, high) } else { Value::Number(low) })
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
            text.push_str(&format!("{}\n", capitalised(&needs[reason.need].title)));
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
            let words = format!("{} {}: {from}{mark}", basis.label, basis.value);
            text.push_str(&look.paragraph(7, &words));
        }
    }
    if !explanation.reasons.is_empty() {
        text.push('\n');
    }
    text
}

/// `observed … against needed …`.
pub(super) fn figures(assessment: &Assessment<'_>, reason: &Reason<'_>, look: &Look) -> Option<String> {
    let write = |read: &Option<Figured>| {
        let read = read.as_ref()?;
        let value = assessment.knowledge.vocabulary.tell(&read.value, read.kind, look.units);
        Some(match (read.label.as_str(), read.computed) {
            ("", _) => value,
            (label, true) => format!("{value} (from {label})"),
            (label, false) => format!("{label} {value}"),
        })
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
        Some((value, kind)) => assessment.knowledge.vocabulary.tell(value, *kind, look.units),
        None => "unknown".to_owned(),
    };
    let seen = match (&condition.observed, &condition.threshold) {
        (None, None) => String::new(),
        (observed, threshold) => format!(" ({} against {})", write(observed), write(threshold)),
    };
    format!("{} {truth}{seen}", condition.text)
}

/// The open rules whose range spans more than a step, or all of them.
fn open_text(assessment: &Assessment<'_>, explanation: &Explanation<'_>, all: bool, look: &Look) -> String {
    let step = |level: f64| Level::clamped(level).map(Level::name);
    let open: Vec<_> = explanation
        .open
        .iter()
        .filter(|open| open.need.is_some() && (all || step(open.best) != step(open.worst)))
        .collect();
    if open.is_empty() {
        return String::new();
    }
    let vocabulary = &assessment.knowledge.vocabulary;
    let label = |slot: &Slot| vocabulary.declaration(*slot).map(|own| own.label());
    let mut text = String::from("Open\n");
    for point in open {
        let need = point.need.map_or("", |need| assessment.knowledge.needs.all[need].title.as_str());
        // nobody can be asked for what is derived, unless nothing else is missing
        let asked = point.missing.iter().filter(|slot| slot.space != Space::Fit).filter_map(label);
        let mut missing: Vec<String> = asked.collect();
        if missing.is_empty() {
            missing = point.missing.iter().filter_map(label).collect();
        }
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
