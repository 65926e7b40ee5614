//! The answer of a property as text.

use comfy_table::CellAlignment;

use super::header::{edition_line, not_known, origin_words, overlay_mark, overlay_tag};
use super::layout::{Look, some_of, table_text};
use super::property_cautions::cautions;
use super::property_limits::{amount, amount_at_least, head, limit_words};
use super::property_upkeep::{hours_line, upkeep_table};
use super::recommend_text::caution_words;
use crate::alike::{each_once, grouped};
use crate::diag::printable;
use crate::explain::{OverlaidFacts, overlays_of_limit, overlays_of_option};
use crate::property::water::{
    DRIP_EFFICIENCY, ETAF_OTHER, ETAF_RESIDENTIAL, GALLONS_PER_INCH_FT2, SPRAY_EFFICIENCY,
};
use crate::property::{Answer, Best, Charge, Limit, Measure, Price, Property, Step};
use crate::units::factors::INCH_M;
use crate::units::{Unit, UnitSystem, format_number};

/// The answer of a property.
pub fn property_text(property: &Property<'_>, look: &Look) -> String {
    format!("{}{}{}", head_text(property, look), answer_text(property, look), method_text(property, look))
}

fn answer_text(property: &Property<'_>, look: &Look) -> String {
    let mut text = String::new();
    match &property.answer {
        Answer::Best(best) => {
            text.push_str(&choice_table(property, &best.choice, look));
            text.push_str(&totals(property, best, look));
            text.push_str(&allowance_table(property, &best.choice, look));
            text.push_str(&upkeep_table(property, &best.choice, look));
            text.push_str(&runner_up_text(property, best, look));
            text.push_str(&prices_text(property, best, look));
            text.push_str(&left_out_text(property, look));
            text.push_str(&cautions_text(property, &best.choice, look));
        }
        Answer::Conflict(limits) => {
            text.push_str(&conflict_text(property, limits, look));
            text.push_str(&left_out_text(property, look));
        }
        Answer::NothingSuits(areas) | Answer::NotKnown(areas) => {
            text.push_str(&nothing_suits_text(property, areas, look));
            if let Some(others) = &property.others {
                let words =
                    if areas.len() == 1 { "Without it the others" } else { "Without them the others" };
                let words = format!("{words} come to this, all limits held against these alone.");
                text.push_str(&format!("\n{}\n", look.paragraph(0, &words)));
                text.push_str(&answer_text(others, look));
            }
        }
    }
    text
}

fn head_text(property: &Property<'_>, look: &Look) -> String {
    let file = &property.file;
    let name = if file.name.is_empty() { "Property without a name" } else { &file.name };
    let mut text = look.heading(&printable(name, &[]));
    let areas = file.areas.len();
    let size: f64 = file.areas.iter().map(|area| area.area_m2).sum();
    let many = if areas == 1 { "area" } else { "areas" };
    text.push_str(&look.paragraph(0, &format!("{areas} {many} · {}", area_words(size, look))));
    if let Some(first) = property.assessments.first() {
        text.push_str(&look.paragraph(0, &edition_line(first)));
    }
    text.push('\n');
    text.push_str(&too_little(property, look));
    text
}

/// A word of warning where the purpose or the climate of an area is not known.
fn too_little(property: &Property<'_>, look: &Look) -> String {
    let areas = property.assessments.iter().zip(&property.file.areas);
    let missing = grouped(areas.flat_map(|(assessment, area)| {
        let name = printable(&area.name, &[]);
        not_known(assessment).into_iter().map(move |what| (what, name.to_string()))
    }));
    if missing.is_empty() {
        return String::new();
    }
    let of = |areas: &[String]| {
        if areas.len() == property.file.areas.len() {
            String::new()
        } else {
            format!(" of {}", some_of(areas, 6))
        }
    };
    let words: Vec<String> = missing.iter().map(|(what, areas)| format!("{what}{}", of(areas))).collect();
    let until = if missing.len() == 1 { "it is" } else { "they are" };
    let words = format!("Not known: {}. Until {until}, this choice means little.", words.join(" and "));
    format!("{}\n", look.paragraph(0, &words))
}

pub fn area_words(size: f64, look: &Look) -> String {
    Unit::named("m2").map_or_else(|| format_number(size), |unit| look.units.tell(size, unit))
}

fn choice_table(property: &Property<'_>, choice: &[usize], look: &Look) -> String {
    let mut table = look.wrapping_table();
    // what the landscape ordinance reckons has a table of its own
    let counted: Vec<(usize, Measure)> =
        property.measures.iter().copied().enumerate().filter(|(_, own)| *own != Measure::Etwu).collect();
    let heads = counted.iter().map(|(_, measure)| head(*measure).to_owned());
    let fixed = ["area", "size", "plant", "class", "index"].map(str::to_owned);
    table.set_header(fixed.into_iter().chain(heads));
    let rates: Vec<Vec<f64>> =
        counted.iter().map(|(resource, _)| property.model.rates(choice, *resource)).collect();
    for (at, (area, option)) in property.file.areas.iter().zip(choice).enumerate() {
        let candidate = property.candidate(at, *option);
        let mark = overlay_tag(&overlays_of_option(property, at, *option));
        let cells = counted.iter().zip(&rates);
        let cells = cells.map(|((_, measure), rates)| amount(*measure, rates[at] * area.area_m2, look.units));
        let fixed = [
            printable(&area.name, &[]).into_owned(),
            area_words(area.area_m2, look),
            format!("{}{mark}", candidate.species.name()),
            candidate.standing.label(),
            format!("{:.0}", candidate.standing.index),
        ];
        table.add_row(fixed.into_iter().chain(cells));
    }
    for column in [1, 4].into_iter().chain(5..5 + counted.len()) {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table_text(&table)
}

/// What the landscape ordinance reckons of each area, so that anybody can reckon it again.
fn allowance_table(property: &Property<'_>, choice: &[usize], look: &Look) -> String {
    let Some(resource) = property.measures.iter().position(|own| *own == Measure::Etwu) else {
        return String::new();
    };
    let mut table = look.wrapping_table();
    table.set_header(["area", "ETo", "PF", "IE", head(Measure::Etwu)]);
    let rates = property.model.rates(choice, resource);
    for (at, (area, charge)) in property.file.areas.iter().zip(property.charges(choice)).enumerate() {
        let (plant_factor, efficiency) = match charge {
            Charge::Dry => ("not watered".to_owned(), String::new()),
            Charge::Special => ("special".to_owned(), String::new()),
            Charge::Regular { plant_factor, efficiency } => {
                (format!("{plant_factor:.2}"), efficiency.to_string())
            }
        };
        table.add_row([
            printable(&area.name, &[]).into_owned(),
            property.etos[at].as_ref().map_or_else(String::new, |eto| format!("{:.1} in", eto.inches)),
            plant_factor,
            efficiency,
            amount(Measure::Etwu, rates[at] * area.area_m2, look.units),
        ]);
    }
    for column in 1..5 {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    format!("\nLandscape ordinance\n{}", table_text(&table))
}

/// The whole property: its mean index, and what it takes of what is limited.
fn totals(property: &Property<'_>, best: &Best, look: &Look) -> String {
    let model = &property.model;
    let mut lines = vec![format!("Mean index by area: {:.1}.", model.value(&best.choice))];
    let alone: f64 = model
        .areas
        .iter()
        .map(|area| area.size * area.options.iter().map(|one| one.value).fold(0.0, f64::max))
        .sum();
    let alone = alone / model.size();
    if alone > model.value(&best.choice) + 0.05 {
        lines.push(format!("The first choice of every area by itself would come to {alone:.1}."));
    }
    if let Some(most) = model.kinds {
        lines.push(format!("Kinds: {} of at most {most}.", model.count_kinds(&best.choice)));
    }
    for (at, measure) in property.measures.iter().enumerate() {
        let used = amount(*measure, model.used(&best.choice, at), look.units);
        let most = amount(*measure, model.resources[at].most, look.units);
        let name = match measure {
            Measure::Etwu => "ETWU, of the allowance (MAWA)",
            Measure::Water => "Irrigation",
            Measure::Nitrogen => "Nitrogen",
            Measure::Hours => "Upkeep",
        };
        lines.push(format!("{name}: {used} of {most} a year."));
    }
    format!("\n{}", look.paragraph(0, &lines.join(" ")))
}

fn runner_up_text(property: &Property<'_>, best: &Best, look: &Look) -> String {
    let Some(second) = &best.runner_up else {
        return format!("\nRunner-up\n{}", look.paragraph(2, "none: no other choice keeps the limits"));
    };
    let value = property.model.value(second);
    let behind = property.model.value(&best.choice) - value;
    let changes: Vec<String> = (0..second.len())
        .filter(|at| second[*at] != best.choice[*at])
        .map(|at| {
            let [new, old] = [second[at], best.choice[at]].map(|option| property.candidate(at, option));
            format!(
                "{}{} on {} ({} {:.0}) in place of {}",
                new.species.name(),
                overlay_tag(&overlays_of_option(property, at, second[at])),
                printable(&property.file.areas[at].name, &[]),
                new.standing.label(),
                new.standing.index,
                old.species.name()
            )
        })
        .collect();
    let tie = property.assessments.first().is_some_and(|one| behind < one.knowledge.needs.tie_within);
    let close = if tie { "; so near that the figures do not tell the two apart" } else { "" };
    let words = format!("{}: mean index {value:.1}, {behind:.2} behind{close}", changes.join("; "));
    format!("\nRunner-up\n{}", look.paragraph(2, &words))
}

fn prices_text(property: &Property<'_>, best: &Best, look: &Look) -> String {
    let limits = property.model.limits();
    if limits.is_empty() {
        return String::new();
    }
    let mut text = "\nWhat binds\n".to_owned();
    let value = property.model.value(&best.choice);
    for price in &best.prices {
        let mark = overlay_tag(&overlays_of_limit(property, &best.choice, price.limit));
        text.push_str(&look.paragraph(2, &format!("{}{mark}", price_words(property, price, value, look))));
    }
    let a_pair_binds = best.prices.iter().any(|price| matches!(price.limit, Limit::Pair(_)));
    if let Some(apart) = best.all_apart.filter(|_| !a_pair_binds || !best.unpriced.is_empty()) {
        let mut words = format!(
            "neighbours kept apart, all together: if none had to be the mean index would be {apart:.1} (+{:.1})",
            apart - value
        );
        if !best.unpriced.is_empty() {
            let pairs = best.unpriced.iter().map(|limit| limit_words(property, *limit, look.units));
            let pairs: Vec<String> = pairs.collect();
            words.push_str(&format!("; too many to be priced one by one: {}", some_of(&pairs, 6)));
        }
        text.push_str(&look.paragraph(2, &words));
    }
    let slack: Vec<String> = limits
        .iter()
        .filter(|limit| !best.prices.iter().any(|price| price.limit == **limit))
        .filter(|limit| !matches!(limit, Limit::Pair(_) | Limit::Zone(_)))
        .map(|limit| limit_words(property, *limit, look.units))
        .collect();
    if best.prices.is_empty() && best.all_apart.is_none() {
        text.push_str(&look.paragraph(2, "no single limit, lifted by itself, would add as much as 0.1"));
    } else if !slack.is_empty() {
        let words = format!("lifted by itself this would add less than 0.1: {}", slack.join("; "));
        text.push_str(&look.paragraph(2, &words));
    }
    text
}

fn price_words(property: &Property<'_>, price: &Price, value: f64, look: &Look) -> String {
    let limit = limit_words(property, price.limit, look.units);
    let how = match price.limit {
        Limit::Pair(_) => "if they lay apart",
        Limit::Zone(_) => "each on its own valve",
        Limit::Kinds | Limit::Resource(_) => "without it",
    };
    let mut lifted =
        format!("{how} the mean index would be {:.1} (+{:.1})", price.lifted, price.lifted - value);
    if let (Limit::Resource(at), true) = (price.limit, price.with_unknown) {
        let what = head(property.measures[at]);
        lifted.push_str(&format!(", since species may stand then of which {what} is not known"));
    }
    let Some(Step { allowed, value: better }) = price.step else { return format!("{limit}: {lifted}") };
    let step = match price.limit {
        Limit::Resource(at) => {
            format!("{} in all", amount_at_least(property.measures[at], allowed, look.units))
        }
        _ => format!("{} kinds", format_number(allowed)),
    };
    format!(
        "{limit}: the least that helps is {step}, for a mean index of {better:.1} (+{:.1}); {lifted}",
        better - value
    )
}

fn conflict_text(property: &Property<'_>, limits: &[Limit], look: &Look) -> String {
    let words = match limits {
        [_] => "No choice keeps all limits: this one cannot be kept by any species that is suited.",
        _ => {
            "No choice keeps all limits. These cannot hold together; without any one of them, and whatever else is asked left aside, they could:"
        }
    };
    let mut text = look.paragraph(0, words);
    for limit in limits {
        let mut words = limit_words(property, *limit, look.units);
        if let Limit::Resource(at) = limit {
            let least = amount_at_least(property.measures[*at], property.model.least(*at), look.units);
            words.push_str(&format!("; what suits takes {least} at the least, every other limit left aside"));
        }
        text.push_str(&look.labelled(2, "-", 1, &words));
    }
    text
}

fn nothing_suits_text(property: &Property<'_>, areas: &[usize], look: &Look) -> String {
    let mut text = String::new();
    for at in areas {
        let name = printable(&property.file.areas[*at].name, &[]);
        let missing = &property.without_figure[*at];
        let words = if missing.is_empty() {
            format!(
                "Nothing is suited to {name}: every species is refused there. `recommend` with the same facts tells why."
            )
        } else {
            let counts: Vec<String> =
                missing.iter().map(|(measure, count)| format!("{} of {count}", head(*measure))).collect();
            format!(
                "Of what is suited to {name} no species has every figure that the limits need: not known is {}.",
                counts.join(", ")
            )
        };
        text.push_str(&look.paragraph(0, &words));
    }
    text
}

/// Species that a limit could not be held against.
fn left_out_text(property: &Property<'_>, look: &Look) -> String {
    let mut text = String::new();
    for measure in &property.measures {
        let areas: Vec<String> = property
            .without_figure
            .iter()
            .zip(&property.file.areas)
            .filter_map(|(missing, area)| {
                let (_, count) = missing.iter().find(|(own, _)| own == measure)?;
                Some(format!("{count} on {}", printable(&area.name, &[])))
            })
            .collect();
        if !areas.is_empty() {
            let words = format!(
                "suited, but left out since the limit cannot be held against them ({} not known): {}",
                head(*measure),
                some_of(&areas, 6)
            );
            text.push_str(&look.paragraph(2, &words));
        }
    }
    if text.is_empty() { text } else { format!("\nLeft out\n{text}") }
}

/// The cautions of all areas, each once with the areas that it is of.
fn cautions_text(property: &Property<'_>, choice: &[usize], look: &Look) -> String {
    let told = cautions(property, choice, look.units);
    let told = told.iter().map(|(caution, at)| (caution_words(caution), *at));
    let mut text = "\nCautions\n".to_owned();
    for (words, areas) in grouped(told) {
        let areas: Vec<_> =
            each_once(areas).iter().map(|at| printable(&property.file.areas[*at].name, &[])).collect();
        let all = areas.len() == choice.len() && areas.len() > 1;
        let areas = if all { "all areas".to_owned() } else { areas.join(", ") };
        text.push_str(&look.paragraph(2, &format!("{areas}: {words}")));
    }
    let general = "whole property: law: what may be watered, fed and planted is said by local ordinances, the water supplier and labels. Ask: the local planning office and water supplier";
    text.push_str(&look.paragraph(2, general));
    text
}

/// How the figures were come by.
fn method_text(property: &Property<'_>, look: &Look) -> String {
    let mut lines = vec![
        "one species an area, of those in class S1 to S3, so that the index weighted by area is highest: a square metre badly planted costs the same wherever it lies. Solved exactly by branch and bound.".to_owned(),
    ];
    if !property.model.pairs.is_empty() {
        let seeds = if property.file.limits.seed_drift {
            "seed may drift, as the file allows"
        } else {
            "one on record as seeding itself may stand beside no other, edge or not; of most species it is not on record whether they do"
        };
        let facts = property.assessments.first().map(OverlaidFacts::of);
        let mark = overlay_mark(&facts.map(|own| own.of_table("neighbours")).unwrap_or_default());
        lines.push(format!("neighbours: a fast spreader by runners may stand beside another kind only behind an edge, and one of unknown pace counts as fast [table neighbours; common practice{mark}]; {seeds}"));
    }
    for measure in &property.measures {
        lines.push(match measure {
            Measure::Water => format!("irrigation: what the daily balance gives to stay green, or to live where a tan rest is accepted, and no more than it puts on within the cap of the season, the days and the depth allowed (where soil or plant is not known, than days and depth come to), divided by the efficiency of the system, {SPRAY_EFFICIENCY} for spray (also where none is stated) or {DRIP_EFFICIENCY} for drip [California landscape ordinance of 2015, Appendix B]; an area without irrigation takes none and is on no valve"),
            Measure::Etwu => format!("MAWA = ETo × {GALLONS_PER_INCH_FT2} × (ETAF × LA + (1 - ETAF) × SLA), ETAF {ETAF_RESIDENTIAL} residential, {ETAF_OTHER} elsewhere; ETWU = ETo × {GALLONS_PER_INCH_FT2} × PF / IE × area, of a special landscape area (SLA) ETo × {GALLONS_PER_INCH_FT2} × area whatever is planted; LA is all that is watered [California landscape ordinance of 2015, Appendix B]. PF is the plant factor that publications give it, or where none does the share of evapotranspiration that keeps acceptable cover, in a hydrozone that of the thirstiest; the ordinance asks for its own list of plants and its own table of ETo, and local ordinances may be stricter. This is no worksheet to file"),
            Measure::Nitrogen => "nitrogen: the least that keeps acceptable cover in the use of the area, by our sources, times the area".to_owned(),
            Measure::Hours => hours_line(property),
        });
    }
    lines.extend(eto_lines(property));
    if property.model.resources.iter().any(|own| own.zoned) && !property.file.zones.is_empty() {
        lines.push("hydrozone: areas on one valve all get what the thirstiest of them takes".to_owned());
    }
    let mut text = "\nHow it was reckoned\n".to_owned();
    for line in lines {
        text.push_str(&look.paragraph(2, &line));
    }
    text
}

/// The ETo of each area with where it comes from, those alike together.
fn eto_lines(property: &Property<'_>) -> Vec<String> {
    let etos = property.etos.iter().zip(&property.file.areas);
    let alike = grouped(etos.filter_map(|(eto, area)| {
        let eto = eto.as_ref()?;
        let mm = Unit::named("mm")
            .map(|unit| format!(" ({})", UnitSystem::Si.tell(eto.inches * INCH_M, unit)))
            .unwrap_or_default();
        let from = origin_words(&eto.origin).unwrap_or_else(|| "`eto_in_yr` of the property file".to_owned());
        let words = format!("{:.1} in{mm} a year [{from}]", eto.inches);
        Some((words, printable(&area.name, &[]).into_owned()))
    }));
    let whole = alike.len() == 1;
    let of = |areas: &[String]| if whole { String::new() } else { format!(" of {}", areas.join(", ")) };
    alike.iter().map(|(words, areas)| format!("ETo{}, on level ground: {words}", of(areas))).collect()
}
