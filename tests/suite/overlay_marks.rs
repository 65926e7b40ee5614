//! Every line of an answer in which an overlay had a hand says so, also where the overlay touched it from
//! afar: by a table, by a place of the gazetteer, by the kind of a source; and a species that an overlay adds
//! touches no line of another.

use std::fs;

use serde_json::Value;

use super::overlays::VERGE;
use super::support::{Scratch, root, run_in};

const HEAD: &str = "id = \"county\"\ntitle = \"Invented county\"\nversion = \"1.0.0\"\n";

/// An overlay of these files, its head among them.
fn overlay(name: &str, files: &[(&str, &str)]) -> Scratch {
    let scratch = Scratch::new(name);
    for (path, text) in files {
        let path = scratch.0.join("county").join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    scratch
}

fn ask(scratch: &Scratch, site: &str, laid: bool, args: &[&str]) -> String {
    let mut all = args.to_vec();
    all.extend(["--samples", "0"]);
    all.extend(laid.then_some(["--overlay", "county"]).into_iter().flatten());
    let run = run_in(&scratch.0, &all, site.as_bytes());
    assert_eq!(run.code, 0, "{}", run.err);
    run.out
}

fn answer(scratch: &Scratch, site: &str, laid: bool) -> Value {
    let text = ask(scratch, site, laid, &["recommend", "-", "--all", "--format", "json"]);
    serde_json::from_str(&text).unwrap()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn is_marked(one: &Value) -> bool {
    list(&one["overlays"]).contains(&"county".into())
}

/// Facts, levels and reasons that an overlay changed, and of them those without a mark.
fn changed_and_unmarked(plain: &Value, laid: &Value) -> (usize, Vec<String>) {
    let mut changed = 0;
    let mut unmarked = Vec::new();
    let mut hold = |what: String, before: Option<&Value>, after: &Value, keys: &[&str]| {
        if keys.iter().any(|key| before.is_none_or(|before| before[key] != after[key])) {
            changed += 1;
            unmarked.extend((!is_marked(after)).then(|| format!("{what}: {after}")));
        }
    };
    for after in list(&laid["site"]["facts"]) {
        let before = list(&plain["site"]["facts"]).iter().find(|one| one["id"] == after["id"]);
        hold(format!("{}", after["id"]), before, after, &["value", "method"]);
    }
    for after in list(&laid["ranking"]) {
        let before = list(&plain["ranking"]).iter().find(|one| one["species"] == after["species"]).unwrap();
        hold(format!("{}", after["species"]), Some(before), after, &["class", "index"]);
        for (was, is) in list(&before["needs"]).iter().zip(list(&after["needs"])) {
            hold(format!("{} {}", after["species"], is["need"]), Some(was), is, &["level"]);
        }
        for is in list(&after["reasons"]) {
            let same = |one: &&Value| one["rule"] == is["rule"] && one["direction"] == is["direction"];
            let was = list(&before["reasons"]).iter().find(same);
            hold(format!("{} {}", after["species"], is["rule"]), was, is, &["level", "text"]);
        }
    }
    (changed, unmarked)
}

/// The base gives the estimates of its species, whatever an overlay lays beside them.
#[test]
fn a_species_of_an_overlay_moves_no_estimate_of_the_base() {
    let species = "id = \"exampla-alta\"\nbotanical = \"Exampla alta\"\ncommon = [\"tall example\"]\nkind = \"cool-season-grass\"\n[traits]\nroot_depth_cm = [{ value = 190, source = \"common-practice\" }]\ncold_zone_min = [{ value = \"4a\", source = \"common-practice\" }]\n";
    let scratch = overlay("marks-species", &[("overlay.toml", HEAD), ("species/exampla-alta.toml", species)]);
    let diff = ["knowledge", "diff", "built-in", "built-in", "--overlay", "county"];
    let told = run_in(&scratch.0, &diff, b"").out;
    assert!(told.contains("exampla-alta, added") && !told.contains("Traits"), "{told}");
    let (plain, laid) = (answer(&scratch, VERGE, false), answer(&scratch, VERGE, true));
    let others = |answer: &Value| -> Vec<Value> {
        let ranking = list(&answer["ranking"]).iter().filter(|one| one["species"] != "exampla-alta");
        ranking
            .map(|one| serde_json::json!([one["species"], one["class"], one["index"], one["needs"]]))
            .collect()
    };
    assert_eq!(others(&plain), others(&laid));
}

#[test]
fn what_rests_on_a_table_of_an_overlay_is_marked() {
    let base = root().join("knowledge/tables");
    let head = |table: &str| format!("{HEAD}replaces = [\"tables/{table}\"]\n");
    let site = VERGE.replace("irrigation = \"none\"", "irrigation = \"limited\"");
    let in_shade = site.replace("full-sun", "part-shade");
    // what stands in the base, and what in the county's
    for (table, from, to) in [
        ("irrigation", "[\"limited\", 0.9, 1, 20]", "[\"limited\", 0.3, 1, 5]"),
        ("exposure", "[\"part-shade\", 5.0, \"light-shade\"]", "[\"part-shade\", 2.5, \"dense-shade\"]"),
        ("infiltration", "[\"loam\", 10, 20]", "[\"loam\", 1, 3]"),
    ] {
        let text = fs::read_to_string(base.join(format!("{table}.toml"))).unwrap();
        assert!(text.contains(from), "{table}: {text}");
        let (head, text) = (head(table), text.replace(from, to));
        let path = format!("tables/{table}.toml");
        let scratch = overlay("marks-table", &[("overlay.toml", &head), (&path, &text)]);
        let (plain, laid) = (answer(&scratch, &in_shade, false), answer(&scratch, &in_shade, true));
        let (changed, unmarked) = changed_and_unmarked(&plain, &laid);
        println!("{table}: {changed} lines changed");
        assert!(changed > 0 && unmarked.is_empty(), "{table}: {}", unmarked.join("\n"));
        // what asks for no row of it is not marked
        let given = list(&laid["site"]["facts"]).iter().filter(|one| one["origin"] == "given");
        assert_eq!(given.filter(|one| is_marked(one)).count(), 0, "{table}");
        let reasons = list(&laid["ranking"]).iter().flat_map(|one| list(&one["reasons"]));
        let mut by_zone = reasons.filter(|one| one["rule"] == "cold-zone").peekable();
        assert!(by_zone.peek().is_some() && !by_zone.any(is_marked), "{table}");
        if table == "irrigation" {
            let told = ask(&scratch, &site, true, &["recommend", "-"]);
            let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(told.contains("[table irrigation; common practice; overlay county]"), "{told}");
        }
    }
}

#[test]
fn what_rests_on_a_place_of_an_overlay_is_marked() {
    let place = "id = \"dry-fork\"\nname = \"Dry Fork (invented)\"\nlatitude_deg = 38.0\nlongitude_deg = -103.0\nelevation_m = 1400\nperiod = \"2001-2020\"\ntmax_c = [8, 10, 15, 20, 25, 31, 34, 33, 28, 21, 13, 8]\ntmin_c = [-9, -7, -3, 2, 7, 12, 16, 15, 9, 2, -4, -9]\nprecip_mm = [8, 9, 20, 30, 45, 35, 48, 50, 25, 22, 12, 9]\nsources = [{ key = \"common-practice\" }]\n";
    let scratch = overlay("marks-place", &[("overlay.toml", HEAD), ("climates/dry-fork.toml", place)]);
    let (begin, rest) = VERGE.split_once("tmax_c").unwrap();
    let (_, rest) = rest.split_once("[light]").unwrap();
    let begin = begin.replace("latitude_deg = 38\n", "latitude_deg = 38\nlongitude_deg = -103\n");
    let site = format!("{begin}near = true\n[light]{rest}");
    let (plain, laid) = (answer(&scratch, &site, false), answer(&scratch, &site, true));
    let (changed, unmarked) = changed_and_unmarked(&plain, &laid);
    assert!(changed > 100 && unmarked.is_empty(), "{changed}: {}", unmarked.join("\n"));
    let told = ask(&scratch, &site, true, &["recommend", "-"]);
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("Dry Fork") && told.contains("local ground may differ [overlay county]"), "{told}");
    assert!(told.contains("hottest month 34 °C [overlay county]"), "{told}");
    // a place that is not the nearest touches nothing
    let far =
        site.replace("latitude_deg = 38\nlongitude_deg = -103", "latitude_deg = 40.8\nlongitude_deg = -74");
    let far = far.replace("elevation_m = 1400", "elevation_m = 20").replace("US-CO", "US-NY");
    assert_eq!(changed_and_unmarked(&answer(&scratch, &far, false), &answer(&scratch, &far, true)).0, 0);
    assert!(!ask(&scratch, &far, true, &["recommend", "-"]).contains("[overlay"));
}

#[test]
fn what_rests_on_a_source_that_an_overlay_rewrites_is_marked() {
    let text = fs::read_to_string(root().join("knowledge/sources/warm-season.toml")).unwrap();
    let head = format!("{HEAD}replaces = [\"sources/warm-season\"]\n");
    let rewritten = text.replace("kind = \"extension\"", "kind = \"trade\"");
    let files = |sources| [("overlay.toml", head.as_str()), ("sources/warm-season.toml", sources)];
    let scratch = overlay("marks-source", &files(&rewritten));
    let (plain, laid) = (answer(&scratch, VERGE, false), answer(&scratch, VERGE, true));
    let (changed, unmarked) = changed_and_unmarked(&plain, &laid);
    assert!(changed > 0 && unmarked.is_empty(), "{changed}: {}", unmarked.join("\n"));
    let shown = run_in(&scratch.0, &["knowledge", "show", "bermudagrass", "--overlay", "county"], b"").out;
    assert!(shown.contains("[trade, weight 1] · overlay county"), "{shown}");
    // entries that say what the base's say stay the base's
    let scratch = overlay("marks-source", &files(&text));
    assert!(!ask(&scratch, VERGE, true, &["recommend", "-", "--all"]).contains("[overlay"));
}

/// Every line of the answer of a property that a table of an overlay moved is marked, and no other is.
#[test]
fn what_a_property_takes_by_a_table_of_an_overlay_is_marked() {
    let base = root().join("knowledge/tables");
    let file = fs::read_to_string(root().join("tests/property/invented-hours/property.toml")).unwrap();
    let asked = |scratch: &Scratch, args: &[&str]| {
        let run = run_in(&scratch.0, &[&["property", "-"], args].concat(), file.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        run.out
    };
    for (table, from, to) in [
        ("care-hours", "\n  [\"medium\", 0.65, ", "\n  [\"medium\", 0.75, "),
        ("mowing-need", "# ", "# Of the county. "),
        ("mowing-use", "# ", "# Of the county. "),
        ("mowing-borne", "# ", "# Of the county. "),
        ("kind-upkeep", "# ", "# Of the county. "),
    ] {
        let text = fs::read_to_string(base.join(format!("{table}.toml"))).unwrap();
        assert!(text.contains(from), "{table}: {text}");
        let path = format!("tables/{table}.toml");
        let head = format!("{HEAD}replaces = [\"tables/{table}\"]\n");
        let scratch =
            overlay("marks-upkeep", &[("overlay.toml", &head), (&path, &text.replacen(from, to, 1))]);
        let json = |args: &[&str]| -> Value {
            serde_json::from_str(&asked(&scratch, &[&["--format", "json"], args].concat())).unwrap()
        };
        let (plain, laid) = (json(&[]), json(&["--overlay", "county"]));
        let areas = list(&laid["answer"]["areas"]);
        assert!(areas.len() == 3 && areas.iter().all(is_marked), "{table}: {areas:#?}");
        assert!(areas.iter().all(|area| is_marked(&area["upkeep"])), "{table}: {areas:#?}");
        assert!(list(&plain["answer"]["areas"]).iter().all(|area| !is_marked(area)));
        let limits = list(&laid["answer"]["limits"]);
        let marked: Vec<&Value> =
            limits.iter().filter(|one| is_marked(one)).map(|one| &one["limit"]).collect();
        assert_eq!(marked, ["hours_yr"], "{table}");
        assert!(list(&laid["answer"]["cautions"]).iter().all(|one| !is_marked(one)), "{table}");
        if table == "care-hours" {
            assert_ne!(plain["answer"]["areas"], laid["answer"]["areas"]);
        }
        let told = asked(&scratch, &["--overlay", "county", "--width", "400"]);
        assert!(told.lines().filter(|line| line.contains("[overlay county]")).count() >= 4, "{told}");
        assert!(told.contains("; overlay county]"), "{told}");
    }
}
