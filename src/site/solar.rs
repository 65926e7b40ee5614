//! Sun geometry and solar radiation on a level, open surface, day by day and month by month.
//!
//! Source of every equation here, unless it says otherwise: Allen, Pereira, Raes & Smith, FAO
//! Irrigation and Drainage Paper 56, "Crop evapotranspiration", 1998, chapter 3.
//!
//! Valid range: the daily equations hold at all latitudes in that the sunset angle is held to its
//! limits where the sun does not set or does not rise; FAO-56 warns that above 55 degrees in
//! winter the light is so low that the relations to sunshine and temperature mean little.

use std::cell::Cell;
use std::f64::consts::PI;

use crate::units::quantity::{CelsiusDifference, Degrees, Hours, MegajoulesPerSquareMetreDay, Metres};

/// Twelve values, January first.
pub type Monthly = [f64; 12];

/// Days of each month of a common year; 29 February is left out of every yearly course here.
pub const DAYS_IN_MONTH: [u16; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Solar constant Gsc, MJ m-2 min-1 (FAO-56 equation 21).
pub const SOLAR_CONSTANT_MJ_M2_MIN: f64 = 0.0820;

/// kRs of equation 50 for places away from large water, degC^-0.5 (FAO-56, text of equation 50).
pub const KRS_INTERIOR: f64 = 0.16;

/// kRs of equation 50 on or near the coast of a large water, degC^-0.5 (FAO-56, same place).
pub const KRS_COASTAL: f64 = 0.19;

/// Angstrom coefficient a_s where none was calibrated (FAO-56 equation 35).
pub const ANGSTROM_A: f64 = 0.25;

/// Angstrom coefficient b_s where none was calibrated (FAO-56 equation 35).
pub const ANGSTROM_B: f64 = 0.50;

/// First day of the year (1 to 365) of a month counted from 0, in a common year.
#[must_use]
pub fn first_day_of_month(month: usize) -> u16 {
    1 + DAYS_IN_MONTH.iter().take(month).sum::<u16>()
}

/// Inverse relative distance of earth and sun, FAO-56 equation 23:
/// dr = 1 + 0.033 cos(2 pi J / 365), J the day of the year, 1 to 366.
#[must_use]
pub fn inverse_relative_distance(day_of_year: u16) -> f64 {
    1.0 + 0.033 * (2.0 * PI / 365.0 * f64::from(day_of_year)).cos()
}

/// Solar declination in radians, FAO-56 equation 24:
/// delta = 0.409 sin(2 pi J / 365 - 1.39), J the day of the year, 1 to 366.
#[must_use]
pub fn declination_rad(day_of_year: u16) -> f64 {
    0.409 * (2.0 * PI / 365.0 * f64::from(day_of_year) - 1.39).sin()
}

/// Sunset hour angle in radians, FAO-56 equation 25: `omega_s` = arccos(-tan phi tan delta).
///
/// Departure: held to 0 and pi where the argument leaves -1 to 1 (polar night and polar day),
/// which FAO-56 does not treat.
#[must_use]
pub fn sunset_hour_angle_rad(latitude: Degrees, day_of_year: u16) -> f64 {
    let argument = -latitude.radians().tan() * declination_rad(day_of_year).tan();
    argument.clamp(-1.0, 1.0).acos()
}

/// Extraterrestrial radiation on a level surface for a day, FAO-56 equation 21:
/// Ra = (24 * 60 / pi) Gsc dr (`omega_s` sin phi sin delta + cos phi cos delta sin `omega_s`).
///
/// Never below zero. `latitude` in degrees, -90 to 90, south negative.
#[must_use]
pub fn extraterrestrial_radiation(latitude: Degrees, day_of_year: u16) -> MegajoulesPerSquareMetreDay {
    let phi = latitude.radians();
    let delta = declination_rad(day_of_year);
    let omega = sunset_hour_angle_rad(latitude, day_of_year);
    let geometry = omega * phi.sin() * delta.sin() + phi.cos() * delta.cos() * omega.sin();
    let ra = 24.0 * 60.0 / PI * SOLAR_CONSTANT_MJ_M2_MIN * inverse_relative_distance(day_of_year) * geometry;
    MegajoulesPerSquareMetreDay(ra.max(0.0))
}

/// Daylight hours, FAO-56 equation 34: N = 24 `omega_s` / pi.
#[must_use]
pub fn day_length(latitude: Degrees, day_of_year: u16) -> Hours {
    Hours(24.0 / PI * sunset_hour_angle_rad(latitude, day_of_year))
}

/// Clear-sky solar radiation, FAO-56 equation 37: Rso = (0.75 + 2e-5 z) Ra, z the elevation in m.
#[must_use]
pub fn clear_sky_radiation(
    ra: MegajoulesPerSquareMetreDay,
    elevation: Metres,
) -> MegajoulesPerSquareMetreDay {
    MegajoulesPerSquareMetreDay((0.75 + 2.0e-5 * elevation.0) * ra.0)
}

/// Solar radiation from sunshine, FAO-56 equation 35: Rs = (a + b n / N) Ra with a = 0.25,
/// b = 0.50. A day without daylight gives zero.
#[must_use]
pub fn solar_from_sunshine(
    ra: MegajoulesPerSquareMetreDay,
    sunshine: Hours,
    daylight: Hours,
) -> MegajoulesPerSquareMetreDay {
    if daylight.0 <= 0.0 {
        return MegajoulesPerSquareMetreDay(0.0);
    }
    let share = (sunshine.0 / daylight.0).clamp(0.0, 1.0);
    MegajoulesPerSquareMetreDay((ANGSTROM_A + ANGSTROM_B * share) * ra.0)
}

/// Solar radiation from the daily range of temperature, FAO-56 equation 50:
/// Rs = kRs sqrt(Tmax - Tmin) Ra, not above clear-sky radiation.
///
/// `krs` is [`KRS_INTERIOR`] or [`KRS_COASTAL`]. A range below zero counts as zero. The limit at
/// Rso is FAO-56's own remark on the estimate. Not for small islands (FAO-56 equation 51 there).
#[must_use]
pub fn solar_from_temperature(
    ra: MegajoulesPerSquareMetreDay,
    range: CelsiusDifference,
    krs: f64,
    clear_sky: MegajoulesPerSquareMetreDay,
) -> MegajoulesPerSquareMetreDay {
    let estimate = krs * range.0.max(0.0).sqrt() * ra.0;
    MegajoulesPerSquareMetreDay(estimate.min(clear_sky.0))
}

/// Mean of a daily quantity over each month of a common year.
fn monthly_mean(daily: impl Fn(u16) -> f64) -> Monthly {
    let mut day = 0;
    DAYS_IN_MONTH.map(|days| {
        let sum: f64 = (1..=days).map(|offset| daily(day + offset)).sum();
        day += days;
        sum / f64::from(days)
    })
}

/// Monthly means of extraterrestrial radiation, MJ m-2 d-1: the mean over all days of the month,
/// which differs from FAO-56's mid-month day by up to some tenths where the season turns fast.
#[must_use]
pub fn monthly_extraterrestrial(latitude: Degrees) -> Monthly {
    thread_local! {
        /// One site asks for its own latitude again and again, with each input that is tried.
        static LATEST: Cell<(u64, Monthly)> = const { Cell::new((u64::MAX, [f64::NAN; 12])) };
    }
    let asked = latitude.0.to_bits();
    let (known, months) = LATEST.get();
    if known == asked {
        return months;
    }
    let months = monthly_mean(|day| extraterrestrial_radiation(latitude, day).0);
    LATEST.set((asked, months));
    months
}

/// Monthly means of daylight, hours a day: the mean over all days of the month.
#[must_use]
pub fn monthly_day_length(latitude: Degrees) -> Monthly {
    monthly_mean(|day| day_length(latitude, day).0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
    }

    /// FAO-56 example 8 (3 September at 20 S); printed values read in an open test suite that
    /// quotes the paper, but 13.1 mm which is 0.408 times the printed 32.2.
    #[test]
    fn fao56_example_8_extraterrestrial_radiation() {
        let (south20, j) = (Degrees(-20.0), 246);
        near(inverse_relative_distance(j), 0.985, 5e-4);
        near(declination_rad(j), 0.120, 5e-4);
        near(sunset_hour_angle_rad(south20, j), 1.527, 1e-3);
        near(extraterrestrial_radiation(south20, j).0, 32.2, 0.05);
        near(0.408 * extraterrestrial_radiation(south20, j).0, 13.1, 0.05);
    }

    /// FAO-56 example 9, printed value read as above.
    #[test]
    fn fao56_example_9_daylight() {
        near(day_length(Degrees(-20.0), 246).0, 11.7, 0.05);
    }

    /// FAO-56 example 10, printed value read as above.
    #[test]
    fn fao56_example_10_solar_radiation_from_sunshine() {
        let rs = solar_from_sunshine(MegajoulesPerSquareMetreDay(25.1), Hours(7.1), Hours(10.9));
        near(rs.0, 14.45, 0.01);
    }

    /// FAO-56 example 15, printed value read as above.
    #[test]
    fn fao56_example_15_solar_radiation_from_temperature() {
        let ra = MegajoulesPerSquareMetreDay(40.6);
        let rso = clear_sky_radiation(ra, Metres(200.0));
        let rs = solar_from_temperature(ra, CelsiusDifference(26.6 - 14.8), KRS_INTERIOR, rso);
        near(rs.0, 22.3, 0.05);
    }

    /// Regression checks, computed from equations 37 and 50: at 4000 m, where the height counts, and for
    /// example 15 as if it lay on a coast.
    #[test]
    fn regression_clear_sky_by_height_and_the_coast() {
        near(clear_sky_radiation(MegajoulesPerSquareMetreDay(40.0), Metres(4000.0)).0, 33.2, 1e-9);
        let (ra, range) = (MegajoulesPerSquareMetreDay(40.6), CelsiusDifference(11.8));
        let rs = solar_from_temperature(ra, range, KRS_COASTAL, MegajoulesPerSquareMetreDay(40.0));
        near(rs.0, 26.4985, 5e-5);
    }

    /// FAO-56 example 18 (6 July, Uccle), printed values read as above.
    #[test]
    fn fao56_example_18_radiation_parts() {
        let (uccle, j) = (Degrees(50.8), 187);
        let ra = extraterrestrial_radiation(uccle, j);
        near(ra.0, 41.09, 0.01);
        let n = day_length(uccle, j);
        near(n.0, 16.1, 0.05);
        near(solar_from_sunshine(ra, Hours(9.25), n).0, 22.07, 0.01);
        near(clear_sky_radiation(ra, Metres(100.0)).0, 30.90, 0.01);
    }

    /// Six check values computed from equations 21-25 and 34 in plain arithmetic by others.
    #[test]
    fn computed_radiation_and_daylight() {
        for (lat, j, ra, n) in [
            (40.0, 15, 15.011, 9.4659),
            (40.0, 196, 40.799, 14.5682),
            (35.0, 15, 18.076, 9.8975),
            (35.0, 172, 41.631, 14.3557),
            (0.0, 80, 37.824, 12.0),
            (60.0, 172, 41.331, 18.4873),
        ] {
            near(extraterrestrial_radiation(Degrees(lat), j).0, ra, 1e-3);
            near(day_length(Degrees(lat), j).0, n, 1e-3);
        }
    }

    /// Extraterrestrial radiation at Tucson, monthly means of a typical-year file (NREL TMY3,
    /// 722745): January 20.26, which that file's finer sun position puts 0 to 4 % higher.
    #[test]
    fn monthly_means_lie_close_under_a_typical_year_file() {
        let ours = monthly_extraterrestrial(Degrees(32.17))[0];
        assert!((0.96 * 20.26..=20.26).contains(&ours), "{ours}");
    }

    #[test]
    fn polar_day_and_night() {
        near(day_length(Degrees(80.0), 172).0, 24.0, 1e-9);
        near(extraterrestrial_radiation(Degrees(80.0), 355).0, 0.0, 1e-9);
    }

    #[test]
    fn months_begin_where_the_calendar_says() {
        assert_eq!(first_day_of_month(0), 1);
        assert_eq!(first_day_of_month(11), 335);
    }
}
