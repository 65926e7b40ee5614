//! `swardwright property` on invented properties: kept reports, and what any answer must keep.

use std::fs;

use serde_json::Value as Json;

use super::support::{Run, edition_masked, folders, golden, root, run, run_in};

const COURT: &str = "tests/property/invented-court/property.toml";

fn json_of(run: &Run) -> Json {
    serde_json::from_str(&run.out).unwrap_or_else(|fault| panic!("{fault}: {}", run.err))
}

/// The answer to a text on standard input, as JSON.
fn asked(text: &str) -> Json {
    json_of(&run_in(&root(), &["property", "-", "--format", "json"], text.as_bytes()))
}

fn court() -> String {
    fs::read_to_string(root().join(COURT)).unwrap()
}

fn areas(answer: &Json) -> Vec<Json> {
    answer["answer"]["areas"].as_array().unwrap_or_else(|| panic!("no choice: {answer:#}")).clone()
}

#[test]
fn the_reports_are_the_ones_kept() {
    let mut wrong = Vec::new();
    let names = folders(&root().join("tests/property"));
    assert!(names.len() >= 2);
    for name in names {
        let file = format!("tests/property/{name}/property.toml");
        let text = fs::read_to_string(root().join(&file)).unwrap();
        assert!(text.lines().next().unwrap().contains("Invented"), "{name}");
        let run = run(&["property", &file, "--width", "80"]);
        let report = format!("exit {}\n{}{}", run.code, run.err, edition_masked(&run.out));
        wrong.extend(golden(&root().join("tests/property").join(&name).join("report.txt"), &report));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_choice_keeps_every_limit_and_adds_up() {
    let answer = asked(&court());
    let chosen = areas(&answer);
    assert_eq!(chosen.len(), 5);
    let mut kinds: Vec<&str> = chosen.iter().map(|area| area["species"].as_str().unwrap()).collect();
    kinds.sort_unstable();
    kinds.dedup();
    assert!(kinds.len() <= 3, "{kinds:?}");
    let sum = |key: &str| chosen.iter().map(|area| area[key].as_f64().unwrap()).sum::<f64>();
    let limits = answer["answer"]["limits"].as_array().unwrap();
    let allowance = limits.iter().find(|limit| limit["limit"] == "etwu_m3_yr").unwrap();
    assert!((sum("etwu_m3_yr") - allowance["used"].as_f64().unwrap()).abs() < 1e-3);
    assert!(sum("etwu_m3_yr") <= allowance["most"].as_f64().unwrap() + 1e-3);
    let weighted: f64 =
        chosen.iter().map(|area| area["area_m2"].as_f64().unwrap() * area["index"].as_f64().unwrap()).sum();
    let mean = answer["answer"]["mean_index"].as_f64().unwrap();
    assert!((weighted / sum("area_m2") - mean).abs() < 1e-3);
    let second = answer["answer"]["runner_up"]["mean_index"].as_f64().unwrap();
    assert!(second <= mean);
    assert!(chosen.iter().all(|area| ["S1", "S2", "S3"].contains(&area["class"].as_str().unwrap())));
}

/// An area that is never watered, where it rains enough for something to live on that.
const DRY: &str = "water.irrigation = \"none\"\n\
                   climate.precip_mm = [90, 90, 90, 90, 90, 90, 90, 90, 90, 90, 90, 90]\n";

/// MAWA of the property by the ordinance's own units: 51.1 in over 1130 m2 (12,163.2 ft2), residential:
/// 51.1 × 0.62 × 0.55 × 12,163.2 = 211,946 gal, which are 802.3 m3 (our own sum by the formula).
#[test]
fn the_allowance_is_that_of_the_formula() {
    let text = court().replace("mawa = true", "mawa = true\neto_in_yr = 51.1");
    let answer = asked(&text);
    let limits = answer["answer"]["limits"].as_array().unwrap();
    let allowance = limits.iter().find(|limit| limit["limit"] == "etwu_m3_yr").unwrap();
    assert!((allowance["most"].as_f64().unwrap() - 802.3).abs() < 0.1, "{allowance}");
    // an area without irrigation counts neither here nor there: 1010 m2 are left
    let dry = text.replace("name = \"north bed\"\n", &format!("name = \"north bed\"\n{DRY}"));
    let answer = asked(&dry);
    let limits = answer["answer"]["limits"].as_array().unwrap();
    let allowance = limits.iter().find(|limit| limit["limit"] == "etwu_m3_yr").unwrap();
    assert!((allowance["most"].as_f64().unwrap() - 802.3 * 1010.0 / 1130.0).abs() < 0.1, "{allowance}");
}

#[test]
fn without_limits_every_area_takes_its_own_first_choice() {
    let text = court();
    let (alone, _) = text.split_once("[limits]").unwrap();
    let alone = alone.replace("beside = [\"north bed\"]", "").replace("edged = [\"path strip\"]", "");
    let answer = asked(&alone);
    let shared = alone.split("[[area]]").next().unwrap();
    // the purpose stands above the first section
    let site = shared.replacen("[place]", "purpose = \"lawn\"\n[place]", 1)
        + "[ground]\narea_m2 = 400\n[use]\nwear = \"moderate\"\n";
    let ranked = json_of(&run_in(&root(), &["recommend", "-", "--format", "json"], site.as_bytes()));
    let first = &ranked["ranking"][0];
    let lawn = &areas(&answer)[0];
    assert_eq!(lawn["species"], first["species"], "{lawn}");
    assert!((lawn["index"].as_f64().unwrap() - first["index"].as_f64().unwrap()).abs() < 0.1);
    assert!(answer["answer"]["limits"].as_array().unwrap().is_empty());
}

/// What the areas of an invented plot share.
const PLOT: &str = r#"schema = 1
name = "Plot (invented)"
[place]
region = "US-CA"
latitude_deg = 36.7
longitude_deg = -119.8
elevation_m = 100
[climate]
tmax_c = [13, 17, 20, 24, 29, 33, 37, 36, 33, 26, 18, 13]
tmin_c = [4, 5, 7, 9, 13, 17, 20, 19, 16, 11, 6, 3]
precip_mm = [55, 50, 48, 24, 11, 4, 1, 1, 4, 15, 26, 43]
extreme_min_c = -4
[soil]
texture = "sandy loam"
depth_cm = 60
ph = 7.2
drainage = "well"
[light]
exposure = "full-sun"
[water]
irrigation = "full"
establishment_water = true
[upkeep]
level = "medium"
"#;

/// A plot of a lawn of 400 m2 and a bank of 800 m2, of which more is said, under some limits.
fn plot(lawn: &str, bank: &str, limits: &str) -> String {
    format!(
        "{PLOT}[[area]]\nname = \"lawn\"\narea_m2 = 400\npurpose = \"lawn\"\n{lawn}\n[[area]]\nname = \"bank\"\n\
         area_m2 = 800\npurpose = \"slope-cover\"\n{bank}\n[limits]\n{limits}\n"
    )
}

const MAWA: &str = "mawa = true\nland_use = \"residential\"\n";

fn limit(answer: &Json, name: &str) -> Json {
    let limits = answer["answer"]["limits"].as_array().unwrap_or_else(|| panic!("no choice: {answer:#}"));
    limits.iter().find(|limit| limit["limit"] == name).unwrap().clone()
}

/// An area that is never watered is on no valve, whatever hydrozone it is said to be of.
#[test]
fn a_dry_area_takes_nothing_of_its_hydrozone() {
    let zone = "hydrozone = \"one\"\n";
    let limits = format!("{MAWA}water_m3_yr = 5000\n");
    let [together, apart] =
        [zone, ""].map(|zone| asked(&plot(zone, &format!("{zone}{DRY}"), &limits))["answer"].clone());
    assert_eq!(together["areas"], apart["areas"]);
    assert_eq!(together["areas"][1]["etwu_m3_yr"], 0.0);
    assert_eq!(together["areas"][1]["water_m3_yr"], 0.0);
    assert_eq!(together["areas"][1]["allowance"]["landscape"], "not-watered");
}

/// A limit that can never bind costs what it keeps away for want of a figure.
#[test]
fn what_a_limit_costs_is_what_comes_of_lifting_it() {
    let beds = "light.exposure = \"shade\"\n";
    let limited = asked(&plot(beds, beds, "nitrogen_kg_yr = 100000\n"));
    let lifted = asked(&plot(beds, beds, ""))["answer"]["mean_index"].as_f64().unwrap();
    let price = limit(&limited, "nitrogen_kg_yr");
    let mean = limited["answer"]["mean_index"].as_f64().unwrap();
    let told = price["lifted_mean_index"].as_f64().unwrap_or(mean);
    assert!((told - lifted).abs() < 0.06, "{told} is told, {lifted} it is: {price:#}");
    if price["binds"] == true {
        assert_eq!(price["lifted_takes_unknown"], true, "so much nitrogen binds nobody: {price:#}");
        assert_eq!(price["least_that_helps"], Json::Null);
    }
}

/// One irrigation a week of 5 mm is at most 5 mm x 365.25 / 7 in a year: 139 m3 on 400 m2 by spray.
#[test]
fn an_area_takes_no_more_than_the_days_and_depth_allow() {
    let only = "candidates.only = [\"cynodon-dactylon\"]\n";
    let taken = |water: &str| {
        let answer = asked(&plot(&format!("{only}{water}"), "", "water_m3_yr = 5000\n"));
        areas(&answer)[0]["water_m3_yr"].as_f64().unwrap()
    };
    let allowed = |depth: f64| {
        taken(&format!("water.irrigation = \"limited\"\nwater.days_per_week = 1\nwater.depth_mm = {depth}\n"))
    };
    let (little, more, full) = (allowed(5.0), allowed(10.0), taken("water.irrigation = \"full\"\n"));
    let most = |depth: f64| depth / 1000.0 * 365.25 / 7.0 / 0.75 * 400.0;
    assert!(little > 0.0 && little <= most(5.0), "{little}");
    assert!(little < more && more <= most(10.0).min(full), "{little} {more} {full}");
    // where the soil is not known the daily balance cannot run, and days and depth are all there is
    let unknown =
        plot(&format!("{only}water.days_per_week = 1\nwater.depth_mm = 5\n"), "", "water_m3_yr = 5000\n")
            .replace("texture = \"sandy loam\"\ndepth_cm = 60\n", "");
    let little = areas(&asked(&unknown))[0]["water_m3_yr"].as_f64().unwrap();
    assert!((little - most(5.0)).abs() < 0.01, "{little}");
}

/// 40 in x 0.62 over 400 m2 (4305.56 ft2), ETAF 1: 106,778 gal, which are 404.2 m3 (our own sum by the
/// formula).
#[test]
fn a_special_landscape_area_is_charged_what_it_is_granted() {
    let limits = format!("{MAWA}eto_in_yr = 40\n");
    let bank = "candidates.only = [\"bouteloua-dactyloides\"]\n";
    let answer = asked(&plot("special_landscape = true\n", bank, &limits));
    let [lawn, bank] = &areas(&answer)[..] else { panic!("two areas") };
    assert!((lawn["etwu_m3_yr"].as_f64().unwrap() - 404.2).abs() < 0.1, "{lawn}");
    assert_eq!(lawn["allowance"]["landscape"], "special");
    // the others keep to the allowance by themselves
    let factor = bank["allowance"]["plant_factor"].as_f64().unwrap();
    assert!(factor / 0.75 <= 0.55 + 1e-6, "{bank}");
}

/// What stands beside the allowance is enough to reckon it again.
#[test]
fn etwu_follows_from_what_is_printed_beside_it() {
    let answer = asked(&court());
    for area in areas(&answer) {
        let by = |key: &str| area["allowance"][key].as_f64().unwrap();
        let feet = area["area_m2"].as_f64().unwrap() / 0.092_903_04;
        let gallons = by("eto_in_yr") * 0.62 * by("plant_factor") / by("efficiency") * feet;
        let told = area["etwu_m3_yr"].as_f64().unwrap();
        assert!((gallons * 3.785_411_784e-3 - told).abs() < 0.01, "{area}");
        assert!(area["allowance"]["eto_source"].as_str().unwrap().contains("FAO"), "{area}");
    }
}

/// The allowance rests on the place, not on which way a slope of it faces.
#[test]
fn a_slope_earns_no_allowance() {
    let most = |aspect: &str| {
        let lawn = format!("ground.slope_pct = 60\nground.aspect = \"{aspect}\"\n");
        let answer = asked(&plot(if aspect.is_empty() { "" } else { &lawn }, "", MAWA));
        limit(&answer, "etwu_m3_yr")["most"].as_f64().unwrap()
    };
    let level = most("");
    assert!(level > 0.0);
    for aspect in ["south", "north"] {
        assert!((most(aspect) - level).abs() < 1e-6, "{aspect}");
    }
}

/// A valve has one system: what one of its areas tells holds for all.
#[test]
fn a_hydrozone_has_one_system() {
    let [lawn, bank] = ["hydrozone = \"one\"\n", "hydrozone = \"one\"\nsystem = \"drip\"\n"];
    let answer = asked(&plot(lawn, bank, MAWA));
    for area in areas(&answer) {
        assert_eq!(area["allowance"]["efficiency"], 0.81, "{area}");
    }
}

#[test]
fn a_property_without_a_climate_says_so() {
    let text = "schema = 1\npurpose = \"lawn\"\n[[area]]\nname = \"a\"\narea_m2 = 9\n";
    let run = run_in(&root(), &["property", "-"], text.as_bytes());
    assert!(
        run.out.contains("Not known: the climate. Until it is, this choice means little."),
        "{}",
        run.out
    );
    let answer = asked(text);
    assert_eq!(answer["not_known"][0]["facts"][0], "the climate");
    assert_eq!(asked(&court())["not_known"], Json::Array(Vec::new()));
}

/// Tighter limits never raise the mean index, and one kind is one kind.
#[test]
fn a_tighter_limit_never_helps() {
    let text = court();
    let means: Vec<f64> = [5, 3, 2]
        .map(|kinds| asked(&text.replace("kinds = 3", &format!("kinds = {kinds}"))))
        .iter()
        .map(|answer| answer["answer"]["mean_index"].as_f64().unwrap_or(f64::NEG_INFINITY))
        .collect();
    assert!(means.is_sorted_by(|more, fewer| more >= fewer), "{means:?}");
}

#[test]
fn what_an_area_says_goes_before_other_ways_of_saying_the_same() {
    let text = court()
        .replace(
            "[area.light]\nexposure = \"shade\"",
            "[area.light]\ncanopy_cover = 0.7\ncanopy = \"evergreen\"",
        )
        .replace(
            "[area.ground]\nslope_pct = 25",
            "[area.soil]\nsand_pct = 20\nsilt_pct = 20\nclay_pct = 60\ndepth_in = 10",
        );
    let run = run_in(&root(), &["property", "-", "--format", "json"], text.as_bytes());
    assert!(run.code < 2, "{}", run.err);
    assert!(!run.err.contains("light-twice") && !run.err.contains("texture-twice"), "{}", run.err);
}

#[test]
fn two_runs_give_the_same_bytes() {
    assert_eq!(run(&["property", COURT]).out, run(&["property", COURT]).out);
}

/// A conflict is minimal: without any one of the limits that it names there is a choice.
#[test]
fn limits_that_conflict_are_named() {
    let text = fs::read_to_string(root().join("tests/property/invented-conflict/property.toml")).unwrap();
    let answer = run_in(&root(), &["property", "-", "--format", "json"], text.as_bytes());
    assert_eq!(answer.code, 1, "{}", answer.err);
    let answer = json_of(&answer);
    assert_eq!(answer["outcome"], "conflict");
    let named: Vec<&str> = answer["answer"]["limits"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["limit"].as_str().unwrap())
        .collect();
    assert_eq!(named, ["kinds", "water_m3_yr"]);
    for lifted in ["kinds = 1\n", "water_gal_yr = 40000\n"] {
        assert!(text.contains(lifted));
        assert_eq!(asked(&text.replace(lifted, ""))["outcome"], "best", "without {lifted}");
    }
}

/// Where nothing suits one area the others are answered as if it were not there.
#[test]
fn an_area_that_nothing_suits_keeps_no_answer_from_the_others() {
    let limits = "kinds = 1\nwater_m3_yr = 5000\n";
    let whole = plot("", "soil.ec_ds_m = 60\n", limits);
    let at = whole.rfind("[[area]]").unwrap();
    let alone = format!("{}[limits]\n{limits}", &whole[..at]);
    let (answer, alone) = (asked(&whole), asked(&alone));
    assert_eq!(answer["outcome"], "nothing-suits", "{answer:#}");
    assert_eq!(answer["answer"]["areas"], serde_json::json!(["bank"]));
    let others = &answer["answer"]["others"];
    assert_eq!((&others["outcome"], &others["answer"]), (&alone["outcome"], &alone["answer"]));
    assert_eq!(others["outcome"], "best");
    let text = run_in(&root(), &["property", "-"], whole.as_bytes());
    assert_eq!(text.code, 1, "the property as it stands is not answered");
    let chosen = alone["answer"]["areas"][0]["common_name"].as_str().unwrap();
    assert!(text.out.contains(chosen) && text.out.contains("Without it the others"), "{}", text.out);
}

/// The contract of the JSON answer, held against every outcome and every limit; what is not of it is refused.
#[test]
fn json_answers_keep_the_contract() {
    let schema = fs::read_to_string(root().join("schemas/property-answer.schema.json")).unwrap();
    let schema: Json = serde_json::from_str(&schema).unwrap();
    assert!(jsonschema::draft202012::meta::is_valid(&schema));
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let conflict = fs::read_to_string(root().join("tests/property/invented-conflict/property.toml")).unwrap();
    let all = format!(
        "{MAWA}kinds = 1\nwater_m3_yr = 5000\nnitrogen_kg_yr = 60\nhours_yr = 400\nmowing_ft2_h = 12000\n"
    );
    let special = "special_landscape = true\nbeside = [\"bank\"]\n";
    let zoned = "hydrozone = \"one\"\n";
    let salty = "soil.ec_ds_m = 60\n";
    let unknown = "candidates.only = [\"juniperus-horizontalis\"]\n";
    let texts = [
        ("best", court()),
        ("best", plot(special, "", &all)),
        ("best", plot(zoned, zoned, "water_gal_yr = 200000\n")),
        ("best", plot("", DRY, &format!("{MAWA}hours_yr = 200\n"))),
        ("best", plot("", "", "nitrogen_kg_yr = 20\n")),
        ("best", "schema = 1\npurpose = \"lawn\"\n[[area]]\nname = \"a\"\narea_m2 = 9\n".to_owned()),
        ("conflict", conflict),
        ("conflict", plot("", "", "hours_yr = 1\n")),
        ("nothing-suits", plot(salty, "", "kinds = 2\n")),
        ("nothing-suits", plot(salty, salty, "kinds = 2\n")),
        ("not-known", plot("", unknown, "nitrogen_kg_yr = 100\n")),
    ];
    for (outcome, text) in &texts {
        let answer = asked(text);
        assert_eq!(answer["outcome"], *outcome, "{text}\n{answer:#}");
        let faults: Vec<String> = validator.iter_errors(&answer).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{faults:#?}\n{answer:#}");
    }
    // slips of the program that the contract must notice
    let answer = asked(&texts[1].1);
    let slips: [(&str, Json); 8] = [
        ("/schema", 2.into()),
        ("/outcome", "conflict".into()),
        ("/answer/areas/0/class", "N".into()),
        ("/answer/areas/0/hours_yr", (-1).into()),
        ("/answer/areas/0/allowance/landscape", "regular".into()),
        ("/answer/limits/0/limit", "colours".into()),
        ("/answer/limits/0/used", Json::Null),
        ("/answer/cautions/0/severity", "grave".into()),
    ];
    for (place, value) in slips {
        let mut wrong = answer.clone();
        *wrong.pointer_mut(place).unwrap_or_else(|| panic!("{place}: {answer:#}")) = value;
        assert!(!validator.is_valid(&wrong), "{place}");
    }
    let mut wrong = answer.clone();
    wrong["answer"]["areas"][0]["colour"] = "green".into();
    assert!(!validator.is_valid(&wrong));
}

/// What of each area goes into its hours.
fn upkeep_of(answer: &Json, area: usize) -> [f64; 5] {
    let area = &areas(answer)[area];
    let of = |key: &str| area["upkeep"][key].as_f64().unwrap_or_else(|| panic!("{key}: {area:#}"));
    [
        of("cuts_yr"),
        of("mowing_m2_h"),
        of("mowing_hours_yr"),
        of("care_hours_yr"),
        area["hours_yr"].as_f64().unwrap(),
    ]
}

/// Bermudagrass on 400 m2 of lawn: a high need of mowing is a cut a week of full growth, at 557 m2 an hour.
#[test]
fn hours_follow_from_what_is_printed_beside_them() {
    let only = "candidates.only = [\"cynodon-dactylon\"]\n";
    let taken = |lawn: &str, limits: &str| {
        let answer = asked(&plot(&format!("{only}{lawn}"), "", &format!("hours_yr = 500\n{limits}")));
        upkeep_of(&answer, 0)
    };
    let [cuts, per_hour, mowing, care, hours] = taken("", "");
    assert!((15.0..=30.0).contains(&cuts), "{cuts}");
    assert_eq!(per_hour, 557.0);
    assert!((mowing - cuts * 400.0 / 557.0).abs() < 1e-4 && (hours - mowing - care).abs() < 1e-4);
    // what the client says goes before the table, in either unit: 10,000 ft2 are 929.0 m2
    let [own_cuts, own, own_mowing, own_care, _] = taken("", "mowing_ft2_h = 10000\n");
    assert!((own - 929.03).abs() < 0.01 && own_cuts == cuts && own_care == care);
    assert!((own_mowing - mowing * 557.0 / own).abs() < 1e-4);
    assert_eq!(taken("", "mowing_m2_h = 1114\n")[2], (mowing / 2.0 * 1e6).round() / 1e6);
    // a lawn that is cut every second week is cut half as often, one that is cut daily no more than it asks for
    let seldom = taken("upkeep.mowings_per_week = 0.5\n", "");
    assert!((seldom[0] - cuts / 2.0).abs() < 1e-4 && seldom[3] == care, "{seldom:?}");
    assert_eq!(taken("upkeep.mowings_per_week = 7\n", "")[0], cuts);
    // on a bank the same grass is cut once
    let bank = asked(&plot("", only, "hours_yr = 500\n"));
    assert_eq!(upkeep_of(&bank, 1)[0], 1.0);
}

/// A longer season takes more hours, and a cover that is never cut none of mowing.
#[test]
fn hours_go_by_the_season_and_by_what_a_plant_bears() {
    let only = |id: &str| format!("candidates.only = [\"{id}\"]\n");
    let grass = only("schedonorus-arundinaceus");
    let warm = asked(&plot(&grass, "", "hours_yr = 500\n"));
    let cold = "climate.tmax_c = [0, 2, 7, 13, 18, 23, 26, 25, 20, 13, 6, 1]\n\
                climate.tmin_c = [-9, -7, -3, 2, 7, 12, 15, 14, 9, 3, -2, -7]\nclimate.extreme_min_c = -24\n";
    let cold = asked(&plot(&format!("{grass}{cold}"), "", "hours_yr = 500\n"));
    let (warm, cold) = (upkeep_of(&warm, 0), upkeep_of(&cold, 0));
    assert!(cold[0] < warm[0] && cold[3] < warm[3] && cold[4] < warm[4], "{cold:?} {warm:?}");
    let woody = asked(&plot("", &only("juniperus-horizontalis"), "hours_yr = 500\n"));
    let woody = upkeep_of(&woody, 1);
    assert!(woody[0] <= 1.0 && woody[3] > 0.0, "{woody:?}");
}

/// Two areas with four kinds each, every choice tried from what each kind takes alone: with fewer and fewer hours
/// the answer is the best that keeps them, and what it is told to take to do better is the least that helps.
#[test]
fn the_best_within_hours_is_that_of_trying_every_choice() {
    let kinds = ["cynodon-dactylon", "bouteloua-gracilis", "zoysia-japonica", "bouteloua-curtipendula"];
    let listed = |kinds: &[&str]| format!("candidates.only = {kinds:?}\n");
    // index and hours of a kind at each area, alone
    let alone: Vec<[(f64, f64); 2]> = kinds
        .iter()
        .map(|kind| {
            let answer = asked(&plot(&listed(&[kind]), &listed(&[kind]), "hours_yr = 5000\n"));
            [0, 1].map(|at| {
                let area = &areas(&answer)[at];
                (area["index"].as_f64().unwrap(), area["hours_yr"].as_f64().unwrap())
            })
        })
        .collect();
    let mut all: Vec<(f64, f64)> = Vec::new();
    for lawn in &alone {
        for bank in &alone {
            all.push(((lawn[0].0 * 400.0 + bank[1].0 * 800.0) / 1200.0, lawn[0].1 + bank[1].1));
        }
    }
    let mut amounts: Vec<f64> = all.iter().map(|(_, hours)| *hours).collect();
    amounts.sort_by(f64::total_cmp);
    let mut bound = 0;
    for amount in amounts.iter().step_by(2) {
        let most = amount + 0.01;
        let answer = asked(&plot(
            &listed(&kinds),
            &listed(&kinds),
            &format!("hours_yr = {most}\nseed_drift = true\n"),
        ));
        let within = |most: f64| {
            all.iter().filter(|(_, hours)| *hours <= most).map(|(value, _)| *value).fold(0.0, f64::max)
        };
        let (best, mean) = (within(most), answer["answer"]["mean_index"].as_f64().unwrap());
        assert!((mean - best).abs() < 1e-3, "{most}: {mean} is not {best}");
        let limit = limit(&answer, "hours_yr");
        let lifted = within(f64::INFINITY);
        if limit["binds"] == true {
            bound += 1;
            assert!((limit["lifted_mean_index"].as_f64().unwrap() - lifted).abs() < 1e-3);
            let better = all.iter().filter(|(value, _)| *value > best + 0.0501).map(|(_, hours)| *hours);
            let least = better.fold(f64::INFINITY, f64::min);
            let told = limit["least_that_helps"]["most"].as_f64().unwrap();
            assert!((told - least).abs() < 1e-3, "{most}: {told} is told, {least} it is");
        } else {
            assert!(lifted - best < 0.06, "{most}: {lifted} is kept away from {best}");
        }
    }
    assert!(bound >= 2, "{bound}");
    let answer = asked(&plot(&listed(&kinds), &listed(&kinds), "hours_yr = 1\n"));
    assert_eq!(answer["outcome"], "conflict");
    assert_eq!(answer["answer"]["limits"][0]["limit"], "hours_yr");
}

/// The text says what hours rest on, and that they are rough.
#[test]
fn hours_say_what_they_rest_on() {
    let text = plot("", "", "hours_yr = 40\n");
    let out = run_in(&root(), &["property", "-", "--width", "400"], text.as_bytes()).out;
    for words in [
        "at most 40 h of upkeep a year",
        "cuts a year",
        "common practice, good to compare plants by and rough as hours",
        "denver-firm-maintenance-time",
        "state `mowing_m2_h` or `mowing_ft2_h`",
    ] {
        assert!(out.contains(words), "{words}\n{out}");
    }
    let own = run_in(
        &root(),
        &["property", "-"],
        text.replace("[limits]\n", "[limits]\nmowing_m2_h = 900\n").as_bytes(),
    );
    assert!(
        own.out
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("what is mown in an hour is what the file says"),
        "{}",
        own.out
    );
}
