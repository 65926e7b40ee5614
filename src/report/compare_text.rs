//! Several species side by side: every need, and what decides between each and the next.

use comfy_table::{CellAlignment, ColumnConstraint, Width};

use super::explain_text::figures;
use super::header::{header, overlay_tag, species_mark, too_little};
use super::layout::{Look, table_text};
use super::recommend_text::{held_back, missing_names, place_label};
use crate::alike::each_once;
use crate::assess::{Assessment, Candidate};
use crate::explain::why_not::{Gap, WhyNot, gaps, weighs, why_not};
use crate::explain::{
    Detail, Direction, Explanation, Reason, explain, overlays_of_need, overlays_of_standing, trace_candidate,
};
use crate::rank::Level;
use crate::units::format_number;

/// Spaces that a table puts on both sides of a cell.
const PADDING: u16 = 2;
/// Needs told between two species.
const FEW_NEEDS: usize = 4;

/// The comparison; the candidates stand in their order.
pub fn compare_text(assessment: &Assessment<'_>, ids: &[&str], all: bool, look: &Look) -> String {
    let chosen: Vec<&Candidate<'_>> =
        assessment.candidates.iter().filter(|one| ids.contains(&one.species.id.as_str())).collect();
    let explanations: Vec<Explanation<'_>> = chosen
        .iter()
        .map(|one| {
            explain(assessment, Some(one), &trace_candidate(assessment, one, Detail::Brief), look.units)
        })
        .collect();
    let mut text = header(assessment, look) + &too_little(assessment, look);
    text.push_str(&side_by_side(assessment, &chosen, all, look));
    for (pair, reasons) in chosen.windows(2).zip(explanations.windows(2)) {
        text.push('\n');
        text.push_str(&between(assessment, (pair[0], pair[1]), (&reasons[0], &reasons[1]), look));
    }
    text
}

/// Ratings of every need on which two of them differ, or of all.
fn side_by_side(assessment: &Assessment<'_>, chosen: &[&Candidate<'_>], all: bool, look: &Look) -> String {
    let mut table = look.wrapping_table();
    let names = chosen.iter().map(|one| {
        let tag = overlay_tag(&overlays_of_standing(one, assessment));
        format!("{}{}{tag}", one.species.name(), species_mark(assessment, one.species))
    });
    table.set_header(std::iter::once("rating of".to_owned()).chain(names));
    let mut alike = 0;
    for (at, need) in assessment.knowledge.needs.all.iter().enumerate() {
        let ratings: Vec<f64> = chosen.iter().map(|one| one.needs[at].rating().value()).collect();
        let spoken = chosen.iter().any(|one| {
            let outcome = &one.outcome.needs[at];
            !outcome.contributions.is_empty() || !outcome.open.is_empty()
        });
        let spread = ratings.iter().fold(0.0f64, |most, own| most.max((own - ratings[0]).abs()));
        if !spoken || (!all && spread < 0.5) {
            alike += usize::from(spoken);
            continue;
        }
        let cells = chosen.iter().zip(&ratings).map(|(one, rating)| {
            let open = if one.standing.open.contains(&at) { " open" } else { "" };
            let decides = if one.standing.deciding.contains(&at) && rating < &100.0 { " *" } else { "" };
            let tag = overlay_tag(&overlays_of_need(one, at, assessment));
            format!("{rating:.0}{open}{decides}{tag}")
        });
        table.add_row(std::iter::once(need.title.clone()).chain(cells));
    }
    let row = |name: &str, cell: &dyn Fn(&Candidate<'_>) -> String| {
        std::iter::once(name.to_owned()).chain(chosen.iter().map(|one| cell(one))).collect::<Vec<_>>()
    };
    table.add_row(row("class", &|one| one.standing.label()));
    table.add_row(row("index", &|one| format!("{:.0}", one.standing.index)));
    table.add_row(row("place", &place_label));
    // many species leave the names of the needs little room: no word of them is broken
    let longest =
        assessment.knowledge.needs.all.iter().flat_map(|need| need.title.split(' ')).map(str::len).max();
    if let (Some(column), Some(longest)) = (table.column_mut(0), longest) {
        let width = u16::try_from(longest).unwrap_or(u16::MAX).saturating_add(PADDING);
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(width)));
    }
    for column in 1..=chosen.len() {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let mut text = table_text(&table);
    let mut note = "Ratings from 100 (nothing lacks) to 0; * decides the class.".to_owned();
    if alike > 0 {
        note.push_str(&format!(" Alike on {alike} more: `--all`."));
    }
    if chosen.iter().any(|one| weighs(one)) {
        note.push_str(" Points between two count each need by its weight in the index.");
    }
    text.push_str(&look.paragraph(0, &note));
    text
}

/// That two share a place, and from what it is told.
fn tied(assessment: &Assessment<'_>, better: &Candidate<'_>, worse: &Candidate<'_>) -> String {
    let (first, second) = (better.species.name(), worse.species.name());
    match assessment.share_before(worse, better) {
        Some((samples, share)) => format!(
            "{first} and {second} share a place: {second} stands before {first} in {:.0}% of {samples} samples \
             inside the stated spreads.",
            share * 100.0
        ),
        None => format!("{first} and {second} share a place: nothing known decides between them."),
    }
}

/// What decides between a species and the one behind it.
fn between(
    assessment: &Assessment<'_>,
    (better, worse): (&Candidate<'_>, &Candidate<'_>),
    (for_better, for_worse): (&Explanation<'_>, &Explanation<'_>),
    look: &Look,
) -> String {
    let needs = &assessment.knowledge.needs.all;
    let (first, second) = (better.species.name(), worse.species.name());
    let mut text = String::new();
    let verdict = match why_not(assessment, worse, better) {
        WhyNot::Tied => tied(assessment, better, worse),
        WhyNot::Ahead => format!("{second} stands before {first}."),
        WhyNot::Refused(_) if better.standing.class == worse.standing.class => {
            format!(
                "{first} and {second} are both refused: {} and {}.",
                held_back(assessment, better),
                held_back(assessment, worse)
            )
        }
        WhyNot::Refused(refusals) => {
            let titles = each_once(refusals.iter().map(|one| needs[one.need].title.as_str()));
            format!("{first} before {second}, which is refused on {}.", titles.join(", "))
        }
        WhyNot::Outscored { .. } if better.standing.class < worse.standing.class => format!(
            "{first} before {second}: class {} against {}, which is held back by {}.",
            better.standing.label(),
            worse.standing.label(),
            held_back(assessment, worse)
        ),
        WhyNot::Outscored { .. } => format!(
            "{first} before {second}: index {:.0} against {:.0}.",
            better.standing.index, worse.standing.index
        ),
        WhyNot::Undecided(awaited) => {
            let waits: Vec<String> =
                awaited.iter().map(|one| format!("{} ({})", needs[one.need].title, one.missing)).collect();
            format!("{first} before {second} until more is known: {}.", waits.join("; "))
        }
        WhyNot::NoRule => format!("no rule speaks on {second}."),
    };
    text.push_str(&look.paragraph(0, &verdict));
    let mut tell = |gaps: &[Gap], which: &str| {
        for gap in gaps.iter().take(FEW_NEEDS) {
            let own = gravest(for_better, gap.need);
            let other = gravest(for_worse, gap.need);
            let both = own.zip(other);
            let besides = if both.is_some_and(|(own, other)| own.text == other.text) {
                // the same words of both tell nothing between them: the figures behind them do
                Besides::Figures
            } else if both.is_some_and(|(own, other)| own.rule.id != other.rule.id) {
                // figures of two rules are not of one measure: their levels are
                Besides::Step
            } else {
                Besides::Nothing
            };
            let words = format!(
                "{} (by {:.0}): {first} {}; {second} {}",
                needs[gap.need].title,
                gap.points,
                told(assessment, better, gap.need, own, besides, look),
                told(assessment, worse, gap.need, other, besides, look),
            );
            text.push_str(&look.labelled(2, which, 7, &words));
        }
    };
    tell(&gaps(better, worse), "for it");
    tell(&gaps(worse, better), "against");
    text
}

/// The gravest reason on a need.
fn gravest<'e, 'k>(explanation: &'e Explanation<'k>, need: usize) -> Option<&'e Reason<'k>> {
    let reasons = explanation.reasons.iter().filter(|reason| reason.need == need);
    reasons.max_by(|a, b| a.level.unwrap_or(0.0).total_cmp(&b.level.unwrap_or(0.0)))
}

/// What is told of a reason besides its words.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Besides {
    /// Nothing.
    Nothing,
    /// The name of its level.
    Step,
    /// What was held against what, and the level of the need as a number.
    Figures,
}

/// The words of the gravest reason and what is wanted besides, or what the need waits for.
fn told(
    assessment: &Assessment<'_>,
    candidate: &Candidate<'_>,
    need: usize,
    gravest: Option<&Reason<'_>>,
    besides: Besides,
    look: &Look,
) -> String {
    match gravest {
        Some(reason) if besides == Besides::Figures => {
            let seen = figures(assessment, reason, look).map_or(String::new(), |seen| format!("{seen}, "));
            // as the table of `explain` has it, which is what the rating goes by
            let level = candidate.needs[need].counted().value();
            format!("{} ({seen}level {})", reason.text, format_number(level))
        }
        Some(reason) => match reason.level.and_then(|level| Level::clamped(level).ok()) {
            // what is open tells its levels itself
            Some(level) if besides == Besides::Step && reason.direction != Direction::Open => {
                let level = if level < Level::SLIGHT { "no limitation" } else { level.name().as_str() };
                format!("{} ({level})", reason.text)
            }
            _ => reason.text.clone(),
        },
        None if candidate.standing.open.contains(&need) => {
            format!("waits for {}", missing_names(assessment, candidate, need))
        }
        None => "has nothing against it".to_owned(),
    }
}
