//! What brings a species to first place: the smallest sets of changes, shown by running again.

use super::order::Order;
use super::what_if::{MOST_CHANGES, Remedy, Searched, nearest_numbers, weight};
use crate::assess::Assessment;
use crate::assess::trial::{Setting, SiteLever, Trials, with};
use crate::engine::value::Value;
use crate::knowledge::vocabulary::Change;
use crate::side_by_side::side_by_side;
use crate::site::SiteDays;
use crate::units::UnitSystem;

/// Parts of a stretch between two settings of a number that is changed alone.
const PARTS: usize = 8;

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
    let lead = |settings: &[Setting]| order.leads(settings, one);
    let near = |settings| {
        let near = nearest_numbers(settings, assessment, &trials, units, &lead);
        // between the steps that were run a part of a set may serve too
        needed_alone(near, &lead)
    };
    let mut sets: Vec<Vec<Setting>> = Vec::new();
    for settings in enough(assessment, &trials, &lead) {
        let needed = near(settings);
        if !sets.contains(&needed) {
            sets.push(needed);
        }
    }
    let lever = |fact: usize| trials.levers.iter().find(|lever| lever.fact == fact);
    let mut remedies: Vec<Remedy> = smallest(&sets)
        .map(|settings| {
            let efforts = settings.iter().filter_map(|one| Some(lever(one.fact)?.effort));
            let effort = efforts.max().unwrap_or(Change::None);
            Remedy { effort, settings: settings.clone(), lifts: order.lifts(settings, one) }
        })
        .collect();
    remedies.sort_by_key(|remedy| {
        let work: usize =
            remedy.settings.iter().filter_map(|one| Some(weight(lever(one.fact)?.effort))).sum();
        (work, remedy.settings.len(), remedy.settings.iter().map(|one| one.fact).collect::<Vec<_>>())
    });
    searched(if remedies.is_empty() { ToFirst::None } else { ToFirst::Remedies(remedies) })
}

/// For every set of levers that holds no smaller one which is enough, the nearest of its settings that are enough.
fn enough(
    assessment: &Assessment<'_>,
    trials: &Trials<'_, '_>,
    serves: &(impl Fn(&[Setting]) -> bool + Sync),
) -> Vec<Vec<Setting>> {
    let fine: Vec<SiteLever> = trials.levers.iter().map(|lever| in_parts(lever, assessment)).collect();
    let mut found: Vec<(Vec<usize>, Vec<Setting>)> = Vec::new();
    for changes in 1..=MOST_CHANGES {
        let levers = if changes == 1 { &fine } else { &trials.levers };
        // what holds a set that is enough already is no smallest one
        let sets: Vec<Vec<usize>> = choose(trials.levers.len(), changes)
            .into_iter()
            .filter(|set| !found.iter().any(|(enough, _)| enough.iter().all(|at| set.contains(at))))
            .collect();
        let settings =
            side_by_side(&sets, |set| settings_of(set, levers).into_iter().find(|settings| serves(settings)));
        found.extend(sets.into_iter().zip(settings).filter_map(|(set, settings)| Some((set, settings?))));
    }
    found.into_iter().map(|(_, settings)| settings).collect()
}

/// The sets that hold no smaller one.
fn smallest(sets: &[Vec<Setting>]) -> impl Iterator<Item = &Vec<Setting>> {
    let holds = |whole: &[Setting], part: &[Setting]| part.iter().all(|one| whole.contains(one));
    sets.iter().filter(move |set| !sets.iter().any(|other| other.len() < set.len() && holds(set, other)))
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
