//! Whether a refused species could be suited by what the client can change: the split of class N
//! into N1 and N2, by running again.
//!
//! Exact as far as it goes: that nothing helps is said only where an obstacle rests on no input that
//! can be changed, or stays through every combination of those it rests on; that something helps
//! only where a run with the changes shows it. Where the tries run out the class stays N.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use super::Candidate;
use super::trial::{Obstacle, Setting, TrialKey, Trials, TriedSite, key, with};
use crate::engine::positions::Positions;
use crate::engine::value::Value;
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
    /// Nothing that the client can change does.
    Never {
        /// The obstacle that stays.
        obstacle: Obstacle,
        /// Inputs on which it may rest and that could be changed, but are not stated: left as they are.
        left_out: Vec<usize>,
    },
    /// Neither was found in the tries allowed.
    Unsettled,
}

/// Whether changes bring a candidate to a class.
pub fn reach<'k>(trials: &Trials<'_, 'k>, candidate: &Candidate<'k>, class: Class) -> Reach {
    let below = below(class);
    let search = Search { trials, candidate, below, met: RefCell::default() };
    let site = trials.site(&[]);
    let mut obstacles: Vec<(usize, Obstacle)> = search
        .obstacles(&[], &site)
        .iter()
        .map(|obstacle| {
            let obstacle = *obstacle;
            let levers = trials.levers_on(obstacle, &site);
            (levers.iter().map(|at| trials.levers[*at].settings.len()).sum(), obstacle)
        })
        .collect();
    // what takes the fewest tries first: one that stays, whatever the client has to say, is enough
    obstacles.sort_by_key(|(settings, _)| *settings);
    let mut stays: Option<(Obstacle, Vec<usize>)> = None;
    for (_, obstacle) in obstacles {
        let mut tries = Tries::new(MOST_COMBINATIONS);
        if search.gives_way(obstacle, &[], &mut tries) || tries.left == 0 {
            continue;
        }
        let left_out: Vec<usize> = tries.left_out.iter().collect();
        if stays.as_ref().is_none_or(|(_, fewest)| left_out.len() < fewest.len()) {
            let is_firm = left_out.is_empty();
            stays = Some((obstacle, left_out));
            if is_firm {
                break;
            }
        }
    }
    if let Some((obstacle, left_out)) = stays {
        return Reach::Never { obstacle, left_out };
    }
    match search.all_give_way(&[], &mut Tries::new(MOST_TRIES)) {
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

/// What was tried, and how much more may be.
struct Tries {
    left: usize,
    tried: HashSet<TrialKey>,
    /// Inputs that are not stated on which an obstacle may rest on one of the sites tried.
    left_out: Positions,
}

impl Tries {
    fn new(left: usize) -> Self {
        Self { left, tried: HashSet::new(), left_out: Positions::default() }
    }

    /// Whether settings are new, and may be tried.
    fn take(&mut self, settings: &[Setting]) -> bool {
        if self.left == 0 || !self.tried.insert(key(settings)) {
            return false;
        }
        self.left -= 1;
        true
    }
}

/// Goes through the settings of levers, one lever after another, the farthest setting first: what
/// helps mostly helps more the farther it goes.
struct Search<'s, 'a, 'k> {
    trials: &'s Trials<'a, 'k>,
    candidate: &'s Candidate<'k>,
    below: Level,
    /// Obstacles met under settings that were tried already.
    met: RefCell<HashMap<TrialKey, Rc<[Obstacle]>>>,
}

impl<'a> Search<'_, 'a, '_> {
    /// What stands in the way under some settings, on the site that they make.
    fn obstacles(&self, settings: &[Setting], site: &TriedSite<'a>) -> Rc<[Obstacle]> {
        let key = key(settings);
        let known = self.met.borrow().get(&key).cloned();
        known.unwrap_or_else(|| {
            let met: Rc<[_]> = self.trials.see(self.candidate, settings, site).obstacles(self.below).into();
            self.met.borrow_mut().insert(key, met.clone());
            met
        })
    }

    /// Whether one obstacle gives way in some combination of all that it rests on.
    fn gives_way(&self, obstacle: Obstacle, settings: &[Setting], tries: &mut Tries) -> bool {
        let site = self.trials.site(settings);
        self.trials.note_unstated_on(obstacle, &site, &mut tries.left_out);
        let stands = match obstacle {
            Obstacle::Rule(rule) => self.trials.rule_stands(self.candidate, rule, &site, self.below),
            Obstacle::Need(_) => self.obstacles(settings, &site).contains(&obstacle),
        };
        !stands
            || self
                .further(obstacle, self.trials.levers_on(obstacle, &site), settings, 1)
                .any(|more| tries.take(&more) && self.gives_way(obstacle, &more, tries))
    }

    /// Settings under which all obstacles give way together.
    fn all_give_way(&self, settings: &[Setting], tries: &mut Tries) -> Option<Vec<Setting>> {
        let site = self.trials.site(settings);
        let obstacles = self.obstacles(settings, &site);
        if obstacles.is_empty() {
            return Some(settings.to_vec());
        }
        let open = |at: &usize| settings.iter().all(|one| one.fact != self.trials.levers[*at].fact);
        let levers = obstacles.iter().map(|obstacle| {
            let mut levers = self.trials.levers_on(*obstacle, &site);
            levers.retain(open);
            // what can only help is the likeliest to
            levers.sort_by_key(|at| !self.trials.most_serves(*obstacle, *at));
            (*obstacle, levers)
        });
        let (obstacle, fewest) = levers.min_by_key(|(_, levers)| levers.len())?;
        self.further(obstacle, fewest, settings, usize::MAX)
            .find_map(|more| tries.take(&more).then(|| self.all_give_way(&more, tries)).flatten())
    }

    /// The settings with one more lever set, every way in turn; of what more of it never harms, only the ways that
    /// are more than now, and no further ones than `of_serving`: less of it makes no obstacle give way.
    fn further<'t>(
        &'t self,
        obstacle: Obstacle,
        levers: Vec<usize>,
        settings: &'t [Setting],
        of_serving: usize,
    ) -> impl Iterator<Item = Vec<Setting>> + 't {
        let open = |at: &usize| settings.iter().all(|one| one.fact != self.trials.levers[*at].fact);
        levers.into_iter().filter(open).flat_map(move |at| {
            let lever = &self.trials.levers[at];
            let ways: Vec<&Value> = if self.trials.most_serves(obstacle, at) {
                lever.more().into_iter().take(of_serving).collect()
            } else {
                lever.settings.iter().rev().collect()
            };
            ways.into_iter().map(|value| with(settings, Setting { fact: lever.fact, value: value.clone() }))
        })
    }
}
