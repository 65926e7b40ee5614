//! Reference evapotranspiration of clipped grass, ET0.
//!
//! Source of every equation here, unless it says otherwise: Allen, Pereira, Raes & Smith, FAO
//! Irrigation and Drainage Paper 56, "Crop evapotranspiration", 1998, chapters 2 to 4; equation
//! numbers are those of that edition.

use crate::units::quantity::{
    Celsius, CelsiusDifference, Kilopascals, MegajoulesPerSquareMetreDay, Metres, MetresPerSecond,
    MillimetresPerDay, Percent,
};

/// Albedo of the reference grass (equation 38).
pub const ALBEDO: f64 = 0.23;

/// Stefan-Boltzmann constant, MJ K-4 m-2 d-1 (equation 39).
pub const STEFAN_BOLTZMANN_MJ_K4_M2_D: f64 = 4.903e-9;

/// Depth of water evaporated by a unit of energy, mm per MJ m-2 (equation 20: 1 / 2.45).
pub const MM_PER_MJ: f64 = 0.408;

/// Kelvin reading of zero Celsius as equation 39 writes it.
const FAO_KELVIN_OFFSET: f64 = 273.16;

/// Atmospheric pressure, equation 7: P = 101.3 ((293 - 0.0065 z) / 293)^5.26, z in m.
#[must_use]
pub fn pressure(elevation: Metres) -> Kilopascals {
    Kilopascals(101.3 * ((293.0 - 0.0065 * elevation.0) / 293.0).powf(5.26))
}

/// Psychrometric constant in kPa/K, equation 8: gamma = 0.665e-3 P.
#[must_use]
pub fn psychrometric_constant(pressure: Kilopascals) -> f64 {
    0.665e-3 * pressure.0
}

/// Saturation vapour pressure, equation 11: e0 = 0.6108 exp(17.27 T / (T + 237.3)).
#[must_use]
pub fn saturation_vapour_pressure(t: Celsius) -> Kilopascals {
    Kilopascals(0.6108 * (17.27 * t.0 / (t.0 + 237.3)).exp())
}

/// Mean saturation vapour pressure, equation 12: the mean of e0 at the daily maximum and minimum
/// (e0 at the mean temperature would be too low).
#[must_use]
pub fn mean_saturation_vapour_pressure(tmax: Celsius, tmin: Celsius) -> Kilopascals {
    let (high, low) = (saturation_vapour_pressure(tmax), saturation_vapour_pressure(tmin));
    Kilopascals(0.5 * (high.0 + low.0))
}

/// Slope of the saturation curve in kPa/K, equation 13: Delta = 4098 e0(T) / (T + 237.3)^2.
#[must_use]
pub fn saturation_slope(t: Celsius) -> f64 {
    4098.0 * saturation_vapour_pressure(t).0 / (t.0 + 237.3).powi(2)
}

/// Actual vapour pressure from the mean relative humidity, equation 19.
#[must_use]
pub fn actual_from_rh_mean(tmax: Celsius, tmin: Celsius, rh_mean: Percent) -> Kilopascals {
    Kilopascals(mean_saturation_vapour_pressure(tmax, tmin).0 * rh_mean.0 / 100.0)
}

/// Actual vapour pressure where humidity is not known, equation 48: e0 at a dew point taken as
/// the daily minimum less `depression` (0 where the air comes near saturation at night; FAO-56
/// lets 2 to 3 K be taken off in dry climates).
#[must_use]
pub fn actual_from_tmin(tmin: Celsius, depression: CelsiusDifference) -> Kilopascals {
    saturation_vapour_pressure(Celsius(tmin.0 - depression.0))
}

/// Wind speed at 2 m, equation 47: u2 = u 4.87 / ln(67.8 z - 5.42), z the height of measurement.
///
/// A height at or below 0.1 m has no logarithm to speak of and gives NaN.
#[must_use]
pub fn wind_at_2m(wind: MetresPerSecond, height: Metres) -> MetresPerSecond {
    if height.0 <= 0.1 {
        return MetresPerSecond(f64::NAN);
    }
    MetresPerSecond(wind.0 * 4.87 / (67.8 * height.0 - 5.42).ln())
}

/// Net shortwave radiation, equation 38: Rns = (1 - 0.23) Rs.
#[must_use]
pub fn net_shortwave(rs: MegajoulesPerSquareMetreDay) -> MegajoulesPerSquareMetreDay {
    MegajoulesPerSquareMetreDay((1.0 - ALBEDO) * rs.0)
}

/// Net outgoing longwave radiation, equation 39: Rnl = sigma ((Tmax,K^4 + Tmin,K^4) / 2)
/// (0.34 - 0.14 sqrt(ea)) (1.35 Rs/Rso - 0.35), with Rs/Rso not above 1.
///
/// Departure: Rs/Rso is also held at or above 0.3, below which the cloud factor nears zero (a
/// limit of the ASCE-EWRI standardization of 2005, from memory; FAO-56 gives only the upper one),
/// and a day without any clear-sky radiation takes the middle of that range.
#[must_use]
pub fn net_longwave(
    tmax: Celsius,
    tmin: Celsius,
    ea: Kilopascals,
    rs: MegajoulesPerSquareMetreDay,
    rso: MegajoulesPerSquareMetreDay,
) -> MegajoulesPerSquareMetreDay {
    let ratio = if rso.0 > 0.0 { (rs.0 / rso.0).clamp(0.3, 1.0) } else { 0.65 };
    let fourth = |t: Celsius| (t.0 + FAO_KELVIN_OFFSET).powi(4);
    let black_body = STEFAN_BOLTZMANN_MJ_K4_M2_D * 0.5 * (fourth(tmax) + fourth(tmin));
    let humidity = 0.34 - 0.14 * ea.0.max(0.0).sqrt();
    MegajoulesPerSquareMetreDay(black_body * humidity * (1.35 * ratio - 0.35))
}

/// Soil heat flux of a month from the means of the months before and after, equation 43:
/// G = 0.07 (T(i+1) - T(i-1)).
#[must_use]
pub fn monthly_soil_heat(previous: Celsius, next: Celsius) -> MegajoulesPerSquareMetreDay {
    MegajoulesPerSquareMetreDay(0.07 * (next.0 - previous.0))
}

/// What the Penman-Monteith equation needs for one day, or one mean day of a month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PenmanMonteith {
    /// Mean daily maximum of air temperature at 1.5 to 2.5 m.
    pub tmax: Celsius,
    /// Mean daily minimum of air temperature.
    pub tmin: Celsius,
    /// Actual vapour pressure.
    pub ea: Kilopascals,
    /// Net radiation Rn = Rns - Rnl (equation 40).
    pub rn: MegajoulesPerSquareMetreDay,
    /// Soil heat flux, zero for a day (equation 42).
    pub g: MegajoulesPerSquareMetreDay,
    /// Wind speed at 2 m.
    pub u2: MetresPerSecond,
    /// Height above sea level.
    pub elevation: Metres,
}

/// ET0 by FAO Penman-Monteith, equation 6:
/// ET0 = (0.408 Delta (Rn - G) + gamma 900/(T + 273) u2 (es - ea))
/// / (Delta + gamma (1 + 0.34 u2)), T the mean of Tmax and Tmin. Not below zero.
#[must_use]
pub fn penman_monteith(day: &PenmanMonteith) -> MillimetresPerDay {
    let mean = Celsius(0.5 * (day.tmax.0 + day.tmin.0));
    let slope = saturation_slope(mean);
    let gamma = psychrometric_constant(pressure(day.elevation));
    // A vapour pressure above saturation can come from rounded inputs: no negative drying power.
    let deficit = (mean_saturation_vapour_pressure(day.tmax, day.tmin).0 - day.ea.0).max(0.0);
    let radiation = MM_PER_MJ * slope * (day.rn.0 - day.g.0);
    let drying = gamma * 900.0 / (mean.0 + 273.0) * day.u2.0 * deficit;
    let et0 = (radiation + drying) / (slope + gamma * (1.0 + 0.34 * day.u2.0));
    MillimetresPerDay(et0.max(0.0))
}

/// ET0 by Hargreaves and Samani (1985), as FAO-56 equation 52:
/// ET0 = 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) 0.408 Ra. Not below zero.
///
/// FAO-56 asks for it to be checked against Penman-Monteith locally: it tends to be low in wind
/// and high in damp air.
#[must_use]
pub fn hargreaves_samani(tmax: Celsius, tmin: Celsius, ra: MegajoulesPerSquareMetreDay) -> MillimetresPerDay {
    let mean = 0.5 * (tmax.0 + tmin.0);
    let range = (tmax.0 - tmin.0).max(0.0);
    MillimetresPerDay((0.0023 * (mean + 17.8) * range.sqrt() * MM_PER_MJ * ra.0).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::solar::{
        clear_sky_radiation, day_length, declination_rad, extraterrestrial_radiation, solar_from_sunshine,
        solar_from_temperature,
    };
    use crate::units::quantity::{Degrees, Hours};

    const MJ: fn(f64) -> MegajoulesPerSquareMetreDay = MegajoulesPerSquareMetreDay;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
    }

    // The printed values of FAO-56's examples below were read in open test suites that quote the
    // paper, except where a test says that a figure is from memory or computed. Each is held to half
    // of its last printed digit.

    #[test]
    fn fao56_example_2_pressure_and_psychrometric_constant() {
        let p = pressure(Metres(1800.0));
        near(p.0, 81.8, 0.05);
        near(psychrometric_constant(p), 0.054, 5e-4);
    }

    #[test]
    fn fao56_example_3_saturation_vapour_pressure() {
        near(saturation_vapour_pressure(Celsius(24.5)).0, 3.075, 5e-4);
        near(saturation_vapour_pressure(Celsius(15.0)).0, 1.705, 5e-4);
        near(mean_saturation_vapour_pressure(Celsius(24.5), Celsius(15.0)).0, 2.39, 5e-3);
    }

    /// Its vapour pressure by psychrometer is a form that nothing here uses.
    #[test]
    fn fao56_example_4_pressure_and_wet_bulb() {
        near(pressure(Metres(1200.0)).0, 87.9, 0.05);
        near(saturation_vapour_pressure(Celsius(19.5)).0, 2.267, 5e-4);
    }

    /// By the mean of the relative humidity; the forms by its extremes are not used here.
    #[test]
    fn fao56_example_5_vapour_pressure_from_humidity() {
        let (tmax, tmin) = (Celsius(25.0), Celsius(18.0));
        near(saturation_vapour_pressure(tmin).0, 2.064, 5e-4);
        near(saturation_vapour_pressure(tmax).0, 3.168, 5e-4);
        near(actual_from_rh_mean(tmax, tmin, Percent(68.0)).0, 1.78, 5e-3);
    }

    #[test]
    fn fao56_example_11_net_longwave() {
        let rnl = net_longwave(Celsius(25.1), Celsius(19.1), Kilopascals(2.1), MJ(14.5), MJ(18.8));
        near(rnl.0, 3.5, 0.05);
    }

    #[test]
    fn fao56_example_13_soil_heat_of_a_month() {
        let g = monthly_soil_heat(Celsius(14.1), Celsius(18.8));
        near(g.0, 0.33, 5e-3);
        near(g.0 * MM_PER_MJ, 0.13, 5e-3);
    }

    #[test]
    fn fao56_example_14_wind_at_2_m() {
        near(wind_at_2m(MetresPerSecond(3.2), Metres(10.0)).0, 2.4, 0.05);
        assert!(wind_at_2m(MetresPerSecond(3.2), Metres(0.0)).0.is_nan());
    }

    /// Bangkok in April. The paper goes on from the pressure as printed, 101.3 kPa, and from soil heat of
    /// 0.14 MJ by the month before alone (equation 44), which nothing here uses.
    #[test]
    fn fao56_example_17_penman_monteith_for_a_month() {
        let (lat, z, j) = (Degrees(13.7333), Metres(2.0), 105);
        let (tmax, tmin, ea) = (Celsius(34.8), Celsius(25.6), Kilopascals(2.85));
        let ra = extraterrestrial_radiation(lat, j);
        near(ra.0, 38.06, 5e-3);
        let rs = solar_from_sunshine(ra, Hours(8.5), day_length(lat, j));
        near(rs.0, 22.65, 5e-3);
        let rnl = net_longwave(tmax, tmin, ea, rs, clear_sky_radiation(ra, z));
        let rn = MJ(net_shortwave(rs).0 - rnl.0);
        near(saturation_slope(Celsius(30.2)), 0.246, 5e-4);
        near(pressure(z).0, 101.3, 0.05);
        near(psychrometric_constant(Kilopascals(101.3)), 0.0674, 5e-5);
        near(mean_saturation_vapour_pressure(tmax, tmin).0, 4.42, 5e-3);
        near(rn.0, 14.33, 5e-3);
        let u2 = MetresPerSecond(2.0);
        let day = PenmanMonteith { tmax, tmin, ea, rn, g: MJ(0.14), u2, elevation: z };
        near(penman_monteith(&day).0, 5.72, 5e-3);
    }

    /// Uccle on 6 July, from the printed vapour pressure of 1.409 kPa: the paper has it from the extremes
    /// of relative humidity (equation 17), which nothing here uses.
    #[test]
    fn fao56_example_18_penman_monteith_for_a_day() {
        let (lat, z, j) = (Degrees(50.8), Metres(100.0), 187);
        let (tmax, tmin) = (Celsius(21.5), Celsius(12.3));
        let ea = Kilopascals(1.409);
        near(mean_saturation_vapour_pressure(tmax, tmin).0, 1.997, 5e-4);
        let u2 = wind_at_2m(MetresPerSecond::from_km_h(10.0), Metres(10.0));
        near(u2.0, 2.078, 5e-4);
        near(saturation_slope(Celsius(16.9)), 0.122, 5e-4);
        near(psychrometric_constant(pressure(z)), 0.0666, 5e-5);
        let ra = extraterrestrial_radiation(lat, j);
        let rs = solar_from_sunshine(ra, Hours(9.25), day_length(lat, j));
        let rnl = net_longwave(tmax, tmin, ea, rs, clear_sky_radiation(ra, z));
        let rn = MJ(net_shortwave(rs).0 - rnl.0);
        near(rn.0, 13.28, 5e-3);
        let day = PenmanMonteith { tmax, tmin, ea, rn, g: MJ(0.0), u2, elevation: z };
        near(penman_monteith(&day).0, 3.88, 5e-3);
    }

    /// July near Lyon, soil heat left out as in the paper. The 5.0 mm/d by equation 52 are from memory and
    /// agree with the arithmetic.
    #[test]
    fn fao56_example_20_missing_data() {
        let (lat, z, j) = (Degrees(45.7167), Metres(200.0), 196);
        let (tmax, tmin) = (Celsius(26.6), Celsius(14.8));
        let ea = actual_from_tmin(tmin, CelsiusDifference(0.0));
        near(ea.0, 1.68, 5e-3);
        let ra = extraterrestrial_radiation(lat, j);
        near(ra.0, 40.55, 5e-3);
        let rso = clear_sky_radiation(ra, z);
        let rs = solar_from_temperature(ra, tmax - tmin, 0.16, rso);
        near(rs.0, 22.29, 5e-3);
        let rn = MJ(net_shortwave(rs).0 - net_longwave(tmax, tmin, ea, rs, rso).0);
        let u2 = MetresPerSecond(2.0);
        let day = PenmanMonteith { tmax, tmin, ea, rn, g: MJ(0.0), u2, elevation: z };
        near(penman_monteith(&day).0, 4.56, 5e-3);
        near(hargreaves_samani(tmax, tmin, ra).0, 5.0, 0.05);
    }

    /// Check values computed from equation 52 in plain arithmetic by others; the one figure that the paper prints
    /// for it, with example 20, is tested above.
    #[test]
    fn hargreaves_samani_computed_values() {
        for (lat, j, tmax, tmin, radiation, et0) in [
            (40.0, 15, 5.0, -5.0, 15.011, 0.793),
            (40.0, 196, 32.0, 18.0, 40.799, 6.131),
            (33.0, 196, 38.0, 24.0, 40.712, 6.976),
            (35.0, 105, 22.0, 9.0, 35.885, 4.043),
            (47.0, 196, 28.0, 14.0, 40.465, 5.513),
        ] {
            let ra = extraterrestrial_radiation(Degrees(lat), j);
            near(ra.0, radiation, 5e-4);
            near(hargreaves_samani(Celsius(tmax), Celsius(tmin), ra).0, et0, 5e-4);
        }
    }

    /// Lyon in the middle of July, computed with the function `hargreaves` of the Python package pyet 1.5.0,
    /// whose latent heat varies with the temperature: 0.0024 mm below the constant 0.408 of FAO-56, wherefore
    /// the tolerance is wider than the digits.
    #[test]
    fn hargreaves_samani_of_pyet_computed() {
        let ra = extraterrestrial_radiation(Degrees(45.7167), 196);
        near(hargreaves_samani(Celsius(26.6), Celsius(14.8), ra).0, 5.0307, 3e-3);
    }

    /// Station day at Fallon, Nevada, 1 July 2015, with the forms of the ASCE-EWRI Standardized Reference
    /// Evapotranspiration Equation, 2005; inputs and printed values were read in the tests of the Python
    /// package refet. Its clear-sky radiation (by humidity), its
    /// sunset angle (by another declination) and its tall crop are not ours.
    #[test]
    fn asce_ewri_fallon_day_printed_values() {
        let (lat, z, j) = (Degrees(39.4575), Metres(1208.5), 182);
        let (tmax, tmin) = (Celsius(39.3333), Celsius(19.25));
        near(pressure(z).0, 87.8071, 5e-5);
        near(mean_saturation_vapour_pressure(tmax, tmin).0, 4.67472, 5e-5);
        near(wind_at_2m(MetresPerSecond(2.145_792), Metres(3.0)).0, 1.97611, 5e-6);
        near(declination_rad(j), 0.402952, 5e-7);
        near(extraterrestrial_radiation(lat, j).0, 41.6482, 5e-5);
    }

    /// The same day: 7.998 mm for the short crop was computed with refet 0.5.0. The standard's own form
    /// has 4.901e-9 and 2503 where FAO-56 has 4.903e-9 and 4098 times 0.6108, wherefore the tolerance is
    /// wider than the digits.
    #[test]
    fn asce_ewri_fallon_day_short_crop_computed() {
        let (lat, z) = (Degrees(39.4575), Metres(1208.5));
        let (tmax, tmin, ea) = (Celsius(39.3333), Celsius(19.25), Kilopascals(1.220_667_42));
        let u2 = wind_at_2m(MetresPerSecond(2.145_792), Metres(3.0));
        let rs = MJ(28.221_96);
        let rnl =
            net_longwave(tmax, tmin, ea, rs, clear_sky_radiation(extraterrestrial_radiation(lat, 182), z));
        let rn = MJ(net_shortwave(rs).0 - rnl.0);
        let day = PenmanMonteith { tmax, tmin, ea, rn, g: MJ(0.0), u2, elevation: z };
        near(penman_monteith(&day).0, 7.998, 1e-3);
    }

    /// Uccle on 6 July with the radiation and humidity of FAO-56 example 18: 3.8798 mm for the short
    /// crop was computed with refet 0.5.0, by the constants that the test above names.
    #[test]
    fn asce_ewri_uccle_day_short_crop_computed() {
        let (lat, z) = (Degrees(50.8), Metres(100.0));
        let (tmax, tmin, ea, rs) = (Celsius(21.5), Celsius(12.3), Kilopascals(1.409), MJ(22.07));
        let u2 = wind_at_2m(MetresPerSecond(2.7778), Metres(10.0));
        let rnl =
            net_longwave(tmax, tmin, ea, rs, clear_sky_radiation(extraterrestrial_radiation(lat, 187), z));
        let rn = MJ(net_shortwave(rs).0 - rnl.0);
        let day = PenmanMonteith { tmax, tmin, ea, rn, g: MJ(0.0), u2, elevation: z };
        near(penman_monteith(&day).0, 3.8798, 1e-3);
    }

    /// Regression checks: the inputs of examples 2, 3, 11, 13, 14 and 17 to more digits than the paper
    /// prints, computed apart from this code from the equations as documented above, so that a constant
    /// that is off by one per cent shows.
    #[test]
    fn regression_more_digits_of_the_fao56_examples() {
        let cold = pressure(Metres(1800.0));
        near(cold.0, 81.7558, 5e-5);
        near(psychrometric_constant(cold), 0.054_367_6, 5e-8);
        near(saturation_vapour_pressure(Celsius(24.5)).0, 3.074_65, 5e-6);
        near(saturation_vapour_pressure(Celsius(15.0)).0, 1.705_35, 5e-6);
        let rnl = net_longwave(Celsius(25.1), Celsius(19.1), Kilopascals(2.1), MJ(14.5), MJ(18.8));
        near(rnl.0, 3.534_035, 5e-7);
        // black body of 37.2863 MJ by 0.137121 for the humidity; the cloud factor by the limits of Rs/Rso
        for (rs, rso, cloud) in [(20.0, 18.0, 1.0), (1.0, 18.0, 0.055), (5.0, 0.0, 0.5275)] {
            let rnl = net_longwave(Celsius(25.1), Celsius(19.1), Kilopascals(2.1), MJ(rs), MJ(rso));
            near(rnl.0, 5.112724 * cloud, 5e-6);
        }
        near(monthly_soil_heat(Celsius(14.1), Celsius(18.8)).0, 0.329, 1e-9);
        near(wind_at_2m(MetresPerSecond(3.2), Metres(10.0)).0, 2.393_443, 5e-7);
        near(saturation_slope(Celsius(30.2)), 0.245_800, 5e-7);
        let (tmax, tmin, ea) = (Celsius(34.8), Celsius(25.6), Kilopascals(2.85));
        let (u2, elevation) = (MetresPerSecond(2.0), Metres(2.0));
        let day = PenmanMonteith { tmax, tmin, ea, rn: MJ(14.33), g: MJ(0.14), u2, elevation };
        near(penman_monteith(&day).0, 5.715_380, 5e-7);
    }
}
