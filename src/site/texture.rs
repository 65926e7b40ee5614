//! Soil texture: class of the United States triangle, and the water a soil of that class holds.

use thiserror::Error;

use crate::units::quantity::MillimetresPerDay;

/// The twelve texture classes of the United States system.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Texture {
    /// Sand.
    Sand,
    /// Loamy sand.
    LoamySand,
    /// Sandy loam.
    SandyLoam,
    /// Loam.
    Loam,
    /// Silt loam.
    SiltLoam,
    /// Silt.
    Silt,
    /// Sandy clay loam.
    SandyClayLoam,
    /// Clay loam.
    ClayLoam,
    /// Silty clay loam.
    SiltyClayLoam,
    /// Sandy clay.
    SandyClay,
    /// Silty clay.
    SiltyClay,
    /// Clay.
    Clay,
}

/// The three general groups of the Soil Survey Manual (from memory): sandy, loamy, clayey.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TextureGroup {
    /// Sand and loamy sand.
    Sand,
    /// All loams and silt.
    Loam,
    /// Sandy clay, silty clay and clay.
    Clay,
}

impl TextureGroup {
    /// Name in lower case.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sand => "sand",
            Self::Loam => "loam",
            Self::Clay => "clay",
        }
    }
}

/// Figures of particle size that describe no soil.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TextureError {
    /// One of the three is outside 0 to 100, or not a number.
    #[error("{name} {value} % is outside 0 to 100 %")]
    OutOfRange {
        /// Name of the fraction.
        name: &'static str,
        /// Offending value.
        value: f64,
    },
    /// The three do not make up the whole.
    #[error("sand, silt and clay sum to {sum} %; they must sum to 100 within 1")]
    Sum {
        /// Their sum.
        sum: f64,
    },
}

/// How far the three fractions may sum from 100, percent points (rounded laboratory figures).
pub const SUM_TOLERANCE: f64 = 1.0;

/// Where a pair of water contents comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WaterSource {
    /// Middle of the range in FAO-56 Table 19.
    Fao56Table19,
    /// Saxton & Rawls 2006, Soil Science Society of America Journal 70:1569-1578, Table 3, for the
    /// three classes that FAO-56 Table 19 leaves out.
    SaxtonRawls2006,
}

/// Water held by a soil, volume of water in volume of soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterContents {
    /// Field capacity, m3/m3.
    pub field_capacity: f64,
    /// Permanent wilting point, m3/m3.
    pub wilting_point: f64,
    /// Where the two come from.
    pub source: WaterSource,
}

impl WaterContents {
    /// Available water, m3/m3: field capacity less wilting point.
    #[must_use]
    pub fn available(&self) -> f64 {
        self.field_capacity - self.wilting_point
    }
}

impl Texture {
    /// All classes, coarse to fine.
    pub const ALL: [Self; 12] = [
        Self::Sand,
        Self::LoamySand,
        Self::SandyLoam,
        Self::Loam,
        Self::SiltLoam,
        Self::Silt,
        Self::SandyClayLoam,
        Self::ClayLoam,
        Self::SiltyClayLoam,
        Self::SandyClay,
        Self::SiltyClay,
        Self::Clay,
    ];

    /// Name in lower case, as in "silty clay loam".
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sand => "sand",
            Self::LoamySand => "loamy sand",
            Self::SandyLoam => "sandy loam",
            Self::Loam => "loam",
            Self::SiltLoam => "silt loam",
            Self::Silt => "silt",
            Self::SandyClayLoam => "sandy clay loam",
            Self::ClayLoam => "clay loam",
            Self::SiltyClayLoam => "silty clay loam",
            Self::SandyClay => "sandy clay",
            Self::SiltyClay => "silty clay",
            Self::Clay => "clay",
        }
    }

    /// The class of a name; case, and hyphens or underscores for blanks, do not matter.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let plain = name.trim().to_ascii_lowercase().replace(['-', '_'], " ");
        Self::ALL.into_iter().find(|t| t.name() == plain)
    }

    /// General group.
    #[must_use]
    pub const fn group(self) -> TextureGroup {
        match self {
            Self::Sand | Self::LoamySand => TextureGroup::Sand,
            Self::SandyClay | Self::SiltyClay | Self::Clay => TextureGroup::Clay,
            _ => TextureGroup::Loam,
        }
    }

    /// Class of a soil by its fractions in percent by weight.
    ///
    /// Limits as written in the Soil Survey Manual (USDA Handbook 18, 2017, chapter 3; from memory,
    /// those of clay, clay loam, loam, sand and loamy sand also read in a soil-science glossary).
    /// A soil on a limit goes by the written words ("27 or more", "less than 40"), which differs
    /// from polygon libraries at corners such as 45-28-27. Sums within 1 of 100 are scaled to 100.
    ///
    /// # Errors
    ///
    /// [`TextureError`] where a fraction is outside 0 to 100 or the sum is off by more than 1.
    pub fn from_fractions(sand: f64, silt: f64, clay: f64) -> Result<Self, TextureError> {
        for (name, value) in [("sand", sand), ("silt", silt), ("clay", clay)] {
            if !(0.0..=100.0).contains(&value) {
                return Err(TextureError::OutOfRange { name, value });
            }
        }
        let sum = sand + silt + clay;
        if (sum - 100.0).abs() > SUM_TOLERANCE + 1e-9 {
            return Err(TextureError::Sum { sum });
        }
        let (sand, silt, clay) = if (sum - 100.0).abs() < 1e-9 {
            (sand, silt, clay)
        } else {
            (sand * 100.0 / sum, silt * 100.0 / sum, clay * 100.0 / sum)
        };
        Ok(Self::classify(sand, silt, clay))
    }

    fn classify(sand: f64, silt: f64, clay: f64) -> Self {
        if silt + 1.5 * clay < 15.0 {
            Self::Sand
        } else if silt + 2.0 * clay < 30.0 {
            Self::LoamySand
        } else if clay >= 40.0 {
            match (sand > 45.0, silt >= 40.0) {
                (true, _) => Self::SandyClay,
                (false, true) => Self::SiltyClay,
                (false, false) => Self::Clay,
            }
        } else if clay >= 27.0 {
            if sand > 45.0 {
                if clay >= 35.0 { Self::SandyClay } else { Self::SandyClayLoam }
            } else if sand > 20.0 {
                Self::ClayLoam
            } else {
                Self::SiltyClayLoam
            }
        } else if clay >= 20.0 && silt < 28.0 && sand > 45.0 {
            Self::SandyClayLoam
        } else if silt >= 80.0 && clay < 12.0 {
            Self::Silt
        } else if silt >= 50.0 {
            Self::SiltLoam
        } else if clay >= 7.0 && sand <= 52.0 {
            Self::Loam
        } else {
            Self::SandyLoam
        }
    }

    /// Typical field capacity and wilting point of the class.
    ///
    /// Nine classes: middle of the range in FAO-56 Table 19 (1998), which was read. Sandy clay
    /// loam, clay loam and sandy clay, absent there: Saxton & Rawls 2006 Table 3 at 2.5 % organic
    /// matter; the first two read in a reprint, sandy clay from memory. Soils of one class differ
    /// by about 0.05 either way: a measured value goes before these.
    #[must_use]
    pub const fn water_contents(self) -> WaterContents {
        use WaterSource::{Fao56Table19, SaxtonRawls2006};
        let (field_capacity, wilting_point, source) = match self {
            Self::Sand => (0.12, 0.045, Fao56Table19),
            Self::LoamySand => (0.15, 0.065, Fao56Table19),
            Self::SandyLoam => (0.23, 0.11, Fao56Table19),
            Self::Loam => (0.25, 0.12, Fao56Table19),
            Self::SiltLoam => (0.29, 0.15, Fao56Table19),
            Self::Silt => (0.32, 0.17, Fao56Table19),
            Self::SiltyClayLoam => (0.335, 0.205, Fao56Table19),
            Self::SiltyClay => (0.36, 0.23, Fao56Table19),
            Self::Clay => (0.36, 0.22, Fao56Table19),
            Self::SandyClayLoam => (0.27, 0.17, SaxtonRawls2006),
            Self::ClayLoam => (0.36, 0.22, SaxtonRawls2006),
            Self::SandyClay => (0.36, 0.25, SaxtonRawls2006),
        };
        WaterContents { field_capacity, wilting_point, source }
    }
}

/// Depletion fraction for the day's demand, FAO-56 Table 22, footnote:
/// p = p(table) + 0.04 (5 - `ETc`), held to 0.1 and 0.8; `ETc` in mm/d.
#[must_use]
pub fn depletion_fraction(p_table: f64, etc: MillimetresPerDay) -> f64 {
    (p_table + 0.04 * (5.0 - etc.0)).clamp(0.1, 0.8)
}

#[cfg(test)]
mod tests;
