//! What would change the answer: the smallest sets of changes within the client's reach that bring a
//! species to a class, each shown by running again.
//!
//! The search goes from what holds the species back to the inputs that it rests on, and through every
//! setting of theirs, up to [`MOST_CHANGES`] inputs at once. A number that helps is then brought as
//! near to the present one as it can be, by halving the stretch between the last setting that fails
//! and the first that does.

use std::collections::HashSet;

use crate::assess::reach::{Reach, below, reach};
use crate::assess::trial::{Obstacle, Setting, SiteLever, TrialKey, Trials, key, with};
use crate::assess::{Assessment, Candidate};
use crate::engine::value::Value;
use crate::knowledge::vocabulary::Change;
use crate::rank::{Class, Level};
use crate::site::SiteDays;
use crate::units::UnitSystem;

/// Inputs changed at once.
pub const MOST_CHANGES: usize = 3;
/// Sites tried for one species and class.
const MOST_TRIES: usize = 6000;
/// Halvings of a stretch between two settings.
const HALVINGS: usize = 30;

/// A set of changes that brings a species to a class.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// The changes, in the order of the vocabulary.
    pub settings: Vec<Setting>,
    /// The greatest effort among them.
    pub effort: Change,
    /// Whether they lift it, rather than leave it as it is and set the others back.
    pub lifts: bool,
}

/// What changes can do for a species.
#[derive(Clone, Debug, PartialEq)]
pub enum WhatIf {
    /// Every smallest set, the easiest first.
    Remedies(Vec<Remedy>),
    /// These together do, and fewer were not found.
    Many {
        /// The changes.
        settings: Vec<Setting>,
        /// Whether all sets of up to [`MOST_CHANGES`] were gone through.
        all_tried: bool,
    },
    /// Nothing that the client can change does: this stays.
    Never(Obstacle),
    /// None was found in the tries allowed, and none can be ruled out.
    Unsettled,
}

/// What was found, and what the search left out.
#[derive(Clone, Debug, PartialEq)]
pub struct Searched<T> {
    /// What was found.
    pub found: T,
    /// Inputs that bear on it and could be changed, but were left as they are because they are not stated.
    pub left_out: Vec<usize>,
}

/// The next better class, which a client would ask for; none for the best.
pub fn next_class(class: Class) -> Option<Class> {
    match class {
        Class::S1 => None,
        Class::S2 => Some(Class::S1),
        Class::S3 => Some(Class::S2),
        Class::N => Some(Class::S3),
    }
}

/// What would bring a candidate to a class; numbers are stated as those units print them.
pub fn what_if<'k>(
    assessment: &Assessment<'k>,
    candidate: &Candidate<'k>,
    class: Class,
    units: UnitSystem,
) -> Searched<WhatIf> {
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let trials = Trials::noting(assessment, days.as_ref());
    let mut search = Search {
        trials: &trials,
        candidate,
        below: below(class),
        found: Vec::new(),
        tried: HashSet::new(),
        left: MOST_TRIES,
    };
    for most in 1..=MOST_CHANGES {
        search.tried.clear();
        search.explore(&[], most);
    }
    if search.found.is_empty() {
        let all_tried = search.left > 0;
        let found = match reach(&trials, candidate, class) {
            Reach::Settings(settings) => WhatIf::Many { settings, all_tried },
            Reach::Never { obstacle, left_out } => {
                return Searched { found: WhatIf::Never(obstacle), left_out };
            }
            Reach::Unsettled => WhatIf::Unsettled,
        };
        return Searched { found, left_out: trials.left_out() };
    }
    let found = std::mem::take(&mut search.found);
    let mut remedies: Vec<(usize, usize, Remedy)> = found
        .into_iter()
        .map(|(size, settings)| {
            let settings =
                nearest_numbers(settings, assessment, &trials, units, &|settings| search.does(settings));
            let efforts = settings.iter().map(|one| search.lever(one.fact).effort);
            let work = efforts.clone().map(weight).sum();
            let effort = efforts.max().unwrap_or(Change::None);
            (work, size, Remedy { settings, effort, lifts: true })
        })
        .collect();
    remedies.sort_by_key(|(work, size, remedy)| {
        let facts: Vec<usize> = remedy.settings.iter().map(|one| one.fact).collect();
        (*work, facts.len(), *size, facts)
    });
    let remedies = remedies.into_iter().map(|(_, _, remedy)| remedy).collect();
    Searched { found: WhatIf::Remedies(remedies), left_out: trials.left_out() }
}

/// How much a change counts in the order: a costly one more than several cheap ones.
pub fn weight(effort: Change) -> usize {
    match effort {
        Change::None => 1,
        Change::Cheap => 10,
        Change::Costly | Change::Impossible => 100,
    }
}

struct Search<'s, 'a, 'k> {
    trials: &'s Trials<'a, 'k>,
    candidate: &'s Candidate<'k>,
    below: Level,
    /// Sets that do, each with how far its settings lie from the present ones, in steps.
    found: Vec<(usize, Vec<Setting>)>,
    tried: HashSet<TrialKey>,
    left: usize,
}

impl Search<'_, '_, '_> {
    /// Tries all that may help within so many more changes.
    fn explore(&mut self, settings: &[Setting], most: usize) {
        let site = self.trials.site(settings);
        let seen = self.trials.see(self.candidate, settings, &site);
        let obstacles = seen.obstacles(self.below);
        if obstacles.is_empty() {
            self.keep(settings);
            return;
        }
        if settings.len() == most {
            return;
        }
        let mut fewest: Option<Vec<usize>> = None;
        for obstacle in obstacles {
            let mut levers = self.trials.levers_on(obstacle, &site);
            levers.retain(|at| settings.iter().all(|one| one.fact != self.trials.levers[*at].fact));
            if fewest.as_ref().is_none_or(|fewest| levers.len() < fewest.len()) {
                fewest = Some(levers);
            }
        }
        for at in fewest.into_iter().flatten() {
            let lever = &self.trials.levers[at];
            for value in &lever.settings {
                let more = with(settings, Setting { fact: lever.fact, value: value.clone() });
                if self.left == 0 || self.holds_a_set(&more) || !self.tried.insert(key(&more)) {
                    continue;
                }
                self.left -= 1;
                self.explore(&more, most);
            }
        }
    }

    /// Whether fewer of these inputs are known to do.
    fn holds_a_set(&self, settings: &[Setting]) -> bool {
        let among = |fact: usize| settings.iter().any(|one| one.fact == fact);
        let fewer = |found: &Vec<Setting>| found.len() < settings.len();
        self.found.iter().any(|(_, found)| fewer(found) && found.iter().all(|one| among(one.fact)))
    }

    /// Keeps a set, unless the same inputs do with less.
    fn keep(&mut self, settings: &[Setting]) {
        let size = settings.iter().map(|one| self.steps(one)).sum();
        let same = |found: &[Setting]| {
            found.len() == settings.len() && found.iter().zip(settings).all(|(one, own)| one.fact == own.fact)
        };
        match self.found.iter_mut().find(|(_, found)| same(found)) {
            Some(known) if known.0 > size => *known = (size, settings.to_vec()),
            Some(_) => {}
            None => self.found.push((size, settings.to_vec())),
        }
    }

    fn lever(&self, fact: usize) -> &SiteLever {
        let at = self.trials.levers.iter().position(|lever| lever.fact == fact).unwrap_or(0);
        &self.trials.levers[at]
    }

    /// How many steps a setting lies from the present one.
    fn steps(&self, setting: &Setting) -> usize {
        self.lever(setting.fact).settings.iter().position(|own| *own == setting.value).unwrap_or(0)
    }

    fn does(&self, settings: &[Setting]) -> bool {
        let site = self.trials.site_anew(settings);
        self.trials.see(self.candidate, settings, &site).obstacles(self.below).is_empty()
    }
}

/// Brings every number of a set that does as near to the present one as it can be, rounded so that it
/// still does.
pub fn nearest_numbers(
    settings: Vec<Setting>,
    assessment: &Assessment<'_>,
    trials: &Trials<'_, '_>,
    units: UnitSystem,
    does: &dyn Fn(&[Setting]) -> bool,
) -> Vec<Setting> {
    let mut settings = settings;
    for at in 0..settings.len() {
        let fact = settings[at].fact;
        let now = assessment.site.values[fact].as_ref().and_then(|(value, _)| value.as_number());
        let Some(far) = settings[at].value.as_number() else { continue };
        let declared = &assessment.knowledge.vocabulary.site[fact];
        let Some(now) = now else {
            // from nowhere nothing is nearer: only to what can be printed
            let near = [(true, 0), (false, 0), (true, 1), (false, 1)].into_iter();
            let mut near = near.filter_map(|(upward, steps)| declared.next_stated(units, far, upward, steps));
            let mut with_number = |number: f64| {
                settings[at].value = Value::Number(number);
                does(&settings)
            };
            let kept = near.find(|told| with_number(*told)).unwrap_or(far);
            settings[at].value = Value::Number(kept);
            continue;
        };
        let lever = trials.levers.iter().find(|lever| lever.fact == fact);
        let own = lever.into_iter().flat_map(|lever| &lever.settings).filter_map(Value::as_number);
        // the setting before it on the same side, which fails
        let between =
            own.filter(|own| (own - now) * (far - now) > 0.0 && (own - now).abs() < (far - now).abs());
        let fails =
            between.fold(now, |last, own| if (own - now).abs() > (last - now).abs() { own } else { last });
        let mut with_number = |number: f64| {
            settings[at].value = Value::Number(number);
            does(&settings)
        };
        let (mut low, mut high) = (fails, far);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if with_number(middle) { high = middle } else { low = middle }
        }
        let printed = |steps| declared.next_stated(units, high, far > now, steps);
        // where the border itself does not do, the next number that can be printed does
        let kept = (0..=1).filter_map(printed).find(|told| with_number(*told)).unwrap_or(far);
        settings[at].value = Value::Number(kept);
    }
    settings
}
