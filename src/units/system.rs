//! How a number is written for its reader: SI or US units, and only as many digits as it carries.

use super::Unit;

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
            symbol => format!("{number} {symbol}"),
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

    /// The unit of this system that stands for `unit`.
    pub fn unit(self, unit: &'static Unit) -> &'static Unit {
        match self {
            Self::Si => unit,
            Self::Us => unit.in_us(),
        }
    }
}

/// A number with about three significant digits, without trailing zeros.
pub fn format_number(value: f64) -> String {
    if value.is_infinite() {
        return "no limit".to_owned();
    }
    let decimals = match value.abs() {
        size if size >= 99.5 => 0,
        size if size >= 9.95 => 1,
        _ => 2,
    };
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_three_digits_at_most() {
        let written = [0.0, -0.001, 0.256, 7.0, 18.04, 99.6, 1234.5].map(format_number);
        assert_eq!(written, ["0", "0", "0.26", "7", "18", "100", "1234"]);
    }

    #[test]
    fn each_reader_gets_his_own_units() {
        let unit = Unit::named("degC").unwrap();
        assert_eq!(UnitSystem::Us.write(35.0, unit), "95 °F");
        assert_eq!(UnitSystem::Si.write_range(0.05, 0.075, Unit::named("cm").unwrap()), "5 to 7.5 cm");
        assert_eq!(UnitSystem::Si.write(6.5, Unit::named("pH").unwrap()), "6.5");
    }
}
