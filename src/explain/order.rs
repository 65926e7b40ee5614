//! The order of the candidates on changed sites: who stands first, and whether a change lifts a candidate.

use std::sync::atomic::{AtomicUsize, Ordering};

use crate::assess::Assessment;
use crate::assess::need_memory::{NeedMemory, SiteKeys};
use crate::assess::trial::{Setting, Trials, TriedSite};
use crate::rank::{Class, Entry, place};

/// Index points that are lost in adding.
const ROUNDING: f64 = 1e-6;

/// The order on changed sites.
pub(super) struct Order<'o, 'a, 'k> {
    assessment: &'o Assessment<'k>,
    trials: &'o Trials<'a, 'k>,
    memory: NeedMemory,
    /// Who was before the one asked for the last time; whoever it is, the answer is the same.
    rival: AtomicUsize,
}

/// A tried site, with what each need rests on there.
pub(super) struct Tried<'a> {
    site: TriedSite<'a>,
    keys: SiteKeys,
}

impl<'o, 'a, 'k> Order<'o, 'a, 'k> {
    pub(super) fn new(assessment: &'o Assessment<'k>, trials: &'o Trials<'a, 'k>) -> Self {
        let memory = NeedMemory::new(assessment.knowledge.needs.all.len());
        Self { assessment, trials, memory, rival: AtomicUsize::new(0) }
    }

    pub(super) fn site(&self, settings: &[Setting]) -> Tried<'a> {
        let site = self.trials.site_anew(settings);
        let keys = SiteKeys::of(self.trials, &site);
        Tried { site, keys }
    }

    pub(super) fn entry(&self, at: usize, on: &Tried<'a>) -> Entry<usize> {
        let standing = self.memory.standing(self.trials, at, &on.site, &on.keys);
        Entry { id: at, class: standing.class, index: standing.index }
    }

    /// Who stands first, and the place of one candidate; `None` where it is refused. Positions are
    /// those of the candidates, and ids break what is equal to the last digit.
    pub(super) fn on(&self, one: usize, on: &Tried<'a>) -> (Option<usize>, Option<usize>) {
        let candidates = &self.assessment.candidates;
        let entries: Vec<Entry<&str>> = (0..candidates.len())
            .map(|at| {
                let Entry { class, index, .. } = self.entry(at, on);
                Entry { id: candidates[at].species.id.as_str(), class, index }
            })
            .collect();
        let refused = entries[one].class == Class::N;
        let own_id = entries[one].id;
        let places = place(&entries, self.assessment.knowledge.needs.tie_within);
        let first = places.first().map(|place| place.id);
        let own = places.iter().find(|place| place.id == own_id).map(|place| place.rank);
        let suited = |at: &usize| entries[*at].class != Class::N;
        let first = candidates.iter().position(|own| Some(own.species.id.as_str()) == first).filter(suited);
        (first, own.filter(|_| !refused))
    }

    /// Whether a candidate stands first, or shares the place, by a change that leaves it no lower, or by several of
    /// which every one lifts it: piling up what only sets others back is nobody's advice.
    pub(super) fn leads(&self, settings: &[Setting], one: usize) -> bool {
        let on = self.site(settings);
        let tie_within = self.assessment.knowledge.needs.tie_within;
        let own = self.entry(one, &on);
        let now = &self.assessment.candidates[one].standing;
        if own.class == Class::N || own.class > now.class || own.index < now.index - ROUNDING {
            return false;
        }
        // whoever does not reach the first of today, or the one before it the last time, cannot lead
        let beats = |rival: usize| {
            let rival = self.entry(rival, &on);
            rival.class != Class::N && own.index + tie_within + ROUNDING < rival.index
        };
        if beats(self.rival.load(Ordering::Relaxed)) || beats(0) {
            return false;
        }
        let (first, place) = self.on(one, &on);
        self.rival.store(first.unwrap_or_default(), Ordering::Relaxed);
        place == Some(1) && (settings.len() == 1 || self.each_lifts(settings, &own))
    }

    /// Whether a candidate stands higher than now.
    pub(super) fn lifts(&self, settings: &[Setting], one: usize) -> bool {
        let now = &self.assessment.candidates[one].standing;
        lifted(&Entry { id: one, class: now.class, index: now.index }, &self.entry(one, &self.site(settings)))
    }

    /// Whether a candidate would stand lower without any one of the changes.
    fn each_lifts(&self, settings: &[Setting], own: &Entry<usize>) -> bool {
        (0..settings.len()).all(|at| {
            let mut fewer = settings.to_vec();
            fewer.remove(at);
            lifted(&self.entry(own.id, &self.site(&fewer)), own)
        })
    }
}

/// Whether a candidate stands higher than it did, by more than rounding.
fn lifted(before: &Entry<usize>, after: &Entry<usize>) -> bool {
    after.class != Class::N && (before.class == Class::N || after.index > before.index + ROUNDING)
}
