//! What fell away: how many more would do, what excludes the others, and whom a change would bring up.

use super::header::nothing_known;
use super::layout::{Look, some_of};
use super::recommend_text::tagged;
use crate::assess::{Assessment, Candidate};
use crate::rank::Class;

/// Species named in one line.
const MOST_NAMES: usize = 6;

/// How many are not shown, the suited apart from the marginal; `behind` others that are.
fn left_words(left: &[&Candidate<'_>], behind: bool) -> String {
    let count = |class: Class| left.iter().filter(|one| one.standing.class == class).count();
    let [high, moderate, marginal] = [Class::S1, Class::S2, Class::S3].map(count);
    let (more, less) = if behind { (" more", ", less well") } else { ("", "") };
    let are = |count: usize| if count == 1 { "is" } else { "are" };
    let suited = high + moderate;
    let split = match (high, moderate) {
        (0, _) => "S2".to_owned(),
        (_, 0) => "S1".to_owned(),
        _ => format!("{high} S1, {moderate} S2"),
    };
    let parts = [
        (suited > 0).then(|| format!("{suited}{more} {} suited{less} ({split})", are(suited))),
        (marginal > 0).then(|| {
            let more = if suited > 0 { "" } else { more };
            format!("{marginal}{more} {} marginal (S3)", are(marginal))
        }),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    format!("{}: `--all` lists them.", parts.join(", and "))
}

/// Those that are not shown: how many more would do, and what excludes the others.
pub fn fallen_text(assessment: &Assessment<'_>, left: &[&Candidate<'_>], look: &Look) -> String {
    let needs = &assessment.knowledge.needs.all;
    let mut text = String::new();
    if !left.is_empty() {
        let words = if nothing_known(assessment) {
            format!("{} more are as little known to fail here: `--all` lists them.", left.len())
        } else {
            let suited = assessment.candidates.iter().filter(|one| one.standing.class != Class::N).count();
            left_words(left, suited > left.len())
        };
        text.push_str(&look.paragraph(0, &words));
        text.push('\n');
    }
    let refused: Vec<&Candidate<'_>> =
        assessment.candidates.iter().filter(|one| one.standing.class == Class::N).collect();
    if refused.is_empty() {
        return text;
    }
    text.push_str(&format!("Not suited ({})\n", refused.len()));
    for (index, need) in needs.iter().enumerate() {
        let mut names: Vec<String> = refused
            .iter()
            .filter(|one| one.standing.deciding.contains(&index))
            .map(|one| tagged(assessment, one))
            .collect();
        if names.is_empty() {
            continue;
        }
        names.sort_unstable();
        let words = format!("{} ({}): {}", need.title, names.len(), some_of(&names, MOST_NAMES));
        text.push_str(&look.paragraph(2, &words));
    }
    text.push_str(&reach_text(assessment, &refused, look));
    text.push_str(&look.paragraph(2, "`explain` tells why, species by species, and what would change it."));
    text.push('\n');
    text
}

/// Whom a change would bring up, and for whom none was found though not all that bears on them was stated.
fn reach_text(assessment: &Assessment<'_>, refused: &[&Candidate<'_>], look: &Look) -> String {
    let names = |those: &dyn Fn(&Candidate<'_>) -> bool| {
        let mut names: Vec<String> =
            refused.iter().filter(|one| those(one)).map(|one| tagged(assessment, one)).collect();
        names.sort_unstable();
        names
    };
    let mut text = String::new();
    let within_reach = names(&|one| one.standing.changeable == Some(true));
    if !within_reach.is_empty() {
        let words = format!(
            "N1, within reach of a change ({}): {}",
            within_reach.len(),
            some_of(&within_reach, MOST_NAMES)
        );
        text.push_str(&look.paragraph(2, &words));
    }
    let undecided = names(&|one| !one.left_out.is_empty());
    if !undecided.is_empty() {
        let declared = assessment.knowledge.vocabulary.site.iter().enumerate();
        let labels: Vec<String> = declared
            .filter(|(fact, _)| refused.iter().any(|one| one.left_out.contains(fact)))
            .map(|(_, declaration)| declaration.label())
            .collect();
        let it = if labels.len() == 1 { "it" } else { "them" };
        let words = format!(
            "N2 by what is stated alone ({}): {}. The site file does not state {}; answers to {it} may bring a change \
             within reach.",
            undecided.len(),
            some_of(&undecided, MOST_NAMES),
            labels.join(", ")
        );
        text.push_str(&look.paragraph(2, &words));
    }
    text
}
