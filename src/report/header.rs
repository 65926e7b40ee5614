//! The head of every report: which site, on which figures, by which knowledge.

use super::layout::Look;
use crate::alike::{add_once, grouped};
use crate::assess::Assessment;
use crate::diag::printable;
use crate::engine::facts::Origin;
use crate::engine::value::{Slot, Space};
use crate::explain::OverlaidFacts;
use crate::knowledge::species::Species;
use crate::property::water::{DRIP_EFFICIENCY, SPRAY_EFFICIENCY};
use crate::site::water_balance::WATER_BALANCE;
use crate::site::water_balance::runoff::Runoff;
use crate::units::{Unit, format_number};

/// Facts of the second line, with the words before and behind their value.
const FIGURES: [(&str, &str, &str); 5] = [
    ("site.area_m2", "", ""),
    ("site.hardiness_zone", "zone ", ""),
    ("site.summer_max_c", "hottest month ", ""),
    ("site.rain_share", "rain meets ", " of reference evapotranspiration in the growing months"),
    ("site.dli", "light ", ""),
];

/// The head, with a blank line behind it.
pub fn header(assessment: &Assessment<'_>, look: &Look) -> String {
    let knowledge = assessment.knowledge;
    let vocabulary = &knowledge.vocabulary;
    let name = if assessment.site.name.is_empty() { "Site without a name" } else { &assessment.site.name };
    let written = |id: &str| {
        let slot = vocabulary.slot(id)?;
        let value = assessment.values.get(slot.index)?.as_ref()?;
        Some(vocabulary.tell(value, vocabulary.site[slot.index].kind, look.units))
    };
    let overlaid = OverlaidFacts::of(assessment);
    let tag = |id| {
        vocabulary.slot(id).map(|slot| overlay_tag(&overlaid.overlays_in_full(slot))).unwrap_or_default()
    };
    let mut figures = vec![written("site.purpose").unwrap_or_else(|| "purpose unknown".to_owned())];
    for (id, before, behind) in FIGURES {
        figures.extend(written(id).map(|value| format!("{before}{value}{behind}{}", tag(id))));
    }
    let mut text = look.heading(&printable(name, &[]));
    text.push_str(&look.paragraph(0, &figures.join(" · ")));
    text.push_str(&look.paragraph(0, &edition_line(assessment)));
    text.push_str(&withdrawn_lines(assessment, look));
    text.push('\n');
    text
}

/// `knowledge 0.1.0 9f3c21ab · overlay county 1.0.0 5d2e88c1 · swardwright 0.1.0`.
pub fn edition_line(assessment: &Assessment<'_>) -> String {
    let knowledge = assessment.knowledge;
    let overlays: String =
        knowledge.overlays.iter().map(|overlay| format!(" · overlay {}", overlay.label())).collect();
    format!(
        "knowledge {} {}{overlays} · swardwright {}",
        knowledge.edition.version,
        &knowledge.digest[..8],
        env!("CARGO_PKG_VERSION")
    )
}

/// What overlays take out of force: what is gone leaves no line of its own to mark.
fn withdrawn_lines(assessment: &Assessment<'_>, look: &Look) -> String {
    let knowledge = assessment.knowledge;
    let mut text = String::new();
    for overlay in &knowledge.overlays {
        let values = knowledge.species.iter().flat_map(|species| {
            let own = species.withdrawn.iter().filter(|(_, place)| overlay.holds(place));
            own.map(|(at, _)| format!("{} of {}", knowledge.vocabulary.species[*at].label(), species.name()))
        });
        let withdrawn: Vec<String> = overlay.withdraws.iter().cloned().chain(values).collect();
        for (verb, what) in [("withdraws", &withdrawn), ("replaces", &overlay.replaces)] {
            if !what.is_empty() {
                let words = format!("overlay {} {verb} {}", overlay.id, what.join(", "));
                text.push_str(&look.paragraph(0, &words));
            }
        }
    }
    text
}

/// Names the overlays that had a hand in a line; empty where only the base did.
pub fn overlay_mark(overlays: &[String]) -> String {
    if overlays.is_empty() { String::new() } else { format!("; overlay {}", overlays.join(", ")) }
}

/// The same behind a name in a table or a list.
pub fn overlay_tag(overlays: &[String]) -> String {
    if overlays.is_empty() { String::new() } else { format!(" [overlay {}]", overlays.join(", ")) }
}

/// Names the overlay that a species comes from; empty where it comes from the base.
pub fn species_mark(assessment: &Assessment<'_>, species: &Species) -> String {
    let overlay = assessment.knowledge.overlay_of(&species.place);
    overlay.map(|overlay| format!(", from overlay {}", overlay.id)).unwrap_or_default()
}

/// Computed facts whose method is told in the short form; estimates always are.
const TOLD: [&str; 6] = [
    "site.et0_year_mm",
    "site.dli",
    "site.rain_share",
    "site.hardiness_zone",
    "site.warm_growth_months",
    "site.cool_growth_months",
];

/// What the daily balance supposes of every site and species.
const SUPPOSED: &str = "snow counts as rain on the day that it falls; \
    each species draws on a moist soil by its crop coefficient and is held against its need, as `explain` \
    shows them; that of a grass lies midway between FAO-56 table 12 and optimum irrigation, and one published \
    for the grass itself counts half; \
    staying green means getting that need every day in the smallest doses; \
    depths of irrigation, also those of the site file, are net: water at the roots, of which nothing is lost";

/// How much more a system puts out than the balance tells.
fn put_out() -> String {
    format!(
        "A system puts out more: net divided by {SPRAY_EFFICIENCY} for overhead spray or {DRIP_EFFICIENCY} for drip (California landscape ordinance of 2015)"
    )
}

/// What it supposes where the ground stays moist.
const FROM_BELOW: &str = "since the site file says that the ground stays moist, water from below is counted on for all that rain does \
    not bring; ";

fn stays_moist(assessment: &Assessment<'_>) -> bool {
    let slot = assessment.knowledge.vocabulary.slot("site.stays_moist");
    slot.and_then(|slot| assessment.values[slot.index].as_ref()?.as_flag()).unwrap_or(false)
}

/// How the facts that the answer rests on were come by, each method once; given facts need no words.
pub fn methods(assessment: &Assessment<'_>, all: bool, look: &Look) -> String {
    let overlaid = OverlaidFacts::of(assessment);
    let mut lines = Vec::new();
    let declarations = assessment.knowledge.vocabulary.site.iter().enumerate();
    for (known, (index, declaration)) in assessment.facts.known.iter().zip(declarations) {
        let Some(known) = known else { continue };
        let is_told = all || TOLD.contains(&declaration.id.as_str());
        if matches!(known.origin, Origin::Computed(_)) && !is_told {
            continue;
        }
        let Some(words) = origin_words(&known.origin) else { continue };
        let tag = overlay_tag(&overlaid.overlays_in_full(Slot { space: Space::Site, index }));
        let words = format!("{words}{tag}");
        lines.push((words, declaration.label()));
    }
    let mut text = String::new();
    if let Some(weather) = &assessment.weather {
        let runoff = Runoff::of(&assessment.facts, assessment.knowledge).words();
        let slots = WATER_BALANCE.of_site.iter().filter_map(|id| assessment.knowledge.vocabulary.slot(id));
        let mut ids = Vec::new();
        slots.for_each(|slot| add_once(&mut ids, overlaid.overlays_in_full(slot)));
        let tag = overlay_tag(&ids);
        let moist = if stays_moist(assessment) { FROM_BELOW } else { "" };
        let words = format!(
            "water of each species: {}; {runoff}; {moist}{SUPPOSED}. {}{tag}",
            weather.words,
            put_out()
        );
        text.push_str(&look.paragraph(2, &words));
    }
    if let Some(words) = irrigation_line(assessment, look) {
        text.push_str(&look.paragraph(2, &words));
    }
    for (words, names) in grouped(lines) {
        text.push_str(&look.paragraph(2, &format!("{}: {words}", names.join(", "))));
    }
    text
}

/// How a fact was come by; what is given needs no words.
pub fn origin_words(origin: &Origin) -> Option<String> {
    match origin {
        Origin::Given => None,
        Origin::Read(words) | Origin::Computed(words) => Some(words.clone()),
        Origin::Nearest(words) => Some(format!("nearest place {words}; local ground may differ")),
        Origin::Estimated(words) => Some(format!("estimated {words}")),
        Origin::Derived(rule) => Some(format!("rule {rule}")),
    }
}

/// Of the purpose and the climate what is not known: without them an answer means little.
pub fn not_known(assessment: &Assessment<'_>) -> Vec<&'static str> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let unknown = |id: &str| vocabulary.slot(id).is_some_and(|slot| assessment.values[slot.index].is_none());
    let asked = [("site.purpose", "the purpose"), ("site.tmax_c", "the climate")];
    asked.into_iter().filter(|(id, _)| unknown(id)).map(|(_, words)| words).collect()
}

/// What the word for irrigation was taken for, and by what; `None` where it says all itself.
fn irrigation_line(assessment: &Assessment<'_>, look: &Look) -> Option<String> {
    let knowledge = assessment.knowledge;
    let vocabulary = &knowledge.vocabulary;
    let slot = vocabulary.slot("site.irrigation")?;
    let word = assessment.values.get(slot.index)?.as_ref()?;
    let step = word.as_position().filter(|step| *step > 0)?;
    let table = knowledge.table_named("irrigation")?;
    // what the site file states goes before the table
    let figure = |id: &str, column: &str| {
        let slot = vocabulary.slot(id)?;
        match assessment.values.get(slot.index)? {
            Some(stated) => Some((stated.as_number()?, false)),
            None => table.number(step, column).map(|number| (number, true)),
        }
    };
    let (days, days_by_table) = figure("site.days_per_week", "days_per_week")?;
    let (depth, depth_by_table) = figure("site.irrigation_depth_mm", "depth_mm")?;
    // days a week are a share of days
    let days = format_number(days * 7.0);
    let many = if days == "1" { "day" } else { "days" };
    let depth = look.units.tell(depth, Unit::named("mm")?);
    let sources: Vec<String> = table.citations.iter().map(|one| one.short().replace('-', " ")).collect();
    let mark = overlay_mark(&OverlaidFacts::of(assessment).of_table(&table.id));
    let from_table = format!("table {}; {}{mark}", table.id, sources.join("; "));
    let by = match (days_by_table, depth_by_table) {
        (true, true) => from_table,
        (false, false) => "site file".to_owned(),
        (true, false) => format!("depth from the site file; {from_table}"),
        (false, true) => format!("days from the site file; {from_table}"),
    };
    let word = vocabulary.write(word, vocabulary.site[slot.index].kind, look.units);
    let cap = vocabulary
        .slot("site.season_cap_mm")
        .and_then(|slot| assessment.values[slot.index].as_ref()?.as_number());
    let cap = cap.map_or_else(String::new, |cap| match Unit::named("mm") {
        Some(unit) => format!(", in all at most {} a year", look.units.tell(cap, unit)),
        None => String::new(),
    });
    Some(format!("irrigation {word}: {days} {many} a week, at most {depth} a day{cap} [{by}]"))
}

/// A word of warning where the answer rests on next to nothing.
pub fn too_little(assessment: &Assessment<'_>, look: &Look) -> String {
    let vocabulary = &assessment.knowledge.vocabulary;
    let missing = not_known(assessment);
    if missing.is_empty() {
        return String::new();
    }
    if nothing_known(assessment) {
        let asked = ["site.purpose", "site.region", "site.tmax_c"].into_iter();
        let asked = asked.filter_map(|id| vocabulary.declaration(vocabulary.slot(id)?));
        let asked: Vec<&str> = asked.map(|fact| fact.ask.as_str()).filter(|ask| !ask.is_empty()).collect();
        let words = format!(
            "Nothing is known of this site: what stands here is no recommendation, and its order means \
             nothing. Asked first: {} `interview` asks one thing at a time.",
            asked.join(" ")
        );
        return format!("{}\n", look.paragraph(0, &words));
    }
    let until = if missing.len() == 1 { "it is" } else { "they are" };
    let words = format!("Not known: {}. Until {until}, this order means little.", missing.join(" and "));
    format!("{}\n", look.paragraph(0, &words))
}

/// Whether the site file states no fact at all.
pub fn nothing_known(assessment: &Assessment<'_>) -> bool {
    assessment.facts.known.iter().all(Option::is_none)
}
