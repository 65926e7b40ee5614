//! Every change that is proposed, run again on the whole site; and the smallest against brute force.

use super::what_if::{WhatIf, next_class, what_if};
use crate::assess::assess_site;
use crate::assess::trial::{Setting, Trials};
use crate::assess::trial_tests::{changed, knowledge, sites};
use crate::engine::value::Value;
use crate::rank::Class;
use crate::site::SiteDays;
use crate::units::UnitSystem;

#[test]
fn every_remedy_does_and_nothing_less_of_it() {
    let knowledge = knowledge();
    let (mut told, mut told_nearer) = (0, 0);
    for (name, site) in sites(&knowledge) {
        let base = assess_site(site.clone(), &knowledge).unwrap();
        let class_with = |settings: &[Setting], id: &str| {
            let whole = assess_site(changed(&site, settings), &knowledge).unwrap();
            whole.candidate(id).unwrap().standing.class
        };
        let some = base.candidates.iter().step_by(17);
        for candidate in some {
            let id = &candidate.species.id;
            let Some(class) = next_class(candidate.standing.class) else { continue };
            let WhatIf::Remedies(remedies) = what_if(&base, candidate, class, UnitSystem::Si) else {
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
                        let unit = knowledge.vocabulary.site[settings[at].fact].kind.unit().unwrap();
                        let step = UnitSystem::Si.round_beyond(*to, *to > now, 1, unit) - to;
                        let back = to - 2.05 * step;
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
    let knowledge = knowledge();
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
        for (at, candidate) in base.candidates.iter().enumerate().step_by(3) {
            let Some(class) = next_class(candidate.standing.class) else { continue };
            let wanted: Vec<usize> =
                helps.iter().filter(|(_, best)| best[at] <= class).map(|(fact, _)| *fact).collect();
            let mut found: Vec<usize> = match what_if(&base, candidate, class, UnitSystem::Us) {
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
