//! Needs of species on tried sites, each computed once for the settings that it rests on: of many inputs changed
//! at once most needs see one or none, so that a thousand combinations come down to few runs.

use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};

use super::trial::{TrialKey, Trials, TriedSite};
use crate::rank::{NeedState, Standing};

/// What each need of a species came to, by species and by the settings that the need rests on.
pub struct NeedMemory {
    needs: Vec<RwLock<OfOne>>,
}

/// One need by species and by the settings that it rests on.
type OfOne = HashMap<(usize, Arc<TrialKey>), NeedState<usize>>;

/// For each need the settings of a site that it rests on.
pub struct SiteKeys(Vec<Arc<TrialKey>>);

impl NeedMemory {
    /// Nothing computed yet.
    pub fn new(needs: usize) -> Self {
        Self { needs: (0..needs).map(|_| RwLock::default()).collect() }
    }

    /// Where a candidate, by position, stands on a tried site.
    pub fn standing<'a>(
        &self,
        trials: &Trials<'a, '_>,
        candidate: usize,
        on: &TriedSite<'a>,
        keys: &SiteKeys,
    ) -> Standing<usize> {
        let known: Vec<Option<NeedState<usize>>> = self
            .needs
            .iter()
            .zip(&keys.0)
            .map(|(need, key)| {
                let need = need.read().unwrap_or_else(PoisonError::into_inner);
                need.get(&(candidate, key.clone())).cloned()
            })
            .collect();
        let missing: Vec<usize> = (0..known.len()).filter(|need| known[*need].is_none()).collect();
        let mut computed = trials.needs(candidate, &missing, on).into_iter();
        let states: Vec<NeedState<usize>> = known
            .into_iter()
            .enumerate()
            .filter_map(|(need, known)| {
                known.or_else(|| {
                    let state = computed.next()?;
                    let mut all = self.needs[need].write().unwrap_or_else(PoisonError::into_inner);
                    all.insert((candidate, keys.0[need].clone()), state.clone());
                    Some(state)
                })
            })
            .collect();
        super::candidate::standing(&states)
    }
}

impl SiteKeys {
    /// The settings of a tried site that each need rests on.
    pub fn of(trials: &Trials<'_, '_>, on: &TriedSite<'_>) -> Self {
        Self(trials.rested_on(on).into_iter().map(Arc::new).collect())
    }
}
