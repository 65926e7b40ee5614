//! Plant hardiness zones, and the mean annual extreme minimum they rest on.

use std::fmt;
use std::str::FromStr;

use crate::units::quantity::{Celsius, CelsiusDifference};

use super::solar::Monthly;

/// Lower limit of half zone 1a, degrees Fahrenheit.
const LOWEST_F: f64 = -60.0;
/// Width of a half zone, Fahrenheit degrees.
const HALF_ZONE_F: f64 = 5.0;
/// Number of half zones, 1a to 13b.
const HALF_ZONES: u8 = 26;

/// A half zone of the USDA Plant Hardiness Zone Map of 2023: zones 1 to 13 of 10 F from -60 F,
/// each in halves `a` and `b` of 5 F, by the mean of the yearly lowest temperatures (1991-2020).
///
/// Zones order by warmth: 6b < 7a.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct HardinessZone(u8);

impl HardinessZone {
    /// The zone of a mean annual extreme minimum; `None` for NaN.
    ///
    /// Limits belong to the warmer half zone (0 F is 7a). They are multiples of 5 F exactly, not
    /// the rounded Celsius figures printed beside them on the map, so -17.8 degC (-0.04 F) is 6b.
    /// Below -60 F counts as 1a and from 70 F on as 13b, since the map knows no further zone.
    #[must_use]
    pub fn from_extreme_minimum(minimum: Celsius) -> Option<Self> {
        if minimum.0.is_nan() {
            return None;
        }
        // A limit converted to Celsius and back may come out a hair below itself.
        let halves = ((minimum.fahrenheit() - LOWEST_F) / HALF_ZONE_F + 1e-9).floor();
        let index = halves.clamp(0.0, f64::from(HALF_ZONES - 1));
        (0..HALF_ZONES).find(|i| f64::from(*i) >= index).map(Self)
    }

    /// All 26 half zones, coldest first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..HALF_ZONES).map(Self)
    }

    /// Position from 0 (1a) to 25 (13b), two for each whole zone.
    #[must_use]
    pub const fn index(self) -> u8 {
        self.0
    }

    /// Whole zone, 1 to 13.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0 / 2 + 1
    }

    /// Lower limit (included) and upper limit (excluded).
    #[must_use]
    pub fn limits(self) -> (Celsius, Celsius) {
        let low = LOWEST_F + HALF_ZONE_F * f64::from(self.0);
        (Celsius::from_fahrenheit(low), Celsius::from_fahrenheit(low + HALF_ZONE_F))
    }
}

impl fmt::Display for HardinessZone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.number(), if self.0.is_multiple_of(2) { 'a' } else { 'b' })
    }
}

/// Text that names no half zone.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a hardiness half zone: 1a to 13b are")]
pub struct NotAZone(pub String);

impl FromStr for HardinessZone {
    type Err = NotAZone;

    fn from_str(text: &str) -> Result<Self, NotAZone> {
        let lower = text.trim().to_ascii_lowercase();
        Self::all().find(|zone| zone.to_string() == lower).ok_or_else(|| NotAZone(text.to_owned()))
    }
}

/// A mean annual extreme minimum estimated from monthly means, with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExtremeMinimumEstimate {
    /// The estimate.
    pub minimum: Celsius,
    /// One standard error of prediction at places like those fitted.
    pub standard_error: CelsiusDifference,
    /// Whether the coldest month lies inside the range of the places fitted.
    pub within_fitted_range: bool,
}

/// Intercept of the fit, K.
const FIT_OFFSET: f64 = -10.56;
/// Slope of the fit.
const FIT_SLOPE: f64 = 0.434;
/// Coldest month below which the gap to the extreme no longer widens, degC.
const FIT_KNOT_C: f64 = -10.0;
/// Range of the mean minimum of the coldest month among the places fitted, degC.
const FIT_RANGE_C: (f64, f64) = (-17.1, 9.3);

/// Standard error at the places fitted, each left out in turn.
const ERROR_FITTED_K: f64 = 1.6;
/// Standard error where the coldest month is colder than at any of them: about that of the places left out.
const ERROR_COLDER_K: f64 = 3.0;
/// Standard error where it is milder: the root mean square error at Miami, Tampa and Brownsville, where the
/// estimate is too mild by 3.2, 4.1 and 4.1 K.
const ERROR_MILDER_K: f64 = 3.8;
/// Standard error at places unlike those fitted: the root mean square error on the ten that were left out.
const ERROR_ELSEWHERE_K: f64 = 2.9;
/// Where the places fitted lie: south, north, west and east, degrees (the interior, east and south of the
/// United States).
const FITTED_COUNTRY: [f64; 4] = [25.0, 49.5, -110.0, -66.0];

/// Whether a place, by latitude and longitude, lies among those that the estimate was fitted on.
#[must_use]
pub fn in_fitted_country((latitude, longitude): (f64, f64)) -> bool {
    let [south, north, west, east] = FITTED_COUNTRY;
    (south..=north).contains(&latitude) && (west..=east).contains(&longitude)
}

impl ExtremeMinimumEstimate {
    /// One standard error at a site, which is greater where it is not known to be like the places fitted.
    #[must_use]
    pub fn error_at(&self, like_the_fitted: bool) -> CelsiusDifference {
        let elsewhere = if like_the_fitted { 0.0 } else { ERROR_ELSEWHERE_K };
        CelsiusDifference(self.standard_error.0.max(elsewhere))
    }
}

/// Estimates the mean annual extreme minimum from the twelve mean daily minima:
/// E = t + (-10.56 + 0.434 max(t, -10)), t the mean minimum of the coldest month, degC.
///
/// The gap between the coldest month's mean and the year's lowest night narrows as winters grow
/// milder and is nearly constant in cold ones, hence the knot. Fitted by least squares on 21
/// places of the United States (t from -17.1 to 9.3 degC): 8 with a measured mean annual extreme
/// minimum over 12 to 30 years (NOAA stations, Carrington, Ames and Fort Collins), 13 whose value
/// was taken as the middle of the half zone that the USDA map of 2023 gives their town. Left out:
/// four places with records of 1927-1936 and six typical years, which hold no extremes. The knot
/// was chosen among whole numbers on the same places. Error: residual standard deviation 1.5 K,
/// leave-one-out 1.6 K, largest 4.0 K (Gainesville). On the ten places left out the root mean
/// square error is 2.9 K; beyond the fitted range the error given is 3 K in colder and 3.8 K in milder
/// winters, where the gap is held constant.
///
/// All places fitted are in the interior, east and south of the United States ([`in_fitted_country`]): on
/// mild western coasts the estimate is too cold by some kelvins, at Miami, Tampa and Brownsville too mild (against
/// the middle of the half zone that the map of 2023 gives them or the nearest town), and
/// [`ExtremeMinimumEstimate::error_at`] gives the error for other places. A stated or measured value always goes before it. `None`
/// where a value is not finite.
#[must_use]
pub fn estimate_extreme_minimum(tmin_c: &Monthly) -> Option<ExtremeMinimumEstimate> {
    if tmin_c.iter().any(|t| !t.is_finite()) {
        return None;
    }
    let coldest = tmin_c.iter().copied().fold(f64::INFINITY, f64::min);
    let gap = FIT_OFFSET + FIT_SLOPE * coldest.clamp(FIT_KNOT_C, FIT_RANGE_C.1);
    let (low, high) = FIT_RANGE_C;
    let error = match coldest {
        colder if colder < low => ERROR_COLDER_K,
        milder if milder > high => ERROR_MILDER_K,
        _ => ERROR_FITTED_K,
    };
    Some(ExtremeMinimumEstimate {
        minimum: Celsius(coldest + gap),
        standard_error: CelsiusDifference(error),
        within_fitted_range: (low..=high).contains(&coldest),
    })
}

/// Rounding of figures that may put the lowest night a hair above the mean of the coldest month, K.
const ROUNDING_K: f64 = 0.1;

/// Why a mean annual extreme minimum cannot stand beside these mean daily minima, degC; `None` where it
/// can. A month holds its own lowest night, which is no warmer than the month's mean, and the year's
/// lowest night is no warmer than that: so the mean of the one is never above the mean of the other.
#[must_use]
pub fn extreme_above(extreme_c: f64, tmin_c: &Monthly) -> Option<String> {
    let (month, coldest) = tmin_c.iter().copied().enumerate().min_by(|a, b| a.1.total_cmp(&b.1))?;
    (extreme_c > coldest + ROUNDING_K).then(|| {
        format!(
            "the mean annual extreme minimum, {extreme_c:.1} degC, is above the mean minimum of the coldest month, {coldest:.1} degC in month {}: the lowest night of a year is never warmer than that",
            month + 1
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn zone_f(f: f64) -> String {
        let zone = HardinessZone::from_extreme_minimum(Celsius::from_fahrenheit(f));
        zone.map_or_else(String::new, |z| z.to_string())
    }

    /// Points on and beside the limits of the USDA map of 2023; widths of the zones read in
    /// secondary pages, values computed.
    #[test]
    fn usda_2023_limits() {
        for (f, zone) in [
            (-60.0, "1a"),
            (-55.1, "1a"),
            (-55.0, "1b"),
            (-10.0, "6a"),
            (-5.1, "6a"),
            (-5.0, "6b"),
            (-0.1, "6b"),
            (0.0, "7a"),
            (5.0, "7b"),
            (9.9, "7b"),
            (10.0, "8a"),
            (25.0, "9b"),
            (40.0, "11a"),
            (65.0, "13b"),
            (70.0, "13b"),
        ] {
            assert_eq!(zone_f(f), zone, "{f} F");
        }
    }

    /// The Celsius figures of the same points, computed.
    #[test]
    fn usda_2023_limits_in_celsius() {
        for (f, c) in [
            (-60.0, -51.11),
            (-55.1, -48.39),
            (-55.0, -48.33),
            (-10.0, -23.33),
            (-5.1, -20.61),
            (-5.0, -20.56),
            (-0.1, -17.83),
            (0.0, -17.78),
            (5.0, -15.0),
            (9.9, -12.28),
            (10.0, -12.22),
            (25.0, -3.89),
            (40.0, 4.44),
            (65.0, 18.33),
            (70.0, 21.11),
        ] {
            assert!((Celsius::from_fahrenheit(f).0 - c).abs() < 0.005 + 1e-9, "{f} F");
        }
    }

    #[test]
    fn every_limit_belongs_to_the_warmer_half_zone() {
        for zone in HardinessZone::all() {
            let (low, high) = zone.limits();
            assert_eq!(HardinessZone::from_extreme_minimum(low), Some(zone));
            let inside = Celsius(high.0 - 0.01);
            assert_eq!(HardinessZone::from_extreme_minimum(inside), Some(zone));
            assert_eq!(zone.to_string().parse(), Ok(zone));
        }
        assert_eq!(HardinessZone::all().count(), 26);
    }

    #[test]
    fn beyond_the_map_and_not_a_number() {
        assert_eq!(zone_f(-90.0), "1a");
        assert_eq!(zone_f(120.0), "13b");
        assert_eq!(HardinessZone::from_extreme_minimum(Celsius(f64::NAN)), None);
        assert!("14a".parse::<HardinessZone>().is_err());
        assert!("7".parse::<HardinessZone>().is_err());
    }

    /// Measured means (degC): El Paso -7.8, New York -13.5, Milwaukee -22.1 (1991-2020, NOAA
    /// monthly and daily summaries) from their coldest months' mean minima.
    #[test]
    fn estimate_comes_near_measured_extremes() {
        for (coldest, measured) in [(0.9, -7.8), (-2.6, -13.5), (-8.5, -22.1), (-17.1, -32.4)] {
            let mut tmin = [15.0; 12];
            tmin[0] = coldest;
            let estimate = estimate_extreme_minimum(&tmin).unwrap();
            assert!(estimate.within_fitted_range);
            let error = (estimate.minimum.0 - measured).abs();
            assert!(error < 2.0 * estimate.standard_error.0, "{coldest}: {error}");
        }
    }

    /// Regression: the fit at and beside its knot and its ends, in plain arithmetic, with its error.
    #[test]
    fn regression_of_the_fit() {
        for (coldest, minimum, error) in [
            (-20.0, -34.90000, 3.0),
            (-12.0, -26.90000, 1.6),
            (-5.0, -17.73000, 1.6),
            (0.0, -10.56000, 1.6),
            (5.0, -3.39000, 1.6),
            (9.3, 2.77620, 1.6),
            (9.35, 2.82620, 3.8),
            (12.0, 5.47620, 3.8),
            (-17.1, -32.0, 1.6),
            (-17.2, -32.1, 3.0),
        ] {
            let estimate = estimate_extreme_minimum(&[coldest; 12]).unwrap();
            assert!((estimate.minimum.0 - minimum).abs() < 1e-4, "{coldest}: {estimate:?}");
            assert_eq!(estimate.standard_error.0, error, "{coldest}");
        }
    }

    /// Denver and Atlanta lie among the places fitted; Seattle, Phoenix and London do not, and a range of
    /// temperatures that was not fitted errs by more wherever it is.
    #[test]
    fn the_error_is_greater_away_from_the_places_fitted() {
        let fitted = [(39.7, -105.0), (33.7, -84.4), (47.6, -122.3), (33.4, -112.0), (51.5, -0.1)];
        assert_eq!(fitted.map(in_fitted_country), [true, true, false, false, false]);
        let error = |coldest: f64, like| estimate_extreme_minimum(&[coldest; 12]).unwrap().error_at(like).0;
        assert_eq!([error(0.0, true), error(0.0, false)], [1.6, 2.9]);
        assert_eq!([error(12.0, true), error(12.0, false)], [3.8, 3.8]);
    }

    #[test]
    fn colder_months_never_give_a_milder_extreme() {
        let mut last = f64::NEG_INFINITY;
        for tenth in -400..300 {
            let estimate = estimate_extreme_minimum(&[f64::from(tenth) / 10.0; 12]).unwrap();
            assert!(estimate.minimum.0 > last);
            last = estimate.minimum.0;
        }
        assert_eq!(estimate_extreme_minimum(&[f64::NAN; 12]), None);
    }

    #[test]
    fn the_lowest_night_is_no_warmer_than_the_coldest_month() {
        let mut tmin = [12.0; 12];
        tmin[1] = -4.0;
        assert_eq!(extreme_above(-9.0, &tmin), None);
        assert_eq!(extreme_above(-4.0, &tmin), None);
        let words = extreme_above(-3.0, &tmin).unwrap();
        assert!(words.contains("-3.0 degC") && words.contains("-4.0 degC in month 2"), "{words}");
    }
}
