//! A number that somebody answers, with or without a unit, as site files write it.

use toml_edit::{Item, value};

use crate::units::{Unit, answered_unit};

/// A number as a site file writes it: bare in the unit that is asked for, else with the name of its own. What is
/// no number, or has a unit of something else, is passed on as text.
pub fn number_item(text: &str, unit: &'static Unit) -> Item {
    let bare = |text: &str| match (text.parse::<i64>(), text.parse::<f64>()) {
        (Ok(whole), _) => Some(value(whole)),
        (_, Ok(number)) if number.is_finite() => Some(value(number)),
        _ => None,
    };
    if let Some(item) = bare(text) {
        return item;
    }
    let splits = text.char_indices().rev().map(|(at, _)| (text[..at].trim_end(), text[at..].trim()));
    let said = splits
        .filter(|(_, written)| !written.is_empty())
        .find_map(|(number, written)| Some((number, bare(number)?, answered_unit(written, unit.dimension)?)));
    match said {
        Some((_, item, said)) if said.name == unit.name => item,
        Some((number, _, said)) => value(format!("{number} {}", said.name)),
        None => value(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_in_an_answer_is_written_as_site_files_write_it() {
        let written = |text: &str, name: &str| {
            let unit = Unit::named(name).unwrap_or(&Unit::all()[0]);
            number_item(text, unit).to_string().trim().to_owned()
        };
        assert_eq!(written("31.2°", "deg"), "31.2");
        assert_eq!(written("7 h of sun", "h/d"), "7");
        assert_eq!(written("7h", "h/d"), "7");
        assert_eq!(written("-5 °C", "degC"), "-5");
        assert_eq!(written("13 °F", "degC"), "\"13 degF\"");
        assert_eq!(written("16 inches", "cm"), "\"16 in\"");
        assert_eq!(written("1e1 cm", "cm"), "10.0");
        // what fits nothing is told as it was written
        assert_eq!(written("7 cm", "h/d"), "\"7 cm\"");
        assert_eq!(written("very much", "h/d"), "\"very much\"");
    }
}
