//! The suitability classes, their bands on the index scale, and classes printed as two.

use std::fmt;

use super::level::Level;

/// How near to a class border, in levels, a computed level makes the class be printed as both.
///
/// A tenth of a level is worth 1 point of rating above the border of S1, 2.5 points in S2, 2 in S3
/// and 4 in N. A convention of this program, no source.
pub const BORDER_DISTANCE: f64 = 0.1;

/// Suitability class of a candidate for the purpose on the site.
///
/// The symbols are those of the FAO framework: S1, S2, S3 in the order "suitable", N for "not
/// suitable" (`fao-framework-1976` chapter 3; `fao-x5648e-appendix-1`). The split of N into N1 and
/// N2 needs a run with the inputs that can be changed and is kept beside the class
/// ([`super::Standing::changeable`]). Ordered from best to worst: `S1 < S2 < S3 < N`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// Highly suitable.
    S1,
    /// Moderately suitable.
    S2,
    /// Marginally suitable.
    S3,
    /// Not suitable.
    N,
}

impl Class {
    /// All classes, from best to worst.
    pub const ALL: [Class; 4] = [Class::S1, Class::S2, Class::S3, Class::N];

    /// The class that the worst level of the needs gives: below 2 S1, below 3 S2, below 4 S3,
    /// else N.
    ///
    /// That the lowest class of the single needs is the class of the whole is the simple
    /// limitation method, the law of the minimum (`corrected-land-index-importance`, abstract). No or
    /// slight limitations as S1, moderate as S2, severe as S3 and stronger as N: the steps of
    /// `sys-wheat-script`, where ratings of 100 and 95 are S1, 85 is S2, 60 is S3.
    #[must_use]
    pub fn from_worst(worst: Level) -> Class {
        if worst < Level::MODERATE {
            Class::S1
        } else if worst < Level::SEVERE {
            Class::S2
        } else if worst < Level::VERY_SEVERE {
            Class::S3
        } else {
            Class::N
        }
    }

    /// The band of ratings, and so of corrected indices, that belongs to the class.
    ///
    /// S1 85 to 100, S2 60 to 85, S3 40 to 60, N 0 to 40. The borders 85 and 60 as in
    /// `sys-wheat-script` (which puts the lowest at 45); 40 from memory. The upper end of a band
    /// belongs to it, the lower end to the next worse class, since a rating of exactly 85 is
    /// level 2 and so S2; an index may come to lie on the lower end by rounding.
    #[must_use]
    pub fn band(self) -> Band {
        let (low, high) = match self {
            Class::S1 => (85.0, 100.0),
            Class::S2 => (60.0, 85.0),
            Class::S3 => (40.0, 60.0),
            Class::N => (0.0, 40.0),
        };
        Band { low, high }
    }

    /// The symbol.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Class::S1 => "S1",
            Class::S2 => "S2",
            Class::S3 => "S3",
            Class::N => "N",
        }
    }

    /// The name in words: those of `fao-x5648e-appendix-1`, with the order's name for N.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Class::S1 => "highly suitable",
            Class::S2 => "moderately suitable",
            Class::S3 => "marginally suitable",
            Class::N => "not suitable",
        }
    }

    /// True for N.
    #[must_use]
    pub fn is_refused(self) -> bool {
        self == Class::N
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.symbol())
    }
}

/// A stretch of the index scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Band {
    /// True between the two ends, both included.
    #[must_use]
    pub fn contains(self, index: f64) -> bool {
        (self.low..=self.high).contains(&index)
    }

    /// `high - low`.
    #[must_use]
    pub fn width(self) -> f64 {
        self.high - self.low
    }
}

/// The class, or two neighbouring ones where the deciding level lies near their border.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ClassSpan {
    /// The better one.
    pub better: Class,
    /// The worse one; equal to `better` away from a border.
    pub worse: Class,
}

impl ClassSpan {
    /// The level at which the one class turns into the other; `None` away from a border.
    #[must_use]
    pub fn border(&self) -> Option<Level> {
        let from = match self.better {
            Class::S1 => Level::MODERATE,
            Class::S2 => Level::SEVERE,
            Class::S3 | Class::N => Level::VERY_SEVERE,
        };
        self.is_border().then_some(from)
    }

    /// The classes of two levels, whichever way round they are given.
    #[must_use]
    pub fn of(one: Level, other: Level) -> ClassSpan {
        ClassSpan { better: Class::from_worst(one.min(other)), worse: Class::from_worst(one.max(other)) }
    }

    /// The span of a computed level: every class within [`BORDER_DISTANCE`] of it.
    #[must_use]
    pub fn near(level: Level) -> ClassSpan {
        ClassSpan::of(level.shifted(-BORDER_DISTANCE), level.shifted(BORDER_DISTANCE))
    }

    /// True where two classes are to be printed.
    #[must_use]
    pub fn is_border(self) -> bool {
        self.better != self.worse
    }
}

impl fmt::Display for ClassSpan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_border() {
            f.pad(&format!("{}/{}", self.better, self.worse))
        } else {
            f.pad(self.better.symbol())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(value: f64) -> Level {
        Level::new(value).unwrap()
    }

    #[test]
    fn classes_change_at_whole_levels() {
        for (value, class) in [
            (0.0, Class::S1),
            (1.999, Class::S1),
            (2.0, Class::S2),
            (3.0, Class::S3),
            (3.999, Class::S3),
            (4.0, Class::N),
            (5.0, Class::N),
        ] {
            assert_eq!(Class::from_worst(level(value)), class);
        }
    }

    /// `sys-wheat-script`: ratings of 100 and 95 (drainage good, moderate) are S1, 85 (imperfect)
    /// is S2, 60 (poor) is S3.
    #[test]
    fn classes_of_the_wheat_script() {
        for (rating, class) in [(100.0, Class::S1), (95.0, Class::S1), (85.0, Class::S2), (60.0, Class::S3)] {
            let level = crate::rank::Rating::new(rating).unwrap().level();
            assert_eq!(Class::from_worst(level), class);
        }
    }

    /// `fao-x5648e-appendix-1`, II.
    #[test]
    fn words_of_the_fao_appendix() {
        let words: Vec<_> = Class::ALL.iter().map(|class| class.words()).collect();
        assert_eq!(words[..3], ["highly suitable", "moderately suitable", "marginally suitable"]);
    }

    #[test]
    fn bands_join_without_gap() {
        for pair in Class::ALL.windows(2) {
            assert_eq!(pair[0].band().low, pair[1].band().high);
        }
        for class in Class::ALL {
            assert!(class.band().width() > 0.0);
            assert!(class.band().contains(class.band().high));
        }
        assert!(!Class::S2.band().contains(85.1));
    }

    #[test]
    fn border_is_printed_as_both() {
        for (value, text) in [
            (1.85, "S1"),
            (1.95, "S1/S2"),
            (2.05, "S1/S2"),
            (2.15, "S2"),
            (3.95, "S3/N"),
            (4.05, "S3/N"),
            (5.0, "N"),
            (0.0, "S1"),
        ] {
            assert_eq!(ClassSpan::near(level(value)).to_string(), text);
        }
    }
}
