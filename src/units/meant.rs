//! The unit that a misspelt or spoken one was most likely meant to be, and the one that an answer names.

use super::unit::{Dimension, Unit};

/// Words and signs that people write for a unit, with the name that files use.
const SPOKEN: [(&str, &str); 49] = [
    ("c", "degC"),
    ("°c", "degC"),
    ("celsius", "degC"),
    ("centigrade", "degC"),
    ("f", "degF"),
    ("°f", "degF"),
    ("fahrenheit", "degF"),
    ("kelvin", "K"),
    ("°", "deg"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("inch", "in"),
    ("inches", "in"),
    ("\"", "in"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("millimeters", "mm"),
    ("millimetres", "mm"),
    ("centimeters", "cm"),
    ("centimetres", "cm"),
    ("day", "d"),
    ("days", "d"),
    ("weeks", "week"),
    ("months", "month"),
    ("y", "yr"),
    ("year", "yr"),
    ("years", "yr"),
    ("percent", "%"),
    ("pct", "%"),
    ("acres", "acre"),
    ("lbs", "lb"),
    ("hours", "h/d"),
    ("hour", "h/d"),
    ("h", "h/d"),
    ("days a week", "d/week"),
    ("day a week", "d/week"),
    ("kph", "km/h"),
    ("kmh", "km/h"),
    ("µs/cm", "uS/cm"),
    ("μs/cm", "uS/cm"),
    ("mmho/cm", "mS/cm"),
    ("mmhos/cm", "mS/cm"),
    ("mmhos", "mS/cm"),
    ("times a week", "/week"),
    ("time a week", "/week"),
];

/// The unit of a dimension that somebody names who answers a question: as files write it, as reports print it
/// behind a number, or as people say it.
pub fn answered_unit(written: &str, dimension: Dimension) -> Option<&'static Unit> {
    let fits = |unit: &&Unit| unit.dimension == dimension;
    let printed = || Unit::all().iter().filter(fits).find(|unit| unit.symbol == written);
    let spoken = || {
        let lower = written.to_lowercase();
        SPOKEN.iter().filter(|(word, _)| *word == lower).find_map(|(_, name)| Unit::named(name).filter(fits))
    };
    Unit::named(written).filter(fits).or_else(printed).or_else(spoken)
}

/// What would mend an unknown unit: the ones that are nearest to what was written, else all of the
/// dimension that is wanted, where one is.
pub fn unknown_unit_help(written: &str, wanted: Option<Dimension>) -> String {
    let fits = |unit: &&Unit| wanted.is_none_or(|dimension| unit.dimension == dimension);
    let lower = written.to_lowercase();
    let spoken = SPOKEN.iter().find(|(word, _)| *word == lower).and_then(|(_, name)| Unit::named(name));
    if let Some(unit) = spoken.filter(fits) {
        return format!("did you mean `{}`?", unit.name);
    }
    // a slip of one letter turns every name of one letter into every other
    let length = written.chars().count();
    let mut near: Vec<(usize, bool, usize, &str)> = Unit::all()
        .iter()
        .filter(fits)
        .filter(|unit| length > 1 && unit.name != "1")
        .map(|unit| {
            let apart = strsim::damerau_levenshtein(&lower, &unit.name.to_lowercase());
            let other_start = unit.name.chars().next() != lower.chars().next();
            (apart, other_start, unit.name.chars().count().abs_diff(length), unit.name)
        })
        .filter(|(apart, ..)| *apart <= 1 + length / 6)
        .collect();
    near.sort_unstable();
    let near: Vec<&str> = near.into_iter().take(3).map(|(.., name)| name).collect();
    let all = || {
        let names: Vec<&str> =
            Unit::all().iter().filter(fits).map(|unit| unit.name).filter(|name| *name != "1").collect();
        names.join(", ")
    };
    match &near[..] {
        [] if wanted.is_some() => format!("write it in {}", all()),
        [] => format!("units are {}", all()),
        [only] => format!("did you mean `{only}`?"),
        [first, second] => format!("did you mean `{first}` or `{second}`?"),
        [first, second, third, ..] => format!("did you mean `{first}`, `{second}` or `{third}`?"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spoken_words_and_slips_are_told_the_name_of_the_unit() {
        let length = Unit::named("cm").map(|unit| unit.dimension);
        assert_eq!(unknown_unit_help("C", None), "did you mean `degC`?");
        assert_eq!(unknown_unit_help("Inches", length), "did you mean `in`?");
        assert_eq!(unknown_unit_help("mn", length), "did you mean `mm`, `m` or `in`?");
        assert_eq!(unknown_unit_help("cn", length), "did you mean `cm` or `in`?");
        // a unit a thousand times as large is no help
        let conductivity = Unit::named("dS/m").map(|unit| unit.dimension);
        assert_eq!(unknown_unit_help("µS/cm", conductivity), "did you mean `uS/cm`?");
        assert_eq!(unknown_unit_help("mmhos/cm", conductivity), "did you mean `mS/cm`?");
        let speed = Unit::named("m/s").map(|unit| unit.dimension);
        assert_eq!(unknown_unit_help("kph", speed), "did you mean `km/h`?");
        // what is not a length is not offered for one
        assert_eq!(unknown_unit_help("c", length), "write it in cm, mm, m, in, ft");
        assert!(unknown_unit_help("b", None).starts_with("units are %, mm/m"));
    }

    /// Whatever stands behind a number in a report may stand behind one in an answer.
    #[test]
    fn what_reports_print_may_be_answered() {
        for unit in Unit::all().iter().filter(|unit| !unit.symbol.is_empty()) {
            for written in [unit.name, unit.symbol] {
                let found = answered_unit(written, unit.dimension).map(|found| found.to_base(1.0));
                assert_eq!(found, Some(unit.to_base(1.0)), "{written}");
            }
        }
        let angle = Unit::named("deg").map(|unit| unit.dimension).unwrap_or(Dimension::NONE);
        assert_eq!(answered_unit("Degrees", angle).map(|unit| unit.name), Some("deg"));
        assert_eq!(answered_unit("cm", angle), None);
    }

    #[test]
    fn every_spoken_word_stands_for_a_unit() {
        for (word, name) in SPOKEN {
            assert!(Unit::named(name).is_some() && Unit::named(word).is_none(), "{word}: {name}");
        }
    }
}
