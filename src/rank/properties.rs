//! Properties that hold for any needs and any candidates.

use proptest::collection::vec;
use proptest::prelude::*;

use super::index::{corrected, simple_limitation, square_root, storie};
use super::*;

fn level_up_to(cap: u8) -> impl Strategy<Value = Level> {
    // Whole levels often: that is where classes change and where stated limits lie.
    prop_oneof![0.0..=f64::from(cap), (0..=cap).prop_map(f64::from)]
        .prop_map(|value| Level::new(value).unwrap())
}

fn level() -> impl Strategy<Value = Level> {
    level_up_to(5)
}

fn weight() -> impl Strategy<Value = Weight> {
    prop_oneof![Just(1.0), Just(0.0), 0.0..=5.0].prop_map(|v| Weight::new(v).unwrap())
}

fn openness() -> impl Strategy<Value = Openness> {
    prop_oneof![
        3 => Just(Openness::Decided),
        1 => Just(Openness::SiteFact),
        1 => Just(Openness::Trait),
    ]
}

fn state(cap: u8) -> impl Strategy<Value = NeedState<usize>> {
    let level = || level_up_to(cap);
    let flags = (any::<bool>(), any::<bool>(), prop::bool::weighted(0.2));
    ([level(), level(), level(), level()], openness(), weight(), flags).prop_map(
        |([level, one, two, three], open, weight, (key, graded, is_saving))| {
            let mut range = [one, two, three];
            range.sort();
            let [best, expected, worst] = range;
            NeedState { need: 0, level, best, worst, expected, open, is_saving, weight, key, graded }
        },
    )
}

/// Needs of a candidate, the first of which bears on the class.
fn needs() -> impl Strategy<Value = Vec<NeedState<usize>>> {
    // A cap on all levels of a candidate: without it nearly every one would be N.
    (2u8..=5).prop_flat_map(|cap| vec(state(cap), 1..12)).prop_map(|mut needs| {
        for (id, need) in needs.iter_mut().enumerate() {
            need.need = id;
        }
        needs[0].is_saving = false;
        needs
    })
}

fn entries() -> impl Strategy<Value = Vec<Entry<usize>>> {
    vec((0usize..4, prop_oneof![0.0..=100.0, (0u8..=20).prop_map(|v| 5.0 * f64::from(v))]), 0..20).prop_map(
        |list| {
            list.into_iter()
                .enumerate()
                .map(|(id, (class, index))| Entry { id, class: Class::ALL[class], index })
                .collect()
        },
    )
}

proptest! {
    #[test]
    fn rating_and_level_are_inverse(level in level()) {
        prop_assert!((level.rating().level().value() - level.value()).abs() < 1e-9);
    }

    #[test]
    fn worse_levels_have_lower_ratings(one in level(), other in level()) {
        prop_assert_eq!(one < other, one.rating() > other.rating());
    }

    #[test]
    fn index_lies_in_the_bands_of_the_classes_printed(needs in needs()) {
        let standing = stand(&needs).unwrap();
        if standing.span.worse.is_refused() || !standing.span.is_border() {
            prop_assert!(standing.class.band().contains(standing.index));
        }
        prop_assert!(standing.index >= standing.span.worse.band().low);
        prop_assert!(standing.index <= standing.span.better.band().high);
    }

    /// No cliffs: a fiftieth of a level, over a border of classes or not, moves the index by little.
    #[test]
    fn a_small_step_is_a_small_step(mut needs in needs(), at in any::<prop::sample::Index>()) {
        const STEP: f64 = 0.02;
        for need in &mut needs {
            need.graded = true;
            need.open = Openness::Decided;
        }
        let before = stand(&needs).unwrap();
        let at = at.get(&needs).need;
        needs[at].level = needs[at].level.shifted(STEP);
        let after = stand(&needs).unwrap();
        if !after.span.worse.is_refused() {
            prop_assert!(before.index - after.index <= 4.0, "{} {}", before.index, after.index);
        }
    }

    #[test]
    fn class_is_never_better_than_the_worst_need(needs in needs()) {
        let standing = stand(&needs).unwrap();
        for need in needs.iter().filter(|need| !need.is_saving) {
            prop_assert!(standing.class >= Class::from_worst(need.level));
            prop_assert!(standing.class >= Class::from_worst(need.used()));
        }
        prop_assert!(standing.class_best <= standing.class);
        prop_assert!(standing.class <= standing.class_worst);
        prop_assert!(standing.span.better <= standing.class);
        prop_assert!(standing.class <= standing.span.worse);
    }

    #[test]
    fn order_of_needs_changes_nothing(
        (needs, shuffled) in needs().prop_flat_map(|n| (Just(n.clone()), Just(n).prop_shuffle()))
    ) {
        prop_assert_eq!(stand(&needs), stand(&shuffled));
    }

    #[test]
    fn a_worse_level_never_helps(needs in needs(), at in any::<prop::sample::Index>(), by in 0.0..5.0) {
        let before = stand(&needs).unwrap();
        let mut worse = needs;
        let need = at.get(&worse).clone();
        worse[need.need] = NeedState {
            level: need.level.shifted(by),
            best: need.best.shifted(by),
            expected: need.expected.shifted(by),
            worst: need.worst.shifted(by),
            ..need
        };
        let after = stand(&worse).unwrap();
        prop_assert!(after.class >= before.class);
        prop_assert!(after.class_best >= before.class_best);
        prop_assert!(after.class_worst >= before.class_worst);
        prop_assert!(after.index <= before.index + 1e-9, "{} {}", before.index, after.index);
    }

    #[test]
    fn not_knowing_never_helps(needs in needs(), at in any::<prop::sample::Index>(), cause in openness()) {
        let mut known = needs;
        let at = at.get(&known).need;
        // a decided need counts at the mean of what little may still come to it
        let (best, expected) = (known[at].best, known[at].expected);
        (known[at].best, known[at].expected) = (known[at].level, known[at].level);
        known[at].open = Openness::Decided;
        let before = stand(&known).unwrap();
        (known[at].best, known[at].expected) = (best, expected);
        known[at].open = cause;
        let after = stand(&known).unwrap();
        prop_assert!(after.class >= before.class);
        prop_assert!(after.index <= before.index + 1e-9);
    }

    #[test]
    fn open_key_need_that_may_cost_s1_keeps_out_of_it(mut needs in needs()) {
        needs[0].key = true;
        needs[0].worst = needs[0].worst.max(Level::MODERATE);
        if needs[0].open == Openness::Decided {
            needs[0].open = Openness::Trait;
        }
        let standing = stand(&needs).unwrap();
        prop_assert!(standing.class >= Class::S2 && standing.index <= 85.0);
        prop_assert!(standing.span.better >= Class::S2);
    }

    #[test]
    fn a_need_of_weight_0_still_excludes(mut needs in needs(), at in any::<prop::sample::Index>()) {
        let at = at.get(&needs).need;
        needs[at].is_saving = false;
        needs[at].weight = Weight::new(0.0).unwrap();
        needs[at].level = Level::EXCLUDING;
        let standing = stand(&needs).unwrap();
        prop_assert_eq!(standing.class, Class::N);
        prop_assert!(standing.index <= 40.0);
        prop_assert!(standing.deciding.contains(&at));
    }

    #[test]
    fn savings_leave_the_class_alone(needs in needs()) {
        let without: Vec<_> = needs.iter().filter(|need| !need.is_saving).cloned().collect();
        let (with, without) = (stand(&needs).unwrap(), stand(&without).unwrap());
        prop_assert_eq!(with.class, without.class);
        prop_assert_eq!(with.class_worst, without.class_worst);
        prop_assert!(with.index <= without.index + 1e-9);
    }

    /// The correction with weight 1 is the square root index measured from the floor of the class.
    #[test]
    fn correction_is_the_index_from_the_floor(levels in (1u8..=5).prop_flat_map(|cap| vec(level_up_to(cap), 1..15))) {
        let class = simple_limitation(&levels).unwrap();
        let parts: Vec<_> = levels.iter().map(|level| Part::plain(level.rating())).collect();
        let worst = levels.iter().max().unwrap().rating().value();
        let low = class.band().low;
        let others = if worst > 0.0 { square_root(&parts).unwrap() / worst } else { 1.0 };
        let expected = low + (worst - low) * others;
        prop_assert!((corrected(class, &parts) - expected).abs() < 1e-9);
    }

    /// `new-parametric-concept-2013`: the square root method gives no less than Storie's.
    #[test]
    fn square_root_is_never_below_storie(levels in (1u8..=5).prop_flat_map(|cap| vec(level_up_to(cap), 1..15))) {
        let parts: Vec<_> = levels.iter().map(|level| Part::plain(level.rating())).collect();
        prop_assert!(square_root(&parts).unwrap() >= storie(&parts).unwrap() - 1e-9);
    }

    #[test]
    fn order_of_candidates_changes_nothing(
        (list, shuffled) in entries().prop_flat_map(|l| (Just(l.clone()), Just(l).prop_shuffle())),
        tie_within in 0.0..10.0,
    ) {
        prop_assert_eq!(place(&list, tie_within), place(&shuffled, tie_within));
    }

    /// Whatever says that two tie, it never contradicts the order.
    #[test]
    fn no_rule_of_ties_moves_anybody(list in entries(), ties in vec(any::<bool>(), 400)) {
        let plain = place(&list, 0.0);
        let places = place_by(&list, &|leader, own| ties[leader.id * 20 + own.id]);
        let ids = |places: &[Place<usize>]| places.iter().map(|one| one.id).collect::<Vec<_>>();
        prop_assert_eq!(ids(&places), ids(&plain));
        for pair in places.windows(2) {
            prop_assert!(pair[0].rank <= pair[1].rank);
        }
        for (at, own) in places.iter().enumerate() {
            let leader = &places[own.rank - 1];
            prop_assert!(own.rank == at + 1 || ties[leader.id * 20 + own.id]);
            prop_assert_eq!(list[own.id].class.is_refused(), list[leader.id].class.is_refused());
        }
    }

    #[test]
    fn ranks_follow_index_and_ties_are_mutual(list in entries(), tie_within in 0.0..10.0) {
        let places = place(&list, tie_within);
        prop_assert_eq!(places.len(), list.len());
        for (at, one) in places.iter().enumerate() {
            prop_assert!(one.rank <= at + 1);
            prop_assert_eq!(places[one.rank - 1].rank, one.rank);
            let (leader, own) = (&list[places[one.rank - 1].id], &list[one.id]);
            prop_assert!(leader.index - own.index <= tie_within + 1e-6);
            prop_assert_eq!(leader.class.is_refused(), own.class.is_refused());
            for other in &places {
                prop_assert_eq!(
                    one.tied_with.contains(&other.id),
                    one.id != other.id && one.rank == other.rank
                );
            }
        }
        for pair in places.windows(2) {
            let (one, other) = (&list[pair[0].id], &list[pair[1].id]);
            prop_assert!(one.class.is_refused() <= other.class.is_refused());
            prop_assert!(
                one.class.is_refused() != other.class.is_refused() || one.index >= other.index
            );
        }
    }
}
