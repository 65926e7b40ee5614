//! What trees, walls and the time of day leave of the light in the open: a set of assumptions, each named at
//! its constant. Measured light always goes before them.

use super::photons::{diffuse_share, monthly_dli};
use crate::site::slope::{middle_of, sun_heights};
use crate::site::solar::{Monthly, monthly_day_length};
use crate::units::quantity::{Degrees, Hours, MegajoulesPerSquareMetreDay};

/// Leaf habit of the trees over the turf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Canopy {
    /// In leaf while the mean temperature of the month is 10 degC or more.
    Deciduous,
    /// In leaf all year.
    Evergreen,
}

/// Time of day of the hours of direct sun.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SunTiming {
    /// Not known: the mean of midday hours and hours at one end of the day.
    #[default]
    Unknown,
    /// Round noon.
    Midday,
    /// From sunrise, or up to sunset.
    MorningOrEvening,
}

/// What is known of the light on the turf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Exposure {
    /// Open sky.
    Open,
    /// Hours of direct sun a day near midsummer, and when in the day.
    SunHours(Hours, SunTiming),
    /// Share of the sky that crowns cover (0 to 1), and their leaf habit.
    Canopy(f64, Canopy),
    /// Mean height of what stands round the site above the horizon, degrees: sky lower than that is
    /// hidden.
    Horizon(Degrees),
    /// Measured DLI at the turf, mol m-2 d-1, by month.
    Measured(Monthly),
}

/// Light that a deciduous crown in leaf lets through: 0.12. From memory: closed crowns of broadleaf
/// trees pass about 5 to 25 % of sunlight, less of its photosynthetic part.
pub const CROWN_IN_LEAF: f64 = 0.12;

/// Light that an evergreen crown lets through: 0.07. From memory: dense conifers and broadleaf
/// evergreens pass about 2 to 10 %.
pub const CROWN_EVERGREEN: f64 = 0.07;

/// Share of its light that a gap loses to the crowns about it, when cover is nearly whole (common
/// practice): low sun does not reach the ground through a narrow gap.
pub const GAP_LOSS: f64 = 0.5;

/// Light that a bare deciduous crown lets through: 0.6. From memory: twigs and stems take 20 to
/// 60 %.
pub const CROWN_BARE: f64 = 0.60;

/// Mean temperature of a month from which deciduous trees count as in leaf, degC (common practice).
pub const LEAF_MONTH_C: f64 = 10.0;

/// Share of the sky that a site with hardly an hour of sun still sees (common practice); the rest
/// grows with its hours of sun.
pub const SKY_VIEW_FLOOR: f64 = 0.3;

/// Share of the day's direct light that falls in `hours` of sun out of a day of `daylight` hours.
///
/// The beam on the level follows a half sine from sunrise to sunset (common practice), so hours
/// round noon hold sin(pi h / 2N) of it and hours at one end (1 - cos(pi h / N)) / 2. It depends on
/// the clock time of the obstruction, hence [`SunTiming`].
#[must_use]
pub fn beam_share(hours: Hours, daylight: Hours, timing: SunTiming) -> f64 {
    if daylight.0 <= 0.0 {
        return 0.0;
    }
    let part = (hours.0 / daylight.0).clamp(0.0, 1.0);
    let midday = (std::f64::consts::FRAC_PI_2 * part).sin();
    let end = 0.5 * (1.0 - (std::f64::consts::PI * part).cos());
    match timing {
        SunTiming::Midday => midday,
        SunTiming::MorningOrEvening => end,
        SunTiming::Unknown => 0.5 * (midday + end),
    }
}

/// The climate that light at the turf depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenLight {
    /// Latitude, north positive.
    pub latitude: Degrees,
    /// Solar radiation by month, MJ m-2 d-1.
    pub solar_mj_m2_d: Monthly,
    /// Extraterrestrial radiation by month, MJ m-2 d-1.
    pub extraterrestrial_mj_m2_d: Monthly,
    /// Mean air temperature by month, degC.
    pub mean_c: Monthly,
    /// Radiation on the slope over that on the level, 1 on the level.
    pub sun_ratio: Monthly,
}

/// Light at the turf, by month.
#[derive(Debug, Clone, PartialEq)]
pub struct TurfLight {
    /// DLI at the turf, mol m-2 d-1.
    pub dli: Monthly,
    /// DLI in the open, mol m-2 d-1.
    pub open_dli: Monthly,
    /// Share of the open DLI that reaches the turf.
    pub share: Monthly,
    /// What was assumed, in one line; empty where light was measured or the sky is open.
    pub assumption: &'static str,
}

/// Light at the turf from the climate and the exposure.
///
/// Hours of sun count as a part of the longest day and keep that part all year: a wall that leaves
/// a third of a summer day is taken to leave a third of a winter day (common practice; low winter
/// sun often makes it less). Diffuse light reaches the turf as the share of sky in view, which is
/// taken to grow from [`SKY_VIEW_FLOOR`] to 1 with the part of the day in sun. Under a canopy,
/// light is what the open part of the sky and the crowns let through.
#[must_use]
pub fn light_at_turf(open: &OpenLight, exposure: &Exposure) -> TurfLight {
    let level = monthly_dli(&open.solar_mj_m2_d);
    let open_dli = std::array::from_fn(|month| level[month] * open.sun_ratio[month]);
    if let Exposure::Measured(dli) = exposure {
        let share =
            std::array::from_fn(
                |m| {
                    if open_dli[m] > 0.0 { (dli[m] / open_dli[m]).clamp(0.0, 1.0) } else { 0.0 }
                },
            );
        return TurfLight { dli: *dli, open_dli, share, assumption: "" };
    }
    let (share, assumption) = match exposure {
        Exposure::Canopy(cover, canopy) => (
            canopy_share(*cover, *canopy, &open.mean_c),
            "evergreen crowns let 7 % of the light through, deciduous ones 12 % in leaf (from 10 °C) and 60 % bare; gaps lose up to half to the crowns about them",
        ),
        Exposure::SunHours(hours, timing) => (
            sun_hours_share(open, *hours, *timing),
            "sun hours taken as the same part of every day of the year",
        ),
        Exposure::Horizon(height) => {
            (horizon_share(open, *height), "sun and an even sky both cut off below that height, all round")
        }
        Exposure::Open | Exposure::Measured(_) => ([1.0; 12], ""),
    };
    let dli = std::array::from_fn(|m| open_dli[m] * share[m]);
    TurfLight { dli, open_dli, share, assumption }
}

fn canopy_share(cover: f64, canopy: Canopy, mean_c: &Monthly) -> Monthly {
    let cover = cover.clamp(0.0, 1.0);
    mean_c.map(|t| {
        let (through, loss) = match canopy {
            Canopy::Evergreen => (CROWN_EVERGREEN, GAP_LOSS),
            Canopy::Deciduous if t < LEAF_MONTH_C => (CROWN_BARE, GAP_LOSS * (1.0 - CROWN_BARE)),
            Canopy::Deciduous => (CROWN_IN_LEAF, GAP_LOSS),
        };
        (1.0 - cover) * (1.0 - loss * cover) + cover * through
    })
}

fn sun_hours_share(open: &OpenLight, hours: Hours, timing: SunTiming) -> Monthly {
    let longest = monthly_day_length(open.latitude).into_iter().fold(0.0, f64::max);
    let beam = beam_share(hours, Hours(longest), timing);
    let part = if longest > 0.0 { (hours.0 / longest).clamp(0.0, 1.0) } else { 0.0 };
    let sky = SKY_VIEW_FLOOR + (1.0 - SKY_VIEW_FLOOR) * part;
    std::array::from_fn(|m| {
        let diffuse = diffuse_share(
            MegajoulesPerSquareMetreDay(open.solar_mj_m2_d[m]),
            MegajoulesPerSquareMetreDay(open.extraterrestrial_mj_m2_d[m]),
        );
        diffuse * sky + (1.0 - diffuse) * beam
    })
}

/// Share of an even sky that a level place sees over a horizon raised all round to a height:
/// cos^2 h, the integral of sin e cos e over the heights e from h to 90 degrees, against that from 0.
#[must_use]
pub fn sky_view(horizon: Degrees) -> f64 {
    horizon.radians().cos().powi(2)
}

/// Share of a day's beam on the level, outside the air, that comes from above a height.
#[must_use]
pub fn beam_above(latitude: Degrees, day_of_year: u16, horizon: Degrees) -> f64 {
    let limit = horizon.radians().sin();
    let (above, all) = sun_heights(latitude, day_of_year).fold((0.0, 0.0), |(above, all), (_, height)| {
        (above + if height >= limit { height } else { 0.0 }, all + height)
    });
    if all > 0.0 { above / all } else { 0.0 }
}

fn horizon_share(open: &OpenLight, horizon: Degrees) -> Monthly {
    let sky = sky_view(horizon);
    std::array::from_fn(|m| {
        let diffuse = diffuse_share(
            MegajoulesPerSquareMetreDay(open.solar_mj_m2_d[m]),
            MegajoulesPerSquareMetreDay(open.extraterrestrial_mj_m2_d[m]),
        );
        diffuse * sky + (1.0 - diffuse) * beam_above(open.latitude, middle_of(m), horizon)
    })
}

/// Mean of the months for which `counts` holds, such as the growing season; `None` where none does.
#[must_use]
pub fn mean_over_months(values: &Monthly, counts: impl Fn(usize) -> bool) -> Option<f64> {
    let (mut sum, mut months) = (0.0, 0_u8);
    for (month, value) in values.iter().enumerate() {
        if counts(month) {
            sum += value;
            months += 1;
        }
    }
    (months > 0).then(|| sum / f64::from(months))
}

#[cfg(test)]
mod tests {
    use super::super::photons::{MICROMOL_PER_J_PAR, PAR_SHARE};
    use super::super::shade_class::{ShadeClass, shade_class};
    use super::*;
    use crate::site::solar::monthly_extraterrestrial;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
    }

    /// An invented place at 38 N, half of the extraterrestrial radiation reaching the ground.
    fn invented() -> OpenLight {
        let ra = monthly_extraterrestrial(Degrees(38.0));
        OpenLight {
            latitude: Degrees(38.0),
            solar_mj_m2_d: ra.map(|r| 0.5 * r),
            extraterrestrial_mj_m2_d: ra,
            mean_c: [1.0, 3.0, 8.0, 13.0, 18.0, 23.0, 26.0, 25.0, 21.0, 14.0, 8.0, 3.0],
            sun_ratio: [1.0; 12],
        }
    }

    /// Hodges et al. 2016, Crop Science 56:2818 (two-year means, Mississippi): under cloth of 30, 55
    /// and 80 % they measured more than what its name leaves of 42.26 mol (31.92, 22.04 and 13.48).
    /// A measurement therefore stands as it is, and its class follows from what was measured.
    #[test]
    fn hodges_2016_shade_cloth() {
        let mut open = invented();
        open.solar_mj_m2_d = [42.26 / (PAR_SHARE * MICROMOL_PER_J_PAR); 12];
        for (named, measured, class) in [
            (0.30, 31.92, ShadeClass::FullSun),
            (0.55, 22.04, ShadeClass::PartShade),
            (0.80, 13.48, ShadeClass::Shade),
        ] {
            let light = light_at_turf(&open, &Exposure::Measured([measured; 12]));
            near(light.open_dli[0], 42.26, 1e-9);
            assert!(light.dli[0] > 42.26 * (1.0 - named));
            near(light.share[0], measured / 42.26, 1e-9);
            assert_eq!(shade_class(light.share[0]), Some(class));
        }
    }

    /// Regression of what is common practice: no hour of sun leaves 0.3 of the diffuse light, and the
    /// classes change at 0.65, 0.35 and 0.20 of the open light.
    #[test]
    fn regression_of_assumptions() {
        let none = light_at_turf(&invented(), &Exposure::SunHours(Hours(0.0), SunTiming::Unknown));
        near(none.share[6], 0.3 * 0.435, 1e-9);
        let limits = [0.65, 0.649, 0.35, 0.349, 0.20, 0.199].map(shade_class);
        use ShadeClass::{DenseShade, FullSun, PartShade, Shade};
        assert_eq!(limits, [FullSun, PartShade, PartShade, Shade, Shade, DenseShade].map(Some));
        let bare = Exposure::Canopy(1.0, Canopy::Deciduous);
        let mut open = invented();
        open.mean_c = [9.99, 10.0, 10.05, 10.0, 10.0, 10.0, 10.0, 10.0, 10.0, 10.0, 10.0, 10.0];
        let share = light_at_turf(&open, &bare).share;
        assert_eq!((share[0], share[1]), (CROWN_BARE, CROWN_IN_LEAF));
    }

    /// Plain geometry: an even sky over 45 degrees is half of all, and at the equator on the day when
    /// the sun passes overhead the beam from above 30 degrees is cos 30 of the day's.
    #[test]
    fn a_raised_horizon_hides_sky_and_sun() {
        near(sky_view(Degrees(45.0)), 0.5, 1e-12);
        near(beam_above(Degrees(0.0), 81, Degrees(30.0)), 30_f64.to_radians().cos(), 1e-9);
        let mut last = [f64::INFINITY; 12];
        for height in 0..=80 {
            let light = light_at_turf(&invented(), &Exposure::Horizon(Degrees(f64::from(height))));
            assert!(light.share.iter().zip(&last).all(|(now, before)| *now <= before + 1e-12), "{height}");
            last = light.share;
        }
        let open = light_at_turf(&invented(), &Exposure::Horizon(Degrees(0.0)));
        open.share.iter().for_each(|share| near(*share, 1.0, 1e-12));
        let yard = light_at_turf(&invented(), &Exposure::Horizon(Degrees(40.0)));
        assert!(yard.share[11] < 0.5 * yard.share[5], "winter suffers most: {:?}", yard.share);
    }

    #[test]
    fn eight_six_four_and_one_hours_fall_in_the_classes_of_their_words() {
        let class = |hours| {
            let light = light_at_turf(&invented(), &Exposure::SunHours(Hours(hours), SunTiming::Unknown));
            shade_class(mean_over_months(&light.share, |m| (3..10).contains(&m)).unwrap())
        };
        assert_eq!(class(8.5), Some(ShadeClass::FullSun));
        assert_eq!(class(6.0), Some(ShadeClass::PartShade));
        assert_eq!(class(4.0), Some(ShadeClass::PartShade));
        assert_eq!(class(2.5), Some(ShadeClass::Shade));
        assert_eq!(class(0.5), Some(ShadeClass::DenseShade));
    }

    #[test]
    fn more_sun_hours_never_mean_less_light() {
        for timing in [SunTiming::Unknown, SunTiming::Midday, SunTiming::MorningOrEvening] {
            let mut last = [0.0; 12];
            for half in 0..48 {
                let exposure = Exposure::SunHours(Hours(f64::from(half) / 2.0), timing);
                let light = light_at_turf(&invented(), &exposure);
                assert!(light.dli.iter().zip(&last).all(|(now, before)| *now >= *before - 1e-12));
                last = light.dli;
            }
            let open = light_at_turf(&invented(), &Exposure::Open).dli;
            for (now, all) in last.iter().zip(open) {
                near(*now, all, 1e-9);
            }
        }
    }

    #[test]
    fn leafless_months_count_under_deciduous_trees() {
        let light = |c| light_at_turf(&invented(), &Exposure::Canopy(0.8, c));
        let (bare, green) = (light(Canopy::Deciduous), light(Canopy::Evergreen));
        near(bare.share[0], 0.2 * (1.0 - 0.8 * 0.2) + 0.8 * 0.60, 1e-12);
        near(bare.share[6], 0.2 * (1.0 - 0.8 * 0.5) + 0.8 * 0.12, 1e-12);
        near(green.share[0], 0.2 * (1.0 - 0.8 * 0.5) + 0.8 * 0.07, 1e-12);
    }

    #[test]
    fn measured_light_is_taken_as_it_is() {
        let light = light_at_turf(&invented(), &Exposure::Measured([9.0; 12]));
        assert_eq!(light.dli, [9.0; 12]);
        assert_eq!(light.assumption, "");
    }
}
