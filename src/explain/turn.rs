//! What would turn the order: what brings a species to first place, and how far each input of the site
//! may move before the first choice falls, and to whom. Everything is shown by running again.

use super::what_if::{Remedy, nearest_numbers, weight};
use crate::assess::trial::{Setting, SiteLever, Trials, TriedSite, with};
use crate::assess::Assessment;
use crate::engine::value::Value;
use crate::knowledge::vocabulary::{Change, From, Kind};
use crate::rank::{Class, Entry, place};
use crate::side_by_side::side_by_side;
use crate::site::SiteDays;
use crate::units::UnitSystem;

/// Inputs changed at once to bring a species to first place. (A third would take a thousand times as
/// long: every other species moves with the site.)
pub const MOST_CHANGES: usize = 2;
/// Settings of a number tried on either side of the present one, closer together near it.
const STEPS: i32 = 24;
/// Halvings of a stretch between two settings.
const HALVINGS: usize = 30;

/// What changes can do for a species that is not first.
#[derive(Clone, Debug, PartialEq)]
pub enum ToFirst {
    /// It is first, or shares the place.
    First,
    /// The smallest sets that bring it there, the easiest first.
    Remedies(Vec<Remedy>),
    /// No two changes do.
    None,
}

/// An input whose move makes the first choice fall.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// The setting at which it has fallen.
    pub at: Setting,
    /// Whether that is more of it than now; `None` where the input has no more and less.
    pub upward: Option<bool>,
    /// Id of the species that stands first then.
    pub first_then: String,
    /// The place of the first choice then; `None` where it is refused.
    pub place_then: Option<usize>,
}

/// How far the inputs may move.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Turns {
    /// What makes the first choice fall, in the order of the vocabulary.
    pub turns: Vec<Turn>,
    /// Inputs that were moved through all their settings without its falling.
    pub firm: Vec<usize>,
}

/// The order on changed sites.
struct Order<'o, 'a, 'k> {
    assessment: &'o Assessment<'k>,
    trials: &'o Trials<'a, 'k>,
}

impl<'a> Order<'_, 'a, '_> {
    fn entry(&self, at: usize, settings: &[Setting], on: &TriedSite<'a>) -> Entry<usize> {
        let standing = self.trials.standing(&self.assessment.candidates[at], settings, on);
        Entry { id: at, class: standing.class, index: standing.index }
    }

    /// Who stands first, and the place of one candidate; `None` where it is refused. Positions are
    /// those of the candidates, and ids break what is equal to the last digit.
    fn on(&self, settings: &[Setting], one: usize, on: &TriedSite<'a>) -> (usize, Option<usize>) {
        let candidates = &self.assessment.candidates;
        let entries: Vec<Entry<&str>> = (0..candidates.len())
            .map(|at| {
                let Entry { class, index, .. } = self.entry(at, settings, on);
                Entry { id: candidates[at].species.id.as_str(), class, index }
            })
            .collect();
        let refused = entries[one].class == Class::N;
        let own_id = entries[one].id;
        let places = place(&entries, self.assessment.knowledge.needs.tie_within);
        let first = places.first().map_or("", |place| place.id);
        let own = places.iter().find(|place| place.id == own_id).map(|place| place.rank);
        let first = candidates.iter().position(|own| own.species.id == first).unwrap_or(0);
        (first, own.filter(|_| !refused))
    }

    /// Whether a candidate stands first, or shares the place.
    fn leads(&self, settings: &[Setting], one: usize) -> bool {
        let on = self.trials.site_anew(settings);
        let tie_within = self.assessment.knowledge.needs.tie_within;
        // whoever does not reach the first of today cannot lead, and that is soon seen
        let (own, first) = (self.entry(one, settings, &on), self.entry(0, settings, &on));
        if own.class == Class::N || (first.class != Class::N && own.index + tie_within + 1e-6 < first.index) {
            return false;
        }
        self.on(settings, one, &on).1 == Some(1)
    }
}

/// What would bring a candidate to first place.
pub fn to_first(assessment: &Assessment<'_>, id: &str, units: UnitSystem) -> ToFirst {
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let trials = Trials::new(assessment, days.as_ref());
    let order = Order { assessment, trials: &trials };
    let Some(one) = assessment.candidates.iter().position(|own| own.species.id == id) else {
        return ToFirst::None;
    };
    if assessment.candidates[one].rank == 1 && assessment.candidates[one].standing.class != Class::N {
        return ToFirst::First;
    }
    let single = |lever: &SiteLever| -> Vec<Vec<Setting>> {
        let set = |value: &Value| vec![Setting { fact: lever.fact, value: value.clone() }];
        lever.settings.iter().map(set).collect()
    };
    let first_that_leads =
        |sets: &[Vec<Setting>]| sets.iter().position(|set| order.leads(set, one)).map(|at| sets[at].clone());
    let alone: Vec<Option<Vec<Setting>>> =
        side_by_side(&trials.levers, |lever| first_that_leads(&single(lever)));
    let helps_alone = |at: usize| alone[at].is_some();
    let pairs: Vec<(usize, usize)> = (0..trials.levers.len())
        .flat_map(|at| (at + 1..trials.levers.len()).map(move |other| (at, other)))
        .filter(|(at, other)| !helps_alone(*at) && !helps_alone(*other))
        .collect();
    let together: Vec<Option<Vec<Setting>>> = side_by_side(&pairs, |(at, other)| {
        let (near, far) = (&trials.levers[*at], &trials.levers[*other]);
        let mut sets: Vec<(usize, Vec<Setting>)> = Vec::new();
        for (steps, first) in single(near).into_iter().enumerate() {
            for (more, value) in far.settings.iter().enumerate() {
                let second = Setting { fact: far.fact, value: value.clone() };
                sets.push((steps + more, with(&first, second)));
            }
        }
        sets.sort_by_key(|(steps, _)| *steps);
        first_that_leads(&sets.into_iter().map(|(_, set)| set).collect::<Vec<_>>())
    });
    let lever = |fact: usize| trials.levers.iter().find(|lever| lever.fact == fact);
    let mut remedies: Vec<Remedy> = alone
        .into_iter()
        .chain(together)
        .flatten()
        .map(|settings| {
            let settings =
                nearest_numbers(settings, assessment, &trials, units, &|settings| order.leads(settings, one));
            let efforts = settings.iter().filter_map(|one| Some(lever(one.fact)?.effort));
            Remedy { effort: efforts.max().unwrap_or(Change::None), settings }
        })
        .collect();
    remedies.sort_by_key(|remedy| {
        let work: usize =
            remedy.settings.iter().filter_map(|one| Some(weight(lever(one.fact)?.effort))).sum();
        (work, remedy.settings.len(), remedy.settings.iter().map(|one| one.fact).collect::<Vec<_>>())
    });
    if remedies.is_empty() { ToFirst::None } else { ToFirst::Remedies(remedies) }
}

/// How far each input that the site file states may move before the first choice falls. Inputs that
/// make the climate are left alone: a warmer place is another place.
pub fn turns(assessment: &Assessment<'_>, units: UnitSystem) -> Turns {
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let trials = Trials::new(assessment, days.as_ref());
    let order = Order { assessment, trials: &trials };
    if assessment.candidates.first().is_none_or(|first| first.standing.class == Class::N) {
        return Turns::default();
    }
    let vocabulary = &assessment.knowledge.vocabulary;
    let moved = |fact: &usize| {
        let declared = &vocabulary.site[*fact];
        let section = declared.key.as_ref().map_or("", |key| key.section.as_str());
        declared.from == From::File
            && !trials.makes_climate(*fact)
            && section != "place"
            && section != "climate"
            && !section.is_empty()
    };
    let facts: Vec<usize> = (0..vocabulary.site.len())
        .filter(|fact| assessment.site.values[*fact].is_some())
        .filter(moved)
        .collect();
    let falls = |fact: usize, value: Value| -> Option<(Setting, usize, Option<usize>)> {
        let setting = Setting { fact, value };
        let on = trials.site_anew(std::slice::from_ref(&setting));
        let (first, place) = order.on(std::slice::from_ref(&setting), 0, &on);
        (place != Some(1)).then_some((setting, first, place))
    };
    let found: Vec<(bool, Vec<Turn>)> = side_by_side(&facts, |fact| {
        let turn = |(at, first, place_then): (Setting, usize, Option<usize>), upward| Turn {
            at,
            upward,
            first_then: assessment.candidates[first].species.id.clone(),
            place_then,
        };
        let declared = &vocabulary.site[*fact];
        let Some((now, _)) = &assessment.site.values[*fact] else { return (false, Vec::new()) };
        let mut turns = Vec::new();
        match (declared.kind, now, declared.allowed) {
            (Kind::Number(unit), Value::Number(now), Some((low, high))) => {
                for (end, upward) in [(low, false), (high, true)] {
                    let at = |step: i32| now + (end - now) * (f64::from(step) / f64::from(STEPS)).powi(2);
                    let first = (1..=STEPS).find(|step| falls(*fact, Value::Number(at(*step))).is_some());
                    let Some(step) = first.filter(|_| (end - now).abs() > 0.0) else { continue };
                    let (mut stands, mut fallen) = (at(step - 1), at(step));
                    for _ in 0..HALVINGS {
                        let middle = f64::midpoint(stands, fallen);
                        if falls(*fact, Value::Number(middle)).is_some() {
                            fallen = middle
                        } else {
                            stands = middle
                        }
                    }
                    let printed = (0..=1).map(|steps| units.round_beyond(fallen, upward, steps, unit));
                    let told = printed.chain([fallen]).find_map(|value| falls(*fact, Value::Number(value)));
                    turns.extend(told.map(|told| turn(told, Some(upward))));
                }
            }
            (Kind::Scale(list), Value::Step(now), _) => {
                let steps: Vec<u8> = vocabulary.list(list).positions().collect();
                let lower = steps.iter().rev().filter(|step| *step < now);
                let higher = steps.iter().filter(|step| *step > now);
                turns.extend(
                    lower
                        .copied()
                        .find_map(|step| falls(*fact, Value::Step(step)))
                        .map(|told| turn(told, Some(false))),
                );
                turns.extend(
                    higher
                        .copied()
                        .find_map(|step| falls(*fact, Value::Step(step)))
                        .map(|told| turn(told, Some(true))),
                );
            }
            (Kind::Choice(list), Value::Choice(now), _) => {
                let others = vocabulary.list(list).positions().filter(|name| name != now);
                turns.extend(
                    others.filter_map(|name| falls(*fact, Value::Choice(name))).map(|told| turn(told, None)),
                );
            }
            (Kind::Flag, Value::Flag(now), _) => {
                turns.extend(falls(*fact, Value::Flag(!now)).map(|told| turn(told, None)));
            }
            _ => return (false, Vec::new()),
        }
        (true, turns)
    });
    let mut all = Turns::default();
    for (fact, (moved, turns)) in facts.into_iter().zip(found) {
        if moved && turns.is_empty() {
            all.firm.push(fact);
        }
        all.turns.extend(turns);
    }
    all
}
