//! What differs between two knowledge bases, and which answers change with it.

use std::collections::{BTreeMap, BTreeSet};

use super::layout::Look;
use crate::assess::{AnswerChange, Hearers, SpokenChange};
use crate::knowledge::Knowledge;
use crate::knowledge::difference::{Change, Difference};

/// The differences in words.
pub fn diff_text(old: &Knowledge, new: &Knowledge, all: &Difference, look: &Look) -> String {
    let named = |one: &Knowledge| {
        let overlays: String = one.overlays.iter().map(|own| format!(", overlay {}", own.label())).collect();
        format!("{} {}{overlays}", one.edition.version, &one.digest[..8])
    };
    let mut text = look.heading(&format!("knowledge {} to {}", named(old), named(new)));
    if all.is_empty() {
        text.push_str("nothing differs\n");
        return text;
    }
    let mut section = |title: &str, lines: Vec<String>| {
        if !lines.is_empty() {
            text.push_str(&format!("\n{title} ({})\n", lines.len()));
            lines.iter().for_each(|line| text.push_str(&look.paragraph(2, line)));
        }
    };
    section("Species", all.species.iter().map(written).collect());
    let traits = all.traits.iter().map(|one| match &one.value {
        Change::Changed(was, is) if was == is => {
            format!("{} {}: {is}, on other evidence", one.species, one.name)
        }
        value => format!("{} {}: {}", one.species, one.name, written(value)),
    });
    section("Values", traits.collect());
    let rules = all.rules.iter().map(|one| match &one.what {
        Change::Added(_) => format!("{}: added", one.id),
        Change::Removed(_) => format!("{}: removed", one.id),
        Change::Changed(was, is) => format!("{}: {}", one.id, by_key(was, is)),
    });
    section("Rules", rules.collect());
    section("Other files", all.others.iter().map(written).collect());
    text
}

/// `key: was -> is` of every key that differs, where both sides write `key = value`.
fn by_key(was: &[String], is: &[String]) -> String {
    let split = |line: &'_ String| {
        line.split_once(" = ")
            .map_or((line.clone(), String::new()), |(key, value)| (key.to_owned(), value.to_owned()))
    };
    let (was, is): (BTreeMap<_, _>, BTreeMap<_, _>) =
        (was.iter().map(split).collect(), is.iter().map(split).collect());
    let keys: BTreeSet<&String> = was.keys().chain(is.keys()).collect();
    let told = keys.into_iter().map(|key| match (was.get(key), is.get(key)) {
        (Some(was), Some(is)) if was.is_empty() && is.is_empty() => key.clone(),
        (Some(was), Some(is)) => format!("{key} {was} -> {is}"),
        (Some(was), None) => format!("{key} {was}, taken out"),
        (None, is) => format!("{key} {}, new", is.map(String::as_str).unwrap_or_default()),
    });
    told.collect::<Vec<_>>().join("; ")
}

fn written(change: &Change<String>) -> String {
    match change {
        Change::Added(is) => format!("{is}, added"),
        Change::Removed(was) => format!("{was}, removed"),
        Change::Changed(was, is) if was == is => format!("{is}, changed"),
        Change::Changed(was, is) => format!("{was} -> {is}"),
    }
}

/// Species that are named of those of which a rule speaks anew; more are counted.
const NAMED: usize = 3;

/// What changes in the answer for one site: places and classes, and what is said beside them; empty where nothing
/// does.
pub fn answer_changes_text(
    site: &str,
    changes: &[AnswerChange],
    spoken: &[SpokenChange],
    look: &Look,
) -> String {
    if changes.is_empty() && spoken.is_empty() {
        return String::new();
    }
    let mut text = format!("  {site}\n");
    for one in changes {
        let stand = |standing: &Option<(String, usize)>| match standing {
            Some((class, place)) => format!("{class} at place {place}"),
            None => "no candidate".to_owned(),
        };
        let mut words = format!("{}: {} -> {}", one.species, stand(&one.before), stand(&one.after));
        match &one.cause {
            Some(cause) => {
                words.push_str(&format!(", {} {}", cause.need, level_change(cause.before, cause.after)));
                words.push_str(&cause.rule.as_ref().map(|rule| format!(" by {rule}")).unwrap_or_default());
            }
            None => words.push_str(others_moved(one)),
        }
        text.push_str(&look.paragraph(4, &words));
    }
    for one in spoken {
        let said = |words: &str, of: &Hearers| (!of.is_empty()).then(|| format!("{words} of {}", whom(of)));
        let parts = [said("now said", &one.gained), said("no longer said", &one.lost)];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        text.push_str(&look.paragraph(4, &format!("{} ({}): {}", one.rule, one.what, parts.join(", "))));
    }
    text
}

/// Of whom a rule speaks: the site, a few species by name, more by their number.
fn whom(of: &Hearers) -> String {
    let species = match of.species.len() {
        0 => None,
        1..=NAMED => Some(of.species.join(", ")),
        more => Some(format!("{more} species")),
    };
    [of.site.then(|| "the site".to_owned()), species].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// Two levels with as many decimals as it takes to tell them apart: near the border of a class a hundredth is
/// what changed it.
fn level_change(before: f64, after: f64) -> String {
    let written = |decimals: usize| (format!("{before:.decimals$}"), format!("{after:.decimals$}"));
    let (was, is) = (1..4).map(written).find(|(was, is)| was != is).unwrap_or_else(|| written(4));
    format!("{was} -> {is}")
}

/// What the others did where a species itself stayed as it was.
fn others_moved(one: &AnswerChange) -> &'static str {
    match (&one.before, &one.after) {
        (Some((_, was)), Some((_, is))) if is < was => ", others fell behind",
        (Some((_, was)), Some((_, is))) if is > was => ", others passed",
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_species_that_rises_is_not_passed() {
        let told = |was: usize, is: usize| {
            let standing = |place| Some(("S2".to_owned(), place));
            let species = "larkgrass".to_owned();
            others_moved(&AnswerChange { species, before: standing(was), after: standing(is), cause: None })
        };
        assert_eq!((told(4, 1), told(1, 4), told(2, 2)), (", others fell behind", ", others passed", ""));
    }

    #[test]
    fn of_whom_a_rule_speaks_is_the_site_a_few_names_or_a_number() {
        let of = |site: bool, count: usize| {
            let species = ["ashfoot", "dunemat", "larkgrass", "moorweed"].map(str::to_owned);
            whom(&Hearers { site, species: species.into_iter().take(count).collect() })
        };
        assert_eq!((of(true, 0), of(false, 1)), ("the site".to_owned(), "ashfoot".to_owned()));
        assert_eq!(of(true, 3), "the site, ashfoot, dunemat, larkgrass");
        assert_eq!(of(false, 4), "4 species");
    }

    #[test]
    fn levels_that_differ_are_written_so_that_they_do() {
        assert_eq!(level_change(1.0, 3.0), "1.0 -> 3.0");
        assert_eq!(level_change(2.86, 2.94), "2.86 -> 2.94");
        assert_eq!(level_change(2.8991, 2.8999), "2.899 -> 2.900");
        assert_eq!(level_change(2.0, 2.0), "2.0000 -> 2.0000");
    }
}
