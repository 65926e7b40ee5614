//! Changes that are told, written into the site file as a client would and read anew: no change may rest on a site
//! that no file could describe.

use std::sync::Arc;

use toml_edit::{DocumentMut, Item, value};

use super::to_first::{ToFirst, to_first};
use super::what_if::{WhatIf, next_class, what_if};
use crate::assess::trial::Setting;
use crate::assess::trial_tests::{changed, fewer_species, site_texts};
use crate::assess::{Assessment, assess, assess_site};
use crate::diag::Source;
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::{Kind, SiteKey};
use crate::side_by_side::side_by_side;
use crate::site::water_facts::HOW_MUCH;
use crate::units::{UnitSystem, format_number};

/// A value as a site file states it, a number with the digits that answers print.
fn written(fact: usize, to: &Value, knowledge: &Knowledge) -> Item {
    let declared = &knowledge.vocabulary.site[fact];
    match (declared.kind, to) {
        (Kind::Number(unit), Value::Number(base)) => {
            let number = format_number(unit.express(*base));
            match unit.name {
                "" | "1" => value(number.parse::<f64>().unwrap()),
                name => value(format!("{number} {name}")),
            }
        }
        (Kind::Flag, Value::Flag(flag)) => value(*flag),
        (Kind::Scale(list) | Kind::Choice(list), to) => {
            value(&knowledge.vocabulary.list(list).names[to.as_position().unwrap()])
        }
        (kind, to) => panic!("{}: {kind:?} is set to {to:?}", declared.id),
    }
}

fn take_out(document: &mut DocumentMut, key: &SiteKey) {
    let section = document.get_mut(&key.section).and_then(Item::as_table_like_mut);
    section.and_then(|section| section.remove(&key.key));
}

/// The text of a site file with these settings; where none is allowed nothing says how much.
fn with_settings(text: &str, settings: &[Setting], knowledge: &Knowledge) -> String {
    let mut document: DocumentMut = text.parse().unwrap();
    let declared = &knowledge.vocabulary.site;
    for setting in settings {
        let own = &declared[setting.fact];
        let key = own.key.as_ref().unwrap();
        own.us_key.iter().for_each(|key| take_out(&mut document, key));
        document[&key.section][&key.key] = written(setting.fact, &setting.value, knowledge);
        if own.id == "site.irrigation" && setting.value == Value::Step(0) {
            for name in HOW_MUCH {
                let own = declared.iter().find(|own| own.id.strip_prefix("site.") == Some(name)).unwrap();
                own.key.iter().chain(&own.us_key).for_each(|key| take_out(&mut document, key));
            }
        }
    }
    document.to_string()
}

fn read<'k>(name: &str, text: &str, knowledge: &'k Knowledge) -> Assessment<'k> {
    let source = Arc::new(Source { path: name.to_owned(), text: text.to_owned().into() });
    assess(&source, knowledge).unwrap_or_else(|findings| panic!("{findings:?}\n{text}")).0
}

/// The scenarios, each as it is and, where it is watered, under a small cap with days and a depth stated.
fn texts() -> Vec<(String, String)> {
    let capped = |(name, text): &(String, String)| {
        let mut document: DocumentMut = text.parse().ok()?;
        let water = document.get_mut("water")?.as_table_like_mut()?;
        if water.get("irrigation")?.as_str()? == "none" {
            return None;
        }
        for (key, number) in [("season_cap_mm", 25), ("days_per_week", 3), ("depth_mm", 20)] {
            water.insert(key, value(number));
        }
        water.remove("season_cap_in");
        water.remove("depth_in");
        Some((name.clone(), document.to_string()))
    };
    let plain = site_texts();
    let capped: Vec<_> = plain.iter().filter_map(capped).collect();
    assert!(capped.len() > 8, "{} sites under a cap", capped.len());
    plain.into_iter().chain(capped).collect()
}

/// Changes of one site that hold as files: to a class, and to first place.
fn held(at: usize, (name, text): &(String, String), knowledge: &Knowledge) -> (usize, usize) {
    let base = read(name, text, knowledge);
    let after = |settings: &[Setting]| read(name, &with_settings(text, settings, knowledge), knowledge);
    let (mut to_class, mut to_the_top) = (0, 0);
    for (turn, candidate) in base.candidates.iter().skip(at % 12).step_by(12).enumerate() {
        let id = &candidate.species.id;
        if let Some(class) = next_class(candidate.standing.class)
            && let WhatIf::Remedies(remedies) = what_if(&base, candidate, class, UnitSystem::Si).found
        {
            for remedy in remedies.iter().take(3) {
                let found = after(&remedy.settings).candidate(id).unwrap().standing.class;
                assert!(found <= class, "{name}, {id}: {:?} gives {found}", remedy.settings);
                to_class += 1;
            }
        }
        if turn == 0
            && let ToFirst::Remedies(remedies) = to_first(&base, id, UnitSystem::Si).found
        {
            for remedy in remedies.iter().take(2) {
                let found = after(&remedy.settings).candidate(id).unwrap().rank;
                assert_eq!(found, 1, "{name}, {id}: {:?}", remedy.settings);
                to_the_top += 1;
            }
        }
    }
    (to_class, to_the_top)
}

#[test]
fn what_is_told_holds_once_a_site_file_says_it() {
    let knowledge = fewer_species();
    let texts: Vec<_> = texts().into_iter().enumerate().step_by(3).collect();
    let held = side_by_side(&texts, |(at, text)| held(*at, text, &knowledge));
    let (to_class, to_the_top) = held.into_iter().fold((0, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
    println!("{to_class} changes to a class and {to_the_top} to first place hold as files");
    assert!(to_class > 6 && to_the_top > 2, "{to_class} {to_the_top}");
}

/// A change to no irrigation does what a file without irrigation does, which says nothing of how much.
#[test]
fn where_irrigation_is_brought_to_none_how_much_is_allowed_says_nothing() {
    let knowledge = fewer_species();
    let fact = knowledge.vocabulary.slot("site.irrigation").unwrap().index;
    let none = [Setting { fact, value: Value::Step(0) }];
    let capped = |text: &&(String, String)| text.1.contains("season_cap_mm = 25");
    let mut moved = 0;
    for (name, text) in texts().iter().filter(capped).step_by(3) {
        let base = read(name, text, &knowledge);
        let whole = assess_site(changed(&base.site, &none), &knowledge).unwrap();
        let file = read(name, &with_settings(text, &none, &knowledge), &knowledge);
        for candidate in &base.candidates {
            let levels = |one: &Assessment<'_>| -> Vec<f64> {
                let needs = &one.candidate(&candidate.species.id).unwrap().needs;
                needs.iter().map(|need| need.used().value()).collect()
            };
            assert_eq!(levels(&whole), levels(&file), "{name}, {}", candidate.species.id);
            moved += usize::from(levels(&whole) != levels(&base));
        }
    }
    assert!(moved > 100, "{moved}");
}
