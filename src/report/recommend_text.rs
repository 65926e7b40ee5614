//! The ranked answer as text: a summary table, then the reasons of those that are shown.

use comfy_table::CellAlignment;

use super::fallen_text::fallen_text;
use super::header::{header, methods, too_little};
use super::header::{overlay_mark, overlay_tag, species_mark};
use super::layout::{Look, some_of, table_text};
use crate::alike::grouped;
use crate::assess::{Assessment, Candidate, matters};
use crate::explain::{
    Caution, Detail, Direction, Explanation, Reason, awaited_names, explain, open_inputs,
    overlays_of_standing, trace_candidate, trace_site,
};
use crate::knowledge::rule::Rule;
use crate::rank::Class;
use crate::side_by_side::side_by_side;
use crate::units::format_number;

/// How much is shown.
#[derive(Clone, Copy, Debug)]
pub struct Shown {
    /// Candidates shown with their reasons.
    pub top: usize,
    /// Whether every candidate stands in the table, and every reason below.
    pub all: bool,
}

/// Traits whose source is named beside a reason.
const MOST_TRAITS: usize = 2;
/// Reasons of one direction shown for a candidate in the short form.
const FEW_REASONS: usize = 4;
/// Open needs shown for a candidate in the short form.
const FEW_OPEN: usize = 3;
/// How far an open need must be able to worsen to be shown in the short form.
const WORTH_A_WORD: f64 = 0.5;
/// Candidates whose open facts are asked for where none is shown.
const MOST_ASKED: usize = 3;
/// Width of the labels "for", "against", "mind", "open".
const LABEL: usize = 8;

/// The whole answer.
pub fn recommend_text(assessment: &Assessment<'_>, shown: Shown, look: &Look) -> String {
    let mut text = header(assessment, look);
    let suited: Vec<&Candidate<'_>> =
        assessment.candidates.iter().filter(|one| one.standing.class != Class::N).collect();
    let top: Vec<&Candidate<'_>> = if shown.all {
        assessment.candidates.iter().collect()
    } else {
        suited.iter().copied().take(shown.top).collect()
    };
    if suited.is_empty() {
        let words =
            "Nothing in the knowledge base suits this site as it stands. What excludes each species follows.";
        text.push_str(&look.paragraph(0, words));
        text.push('\n');
    } else if !top.is_empty() {
        text.push_str(&summary(assessment, &top, look));
        let firmness = firmness(assessment, suited.first().unwrap_or(&top[0]));
        if !firmness.is_empty() {
            text.push_str(&look.paragraph(0, &firmness));
        }
        text.push('\n');
    }
    text.push_str(&too_little(assessment, look));
    let mut cautions = SharedCautions::default();
    let mut details = String::new();
    let explanations = side_by_side(&top, |candidate| {
        let trace = trace_candidate(assessment, candidate, Detail::Brief);
        explain(assessment, Some(candidate), &trace, look.units)
    });
    for (candidate, explanation) in top.iter().zip(&explanations) {
        details.push_str(&candidate_text(assessment, candidate, explanation, shown.all, &mut cautions, look));
        details.push('\n');
    }
    text.push_str(&details);
    if explanations.iter().any(|explanation| !explanation.tasks.is_empty()) {
        text.push_str(&look.paragraph(0, PLAN));
        text.push('\n');
    }
    let site = explain(assessment, None, &trace_site(assessment), look.units);
    let warnings = cautions_text(&site, &cautions, look);
    let fallen = fallen_text(assessment, suited.get(top.len()..).unwrap_or_default(), look);
    // where nothing is suited the head of the answer announces what excludes each
    let parts = if suited.is_empty() { [fallen, warnings] } else { [warnings, fallen] };
    parts.iter().for_each(|part| text.push_str(part));
    // with nobody shown the open facts are those of the first that would be
    let asked = if top.is_empty() { &suited[..suited.len().min(MOST_ASKED)] } else { &top[..] };
    text.push_str(&open_text(assessment, asked, look));
    text.push_str("Figures\n");
    text.push_str(&methods(assessment, shown.all, look));
    text
}

/// Where the tasks of a candidate are told.
const PLAN: &str = "`explain` gives the plan of each: what to do before planting, while it establishes, every year, \
                    in drought and after it.";

/// The name of a candidate, with the overlays that had a hand in where it stands.
pub fn tagged(assessment: &Assessment<'_>, candidate: &Candidate<'_>) -> String {
    format!("{}{}", candidate.species.name(), overlay_tag(&overlays_of_standing(candidate, assessment)))
}

fn summary(assessment: &Assessment<'_>, top: &[&Candidate<'_>], look: &Look) -> String {
    let mut table = look.wrapping_table();
    table.set_header(["", "species", "class", "index", "held back by"]);
    for candidate in top {
        table.add_row([
            place_label(candidate),
            tagged(assessment, candidate),
            candidate.standing.label(),
            format!("{:.0}", candidate.standing.index),
            held_back(assessment, candidate),
        ]);
    }
    for column in [0, 3] {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table_text(&table)
}

/// `1 sample`, `40 samples`.
fn sample_words(count: usize) -> String {
    format!("{count} sample{}", if count == 1 { "" } else { "s" })
}

/// How firm the first place is, and how ties are told where samples tell them.
fn firmness(assessment: &Assessment<'_>, first: &Candidate<'_>) -> String {
    let Some((samples, shares)) = assessment.shares(first) else { return String::new() };
    let drawn = format!(
        "{} is first in {:.0}% of {} inside the stated spreads",
        first.species.name(),
        shares.first * 100.0,
        sample_words(samples)
    );
    if assessment.robustness.as_ref().is_none_or(|own| !own.tell_ties()) {
        return format!("{drawn}.");
    }
    let part = format_number(1.0 / crate::assess::robust::TIES_FROM);
    let near = format_number(assessment.knowledge.needs.tie_within);
    format!(
        "{drawn}; = shares a place: within {near} points of the first of it, or before it in at least 1 \
         sample of {part}."
    )
}

/// `1`, or `1=` where others share the place; what is refused has none.
pub fn place_label(candidate: &Candidate<'_>) -> String {
    if candidate.standing.class.is_refused() {
        return "-".to_owned();
    }
    format!("{}{}", candidate.rank, if candidate.tied_with.is_empty() { "" } else { "=" })
}

/// The needs at the worst level, with the level in words.
pub fn held_back(assessment: &Assessment<'_>, candidate: &Candidate<'_>) -> String {
    let needs = &assessment.knowledge.needs.all;
    let names: Vec<&str> =
        candidate.standing.deciding.iter().map(|need| needs[*need].title.as_str()).collect();
    let level = candidate.standing.deciding.first().map(|need| candidate.needs[*need].used());
    match level {
        Some(level) if level.value() >= 0.5 => {
            let words = if level.value() < 1.0 { "hardly" } else { level.name().as_str() };
            let capped = if candidate.standing.capped_open { ", open" } else { "" };
            format!("{} ({words}{capped})", some_of(&names, 2))
        }
        _ => "nothing".to_owned(),
    }
}

/// `what is open leaves it between S1 and S3`, with the neighbouring class where the class itself is
/// printed as two; `None` where nothing open moves the class.
pub fn open_span(candidate: &Candidate<'_>) -> Option<String> {
    let standing = &candidate.standing;
    let best = standing.class_best.min(standing.span.better);
    let worst = standing.class_worst.max(standing.span.worse);
    (standing.class_best != standing.class_worst)
        .then(|| format!("what is open leaves it between {} and {}", best.symbol(), worst.symbol()))
}

fn candidate_text(
    assessment: &Assessment<'_>,
    candidate: &Candidate<'_>,
    explanation: &Explanation<'_>,
    all: bool,
    shared: &mut SharedCautions,
    look: &Look,
) -> String {
    let needs = &assessment.knowledge.needs.all;
    let species = candidate.species;
    let head = format!(
        "{}  {} ({}), {} {:.0}{}",
        place_label(candidate),
        species.name(),
        species.botanical,
        candidate.standing.label(),
        candidate.standing.index,
        species_mark(assessment, species)
    );
    let mut text = look.paragraph(0, &head);
    if look.coloured {
        text = look.strong(text.trim_end()) + "\n";
    }
    if let Some(span) = open_span(candidate) {
        text.push_str(&look.paragraph(3, &span));
    }
    if let Some((samples, shares)) = assessment.shares(candidate) {
        let share = |share: f64| format!("{:.0}%", share * 100.0);
        let words = format!(
            "first in {} of {}, among the first three in {}, in its class in {}",
            share(shares.first),
            sample_words(samples),
            share(shares.first_three),
            share(shares.in_class)
        );
        text.push_str(&look.paragraph(3, &words));
    }
    // what is open and decides nothing is told with the other open needs
    let weighs = |reason: &Reason<'_>| {
        all || reason.direction != Direction::Open || candidate.standing.deciding.contains(&reason.need)
    };
    let labels = [(Direction::For, "for"), (Direction::Against, "against"), (Direction::Open, "open")];
    for (direction, label) in labels {
        let of_direction: Vec<&Reason<'_>> =
            explanation.reasons.iter().filter(|one| one.direction == direction && weighs(one)).collect();
        let told = of_direction.len();
        let reasons = chosen_reasons(of_direction, all);
        for reason in &reasons {
            let words = format!(
                "{}: {}{} [{}{}{}]",
                needs[reason.need].title,
                reason.text,
                foundation(reason),
                citation_of(reason.rule),
                traits_after(reason),
                overlay_mark(&reason.overlays)
            );
            text.push_str(&look.labelled(3, label, LABEL, &words));
        }
        if told > reasons.len() {
            let more = format!("and {} more: see `explain`", told - reasons.len());
            text.push_str(&look.labelled(3, "", LABEL, &more));
        }
    }
    let numbers: Vec<String> =
        explanation.cautions.iter().map(|caution| format!("[{}]", shared.number(caution))).collect();
    if !numbers.is_empty() {
        text.push_str(&look.labelled(3, "mind", LABEL, &format!("cautions {}", numbers.join(" "))));
    }
    let told: Vec<usize> = explanation
        .reasons
        .iter()
        .filter(|reason| reason.direction == Direction::Open && weighs(reason))
        .map(|reason| reason.need)
        .collect();
    text.push_str(&open_needs(assessment, candidate, &told, all, look));
    text
}

/// The reasons of one direction that are shown: all of them, or the gravest of each need, few in all.
fn chosen_reasons<'a, 'k>(mut reasons: Vec<&'a Reason<'k>>, all: bool) -> Vec<&'a Reason<'k>> {
    reasons.sort_by(|a, b| b.level.unwrap_or(0.0).total_cmp(&a.level.unwrap_or(0.0)));
    if !all {
        let mut spoken = Vec::new();
        reasons.retain(|reason| {
            let first = !spoken.contains(&reason.need);
            spoken.push(reason.need);
            first
        });
        reasons.truncate(FEW_REASONS);
    }
    reasons
}

/// The needs that wait for a fact, those that might go worst first, without those already told of.
fn open_needs(
    assessment: &Assessment<'_>,
    candidate: &Candidate<'_>,
    spoken_of: &[usize],
    all: bool,
    look: &Look,
) -> String {
    let needs = &assessment.knowledge.needs.all;
    let open = candidate.standing.open.iter().filter(|need| !spoken_of.contains(need));
    let mut open: Vec<_> = open.map(|need| &candidate.needs[*need]).collect();
    open.sort_by(|a, b| b.worst.cmp(&a.worst).then(a.need.cmp(&b.need)));
    let told = open.len();
    if !all {
        // a range that stays within one step would tell a client nothing
        open.retain(|state| {
            state.best.name() != state.worst.name()
                && state.worst.value() - state.used().value() >= WORTH_A_WORD
        });
        open.truncate(FEW_OPEN);
    }
    let mut text = String::new();
    for state in &open {
        let missing = missing_names(assessment, candidate, state.need);
        let missing = if missing.is_empty() { missing } else { format!("; not known: {missing}") };
        let (best, worst) = (state.best.name(), state.worst.name());
        let words = format!("{}: {best} to {worst}{missing}", needs[state.need].title);
        text.push_str(&look.labelled(3, "open", LABEL, &words));
    }
    if told > open.len() && !open.is_empty() {
        text.push_str(&look.labelled(3, "", LABEL, &format!("and {} less weighty", told - open.len())));
    }
    text
}

/// Where the figures of the species come from, which the source of the rule does not state: of each
/// trait the weightiest publication.
fn traits_after(reason: &Reason<'_>) -> String {
    let published = reason.bases.iter().filter(|basis| basis.caveat().is_empty());
    let of_rule =
        |key: &String| reason.rule.citations.iter().any(|citation| citation.publication.key == *key);
    let named = published.filter_map(|basis| Some((&basis.label, &basis.citations.first()?.0)));
    let named = named.filter(|(_, key)| !of_rule(key));
    named.take(MOST_TRAITS).map(|(label, key)| format!("; {label}: {key}")).collect()
}

/// What the traits behind a reason rest on, where that is less than a publication.
fn foundation(reason: &Reason<'_>) -> String {
    let weak = reason.bases.iter().filter(|basis| !basis.caveat().is_empty());
    let weak = grouped(weak.map(|basis| (basis.caveat(), basis.label.as_str())));
    let weak: Vec<String> =
        weak.into_iter().map(|(caveat, labels)| format!("{}: {caveat}", labels.join(", "))).collect();
    if weak.is_empty() { String::new() } else { format!(" ({})", weak.join("; ")) }
}

/// Rule and its first source.
fn citation_of(rule: &Rule) -> String {
    match rule.citations.first() {
        Some(citation) => format!("{}; {}", rule.id, citation.short()),
        None => rule.id.clone(),
    }
}

/// The facts that a need waits for: names of what can be said of the site, or of traits.
pub fn missing_names(assessment: &Assessment<'_>, candidate: &Candidate<'_>, need: usize) -> String {
    let outcome = &candidate.outcome.needs[need];
    let open = outcome.open.iter().filter(|open| matters(outcome.level, open.worst));
    awaited_names(assessment, open.flat_map(|open| &open.missing))
}

/// Cautions that several candidates share, numbered once.
#[derive(Default)]
struct SharedCautions {
    all: Vec<(String, String)>,
}

impl SharedCautions {
    fn number(&mut self, caution: &Caution<'_>) -> usize {
        let words = caution_words(caution);
        let known = self.all.iter().position(|(rule, own)| *rule == caution.rule.id && *own == words);
        known.unwrap_or_else(|| {
            self.all.push((caution.rule.id.clone(), words));
            self.all.len() - 1
        }) + 1
    }
}

/// A caution with whom to ask and what it rests on.
pub fn caution_words(caution: &Caution<'_>) -> String {
    format!(
        "{}: {}. Ask: {} [{}{}]",
        caution.gravity.name(),
        caution.text,
        caution.defer_to,
        citation_of(caution.rule),
        overlay_mark(&caution.overlays)
    )
}

fn cautions_text(site: &Explanation<'_>, shared: &SharedCautions, look: &Look) -> String {
    if site.cautions.is_empty() && shared.all.is_empty() {
        return String::new();
    }
    let mut text = String::from("Cautions\n");
    for caution in &site.cautions {
        text.push_str(&look.labelled(2, "site", 4, &caution_words(caution)));
    }
    for (at, (_, words)) in shared.all.iter().enumerate() {
        text.push_str(&look.labelled(2, &format!("[{}]", at + 1), 4, words));
    }
    text.push('\n');
    text
}

/// The open facts of the site that matter to those shown, with their questions.
fn open_text(assessment: &Assessment<'_>, top: &[&Candidate<'_>], look: &Look) -> String {
    let mut open = open_inputs(assessment, top);
    open.retain(|fact| fact.could_change);
    if open.is_empty() {
        return String::new();
    }
    let mut text = String::from("Not known, and might matter\n");
    for fact in &open {
        let tried = if fact.tried.is_empty() { String::new() } else { format!(" Tried: {}.", fact.tried) };
        let declaration = &assessment.knowledge.vocabulary.site[fact.index];
        let key = declaration.key.as_ref().map(|key| key.path()).unwrap_or_default();
        text.push_str(&look.paragraph(2, &format!("{} ({key}){tried}", fact.question)));
    }
    text.push('\n');
    text
}

/// A level with its name, for tables.
pub fn level_words(level: crate::rank::Level) -> String {
    format!("{} {}", format_number(level.value()), level.name())
}
