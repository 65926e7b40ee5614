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
    let dry = text.replace("name = \"north bed\"\n", "name = \"north bed\"\nwater.irrigation = \"none\"\n");
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
