//! What would turn the order: what brings a species to first place, and how far each input of the site
//! may move before the first choice falls, and to whom. Everything is shown by running again.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::what_if::{MOST_CHANGES, Remedy, Searched, nearest_numbers, weight};
use crate::assess::Assessment;
use crate::assess::need_memory::{NeedMemory, SiteKeys};
use crate::assess::trial::{Setting, SiteLever, Trials, TriedSite, with};
use crate::engine::value::Value;
use crate::knowledge::vocabulary::{Change, From, Kind};
use crate::rank::{Class, Entry, place};
use crate::side_by_side::side_by_side;
use crate::site::SiteDays;
use crate::units::UnitSystem;

/// Settings of a number tried on either side of the present one, closer together near it.
const STEPS: i32 = 24;
/// Parts of a stretch between two settings of a number that is changed alone.
const PARTS: usize = 8;
/// What of a soil is sand, silt and clay.
const FRACTIONS: [&str; 3] = ["site.sand_pct", "site.silt_pct", "site.clay_pct"];
/// Index points that are lost in adding.
const ROUNDING: f64 = 1e-6;
/// Halvings of a stretch between two settings.
const HALVINGS: usize = 30;

/// What changes can do for a species that is not first.
#[derive(Clone, Debug, PartialEq)]
pub enum ToFirst {
    /// It is first, or shares the place.
    First,
    /// The smallest sets that bring it there, the easiest first.
    Remedies(Vec<Remedy>),
    /// No [`MOST_CHANGES`] changes do.
    None,
    /// It is refused whatever is changed and whatever is stated.
    Refused,
}

/// An input whose move makes the first choice fall.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// The setting at which it has fallen.
    pub at: Setting,
    /// Whether that is more of it than now; `None` where the input has no more and less.
    pub upward: Option<bool>,
    /// Id of the species that stands first then; `None` where nothing is suited any more.
    pub first_then: Option<String>,
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
    memory: NeedMemory,
    /// Who was before the one asked for the last time; whoever it is, the answer is the same.
    rival: AtomicUsize,
}

/// A tried site, with what each need rests on there.
struct Tried<'a> {
    site: TriedSite<'a>,
    keys: SiteKeys,
}

impl<'o, 'a, 'k> Order<'o, 'a, 'k> {
    fn new(assessment: &'o Assessment<'k>, trials: &'o Trials<'a, 'k>) -> Self {
        let memory = NeedMemory::new(assessment.knowledge.needs.all.len());
        Self { assessment, trials, memory, rival: AtomicUsize::new(0) }
    }

    fn site(&self, settings: &[Setting]) -> Tried<'a> {
        let site = self.trials.site_anew(settings);
        let keys = SiteKeys::of(self.trials, &site);
        Tried { site, keys }
    }

    fn entry(&self, at: usize, on: &Tried<'a>) -> Entry<usize> {
        let standing = self.memory.standing(self.trials, at, &on.site, &on.keys);
        Entry { id: at, class: standing.class, index: standing.index }
    }

    /// Who stands first, and the place of one candidate; `None` where it is refused. Positions are
    /// those of the candidates, and ids break what is equal to the last digit.
    fn on(&self, one: usize, on: &Tried<'a>) -> (Option<usize>, Option<usize>) {
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
    fn leads(&self, settings: &[Setting], one: usize) -> bool {
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
    fn lifts(&self, settings: &[Setting], one: usize) -> bool {
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

/// What would bring a candidate to first place.
pub fn to_first(assessment: &Assessment<'_>, id: &str, units: UnitSystem) -> Searched<ToFirst> {
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let trials = Trials::noting(assessment, days.as_ref());
    let order = Order::new(assessment, &trials);
    let searched = |found| Searched { found, left_out: trials.left_out() };
    let Some(one) = assessment.candidates.iter().position(|own| own.species.id == id) else {
        return searched(ToFirst::None);
    };
    // by the index, as on the changed sites: samples may give it a share of the place besides
    if order.on(one, &order.site(&[])).1 == Some(1) {
        return searched(ToFirst::First);
    }
    let own = &assessment.candidates[one];
    if own.standing.changeable == Some(false) && own.left_out.is_empty() {
        return searched(ToFirst::Refused);
    }
    let fine: Vec<SiteLever> = trials.levers.iter().map(|lever| in_parts(lever, assessment)).collect();
    let mut found: Vec<(Vec<usize>, Vec<Setting>)> = Vec::new();
    for changes in 1..=MOST_CHANGES {
        let levers = if changes == 1 { &fine } else { &trials.levers };
        // what holds a set that is enough already is no smallest one
        let sets: Vec<Vec<usize>> = choose(trials.levers.len(), changes)
            .into_iter()
            .filter(|set| !found.iter().any(|(enough, _)| enough.iter().all(|at| set.contains(at))))
            .collect();
        let lead = side_by_side(&sets, |set| {
            settings_of(set, levers).into_iter().find(|settings| order.leads(settings, one))
        });
        found.extend(sets.into_iter().zip(lead).filter_map(|(set, lead)| Some((set, lead?))));
    }
    let lever = |fact: usize| trials.levers.iter().find(|lever| lever.fact == fact);
    let leads = |settings: &[Setting]| order.leads(settings, one);
    let mut sets: Vec<Vec<Setting>> = Vec::new();
    for (_, settings) in found {
        let near = nearest_numbers(settings, assessment, &trials, units, &leads);
        // between the steps that were run a part of a set may serve too
        let needed = needed_alone(near, &leads);
        if !sets.contains(&needed) {
            sets.push(needed);
        }
    }
    let holds = |whole: &[Setting], part: &[Setting]| part.iter().all(|one| whole.contains(one));
    let smallest: Vec<Vec<Setting>> = sets
        .iter()
        .filter(|set| !sets.iter().any(|other| other.len() < set.len() && holds(set, other)))
        .cloned()
        .collect();
    let mut remedies: Vec<Remedy> = smallest
        .into_iter()
        .map(|settings| {
            let efforts = settings.iter().filter_map(|one| Some(lever(one.fact)?.effort));
            let lifts = order.lifts(&settings, one);
            Remedy { effort: efforts.max().unwrap_or(Change::None), settings, lifts }
        })
        .collect();
    remedies.sort_by_key(|remedy| {
        let work: usize =
            remedy.settings.iter().filter_map(|one| Some(weight(lever(one.fact)?.effort))).sum();
        (work, remedy.settings.len(), remedy.settings.iter().map(|one| one.fact).collect::<Vec<_>>())
    });
    searched(if remedies.is_empty() { ToFirst::None } else { ToFirst::Remedies(remedies) })
}

/// A set without what it does not need.
fn needed_alone(mut settings: Vec<Setting>, serves: &impl Fn(&[Setting]) -> bool) -> Vec<Setting> {
    let mut at = 0;
    while at < settings.len() && settings.len() > 1 {
        let mut fewer = settings.clone();
        fewer.remove(at);
        if serves(&fewer) {
            settings = fewer;
            at = 0;
        } else {
            at += 1;
        }
    }
    settings
}

/// A lever with more settings of a number, between those that it has: a stretch that serves may be narrow.
pub fn in_parts(lever: &SiteLever, assessment: &Assessment<'_>) -> SiteLever {
    if assessment.knowledge.vocabulary.site[lever.fact].whole {
        return lever.clone();
    }
    let now = assessment.site.values[lever.fact].as_ref().and_then(|(now, _)| now.as_number());
    let settings = lever.settings.iter().filter_map(Value::as_number);
    let mut ends: Vec<f64> = settings.chain(now).collect();
    ends.sort_by(f64::total_cmp);
    let parts = ends.windows(2).flat_map(|ends| {
        let part = (ends[1] - ends[0]) / PARTS as f64;
        let from = ends[0];
        (1..PARTS).map(move |at| from + at as f64 * part)
    });
    let mut settings = lever.settings.clone();
    settings.extend(parts.map(Value::Number));
    let from = now.or(ends.first().copied()).unwrap_or_default();
    let far = |value: &Value| value.as_number().map_or(0.0, |number| (number - from).abs());
    settings.sort_by(|a, b| far(a).total_cmp(&far(b)));
    SiteLever { settings, ..lever.clone() }
}

/// Every choice of so many of the first few numbers, in order.
fn choose(among: usize, many: usize) -> Vec<Vec<usize>> {
    (0..many).fold(vec![Vec::new()], |chosen, _| {
        let longer = |own: Vec<usize>| {
            let next = own.last().map_or(0, |last| last + 1);
            (next..among).map(move |one| [&own[..], &[one]].concat())
        };
        chosen.into_iter().flat_map(longer).collect()
    })
}

/// Every setting of some levers together, the nearest to the present ones first.
fn settings_of(set: &[usize], levers: &[SiteLever]) -> Vec<Vec<Setting>> {
    let mut all: Vec<(usize, Vec<Setting>)> = vec![(0, Vec::new())];
    for at in set {
        let SiteLever { fact, settings, .. } = &levers[*at];
        let with_each = |(steps, own): (usize, Vec<Setting>)| {
            settings.iter().enumerate().map(move |(more, value)| {
                (steps + more, with(&own, Setting { fact: *fact, value: value.clone() }))
            })
        };
        all = all.into_iter().flat_map(with_each).collect();
    }
    all.sort_by_key(|(steps, _)| *steps);
    all.into_iter().map(|(_, settings)| settings).collect()
}

/// How far each input that the site file states may move before the first choice falls. Inputs that
/// make the climate are left alone: a warmer place is another place.
pub fn turns(assessment: &Assessment<'_>, units: UnitSystem) -> Turns {
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let trials = Trials::new(assessment, days.as_ref());
    let order = Order::new(assessment, &trials);
    if assessment.candidates.first().is_none_or(|first| first.standing.class == Class::N) {
        return Turns::default();
    }
    let vocabulary = &assessment.knowledge.vocabulary;
    let moved = |fact: &usize| {
        let declared = &vocabulary.site[*fact];
        let section = declared.key.as_ref().map_or("", |key| key.section.as_str());
        declared.from == From::File
            && !trials.makes_climate(*fact)
            // together they make a whole, so that no file could state one of them moved alone
            && !FRACTIONS.contains(&declared.id.as_str())
            && section != "place"
            && section != "climate"
            && !section.is_empty()
    };
    let facts: Vec<usize> = (0..vocabulary.site.len())
        .filter(|fact| assessment.site.values[*fact].is_some())
        .filter(moved)
        .collect();
    let falls = |fact: usize, value: Value| -> Option<(Setting, Option<usize>, Option<usize>)> {
        let setting = Setting { fact, value };
        let (first, place) = order.on(0, &order.site(std::slice::from_ref(&setting)));
        (place != Some(1)).then_some((setting, first, place))
    };
    let found: Vec<(bool, Vec<Turn>)> = side_by_side(&facts, |fact| {
        let turn = |(at, first, place_then): (Setting, Option<usize>, Option<usize>), upward| Turn {
            at,
            upward,
            first_then: first.map(|first| assessment.candidates[first].species.id.clone()),
            place_then,
        };
        let declared = &vocabulary.site[*fact];
        let Some((now, _)) = &assessment.site.values[*fact] else { return (false, Vec::new()) };
        let mut turns = Vec::new();
        match (declared.kind, now, declared.allowed) {
            (Kind::Number(_), Value::Number(now), Some((low, high))) => {
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
                    let printed =
                        (0..=1).filter_map(|steps| declared.next_stated(units, fallen, upward, steps));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::assess_site;
    use crate::assess::trial_tests::{changed, knowledge, sites};

    /// Needs that are remembered are those of running all again, whatever was tried before.
    #[test]
    fn the_order_on_changed_sites_is_that_of_assessing_them_whole() {
        let knowledge = knowledge();
        let mut tried = 0;
        for (name, site) in sites(&knowledge).into_iter().step_by(4) {
            let base = assess_site(site.clone(), &knowledge).unwrap();
            let days = base.weather.as_ref().map(SiteDays::new);
            let trials = Trials::new(&base, days.as_ref());
            let order = Order::new(&base, &trials);
            let sets = choose(trials.levers.len(), 3).into_iter().enumerate();
            let tried_of = |(turn, set): (usize, Vec<usize>)| {
                let all = settings_of(&set, &trials.levers);
                all[turn * 7 % all.len()].clone()
            };
            // what the file states may be moved too, though nobody could change it
            let stated = (0..site.values.len()).filter_map(|fact| {
                let (Value::Number(now), _) = site.values[fact].as_ref()? else { return None };
                let alone = |value| vec![Setting { fact, value: Value::Number(value) }];
                (!trials.makes_climate(fact)).then(|| [alone(now * 0.9), alone(now * 0.8)])
            });
            let sets = sets.step_by(trials.levers.len() + 1).map(tried_of).chain(stated.flatten());
            for settings in &sets.collect::<Vec<_>>() {
                let on = order.site(settings);
                let whole = assess_site(changed(&site, settings), &knowledge).unwrap();
                for (at, own) in base.candidates.iter().enumerate() {
                    let (found, wanted) = (order.entry(at, &on), whole.candidate(&own.species.id).unwrap());
                    let wanted = (wanted.standing.class, wanted.standing.index);
                    assert_eq!(
                        (found.class, found.index),
                        wanted,
                        "{name}: {}, {settings:?}",
                        own.species.id
                    );
                }
                tried += 1;
            }
        }
        assert!(tried > 50, "{tried}");
    }
}
