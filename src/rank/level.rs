//! The level of a limitation, its name, and the rating that belongs to it.

use std::fmt;
use std::str::FromStr;

/// Levels at the corners of the rating line, with the rating at each.
///
/// The breaks 100, 95, 85 and 60 are those of the limitation tables of Sys and others as a public
/// implementation carries them (`sys-wheat-script`: slope, drainage and texture for wheat). The
/// lowest S3 rating of 40 (that script has 45) and 0 at level 5 are from memory.
const CORNERS: [(f64, f64); 6] =
    [(0.0, 100.0), (1.0, 95.0), (2.0, 85.0), (3.0, 60.0), (4.0, 40.0), (5.0, 0.0)];

/// How strongly a need is held back, continuous from 0 (not at all) to 5 (ruled out).
///
/// The whole part has a name ([`Level::name`]). Never NaN, never outside 0 to 5, so levels have
/// a total order: greater is worse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level(f64);

/// Why a number or a word is not a [`Level`].
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LevelError {
    /// The number is not between 0 and 5, or no number at all (NaN).
    #[error("a level lies between 0 and 5, this is {0}")]
    OutOfRange(f64),
    /// The word names no level.
    #[error("'{0}' names no level (none, slight, moderate, severe, very severe, excluding)")]
    UnknownName(String),
}

impl Level {
    /// Level 0: the need is fully met.
    pub const NONE: Level = Level(0.0);
    /// Level 1, the least that is called slight.
    pub const SLIGHT: Level = Level(1.0);
    /// Level 2, the least that is called moderate; the border between S1 and S2.
    pub const MODERATE: Level = Level(2.0);
    /// Level 3, the least that is called severe; the border between S2 and S3.
    pub const SEVERE: Level = Level(3.0);
    /// Level 4, the least that is called very severe; the border between S3 and N.
    pub const VERY_SEVERE: Level = Level(4.0);
    /// Level 5: the candidate is ruled out.
    pub const EXCLUDING: Level = Level(5.0);

    /// Takes a number from 0 to 5.
    ///
    /// # Errors
    /// [`LevelError::OutOfRange`] for anything else, NaN included: a level that could not be
    /// computed must be treated as open by the caller, never as 0.
    pub fn new(value: f64) -> Result<Level, LevelError> {
        if (0.0..=5.0).contains(&value) {
            // Adding zero turns -0.0 into 0.0, so that equal levels are equal in every comparison.
            Ok(Level(value + 0.0))
        } else {
            Err(LevelError::OutOfRange(value))
        }
    }

    /// Takes any number, bringing it to the nearest end of the scale when outside.
    ///
    /// # Errors
    /// [`LevelError::OutOfRange`] for NaN only.
    pub fn clamped(value: f64) -> Result<Level, LevelError> {
        if value.is_nan() {
            return Err(LevelError::OutOfRange(value));
        }
        Level::new(value.clamp(0.0, 5.0))
    }

    /// The number.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.0
    }

    /// The name of the whole part.
    #[must_use]
    pub fn name(self) -> LevelName {
        // Written as comparisons: a cast would round through an integer type for no gain.
        match self.0 {
            v if v < 1.0 => LevelName::None,
            v if v < 2.0 => LevelName::Slight,
            v if v < 3.0 => LevelName::Moderate,
            v if v < 4.0 => LevelName::Severe,
            v if v < 5.0 => LevelName::VerySevere,
            _ => LevelName::Excluding,
        }
    }

    /// The rating R of this level, 100 (best) to 0.
    ///
    /// Linear between the points (level, R): (0, 100), (1, 95), (2, 85), (3, 60), (4, 40), (5, 0).
    /// Sources: the breaks 100, 95, 85, 60 as in `sys-wheat-script`; 40 and 0 from memory.
    #[must_use]
    pub fn rating(self) -> Rating {
        for pair in CORNERS.windows(2) {
            if let [(from, high), (to, low)] = *pair
                && self.0 <= to
            {
                return Rating(high + (self.0 - from) / (to - from) * (low - high));
            }
        }
        Rating(0.0)
    }

    /// This level made worse (positive) or better (negative) by `by`, kept on the scale.
    #[must_use]
    pub(super) fn shifted(self, by: f64) -> Level {
        Level::clamped(self.0 + by).unwrap_or(self)
    }
}

impl Eq for Level {}

impl PartialOrd for Level {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Level {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Reads a name as the least level that bears it: "moderate" is 2.
impl FromStr for Level {
    type Err = LevelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse::<LevelName>().map(LevelName::level)
    }
}

/// The word for the whole part of a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LevelName {
    /// Level 0 to below 1.
    None,
    /// Level 1 to below 2.
    Slight,
    /// Level 2 to below 3.
    Moderate,
    /// Level 3 to below 4.
    Severe,
    /// Level 4 to below 5.
    VerySevere,
    /// Level 5.
    Excluding,
}

impl LevelName {
    /// All names, from best to worst.
    pub const ALL: [LevelName; 6] = [
        LevelName::None,
        LevelName::Slight,
        LevelName::Moderate,
        LevelName::Severe,
        LevelName::VerySevere,
        LevelName::Excluding,
    ];

    /// The least level that bears this name.
    #[must_use]
    pub fn level(self) -> Level {
        match self {
            LevelName::None => Level::NONE,
            LevelName::Slight => Level::SLIGHT,
            LevelName::Moderate => Level::MODERATE,
            LevelName::Severe => Level::SEVERE,
            LevelName::VerySevere => Level::VERY_SEVERE,
            LevelName::Excluding => Level::EXCLUDING,
        }
    }

    /// The word as reports print it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            LevelName::None => "none",
            LevelName::Slight => "slight",
            LevelName::Moderate => "moderate",
            LevelName::Severe => "severe",
            LevelName::VerySevere => "very severe",
            LevelName::Excluding => "excluding",
        }
    }
}

impl fmt::Display for LevelName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

/// Reads a name; `very-severe` and `very_severe` are `very severe`. Capitals are refused, as
/// everywhere in the knowledge files.
impl FromStr for LevelName {
    type Err = LevelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let spaced = text.replace(['-', '_'], " ");
        LevelName::ALL
            .into_iter()
            .find(|name| name.as_str() == spaced)
            .ok_or_else(|| LevelError::UnknownName(text.to_owned()))
    }
}

/// How well a need is met, 100 (fully) to 0 (not at all): the scale on which indices multiply.
///
/// Never NaN, never outside 0 to 100. Greater is better.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Rating(f64);

impl Rating {
    /// Takes a number from 0 to 100; `None` for anything else, NaN included.
    #[must_use]
    pub fn new(value: f64) -> Option<Rating> {
        (0.0..=100.0).contains(&value).then_some(Rating(value + 0.0))
    }

    /// The number, 0 to 100.
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }

    /// The level that has this rating: the inverse of [`Level::rating`].
    #[must_use]
    pub fn level(self) -> Level {
        for pair in CORNERS.windows(2) {
            if let [(from, high), (to, low)] = *pair
                && self.0 >= low
            {
                return Level(from + (high - self.0) / (high - low) * (to - from));
            }
        }
        Level::EXCLUDING
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `sys-wheat-script`: drainage good 100, moderate 95, imperfect 85, poor 60 are the steps of
    /// no, slight, moderate and severe limitation; within a step its ratings run linearly (slope
    /// of 1 % 97.5, of 3 % 90, of 6 % 72.5, in the middle of the first, second and third step).
    #[test]
    fn rating_line_of_the_wheat_script() {
        for (level, rating) in
            [(0.0, 100.0), (0.5, 97.5), (1.0, 95.0), (1.5, 90.0), (2.0, 85.0), (2.5, 72.5), (3.0, 60.0)]
        {
            assert_eq!(Level::new(level).unwrap().rating().value(), rating);
        }
    }

    /// From memory, not read: the two lowest corners.
    #[test]
    fn rating_line_below_severe() {
        for (level, rating) in [(3.5, 50.0), (4.0, 40.0), (4.5, 20.0), (5.0, 0.0)] {
            assert_eq!(Level::new(level).unwrap().rating().value(), rating);
        }
    }

    #[test]
    fn names_of_whole_parts() {
        for (level, name) in [
            (0.99, "none"),
            (1.0, "slight"),
            (2.7, "moderate"),
            (3.0, "severe"),
            (4.999, "very severe"),
            (5.0, "excluding"),
        ] {
            assert_eq!(Level::new(level).unwrap().name().to_string(), name);
        }
        for name in LevelName::ALL {
            assert_eq!(name.as_str().parse::<LevelName>(), Ok(name));
            assert_eq!(name.level().name(), name);
        }
        assert_eq!("very-severe".parse::<Level>(), Ok(Level::VERY_SEVERE));
    }

    #[test]
    fn refusals() {
        assert!(Level::new(f64::NAN).is_err());
        assert!(Level::new(-0.1).is_err());
        assert!(Level::clamped(f64::NAN).is_err());
        assert_eq!(Level::clamped(7.0), Ok(Level::EXCLUDING));
        assert_eq!(Level::clamped(f64::NEG_INFINITY), Ok(Level::NONE));
        assert_eq!(Level::new(-0.0).unwrap().cmp(&Level::NONE), std::cmp::Ordering::Equal);
        assert_eq!(
            "sever".parse::<Level>().unwrap_err().to_string(),
            "'sever' names no level (none, slight, moderate, severe, very severe, excluding)"
        );
        assert!(Rating::new(100.5).is_none());
    }
}
