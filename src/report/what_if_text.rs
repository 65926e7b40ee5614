//! What would change the answer for one species, in words.

use super::layout::Look;
use crate::assess::trial::{Obstacle, Setting};
use crate::assess::{Assessment, Candidate};
use crate::explain::what_if::{MOST_CHANGES, Remedy, WhatIf, next_class, what_if};
use crate::knowledge::vocabulary::Change;

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
    match what_if(assessment, candidate, class, look.units) {
        WhatIf::Remedies(remedies) => {
            let shown = if all { remedies.len() } else { FEW_REMEDIES };
            for remedy in remedies.iter().take(shown) {
                text.push_str(&look.labelled(
                    2,
                    effort(remedy.effort),
                    11,
                    &remedy_words(assessment, remedy, look),
                ));
            }
            if remedies.len() > shown {
                let words = format!("and {} more: see `--all`", remedies.len() - shown);
                text.push_str(&look.labelled(2, "", 11, &words));
            }
            let words = "Each was run again with nothing else changed; how far an input can be brought is common practice.";
            text.push_str(&look.paragraph(2, words));
        }
        WhatIf::Many(settings) => {
            let words = format!(
                "No {MOST_CHANGES} changes do. These together do: {}.",
                settings
                    .iter()
                    .map(|one| setting_words(assessment, one, look))
                    .collect::<Vec<_>>()
                    .join("; ")
            );
            text.push_str(&look.paragraph(2, &words));
        }
        WhatIf::Never(obstacle) => {
            text.push_str(&look.paragraph(2, &never_words(assessment, obstacle)));
        }
        WhatIf::Unsettled => {
            text.push_str(&look.paragraph(2, "None was found in the tries allowed; none can be ruled out."));
        }
    }
    text.push('\n');
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
    let mut ask: Vec<&str> =
        remedy.settings.iter().filter_map(|one| declared(one)?.defer_to.as_deref()).collect();
    ask.dedup();
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

fn never_words(assessment: &Assessment<'_>, obstacle: Obstacle) -> String {
    let knowledge = assessment.knowledge;
    let what = match obstacle {
        Obstacle::Rule(rule) => {
            let rule = &knowledge.rules[rule];
            format!("{} stays (rule {})", rule.title.to_lowercase(), rule.id)
        }
        Obstacle::Need(need) => {
            let need = &knowledge.needs.all[need].title;
            return format!("Nothing that can be changed does: {need} waits for what is not known.");
        }
    };
    format!("Nothing that can be changed does: {what}. Every input that it rests on was tried.")
}
