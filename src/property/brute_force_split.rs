//! The split search, the walk that it ends in and the bounds that it goes by, against trying every choice and against
//! the programme alone.

use proptest::prelude::*;

use super::bound::{Bound, Known};
use super::brute_force::{every_choice, models};
use super::model::{Choice, Model, ModelArea, ModelOption, Pair, Resource};
use super::part::Part;
use super::programme::{Asked, Goal, solve_whole};
use super::split::{End, split_down_to};
use super::walk::{Walked, walk};
use super::zone_split::ZoneSplit;

/// Every option of each area.
fn all(model: &Model) -> Vec<Vec<usize>> {
    model.areas.iter().map(|area| (0..area.options.len()).collect()).collect()
}

/// Solved by splits alone, down to one option an area. A value of 0 is asked for where none is, since else nothing
/// is split.
fn split(model: &Model, goal: Goal<'_>, least: f64, crossed: &[Pair]) -> Option<Choice> {
    let prices = Bound::of(model).prices;
    let end = End { options: model.areas.len(), steps: 0 };
    split_down_to(end, model, all(model), Asked { goal, least, crossed }, &prices).unwrap()
}

/// Walked through from end to end.
fn walked(model: &Model, goal: Goal<'_>, least: f64, crossed: &[Pair]) -> Option<Choice> {
    match walk(model, Asked { goal, least, crossed }, &Bound::of(model).prices, usize::MAX) {
        Walked::Through(found) => found,
        Walked::TooFar => panic!("no steps are left"),
    }
}

/// How a choice is looked for.
type Way = fn(&Model, Goal<'_>, f64, &[Pair]) -> Option<Choice>;

const WAYS: [Way; 2] = [split, walked];

/// The highest of these figures.
fn highest(figures: impl Iterator<Item = f64>) -> Option<f64> {
    figures.reduce(f64::max)
}

fn same(one: Option<f64>, other: Option<f64>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => (one - other).abs() < 1e-6,
        (one, other) => one.is_none() && other.is_none(),
    }
}

/// The options of which all is known, where each area has some.
fn known(model: &Model) -> Option<Model> {
    let part = Part::known(model, None);
    (!part.is_bare()).then_some(part.model)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_search_to_the_end_finds_the_best_and_the_next(model in models()) {
        let Some(model) = known(&model) else { return Ok(()) };
        let kept: Vec<Choice> = every_choice(&model).into_iter().filter(|one| model.keeps(one)).collect();
        let value = |choice: &Choice| model.value(choice);
        for way in WAYS {
            let found = way(&model, Goal::Best, 0.0, &[]);
            prop_assert!(same(found.as_ref().map(value), highest(kept.iter().map(value))));
            let Some(found) = found else { return Ok(()) };
            prop_assert!(model.keeps(&found));
            let next = way(&model, Goal::BestBut(&found), 0.0, &[]);
            let others = kept.iter().filter(|one| **one != found);
            prop_assert!(same(next.as_ref().map(value), highest(others.map(value))));
            prop_assert!(next.is_none_or(|next| next != found && model.keeps(&next)));
        }
    }

    /// Few steps find the same or say that they do not lead to the end.
    #[test]
    fn a_walk_that_is_cut_short_says_so(model in models(), steps in 0..200_usize) {
        let Some(model) = known(&model) else { return Ok(()) };
        let asked = Asked { goal: Goal::Best, least: 0.0, crossed: &[] };
        let whole = walked(&model, Goal::Best, 0.0, &[]);
        match walk(&model, asked, &Bound::of(&model).prices, steps) {
            Walked::Through(found) => prop_assert_eq!(found, whole),
            Walked::TooFar => prop_assert!(model.count_options() > 0),
        }
    }

    #[test]
    fn a_search_to_the_end_finds_what_takes_least(model in models(), least in 0.0..80.0_f64) {
        let Some(mut model) = known(&model) else { return Ok(()) };
        for at in 0..model.resources.len() {
            let limited = model.resources[at].most;
            model.resources[at].most = 1000.0;
            let kept = every_choice(&model).into_iter();
            let kept = kept.filter(|one| model.keeps(one) && model.value(one) >= least);
            let expected = kept.map(|one| model.used(&one, at)).reduce(f64::min);
            for way in WAYS {
                let found = way(&model, Goal::LeastOf(at), least, &[]);
                prop_assert!(found.as_ref().is_none_or(|own| model.keeps(own) && model.value(own) >= least - 1e-6));
                prop_assert!(same(found.map(|own| model.used(&own, at)), expected));
            }
            model.resources[at].most = limited;
        }
    }

    /// What is better without pairs than anything with them is found where it is told that it goes over one.
    #[test]
    fn what_goes_over_a_pair_is_found(model in models()) {
        let Some(model) = known(&model) else { return Ok(()) };
        let free = Model { pairs: Vec::new(), ..model.clone() };
        let values = |own: &Model| {
            let kept = every_choice(own).into_iter().filter(|one| own.keeps(one));
            highest(kept.map(|one| own.value(&one)))
        };
        let least = values(&model).map_or(0.0, |value| value + 0.01);
        let expected = values(&free).filter(|value| *value >= least && !model.pairs.is_empty());
        for way in WAYS {
            let found = way(&free, Goal::Best, least, &model.pairs).map(|one| free.value(&one));
            prop_assert!(same(found, expected), "{found:?} is not {expected:?}");
        }
    }

    /// No choice that is looked for passes the bound, whatever is known of it and wherever the prices come from.
    #[test]
    fn no_choice_that_is_looked_for_passes_its_bounds(
        model in models(),
        given in prop::collection::btree_set(0..5_usize, 0..3),
        tight in 0.5..1.0_f64,
    ) {
        let Some(model) = known(&model) else { return Ok(()) };
        let start = Bound::of(&model).prices;
        let given: Vec<usize> = given.into_iter().collect();
        let mut part = Model { pairs: Vec::new(), ..model.clone() };
        part.resources.iter_mut().for_each(|own| own.most *= tight);
        let looked_for = |choice: &Choice| {
            let kind = |(area, at): (&ModelArea, &usize)| area.options[*at].kind;
            let mut kinds: Vec<usize> = part.areas.iter().zip(choice).map(kind).collect();
            kinds.retain(|kind| !given.contains(kind));
            kinds.sort_unstable();
            kinds.dedup();
            let room = part.kinds.map(|most| most.checked_sub(given.len()));
            let crosses = model.pairs.is_empty() || model.pairs.iter().any(|pair| model.invades(*pair, choice));
            part.keeps(choice) && crosses && room.is_none_or(|room| room.is_some_and(|room| kinds.len() <= room))
        };
        let known = Known { given: &given, crossed: &model.pairs };
        for start in [None, Some(&start)] {
            let bound = Bound::knowing(&part, known, start);
            for choice in every_choice(&part).into_iter().filter(looked_for) {
                let value = part.value(&choice);
                prop_assert!(value <= bound.upper, "{value} passes {}", bound.upper);
                for (area, at) in choice.iter().enumerate() {
                    prop_assert!(value <= bound.with_option[area][*at], "{value} with {at} of {area}");
                }
            }
        }
    }

    /// Each choice stands on one side of a split, charged as in the whole, and nothing is charged less.
    #[test]
    fn a_split_zone_loses_no_choice(model in models()) {
        let Some(model) = known(&model) else { return Ok(()) };
        let Some(split) = ZoneSplit::of(&model, &Bound::of(&model).prices) else { return Ok(()) };
        let whole = Part::of(&model, all(&model));
        let (low, high) = (split.at_most(&whole), split.above(&whole));
        let used = |own: &Model, choice: &Choice| -> Vec<f64> {
            (0..own.resources.len()).map(|at| own.used(choice, at)).collect()
        };
        for choice in every_choice(&model) {
            let own = used(&model, &choice);
            let charged = high.in_part(&choice).map(|one| used(&high.model, &one)).unwrap();
            prop_assert!(charged.iter().zip(&own).all(|(charged, own)| charged >= own));
            prop_assert!(low.in_part(&choice).is_some() || charged == own);
        }
    }
}

/// A larger model, of which the programme alone is asked too: in a plain pattern, with kinds, zones, neighbours and
/// two resources that all bind.
fn larger(seed: usize) -> Model {
    let figure = |a: usize, b: usize, of: usize| (a * 7919 + b * 104_729 + seed * 1299) % 10_007 % of;
    let option = |area: usize, kind: usize| {
        let thirst = figure(kind, 3, 8) as f64 + figure(kind, area, 3) as f64;
        let value = 40.0 + 4.0 * thirst + figure(area, kind, 20) as f64;
        let takes = vec![thirst, figure(kind, 5, 6) as f64];
        ModelOption { kind, value, takes, creeps: kind.is_multiple_of(5), seeds: kind.is_multiple_of(11) }
    };
    let area = |at: usize| ModelArea {
        size: 10.0 + figure(at, 1, 30) as f64,
        zone: Some(at / 3),
        options: (0..10).map(|kind| option(at, kind)).collect(),
    };
    let areas: Vec<ModelArea> = (0..9).map(area).collect();
    let size: f64 = areas.iter().map(|area| area.size).sum();
    let pairs = (1..9).map(|at| Pair { a: at - 1, b: at, edged: at.is_multiple_of(2) }).collect();
    let resources =
        vec![Resource { most: 6.0 * size, zoned: true }, Resource { most: 3.0 * size, zoned: false }];
    Model { areas, pairs, resources, kinds: Some(3 + seed % 3) }
}

#[test]
fn a_split_search_and_the_programme_alone_agree_on_larger_models() {
    let mut kept = 0;
    for seed in 0..6 {
        let model = larger(seed);
        let whole = Asked { goal: Goal::Best, least: f64::NEG_INFINITY, crossed: &[] };
        let Some(expected) = solve_whole(&model, whole).unwrap() else { continue };
        let expected = Some(model.value(&expected));
        let found = split(&model, Goal::Best, 0.0, &[]).unwrap();
        assert!(same(Some(model.value(&found)), expected), "{seed}: {expected:?}");
        kept += 1;
        let next = Asked { goal: Goal::BestBut(&found), ..whole };
        let expected = solve_whole(&model, next).unwrap().map(|choice| model.value(&choice));
        let next = split(&model, Goal::BestBut(&found), 0.0, &[]);
        assert!(same(next.map(|choice| model.value(&choice)), expected), "{seed}: {expected:?}");
    }
    assert!(kept >= 4, "{kept} of 6 can be kept");
}
