//! Whether a refused species could be suited by what the client can change: the split of class N
//! into N1 and N2, by running again.
//!
//! Exact as far as it goes: that nothing helps is said only where an obstacle rests on no input that
//! can be changed, or stays through every combination of those it rests on; that something helps
//! only where a run with the changes shows it. Where the tries run out the class stays N.

use std::cell::RefCell;
use std::collections::HashSet;

use super::Candidate;
use super::trial::{Obstacle, Seen, Setting, TrialKey, Trials, TriedSite, key};
use crate::rank::{Class, Level};

/// Combinations of settings tried on one obstacle.
const MOST_COMBINATIONS: usize = 3000;
/// Sites tried for one species.
const MOST_TRIES: usize = 1000;

/// What changes can do for a species.
#[derive(Clone, Debug, PartialEq)]
pub enum Reach {
    /// These settings bring it to the class.
    Settings(Vec<Setting>),
    /// Nothing that the client can change does; the obstacle that stays.
    Never(Obstacle),
    /// Neither was found in the tries allowed.
    Unsettled,
}

/// Whether changes bring a candidate to a class.
pub fn reach<'k>(trials: &Trials<'_, 'k>, candidate: &Candidate<'k>, class: Class) -> Reach {
    let below = below(class);
    let site = trials.site(&[]);
    let seen = trials.see(candidate, &[], &site);
    let obstacles = seen.obstacles(below);
    for obstacle in &obstacles {
        if trials.levers_on(*obstacle, &site).is_empty() {
            return Reach::Never(*obstacle);
        }
    }
    for obstacle in &obstacles {
        let mut left = MOST_COMBINATIONS;
        let gives_way = |seen: &Seen<'_>| !stands(seen, *obstacle, below);
        let search = Search {
            trials,
            candidate,
            below,
            gives_way: &gives_way,
            only: Some(*obstacle),
            tried: RefCell::default(),
        };
        match search.from(&[], &mut left) {
            Some(_) => {}
            None if left > 0 => return Reach::Never(*obstacle),
            None => {}
        }
    }
    let mut left = MOST_TRIES;
    let free = |seen: &Seen<'_>| seen.obstacles(below).is_empty();
    let search = Search { trials, candidate, below, gives_way: &free, only: None, tried: RefCell::default() };
    match search.from(&[], &mut left) {
        Some(settings) => Reach::Settings(settings),
        None => Reach::Unsettled,
    }
}

/// The level that every need must lie below for a class.
pub fn below(class: Class) -> Level {
    match class {
        Class::S1 => Level::MODERATE,
        Class::S2 => Level::SEVERE,
        Class::S3 | Class::N => Level::VERY_SEVERE,
    }
}

/// Whether an obstacle is still there.
fn stands(seen: &Seen<'_>, obstacle: Obstacle, below: Level) -> bool {
    seen.obstacles(below).contains(&obstacle)
}

/// Goes through the settings of the levers that some obstacle rests on, one lever after another.
struct Search<'s, 'a, 'k> {
    trials: &'s Trials<'a, 'k>,
    candidate: &'s Candidate<'k>,
    below: Level,
    gives_way: &'s dyn Fn(&Seen<'_>) -> bool,
    /// The one obstacle looked at, or all in turn.
    only: Option<Obstacle>,
    tried: RefCell<HashSet<TrialKey>>,
}

impl Search<'_, '_, '_> {
    fn from(&self, settings: &[Setting], left: &mut usize) -> Option<Vec<Setting>> {
        let site = self.trials.site(settings);
        let seen = self.trials.see(self.candidate, settings, &site);
        if (self.gives_way)(&seen) {
            return Some(settings.to_vec());
        }
        let levers = self.next(&seen, settings, &site)?;
        for at in levers {
            let lever = &self.trials.levers[at];
            for value in lever.settings.iter().rev() {
                let mut more = settings.to_vec();
                let turn = more.partition_point(|one| one.fact < lever.fact);
                more.insert(turn, Setting { fact: lever.fact, value: value.clone() });
                if !self.tried.borrow_mut().insert(key(&more)) {
                    continue;
                }
                *left = left.checked_sub(1)?;
                let found = self.from(&more, left);
                if found.is_some() || *left == 0 {
                    return found;
                }
            }
        }
        None
    }

    /// The levers on the obstacle that the fewest bear on; `None` where one stands that none does.
    fn next(&self, seen: &Seen<'_>, settings: &[Setting], site: &TriedSite<'_>) -> Option<Vec<usize>> {
        let obstacles = match self.only {
            Some(obstacle) => vec![obstacle],
            None => seen.obstacles(self.below),
        };
        let mut fewest: Option<Vec<usize>> = None;
        for obstacle in obstacles {
            let mut levers = self.trials.levers_on(obstacle, site);
            levers.retain(|at| settings.iter().all(|one| one.fact != self.trials.levers[*at].fact));
            if levers.is_empty() {
                return None;
            }
            if fewest.as_ref().is_none_or(|fewest| levers.len() < fewest.len()) {
                fewest = Some(levers);
            }
        }
        fewest
    }
}
