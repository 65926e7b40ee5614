//! One case of a plant in its soil, and what a run of the balance takes of it.

use crate::site::soil_water::{Plant, SurvivalWatering};
use crate::units::quantity::Millimetres;

/// Depletion fraction p of cool-season turf, and of warm-season turf and covers (FAO-56 Table 22).
const P_COOL: f64 = 0.4;
const P_OTHER: f64 = 0.5;
/// Depth of a survival watering, mm: extension sheets give 6 to 13 mm every two to four weeks.
const SURVIVAL_DEPTH_MM: f64 = 13.0;

/// Runs that differ in none of these give the same; many species share them.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Rooted {
    taw_tenths_mm: u32,
    kc_thousandths: u32,
    cool: bool,
    over: Years,
}

/// Which years a run is made over.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub enum Years {
    /// All of one weather, by its place among those that may be.
    All(usize),
    /// The latest alone.
    Lately(usize),
}

/// The least and the greatest that a number may be.
#[derive(Clone, Copy)]
pub struct Span {
    pub low: f64,
    pub high: f64,
}

impl Span {
    /// `None` where nothing may be supposed.
    pub fn of(numbers: impl Iterator<Item = f64> + Clone) -> Option<Self> {
        Some(Self { low: numbers.clone().reduce(f64::min)?, high: numbers.reduce(f64::max)? })
    }

    /// The span of a product of positive numbers.
    pub fn times(self, other: Self) -> Self {
        Self { low: self.low * other.low, high: self.high * other.high }
    }

    pub fn is_open(self) -> bool {
        self.low < self.high
    }
}

/// One case of a plant in its soil.
pub struct Case {
    /// Available water of its root zone, mm.
    pub taw_mm: f64,
    /// Unstressed demand as a share of ET0.
    pub kc: f64,
    /// Share of ET0 that keeps it in acceptable cover.
    pub need: f64,
    /// Days at wilting that it outlasts.
    pub survival_d: f64,
    /// Whether it is a cool-season grass.
    pub cool: bool,
}

impl Case {
    /// Stress coefficient at which it gets just what it needs for acceptable cover, in steps of 0.02 so
    /// that species much alike share a run.
    pub fn green_ks(&self) -> f64 {
        let share = if self.kc > 0.0 { self.need / self.kc } else { 1.0 };
        (share.clamp(0.0, 1.0) * 50.0).round() / 50.0
    }

    /// The plant of a run, and the key under which its results are kept.
    pub fn plant(&self, over: Years) -> (Rooted, Plant) {
        let key = Rooted {
            taw_tenths_mm: (self.taw_mm.max(1.0) * 10.0).round() as u32,
            kc_thousandths: (self.kc * 1000.0).round() as u32,
            cool: self.cool,
            over,
        };
        let plant = Plant {
            taw: Millimetres(f64::from(key.taw_tenths_mm) / 10.0),
            p_table: if self.cool { P_COOL } else { P_OTHER },
            kc: [f64::from(key.kc_thousandths) / 1000.0; 12],
            green_ks: self.green_ks(),
            survival: Some(SurvivalWatering {
                days_at_wilting: self.survival_d.clamp(1.0, 400.0).round() as u32,
                depth: Millimetres(SURVIVAL_DEPTH_MM),
            }),
        };
        (key, plant)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What keeps a plant green is its need, whatever it would take of a moist soil.
    #[test]
    fn green_is_kept_at_the_need() {
        let case = |kc, need| Case { taw_mm: 60.0, kc, need, survival_d: 30.0, cool: false };
        for (kc, need, ks) in [(0.8, 0.4, 0.5), (0.87, 0.7, 0.8), (0.5, 0.6, 1.0), (0.0, 0.0, 1.0)] {
            assert_eq!(case(kc, need).plant(Years::All(0)).1.green_ks, ks);
        }
    }
}
