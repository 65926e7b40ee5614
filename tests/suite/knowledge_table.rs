//! `knowledge table` and `knowledge check --strict`: tables, the way out to a spreadsheet and back.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use super::support::{Run, Scratch, copy_folder, knowledge, root, run, run_in};

/// Every file below a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.path().is_dir() {
            found.extend(
                files(&entry.path()).into_iter().map(|(path, bytes)| (format!("{name}/{path}"), bytes)),
            );
        } else {
            found.insert(name, fs::read(entry.path()).unwrap());
        }
    }
    found
}

/// Lines that are not the same in two texts of as many lines.
fn changed_lines<'a>(old: &'a str, new: &'a str) -> Vec<(&'a str, &'a str)> {
    assert_eq!(old.lines().count(), new.lines().count());
    old.lines().zip(new.lines()).filter(|(old, new)| old != new).collect()
}

/// A scratch folder with a knowledge base of its own.
fn with_base(name: &str, base: &str) -> Scratch {
    let scratch = Scratch::new(name);
    copy_folder(&root().join(base), &scratch.0.join("knowledge"));
    scratch
}

fn import(scratch: &Scratch, csv: &str, apply: bool) -> Run {
    fs::write(scratch.0.join("edit.csv"), csv).unwrap();
    let mut args = vec!["knowledge", "table", "--import", "edit.csv", "--knowledge", "knowledge"];
    if apply {
        args.push("--apply");
    }
    run_in(&scratch.0, &args, b"")
}

#[test]
fn entries_that_go_out_and_come_back_change_nothing() {
    let scratch = with_base("table-round-trip", "knowledge");
    let before = files(&scratch.0.join("knowledge"));
    let out = run(&["knowledge", "table", "--entries"]);
    assert_eq!(out.code, 0, "{}", out.err);
    let entries: usize = {
        let knowledge = knowledge();
        let traits = knowledge.species.iter().flat_map(|species| species.traits.iter().flatten());
        traits.map(|value| value.evidence.len()).sum()
    };
    let back = import(&scratch, &out.out, true);
    assert_eq!(back.code, 0, "{}", back.err);
    assert_eq!(back.out, format!("nothing changes: {entries} rows as they stand in the base\n"));
    // as a spreadsheet saves it: other line ends, rows in another order, flags in capitals
    let mut lines: Vec<String> =
        out.out.lines().map(|line| line.replace(",true,", ",TRUE,").replace(",false,", ",FALSE,")).collect();
    lines[1..].reverse();
    let back = import(&scratch, &format!("\u{feff}{}\r\n", lines.join("\r\n")), true);
    assert!(back.out.starts_with("nothing changes"), "{}{}", back.out, back.err);
    // and one that is set for a comma before decimals, with columns that are empty
    let mut reader = csv::Reader::from_reader(out.out.as_bytes());
    for sign in [b';', b'\t'] {
        let mut writer = csv::WriterBuilder::new().delimiter(sign).from_writer(Vec::new());
        writer.write_record(reader.headers().unwrap().iter().chain(["", ""])).unwrap();
        for record in csv::Reader::from_reader(out.out.as_bytes()).records() {
            writer.write_record(record.unwrap().iter().chain(["", ""])).unwrap();
        }
        let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        let back = import(&scratch, &text, true);
        assert!(back.out.starts_with("nothing changes"), "{}{}", back.out, back.err);
    }
    assert_eq!(files(&scratch.0.join("knowledge")), before);
}

#[test]
fn one_changed_cell_changes_one_line_of_one_file() {
    let scratch = with_base("table-one-cell", "knowledge");
    let path = "species/bouteloua-dactyloides.toml";
    // comments as people write them
    let file = scratch.0.join("knowledge").join(path);
    let text = fs::read_to_string(&file).unwrap();
    let text = format!("# read twice\n{}", text.replace("\nwear = [", " # below\n# on wear\nwear = ["));
    fs::write(&file, &text).unwrap();
    let before = files(&scratch.0.join("knowledge"));
    let args =
        ["knowledge", "table", "wear", "--species", "buffalograss", "--entries", "--knowledge", "knowledge"];
    let out = run_in(&scratch.0, &args, b"").out;
    let csv = out.replacen(",medium,", ",high,", 1);
    assert_ne!(out, csv, "{out}");

    let shown = import(&scratch, &csv, false);
    assert_eq!(shown.code, 0, "{}", shown.err);
    for words in [
        "bouteloua-dactyloides wear: ",
        "value: medium -> high",
        "1 entry changed, 0 added, 0 taken out, in 1 file",
        "nothing is written; --apply writes it",
    ] {
        assert!(shown.out.contains(words), "{words}\n{}", shown.out);
    }
    assert_eq!(files(&scratch.0.join("knowledge")), before, "written without --apply");

    let applied = import(&scratch, &csv, true);
    assert!(
        applied.out.contains("written: ") && applied.out.contains(path),
        "{}{}",
        applied.out,
        applied.err
    );
    let after = files(&scratch.0.join("knowledge"));
    assert!(after.keys().eq(before.keys()), "a file came or went");
    let changed: Vec<&String> = after.keys().filter(|path| after[*path] != before[*path]).collect();
    assert_eq!(changed, [path]);
    let new = fs::read_to_string(&file).unwrap();
    let lines = changed_lines(&text, &new);
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!(lines[0].0.replacen("\"medium\"", "\"high\"", 1), lines[0].1);
    for comment in ["# read twice", "# below", "# on wear"] {
        assert!(new.contains(comment), "{comment} is lost");
    }
    // the edition is no more what it was stamped for, and the import said what to do
    assert!(applied.out.contains("knowledge check --stamp"), "{}", applied.out);
    let check = ["knowledge", "check", "--knowledge", "knowledge"];
    let told = run_in(&scratch.0, &check, b"");
    assert_eq!(told.err.matches("error[").count(), 1, "{}", told.err);
    assert!(told.code == 1 && told.err.contains("error[digest-differs]"), "{}", told.err);
    let stamp: Vec<&str> = check.into_iter().chain(["--stamp", "wear of one species"]).collect();
    assert_eq!(run_in(&scratch.0, &stamp, b"").code, 0);
    assert_eq!(run_in(&scratch.0, &check, b"").code, 0);
}

const HEADER: &str = "species,trait,value,low,high,source,at,note\n";

#[test]
fn rows_are_added_taken_out_and_traits_withdrawn() {
    let scratch = with_base("table-rows", "tests/bad/base/knowledge");
    let csv = format!(
        "{HEADER}exampla-alta,height_cm,90,,,example-trial,table 2,\n\
         exampla-alta,height_cm,3 ft,,,example-trial,table 3,\"so \"\"tall\"\"\"\n\
         exampla-alta,methods,seed; sod,,,common-practice,,\n\
         exampla-alta,drainage_min,,,,,,\n"
    );
    let run = import(&scratch, &csv, true);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("0 entries changed, 2 added, 1 taken out, in 1 file"), "{}", run.out);
    assert!(run.out.contains("exampla-alta drainage_min: poor becomes not known"), "{}", run.out);
    let text = fs::read_to_string(scratch.0.join("knowledge/species/exampla-alta.toml")).unwrap();
    let (_, traits) = text.split_once("[traits]\n").unwrap();
    assert_eq!(
        traits,
        "height_cm = [{ value = 90, source = \"example-trial\", at = \"table 2\" }, \
         { value = \"3 ft\", source = \"example-trial\", at = \"table 3\", note = 'so \"tall\"' }]\n\
         methods = [{ value = [\"seed\", \"sod\"], source = \"common-practice\" }]\n"
    );
    let again = import(&scratch, &csv, true);
    assert!(again.out.starts_with("nothing changes"), "{}{}", again.out, again.err);
}

/// Each slip is told at its own cell, and none of the rows is written, not even the sound ones.
#[test]
fn each_typical_mistake_is_told_at_its_cell_and_nothing_is_written() {
    let scratch = with_base("table-mistakes", "tests/bad/base/knowledge");
    let before = files(&scratch.0.join("knowledge"));
    let sound = "exampla-alta,height_cm,80,,,example-trial,table 2,\n";
    for (row, code, column, message) in [
        (
            "exampla-alto,height_cm,80,,,example-trial,t,",
            "unknown-species",
            1,
            "no species is called `exampla-alto`",
        ),
        ("exampla-repens,hight_cm,80,,,example-trial,t,", "unknown-trait", 16, "unknown trait `hight_cm`"),
        (
            "exampla-repens,height_cm,80,,,exmple-trial,t,",
            "unknown-source",
            31,
            "no source is called `exmple-trial`",
        ),
        (
            "exampla-repens,drainage_min,wet,,,example-trial,t,",
            "unknown-name",
            29,
            "`wet` is no step of `drainage_min`",
        ),
        (
            "exampla-repens,methods,sod; sed,,,example-trial,t,",
            "unknown-name",
            29,
            "`sed` is no name of `methods`",
        ),
        ("exampla-repens,height_cm,8 inches,,,example-trial,t,", "unknown-unit", 26, "unknown unit `inches`"),
        ("exampla-repens,height_cm,8 kg,,,example-trial,t,", "wrong-unit", 26, "`height_cm` cannot be in kg"),
        (
            "exampla-repens,height_cm,800,,,example-trial,t,",
            "out-of-range",
            26,
            "`height_cm` is 800 cm, outside the allowed 1 to 300 cm",
        ),
        (
            "exampla-repens,height_cm,high,,,example-trial,t,",
            "not-a-number",
            26,
            "`height_cm` must be a number in cm, not a word",
        ),
        ("exampla-repens,ph,,7,6,example-trial,t,", "ends-swapped", 20, "`low` of `ph` is above its `high`"),
        (
            "exampla-repens,height_cm,80,,,example-trial,,",
            "no-locator",
            31,
            "`example-trial` is cited without a place",
        ),
        (
            "exampla-repens,height_cm,80,,,,,",
            "no-source",
            1,
            "a value of `height_cm` of `exampla-repens` names no source",
        ),
        (
            "exampla-repens,height_cm,,,,example-trial,t,",
            "missing-key",
            1,
            "a value of `height_cm` needs `value`, or `low` and `high`",
        ),
        ("exampla-repens,ph,6,,,example-trial,t,", "unknown-key", 19, "unknown key `value`"),
        (
            "exampla-repens,height_cm,80,,,example-trial,t",
            "csv-cells",
            1,
            "this row has 7 cells, and the header has 8 columns",
        ),
        (
            "exampla-repens,height_cm,80,,,example-trial,t,\"x",
            "csv-quote",
            47,
            "the quote that opens here does not close",
        ),
    ] {
        let run = import(&scratch, &format!("{HEADER}{sound}{row}\n"), true);
        assert_eq!(run.code, 2, "{row}\n{}{}", run.out, run.err);
        assert!(run.out.is_empty(), "{row}: {}", run.out);
        let told = run.err.contains(&format!("error[{code}]: {message}"));
        let placed = run.err.contains(&format!("edit.csv:3:{column}\n"));
        assert!(told && placed, "{row}\n{}", run.err);
        assert!(run.err.ends_with("1 fault\n"), "{row}\n{}", run.err);
    }
    for header in [
        "species,trait,value",
        "species;trait;value;low;high;source,at,note",
        "species,trait,worth,low,high,source,at,note",
    ] {
        let run = import(&scratch, &format!("{header}\n{sound}"), true);
        assert_eq!(run.code, 2, "{header}");
        assert!(run.err.contains("error[csv-column]") && run.err.contains("edit.csv:1:"), "{}", run.err);
    }
    let built_in = run_in(&scratch.0, &["knowledge", "table", "--import", "edit.csv", "--apply"], b"");
    assert_eq!(built_in.code, 2);
    assert!(built_in.err.contains("error[built-in-knowledge]"), "{}", built_in.err);
    assert_eq!(files(&scratch.0.join("knowledge")), before);
}

/// An option without the one that it belongs to is refused and not passed over.
#[test]
fn options_that_belong_to_another_are_refused_without_it() {
    for (args, option) in [
        (vec!["wear", "--apply"], "--apply"),
        (vec!["--coverage", "--apply"], "--apply"),
        (vec!["--rules", "--apply"], "--apply"),
        (vec!["wear", "--sites", "scenarios"], "--sites"),
        (vec!["--coverage", "--sites", "scenarios"], "--sites"),
        (vec!["--import", "edit.csv", "--sites", "scenarios"], "--sites"),
    ] {
        let told = run(&[vec!["knowledge", "table"], args.clone()].concat());
        assert_eq!((told.code, told.out.as_str()), (2, ""), "{args:?}");
        assert!(told.err.starts_with("error: ") && told.err.contains(option), "{args:?}: {}", told.err);
    }
}

#[test]
fn a_table_has_the_merged_value_its_spread_and_what_it_rests_on() {
    let csv = run(&[
        "knowledge",
        "table",
        "cold_zone_min",
        "root_depth_cm",
        "--species",
        "buffalograss",
        "--format",
        "csv",
    ]);
    assert_eq!(csv.code, 0, "{}", csv.err);
    let mut rows = csv::Reader::from_reader(csv.out.as_bytes());
    let rows: Vec<BTreeMap<String, String>> = rows.deserialize().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 2);
    let cell = |row: usize, name: &str| rows[row][name].as_str();
    assert_eq!(cell(0, "species"), "bouteloua-dactyloides");
    assert_eq!((cell(0, "low"), cell(0, "high"), cell(0, "unit")), ("3a", "4a", ""));
    assert_eq!((cell(1, "low"), cell(1, "high"), cell(1, "unit")), ("91", "183", "cm"));
    assert_eq!((cell(1, "rests_on"), cell(1, "entries"), cell(1, "sourced_pct")), ("published", "2", "100"));

    let text = run(&["knowledge", "table", "heat_tolerance", "--kind", "sedge"]);
    assert!(text.out.starts_with("heat_tolerance (key trait): "), "{}", text.out);
    let sedges = knowledge().species.iter().filter(|one| one.id.starts_with("carex-")).count();
    assert_eq!(
        text.out.lines().filter(|line| line.trim().starts_with("carex-")).count(),
        sedges,
        "{}",
        text.out
    );

    let scratch = Scratch::new("table-output");
    let args = ["knowledge", "table", "ph", "--format", "csv", "--output", "ph.csv"];
    let quiet = run_in(&scratch.0, &args, b"");
    assert_eq!((quiet.code, quiet.out.as_str()), (0, ""));
    assert_eq!(fs::read_to_string(scratch.0.join("ph.csv")).unwrap(), run(&args[..5]).out);
    assert_eq!(files(&scratch.0).len(), 1, "something is left beside the file");
}

#[test]
fn coverage_counts_every_species_once() {
    let csv = run(&["knowledge", "table", "--coverage", "--format", "csv"]).out;
    let mut rows = csv::Reader::from_reader(csv.as_bytes());
    let rows: Vec<BTreeMap<String, String>> = rows.deserialize().map(Result::unwrap).collect();
    let number = |row: &BTreeMap<String, String>, name: &str| row[name].parse::<usize>().unwrap();
    let kinds = ["published", "trade_alone", "practice", "memory", "absent"];
    let species = knowledge().species.len();
    let (mut traits, mut keys, mut by_group) = (0, 0, 0);
    for row in &rows {
        let sum: usize = kinds.iter().map(|kind| number(row, kind)).sum();
        assert_eq!(sum, number(row, "species"), "{row:?}");
        if row["kind"] != "all" {
            by_group += sum;
            continue;
        }
        assert_eq!(sum, species, "{row:?}");
        traits += 1;
        if row["key"] == "true" {
            keys += 1;
            assert_eq!(number(row, "memory"), 0, "{row:?}");
        }
    }
    let entered = knowledge().vocabulary.species.iter().filter(|one| one.is_entered()).count();
    assert_eq!(traits, entered, "all traits but the group itself and what is counted");
    assert_eq!(by_group, traits * species);
    assert_eq!(keys, 9);
    let text = run(&["knowledge", "table", "--coverage"]).out;
    assert!(text.lines().any(|line| line.trim().starts_with("wear * ")), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn the_shipped_knowledge_stands_the_strict_check() {
    let strict = run(&["knowledge", "check", "--strict"]);
    assert_eq!(strict.code, 0, "{}", strict.err);
    assert!(!strict.err.contains("error["), "{}", strict.err);
    assert!(strict.out.contains("common practice (at most 10 %)"), "{}", strict.out);
    // what the lines count is what the warnings tell
    let count = |code: &str| strict.err.matches(&format!("warning[{code}]")).count();
    let line = format!(
        "warnings: {} key traits on common practice, {} values on trade pages",
        count("key-on-practice"),
        count("trade-alone")
    );
    assert!(strict.out.contains(&line), "{line}\n{}", strict.out);
}

/// Two species on two sites of the small base, counted by hand: the rule on drainage speaks of both where
/// drainage is known and is open where it is not; the one on pH knows a range of one of them.
#[test]
fn the_use_of_rules_is_counted_on_sites_and_in_cases() {
    let scratch = Scratch::new("table-rules");
    copy_folder(&root().join("tests/bad/base"), &scratch.0);
    fs::create_dir(scratch.0.join("sites")).unwrap();
    let site = "schema = 1\nname = \"Invented\"\npurpose = \"lawn\"\n[soil]\nph = 6.5\n";
    fs::write(scratch.0.join("sites/a.toml"), format!("{site}drainage = \"well\"\n")).unwrap();
    fs::write(scratch.0.join("sites/b.toml"), site).unwrap();
    let table = |more: &[&str]| {
        let args: Vec<&str> = ["knowledge", "table", "--rules", "--knowledge", "knowledge"]
            .iter()
            .chain(more)
            .copied()
            .collect();
        let run = run_in(&scratch.0, &args, b"");
        assert_eq!((run.code, run.err.as_str()), (0, ""), "{args:?}");
        run.out
    };
    assert_eq!(
        table(&["--sites", "sites", "--format", "csv"]),
        "topic,rule,does,sites,fires,open,silent,case_fires,case_silent,mark\n\
         drainage,drainage-against-need,rate,2,2,2,0,1,1,\n\
         reaction,reaction-range,rate,2,2,0,2,1,1,\n"
    );
    assert_eq!(
        table(&["--format", "csv"]).lines().nth(1),
        Some("drainage,drainage-against-need,rate,,,,,1,1,")
    );
    // on the first site alone one of them always speaks, and a rule that never does is named too
    fs::remove_file(scratch.0.join("sites/b.toml")).unwrap();
    let rule = scratch.0.join("knowledge/rules/reaction/reaction-range.toml");
    let text = fs::read_to_string(&rule).unwrap();
    fs::write(&rule, text.replace("known(species.ph)", "known(species.ph) and site.ph > 8 pH")).unwrap();
    let text = table(&["--sites", "sites"]);
    assert!(text.contains("\nNever fire on these sites (1): reaction-range\n"), "{text}");
    assert!(text.contains("\nFire for every species on every site (1): drainage-against-need\n"), "{text}");
    let nowhere = run_in(&scratch.0, &["knowledge", "table", "--rules", "--sites", "knowledge"], b"");
    assert!(nowhere.code == 2 && nowhere.err.contains("error[no-sites]"), "{}", nowhere.err);
}
