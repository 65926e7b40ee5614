//! How a number is written for its reader: SI or US units, and only as many digits as it carries.

use super::{Dimension, Unit};

/// The units that a report is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// The units of the vocabulary.
    #[default]
    Si,
    /// Their US partners.
    Us,
}

impl UnitSystem {
    /// A value given in the base of `unit`'s dimension, written with the unit of this system.
    pub fn write(self, base: f64, unit: &'static Unit) -> String {
        let unit = self.unit(unit);
        let number = format_number(unit.express(base));
        match unit.symbol {
            "" => number,
            "%" | "°" => format!("{number}{}", unit.symbol),
            symbol => format!("{number} {}", counted(&number, symbol)),
        }
    }

    /// Two ends of a range with one unit behind them; an open end is left out.
    pub fn write_range(self, low: f64, high: f64, unit: &'static Unit) -> String {
        match (low.is_finite(), high.is_finite()) {
            (true, true) if low < high => {
                let written = self.write(high, unit);
                format!("{} to {written}", format_number(self.unit(unit).express(low)))
            }
            (true, true) => self.write(low, unit),
            (true, false) => format!("{} or more", self.write(low, unit)),
            (false, true) => format!("{} or less", self.write(high, unit)),
            (false, false) => "any".to_owned(),
        }
    }

    /// The next number that [`UnitSystem::write`] prints as it is, at or above a number or at or below
    /// it, or so many steps of the last digit beyond.
    pub fn round_beyond(self, base: f64, upward: bool, steps: u8, unit: &'static Unit) -> f64 {
        let unit = self.unit(unit);
        let number = unit.express(base);
        let rounded = |decimals: i32| {
            let fine = 10f64.powi(decimals);
            // what halving leaves is no reason to go a digit further
            let (whole, step) = if upward {
                ((number * fine - 1e-6).ceil(), f64::from(steps))
            } else {
                ((number * fine + 1e-6).floor(), -f64::from(steps))
            };
            (whole + step) / fine
        };
        let digits = decimals(number);
        let found = rounded(digits);
        // rounded up it may be a number that is printed with a digit less
        let printed = decimals(found);
        unit.to_base(if printed < digits { rounded(printed) } else { found })
    }

    /// The same with no more digits than a reader can use: days, millimetres and shares whole, small
    /// ones with two digits that count. A difference of temperatures in US units reads "by 9 °F", so
    /// that nobody takes it for a temperature.
    pub fn tell(self, base: f64, unit: &'static Unit) -> String {
        let number = self.tell_number(base, unit);
        let unit = self.unit(unit);
        let by =
            if self == Self::Us && unit.dimension == Dimension::TEMPERATURE_DIFFERENCE { "by " } else { "" };
        match unit.symbol {
            "" => number,
            "%" | "°" => format!("{number}{}", unit.symbol),
            symbol => format!("{by}{number} {}", counted(&number, symbol)),
        }
    }

    /// Two ends of a range as [`UnitSystem::tell`] writes one number.
    pub fn tell_range(self, low: f64, high: f64, unit: &'static Unit) -> String {
        match (low.is_finite(), high.is_finite()) {
            (true, true) if low < high => {
                let first = self.tell_number(low, unit);
                let second = self.tell(high, unit);
                let by = second.strip_prefix("by ");
                match by {
                    Some(second) => format!("by {first} to {second}"),
                    None => format!("{first} to {second}"),
                }
            }
            (true, true) => self.tell(low, unit),
            (true, false) => format!("{} or more", self.tell(low, unit)),
            (false, true) => format!("{} or less", self.tell(high, unit)),
            (false, false) => "any".to_owned(),
        }
    }

    /// A number with the digits that it is worth, without its unit.
    fn tell_number(self, base: f64, unit: &'static Unit) -> String {
        let own = self.unit(unit);
        let meant = if self == Self::Us { customary(base, unit, own) } else { None };
        told_number(meant.unwrap_or_else(|| own.express(base)), own)
    }

    /// The unit of this system that stands for `unit`.
    pub fn unit(self, unit: &'static Unit) -> &'static Unit {
        match self {
            Self::Si => unit,
            Self::Us => unit.in_us(),
        }
    }
}

/// The word of a unit behind its number: one day, not one days.
fn counted<'a>(number: &str, symbol: &'a str) -> &'a str {
    match symbol {
        "days" | "weeks" | "months" | "years" | "acres" if number == "1" => &symbol[..symbol.len() - 1],
        "days a week" if number == "1" => "day a week",
        _ => symbol,
    }
}

/// The customary figure that a metric one was turned from: 98 kg/ha was 2 lb per 1000 ft2, and not 2.01. Quarters
/// of a pound, and of an inch up to 8 in, beyond which inches are whole; none where the metric figure, to its
/// last digit, is not that figure turned.
fn customary(base: f64, si: &Unit, us: &Unit) -> Option<f64> {
    let (number, metric) = (us.express(base), si.express(base));
    let step = match us.symbol {
        "lb/1000 ft2" => 0.25,
        "in" if number.abs() < 8.0 => 0.25,
        "in" => 1.0,
        _ => return None,
    };
    let last_digit = match si.symbol {
        "kg/ha" => 1.0,
        "cm" if metric.abs() >= 12.5 => 1.0,
        "mm" if metric.abs() >= 10.0 => 1.0,
        _ => 0.1,
    };
    let meant = (number / step).round() * step;
    let apart = (metric - si.express(us.to_base(meant))).abs();
    (meant > 0.0 && apart <= 0.55 * last_digit).then_some(meant)
}

/// A number in a unit with the digits that it is worth.
fn told_number(value: f64, unit: &Unit) -> String {
    let size = value.abs();
    if !(1e-4..f64::INFINITY).contains(&size) {
        return format_number(value);
    }
    let whole_from = match unit.symbol {
        "days" => 1.0,
        "mm" | "cm" | "in" | "%" | "mm/m" => 10.0,
        _ => f64::INFINITY,
    };
    let most = if unit.symbol.is_empty() { 2 } else { most_decimals(unit) };
    let decimals = match size {
        size if size >= whole_from => 0,
        // two digits that count
        size if size < 1.0 => (1.0 - size.log10().floor()) as usize,
        size if size >= 99.5 => 0,
        size if size >= 9.95 => most.min(1),
        _ => most,
    };
    trimmed(format!("{value:.decimals$}"))
}

/// Decimals behind a number between 1 and 10.
fn most_decimals(unit: &Unit) -> usize {
    let one = [
        "°C",
        "°F",
        "K",
        "months",
        "years",
        "weeks",
        "m",
        "ft",
        "cm",
        "in",
        "mm",
        "%",
        "mm/m",
        "h of sun",
        "lb/1000 ft2",
    ];
    if one.contains(&unit.symbol) { 1 } else { 2 }
}

/// Without zeros at the end.
fn trimmed(text: String) -> String {
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A number with about three significant digits, without trailing zeros.
pub fn format_number(value: f64) -> String {
    if value.is_infinite() {
        return "no limit".to_owned();
    }
    let decimals = decimals(value).unsigned_abs() as usize;
    trimmed(format!("{value:.decimals$}"))
}

/// Decimals that a number is printed with.
fn decimals(value: f64) -> i32 {
    match value.abs() {
        size if size >= 99.5 => 0,
        size if size >= 9.95 => 1,
        _ => 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_three_digits_at_most() {
        let written = [0.0, -0.001, 0.256, 7.0, 18.04, 99.6, 1234.5].map(format_number);
        assert_eq!(written, ["0", "0", "0.26", "7", "18", "100", "1234"]);
    }

    /// What is rounded beyond is what is printed, also where rounding takes a digit away.
    #[test]
    fn a_number_rounded_beyond_is_printed_as_it_is() {
        let unit = Unit::named("pH").unwrap();
        for number in [9.942, 9.948, 9.951, 0.333, 6.6, 99.42, 99.6] {
            for upward in [true, false] {
                let found = UnitSystem::Si.round_beyond(number, upward, 0, unit);
                let printed: f64 = format_number(found).parse().unwrap();
                assert!((printed - found).abs() < 1e-9, "{number}: {found} is printed as {printed}");
                assert!(if upward { found >= number } else { found <= number }, "{number}: {found}");
            }
        }
    }

    #[test]
    fn a_reader_is_told_no_more_digits_than_he_can_use() {
        let told = |base: f64, name: &str| {
            let unit = Unit::named(name).unwrap();
            UnitSystem::Si.tell(unit.to_base(base), unit)
        };
        assert_eq!(told(31.4, "d"), "31 days");
        assert_eq!([told(1.2, "d"), told(1.6, "d"), told(0.6, "d")], ["1 day", "2 days", "0.6 days"]);
        assert_eq!(told(612.3, "mm"), "612 mm");
        assert_eq!(told(45.46, "mm"), "45 mm");
        assert_eq!(told(72.4, "%"), "72%");
        assert_eq!(told(0.123, "%"), "0.12%");
        assert_eq!(told(0.0456, "dS/m"), "0.046 dS/m");
        assert_eq!(told(21.64, "degC"), "21.6 °C");
        assert_eq!(told(0.0, "d"), "0 days");
        assert_eq!(told(-0.02, "K"), "-0.02 K");
    }

    #[test]
    fn a_difference_of_temperatures_is_no_temperature() {
        let unit = Unit::named("K").unwrap();
        assert_eq!(UnitSystem::Us.tell(5.0, unit), "by 9 °F");
        assert_eq!(UnitSystem::Us.tell_range(5.0, 10.0, unit), "by 9 to 18 °F");
        assert_eq!(UnitSystem::Si.tell(5.0, unit), "5 K");
        assert_eq!(UnitSystem::Us.tell(30.0, Unit::named("degC").unwrap()), "86 °F");
    }

    /// Figures of US publications, as the knowledge keeps them, come back as they were printed.
    #[test]
    fn a_customary_figure_comes_back() {
        let told = |number: f64, name: &str| {
            let unit = Unit::named(name).unwrap();
            UnitSystem::Us.tell(unit.to_base(number), unit)
        };
        assert_eq!([98.0, 146.0, 391.0].map(|own| told(own, "kg/ha")), [2, 3, 8].map(pounds));
        assert_eq!([5.1, 7.6, 30.0, 122.0].map(|own| told(own, "cm")), ["2 in", "3 in", "12 in", "48 in"]);
        let unit = Unit::named("cm").unwrap();
        assert_eq!(UnitSystem::Us.tell_range(0.038, 0.076, unit), "1.5 to 3 in");
        // what was never a customary figure stays what it is
        assert_eq!(
            [told(300.0, "kg/ha"), told(7.3, "cm"), told(6.0, "mm")],
            ["6.1 lb/1000 ft2", "2.9 in", "0.24 in"]
        );
    }

    fn pounds(number: i32) -> String {
        format!("{number} lb/1000 ft2")
    }

    #[test]
    fn each_reader_gets_his_own_units() {
        let unit = Unit::named("degC").unwrap();
        assert_eq!(UnitSystem::Us.write(35.0, unit), "95 °F");
        assert_eq!(UnitSystem::Si.write_range(0.05, 0.075, Unit::named("cm").unwrap()), "5 to 7.5 cm");
        assert_eq!(UnitSystem::Si.write(6.5, Unit::named("pH").unwrap()), "6.5");
    }
}
