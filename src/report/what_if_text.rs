//! What would change the answer, in words: for one species, and for the first choice.

use super::header::{header, too_little};
use super::layout::Look;
use super::recommend_text::{missing_names, place_label};
use crate::alike::each_once;
use crate::assess::trial::{Obstacle, Setting};
use crate::assess::{Assessment, Candidate};
use crate::explain::to_first::{ToFirst, to_first};
use crate::explain::turns::{Turn, turns};
use crate::explain::what_if::{MOST_CHANGES, Remedy, Searched, WhatIf, next_class, what_if};
use crate::knowledge::vocabulary::Change;
use crate::site::water_facts::HOW_MUCH;
use crate::units::format_number;

/// Sets of changes that are told.
const FEW_REMEDIES: usize = 4;

/// The section of an explanation; nothing for a species that cannot stand better.
pub fn what_if_text(
    assessment: &Assessment<'_>,
    candidate: &Candidate<'_>,
    all: bool,
    look: &Look,
) -> String {
    let Some(class) = next_class(candidate.standing.class) else { return String::new() };
    let mut text = format!("What would bring it to {class}\n");
    let Searched { found, left_out } = what_if(assessment, candidate, class, look.units);
    match found {
        WhatIf::Remedies(remedies) => text.push_str(&remedies_text(assessment, &remedies, all, look)),
        WhatIf::Many { settings, all_tried } => {
            let fewer = if all_tried {
                format!("No {MOST_CHANGES} changes do.")
            } else {
                format!("No {MOST_CHANGES} changes were found in the tries allowed.")
            };
            let words = format!(
                "{fewer} These together do: {}.",
                settings
                    .iter()
                    .map(|one| setting_words(assessment, one, look))
                    .collect::<Vec<_>>()
                    .join("; ")
            );
            text.push_str(&look.paragraph(2, &words));
        }
        WhatIf::Never(obstacle) => {
            text.push_str(
                &look.paragraph(2, &never_words(assessment, candidate, obstacle, !left_out.is_empty())),
            );
        }
        WhatIf::Unsettled => {
            text.push_str(&look.paragraph(2, "None was found in the tries allowed; none can be ruled out."));
        }
    }
    text.push_str(&left_out_text(assessment, &left_out, look));
    text.push('\n');
    text
}

/// The inputs that a search left as they are because nobody stated them; nothing where there are none.
fn left_out_text(assessment: &Assessment<'_>, left_out: &[usize], look: &Look) -> String {
    if left_out.is_empty() {
        return String::new();
    }
    let vocabulary = &assessment.knowledge.vocabulary;
    let labels: Vec<String> = left_out.iter().map(|fact| vocabulary.site[*fact].label()).collect();
    let [it, they] = if labels.len() == 1 { ["it", "it"] } else { ["them", "they"] };
    let words = format!(
        "Not in the search, since the site file does not state {it}: {}. Stated, {they} would be changed too.",
        labels.join(", ")
    );
    look.paragraph(2, &words)
}

/// What would change the answer for a species: to the next class, and to first place.
pub fn change_text(assessment: &Assessment<'_>, candidate: &Candidate<'_>, all: bool, look: &Look) -> String {
    let mut text = header(assessment, look) + &too_little(assessment, look);
    let standing = &candidate.standing;
    let place = match standing.class.is_refused() {
        true => String::new(),
        false => format!(", place {}", place_label(candidate)),
    };
    let words = format!(
        "{}: class {}, index {:.0}{place}.",
        candidate.species.name(),
        standing.label(),
        standing.index
    );
    text.push_str(&look.paragraph(0, &words));
    text.push('\n');
    text.push_str(&what_if_text(assessment, candidate, all, look));
    let Searched { found, left_out } = to_first(assessment, &candidate.species.id, look.units);
    match found {
        ToFirst::First => {
            let listed = &assessment.candidates[0].species;
            if listed.id != candidate.species.id {
                let words = format!("It shares first place, where {} is listed first.", listed.name());
                text.push_str(&look.paragraph(0, &words));
            }
            text.push_str(&stays_first(assessment, look));
        }
        ToFirst::Remedies(remedies) => {
            text.push_str("What would bring it to first place\n");
            text.push_str(&remedies_text(assessment, &remedies, all, look));
            text.push_str(&shared_by_samples(candidate, look));
            text.push_str(&left_out_text(assessment, &left_out, look));
            text.push_str(&first_means(assessment, look));
        }
        ToFirst::Refused => {
            text.push_str("What would bring it to first place\n");
            text.push_str(
                &look.paragraph(2, "Nothing: no change brings it to S3, and what is refused takes no place."),
            );
        }
        ToFirst::None => {
            text.push_str("What would bring it to first place\n");
            let of = if left_out.is_empty() { "" } else { " of what is stated or the client's to decide" };
            let words = format!(
                "No {MOST_CHANGES} changes within the client's reach do; every step of every {MOST_CHANGES}{of} was \
                 run."
            );
            text.push_str(&look.paragraph(2, &words));
            text.push_str(&shared_by_samples(candidate, look));
            text.push_str(&left_out_text(assessment, &left_out, look));
            text.push_str(&first_means(assessment, look));
        }
    }
    text
}

/// That the samples give it a share of the first place, which its index does not.
fn shared_by_samples(candidate: &Candidate<'_>, look: &Look) -> String {
    if candidate.rank != 1 || candidate.standing.class.is_refused() {
        return String::new();
    }
    let words =
        "It shares first place since the samples do not tell it from the first; by its index it is behind.";
    look.paragraph(2, words)
}

/// What counts as first where sites are changed.
fn first_means(assessment: &Assessment<'_>, look: &Look) -> String {
    let points = format_number(assessment.knowledge.needs.tie_within);
    let words = format!(
        "First is here who has the highest index, or one within {points} points of it. Of several \
         changes every one lifts it; one alone leaves it no lower."
    );
    look.paragraph(2, &words)
}

/// How far the inputs may move before the first choice falls.
pub fn turns_text(assessment: &Assessment<'_>, look: &Look) -> String {
    header(assessment, look) + &too_little(assessment, look) + &stays_first(assessment, look)
}

fn stays_first(assessment: &Assessment<'_>, look: &Look) -> String {
    let Some(first) = assessment.candidates.first().filter(|first| !first.standing.class.is_refused()) else {
        return look.paragraph(0, "Nothing suits the site, so that there is no first choice to fall.");
    };
    let vocabulary = &assessment.knowledge.vocabulary;
    let found = turns(assessment, look.units);
    let mut text = format!("{} would lose first place by\n", first.species.name());
    for turn in &found.turns {
        text.push_str(&look.paragraph(2, &turn_words(assessment, first.species.name(), turn, look)));
    }
    if found.turns.is_empty() {
        let words = match found.firm.is_empty() {
            true => "no input that is stated: nothing is stated that could be moved by itself.",
            false => "no single input: it takes two or more.",
        };
        text.push_str(&look.paragraph(2, words));
    }
    if !found.firm.is_empty() {
        let labels: Vec<String> = found.firm.iter().map(|fact| vocabulary.site[*fact].label()).collect();
        let words = format!("It stays first whatever is stated of these: {}.", labels.join(", "));
        text.push_str(&look.paragraph(2, &words));
    }
    text.push_str(&look.paragraph(
        2,
        &format!(
            "It counts as first while its index is the highest or within {} points of it. One input that the site \
             file states was moved at a time, and all species run again; what makes the climate was left alone.",
            format_number(assessment.knowledge.needs.tie_within)
        ),
    ));
    text
}

fn turn_words(assessment: &Assessment<'_>, fallen: &str, turn: &Turn, look: &Look) -> String {
    let vocabulary = &assessment.knowledge.vocabulary;
    let declared = &vocabulary.site[turn.at.fact];
    let value = |value| vocabulary.write(value, declared.kind, look.units);
    let now = assessment.site.values[turn.at.fact].as_ref().map(|(now, _)| value(now)).unwrap_or_default();
    let reaches = match (turn.upward, declared.kind.unit()) {
        (Some(true), Some(_)) => "rising to",
        (Some(false), Some(_)) => "falling to",
        _ => "becoming",
    };
    let name =
        |id: &str| assessment.knowledge.species_named(id).map_or(id.to_owned(), |own| own.name().to_owned());
    let place = match turn.place_then {
        Some(place) => format!("{fallen} takes place {place}"),
        None => format!("{fallen} is refused"),
    };
    let then = match &turn.first_then {
        Some(first) => format!("{} is first then, and {place}", name(first)),
        None => "nothing suits then".to_owned(),
    };
    let without = left_out_with(assessment, &turn.at);
    format!("{} {reaches} {}{without} (now {now}): {then}", declared.label(), value(&turn.at.value))
}

/// What a site file may not say any longer beside a setting: how much may be given, where nothing is.
fn left_out_with(assessment: &Assessment<'_>, setting: &Setting) -> String {
    let vocabulary = &assessment.knowledge.vocabulary;
    if vocabulary.site[setting.fact].id != "site.irrigation" || setting.value.as_position() != Some(0) {
        return String::new();
    }
    let stated = HOW_MUCH.iter().filter_map(|name| {
        let slot = vocabulary.slot(&format!("site.{name}"))?;
        assessment.site.values[slot.index].as_ref().map(|_| vocabulary.site[slot.index].label())
    });
    let stated: Vec<String> = stated.collect();
    if stated.is_empty() { String::new() } else { format!(", with {} left out", stated.join(" and ")) }
}

fn remedies_text(assessment: &Assessment<'_>, remedies: &[Remedy], all: bool, look: &Look) -> String {
    let shown = if all { remedies.len() } else { FEW_REMEDIES };
    let mut text = String::new();
    for remedy in remedies.iter().take(shown) {
        let words = remedy_words(assessment, remedy, look);
        let words =
            if remedy.lifts { words } else { format!("{words}: it stays as it is, and the others fall") };
        text.push_str(&look.labelled(2, effort(remedy.effort), 11, &words));
    }
    if remedies.len() > shown {
        let words = format!("and {} more: see `--all`", remedies.len() - shown);
        text.push_str(&look.labelled(2, "", 11, &words));
    }
    let words =
        "Each was run again with nothing else changed; how far an input can be brought is common practice.";
    text.push_str(&look.paragraph(2, words));
    text
}

fn effort(effort: Change) -> &'static str {
    match effort {
        Change::None => "no work",
        Change::Cheap => "little work",
        Change::Costly | Change::Impossible => "much work",
    }
}

fn remedy_words(assessment: &Assessment<'_>, remedy: &Remedy, look: &Look) -> String {
    let mut words: Vec<String> =
        remedy.settings.iter().map(|one| setting_words(assessment, one, look)).collect();
    let declared = |one: &Setting| assessment.knowledge.vocabulary.site[one.fact].lever.as_ref();
    let ask = each_once(remedy.settings.iter().filter_map(|one| declared(one)?.defer_to.as_deref()));
    let last = words.pop().unwrap_or_default();
    let joined = if words.is_empty() { last } else { format!("{}, and {last}", words.join(", ")) };
    if ask.is_empty() { joined } else { format!("{joined} (ask first: {})", ask.join("; ")) }
}

/// What is done, with the setting in its place.
pub fn setting_words(assessment: &Assessment<'_>, setting: &Setting, look: &Look) -> String {
    let declared = &assessment.knowledge.vocabulary.site[setting.fact];
    let value = assessment.knowledge.vocabulary.write(&setting.value, declared.kind, look.units);
    match &declared.lever {
        Some(lever) => lever.doing.replace("{}", &value),
        None => format!("{} {value}", declared.label()),
    }
}

/// That nothing does; `stated_alone` where something that bears on it was left out because it is not stated.
fn never_words(
    assessment: &Assessment<'_>,
    candidate: &Candidate<'_>,
    obstacle: Obstacle,
    stated_alone: bool,
) -> String {
    let [nothing, every] = if stated_alone {
        [
            "Nothing that is stated and can be changed does",
            "rests on, that is stated or the client's to decide,",
        ]
    } else {
        ["Nothing that can be changed does", "rests on"]
    };
    let knowledge = assessment.knowledge;
    let what = match obstacle {
        Obstacle::Rule(rule) => {
            let rule = &knowledge.rules[rule];
            format!("{} stays (rule {})", rule.title.to_lowercase(), rule.id)
        }
        Obstacle::Need(need) => {
            let missing = missing_names(assessment, candidate, need);
            let missing = if missing.is_empty() { "what is not known".to_owned() } else { missing };
            let need = &knowledge.needs.all[need].title;
            return format!("{nothing}: {need} waits for {missing}.");
        }
    };
    let fixed: Vec<String> =
        assessment.site.fixed.iter().map(|fact| knowledge.vocabulary.site[*fact].label()).collect();
    let fixed = match fixed.is_empty() {
        true => String::new(),
        false => format!(" What the site file fixes was left as it is: {}.", fixed.join(", ")),
    };
    format!("{nothing}: {what}. Every input that it {every} and that a client may change was tried.{fixed}")
}
