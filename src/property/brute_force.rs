//! The solver against trying every choice, on small invented models.

use proptest::prelude::*;
use proptest::strategy::ValueTree;

use super::answer::{Answer, WORTH_TELLING, answer};
use super::bound::Bound;
use super::model::{Choice, Limit, Model, ModelArea, ModelOption, Pair, Resource};
use super::part::Part;
use super::solve::best;

/// Kinds in a model.
const KINDS: usize = 5;

/// Every choice that there is.
pub(super) fn every_choice(model: &Model) -> Vec<Choice> {
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

/// Whole numbers, so that sums meet limits exactly or by a wide margin; of some options it is not known what
/// they take.
pub(super) fn models() -> impl Strategy<Value = Model> {
    let option = |resources: usize| {
        let known = (0..12_u32).prop_map(f64::from);
        let takes = prop_oneof![9 => known, 1 => Just(f64::INFINITY)];
        let takes = prop::collection::vec(takes, resources);
        (0..KINDS, 0..100_u32, takes).prop_map(|(kind, value, takes)| ModelOption {
            kind,
            value: value.into(),
            takes,
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
    (2..6_usize, 0..5_usize).prop_flat_map(move |(areas, resources)| {
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
    one == other || (one - other).abs() < 1e-6
}

/// Whether a value is no more above another than what is not worth a word.
fn hardly_above(one: f64, other: f64) -> bool {
    one - other < WORTH_TELLING + 1e-6
}

/// The areas of which nobody knows of any option what it takes of what is limited.
fn unknown_areas(model: &Model) -> Vec<usize> {
    let asked = |at: &usize| model.resources[*at].most.is_finite();
    let asked: Vec<usize> = (0..model.resources.len()).filter(asked).collect();
    let unknown = |option: &ModelOption| asked.iter().any(|at| option.takes[*at].is_infinite());
    let all = |at: &usize| model.areas[*at].options.iter().all(unknown);
    (0..model.areas.len()).filter(all).collect()
}

/// Each limit's price by trying every choice: the best value without it, and the least amount of a
/// resource that any better choice takes, with the best value that this amount allows.
fn check_price(model: &Model, value: f64, limit: Limit, found: Option<&super::answer::Price>) {
    let free = model.without(limit);
    let lifted = values(&free)[0];
    let Some(price) = found else {
        assert!(hardly_above(lifted, value), "{limit:?} keeps {lifted} away from {value}");
        return;
    };
    assert!(near(price.lifted, lifted) && lifted > value);
    let least_of = |at: usize| {
        let better = every_choice(&free)
            .into_iter()
            .filter(|choice| free.keeps(choice) && free.value(choice) >= value + WORTH_TELLING);
        better.map(|choice| free.used(&choice, at)).fold(f64::INFINITY, f64::min)
    };
    match (limit, price.step) {
        (Limit::Resource(at), None) => {
            assert!(price.with_unknown && least_of(at).is_infinite(), "what helps is known");
        }
        (Limit::Resource(at), Some(step)) => {
            let least = least_of(at);
            assert!((step.allowed - least).abs() < 1e-5, "{} {least}", step.allowed);
            let mut widened = model.clone();
            widened.resources[at].most = least;
            assert!(near(step.value, values(&widened)[0]));
        }
        (Limit::Kinds, Some(step)) => {
            let most = step.allowed as usize;
            let at = |most: usize| values(&Model { kinds: Some(most), ..model.clone() })[0];
            assert!(near(at(most), step.value) && step.value > value);
            assert!(hardly_above(at(most - 1), value));
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
            Answer::NotKnown(areas) => prop_assert_eq!(areas, unknown_areas(&model)),
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
        let model = Part::known(&model, None);
        prop_assume!(!model.is_bare());
        let model = model.model;
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

/// A limit that could never bind keeps away what it cannot be held against: lifted, that comes back, and
/// nothing that is allowed would do the same.
#[test]
fn what_a_limit_cannot_be_held_against_stands_without_it() {
    let option = |kind, value, takes: &[f64]| ModelOption {
        kind,
        value,
        takes: takes.to_vec(),
        creeps: false,
        seeds: false,
    };
    let options = vec![option(0, 60.0, &[1.0, 1.0]), option(1, 90.0, &[f64::INFINITY, 1.0])];
    let resource = |most| Resource { most, zoned: false };
    let mut model = Model {
        areas: vec![ModelArea { size: 1.0, zone: None, options }],
        resources: vec![resource(1e6), resource(10.0)],
        ..Model::default()
    };
    let Ok(Answer::Best(best)) = answer(&model) else { panic!("there is a choice") };
    assert_eq!((best.choice, best.runner_up), (vec![0], None));
    let [price] = &best.prices[..] else { panic!("one limit binds: {:?}", best.prices) };
    assert_eq!((price.limit, price.lifted, price.step), (Limit::Resource(0), 90.0, None));
    assert!(price.with_unknown);
    model.areas[0].options.remove(0);
    assert_eq!(answer(&model), Ok(Answer::NotKnown(vec![0])));
    // the second limit alone is in the way of nothing
    model.resources[0].most = f64::INFINITY;
    let Ok(Answer::Best(best)) = answer(&model) else { panic!("there is a choice") };
    assert_eq!(best.choice, [0]);
}

/// Twelve pairs of neighbours, of which two are in the way of something better.
#[test]
fn many_pairs_are_priced_one_by_one() {
    let option = |kind, value, creeps| ModelOption { kind, value, takes: Vec::new(), creeps, seeds: false };
    // each second area has a better plant that creeps into its neighbour, where it cannot stand itself
    let pairs = (0..12).map(|at| Pair { a: 2 * at, b: 2 * at + 1, edged: false }).collect();
    let area = |at: usize| {
        let mut options = vec![option(at, 50.0, false)];
        if at == 6 || at == 18 {
            options.push(option(100 + at, 80.0, true));
        }
        ModelArea { size: 1.0, zone: None, options }
    };
    let model = Model { areas: (0..24).map(area).collect(), pairs, ..Model::default() };
    let Ok(Answer::Best(best)) = answer(&model) else { panic!("there is a choice") };
    let priced: Vec<Limit> = best.prices.iter().map(|price| price.limit).collect();
    assert_eq!(priced, [Limit::Pair(3), Limit::Pair(9)]);
    assert!(best.unpriced.is_empty());
    assert!(best.prices.iter().all(|price| near(price.lifted, model.value(&best.choice) + 30.0 / 24.0)));
}

/// A gain that would be printed as nothing is none.
#[test]
fn a_limit_that_costs_next_to_nothing_does_not_bind() {
    let option =
        |kind, value, takes| ModelOption { kind, value, takes: vec![takes], creeps: false, seeds: false };
    let answered = |better: f64| {
        let options = vec![option(0, 80.0, 1.0), option(1, better, 5.0)];
        let areas = vec![ModelArea { size: 1.0, zone: None, options }];
        let resources = vec![Resource { most: 2.0, zoned: false }];
        answer(&Model { areas, resources, ..Model::default() })
    };
    let Ok(Answer::Best(best)) = answered(80.04) else { panic!("there is a choice") };
    assert!(best.prices.is_empty());
    let Ok(Answer::Best(best)) = answered(80.06) else { panic!("there is a choice") };
    assert_eq!(best.prices.len(), 1);
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
