//! Conversion factors, the only place where a number of another unit system is written.
//!
//! The exact ones rest on the international yard and pound (1 yd = 0.9144 m and
//! 1 lb = 0.453 592 37 kg, both by definition); the rest is arithmetic on them.

/// Millimetres in an inch, exact by definition.
pub const INCH_MM: f64 = 25.4;

/// Metres in an inch, exact by definition.
pub const INCH_M: f64 = INCH_MM / 1000.0;

/// Metres in a foot, exact by definition.
pub const FOOT_M: f64 = 0.3048;

/// Metres in a mile (5280 ft), exact by definition.
pub const MILE_M: f64 = 5280.0 * FOOT_M;

/// Kilograms in an avoirdupois pound, exact by definition.
pub const POUND_KG: f64 = 0.453_592_37;

/// Grams in an avoirdupois ounce (a sixteenth of a pound), exact by definition.
pub const OUNCE_G: f64 = POUND_KG * 1000.0 / 16.0;

/// Square metres in a square foot, exact.
pub const FT2_M2: f64 = FOOT_M * FOOT_M;

/// Square metres in a thousand square feet, the unit of area of the United States turf trade.
pub const FT2_1000_M2: f64 = FT2_M2 * 1000.0;

/// Square metres in an acre (43 560 square feet of international feet), exact.
pub const ACRE_M2: f64 = FT2_M2 * 43_560.0;

/// Square metres in a hectare.
pub const HECTARE_M2: f64 = 10_000.0;

/// Litres in a United States liquid gallon (231 cubic inches), exact by definition.
pub const GALLON_L: f64 = 3.785_411_784;

/// Kilograms a hectare in one pound a thousand square feet (48.824...).
pub const KG_HA_PER_LB_1000_FT2: f64 = POUND_KG / FT2_1000_M2 * HECTARE_M2;

/// Kilograms a hectare in one pound an acre (1.1208...).
pub const KG_HA_PER_LB_ACRE: f64 = POUND_KG / ACRE_M2 * HECTARE_M2;

/// Kelvins in one Fahrenheit degree, as a difference of temperature.
pub const KELVIN_PER_FAHRENHEIT_DEGREE: f64 = 5.0 / 9.0;

/// Fahrenheit reading of the Celsius zero.
pub const FAHRENHEIT_AT_ZERO_CELSIUS: f64 = 32.0;

/// Kelvin reading of the Celsius zero. FAO-56 equation 39 rounds it to 273.16;
/// that rounding lives with the equation, not here.
pub const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

/// Seconds in a day.
pub const DAY_S: f64 = 86_400.0;

/// Megajoules in a kilowatt hour, exact.
pub const MJ_PER_KWH: f64 = 3.6;

/// Megajoules a square metre a day in a mean of one watt a square metre.
pub const MJ_M2_D_PER_W_M2: f64 = DAY_S / 1.0e6;

/// Metres a second in one kilometre an hour.
pub const M_S_PER_KM_H: f64 = 1.0 / 3.6;

/// Metres a second in one kilometre of wind run a day.
pub const M_S_PER_KM_D: f64 = 1000.0 / DAY_S;

/// Metres a second in one mile an hour.
pub const M_S_PER_MPH: f64 = MILE_M / 3600.0;

/// Metres a second in one knot (1852 m an hour), exact by definition.
pub const M_S_PER_KNOT: f64 = 1852.0 / 3600.0;

/// Kilopascals in one millibar (hectopascal), exact.
pub const KPA_PER_HPA: f64 = 0.1;

/// Days in the mean year of the Julian calendar, which the Gregorian one meets within 0.01.
pub const YEAR_D: f64 = 365.25;

/// Days in the mean month: a twelfth of [`YEAR_D`].
pub const MONTH_D: f64 = YEAR_D / 12.0;
