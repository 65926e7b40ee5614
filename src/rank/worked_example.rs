//! The worked example of DEVELOPERS.md: three invented species on an invented lawn, every figure
//! computed by hand. Change a figure here and there together.

use super::*;

fn need(id: &'static str, level: f64) -> NeedState<&'static str> {
    NeedState::decided(id, Level::new(level).unwrap())
}

fn saving(id: &'static str, level: f64) -> NeedState<&'static str> {
    NeedState { is_saving: true, ..need(id, level) }
}

/// Wear is the key need of a lawn.
fn wear(level: f64) -> NeedState<&'static str> {
    NeedState { key: true, ..need("wear", level) }
}

fn ratings(needs: &[NeedState<&'static str>]) -> Vec<f64> {
    needs.iter().map(|need| need.rating().value()).collect()
}

#[track_caller]
fn near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 6e-4, "{got} instead of {wanted}");
}

fn larkgrass() -> [NeedState<&'static str>; 4] {
    [need("light", 0.0), need("water", 1.0), wear(1.0), saving("upkeep-saving", 2.0)]
}

fn dunemat() -> [NeedState<&'static str>; 4] {
    [need("light", 1.2), need("water", 0.5), wear(0.0), saving("upkeep-saving", 0.0)]
}

fn ashfoot() -> [NeedState<&'static str>; 4] {
    [need("light", 2.4), need("water", 1.0), wear(0.0), saving("upkeep-saving", 1.0)]
}

fn entry(id: &'static str, standing: &Standing<&'static str>) -> Entry<&'static str> {
    Entry { id, class: standing.class, index: standing.index }
}

#[test]
fn worked_example_three_species() {
    // larkgrass. Levels 0, 1, 1 and the saving at 2 rate 100, 95, 95, 85.
    assert_eq!(ratings(&larkgrass()), [100.0, 95.0, 95.0, 85.0]);
    let lark = stand(&larkgrass()).unwrap();
    // The worst need, the saving not counted, is at 1: below 2, so S1; water and wear decide.
    assert_eq!((lark.class, lark.label().as_str()), (Class::S1, "S1"));
    assert_eq!(lark.deciding, ["water", "wear"]);
    // From the floor of S1, R_min = 95, the others 100, 95, 85:
    // sqrt(1 x 0.95 x 0.85) = sqrt(0.8075) = 0.898610; 85 + (95 - 85) x 0.898610 = 93.986.
    near(lark.index, 93.986);
    // Before correction the lowest rating is the saving's: 85 x sqrt(1 x 0.95 x 0.95) = 80.750,
    // a figure of S2 for a candidate of S1. That is what the correction is for.
    near(lark.uncorrected.unwrap(), 80.750);

    // dunemat. Light at 1.2 rates 95 - 0.2 x 10 = 93, water at 0.5 rates 100 - 0.5 x 5 = 97.5.
    for (got, wanted) in ratings(&dunemat()).into_iter().zip([93.0, 97.5, 100.0, 100.0]) {
        near(got, wanted);
    }
    let dune = stand(&dunemat()).unwrap();
    assert_eq!((dune.class, dune.label().as_str()), (Class::S1, "S1"));
    assert_eq!(dune.deciding, ["light"]);
    // sqrt(0.975 x 1 x 1) = 0.987421; 85 + (93 - 85) x 0.987421 = 92.899; 93 x 0.987421 = 91.830.
    near(dune.index, 92.899);
    near(dune.uncorrected.unwrap(), 91.830);

    // ashfoot. Light at 2.4 rates 85 - 0.4 x 25 = 75: S2.
    for (got, wanted) in ratings(&ashfoot()).into_iter().zip([75.0, 95.0, 100.0, 95.0]) {
        near(got, wanted);
    }
    let ash = stand(&ashfoot()).unwrap();
    assert_eq!((ash.class, ash.label().as_str()), (Class::S2, "S2"));
    // sqrt(0.95 x 1 x 0.95) = 0.95; 60 + (75 - 60) x 0.95 = 74.250; 75 x 0.95 = 71.250.
    near(ash.index, 74.250);
    near(ash.uncorrected.unwrap(), 71.250);

    // larkgrass leads; dunemat is 93.986 - 92.899 = 1.087 behind, within 2.0: a tie. ashfoot is
    // 19.736 behind: third.
    let places =
        place(&[entry("ashfoot", &ash), entry("dunemat", &dune), entry("larkgrass", &lark)], TIE_WITHIN);
    let list: Vec<_> = places.iter().map(|p| (p.id, p.rank, p.tied_with.clone())).collect();
    assert_eq!(
        list,
        [("larkgrass", 1, vec!["dunemat"]), ("dunemat", 1, vec!["larkgrass"]), ("ashfoot", 3, vec![]),]
    );

    // The guide shows the same as JSON; blanks there only line the keys up.
    let told: String = include_str!("../../DEVELOPERS.md").split_whitespace().collect();
    for place in &places {
        let standing = [&lark, &dune, &ash]
            [["larkgrass", "dunemat", "ashfoot"].iter().position(|id| *id == place.id).unwrap()];
        let line = format!(
            r#"{{"rank":{},"tied_with":{:?},"species":"{}","class":"{}","index":{:.2}}}"#,
            place.rank,
            place.tied_with,
            place.id,
            standing.label(),
            standing.index
        );
        assert!(told.contains(&line), "DEVELOPERS.md does not hold {line}");
    }
}

#[test]
fn worked_example_with_an_open_key_need() {
    // The same lawn, but how hard it is played on is not known, and only dunemat reacts to it:
    // level 0 on an unused lawn, 3 on a worn one, 1.5 on the mean over the plausible range.
    let mut needs = dunemat();
    needs[2] = NeedState {
        expected: Level::new(1.5).unwrap(),
        worst: Level::SEVERE,
        open: Openness::SiteFact,
        ..wear(0.0)
    };
    // Wear is rated on that mean. It is a key need of a lawn: open, it holds the class at S2, and the
    // index counts one moderate limit (rating 85) more.
    for (got, wanted) in ratings(&needs).into_iter().zip([93.0, 97.5, 90.0, 100.0]) {
        near(got, wanted);
    }
    let dune = stand(&needs).unwrap();
    assert_eq!((dune.class, dune.label().as_str(), dune.capped_open), (Class::S2, "S2", true));
    // Played on lightly it would be S1 (light at 1.2), played on hard S3 (wear at 3).
    assert_eq!((dune.class_best, dune.class_worst), (Class::S1, Class::S3));
    // sqrt(0.93 x 0.975 x 0.90 x 1) = sqrt(0.816075) = 0.903369; 60 + (85 - 60) x 0.903369 = 82.584.
    near(dune.index, 82.584);
    // 93.986 - 82.584 = 11.402: no tie any more.
    let lark = stand(&larkgrass()).unwrap();
    let places = place(&[entry("dunemat", &dune), entry("larkgrass", &lark)], TIE_WITHIN);
    assert_eq!((places[1].id, places[1].rank), ("dunemat", 2));
}
