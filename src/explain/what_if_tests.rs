//! Every change that is proposed, run again on the whole site; and the smallest against brute force.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use super::to_first::{ToFirst, in_parts, to_first};
use super::turns::turns;
use super::what_if::{WhatIf, next_class, what_if};
use crate::assess::trial::{Setting, Trials};
use crate::assess::trial_tests::{changed, fewer_species, sites};
use crate::assess::{Candidate, assess_site};
use crate::engine::value::Value;
use crate::rank::Class;
use crate::side_by_side::side_by_side;
use crate::site::SiteDays;
use crate::units::UnitSystem;

#[test]
fn every_remedy_does_and_nothing_less_of_it() {
    let knowledge = fewer_species();
    let (mut told, mut told_nearer) = (0, 0);
    for (name, site) in sites(&knowledge) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let class_with = |settings: &[Setting], id: &str| {
            let whole = assess_site(changed(&site, settings), &knowledge).unwrap();
            whole.candidate(id).unwrap().standing.class
        };
        let some = base.candidates.iter().step_by(4);
        for candidate in some {
            let id = &candidate.species.id;
            let Some(class) = next_class(candidate.standing.class) else { continue };
            let WhatIf::Remedies(remedies) = what_if(&base, candidate, class, UnitSystem::Si).found else {
                continue;
            };
            for remedy in remedies.iter().take(2) {
                told += 1;
                let settings = &remedy.settings;
                assert!(class_with(settings, id) <= class, "{name}, {id}: {settings:?}");
                for at in 0..settings.len() {
                    let mut fewer = settings.clone();
                    fewer.remove(at);
                    assert!(class_with(&fewer, id) > class, "{name}, {id}: {fewer:?} is enough");
                    let now = site.values[settings[at].fact].as_ref().and_then(|(now, _)| now.as_number());
                    if let (Some(now), Value::Number(to)) = (now, &settings[at].value) {
                        // two steps of the last digit printed back towards the present
                        let declared = &knowledge.vocabulary.site[settings[at].fact];
                        let step = declared.next_stated(UnitSystem::Si, *to, *to > now, 1).unwrap() - to;
                        let back = to - if declared.whole { 1.0 } else { 2.05 } * step;
                        if (back - now) * step > 0.0 {
                            let mut nearer = settings.clone();
                            nearer[at].value = Value::Number(back);
                            assert!(class_with(&nearer, id) > class, "{name}, {id}: {nearer:?} is enough");
                            told_nearer += 1;
                        }
                    }
                }
            }
        }
    }
    println!("{told} remedies run again, {told_nearer} numbers of theirs a little short");
    assert!(told > 40 && told_nearer > 10, "{told} remedies, {told_nearer} numbers");
}

#[test]
fn single_changes_are_all_that_brute_force_finds() {
    let knowledge = fewer_species();
    for (name, site) in sites(&knowledge).into_iter().step_by(5) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let days = base.weather.as_ref().map(SiteDays::new);
        let trials = Trials::new(&base, days.as_ref());
        let mut helps: Vec<(usize, Vec<Class>)> = Vec::new();
        for lever in &trials.levers {
            let mut best = vec![Class::N; base.candidates.len()];
            for value in &lever.settings {
                let one = Setting { fact: lever.fact, value: value.clone() };
                let whole = assess_site(changed(&site, &[one]), &knowledge).unwrap();
                for (best, own) in best.iter_mut().zip(&base.candidates) {
                    *best = (*best).min(whole.candidate(&own.species.id).unwrap().standing.class);
                }
            }
            helps.push((lever.fact, best));
        }
        for (at, candidate) in base.candidates.iter().enumerate() {
            let Some(class) = next_class(candidate.standing.class) else { continue };
            let wanted: Vec<usize> =
                helps.iter().filter(|(_, best)| best[at] <= class).map(|(fact, _)| *fact).collect();
            let mut found: Vec<usize> = match what_if(&base, candidate, class, UnitSystem::Us).found {
                WhatIf::Remedies(remedies) => remedies
                    .iter()
                    .filter(|remedy| remedy.settings.len() == 1)
                    .map(|remedy| remedy.settings[0].fact)
                    .collect(),
                _ => Vec::new(),
            };
            found.sort_unstable();
            assert_eq!(found, wanted, "{name}, {}", candidate.species.id);
        }
    }
}

#[test]
fn what_brings_a_species_to_first_place_does_and_nothing_less_of_it() {
    let knowledge = fewer_species();
    let (mut told, mut none) = (0, 0);
    for (name, site) in sites(&knowledge).into_iter().step_by(4) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let run = |settings: &[Setting]| assess_site(changed(&site, settings), &knowledge).unwrap();
        let leads = |settings: &[Setting], id: &str| {
            let whole = run(settings);
            let (own, now) = (whole.candidate(id).unwrap(), base.candidate(id).unwrap());
            let each_lifts = |at: usize| {
                let mut fewer = settings.to_vec();
                fewer.remove(at);
                is_lifted(own, run(&fewer).candidate(id).unwrap())
            };
            let no_lower = own.standing.index >= now.standing.index - 1e-6;
            let is_no_worse =
                own.standing.class != Class::N && own.standing.class <= now.standing.class && no_lower;
            own.rank == 1 && is_no_worse && (settings.len() < 2 || (0..settings.len()).all(each_lifts))
        };
        for candidate in base.candidates.iter().skip(1).step_by(4).take(2) {
            let id = &candidate.species.id;
            match to_first(&base, id, UnitSystem::Si).found {
                ToFirst::Remedies(remedies) => {
                    for remedy in remedies.iter().take(2) {
                        told += 1;
                        assert!(leads(&remedy.settings, id), "{name}, {id}: {:?}", remedy.settings);
                        for at in 0..remedy.settings.len() {
                            let mut fewer = remedy.settings.clone();
                            fewer.remove(at);
                            assert!(!leads(&fewer, id), "{name}, {id}: {fewer:?} is enough");
                        }
                    }
                }
                ToFirst::None | ToFirst::Refused => none += 1,
                ToFirst::First => assert!(leads(&[], id), "{name}, {id}"),
            }
        }
    }
    println!("{told} ways to first place run again; {none} species have none");
    assert!(told >= 4 && none >= 3, "{told} {none}");
}

fn is_lifted(own: &Candidate<'_>, before: &Candidate<'_>) -> bool {
    let (own, before) = (&own.standing, &before.standing);
    own.class != Class::N && (before.class == Class::N || own.index > before.index + 1e-6)
}

/// How every species stands on a site.
struct Stand {
    first: bool,
    class: Class,
    index: f64,
}

fn stands(assessment: &crate::Assessment<'_>) -> BTreeMap<String, Stand> {
    let stand = |own: &Candidate<'_>| Stand {
        first: own.rank == 1,
        class: own.standing.class,
        index: own.standing.index,
    };
    assessment.candidates.iter().map(|own| (id_of(own), stand(own))).collect()
}

fn id_of(candidate: &Candidate<'_>) -> String {
    candidate.species.id.clone()
}

/// All sets of up to three changes, each run again on the whole site, on sites where all but a few inputs are
/// out of play: the smallest that bring a species to first place are those that are told.
#[test]
fn the_smallest_ways_to_first_place_are_those_of_brute_force() {
    let knowledge = fewer_species();
    let (mut ways, mut of_three, mut none) = (0, 0, 0);
    for (name, mut site) in sites(&knowledge).into_iter().skip(2).step_by(16) {
        let whole = assess_site(site.clone(), &knowledge).unwrap();
        let days = whole.weather.as_ref().map(SiteDays::new);
        let ids: Vec<String> = whole.candidates.iter().skip(1).map(id_of).collect();
        // the inputs that take part in most ways, the rest out of play, so that all sets together can be run
        let mut parts: BTreeMap<usize, usize> = BTreeMap::new();
        for id in ids.iter().step_by(4) {
            if let ToFirst::Remedies(remedies) = to_first(&whole, id, UnitSystem::Si).found {
                let facts = remedies.iter().flat_map(|remedy| remedy.settings.iter().map(|one| one.fact));
                facts.for_each(|fact| *parts.entry(fact).or_default() += 1);
            }
        }
        let mut levers = Trials::new(&whole, days.as_ref()).levers;
        levers.sort_by_key(|lever| (Reverse(parts.get(&lever.fact).copied()), lever.settings.len()));
        site.fixed.extend(levers.iter().skip(4).map(|lever| lever.fact));
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let levers = Trials::new(&base, days.as_ref()).levers;
        let mut sets: Vec<Vec<Setting>> = vec![Vec::new()];
        for lever in &levers {
            let with_each = |own: &Vec<Setting>| -> Vec<Vec<Setting>> {
                let set = |value: &Value| Setting { fact: lever.fact, value: value.clone() };
                lever.settings.iter().map(|value| [&own[..], &[set(value)]].concat()).collect()
            };
            let longer: Vec<Vec<Setting>> = sets.iter().flat_map(with_each).collect();
            sets.extend(longer);
        }
        sets.retain(|set| (1..=3).contains(&set.len()));
        // a number that is changed alone is tried at more settings
        for lever in levers.iter().map(|lever| in_parts(lever, &base)) {
            let set = |value: &Value| vec![Setting { fact: lever.fact, value: value.clone() }];
            sets.extend(lever.settings.iter().map(set));
        }
        // how all species stand on each, the site as it is among them
        let known = |set: &Vec<Setting>| stands(&assess_site(changed(&site, set), &knowledge).unwrap());
        sets.push(Vec::new());
        let on: BTreeMap<String, BTreeMap<String, Stand>> =
            sets.iter().map(|set| format!("{set:?}")).zip(side_by_side(&sets, known)).collect();
        sets.pop();
        let stand = |set: &[Setting], id: &String| &on[&format!("{set:?}")][id];
        let leads = |set: &Vec<Setting>, id: &String| {
            let (own, now) = (stand(set, id), stand(&[], id));
            let each_lifts = |at: usize| {
                let mut fewer = set.clone();
                fewer.remove(at);
                let before = stand(&fewer, id);
                before.class == Class::N || own.index > before.index + 1e-6
            };
            let is_no_worse =
                own.class != Class::N && own.class <= now.class && own.index >= now.index - 1e-6;
            own.first && is_no_worse && (set.len() < 2 || (0..set.len()).all(each_lifts))
        };
        for id in ids.iter().filter(|id| base.candidate(id).unwrap().rank > 1) {
            let mut wanted: Vec<Vec<usize>> = Vec::new();
            for changes in 1..=3 {
                for set in sets.iter().filter(|set| set.len() == changes) {
                    let facts: Vec<usize> = set.iter().map(|one| one.fact).collect();
                    let smaller =
                        |own: &Vec<usize>| own.iter().all(|fact| facts.contains(fact)) && *own != facts;
                    if leads(set, id) && !wanted.contains(&facts) && !wanted.iter().any(smaller) {
                        wanted.push(facts);
                    }
                }
            }
            let mut found: Vec<Vec<usize>> = match to_first(&base, id, UnitSystem::Si).found {
                ToFirst::Remedies(remedies) => remedies
                    .iter()
                    .map(|remedy| remedy.settings.iter().map(|one| one.fact).collect())
                    .collect(),
                _ => Vec::new(),
            };
            found.sort();
            wanted.sort();
            assert_eq!(found, wanted, "{name}, {id}");
            ways += wanted.len();
            of_three += wanted.iter().filter(|set| set.len() == 3).count();
            none += usize::from(wanted.is_empty());
        }
    }
    println!("{ways} smallest ways to first place, {of_three} of three changes; {none} species have none");
    assert!(ways > 4 && none > 5, "{ways} {none}");
}

#[test]
fn the_first_choice_falls_where_it_is_said_to_and_not_before() {
    let knowledge = fewer_species();
    let (mut fallen, mut short) = (0, 0);
    for (name, site) in sites(&knowledge).into_iter().step_by(3) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let first = base.candidates[0].species.id.clone();
        for turn in turns(&base, UnitSystem::Si).turns {
            let place = |value: &Value| {
                let setting = Setting { fact: turn.at.fact, value: value.clone() };
                let whole = assess_site(changed(&site, &[setting]), &knowledge).unwrap();
                let own = whole.candidate(&first).unwrap();
                let place = Some(own.rank).filter(|_| own.standing.class != Class::N);
                let first = Some(&whole.candidates[0]).filter(|first| first.standing.class != Class::N);
                (first.map(|first| first.species.id.clone()), place)
            };
            fallen += 1;
            let declared = &knowledge.vocabulary.site[turn.at.fact];
            assert_eq!(place(&turn.at.value), (turn.first_then.clone(), turn.place_then), "{name}: {turn:?}");
            assert_ne!(turn.place_then, Some(1), "{name}: {turn:?}");
            let now = site.values[turn.at.fact].as_ref().and_then(|(now, _)| now.as_number());
            if let (Some(now), Value::Number(at)) = (now, &turn.at.value) {
                let step = declared.next_stated(UnitSystem::Si, *at, *at > now, 1).unwrap() - at;
                // numbers are told to so many digits, so that above a power of ten the step is ten times as wide
                let decade = |number: f64| number.abs().log10().floor();
                let step = if decade(at - 10.5 * step) > decade(*at) { 10.0 * step } else { step };
                let back = at - if declared.whole { 1.0 } else { 2.05 } * step;
                if (back - now) * step > 0.0 {
                    short += 1;
                    assert_eq!(place(&Value::Number(back)).1, Some(1), "{name}: {turn:?} a little short");
                }
            }
        }
    }
    println!("{fallen} turns run again, {short} numbers a little short");
    assert!(fallen > 20 && short > 10, "{fallen} {short}");
}

/// A site whose cap is not stated says so, and says nothing of it once it is.
#[test]
fn a_cap_that_is_not_stated_is_told_to_be_left_out() {
    let knowledge = fewer_species();
    let slot = |id: &str| knowledge.vocabulary.slot(id).unwrap().index;
    let (irrigation, cap) = (slot("site.irrigation"), slot("site.season_cap_mm"));
    let mut seen = 0;
    for (name, site) in sites(&knowledge) {
        let limited = |value: &Value| value.as_position() == Some(1);
        let is_limited = site.values[irrigation].as_ref().is_some_and(|(value, _)| limited(value));
        if !is_limited || site.values[cap].is_some() || site.fixed.contains(&cap) {
            continue;
        }
        seen += 1;
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let last = id_of(&base.candidates[base.candidates.len() / 2]);
        assert!(to_first(&base, &last, UnitSystem::Si).left_out.contains(&cap), "{name}");
        let stated = Setting { fact: cap, value: Value::Number(0.3) };
        let base = assess_site(changed(&site, &[stated]), &knowledge).unwrap();
        assert!(!to_first(&base, &last, UnitSystem::Si).left_out.contains(&cap), "{name}");
        if seen == 2 {
            break;
        }
    }
    assert_eq!(seen, 2);
}
