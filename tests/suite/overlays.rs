//! Overlays as staff write them: the path of DEVELOPERS.md, the mistakes on the way, and what an
//! answer says of them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::Value;

use super::support::{Run, Scratch, root, run_in};

/// A dry verge, invented.
pub const VERGE: &str = "schema = 1\nname = \"Verge of Dry Fork (invented)\"\npurpose = \"roadside\"\n[place]\nregion = \"US-CO\"\nlatitude_deg = 38\nelevation_m = 1400\n[climate]\ntmax_c = [7, 9, 14, 19, 24, 30, 33, 32, 27, 20, 12, 7]\ntmin_c = [-9, -7, -3, 2, 7, 12, 16, 15, 9, 2, -4, -9]\nprecip_mm = [8, 9, 20, 30, 45, 35, 48, 50, 25, 22, 12, 9]\nextreme_min_c = -22\n[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 60\nph = 7.6\ndrainage = \"well\"\n[water]\nirrigation = \"none\"\n[use]\nwear = \"none\"\n[upkeep]\nlevel = \"low\"\n";

/// The section of DEVELOPERS.md that goes through an overlay.
pub fn guide() -> String {
    let guide = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let (_, section) = guide.split_once("## An overlay, step by step").unwrap();
    section.split("\n## ").next().unwrap().to_owned()
}

/// The files of the walk through DEVELOPERS.md, by path, taken from its text.
pub fn walk() -> BTreeMap<String, String> {
    let section = guide();
    let mut files = BTreeMap::new();
    let mut current: Option<String> = None;
    for line in section.lines() {
        match (line.strip_prefix("    "), &current) {
            (Some(code), _) if code.starts_with("# county/") => {
                let path = code.trim_start_matches("# ").to_owned();
                files.insert(path.clone(), String::new());
                current = Some(path);
            }
            (Some(code), Some(path)) => *files.get_mut(path).unwrap() += &format!("{code}\n"),
            (None, Some(path)) if line.is_empty() => *files.get_mut(path).unwrap() += "\n",
            (None, _) => current = None,
            (Some(_), None) => {}
        }
    }
    files
}

fn write(folder: &Path, files: &BTreeMap<String, String>) {
    for (path, text) in files {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
}

fn check(scratch: &Scratch) -> Run {
    run_in(&scratch.0, &["knowledge", "check", "--overlay", "county"], b"")
}

fn answer(scratch: &Scratch, overlays: &[&str]) -> Value {
    let mut args = vec!["recommend", "-", "--all", "--format", "json"];
    overlays.iter().for_each(|folder| args.extend(["--overlay", folder]));
    let run = run_in(&scratch.0, &args, VERGE.as_bytes());
    assert_eq!(run.code, 0, "{}", run.err);
    serde_json::from_str(&run.out).unwrap()
}

fn species<'a>(answer: &'a Value, id: &str) -> &'a Value {
    answer["ranking"].as_array().unwrap().iter().find(|one| one["species"] == id).unwrap()
}

#[test]
fn the_overlay_of_the_guide_is_sound_and_marks_its_lines() {
    let scratch = Scratch::new("overlay-guide");
    let files = walk();
    assert_eq!(files.len(), 5, "{:?}", files.keys());
    write(&scratch.0, &files);
    let checked = check(&scratch);
    assert_eq!(checked.code, 0, "{}{}", checked.out, checked.err);
    assert!(checked.out.contains("overlay county 1.0.0"), "{}", checked.out);
    // a source that only what is withdrawn cites is no fault of the overlay
    let strict = run_in(&scratch.0, &["knowledge", "check", "--strict", "--overlay", "county"], b"");
    assert!(strict.code == 0 && !strict.err.contains("uncited-source"), "{}", strict.err);

    let plain = answer(&scratch, &[]);
    let laid = answer(&scratch, &["county"]);
    let label = laid["knowledge"]["overlays"][0].as_str().unwrap();
    assert!(label.starts_with("county 1.0.0 ") && label.len() == "county 1.0.0 ".len() + 8, "{label}");
    assert_eq!(plain["knowledge"]["digest"], laid["knowledge"]["digest"], "the base is the same");
    assert_eq!(species(&laid, "exampla-repens")["overlay"], "county");

    // every line that rests on a figure of the county is marked, and none of another species
    let grama = species(&laid, "bouteloua-gracilis");
    for reason in grama["reasons"].as_array().unwrap() {
        let traits: Vec<&str> =
            reason["traits"].as_array().unwrap().iter().map(|one| one.as_str().unwrap()).collect();
        let touched = traits.contains(&"cold_zone_min") || traits.contains(&"wear");
        let marked = reason["overlays"][0] == "county";
        assert!(marked || !touched, "{reason}");
    }
    let marks = |id: &str| {
        let reasons = species(&laid, id)["reasons"].as_array().unwrap().clone();
        reasons.iter().filter(|one| one["overlays"] != serde_json::json!([])).count()
    };
    assert!(marks("bouteloua-gracilis") > 0);
    assert_eq!(marks("bouteloua-dactyloides"), 0, "the county says nothing of buffalograss");
    // its zone reaches the answer by way of a derived fact, and the line names and marks it all the same
    let cold = grama["reasons"].as_array().unwrap().iter().find(|one| one["need"] == "cold").unwrap();
    assert_eq!((&cold["overlays"][0], &cold["traits"][0]), (&"county".into(), &"cold_zone_min".into()));
    let show = ["knowledge", "show", "bouteloua-gracilis", "--overlay", "county"];
    let shown = run_in(&scratch.0, &show, b"").out;
    assert!(shown.contains("cold_zone_min: 4a (key trait)\n"), "{shown}");
    assert!(
        shown.contains("\n    4a: county-trial, table 2 [extension, weight 3] · overlay county\n"),
        "{shown}"
    );

    let cautions = |answer: &Value| -> Vec<String> {
        let site = answer["site"]["cautions"].as_array().unwrap();
        site.iter().map(|one| one["rule"].as_str().unwrap().to_owned()).collect()
    };
    assert!(cautions(&laid).contains(&"county-verge-permit".to_owned()));
    assert!(cautions(&plain).contains(&"caution-seed-label".to_owned()));
    assert!(!cautions(&laid).contains(&"caution-seed-label".to_owned()), "withdrawn");
    let text = run_in(&scratch.0, &["recommend", "-", "--overlay", "county", "--all"], VERGE.as_bytes()).out;
    for part in [
        "overlay county 1.0.0",
        "from overlay county",
        "; overlay county]",
        "withdraws rules/cautions/caution-seed-label",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

/// Who asks for a species that an overlay takes out of force is told so, not that there is none.
#[test]
fn a_species_taken_out_of_force_is_told_to_be() {
    let scratch = Scratch::new("overlay-withdrawn-species");
    let head = "id = \"county\"\ntitle = \"Invented county\"\nversion = \"1.0.0\"\nwithdraws = [\"species/hedera-helix\"]\n";
    write(&scratch.0, &[("county/overlay.toml".to_owned(), head.to_owned())].into());
    for command in ["explain", "change", "compare"] {
        let run = run_in(
            &scratch.0,
            &[command, "-", "hedera-helix", "bouteloua-dactyloides", "--overlay", "county"][..]
                .iter()
                .copied()
                .filter(|arg| command == "compare" || *arg != "bouteloua-dactyloides")
                .collect::<Vec<_>>(),
            VERGE.as_bytes(),
        );
        assert_eq!(run.code, 2, "{command}: {}", run.out);
        assert!(run.err.contains("error[withdrawn-species]") && run.err.contains("county"), "{}", run.err);
        assert!(run.err.contains("`species/hedera-helix` under `withdraws`"), "{}", run.err);
    }
}

/// What an overlay takes away leaves no line of its own: the lines that would stand otherwise are marked,
/// in the tables too, and no others are.
#[test]
fn what_an_overlay_takes_away_marks_the_lines_that_it_changes() {
    let scratch = Scratch::new("overlay-away");
    let files: BTreeMap<String, String> = [
        ("county/overlay.toml", "id = \"county\"\ntitle = \"Invented county\"\nversion = \"1.0.0\"\nwithdraws = [\"rules/wear/wear-against-use\"]\n"),
        ("county/values/festuca-trachyphylla.toml", "id = \"festuca-trachyphylla\"\nwithdraw = [\"drought_survival\"]\n"),
    ]
    .map(|(path, text)| (path.to_owned(), text.to_owned()))
    .into();
    write(&scratch.0, &files);
    let lawn = VERGE.replace("roadside", "lawn").replace("wear = \"none\"", "wear = \"heavy\"");
    let run = |overlays: &[&str], args: &[&str]| {
        let mut all = args.to_vec();
        overlays.iter().for_each(|folder| all.extend(["--overlay", folder]));
        let run = run_in(&scratch.0, &all, lawn.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        run.out
    };
    let json = |overlays: &[&str]| -> Value {
        serde_json::from_str(&run(overlays, &["recommend", "-", "--all", "--format", "json"])).unwrap()
    };
    let (plain, laid) = (json(&[]), json(&["county"]));
    let (mut moved, mut marked) = (0, 0);
    for before in plain["ranking"].as_array().unwrap() {
        let id = before["species"].as_str().unwrap();
        let after = species(&laid, id);
        let needs = before["needs"].as_array().unwrap().iter().zip(after["needs"].as_array().unwrap());
        for (was, is) in needs {
            let mark = is["overlays"] != serde_json::json!([]);
            assert!(mark || was["level"] == is["level"], "{id}: {was} became {is} without a mark");
            let touched = is["need"] == "wear" || (is["need"] == "water" && id == "festuca-trachyphylla");
            let derived = id == "festuca-trachyphylla";
            assert!(!mark || touched || derived, "{id}: {is} is marked, and nothing of it was touched");
            moved += usize::from(was["level"] != is["level"]);
            marked += usize::from(mark);
        }
        let mark = after["overlays"] != serde_json::json!([]);
        assert!(mark || before["class"] == after["class"], "{id}: {} {}", before["class"], after["class"]);
    }
    println!("{moved} levels moved, {marked} marked");
    assert!(moved >= 10, "{moved} of {marked}");
    let told = run(&["county"], &["explain", "-", "hard fescue"]);
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in ["withdraws rules/wear/wear-against-use, drought survival of hard fescue", "[overlay county]"]
    {
        assert!(told.contains(part), "{part}: {told}");
    }
    let table = run(&["county"], &["compare", "-", "hard fescue", "buffalograss"]);
    assert!(table.contains("[overlay county]"), "{table}");
}

/// Each mistake is made on the sound overlay, and what the error says is enough to mend it.
#[test]
fn five_mistakes_on_the_way_tell_how_to_mend_them() {
    let scratch = Scratch::new("overlay-mistakes");
    // file, what stands there, what is written by mistake, what the error must say: place and help
    let mistakes: [(&str, &str, &str, &[&str]); 7] = [
        (
            "county/species/exampla-repens.toml",
            "wear = [{ value = \"low\"",
            "wear = [{ value = \"lwo\"",
            &["county/species/exampla-repens.toml:12:19", "`lwo`", "did you mean `low`?"],
        ),
        (
            "county/species/exampla-repens.toml",
            "drought_avoidance = ",
            "drougth_avoidance = ",
            &["unknown trait `drougth_avoidance`", "did you mean `drought_avoidance`?"],
        ),
        (
            "county/values/bouteloua-gracilis.toml",
            "source = \"county-trial\", at = \"discussion\"",
            "source = \"county-trail\", at = \"discussion\"",
            &["county/values/bouteloua-gracilis.toml:4:35", "`county-trail`", "did you mean `county-trial`?"],
        ),
        (
            "county/rules/cautions/county-verge-permit.toml",
            "when = \"site.purpose = 'roadside'\"",
            "when = \"site.purpos = 'roadside'\"",
            &["county-verge-permit.toml:5:9", "`site.purpos`", "did you mean `site.purpose`?"],
        ),
        (
            "county/species/exampla-repens.toml",
            "height_cm = [{ low = 5, high = 10,",
            "height_cm = [{ low = 5, high = \"10 kg\",",
            &["exampla-repens.toml:14:32", "kg"],
        ),
        (
            "county/overlay.toml",
            "rules/cautions/caution-seed-label",
            "rules/cautions/caution-seed-lable",
            &[
                "overlay.toml:4:14",
                "the base has no `rules/cautions/caution-seed-lable`",
                "did you mean `rules/cautions/caution-seed-label`?",
            ],
        ),
        (
            "county/rules/cautions/county-verge-permit.toml",
            "given = { \"site.purpose\" = \"lawn\" }",
            "given = { \"site.purpose\" = \"roadside\" }",
            &["county-verge-permit.toml:12:1", "county-verge-permit"],
        ),
    ];
    for (path, right, wrong, wanted) in mistakes {
        let mut files = walk();
        let text = files.get_mut(path).unwrap();
        assert!(text.contains(right), "{path}: {right}");
        *text = text.replacen(right, wrong, 1);
        write(&scratch.0, &files);
        let run = check(&scratch);
        let said = format!("{}{}", run.out, run.err);
        assert_eq!(run.code, 1, "{wrong}: {said}");
        assert_eq!(said.matches("error[").count(), 1, "one mistake, one error: {said}");
        for part in wanted {
            assert!(said.contains(part), "{part}: {said}");
        }
        // mended as the error says, it is sound again
        write(&scratch.0, &walk());
        assert_eq!(check(&scratch).code, 0);
    }
}

#[test]
fn a_file_of_the_base_is_never_replaced_by_accident() {
    let scratch = Scratch::new("overlay-replace");
    let base = fs::read_to_string(root().join("knowledge/rules/cautions/caution-digging.toml")).unwrap();
    let mut files = walk();
    files.insert(
        "county/rules/cautions/caution-digging.toml".into(),
        base.replace("severity = \"danger\"", "severity = \"law\""),
    );
    write(&scratch.0, &files);
    let refused = check(&scratch);
    assert_eq!(refused.code, 1);
    assert!(
        refused.err.contains("error[in-base]")
            && refused.err.contains("replaces = [\"rules/cautions/caution-digging\"]"),
        "{}",
        refused.err
    );
    let head = files.get_mut("county/overlay.toml").unwrap();
    head.push_str("replaces = [\"rules/cautions/caution-digging\"]\n");
    write(&scratch.0, &files);
    let sound = check(&scratch);
    assert_eq!(sound.code, 0, "{}", sound.err);
    let laid = answer(&scratch, &["county"]);
    let digging = laid["site"]["cautions"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["rule"] == "caution-digging")
        .cloned()
        .unwrap();
    assert_eq!((&digging["severity"], &digging["overlays"][0]), (&"law".into(), &"county".into()));
}

#[test]
fn what_two_overlays_touch_is_refused_with_both_places() {
    let scratch = Scratch::new("overlay-conflict");
    let county = walk();
    let firm: BTreeMap<String, String> = county
        .iter()
        .filter(|(path, _)| !path.ends_with("exampla-repens.toml") && !path.contains("/rules/"))
        .map(|(path, text)| {
            let text = text
                .replace("county", "firm")
                .replace("withdraws = [\"rules/cautions/caution-seed-label\"]", "");
            (path.replace("county", "firm"), text)
        })
        .collect();
    write(&scratch.0, &county);
    write(&scratch.0, &firm);
    let args = ["knowledge", "check", "--overlay", "county", "--overlay", "firm"];
    let refused = run_in(&scratch.0, &args, b"");
    assert_eq!(refused.code, 1);
    for part in [
        "error[overlay-conflict]",
        "firm/values/bouteloua-gracilis.toml:7:1",
        "county/values/bouteloua-gracilis.toml:7:1",
        "cold_zone_min",
    ] {
        assert!(refused.err.contains(part), "{part}: {}", refused.err);
    }
    // the firm speaks of other traits: both may stand, and their order does not matter
    let mut other = firm;
    let values = other.get_mut("firm/values/bouteloua-gracilis.toml").unwrap();
    *values = "id = \"bouteloua-gracilis\"\n[replace]\nheat_tolerance = [{ value = \"high\", source = \"firm-trial\", at = \"table 2\" }]\n".into();
    write(&scratch.0, &other);
    let (one, two) = (answer(&scratch, &["county", "firm"]), answer(&scratch, &["firm", "county"]));
    assert_eq!(one["ranking"], two["ranking"]);
    assert_eq!(one["knowledge"]["overlays"].as_array().unwrap().len(), 2);
}

#[test]
fn answers_of_different_knowledge_are_not_mixed() {
    let scratch = Scratch::new("expect-edition");
    write(&scratch.0, &walk());
    let plain = run_in(&scratch.0, &["recommend", "-", "--format", "json"], VERGE.as_bytes());
    fs::write(scratch.0.join("answer.json"), &plain.out).unwrap();
    let made: Value = serde_json::from_str(&plain.out).unwrap();
    let edition = made["knowledge"]["edition"].as_str().unwrap().to_owned();
    let digest = &made["knowledge"]["digest"].as_str().unwrap()[..8];
    let whole = made["knowledge"]["digest"].as_str().unwrap();
    fs::write(scratch.0.join("without-digest.json"), plain.out.replace(whole, "")).unwrap();
    let ask = |expected: &str, more: &[&str]| {
        let mut args = vec!["recommend", "-", "--expect-edition", expected];
        args.extend(more);
        run_in(&scratch.0, &args, VERGE.as_bytes())
    };
    for same in ["answer.json", &edition, &format!("{edition} {digest}")] {
        assert_eq!(ask(same, &[]).code, 0, "{same}");
    }
    for (other, words) in [
        ("9.9.9", "edition 9.9.9 is expected"),
        (&*format!("{edition} 00000000"), "digest 00000000 is expected"),
        ("nothing.json", "neither an edition nor the file of an answer"),
        ("county/overlay.toml", "is no answer of `recommend --format json`"),
        ("without-digest.json", "is no answer of `recommend --format json`"),
        (&*format!("{edition} xyz"), "is no digest"),
    ] {
        let run = ask(other, &[]);
        assert_eq!(run.code, 2, "{other}");
        assert!(run.err.contains(words) && run.out.is_empty(), "{other}: {}", run.err);
    }
    let with_overlay = ask("answer.json", &["--overlay", "county"]);
    assert_eq!(with_overlay.code, 2);
    assert!(
        with_overlay.err.contains("overlays: none is expected, and this is county 1.0.0"),
        "{}",
        with_overlay.err
    );
}
