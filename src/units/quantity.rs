//! Newtypes for quantities that are easily taken for one another: a rate for a total, a
//! temperature for a difference of temperatures, a fraction for a percentage.
//!
//! The wrapped number is public, since a formula has to read it; what the type prevents is
//! handing a depth to a function that wants a depth a day. Records of twelve months keep plain
//! numbers with the unit in the field's name.

use std::fmt;

use super::factors;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(pub f64);

        impl $name {
            /// Symbol of the unit, as printed after the number.
            pub const UNIT: &'static str = $unit;

            /// The bare number, in this type's unit.
            #[must_use]
            pub const fn get(self) -> f64 {
                self.0
            }

            /// Whether the number is neither infinite nor NaN.
            #[must_use]
            pub const fn is_finite(self) -> bool {
                self.0.is_finite()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)?;
                if $unit.is_empty() { Ok(()) } else { write!(f, " {}", $unit) }
            }
        }
    };
}

quantity!(
    /// Temperature on the Celsius scale.
    Celsius, "degC"
);
quantity!(
    /// Difference of two temperatures, in Celsius degrees (kelvins): converts without the offset.
    CelsiusDifference, "K"
);
quantity!(
    /// Depth of water, a total.
    Millimetres, "mm"
);
quantity!(
    /// Depth of water a day, a rate.
    MillimetresPerDay, "mm/d"
);
quantity!(
    /// Radiant energy on a surface in a day.
    MegajoulesPerSquareMetreDay, "MJ/m2/d"
);
quantity!(
    /// Daily light integral: photosynthetic photons on a surface in a day.
    MolPerSquareMetreDay, "mol/m2/d"
);
quantity!(
    /// Length, height or depth of soil.
    Metres, "m"
);
quantity!(
    /// Wind speed.
    MetresPerSecond, "m/s"
);
quantity!(
    /// Vapour pressure or air pressure.
    Kilopascals, "kPa"
);
quantity!(
    /// Share of a whole, 0 to 1.
    Fraction, ""
);
quantity!(
    /// Share of a whole, 0 to 100.
    Percent, "%"
);
quantity!(
    /// Electrical conductivity, the measure of salinity.
    DecisiemensPerMetre, "dS/m"
);
quantity!(
    /// Angle in degrees: latitude north positive, longitude east positive, or steepness.
    Degrees, "deg"
);
quantity!(
    /// Mass spread on land.
    KilogramsPerHectare, "kg/ha"
);
quantity!(
    /// Area of ground.
    SquareMetres, "m2"
);
quantity!(
    /// Hours, as of daylight or direct sun in a day.
    Hours, "h"
);

impl Celsius {
    /// From degrees Fahrenheit: C = (F - 32) 5/9.
    #[must_use]
    pub fn from_fahrenheit(f: f64) -> Self {
        Self((f - factors::FAHRENHEIT_AT_ZERO_CELSIUS) * factors::KELVIN_PER_FAHRENHEIT_DEGREE)
    }

    /// In degrees Fahrenheit.
    #[must_use]
    pub fn fahrenheit(self) -> f64 {
        self.0 / factors::KELVIN_PER_FAHRENHEIT_DEGREE + factors::FAHRENHEIT_AT_ZERO_CELSIUS
    }

    /// In kelvins.
    #[must_use]
    pub fn kelvin(self) -> f64 {
        self.0 + factors::KELVIN_AT_ZERO_CELSIUS
    }
}

impl std::ops::Sub for Celsius {
    type Output = CelsiusDifference;
    fn sub(self, other: Self) -> CelsiusDifference {
        CelsiusDifference(self.0 - other.0)
    }
}

impl std::ops::Add<CelsiusDifference> for Celsius {
    type Output = Self;
    fn add(self, difference: CelsiusDifference) -> Self {
        Self(self.0 + difference.0)
    }
}

impl CelsiusDifference {
    /// From Fahrenheit degrees of difference: no offset of 32.
    #[must_use]
    pub fn from_fahrenheit_degrees(f: f64) -> Self {
        Self(f * factors::KELVIN_PER_FAHRENHEIT_DEGREE)
    }

    /// In Fahrenheit degrees of difference.
    #[must_use]
    pub fn fahrenheit_degrees(self) -> f64 {
        self.0 / factors::KELVIN_PER_FAHRENHEIT_DEGREE
    }
}

impl Millimetres {
    /// From inches.
    #[must_use]
    pub fn from_inches(inches: f64) -> Self {
        Self(inches * factors::INCH_MM)
    }

    /// In inches.
    #[must_use]
    pub fn inches(self) -> f64 {
        self.0 / factors::INCH_MM
    }

    /// Volume in litres of this depth over an area; 1 mm on 1 m2 is 1 l.
    #[must_use]
    pub fn litres_over(self, area: SquareMetres) -> f64 {
        self.0 * area.0
    }
}

impl MillimetresPerDay {
    /// The total over a number of days.
    #[must_use]
    pub fn over_days(self, days: f64) -> Millimetres {
        Millimetres(self.0 * days)
    }
}

impl MegajoulesPerSquareMetreDay {
    /// From a mean irradiance in watts a square metre over the whole day.
    #[must_use]
    pub fn from_mean_watts(watts: f64) -> Self {
        Self(watts * factors::MJ_M2_D_PER_W_M2)
    }

    /// From kilowatt hours a square metre a day.
    #[must_use]
    pub fn from_kwh(kwh: f64) -> Self {
        Self(kwh * factors::MJ_PER_KWH)
    }
}

impl MolPerSquareMetreDay {
    /// From a constant photon flux in micromoles a square metre a second, held for some hours.
    #[must_use]
    pub fn from_ppfd(micromol_m2_s: f64, hours: Hours) -> Self {
        Self(micromol_m2_s * hours.0 * 3600.0 / 1.0e6)
    }
}

impl Metres {
    /// From feet.
    #[must_use]
    pub fn from_feet(feet: f64) -> Self {
        Self(feet * factors::FOOT_M)
    }

    /// In feet.
    #[must_use]
    pub fn feet(self) -> f64 {
        self.0 / factors::FOOT_M
    }

    /// From centimetres, as soil and mowing depths are stated.
    #[must_use]
    pub fn from_centimetres(cm: f64) -> Self {
        Self(cm / 100.0)
    }
}

impl MetresPerSecond {
    /// From kilometres an hour.
    #[must_use]
    pub fn from_km_h(v: f64) -> Self {
        Self(v * factors::M_S_PER_KM_H)
    }

    /// From a wind run in kilometres a day.
    #[must_use]
    pub fn from_km_d(v: f64) -> Self {
        Self(v * factors::M_S_PER_KM_D)
    }

    /// From miles an hour.
    #[must_use]
    pub fn from_mph(v: f64) -> Self {
        Self(v * factors::M_S_PER_MPH)
    }

    /// From knots.
    #[must_use]
    pub fn from_knots(v: f64) -> Self {
        Self(v * factors::M_S_PER_KNOT)
    }
}

impl Kilopascals {
    /// From hectopascals (millibars).
    #[must_use]
    pub fn from_hectopascals(v: f64) -> Self {
        Self(v * factors::KPA_PER_HPA)
    }
}

impl Fraction {
    /// As a percentage.
    #[must_use]
    pub fn percent(self) -> Percent {
        Percent(self.0 * 100.0)
    }
}

impl Percent {
    /// As a fraction of one.
    #[must_use]
    pub fn fraction(self) -> Fraction {
        Fraction(self.0 / 100.0)
    }
}

impl Degrees {
    /// In radians.
    #[must_use]
    pub fn radians(self) -> f64 {
        self.0.to_radians()
    }

    /// Steepness of a slope stated as rise over run in percent.
    #[must_use]
    pub fn from_slope_percent(percent: f64) -> Self {
        Self((percent / 100.0).atan().to_degrees())
    }
}

impl KilogramsPerHectare {
    /// From pounds a thousand square feet.
    #[must_use]
    pub fn from_lb_per_1000_ft2(v: f64) -> Self {
        Self(v * factors::KG_HA_PER_LB_1000_FT2)
    }

    /// In pounds a thousand square feet.
    #[must_use]
    pub fn lb_per_1000_ft2(self) -> f64 {
        self.0 / factors::KG_HA_PER_LB_1000_FT2
    }

    /// From pounds an acre.
    #[must_use]
    pub fn from_lb_per_acre(v: f64) -> Self {
        Self(v * factors::KG_HA_PER_LB_ACRE)
    }
}

impl SquareMetres {
    /// From square feet.
    #[must_use]
    pub fn from_square_feet(v: f64) -> Self {
        Self(v * factors::FT2_M2)
    }

    /// In square feet.
    #[must_use]
    pub fn square_feet(self) -> f64 {
        self.0 / factors::FT2_M2
    }

    /// From acres.
    #[must_use]
    pub fn from_acres(v: f64) -> Self {
        Self(v * factors::ACRE_M2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
    }

    #[test]
    fn fixed_points_of_the_two_scales() {
        near(Celsius::from_fahrenheit(212.0).0, 100.0, 1e-12);
        near(Celsius::from_fahrenheit(-40.0).0, -40.0, 1e-12);
        near(Celsius(37.0).fahrenheit(), 98.6, 1e-12);
        near(CelsiusDifference::from_fahrenheit_degrees(9.0).0, 5.0, 1e-12);
    }

    #[test]
    fn trade_units_meet_their_known_ratios() {
        // 1 lb/1000 ft2 = 48.824 kg/ha and 1 lb/acre = 1.1209 kg/ha: computed from the definitions.
        near(KilogramsPerHectare::from_lb_per_1000_ft2(1.0).0, 48.824, 5e-4);
        near(KilogramsPerHectare::from_lb_per_acre(1.0).0, 1.1209, 5e-5);
        near(Millimetres::from_inches(1.0).0, 25.4, 0.0);
        near(SquareMetres::from_acres(1.0).0, 4_046.856_422_4, 1e-6);
        near(Metres::from_feet(10.0).0, 3.048, 1e-12);
        near(MetresPerSecond::from_mph(10.0).0, 4.4704, 1e-12);
    }

    #[test]
    fn ppfd_constant_day() {
        // Unit identity 86 400 s / 10^6, computed.
        near(MolPerSquareMetreDay::from_ppfd(1.0, Hours(24.0)).0, 0.0864, 1e-12);
    }

    #[test]
    fn slopes_in_percent_become_degrees() {
        near(Degrees::from_slope_percent(100.0).0, 45.0, 1e-12);
        near(Degrees::from_slope_percent(100.0 / 3.0).0, 18.43, 5e-3);
    }

    #[test]
    fn display_names_the_unit() {
        assert_eq!(format!("{:.1}", Celsius(3.25)), "3.2 degC");
        assert_eq!(Fraction(0.5).to_string(), "0.5");
    }
}
