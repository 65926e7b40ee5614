//! What must never go the wrong way: more water, more light, a milder winter.

use serde_json::Value;
use swardwright::rank::Rating;

use super::support::{root, run_in};

/// Levels that one need counts at by species, for a site with one line changed: what is open at its mean.
fn levels(base: &str, line: &str, need: &str) -> Vec<(String, f64)> {
    let text = base.replace("LINE", line);
    let run = run_in(&root(), &["recommend", "-", "--format", "json", "--samples", "0"], text.as_bytes());
    assert_eq!(run.code, 0, "{text}\n{}", run.err);
    let answer: Value = serde_json::from_str(&run.out).unwrap();
    let mut levels: Vec<(String, f64)> = answer["ranking"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            let needs = one["needs"].as_array().unwrap();
            let own = needs.iter().find(|own| own["need"] == need).unwrap();
            let rating = Rating::new(own["rating"].as_f64().unwrap()).unwrap();
            let level = own["level"].as_f64().unwrap().max(rating.level().value());
            (one["species"].as_str().unwrap().to_owned(), level)
        })
        .collect();
    levels.sort_by(|a, b| a.0.cmp(&b.0));
    levels
}

/// Holds every step of a series against the one before: no species may get worse.
fn never_worse(base: &str, lines: &[String], need: &str, which: impl Fn(&str) -> bool) {
    never_worse_by(1e-6, base, lines, need, which);
}

/// Doses under one cap only divide the same water otherwise, and small ones lose a little less of it below the
/// roots: of some 90,000 random steps from a dose to a larger one none cost more than 0.022 of a level, and one
/// in ten thousand more than a hundredth.
const SAME_WATER: f64 = 0.025;

fn never_worse_by(within: f64, base: &str, lines: &[String], need: &str, which: impl Fn(&str) -> bool) {
    let series: Vec<Vec<(String, f64)>> = lines.iter().map(|line| levels(base, line, need)).collect();
    for (at, pair) in series.windows(2).enumerate() {
        for ((species, before), (_, after)) in pair[0].iter().zip(&pair[1]) {
            if which(species) {
                assert!(
                    *after <= before + within,
                    "{need} of {species} worsens from {before} to {after} between {} and {}",
                    lines[at],
                    lines[at + 1]
                );
            }
        }
    }
}

const CLIMATE: &str = "[place]\nlatitude_deg = 34\nelevation_m = 300\n[climate]\ntmax_c = [12, 14, 19, 24, 28, 33, 35, 35, 30, 24, 17, 13]\ntmin_c = [0, 2, 6, 11, 16, 20, 22, 22, 18, 11, 5, 1]\nprecip_mm = [50, 55, 65, 60, 75, 55, 35, 40, 55, 60, 55, 50]\n";

#[test]
fn more_water_never_worsens_the_water_need() {
    for tan in [true, false] {
        let base = format!(
            "schema = 1\npurpose = \"lawn\"\n{CLIMATE}extreme_min_c = -10\n[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 60\n[ground]\ntree_roots = false\n[wishes]\naccept_dormant = {tan}\n[water]\nLINE\n"
        );
        let words = ["none", "limited", "full"].map(|word| format!("irrigation = \"{word}\""));
        never_worse(&base, &words, "water", |_| true);
        let depths: Vec<String> = [5, 15, 25]
            .iter()
            .map(|mm| format!("irrigation = \"limited\"\ndays_per_week = 2\ndepth_mm = {mm}"))
            .collect();
        never_worse(&base, &depths, "water", |_| true);
        let days: Vec<String> =
            (0..=7).map(|days| format!("irrigation = \"limited\"\ndays_per_week = {days}")).collect();
        never_worse(&base, &days, "water", |_| true);
        // under a cap too: whoever may water oftener may keep to fewer days
        for cap in [60, 300] {
            let words =
                ["limited", "full"].map(|word| format!("irrigation = \"{word}\"\nseason_cap_mm = {cap}"));
            never_worse(&base, &words, "water", |_| true);
            let days: Vec<String> = (1..=7)
                .map(|days| {
                    format!("irrigation = \"limited\"\nseason_cap_mm = {cap}\ndays_per_week = {days}")
                })
                .collect();
            never_worse(&base, &days, "water", |_| true);
            // and whoever may give more at a time may give less
            for days in [1, 3] {
                let depths: Vec<String> = [3, 4, 5, 8, 20, 60]
                    .iter()
                    .map(|mm| {
                        format!(
                            "irrigation = \"limited\"\nseason_cap_mm = {cap}\ndays_per_week = {days}\ndepth_mm = {mm}"
                        )
                    })
                    .collect();
                never_worse_by(SAME_WATER, &base, &depths, "water", |_| true);
            }
        }
        let caps: Vec<String> = [0, 100, 300, 900]
            .iter()
            .map(|mm| format!("irrigation = \"full\"\nseason_cap_mm = {mm}"))
            .collect();
        never_worse(&base, &caps, "water", |_| true);
    }
}

/// Where ample rain falls and the soil is shallow, a cap must leave something for every dry spell: leave to
/// water oftener costs a plant nothing, since it need not be used, and leave to give more at a time no more
/// than the little that larger doses lose.
#[test]
fn more_depth_or_days_under_a_cap_never_harm_on_shallow_soil() {
    let coast = "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 30.2\nelevation_m = 2\n[climate]\ntmax_c = [16, 18, 21, 25, 29, 32, 33, 33, 31, 27, 22, 17]\ntmin_c = [7, 9, 12, 16, 21, 24, 25, 25, 23, 17, 12, 8]\nprecip_mm = [130, 115, 130, 110, 115, 140, 180, 160, 145, 85, 105, 115]\nextreme_min_c = -6\n[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"sand\"\ndepth_cm = 15\n[ground]\ntree_roots = false\n[wishes]\naccept_dormant = true\n[water]\nLINE\n";
    for cap in [20, 60, 150, 300] {
        for days in [1, 7] {
            let depths: Vec<String> = [3, 5, 10, 20, 40]
                .iter()
                .map(|mm| {
                    format!("irrigation = \"full\"\nseason_cap_mm = {cap}\ndays_per_week = {days}\ndepth_mm = {mm}")
                })
                .collect();
            never_worse_by(SAME_WATER, coast, &depths, "water", |_| true);
        }
        let days: Vec<String> = (1..=7)
            .map(|days| {
                format!("irrigation = \"full\"\nseason_cap_mm = {cap}\ndays_per_week = {days}\ndepth_mm = 15")
            })
            .collect();
        never_worse(coast, &days, "water", |_| true);
    }
}

/// A cap that no year reaches changes nothing, one just below costs little, and more of all that is allowed
/// never harms across the border between them.
#[test]
fn a_cap_that_hardly_binds_hardly_harms() {
    let desert = "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 33.4\nelevation_m = 340\n[climate]\ntmax_c = [19, 22, 25, 30, 35, 40, 41, 40, 38, 31, 24, 19]\ntmin_c = [7, 8, 11, 15, 20, 25, 29, 28, 25, 18, 11, 7]\nprecip_mm = [22, 22, 24, 7, 3, 1, 26, 25, 16, 14, 16, 22]\nextreme_min_c = -4\n[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 60\n[ground]\ntree_roots = false\n[wishes]\naccept_dormant = false\n[water]\nLINE\n";
    let line = |days: u8, mm: f64, cap: Option<f64>| {
        let cap = cap.map_or_else(String::new, |cap| format!("\nseason_cap_mm = {cap}"));
        format!("irrigation = \"limited\"\ndays_per_week = {days}\ndepth_mm = {mm}{cap}")
    };
    for (days, mm) in [(3, 15.0), (1, 19.0), (7, 4.0)] {
        let most = f64::from(days) * mm * 53.0;
        let free = levels(desert, &line(days, mm, None), "water");
        assert_eq!(free, levels(desert, &line(days, mm, Some(most)), "water"), "{days} x {mm} mm");
        // series from little to all that can be given, and to a cap that no year can reach
        let caps: Vec<String> = [0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 1.0, 1.2]
            .iter()
            .map(|part| line(days, mm, Some(part * most)))
            .collect();
        never_worse(desert, &caps, "water", |_| true);
    }
    // one day more, or a little more a day, under a cap that then begins to bind
    let more = [line(1, 18.0, None), line(1, 19.0, Some(1010.0)), line(2, 19.0, Some(1010.0))];
    never_worse_by(SAME_WATER, desert, &more, "water", |_| true);
    let days: Vec<String> = (1..=7).map(|days| line(days, 15.0, Some(800.0))).collect();
    never_worse(desert, &days, "water", |_| true);
    let depths: Vec<String> =
        [4.0, 8.0, 12.0, 14.0, 15.0, 16.0, 20.0, 40.0].iter().map(|mm| line(3, *mm, Some(800.0))).collect();
    never_worse_by(SAME_WATER, desert, &depths, "water", |_| true);
}

/// The same while it is not known whether tree roots drink with it, or whether it may rest tan.
#[test]
fn more_water_never_worsens_the_water_need_of_a_site_half_known() {
    let base = format!(
        "schema = 1\npurpose = \"lawn\"\n{CLIMATE}extreme_min_c = -10\n[light]\nexposure = \"part-shade\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 60\n[water]\nLINE\n"
    );
    let words = ["none", "limited", "full"].map(|word| format!("irrigation = \"{word}\""));
    never_worse(&base, &words, "water", |_| true);
    let caps: Vec<String> = [0, 3, 15, 100, 200, 250]
        .iter()
        .map(|mm| format!("irrigation = \"full\"\nseason_cap_mm = {mm}"))
        .collect();
    never_worse(&base, &caps, "water", |_| true);
    // in the desert, where whatever is answered leaves it near refusal
    let desert = "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 33.4\nelevation_m = 340\n[climate]\ntmax_c = [19, 22, 25, 30, 35, 40, 41, 40, 38, 31, 24, 19]\ntmin_c = [7, 8, 11, 15, 20, 25, 29, 28, 25, 18, 11, 7]\nprecip_mm = [22, 22, 24, 7, 3, 1, 26, 25, 16, 14, 16, 22]\nextreme_min_c = -12\n[light]\nsun_hours = 4\n[soil]\ntexture = \"sand\"\ndepth_cm = 25\n[wishes]\naccept_dormant = false\n[water]\nLINE\n";
    let lines = [
        "irrigation = \"none\"".to_owned(),
        "irrigation = \"limited\"\nseason_cap_mm = 40\ndays_per_week = 1".to_owned(),
        "irrigation = \"limited\"\nseason_cap_mm = 120\ndays_per_week = 1".to_owned(),
        "irrigation = \"limited\"\ndays_per_week = 2".to_owned(),
    ];
    never_worse(desert, &lines, "water", |_| true);
}

/// The same where the word for irrigation is left out and only its limits are said, and where the depth of the
/// soil is not known: values that two answers share weigh as two, and nothing jumps where a need becomes open.
#[test]
fn more_water_never_worsens_the_water_need_where_words_are_left_out() {
    let plains = "[place]\nlatitude_deg = 39.8\nelevation_m = 1600\n[climate]\ntmax_c = [8, 9, 13, 16, 22, 28, 32, 31, 26, 19, 12, 7]\ntmin_c = [-8, -7, -3, 1, 7, 12, 15, 14, 10, 3, -3, -8]\nprecip_mm = [10, 11, 23, 43, 57, 46, 55, 47, 27, 27, 17, 9]\nextreme_min_c = -23\n";
    let sites = [
        "purpose = \"lawn\"\n[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"sand\"\n[ground]\ntree_roots = false\n[wishes]\naccept_dormant = false\n",
        "purpose = \"shade-cover\"\n[light]\ndli = 25\n[soil]\ntexture = \"sand\"\n[wishes]\naccept_dormant = false\n",
        "purpose = \"roadside\"\n[light]\nexposure = \"dense-shade\"\n[soil]\ntexture = \"sand\"\ndepth_cm = 5\n[wishes]\naccept_dormant = true\n",
        "purpose = \"park\"\n[light]\nexposure = \"part-shade\"\n[soil]\ntexture = \"sandy loam\"\n[ground]\ntree_roots = false\n[wishes]\naccept_dormant = true\n",
    ];
    for site in sites {
        let (purpose, rest) = site.split_once('\n').unwrap();
        let base = format!("schema = 1\n{purpose}\n{plains}{rest}[water]\nLINE\n");
        for word in ["", "irrigation = \"full\"\n"] {
            let days: Vec<String> =
                (1..=7).map(|days| format!("{word}season_cap_mm = 120\ndays_per_week = {days}")).collect();
            never_worse(&base, &days, "water", |_| true);
            let caps: Vec<String> = [20, 50, 51, 55, 70, 120, 180, 250, 600]
                .iter()
                .map(|cap| format!("{word}season_cap_mm = {cap}\ndays_per_week = 1\ndepth_mm = 10"))
                .collect();
            never_worse(&base, &caps, "water", |_| true);
        }
    }
}

/// Covers of shade may scorch; grasses of both seasons, which are species of sun, never mind more.
/// A grass with water enough cools itself and bears heat better, so that where a change is looked for that lets it
/// through the summer, only the most water is tried.
#[test]
fn more_water_never_worsens_the_heat_need() {
    let desert = "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 36.4\nelevation_m = 640\n[climate]\ntmax_c = [14, 17, 21, 26, 31, 37, 40, 39, 35, 28, 19, 14]\ntmin_c = [3, 5, 9, 12, 17, 22, 26, 25, 20, 14, 7, 3]\nprecip_mm = [14, 18, 12, 6, 4, 2, 10, 10, 8, 8, 9, 12]\n";
    let plains = format!("schema = 1\npurpose = \"lawn\"\n{CLIMATE}");
    for (climate, tan) in [(desert, true), (desert, false), (&plains, false)] {
        let base = format!(
            "{climate}extreme_min_c = -6\n[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 60\n[ground]\ntree_roots = false\n[wishes]\naccept_dormant = {tan}\n[water]\nLINE\n"
        );
        let words = ["none", "limited", "full"].map(|word| format!("irrigation = \"{word}\""));
        never_worse(&base, &words, "heat", |_| true);
        let depths: Vec<String> = [5, 15, 30]
            .iter()
            .map(|mm| format!("irrigation = \"limited\"\ndays_per_week = 2\ndepth_mm = {mm}"))
            .collect();
        never_worse(&base, &depths, "heat", |_| true);
        let days: Vec<String> =
            (0..=3).map(|days| format!("irrigation = \"limited\"\ndays_per_week = {days}")).collect();
        never_worse(&base, &days, "heat", |_| true);
        let caps: Vec<String> = [0, 100, 300, 600, 1500]
            .iter()
            .map(|mm| format!("irrigation = \"full\"\nseason_cap_mm = {mm}"))
            .collect();
        never_worse(&base, &caps, "heat", |_| true);
    }
}

#[test]
fn more_light_never_worsens_the_light_need_of_sun_species() {
    let base = format!(
        "schema = 1\npurpose = \"lawn\"\n{CLIMATE}extreme_min_c = -10\n[water]\nirrigation = \"full\"\n[light]\nLINE\n"
    );
    let hours: Vec<String> = [1, 3, 5, 7, 9, 12].iter().map(|hours| format!("sun_hours = {hours}")).collect();
    let sun = |species: &str| {
        let path = root().join("knowledge/species").join(format!("{species}.toml"));
        let file: toml::Table = toml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
        file["kind"].as_str().unwrap().ends_with("grass") && file["traits"].get("brightest_class").is_none()
    };
    never_worse(&base, &hours, "light", sun);
    // the same for walls about it that get lower
    let heights: Vec<String> =
        [75, 60, 45, 30, 15, 0].iter().map(|height| format!("horizon_deg = {height}")).collect();
    never_worse(&base, &heights, "light", sun);
    // for crowns that get thinner, whose kind is said or not, and for light that was measured
    for kind in ["\ncanopy = \"deciduous\"", "\ncanopy = \"evergreen\"", ""] {
        let crowns: Vec<String> = [0.95, 0.86, 0.77, 0.6, 0.4, 0.2, 0.17, 0.05, 0.0]
            .iter()
            .map(|cover| format!("canopy_cover = {cover}{kind}"))
            .collect();
        never_worse(&base, &crowns, "light", sun);
    }
    let measured: Vec<String> = [2, 6, 10, 14, 20, 30, 45].iter().map(|dli| format!("dli = {dli}")).collect();
    never_worse(&base, &measured, "light", sun);
}

/// Trees whose kind nobody named stand between the two kinds, for every species.
#[test]
fn trees_unnamed_stand_between_both_kinds() {
    let base = format!(
        "schema = 1\npurpose = \"lawn\"\n{CLIMATE}extreme_min_c = -10\n[water]\nirrigation = \"full\"\n[light]\nLINE\n"
    );
    for cover in [0.2, 0.5, 0.86] {
        let under = |kind: &str| levels(&base, &format!("canopy_cover = {cover}{kind}"), "light");
        let (bare, green) = (under("\ncanopy = \"deciduous\""), under("\ncanopy = \"evergreen\""));
        for ((species, unnamed), (bare, green)) in under("").iter().zip(bare.iter().zip(&green)) {
            let (low, high) = (bare.1.min(green.1), bare.1.max(green.1));
            assert!(
                (low - 0.02..=high + 0.02).contains(unnamed),
                "{species} {cover}: {unnamed} not {low} to {high}"
            );
        }
    }
}

#[test]
fn a_milder_winter_never_worsens_the_cold_need() {
    let base = format!("schema = 1\npurpose = \"lawn\"\n{CLIMATE}LINE\n[light]\nexposure = \"full-sun\"\n");
    let minima: Vec<String> = [-38, -30, -24, -18, -12, -6, -3, 0]
        .iter()
        .map(|minimum| format!("extreme_min_c = {minimum}"))
        .collect();
    never_worse(&base, &minima, "cold", |_| true);
}

/// The check itself can fail: winter cold does worsen when the winter hardens.
#[test]
#[should_panic(expected = "worsens")]
fn a_harder_winter_is_seen() {
    let base = format!("schema = 1\npurpose = \"lawn\"\n{CLIMATE}LINE\n");
    never_worse(&base, &["extreme_min_c = 0".to_owned(), "extreme_min_c = -30".to_owned()], "cold", |_| true);
}

/// A word for shade and the hours that the table takes it for are one statement: no species gains or loses
/// more than a step of its light by saying it the other way, with and without a known climate. Full sun is
/// the open sky, of which the nine hours of the table are four fifths: what bears no scorching is better
/// off with those, and nothing else differs by a step.
#[test]
fn a_word_for_light_rates_as_its_own_hours() {
    let words = [("full-sun", 9.0), ("part-shade", 5.0), ("shade", 3.0), ("dense-shade", 1.0)];
    let knowledge = super::support::knowledge();
    let table = knowledge.table_named("exposure").unwrap();
    for (at, (word, hours)) in words.iter().enumerate() {
        assert_eq!(table.number(at, "sun_hours"), Some(*hours), "{word}");
    }
    let mut compared = 0;
    for climate in [CLIMATE, ""] {
        let base = format!("schema = 1\npurpose = \"lawn\"\n{climate}[light]\nLINE\n");
        for (word, hours) in words {
            let said = levels(&base, &format!("exposure = \"{word}\""), "light");
            let counted = levels(&base, &format!("sun_hours = {hours}"), "light");
            for ((species, own), (_, other)) in said.iter().zip(&counted) {
                let scorched = word == "full-sun" && own > other;
                assert!(
                    scorched || (own - other).abs() <= 1.0,
                    "{species}: {word} {own}, {hours} hours {other}"
                );
                compared += 1;
            }
        }
    }
    assert!(compared > 500, "{compared}");
}
