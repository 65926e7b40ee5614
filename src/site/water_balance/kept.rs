//! Runs of the balance that were made already, kept with the days that they were made over: a site is
//! tried again and again with other inputs, and most of those leave most runs as they are.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::case::{Growing, Rooted};
use crate::site::soil_water::{Irrigation, WaterNeeds, Watered};

/// What was computed already.
#[derive(Debug)]
pub struct Memory<K, V>(Mutex<HashMap<K, V>>);

impl<K, V> Default for Memory<K, V> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<K: Eq + Hash, V: Clone> Memory<K, V> {
    /// The value of a key, where it is known.
    pub fn known(&self, key: &K) -> Option<V> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).get(key).cloned()
    }

    /// Keeps a value; two who ask at once may both compute it.
    pub fn keep(&self, key: K, value: V) -> V {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(key, value.clone());
        value
    }
}

/// The irrigation that a site allows, exact to the bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Allowed {
    days_per_week: u8,
    depth: u64,
    season_cap: Option<u64>,
    efficiency: u64,
}

impl From<&Irrigation> for Allowed {
    fn from(irrigation: &Irrigation) -> Self {
        Self {
            days_per_week: irrigation.days_per_week,
            depth: irrigation.depth.0.to_bits(),
            season_cap: irrigation.season_cap.map(|cap| cap.0.to_bits()),
            efficiency: irrigation.efficiency.to_bits(),
        }
    }
}

/// Runs over the days of one weather, with one runoff and one course of growth.
#[derive(Debug, Default)]
pub struct Runs {
    /// The balances under an allowance.
    pub balances: Memory<(Rooted, Allowed), Arc<Watered>>,
    /// Needs, by the days that a wilted plant lasts and by thousandths of the stress coefficient of green.
    pub needs: Memory<(Rooted, u32, u32), WaterNeeds>,
}

/// The runs that are kept with a weather: those of the first who asks, and of all whose runoff and growth
/// are the same.
#[derive(Debug, Default)]
pub struct KeptRuns(OnceLock<(f64, Growing, Arc<Runs>)>);

impl KeptRuns {
    /// The runs for a runoff by that curve number and for that course of growth; new ones, which nobody
    /// shares, where those kept are for others.
    pub fn of(&self, curve_number: f64, growing: &Growing) -> Arc<Runs> {
        let (number, course, runs) = self.0.get_or_init(|| (curve_number, growing.clone(), Arc::default()));
        let same = number.to_bits() == curve_number.to_bits() && course == growing;
        if same { runs.clone() } else { Arc::default() }
    }
}

/// Another weather begins with nothing kept.
impl Clone for KeptRuns {
    fn clone(&self) -> Self {
        Self::default()
    }
}

/// What was computed already makes no weather another.
impl PartialEq for KeptRuns {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_like_runoff_and_growth_share_their_runs() {
        let kept = KeptRuns::default();
        let (always, cold) = (Growing::of(None), Growing::of(Some([0.0; 12])));
        let first = kept.of(74.0, &always);
        assert!(Arc::ptr_eq(&first, &kept.of(74.0, &always)));
        for other in [kept.of(75.0, &always), kept.of(74.0, &cold), kept.clone().of(74.0, &always)] {
            assert!(!Arc::ptr_eq(&first, &other));
        }
    }
}
