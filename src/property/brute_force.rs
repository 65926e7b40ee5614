//! The solver against trying every choice, on small invented models.

use proptest::prelude::*;
use proptest::strategy::ValueTree;

use super::answer::{Answer, answer};
use super::bound::Bound;
use super::model::{Choice, Limit, Model, ModelArea, ModelOption, Pair, Resource};
use super::solve::best;

/// Kinds in a model.
const KINDS: usize = 5;

/// Every choice that there is.
fn every_choice(model: &Model) -> Vec<Choice> {
    model.areas.iter().fold(vec![Vec::new()], |choices, area| {
        let options = area.options.len();
        let longer = |choice: Choice| (0..options).map(move |at| [&choice[..], &[at]].concat());
        choices.into_iter().flat_map(longer).collect()
    })
}

/// The values of the choices that keep all limits, the best first.
fn values(model: &Model) -> Vec<f64> {
    let kept = every_choice(model).into_iter().filter(|choice| model.keeps(choice));
    let mut values: Vec<f64> = kept.map(|choice| model.value(&choice)).collect();
    values.sort_by(|a, b| b.total_cmp(a));
    values
}

/// Whole numbers, so that sums meet limits exactly or by a wide margin.
fn models() -> impl Strategy<Value = Model> {
    let option = |resources: usize| {
        let takes = prop::collection::vec(0..12_u32, resources);
        (0..KINDS, 0..100_u32, takes).prop_map(|(kind, value, takes)| ModelOption {
            kind,
            value: value.into(),
            takes: takes.into_iter().map(f64::from).collect(),
            creeps: false,
            seeds: false,
        })
    };
    let area = move |resources: usize| {
        let zone = prop::option::of(0..2_usize);
        let options = prop::collection::vec(option(resources), 1..5);
        (1..6_u32, zone, options).prop_map(|(size, zone, mut options)| {
            // a kind stands once at an area
            options.sort_by_key(|one| one.kind);
            options.dedup_by_key(|one| one.kind);
            ModelArea { size: size.into(), zone, options }
        })
    };
    (2..6_usize, 0..4_usize).prop_flat_map(move |(areas, resources)| {
        let pair = (0..areas, 0..areas, any::<bool>());
        let resource = (0..60_u32, any::<bool>());
        (
            prop::collection::vec(area(resources), areas),
            prop::collection::vec(pair, 0..4),
            prop::collection::vec(resource, resources),
            prop::option::of(1..4_usize),
            prop::collection::vec((any::<bool>(), prop::bool::weighted(0.2)), KINDS),
        )
            .prop_map(|(mut areas, pairs, resources, kinds, traits)| {
                // how a kind spreads is the same at every area
                for option in areas.iter_mut().flat_map(|area| &mut area.options) {
                    (option.creeps, option.seeds) = traits[option.kind];
                }
                let mut pairs: Vec<Pair> = pairs
                    .into_iter()
                    .filter(|(a, b, _)| a != b)
                    .map(|(a, b, edged)| Pair { a: a.min(b), b: a.max(b), edged })
                    .collect();
                pairs.sort_by_key(|pair| (pair.a, pair.b));
                pairs.dedup_by_key(|pair| (pair.a, pair.b));
                let resources = resources
                    .into_iter()
                    .map(|(most, zoned)| Resource { most: most.into(), zoned })
                    .collect();
                Model { areas, pairs, resources, kinds }
            })
    })
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-6
}

/// Each limit's price by trying every choice: the best value without it, and the least amount of a
/// resource that any better choice takes, with the best value that this amount allows.
fn check_price(model: &Model, value: f64, limit: Limit, found: Option<&super::answer::Price>) {
    let free = model.without(limit);
    let lifted = values(&free)[0];
    let Some(price) = found else {
        assert!(near(lifted, value), "{limit:?} keeps {lifted} away from {value}");
        return;
    };
    assert!(near(price.lifted, lifted) && lifted > value);
    match (limit, price.step) {
        (Limit::Resource(at), Some(step)) => {
            let better = every_choice(&free)
                .into_iter()
                .filter(|choice| free.keeps(choice) && free.value(choice) > value + 1e-4);
            let least = better.map(|choice| free.used(&choice, at)).fold(f64::INFINITY, f64::min);
            assert!((step.allowed - least).abs() < 1e-5, "{} {least}", step.allowed);
            let mut widened = model.clone();
            widened.resources[at].most = least;
            assert!(near(step.value, values(&widened)[0]));
        }
        (Limit::Kinds, Some(step)) => {
            let most = step.allowed as usize;
            let at = |most: usize| values(&Model { kinds: Some(most), ..model.clone() })[0];
            assert!(near(at(most), step.value) && step.value > value);
            assert!(near(at(most - 1), value));
        }
        (Limit::Pair(_) | Limit::Zone(_), None) => {}
        (limit, step) => panic!("{limit:?} is priced as {step:?}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_least_of_a_resource_is_that_of_trying_every_choice(model in models()) {
        for at in 0..model.resources.len() {
            let used = every_choice(&model).into_iter().map(|choice| model.used(&choice, at));
            prop_assert!(near(model.least(at), used.fold(f64::INFINITY, f64::min)));
        }
    }

    #[test]
    fn the_answer_is_that_of_trying_every_choice(model in models()) {
        let all = values(&model);
        match answer(&model).unwrap() {
            Answer::Best(best) => {
                prop_assert!(model.keeps(&best.choice));
                let value = model.value(&best.choice);
                prop_assert!(near(value, all[0]), "{value} is not {}", all[0]);
                match &best.runner_up {
                    Some(second) => {
                        prop_assert!(second != &best.choice && model.keeps(second));
                        prop_assert!(near(model.value(second), all[1]));
                    }
                    None => prop_assert_eq!(all.len(), 1),
                }
                for limit in model.limits() {
                    check_price(&model, value, limit, best.prices.iter().find(|one| one.limit == limit));
                }
            }
            Answer::Conflict(limits) => {
                prop_assert!(all.is_empty());
                prop_assert!(values(&model.with_only(&limits)).is_empty(), "the limits named can be kept");
                for limit in &limits {
                    let others: Vec<Limit> = limits.iter().copied().filter(|own| own != limit).collect();
                    prop_assert!(!values(&model.with_only(&others)).is_empty(), "{:?} is not needed", limit);
                }
            }
            Answer::NothingSuits(_) => prop_assert!(false, "every area has an option"),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    /// No choice that keeps the limits passes the bound on the whole, nor that on any option that it takes.
    #[test]
    fn no_choice_passes_its_bounds(model in models()) {
        let bound = Bound::of(&model);
        for choice in every_choice(&model).into_iter().filter(|choice| model.keeps(choice)) {
            let value = model.value(&choice);
            prop_assert!(value <= bound.upper, "{value} passes {}", bound.upper);
            for (area, at) in choice.iter().enumerate() {
                prop_assert!(value <= bound.with_option[area][*at], "{value} with {at} of {area}");
            }
        }
    }
}

#[test]
fn both_ends_of_the_property_above_are_met() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let sample: Vec<bool> = (0..200)
        .map(|_| {
            let model = models().new_tree(&mut runner).unwrap().current();
            best(&model).unwrap().is_some()
        })
        .collect();
    let solved = sample.iter().filter(|solved| **solved).count();
    assert!((40..=190).contains(&solved), "{solved} of 200 can be kept");
}

/// Two areas that share a valve are both given what the thirstier takes.
#[test]
fn a_zone_takes_what_its_thirstiest_takes() {
    let option =
        |kind, value, takes| ModelOption { kind, value, takes: vec![takes], creeps: false, seeds: false };
    let area = |size, options| ModelArea { size, zone: Some(0), options };
    let model = Model {
        areas: vec![
            area(10.0, vec![option(0, 90.0, 1.0)]),
            area(1.0, vec![option(1, 80.0, 5.0), option(0, 40.0, 1.0)]),
        ],
        pairs: Vec::new(),
        resources: vec![Resource { most: 20.0, zoned: true }],
        kinds: None,
    };
    assert_eq!(model.used(&[0, 0], 0), 55.0);
    let Answer::Best(best) = answer(&model).unwrap() else { panic!("there is a choice") };
    assert_eq!(best.choice, [0, 1]);
    assert_eq!(best.prices.len(), 2, "both the water and the shared valve keep the better choice away");
    // apart, the small bed alone takes 5: 10 + 5 fit into 20
    assert!(near(
        model.value(&[0, 0]),
        best.prices.iter().find(|one| one.limit == Limit::Zone(0)).unwrap().lifted
    ));
}

#[test]
fn an_area_without_options_is_named() {
    let bare = ModelArea { size: 1.0, zone: None, options: Vec::new() };
    let model = Model { areas: vec![bare], ..Model::default() };
    assert_eq!(answer(&model), Ok(Answer::NothingSuits(vec![0])));
}

/// Two kinds alike at one area, of which the other stands elsewhere too: one of them must be left.
#[test]
fn options_that_outdo_each_other_do_not_both_go() {
    let option = |kind| ModelOption { kind, value: 75.0, takes: Vec::new(), creeps: false, seeds: false };
    let area = |options| ModelArea { size: 1.0, zone: None, options };
    let model =
        Model { areas: vec![area(vec![option(1)]), area(vec![option(0), option(1)])], ..Model::default() };
    let Answer::Best(best) = answer(&model).unwrap() else { panic!("there is a choice") };
    assert!(near(model.value(&best.choice), 75.0));
}
