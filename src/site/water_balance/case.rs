//! One case of a plant in its soil, and what a run of the balance takes of it.

use crate::site::soil_water::{Plant, SurvivalWatering};
use crate::units::quantity::Millimetres;

/// Depletion fraction p of cool-season turf, and of warm-season turf and covers (FAO-56 Table 22).
const P_COOL: f64 = 0.4;
const P_OTHER: f64 = 0.5;
/// Depth of a survival watering, mm: extension sheets give 6 to 13 mm every two to four weeks.
const SURVIVAL_DEPTH_MM: f64 = 13.0;

/// What a root zone holds at the least, mm: thatch and the mat of roots hold some water even where hardly any
/// soil is. With less than what ends a run at wilting no rain could end one (common practice).
const LEAST_STORE_MM: f64 = 4.0;

/// Days that a wilted plant is left between survival waterings (the same sheets).
const SURVIVAL_EVERY_D: u32 = 21;
/// Days at wilting after which the first of them is given, though it might outlast more: as the tasks of the
/// knowledge advise it for a dormant lawn of cool seasons (every two to four weeks), and for other plants (after
/// a month and a half).
const FIRST_SURVIVAL_COOL_D: f64 = 28.0;
const FIRST_SURVIVAL_OTHER_D: f64 = 45.0;
/// Share of its demand in growth that a resting plant still takes (common practice).
const AT_REST: f64 = 0.3;

/// Runs that differ in none of these give the same; many species share them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Rooted {
    taw_mm: u32,
    water_share_hundredths: u32,
    kc_fiftieths: u32,
    cool: bool,
    warm: bool,
    over: Years,
}

/// Which years a run is made over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
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
    /// Share of the water that comes to it.
    pub water_share: f64,
    /// Unstressed demand as a share of ET0.
    pub kc: f64,
    /// Share of ET0 that keeps it in acceptable cover.
    pub need: f64,
    /// Days at wilting that it outlasts.
    pub survival_d: f64,
    /// Whether it is a cool-season grass.
    pub cool: bool,
    /// Whether it is a warm-season grass, which rests sooner in the year.
    pub warm: bool,
}

impl Case {
    /// Stress coefficient at which it gets just what it needs for acceptable cover, in steps of 0.02 so
    /// that species much alike share a run.
    pub fn green_ks(&self) -> f64 {
        let share = if self.kc > 0.0 { self.need / self.kc } else { 1.0 };
        (share.clamp(0.0, 1.0) * 50.0).round() / 50.0
    }

    /// The need as a share of the demand that a run takes it to have.
    pub fn need_of_demand(&self) -> f64 {
        let kc = f64::from(self.kc_fiftieths()) / 50.0;
        if kc > 0.0 { self.need / kc } else { 0.0 }
    }

    fn kc_fiftieths(&self) -> u32 {
        (self.kc * 50.0).round() as u32
    }

    /// The plant of a run, and the key under which its results are kept: whole millimetres and
    /// fiftieths, so that species much alike share a run.
    pub fn plant(&self, over: Years, growing: &Growing) -> (Rooted, Plant) {
        let key = Rooted {
            taw_mm: self.taw_mm.max(LEAST_STORE_MM).round() as u32,
            water_share_hundredths: (self.water_share * 100.0).round() as u32,
            kc_fiftieths: self.kc_fiftieths(),
            cool: self.cool,
            warm: self.warm,
            over,
        };
        let kc = f64::from(key.kc_fiftieths) / 50.0;
        let growing = if self.warm { &growing.warm } else { &growing.others };
        let first_d = if self.cool { FIRST_SURVIVAL_COOL_D } else { FIRST_SURVIVAL_OTHER_D };
        let plant = Plant {
            taw: Millimetres(f64::from(key.taw_mm)),
            water_share: f64::from(key.water_share_hundredths) / 100.0,
            p_table: if self.cool { P_COOL } else { P_OTHER },
            kc: growing.map(|share| kc * share),
            green_ks: self.green_ks(),
            survival: Some(SurvivalWatering {
                days_at_wilting: self.survival_d.clamp(1.0, first_d).round() as u32,
                days_between: SURVIVAL_EVERY_D,
                depth: Millimetres(SURVIVAL_DEPTH_MM),
            }),
        };
        (key, plant)
    }
}

/// Share of its demand in growth that a plant takes in each month: a resting one takes little.
#[derive(Clone, Debug, PartialEq)]
pub struct Growing {
    warm: [f64; 12],
    others: [f64; 12],
}

impl Growing {
    /// By the mean temperatures of the months, degrees C; without them all months count as growing.
    pub fn of(tmean_c: Option<[f64; 12]>) -> Self {
        // full growth from about 15 and 8 degrees on, rest at 5 and 0 (common practice)
        let share = |rest: f64, full: f64| {
            tmean_c.map_or([1.0; 12], |months| {
                months.map(|mean| ((mean - rest) / (full - rest)).clamp(AT_REST, 1.0))
            })
        };
        Self { warm: share(5.0, 15.0), others: share(0.0, 8.0) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What keeps a plant green is its need, whatever it would take of a moist soil.
    #[test]
    fn green_is_kept_at_the_need() {
        let case = |kc, need| Case {
            taw_mm: 60.0,
            water_share: 1.0,
            kc,
            need,
            survival_d: 30.0,
            cool: false,
            warm: false,
        };
        for (kc, need, ks) in [(0.8, 0.4, 0.5), (0.87, 0.7, 0.8), (0.5, 0.6, 1.0), (0.0, 0.0, 1.0)] {
            assert_eq!(case(kc, need).plant(Years::All(0), &Growing::of(None)).1.green_ks, ks);
        }
    }

    /// A grass of warm seasons rests where one of cool seasons still grows.
    #[test]
    fn a_resting_plant_takes_little() {
        let mut months = [20.0; 12];
        (months[0], months[1]) = (-4.0, 10.0);
        let growing = Growing::of(Some(months));
        assert_eq!((growing.warm[0], growing.warm[1], growing.warm[5]), (0.3, 0.5, 1.0));
        assert_eq!((growing.others[0], growing.others[1]), (0.3, 1.0));
    }
}
