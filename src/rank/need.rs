//! One need of one candidate: what is known of its level, and the level that counts.

use super::class::BORDER_DISTANCE;
use super::index::Weight;
use super::level::{Level, Rating};

/// A saving can go no lower than this level in the index: a saving that is not made is a pity, not
/// a refusal, and a rating of 0 would wipe out every difference between the other needs.
const WORST_SAVING: Level = Level::VERY_SEVERE;

/// Whether every rule on a need could be decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Openness {
    /// All rules that might raise the level were decided.
    #[default]
    Decided,
    /// A fact about the site is missing, and a rule reading it might raise the level.
    SiteFact,
    /// A trait of the candidate is missing, and a rule reading it might raise the level; the level
    /// given already rests on the cautious estimate for its group.
    Trait,
}

/// One need of one candidate.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedState<N> {
    /// Which need; each occurs once in a candidate.
    pub need: N,
    /// The worst of the ratings and limits of all rules that were decided, or were decided with an
    /// estimated trait.
    pub level: Level,
    /// The level if what is missing comes out best.
    pub best: Level,
    /// The level if what is missing comes out worst. Not looked at when decided.
    pub worst: Level,
    /// The mean level over the plausible range of the missing site fact, or of what is too little to ask for.
    pub expected: Level,
    /// Whether the need is open, and on what.
    pub open: Openness,
    /// A saving (water, upkeep, green season): counts in the index, never in the class.
    pub is_saving: bool,
    /// Weight in the index. No weight lifts a refusal: the class does not see it.
    pub weight: Weight,
    /// A key need of the purpose: open, it keeps the candidate out of S1 where it may cost S1.
    pub key: bool,
    /// True where the level was computed from an observation along a scale, false where a rule
    /// states a step outright. Only a computed level can lie "near" a border; a limit stated as
    /// moderate is S2, not S1/S2.
    pub graded: bool,
}

impl<N> NeedState<N> {
    /// A need on which everything is decided, with weight 1, computed along a scale, no key need
    /// and no saving.
    #[must_use]
    pub fn decided(need: N, level: Level) -> NeedState<N> {
        NeedState {
            need,
            level,
            best: level,
            worst: level,
            expected: level,
            open: Openness::Decided,
            is_saving: false,
            weight: Weight::ONE,
            key: false,
            graded: true,
        }
    }

    /// The level that the class is built on.
    ///
    /// As [`NeedState::counted`], but an open key need is at least what [`NeedState::held_at`] says, which
    /// is what keeps the candidate at S2.
    #[must_use]
    pub fn used(&self) -> Level {
        self.counted().max(self.held_at().unwrap_or(Level::NONE))
    }

    /// The level that an open key need counts as at least: moderate (level 2), or the worst that it may
    /// come to where that is less. What is S1 whatever comes is not kept out of S1 for not being known.
    #[must_use]
    pub fn held_at(&self) -> Option<Level> {
        self.is_open_key().then(|| Level::MODERATE.min(self.worst.max(self.level)))
    }

    /// The level that the index counts.
    ///
    /// The level given, or what is sure to come; with a missing site fact the mean over its plausible
    /// range, though never better than what the decided rules alone give, since a mean must not soften
    /// a refusal. A saving goes no lower than very severe (level 4).
    #[must_use]
    pub fn counted(&self) -> Level {
        let level = self.estimate();
        if self.is_saving { level.min(WORST_SAVING) } else { level }
    }

    /// The rating of [`NeedState::counted`].
    #[must_use]
    pub fn rating(&self) -> Rating {
        self.counted().rating()
    }

    /// Whether it is a key need of the purpose that is open.
    #[must_use]
    pub fn is_open_key(&self) -> bool {
        self.key && !self.is_saving && self.open != Openness::Decided
    }

    pub(super) fn estimate(&self) -> Level {
        match self.open {
            // the mean too of what is too little to ask for, so that nothing jumps where it becomes enough
            Openness::SiteFact | Openness::Decided => self.level.max(self.expected),
            Openness::Trait => self.level,
        }
    }

    /// The level if all that is missing comes out best. The cap on open key needs is not applied:
    /// once the fact is known, the need is open no longer.
    pub(super) fn lowest(&self) -> Level {
        match self.open {
            Openness::Decided => self.estimate(),
            // Rules that were decided stay decided, whatever the missing fact turns out to be.
            Openness::SiteFact => self.best.max(self.level).min(self.estimate()),
            Openness::Trait => self.best.min(self.level),
        }
    }

    /// The level if all that is missing comes out worst.
    pub(super) fn highest(&self) -> Level {
        match self.open {
            Openness::Decided => self.estimate(),
            Openness::SiteFact | Openness::Trait => self.worst.max(self.used()),
        }
    }

    /// The levels between which this need lies, a tenth either way where it was computed.
    pub(super) fn span(&self) -> (Level, Level) {
        let used = self.used();
        if !self.graded {
            return (used, used);
        }
        let mut lower = used.shifted(-BORDER_DISTANCE);
        // The cap of an open key need is a rule, not a measurement: no margin below it.
        if let Some(held) = self.held_at() {
            lower = lower.max(held);
        }
        (lower, used.shifted(BORDER_DISTANCE))
    }
}
