//! Salt in the root zone: what it costs in growth, and the water it takes to leach it.

use crate::units::quantity::DecisiemensPerMetre;

/// Relative yield in percent by Maas and Hoffman: Yr = 100 - b (`ECe` - a) above the threshold a,
/// 100 below it, never under 0; b in percent per dS/m, `ECe` of the saturation extract.
///
/// Source: Maas & Hoffman 1977, Journal of the Irrigation and Drainage Division ASCE 103:115-134
/// (the form from memory). Thresholds and slopes are traits of species; those published are for
/// forage yield, not for the look of turf. `ECe` below zero counts as zero.
#[must_use]
pub fn relative_yield(
    ece: DecisiemensPerMetre,
    threshold: DecisiemensPerMetre,
    slope_pct_per_ds_m: f64,
) -> f64 {
    let excess = (ece.0.max(0.0) - threshold.0).max(0.0);
    (100.0 - slope_pct_per_ds_m * excess).clamp(0.0, 100.0)
}

/// Leaching requirement, the share of the applied water that must drain below the roots:
/// LR = `ECw` / (5 `ECe` - `ECw`), `ECw` of the irrigation water and `ECe` the salinity that the
/// plants stand.
///
/// Source: Rhoades 1974 as given in Ayers & Westcot 1985, FAO Irrigation and Drainage Paper 29
/// rev. 1, equation 9 (from memory; its figures are tested on a published example). `None` where the water is so salty that no leaching keeps the
/// soil at `ECe` (5 `ECe` not above 2 `ECw`, that is LR of 1 or more), or an input is negative.
#[must_use]
pub fn leaching_requirement(water: DecisiemensPerMetre, tolerated: DecisiemensPerMetre) -> Option<f64> {
    if !(water.0 >= 0.0 && tolerated.0 > 0.0) {
        return None;
    }
    let below = 5.0 * tolerated.0 - water.0;
    (below > water.0).then(|| water.0 / below)
}

/// Water to apply so that `need_mm` is left for the plants after leaching: AW = ET / (1 - LR)
/// (FAO 29 rev. 1, equation 7, from memory). `None` where LR is not in 0 to below 1.
#[must_use]
pub fn water_with_leaching(need_mm: f64, requirement: f64) -> Option<f64> {
    (0.0..1.0).contains(&requirement).then(|| need_mm / (1.0 - requirement))
}

/// Salinity of the saturation extract in the long run under irrigation water: `ECe` = 1.5 `ECw`,
/// at a leaching fraction of 15 to 20 % and a common pattern of water uptake (FAO 29 rev. 1,
/// guideline of table 1, from memory). Rain that leaches makes it less.
#[must_use]
pub fn soil_salinity_under(water: DecisiemensPerMetre) -> DecisiemensPerMetre {
    DecisiemensPerMetre(1.5 * water.0)
}

/// Salinity class of a soil by the EC of its saturation extract, in the terms of the Soil Survey
/// Manual (chapter 3, terms from memory; the limits 2, 4, 8 and 16 dS/m were read in a Canadian
/// soil survey attribute, which uses other words for them). `None` for NaN or a negative value.
#[must_use]
pub fn salinity_class(ece: DecisiemensPerMetre) -> Option<&'static str> {
    let class = match ece.0 {
        e if e.is_nan() || e < 0.0 => return None,
        e if e < 2.0 => "nonsaline",
        e if e < 4.0 => "very slightly saline",
        e if e < 8.0 => "slightly saline",
        e if e < 16.0 => "moderately saline",
        _ => "strongly saline",
    };
    Some(class)
}

#[cfg(test)]
mod tests {
    use super::*;

    const EC: fn(f64) -> DecisiemensPerMetre = DecisiemensPerMetre;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
    }

    /// Values computed; thresholds and slopes from memory.
    #[test]
    fn maas_hoffman_computed() {
        for (ece, threshold, slope, percent) in [
            (8.0, 3.9, 5.3, 78.27),
            (8.0, 5.6, 7.6, 81.76),
            (10.0, 6.9, 6.4, 80.16),
            (5.0, 6.9, 6.4, 100.0),
            (80.0, 3.9, 5.3, 0.0),
        ] {
            near(relative_yield(EC(ece), EC(threshold), slope), percent, 0.01);
        }
    }

    #[test]
    fn leaching_grows_with_the_salt_of_the_water() {
        // Computed: 2 / (5 * 4 - 2) = 1/9.
        near(leaching_requirement(EC(2.0), EC(4.0)).unwrap(), 1.0 / 9.0, 1e-12);
        near(leaching_requirement(EC(0.0), EC(4.0)).unwrap(), 0.0, 0.0);
        assert_eq!(leaching_requirement(EC(10.0), EC(4.0)), None);
        assert_eq!(leaching_requirement(EC(f64::NAN), EC(4.0)), None);
        near(water_with_leaching(80.0, 0.2).unwrap(), 100.0, 1e-12);
        assert_eq!(water_with_leaching(80.0, 1.0), None);
    }

    /// Asian Turfgrass Center, on a fairway of seashore paspalum: water of 10 dS/m and a soil of
    /// 12 dS/m that the grass stands give a leaching requirement of 0.2, so 125 % of the
    /// evapotranspiration is to be given.
    #[test]
    fn leaching_worked_example_of_the_asian_turfgrass_center() {
        let requirement = leaching_requirement(EC(10.0), EC(12.0)).unwrap();
        near(requirement, 0.2, 1e-12);
        near(water_with_leaching(100.0, requirement).unwrap(), 125.0, 1e-9);
    }

    #[test]
    fn classes() {
        assert_eq!(salinity_class(EC(1.9)), Some("nonsaline"));
        assert_eq!(salinity_class(EC(4.0)), Some("slightly saline"));
        assert_eq!(salinity_class(EC(-1.0)), None);
        // each limit belongs to the saltier class
        for (limit, below, from) in [
            (2.0, "nonsaline", "very slightly saline"),
            (4.0, "very slightly saline", "slightly saline"),
            (8.0, "slightly saline", "moderately saline"),
            (16.0, "moderately saline", "strongly saline"),
        ] {
            assert_eq!([limit - 0.001, limit].map(|ec| salinity_class(EC(ec))), [Some(below), Some(from)]);
        }
        near(soil_salinity_under(EC(2.0)).0, 3.0, 0.0);
    }
}
