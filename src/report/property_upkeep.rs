//! The hours of upkeep of a property in words: what goes into them, and what they rest on.

use comfy_table::CellAlignment;

use super::header::overlay_mark;
use super::layout::{Look, table_text};
use super::property_limits::amount;
use super::property_text::area_words;
use crate::diag::printable;
use crate::property::{Measure, Property, UPKEEP_TABLES};

/// What goes into the hours of each area, so that anybody can reckon them again.
pub fn upkeep_table(property: &Property<'_>, choice: &[usize], look: &Look) -> String {
    let works = property.works(choice);
    if works.is_empty() {
        return String::new();
    }
    let mut table = look.wrapping_table();
    table.set_header(["area", "cuts a year", "mown in an hour", "mowing", "care besides"]);
    for (area, work) in property.file.areas.iter().zip(works) {
        let Some(work) = work else { continue };
        let hours = |rate: f64| amount(Measure::Hours, rate * area.area_m2, look.units);
        table.add_row([
            printable(&area.name, &[]).into_owned(),
            format!("{:.0}", work.cuts),
            area_words(work.mowing_m2_h, look),
            hours(work.mowing_h()),
            hours(work.care_h),
        ]);
    }
    for column in 1..5 {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    format!("\nUpkeep\n{}", table_text(&table))
}

/// How the hours were come by, with what the tables rest on.
pub fn hours_line(property: &Property<'_>) -> String {
    let knowledge = property.assessments.first().map(|one| one.knowledge);
    let (mut sources, mut overlays): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let tables = knowledge.into_iter().flat_map(|own| {
        UPKEEP_TABLES.iter().filter_map(|id| own.table_named(id)).map(move |table| (own, table))
    });
    for (knowledge, table) in tables {
        sources.extend(table.citations.iter().map(|citation| citation.publication.key.clone()));
        overlays.extend(knowledge.overlay_of(&table.place).map(|overlay| overlay.id.clone()));
    }
    for names in [&mut sources, &mut overlays] {
        names.sort_unstable();
        names.dedup();
    }
    let stated = match property.file.limits.mowing_m2_h {
        Some(_) => "what is mown in an hour is what the file says",
        None => {
            "crews and mowers differ up to fourfold in what they mow in an hour: state `mowing_m2_h` or `mowing_ft2_h` under [limits] where it is known"
        }
    };
    format!(
        "hours of one person, once the planting is established: the area times the cuts of a year over what is mown in an hour, and care besides (weeding, edging, feeding, trimming) through the months of growth. A mown sward is cut as often as its growth asks for, anything else as its use wants, neither more often than the species bears nor than the area's `mowings_per_week`. These are figures of the trade and common practice, good to compare plants by and rough as hours; {stated} [tables {}: {}{}]",
        UPKEEP_TABLES.join(", "),
        sources.join(", "),
        overlay_mark(&overlays)
    )
}
