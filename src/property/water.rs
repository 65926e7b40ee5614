//! Water by the Model Water Efficient Landscape Ordinance of California (California Code of Regulations,
//! Title 23, Division 2, Chapter 2.7, revision of 2015).
//!
//! Formulas, factors and efficiencies: Appendix B (Sample Water Efficient Landscape Worksheet) as adopted in
//! the Gridley municipal code; efficiencies also in the worksheet of the Ventura County ordinance code
//! (Appendix L3).

/// Gallons a square foot that an inch of water comes to: Appendix B, notes d and e.
pub const GALLONS_PER_INCH_FT2: f64 = 0.62;
/// Least efficiency that may be reckoned for overhead spray: Appendix B, note c.
pub const SPRAY_EFFICIENCY: f64 = 0.75;
/// The same for drip: Appendix B, note c.
pub const DRIP_EFFICIENCY: f64 = 0.81;
/// Allowed share of reference evapotranspiration (ETAF) around homes: Appendix B, note e.
pub const ETAF_RESIDENTIAL: f64 = 0.55;
/// The same elsewhere: Appendix B, note e.
pub const ETAF_OTHER: f64 = 0.45;

/// Maximum applied water allowance, gallons a year: `MAWA = ETo · 0.62 · (ETAF · LA + (1 - ETAF) · SLA)`,
/// Appendix B, note e. `eto_in`: reference evapotranspiration, inches a year; `landscape_ft2`: all planted
/// and watered area, the special included; `special_ft2`: special landscape area.
pub fn mawa_gal(eto_in: f64, etaf: f64, landscape_ft2: f64, special_ft2: f64) -> f64 {
    eto_in * GALLONS_PER_INCH_FT2 * (etaf * landscape_ft2 + (1.0 - etaf) * special_ft2)
}

/// Estimated total water use of one hydrozone, gallons a year: `ETWU = ETo · 0.62 · ETAF · area` with
/// `ETAF = PF / IE`, Appendix B, note d. `plant_factor`: share of ETo that the plants take (PF);
/// `efficiency`: of the irrigation (IE), above 0 to 1.
pub fn etwu_gal(eto_in: f64, plant_factor: f64, efficiency: f64, area_ft2: f64) -> f64 {
    eto_in * GALLONS_PER_INCH_FT2 * plant_factor / efficiency * area_ft2
}

/// The same of a special landscape area: all of ETo, whatever is planted, as the allowance grants it (ETAF
/// 1.0 in `ETWU = ETo · 0.62 · ETAF · area`). A local ordinance of 2009 (Ord. 375) writes it out:
/// `ETo · 0.62 · (PF · HA / IE + SLA)`.
pub fn etwu_special_gal(eto_in: f64, area_ft2: f64) -> f64 {
    etwu_gal(eto_in, 1.0, 1.0, area_ft2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The text of 2009, section 492.4, first example (Fresno): ETAF 0.7, printed by the City of Colton,
    /// ordinance O-008-14: 1,108,870 gallons.
    #[test]
    fn allowance_as_printed_in_2009() {
        assert!((mawa_gal(51.1, 0.7, 50_000.0, 0.0) - 1_108_870.0).abs() <= 0.5);
    }

    /// Section 492.4 of 2009, first example of ETWU, same print. The ordinance prints 1,102,116 gallons,
    /// which its own numbers (24,700 ft2 of plant factor times area, efficiency 0.71) miss by 61.
    #[test]
    fn use_as_printed_in_2009() {
        let zones = [(0.8, 7000.0), (0.7, 10_000.0), (0.5, 16_000.0), (0.3, 7000.0), (0.2, 10_000.0)];
        let weighted: f64 = zones.iter().map(|(factor, area)| factor * area).sum();
        assert!((weighted - 24_700.0).abs() < 0.5);
        let used: f64 = zones.iter().map(|(factor, area)| etwu_gal(51.1, *factor, 0.71, *area)).sum();
        assert!((used - 1_102_177.0).abs() <= 0.5, "{used}");
        assert!((used - 1_102_116.0).abs() <= 70.0, "{used}");
        assert!(used < mawa_gal(51.1, 0.7, 50_000.0, 0.0), "the example complies");
    }

    /// A worksheet of 2015's Appendix B as an applicant filled it in (2021; ETo 43.0 in), by its printed
    /// ratios: the special landscape area of 68 ft2 stands with 1,812.88 gallons, all with 34,330.48.
    #[test]
    fn special_area_as_in_a_filled_worksheet() {
        let special = etwu_special_gal(43.0, 68.0);
        assert!((special - 1812.88).abs() < 0.005, "{special}");
        let ratios: [(f64, f64, f64); 4] =
            [(0.5, 0.81, 0.617), (0.2, 0.81, 0.247), (0.8, 0.75, 1.067), (0.2, 0.81, 0.247)];
        assert!(ratios.iter().all(|(factor, efficiency, ratio)| (factor / efficiency - ratio).abs() < 5e-4));
        let areas = [204.0, 1310.0, 677.0, 194.0];
        let used = ratios.iter().zip(areas).map(|((_, _, ratio), area)| etwu_gal(43.0, *ratio, 1.0, area));
        let used: f64 = used.sum();
        assert!((used + special - 34_330.48).abs() < 0.005, "{used}");
    }

    /// Where special areas use just what they are granted, the others keep to the allowance on average.
    #[test]
    fn a_special_area_pays_for_no_other() {
        let (regular, special) = (1000.0, 400.0);
        let granted = mawa_gal(43.0, ETAF_RESIDENTIAL, regular + special, special);
        let others = granted - etwu_special_gal(43.0, special);
        assert!((others - etwu_gal(43.0, ETAF_RESIDENTIAL, 1.0, regular)).abs() < 1e-6);
    }

    /// Our own sums by the formulas of 2015: a check against change, not a figure that somebody printed.
    #[test]
    fn formulas_of_2015() {
        assert!((mawa_gal(43.5, ETAF_RESIDENTIAL, 2500.0, 0.0) - 37_083.75).abs() < 1e-6);
        assert!((mawa_gal(43.5, ETAF_OTHER, 2500.0, 0.0) - 30_341.25).abs() < 1e-6);
        // a special landscape area has all of ETo: 0.55 + 0.45
        assert!((mawa_gal(51.1, ETAF_RESIDENTIAL, 5000.0, 500.0) - 94_253.95).abs() < 1e-6);
        let zones = [(0.5, 0.81, 200.0), (0.2, 0.81, 1300.0), (0.8, 0.75, 700.0)];
        let used: f64 = zones.iter().map(|(factor, eff, area)| etwu_gal(43.0, *factor, *eff, *area)).sum();
        assert!((used - 31_755.02).abs() < 5e-3, "{used}");
    }
}
