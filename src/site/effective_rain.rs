//! The part of rain that the plants of a month can use.
//!
//! By the storage form of the Soil Conservation Service, which is not to be mixed with its simplified form
//! (without crop use or storage) or with rules for single events.

use crate::units::quantity::Millimetres;

/// Storage factor of the SCS method: SF = 0.531747 + 0.295164 D - 0.057697 D^2 + 0.003804 D^3, D
/// the net depth of application (usable soil storage) in inches.
///
/// Source: USDA-SCS Technical Release 21 (1970) as in USDA-NRCS National Engineering Handbook, Part
/// 623, chapter 2 (1993), equation 2-85; coefficients read in two public codes. Held to the range
/// of D from 0.75 to 5 in that the check values cover: the cubic turns beyond it.
#[must_use]
pub fn scs_storage_factor(net_depth: Millimetres) -> f64 {
    let d = net_depth.inches().clamp(0.75, 5.0);
    0.531_747 + d * (0.295_164 + d * (-0.057_697 + d * 0.003_804))
}

/// Monthly effective rain by the SCS method before its limits: Pe = SF (0.70917 P^0.82416 -
/// 0.11556) 10^(0.02426 `ETc`), P and `ETc` in inches a month.
///
/// Source: as [`scs_storage_factor`], equation 2-84. The exponent acts on P alone.
#[must_use]
pub fn scs_uncapped(rain: Millimetres, etc: Millimetres, net_depth: Millimetres) -> Millimetres {
    let rain_part = 0.709_17 * rain.inches().max(0.0).powf(0.824_16) - 0.115_56;
    let use_part = 10.0_f64.powf(0.024_26 * etc.inches());
    Millimetres::from_inches(scs_storage_factor(net_depth) * rain_part * use_part)
}

/// Monthly effective rain by the SCS method: [`scs_uncapped`], not below zero and not above the
/// month's rain or its crop evapotranspiration (the limits the handbook sets).
#[must_use]
pub fn scs_monthly(rain: Millimetres, etc: Millimetres, net_depth: Millimetres) -> Millimetres {
    let limit = rain.0.max(0.0).min(etc.0.max(0.0));
    Millimetres(scs_uncapped(rain, etc, net_depth).0.clamp(0.0, limit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
    }

    const INCH: fn(f64) -> Millimetres = Millimetres::from_inches;

    /// Values computed; SF(3.0) = 1.000674 read. No worked example of the source was read.
    #[test]
    fn scs_storage_factor_computed() {
        for (d, sf) in [
            (0.75, 0.7223),
            (1.0, 0.7730),
            (1.5, 0.8575),
            (2.0, 0.9217),
            (2.5, 0.9685),
            (3.0, 1.0007),
            (4.0, 1.0327),
            (5.0, 1.0406),
        ] {
            near(scs_storage_factor(INCH(d)), sf, 5e-5);
        }
        near(scs_storage_factor(INCH(3.0)), 1.000_674, 5e-7);
        // beyond the table's ends the factor stands still
        near(scs_storage_factor(INCH(6.0)), scs_storage_factor(INCH(5.0)), 1e-12);
        near(scs_storage_factor(INCH(5.04)), scs_storage_factor(INCH(5.0)), 1e-12);
        near(scs_storage_factor(INCH(5.0)), 1.040_642, 5e-7);
    }

    /// Values computed from NEH 623-2 equation 2-84 for 3 inches of storage, no worked example of which was read;
    /// rows of (rain, crop use, formula, with limits), inches.
    #[test]
    fn scs_monthly_computed() {
        for (p, et, formula, capped) in [
            (0.5, 2.0, 0.319, 0.319),
            (0.5, 4.0, 0.357, 0.357),
            (0.5, 6.0, 0.399, 0.399),
            (0.5, 8.0, 0.446, 0.446),
            (1.0, 2.0, 0.664, 0.664),
            (1.0, 4.0, 0.743, 0.743),
            (1.0, 6.0, 0.831, 0.831),
            (1.0, 8.0, 0.929, 0.929),
            (2.0, 2.0, 1.276, 1.276),
            (2.0, 4.0, 1.426, 1.426),
            (2.0, 6.0, 1.595, 1.595),
            (2.0, 8.0, 1.784, 1.784),
            (3.0, 2.0, 1.833, 1.833),
            (3.0, 4.0, 2.05, 2.05),
            (3.0, 6.0, 2.292, 2.292),
            (3.0, 8.0, 2.563, 2.563),
            (4.0, 2.0, 2.358, 2.0),
            (4.0, 4.0, 2.637, 2.637),
            (4.0, 6.0, 2.949, 2.949),
            (4.0, 8.0, 3.297, 3.297),
            (5.0, 2.0, 2.86, 2.0),
            (5.0, 4.0, 3.198, 3.198),
            (5.0, 6.0, 3.577, 3.577),
            (5.0, 8.0, 3.999, 3.999),
        ] {
            near(scs_uncapped(INCH(p), INCH(et), INCH(3.0)).inches(), formula, 5e-4);
            near(scs_monthly(INCH(p), INCH(et), INCH(3.0)).inches(), capped, 5e-4);
        }
    }

    /// Values computed with the inch form from millimetres.
    #[test]
    fn scs_in_millimetres_computed() {
        let pe = |p, et| scs_monthly(Millimetres(p), Millimetres(et), INCH(3.0)).0;
        near(pe(50.0, 100.0), 35.587, 5e-4);
        near(pe(100.0, 150.0), 73.478, 5e-4);
    }

    /// FAO-24 (1977) table 34 from memory: 100 mm rain, 150 mm use, 75 mm storage give 74 mm, in
    /// whole millimetres; the equation is another fit to the same data, so within 1 mm.
    #[test]
    fn scs_agrees_with_the_table_of_fao_24() {
        near(scs_monthly(Millimetres(100.0), Millimetres(150.0), Millimetres(75.0)).0, 74.0, 1.0);
    }

    #[test]
    fn dry_months_have_no_effective_rain() {
        near(scs_monthly(Millimetres(0.0), Millimetres(120.0), Millimetres(75.0)).0, 0.0, 0.0);
        near(scs_monthly(Millimetres(40.0), Millimetres(0.0), Millimetres(75.0)).0, 0.0, 0.0);
    }
}
