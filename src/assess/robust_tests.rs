//! Ties as samples tell them: never against the order, and none where nothing is in doubt.

use super::assess_unparted;
use super::robust::{FEWEST_FOR_TIES, TIES_FROM};
use super::trial_tests::{knowledge, sites};
use crate::rank::Class;

const SAMPLES: usize = FEWEST_FOR_TIES;

#[test]
fn shared_places_are_those_that_samples_do_not_tell_apart_and_the_order_stays() {
    let knowledge = knowledge();
    let (mut shared, mut parted) = (0, 0);
    for (name, site) in sites(&knowledge).into_iter().step_by(5) {
        let mut told = assess_unparted(site, &knowledge).unwrap();
        let ids = |told: &super::Assessment<'_>| -> Vec<String> {
            told.candidates.iter().map(|one| one.species.id.clone()).collect()
        };
        let order = ids(&told);
        let without: Vec<usize> = told.candidates.iter().map(|one| one.rank).collect();
        told.draw_samples(SAMPLES);
        assert_eq!(ids(&told), order, "{name}: samples move nobody");
        let before = told.robustness.clone().unwrap().before;
        let candidates = &told.candidates;
        let near = |leader: usize, own: usize| {
            let index = |at: usize| candidates[at].standing.index;
            index(leader) - index(own) <= knowledge.needs.tie_within + 1e-9
        };
        let mut leader = 0;
        for (at, own) in candidates.iter().enumerate() {
            let starts = own.rank == at + 1;
            leader = if starts && at > 0 { at } else { leader };
            assert_eq!(own.rank, leader + 1, "{name}: {}", own.species.id);
            assert_eq!(
                own.tied_with.is_empty(),
                candidates.iter().filter(|one| one.rank == own.rank).count() == 1
            );
            assert_eq!(
                own.standing.class == Class::N,
                candidates[leader].standing.class == Class::N,
                "{name}"
            );
            if at == 0 || at >= before.len() {
                continue;
            }
            if starts {
                // it ends the group before, whose first it does not reach often enough
                let last = candidates[at - 1].rank - 1;
                assert!(before[last][at] < TIES_FROM && !near(last, at), "{name}: {}", own.species.id);
                parted += 1;
            } else {
                assert!(before[leader][at] >= TIES_FROM || near(leader, at), "{name}: {}", own.species.id);
                shared += 1;
            }
        }
        for (a, row) in before.iter().enumerate() {
            for (b, share) in row.iter().enumerate() {
                assert!((share + before[b][a] - 1.0).abs() < 1e-9, "{name}: {a} {b}");
            }
        }
        for too_few in [0, 3] {
            told.draw_samples(too_few);
            let again: Vec<usize> = told.candidates.iter().map(|one| one.rank).collect();
            assert_eq!(again, without, "{name}: with {too_few} samples the distance of the indices decides");
        }
    }
    assert!(shared > 10 && parted > 5, "{shared} shared, {parted} parted");
}

#[test]
fn where_all_is_exact_samples_tie_nothing_but_equals() {
    let mut knowledge = knowledge();
    for own in knowledge.species.iter_mut().flat_map(|species| species.traits.iter_mut().flatten()) {
        own.estimated = None;
        own.evidence = Vec::new().into();
    }
    let names = sites(&knowledge);
    knowledge.needs.tie_within = 0.0;
    // what is not known stays open in every sample alike
    knowledge.vocabulary.site.iter_mut().for_each(|declared| declared.plausible.clear());
    let mut parted = 0;
    for (name, site) in names.into_iter().step_by(8) {
        let mut told = assess_unparted(site, &knowledge).unwrap();
        told.facts.errors.clear();
        told.draw_samples(SAMPLES);
        let drawn = told.robustness.as_ref().unwrap().before.len();
        for pair in told.candidates[..drawn].windows(2) {
            let equal = (pair[0].standing.index - pair[1].standing.index).abs() <= 1e-9;
            assert_eq!(pair[0].rank == pair[1].rank, equal, "{name}: {}", pair[1].species.id);
            parted += usize::from(!equal);
        }
    }
    assert!(parted > 30, "{parted}");
}
