//! The closed list of units that the files may write, with their dimensions.
//!
//! A value inside the program is a plain number in the *base* of its dimension: metre, kilogram,
//! day, degree Celsius, mole, megajoule, dS/m, pH, degree of arc and hour of sun. Hours of sun
//! a day and days are kept apart on purpose, so that a rule cannot compare one with the other;
//! so are temperatures and temperature differences.

use serde::{Deserialize, Serialize};

use super::factors::{
    ACRE_M2, DAY_S, FAHRENHEIT_AT_ZERO_CELSIUS, FOOT_M, FT2_1000_M2, FT2_M2, HECTARE_M2, INCH_M,
    KELVIN_PER_FAHRENHEIT_DEGREE, MILE_M, MJ_M2_D_PER_W_M2, MJ_PER_KWH, MONTH_D, POUND_KG, YEAR_D,
};

/// Exponents of the base quantities, with a mark for a temperature that is a point on the scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Dimension {
    exponents: [i8; 10],
    point: bool,
}

const LENGTH: usize = 0;
const MASS: usize = 1;
const TIME: usize = 2;
const TEMPERATURE: usize = 3;
const LIGHT: usize = 4;
const ENERGY: usize = 5;
const CONDUCTIVITY: usize = 6;
const ACIDITY: usize = 7;
const ANGLE: usize = 8;
const SUN: usize = 9;

impl Dimension {
    /// A plain number.
    pub const NONE: Self = Self { exponents: [0; 10], point: false };
    /// A temperature on the Celsius scale (a point, not a difference).
    pub const TEMPERATURE_POINT: Self = base(TEMPERATURE, true);
    /// A difference of two temperatures.
    pub const TEMPERATURE_DIFFERENCE: Self = base(TEMPERATURE, false);
    /// A time.
    pub const TIME: Self = base(TIME, false);

    /// Dimension of a product; `None` when a temperature point takes part.
    pub fn times(self, other: Self) -> Option<Self> {
        self.combine(other, 1)
    }

    /// Dimension of a quotient; `None` when a temperature point takes part.
    pub fn over(self, other: Self) -> Option<Self> {
        self.combine(other, -1)
    }

    /// Dimension of a sum: like with like, and a difference added to a temperature point.
    pub fn plus(self, other: Self) -> Option<Self> {
        match (self.point, other.point) {
            (false, false) => (self == other).then_some(self),
            (true, false) if other == Self::TEMPERATURE_DIFFERENCE => Some(self),
            (false, true) if self == Self::TEMPERATURE_DIFFERENCE => Some(other),
            _ => None,
        }
    }

    /// Dimension of a difference: two temperature points give a temperature difference.
    pub fn minus(self, other: Self) -> Option<Self> {
        match (self.point, other.point) {
            (true, true) => Some(Self::TEMPERATURE_DIFFERENCE),
            (false, false) => (self == other).then_some(self),
            (true, false) if other == Self::TEMPERATURE_DIFFERENCE => Some(self),
            _ => None,
        }
    }

    /// Whether the number is a temperature point, which may not be multiplied or summed.
    pub fn is_point(self) -> bool {
        self.point
    }

    fn combine(self, other: Self, sign: i8) -> Option<Self> {
        if self.point || other.point {
            return None;
        }
        let mut exponents = self.exponents;
        for (mine, theirs) in exponents.iter_mut().zip(other.exponents) {
            *mine = mine.checked_add(theirs.checked_mul(sign)?)?;
        }
        Some(Self { exponents, point: false })
    }

    /// How the dimension is named in messages: the SI unit of the list that has it.
    pub fn name(self) -> &'static str {
        if self == Self::NONE {
            return "a plain number";
        }
        UNITS.iter().find(|unit| unit.dimension == self).map_or("a unit without a name", |unit| unit.name)
    }
}

const fn base(which: usize, point: bool) -> Dimension {
    let mut exponents = [0; 10];
    exponents[which] = 1;
    Dimension { exponents, point }
}

const fn powers(pairs: &[(usize, i8)]) -> Dimension {
    let mut exponents = [0; 10];
    let mut i = 0;
    while i < pairs.len() {
        exponents[pairs[i].0] = pairs[i].1;
        i += 1;
    }
    Dimension { exponents, point: false }
}

/// One unit of the closed list.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// As files write it, for example `mol/m2/d`.
    pub name: &'static str,
    /// As reports print it after a number; empty for a plain number.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    factor: f64,
    offset: f64,
    /// Name of the unit that a reader of US units expects in its place.
    us: Option<&'static str>,
}

impl Unit {
    /// The unit of that name.
    pub fn named(name: &str) -> Option<&'static Self> {
        UNITS.iter().find(|unit| unit.name == name)
    }

    /// All units that files may write.
    pub fn all() -> &'static [Self] {
        UNITS
    }

    /// The first unit of the list with that dimension, to print what a rule computed.
    pub fn of_dimension(dimension: Dimension) -> Option<&'static Self> {
        UNITS.iter().find(|unit| unit.dimension == dimension)
    }

    /// Value in the base of the dimension.
    pub fn to_base(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// Value in this unit.
    pub fn express(&self, value: f64) -> f64 {
        (value - self.offset) / self.factor
    }

    /// Whether it takes the place of a metric one in a report in US units.
    pub fn is_us(&self) -> bool {
        UNITS.iter().any(|unit| unit.us == Some(self.name))
    }

    /// The metric unit of the same quantity: the first of the list.
    pub fn in_si(&'static self) -> &'static Self {
        UNITS.iter().find(|unit| self.is_us() && unit.dimension == self.dimension).unwrap_or(self)
    }

    /// The unit that takes its place in a report in US units (itself where both use the same).
    pub fn in_us(&'static self) -> &'static Self {
        self.us.and_then(Self::named).unwrap_or(self)
    }
}

const fn unit(
    name: &'static str,
    symbol: &'static str,
    dimension: Dimension,
    factor: f64,
    us: Option<&'static str>,
) -> Unit {
    Unit { name, symbol, dimension, factor, offset: 0.0, us }
}

const AREA: Dimension = powers(&[(LENGTH, 2)]);
const MASS_PER_AREA: Dimension = powers(&[(MASS, 1), (LENGTH, -2)]);
const SPEED: Dimension = powers(&[(LENGTH, 1), (TIME, -1)]);
const HEAT_SUM: Dimension = powers(&[(TEMPERATURE, 1), (TIME, 1)]);
const SUN_HOURS: Dimension = base(SUN, false);

/// The first unit of a dimension is the one that a computed number is printed in.
static UNITS: &[Unit] = &[
    unit("1", "", Dimension::NONE, 1.0, None),
    unit("%", "%", Dimension::NONE, 0.01, None),
    unit("mm/m", "mm/m", Dimension::NONE, 0.001, Some("in/ft")),
    unit("in/ft", "in/ft", Dimension::NONE, INCH_M / FOOT_M, None),
    unit("d/week", "days a week", Dimension::NONE, 1.0 / 7.0, None),
    Unit {
        name: "degC",
        symbol: "°C",
        dimension: Dimension::TEMPERATURE_POINT,
        factor: 1.0,
        offset: 0.0,
        us: Some("degF"),
    },
    Unit {
        name: "degF",
        symbol: "°F",
        dimension: Dimension::TEMPERATURE_POINT,
        factor: KELVIN_PER_FAHRENHEIT_DEGREE,
        offset: -FAHRENHEIT_AT_ZERO_CELSIUS * KELVIN_PER_FAHRENHEIT_DEGREE,
        us: None,
    },
    unit("K", "K", Dimension::TEMPERATURE_DIFFERENCE, 1.0, Some("degF-difference")),
    unit("degF-difference", "°F", Dimension::TEMPERATURE_DIFFERENCE, KELVIN_PER_FAHRENHEIT_DEGREE, None),
    unit("degC-d", "°C days", HEAT_SUM, 1.0, Some("degF-d")),
    unit("degF-d", "°F days", HEAT_SUM, KELVIN_PER_FAHRENHEIT_DEGREE, None),
    unit("cm", "cm", powers(&[(LENGTH, 1)]), 0.01, Some("in")),
    unit("mm", "mm", powers(&[(LENGTH, 1)]), 0.001, Some("in")),
    unit("m", "m", powers(&[(LENGTH, 1)]), 1.0, Some("ft")),
    unit("in", "in", powers(&[(LENGTH, 1)]), INCH_M, None),
    unit("ft", "ft", powers(&[(LENGTH, 1)]), FOOT_M, None),
    unit("m2", "m2", AREA, 1.0, Some("ft2")),
    unit("ft2", "ft2", AREA, FT2_M2, None),
    unit("ha", "ha", AREA, HECTARE_M2, Some("acre")),
    unit("acre", "acres", AREA, ACRE_M2, None),
    unit("d", "days", Dimension::TIME, 1.0, None),
    unit("week", "weeks", Dimension::TIME, 7.0, None),
    unit("month", "months", Dimension::TIME, MONTH_D, None),
    unit("yr", "years", Dimension::TIME, YEAR_D, None),
    unit("h/d", "h of sun", SUN_HOURS, 1.0, None),
    unit("/week", "a week", powers(&[(TIME, -1)]), 1.0 / 7.0, None),
    unit("/yr", "a year", powers(&[(TIME, -1)]), 1.0 / YEAR_D, None),
    unit("mm/d", "mm/d", SPEED, 0.001, Some("in/week")),
    unit("mm/week", "mm/week", SPEED, 0.001 / 7.0, Some("in/week")),
    unit("mm/h", "mm/h", SPEED, 0.024, Some("in/h")),
    unit("in/h", "in/h", SPEED, INCH_M * 24.0, None),
    unit("in/week", "in/week", SPEED, INCH_M / 7.0, None),
    unit("m/s", "m/s", SPEED, DAY_S, Some("mph")),
    unit("km/h", "km/h", SPEED, 24_000.0, Some("mph")),
    unit("mph", "mph", SPEED, MILE_M * 24.0, None),
    unit("mol/m2/d", "mol/m2/d", powers(&[(LIGHT, 1), (LENGTH, -2), (TIME, -1)]), 1.0, None),
    unit("MJ/m2/d", "MJ/m2/d", powers(&[(ENERGY, 1), (LENGTH, -2), (TIME, -1)]), 1.0, None),
    unit("W/m2", "W/m2", powers(&[(ENERGY, 1), (LENGTH, -2), (TIME, -1)]), MJ_M2_D_PER_W_M2, None),
    unit("kWh/m2/d", "kWh/m2/d", powers(&[(ENERGY, 1), (LENGTH, -2), (TIME, -1)]), MJ_PER_KWH, None),
    unit("dS/m", "dS/m", base(CONDUCTIVITY, false), 1.0, None),
    unit("mS/cm", "mS/cm", base(CONDUCTIVITY, false), 1.0, None),
    unit("uS/cm", "uS/cm", base(CONDUCTIVITY, false), 0.001, None),
    unit("%/(dS/m)", "% per dS/m", powers(&[(CONDUCTIVITY, -1)]), 0.01, None),
    // sentences say "pH 6.5", so the figure alone is written
    unit("pH", "", base(ACIDITY, false), 1.0, None),
    unit("kg", "kg", base(MASS, false), 1.0, Some("lb")),
    unit("lb", "lb", base(MASS, false), POUND_KG, None),
    unit("kg/ha", "kg/ha", MASS_PER_AREA, 0.0001, Some("lb/1000ft2")),
    unit("lb/1000ft2", "lb/1000 ft2", MASS_PER_AREA, POUND_KG / FT2_1000_M2, None),
    unit("lb/acre", "lb/acre", MASS_PER_AREA, POUND_KG / ACRE_M2, None),
    unit("g/m2", "g/m2", MASS_PER_AREA, 0.001, Some("lb/1000ft2")),
    unit("deg", "°", base(ANGLE, false), 1.0, None),
];

/// A unit is stored by its place in the list.
impl Serialize for Unit {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Self::all().iter().position(|unit| unit.name == self.name).serialize(to)
    }
}

impl<'de> Deserialize<'de> for &'static Unit {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let at = Option::<usize>::deserialize(from)?;
        at.and_then(|at| Unit::all().get(at)).ok_or_else(|| serde::de::Error::custom("no such unit"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn convert(value: f64, from: &str, to: &str) -> f64 {
        Unit::named(to).unwrap().express(Unit::named(from).unwrap().to_base(value))
    }

    #[test]
    fn conversions_by_definition() {
        assert!((convert(85.0, "degF", "degC") - 29.444).abs() < 1e-3);
        assert!((convert(1.0, "in", "mm") - 25.4).abs() < 1e-12);
        assert!((convert(1.0, "lb/1000ft2", "kg/ha") - 48.824).abs() < 1e-3);
        assert!((convert(1.0, "m/s", "mph") - 2.236_94).abs() < 1e-5);
        assert!((convert(2.0, "in/ft", "mm/m") - 166.667).abs() < 1e-3);
        assert!((convert(18.0, "km/h", "m/s") - 5.0).abs() < 1e-12);
        assert!((convert(1200.0, "uS/cm", "dS/m") - 1.2).abs() < 1e-12);
    }

    #[test]
    fn unit_names_are_unique_and_us_partners_share_the_dimension() {
        for (i, unit) in Unit::all().iter().enumerate() {
            assert!(Unit::all()[..i].iter().all(|other| other.name != unit.name), "{}", unit.name);
            assert_eq!(unit.dimension, unit.in_us().dimension, "{}", unit.name);
        }
    }

    #[test]
    fn a_power_beyond_all_measure_is_no_dimension() {
        let mut dimension = Dimension::NONE;
        while let Some(next) = dimension.over(Dimension::TIME) {
            dimension = next;
        }
        assert_eq!(Dimension::NONE.over(dimension), None, "its opposite cannot be told");
        assert_eq!(dimension.times(Dimension::NONE), Some(dimension));
    }

    #[test]
    fn temperature_points_do_not_add_or_multiply() {
        let point = Dimension::TEMPERATURE_POINT;
        assert_eq!(point.plus(point), None);
        assert_eq!(point.times(Dimension::NONE), None);
        assert_eq!(point.minus(point), Some(Dimension::TEMPERATURE_DIFFERENCE));
        assert_eq!(point.plus(Dimension::TEMPERATURE_DIFFERENCE), Some(point));
    }
}
