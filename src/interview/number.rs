//! A number that somebody answers, or one for each month, with or without a unit, as site files write it.

use toml_edit::{Array, Item, value};

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

/// Numbers set apart by commas or spaces, in brackets or without, as a list of a site file. What is no list of bare
/// numbers is passed on as text.
pub fn months_item(text: &str, unit: &'static Unit) -> Item {
    let listed = text.trim().trim_start_matches('[').trim_end_matches(']');
    let parts = listed.split(|sign: char| sign == ',' || sign == ';' || sign.is_whitespace());
    let numbers: Vec<Item> =
        parts.filter(|part| !part.is_empty()).map(|part| number_item(part, unit)).collect();
    let plain = |item: Item| item.into_value().ok().filter(|value| !value.is_str());
    let list: Option<Array> = numbers.into_iter().map(plain).collect();
    list.filter(|list| list.len() > 1).map_or_else(|| value(text), value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_numbers_of_the_months_are_a_list() {
        let unit = Unit::named("degC").unwrap_or(&Unit::all()[0]);
        let written = |text: &str| months_item(text, unit).to_string().trim().to_owned();
        for text in ["[1, 2.5, -3]", "1, 2.5, -3", "1 2.5 -3", "1,2.5,-3"] {
            assert_eq!(written(text), "[1, 2.5, -3]", "{text}");
        }
        assert_eq!(written("warm"), "\"warm\"");
        assert_eq!(written("1, 2, warm"), "\"1, 2, warm\"");
        assert_eq!(written("17"), "\"17\"");
    }

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
