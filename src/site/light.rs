//! Light on the turf: solar radiation to daily light integral, and what trees and walls leave of it.
//!
//! The daily light integral (DLI) is the photosynthetic photons a square metre receives in a day.
//! The step from radiation to photons rests on published factors; what an obstruction leaves is a
//! set of assumptions, each named at its constant. Measured light always goes before them.

use crate::units::quantity::{Degrees, Hours, MegajoulesPerSquareMetreDay, MolPerSquareMetreDay};

use super::solar::{Monthly, monthly_day_length};

/// Share of solar energy that is photosynthetically active, 400 to 700 nm. From memory, a value
/// common in models; 0.42 for full sun was read in a posting of Coombs et al. 1985 and 0.50 is the
/// default of the R package bigleaf, so a DLI from radiation is uncertain by a tenth.
pub const PAR_SHARE: f64 = 0.45;

/// Photons in the energy of sun and sky, umol per J of PAR (Thimijan & Heins 1983, HortScience
/// 18(6):818-822; read in a posting of their table).
pub const MICROMOL_PER_J_PAR: f64 = 4.57;

/// DLI from solar radiation: DLI = Rs * 0.45 * 4.57 = 2.0565 Rs, mol per MJ.
#[must_use]
pub fn dli_from_solar(rs: MegajoulesPerSquareMetreDay) -> MolPerSquareMetreDay {
    MolPerSquareMetreDay(rs.0 * PAR_SHARE * MICROMOL_PER_J_PAR)
}

/// DLI in the open of the twelve months from solar radiation, MJ m-2 d-1.
#[must_use]
pub fn monthly_dli(solar_mj_m2_d: &Monthly) -> Monthly {
    solar_mj_m2_d.map(|rs| dli_from_solar(MegajoulesPerSquareMetreDay(rs)).0)
}

/// Share of diffuse light in the global light of a month: D/H = 1.00 - 1.13 K, K = Rs/Ra (Page
/// 1961, from memory), held to 0.15 and 1.
#[must_use]
pub fn diffuse_share(rs: MegajoulesPerSquareMetreDay, ra: MegajoulesPerSquareMetreDay) -> f64 {
    if ra.0 <= 0.0 {
        return 1.0;
    }
    (1.0 - 1.13 * rs.0 / ra.0).clamp(0.15, 1.0)
}

/// Leaf habit of the trees over the turf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Canopy {
    /// In leaf while the mean temperature of the month is 10 degC or more.
    Deciduous,
    /// In leaf all year.
    Evergreen,
}

/// Depth of shade, as the plant literature counts it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShadeClass {
    /// Nothing of note stands in the way.
    FullSun,
    /// Half a day of sun.
    PartShade,
    /// Few hours of sun.
    Shade,
    /// Hardly any sun.
    DenseShade,
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

impl ShadeClass {
    /// The step of the scale `shade`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FullSun => "full-sun",
            Self::PartShade => "light-shade",
            Self::Shade => "moderate-shade",
            Self::DenseShade => "dense-shade",
        }
    }
}

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
    let open_dli = monthly_dli(&open.solar_mj_m2_d);
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

/// Class of shade by the share of open-sky DLI that reaches the turf: full sun from 0.65, part
/// shade from 0.35, shade from 0.20, dense shade below (common practice). The limits are set so
/// that eight hours of sun are full sun and four part shade at middle latitudes. `None` for NaN.
#[must_use]
pub fn shade_class(share: f64) -> Option<ShadeClass> {
    if share.is_nan() {
        return None;
    }
    Some(if share >= 0.65 {
        ShadeClass::FullSun
    } else if share >= 0.35 {
        ShadeClass::PartShade
    } else if share >= 0.20 {
        ShadeClass::Shade
    } else {
        ShadeClass::DenseShade
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
        }
    }

    /// Computed values: factor 2.0565 mol/MJ from 0.45 (from memory) and 4.57 (read).
    #[test]
    fn dli_from_radiation_computed() {
        for (rs, dli) in [(10.0, 20.565), (20.0, 41.13), (25.0, 51.413)] {
            near(dli_from_solar(MegajoulesPerSquareMetreDay(rs)).0, dli, 5e-3);
        }
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

    #[test]
    fn no_light_is_no_class() {
        assert_eq!(shade_class(f64::NAN), None);
    }
}
