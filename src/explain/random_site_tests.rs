//! What is told of changes, run again on sites drawn at random: scenarios with some of their inputs set anew.

use std::sync::OnceLock;

use proptest::prelude::*;

use super::to_first::{ToFirst, to_first};
use super::turns::turns;
use super::what_if::{WhatIf, next_class, what_if};
use crate::assess::trial::Setting;
use crate::assess::trial_tests::{changed, fewer_species, sites};
use crate::assess::{Assessment, assess_site};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::rank::Class;
use crate::site::facts::Derivation;
use crate::site::file::SiteFile;
use crate::units::UnitSystem;

/// The knowledge, with the sites of the scenarios.
fn ground() -> &'static (Knowledge, Vec<(String, SiteFile)>) {
    static GROUND: OnceLock<(Knowledge, Vec<(String, SiteFile)>)> = OnceLock::new();
    GROUND.get_or_init(|| {
        let knowledge = fewer_species();
        let sites = sites(&knowledge);
        (knowledge, sites)
    })
}

/// A scenario with some inputs that do not make the climate set to values that may be.
fn random_site(pick: usize, draws: &[(usize, usize)]) -> SiteFile {
    let (knowledge, sites) = ground();
    let site = &sites[pick % sites.len()].1;
    let derivation = Derivation::new(site, knowledge);
    let declared = &knowledge.vocabulary.site;
    let values = |fact: usize| -> Vec<Value> {
        let own = &declared[fact];
        let lever = own.lever.as_ref().map(|lever| lever.run_through(own, &knowledge.vocabulary));
        own.plausible.iter().chain(&own.drawn).cloned().chain(lever.into_iter().flatten()).collect()
    };
    let open: Vec<(usize, Vec<Value>)> = (0..declared.len())
        .filter(|fact| declared[*fact].key.is_some() && !derivation.makes_climate(*fact))
        .map(|fact| (fact, values(fact)))
        .filter(|(_, values)| !values.is_empty())
        .collect();
    let mut settings: Vec<Setting> = Vec::new();
    for (fact, value) in draws {
        let (fact, values) = &open[fact % open.len()];
        if settings.iter().all(|one| one.fact != *fact) {
            settings.push(Setting { fact: *fact, value: values[value % values.len()].clone() });
        }
    }
    changed(site, &settings)
}

/// Class and place of a species on a site with these settings; no place where it is refused.
fn stands(site: &SiteFile, settings: &[Setting], id: &str) -> (Class, Option<usize>, f64) {
    let whole = assess_site(changed(site, settings), &ground().0).unwrap();
    let own = whole.candidate(id).unwrap();
    let place = Some(own.rank).filter(|_| own.standing.class != Class::N);
    (own.standing.class, place, own.standing.index)
}

/// Each set does what is told, and none of it is for nothing.
fn check_sets(sets: &[&[Setting]], does: impl Fn(&[Setting]) -> bool) -> Result<(), TestCaseError> {
    for settings in sets.iter().take(2) {
        prop_assert!(does(settings), "{settings:?} does not do it");
        for at in 0..settings.len() {
            let mut fewer = settings.to_vec();
            fewer.remove(at);
            prop_assert!(!does(&fewer), "{fewer:?} is enough");
        }
    }
    Ok(())
}

fn check_changes(site: &SiteFile, base: &Assessment<'_>, who: usize) -> Result<(), TestCaseError> {
    let candidate = &base.candidates[who % base.candidates.len()];
    let (id, now) = (&candidate.species.id, &candidate.standing);
    if let Some(class) = next_class(now.class)
        && let WhatIf::Remedies(remedies) = what_if(base, candidate, class, UnitSystem::Si).found
    {
        let sets: Vec<&[Setting]> = remedies.iter().map(|remedy| &remedy.settings[..]).collect();
        check_sets(&sets, |settings| stands(site, settings, id).0 <= class)?;
    }
    if let ToFirst::Remedies(remedies) = to_first(base, id, UnitSystem::Us).found {
        let sets: Vec<&[Setting]> = remedies.iter().map(|remedy| &remedy.settings[..]).collect();
        check_sets(&sets, |settings| {
            let (class, place, index) = stands(site, settings, id);
            let each_lifts = |at: usize| {
                let mut fewer = settings.to_vec();
                fewer.remove(at);
                let (before, _, lower) = stands(site, &fewer, id);
                before == Class::N || index > lower + 1e-6
            };
            let lifted = settings.len() < 2 || (0..settings.len()).all(each_lifts);
            place == Some(1) && class <= now.class && index >= now.index - 1e-6 && lifted
        })?;
    }
    Ok(())
}

fn check_falls(site: &SiteFile, base: &Assessment<'_>) -> Result<(), TestCaseError> {
    let first = &base.candidates[0].species.id;
    for turn in turns(base, UnitSystem::Si).turns {
        let (_, place, _) = stands(site, std::slice::from_ref(&turn.at), first);
        prop_assert_eq!(place, turn.place_then, "{:?}", turn);
        prop_assert_ne!(place, Some(1), "{:?}", turn);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_told_of_changes_holds_on_random_sites(
        pick in any::<usize>(),
        draws in prop::collection::vec((any::<usize>(), any::<usize>()), 1..8),
        who in any::<usize>(),
    ) {
        let site = random_site(pick, &draws);
        let base = assess_site(site.clone(), &ground().0).unwrap();
        check_changes(&site, &base, who)?;
        check_falls(&site, &base)?;
    }
}
