//! What helps people write the files: the kept JSON Schemas say what the program says, and a scaffold
//! that is filled in passes the check.

use std::fs;
use std::path::{Path, PathBuf};

use jsonschema::Validator;
use serde_json::Value;
use swardwright::{SchemaKind, schema_text};

use super::support::{Scratch, copy_folder, folders, golden, knowledge, root, run_in};

fn validator(kind: SchemaKind, names: bool) -> Validator {
    let schema: Value = serde_json::from_str(&schema_text(&knowledge(), kind, names)).unwrap();
    assert!(jsonschema::draft202012::meta::is_valid(&schema), "{kind:?} is no schema");
    jsonschema::draft202012::new(&schema).unwrap()
}

/// What the validator finds wrong with a TOML text, line by line.
fn faults(validator: &Validator, text: &str) -> Vec<String> {
    let value: Value = toml::from_str(text).unwrap();
    validator.iter_errors(&value).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

fn toml_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            files.extend(toml_files(&path));
        } else if path.extension().is_some_and(|ending| ending == "toml") {
            files.push(path);
        }
    }
    files
}

#[test]
fn the_kept_schemas_are_what_the_vocabulary_gives() {
    let knowledge = knowledge();
    let kept = root().join("schemas");
    let wrong: Vec<String> = SchemaKind::ALL
        .into_iter()
        .filter_map(|kind| golden(&kept.join(kind.file_name()), &schema_text(&knowledge, kind, false)))
        .collect();
    assert!(wrong.is_empty(), "SWARDWRIGHT_BLESS=1 writes them anew:\n{}", wrong.join("\n"));
}

#[test]
fn every_shipped_file_fits_its_schema() {
    let sites: Vec<PathBuf> = folders(&root().join("scenarios"))
        .iter()
        .map(|name| root().join("scenarios").join(name).join("site.toml"))
        .collect();
    let properties = toml_files(&root().join("tests/property"));
    assert!(properties.len() >= 2, "only {} properties", properties.len());
    let shipped = [
        (SchemaKind::Site, sites),
        (SchemaKind::Property, properties),
        (SchemaKind::Species, toml_files(&root().join("knowledge/species"))),
        (SchemaKind::Rule, toml_files(&root().join("knowledge/rules"))),
        (SchemaKind::Sources, toml_files(&root().join("knowledge/sources"))),
    ];
    for (kind, files) in shipped {
        let few = matches!(kind, SchemaKind::Property | SchemaKind::Sources);
        assert!(files.len() >= 20 || few, "only {} files of {kind:?}", files.len());
        for names in [false, true] {
            let validator = validator(kind, names);
            for file in &files {
                let faults = faults(&validator, &fs::read_to_string(file).unwrap());
                assert!(faults.is_empty(), "{}:\n{}", file.display(), faults.join("\n"));
            }
        }
    }
}

const SITE: &str = r#"
schema = 1
name = "Invented Flat"
purpose = "lawn"
[place]
region = "US-TX"
elevation_ft = 1200
[climate]
tmax_f = [60, 65, 70, 78, 85, 92, 96, 96, 88, 79, 68, 61]
extreme_min_c = "13 degF"
near = false
[light]
sun_hours = 8
[soil]
texture = "clay loam"
ph = 7.9
[water]
irrigation = "limited"
[use]
play_season = ["spring", "fall"]
[priorities]
water-saving = 3
[fixed]
inputs = ["irrigation", "wear"]
[candidates]
only = ["cynodon-dactylon", "exampla-repens"]
"#;

const PROPERTY: &str = r#"
schema = 1
name = "Invented Court"
[place]
region = "US-CA"
[soil]
ph = 7.2
[[area]]
name = "play lawn"
area_m2 = 400
purpose = "lawn"
beside = ["bed"]
hydrozone = "lawns"
[area.use]
wear = "moderate"
[[area]]
name = "bed"
edged = ["play lawn"]
system = "drip"
special_landscape = false
[area.ground]
area_ft2 = 900
slope_pct = 2
[limits]
kinds = 2
water_m3_yr = 600
nitrogen_lb_yr = 20
mawa = true
land_use = "residential"
eto_in_yr = 51.1
seed_drift = false
"#;

const SPECIES: &str = r#"
id = "exampla-repens"
botanical = "Exampla repens"
common = ["creeping example"]
kind = "broadleaf-cover"
[traits]
cold_zone_min = [{ value = "6b", source = "example-trial", at = "table 2" }]
root_depth_cm = [{ low = 20, high = "1 ft", source = "example-trial", at = "table 2" }]
ph = [{ low = 6.0, source = "example-trial", at = "table 1" }]
methods = [{ value = ["plugs"], source = "common-practice" }]
bees = [{ value = true, source = "from-memory" }]
"#;

const RULE: &str = r#"
id = "example-wet-clay"
title = "A mat of dry ground on wet clay"
why = "Mats of dry ground rot where water stands."
sources = [{ key = "common-practice" }]
when = "site.soil_group = 'clay'"
then.limit = { need = "drainage", level = "severe" }
because = "stands on clay"
[[fires]]
given = { "site.soil_group" = "clay", "site.dli" = 8, "need.wear" = 2 }
level = "severe"
[[stays_silent]]
given = { "site.soil_group" = "sand" }
"#;

/// A kind of file, one that is right, and slips in it.
type Slips<'a> = (SchemaKind, &'a str, &'a [(&'a str, &'a str)]);

/// What a writer gets wrong most often, one slip at a time: the line as it is right, and as it is wrong.
#[test]
fn typical_mistakes_do_not_fit() {
    let slips: [Slips<'_>; 4] = [
        (
            SchemaKind::Site,
            SITE,
            &[
                ("schema = 1", "schema = 2"),
                ("schema = 1", ""),
                ("purpose = \"lawn\"", "purpose = \"lawns\""),
                ("region = \"US-TX\"", "region = \"Texas\""),
                ("elevation_ft = 1200", "elevation_ft = 1200\nelevation_m = 366"),
                ("elevation_ft = 1200", "elevation_ft = 30000"),
                ("elevation_ft = 1200", "altitude_m = 366"),
                ("79, 68, 61]", "79, 68]"),
                ("85, 92, 96", "85, 920, 96"),
                ("\"13 degF\"", "\"13 F\""),
                ("\"13 degF\"", "-61"),
                ("sun_hours = 8", "sun_hours = 8\nexposure = \"shade\""),
                ("sun_hours = 8", "sun_hours = true"),
                ("\"clay loam\"", "\"clayey\""),
                ("ph = 7.9", "ph = 79"),
                ("ph = 7.9", "pH = 7.9"),
                ("\"limited\"", "\"Limited\""),
                ("[\"spring\", \"fall\"]", "[\"spring\", \"autumn\"]"),
                ("[\"spring\", \"fall\"]", "\"spring\""),
                ("water-saving = 3", "water-saving = 6"),
                ("water-saving = 3", "watersaving = 3"),
                ("\"wear\"]", "\"wears\"]"),
                ("\"exampla-repens\"", "\"Exampla repens\""),
                ("near = false", "near = \"yes\""),
                ("[use]", "[usage]"),
            ],
        ),
        (
            SchemaKind::Property,
            PROPERTY,
            &[
                ("schema = 1", ""),
                ("name = \"bed\"", ""),
                ("area_m2 = 400", ""),
                ("area_m2 = 400", "area_m2 = 400\narea_ft2 = 4000"),
                ("area_m2 = 400", "area_m2 = -4"),
                ("area_ft2 = 900\n", ""),
                ("ph = 7.2", "ph = 7.2\n[ground]\narea_m2 = 900"),
                ("ph = 7.2", "ph = 72"),
                ("purpose = \"lawn\"", "purpose = \"lawns\""),
                ("[\"bed\"]", "\"bed\""),
                ("beside =", "besides ="),
                ("\"drip\"", "\"drips\""),
                ("wear = \"moderate\"", "wear = \"much\""),
                ("kinds = 2", "kinds = 0"),
                ("kinds = 2", "kinds = 2.5"),
                ("water_m3_yr = 600", "water_m3_yr = -600"),
                ("water_m3_yr = 600", "water_m3_yr = 600\nwater_gal_yr = 160000"),
                ("land_use = \"residential\"", ""),
                ("\"residential\"", "\"homes\""),
                ("mawa = true\n", ""),
                ("eto_in_yr = 51.1", "eto_in_yr = 1055"),
                ("kinds = 2", "kinds = 2\nhours_yr = -40"),
                ("kinds = 2", "kinds = 2\nmowing_m2_h = 600"),
                ("kinds = 2", "kinds = 2\nhours_yr = 40\nmowing_m2_h = 2"),
            ],
        ),
        (
            SchemaKind::Species,
            SPECIES,
            &[
                ("id = \"exampla-repens\"", "id = \"Exampla repens\""),
                ("botanical = \"Exampla repens\"", ""),
                ("[\"creeping example\"]", "\"creeping example\""),
                ("[\"creeping example\"]", "[\"?\"]"),
                ("\"broadleaf-cover\"", "\"broadleaf\""),
                ("cold_zone_min", "cold_zone"),
                ("\"6b\"", "\"6\""),
                ("\"6b\"", "6"),
                (", at = \"table 2\" }]\nroot", " }]\nroot"),
                ("value = \"6b\", source = \"example-trial\",", "value = \"6b\","),
                ("[{ value = \"6b\", source = \"example-trial\", at = \"table 2\" }]", "\"6b\""),
                ("low = 20, high = \"1 ft\"", "low = 20"),
                ("low = 20", "low = 2000"),
                ("\"1 ft\"", "\"1 foot\""),
                ("ph = [{ low = 6.0", "ph = [{ value = 6.0"),
                ("[\"plugs\"]", "[\"plug\"]"),
                ("value = true", "value = \"yes\""),
                ("source = \"from-memory\"", "source = \"from-memory\", locator = \"p. 2\""),
            ],
        ),
        (
            SchemaKind::Rule,
            RULE,
            &[
                ("title = \"A mat of dry ground on wet clay\"", "name = \"A mat\""),
                ("sources = [{ key = \"common-practice\" }]", "sources = []"),
                ("key = \"common-practice\"", "key = \"example-trial\""),
                ("when = \"site.soil_group = 'clay'\"", "when = true"),
                ("need = \"drainage\"", "need = \"drain\""),
                ("level = \"severe\" }", "level = \"grave\" }"),
                ("need = \"drainage\", level = \"severe\"", "need = \"soil-body\", level = \"excluding\""),
                ("then.limit", "then.limits"),
                ("then.limit = { need = \"drainage\", level = \"severe\" }", ""),
                ("\"site.soil_group\" = \"clay\",", "\"site.soilgroup\" = \"clay\","),
                ("\"site.soil_group\" = \"clay\",", "\"site.soil_group\" = \"loamy\","),
                ("\"need.wear\" = 2", "\"need.wears\" = 2"),
                ("[[stays_silent]]", "[[silent]]"),
                ("because = \"stands on clay\"", ""),
            ],
        ),
    ];
    for (kind, right, wrong) in slips {
        let validator = validator(kind, false);
        let told = faults(&validator, right);
        assert!(told.is_empty(), "{kind:?}: {}", told.join("\n"));
        for (from, to) in wrong {
            assert_eq!(right.matches(from).count(), 1, "{kind:?}: `{from}` stands elsewhere too");
            let slip = right.replacen(from, to, 1);
            assert!(!faults(&validator, &slip).is_empty(), "{kind:?}: `{to}` passes");
        }
    }
}

/// An overlay folder with its head.
fn overlay(name: &str) -> Scratch {
    let scratch = Scratch::new(name);
    let folder = scratch.0.join("county");
    fs::create_dir(&folder).unwrap();
    let head = "id = \"county\"\ntitle = \"Example County (invented)\"\nversion = \"1.0.0\"\n";
    fs::write(folder.join("overlay.toml"), head).unwrap();
    scratch
}

fn begin(scratch: &Scratch, args: &[&str]) -> String {
    let args: Vec<&str> =
        ["knowledge", "new"].iter().chain(args).chain(&["--output", "county"]).copied().collect();
    let run = run_in(&scratch.0, &args, b"");
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{args:?}");
    run.out
}

fn check(scratch: &Scratch) -> (i32, String) {
    let run = run_in(&scratch.0, &["knowledge", "check", "--overlay", "county"], b"");
    (run.code, run.err)
}

/// The schema that the first line of a file names.
fn named_schema(file: &Path) -> Value {
    let text = fs::read_to_string(file).unwrap();
    let path = text.lines().next().unwrap().strip_prefix("#:schema ").unwrap();
    assert!(!path.starts_with('/'), "{path}: relative to the file");
    serde_json::from_str(&fs::read_to_string(file.parent().unwrap().join(path)).unwrap()).unwrap()
}

/// A value that the vocabulary allows, as it stands between `{` and `source`.
fn some_value(vocabulary: &toml::Table, name: &str) -> String {
    let declared = vocabulary["species"][name].as_table().unwrap();
    let range = || {
        let ends = declared["range"].as_array().unwrap();
        let number = |end: &toml::Value| end.as_float().unwrap_or_else(|| end.as_integer().unwrap() as f64);
        (number(&ends[0]), number(&ends[1]))
    };
    let names = |list: &str, key: &str| {
        vocabulary[list][declared["of"].as_str().unwrap()][key][0].as_str().unwrap().to_owned()
    };
    match declared["type"].as_str().unwrap() {
        "number" => format!("value = {:?}", (range().0 + range().1) / 2.0),
        "range" => format!("low = {:?}, high = {:?}", range().0, range().1),
        "flag" => "value = true".to_owned(),
        "scale" => format!("value = \"{}\"", names("scale", "steps")),
        "choice" => format!("value = \"{}\"", names("choice", "names")),
        "set" => format!("value = [\"{}\"]", names("choice", "names")),
        "text" => match declared.get("form").and_then(|form| form.as_str()) {
            Some("county") => "value = [\"Washington\"]".to_owned(),
            _ => "value = [\"US-TX\"]".to_owned(),
        },
        other => panic!("{other}"),
    }
}

/// Fills a species as a writer would: values by the vocabulary, the rest by hand. With `all` the
/// traits that are commented out are taken too.
fn fill_species(text: &str, all: bool) -> String {
    let vocabulary: toml::Table =
        toml::from_str(&fs::read_to_string(root().join("knowledge/vocabulary.toml")).unwrap()).unwrap();
    let fill = |line: &str| {
        let bare = line.strip_prefix("# ").filter(|bare| all && bare.contains(" = [{ ")).unwrap_or(line);
        match bare.split_once(" = [{ ") {
            Some((name, rest)) if !name.starts_with('#') => {
                let rest = &rest[rest.find(", source").unwrap()..];
                let rest = rest
                    .replace("source = \"?\"", "source = \"example-trial\"")
                    .replace("\"?\"", "\"table 1\"");
                format!("{name} = [{{ {}{rest}", some_value(&vocabulary, name))
            }
            _ if line.starts_with('#') => line.to_owned(),
            _ => line.replace("kind = \"?\"", "kind = \"sedge\"").replace('?', "creeping example"),
        }
    };
    text.lines().map(|line| fill(line) + "\n").collect()
}

#[test]
fn a_species_begun_and_filled_in_passes_the_check() {
    let scratch = overlay("scaffold-species");
    let out = begin(&scratch, &["species", "exampla-repens"]);
    assert!(out.starts_with("wrote county/species/exampla-repens.toml\n"), "{out}");
    assert!(out.contains("check: swardwright knowledge check --overlay county"), "{out}");
    let file = scratch.0.join("county/species/exampla-repens.toml");
    let begun = fs::read_to_string(&file).unwrap();
    let validator = jsonschema::draft202012::new(&named_schema(&file)).unwrap();

    // as it is, nothing but what is to be filled in is told, each key once
    let (code, told) = check(&scratch);
    assert_eq!(code, 1);
    assert!(told.matches("error[not-filled-in]").count() >= 10, "{told}");
    assert!(!faults(&validator, &begun).is_empty());

    begin(&scratch, &["source", "example-trial"]);
    let source = scratch.0.join("county/sources/example-trial.toml");
    let text = fs::read_to_string(&source).unwrap();
    fs::write(
        &source,
        text.replace("title = \"?\"", "title = \"Trial (invented)\"").replace("\"?\"", "\"extension\""),
    )
    .unwrap();
    for all in [false, true] {
        let filled = fill_species(&begun, all);
        fs::write(&file, &filled).unwrap();
        assert_eq!(check(&scratch), (0, String::new()), "{filled}");
        assert_eq!(faults(&validator, &filled), Vec::<String>::new());
    }
    // every trait of the vocabulary is there
    let text = fs::read_to_string(root().join("knowledge/vocabulary.toml")).unwrap();
    let vocabulary: toml::Table = toml::from_str(&text).unwrap();
    let filled: toml::Table = toml::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    let entered =
        |(name, trait_): &(&String, &toml::Value)| *name != "kind" && trait_.get("counted").is_none();
    for (name, _) in vocabulary["species"].as_table().unwrap().iter().filter(entered) {
        assert!(filled["traits"].get(name).is_some(), "{name}");
    }
}

/// What staff of a county write most: the head, changed values, sources. Each is begun by a command, fits its
/// schema once it is filled in, and does not before.
#[test]
fn the_head_and_the_values_of_an_overlay_are_begun_and_checked_while_typing() {
    let scratch = Scratch::new("scaffold-values");
    let args = |kind, id| ["knowledge", "new", kind, id, "--overlay", "county"];
    let begun = run_in(&scratch.0, &args("values", "bouteloua-gracilis"), b"");
    assert_eq!(begun.code, 0, "{}", begun.err);
    assert_eq!(run_in(&scratch.0, &args("source", "county-trial"), b"").code, 0);
    let path = |file: &str| scratch.0.join("county").join(file);
    let fill = |file: &str, pairs: &[(&str, &str)]| {
        let text = fs::read_to_string(path(file)).unwrap();
        let filled = pairs.iter().fold(text.clone(), |text, (from, to)| {
            assert!(text.contains(from), "{file}: {from}");
            text.replacen(from, to, 1)
        });
        fs::write(path(file), &filled).unwrap();
        (text, filled)
    };
    let values = "values/bouteloua-gracilis.toml";
    let wear = "# wear = [{ value = \"?\", source = \"?\", at = \"?\" }]";
    let own = "wear = [{ value = \"low\", source = \"county-trial\", at = \"table 2\" }]";
    let files = [
        ("overlay.toml", vec![("title = \"?\"", "title = \"Example County (invented)\"")]),
        (
            "sources/county-trial.toml",
            vec![("title = \"?\"", "title = \"Trial\""), ("kind = \"?\"", "kind = \"extension\"")],
        ),
        (values, vec![(wear, own)]),
    ];
    for (file, pairs) in &files {
        let validator = jsonschema::draft202012::new(&named_schema(&path(file))).unwrap();
        let (text, filled) = fill(file, pairs);
        assert_eq!(faults(&validator, &filled), Vec::<String>::new(), "{file}");
        assert!(*file == values || !faults(&validator, &text).is_empty(), "{file}");
        let slip =
            filled.replace("extension", "extention").replace("\"low\"", "\"lwo\"").replace("1.0.0", "1");
        assert_eq!(faults(&validator, &slip).len(), 1, "{file}: {slip}");
    }
    let offered = fs::read_to_string(path(values)).unwrap();
    assert!(offered.contains("#   in the base: "));
    // what is counted for a species is nobody's to enter, and is not offered
    let vocabulary = fs::read_to_string(root().join("knowledge/vocabulary.toml")).unwrap();
    let vocabulary: toml::Table = toml::from_str(&vocabulary).unwrap();
    let species = vocabulary["species"].as_table().unwrap();
    let counted: Vec<&String> =
        species.iter().filter(|(_, one)| one.get("counted").is_some()).map(|(name, _)| name).collect();
    assert!(!counted.is_empty());
    for name in counted {
        assert!(!offered.contains(&format!("# {name} = ")), "{name}: {offered}");
    }
    assert_eq!(check(&scratch), (0, String::new()));
    // a species that the base does not have has no values to change, and a base holds no such folder
    let other = run_in(&scratch.0, &args("values", "festuca-arundinacea"), b"");
    assert!(
        other.code == 2 && other.err.contains("`schedonorus-arundinaceus` (tall fescue)"),
        "{}",
        other.err
    );
    let base = root().join("knowledge").display().to_string();
    let into_base = ["knowledge", "new", "values", "poa-pratensis", "--output", &base];
    let refused = run_in(&scratch.0, &into_base, b"");
    assert!(refused.code == 2 && refused.err.contains("error[values-in-base]"), "{}", refused.err);
}

/// Every finding about a fresh scaffold is that something is to be filled in.
#[test]
fn a_fresh_scaffold_is_told_by_what_is_missing_alone() {
    let scratch = overlay("scaffold-fresh");
    for args in [["species", "exampla-repens"], ["rule", "light-example-shade"], ["source", "example-trial"]]
    {
        begin(&scratch, &args);
    }
    let (code, told) = check(&scratch);
    assert_eq!(code, 1);
    let others: Vec<&str> = told
        .lines()
        .filter(|line| line.starts_with("error[") && !line.starts_with("error[not-filled-in]"))
        .collect();
    assert!(others.is_empty(), "{others:#?}");
    for key in ["cold_zone_min", "common", "when", "then", "fires", "title"] {
        assert!(told.contains(&format!("`{key}` is not filled in")), "{key}: {told}");
    }
}

/// The command that comes next can be pasted as it stands.
#[test]
fn the_next_command_has_a_folder_with_a_blank_in_quotes() {
    let scratch = Scratch::new("authoring-blank");
    let args = ["knowledge", "new", "source", "county-trial", "--overlay", "our county"];
    let run = run_in(&scratch.0, &args, b"");
    assert_eq!(run.code, 0, "{}", run.err);
    let next = "check: swardwright knowledge check --overlay \"our county\"\n";
    assert!(run.out.contains(next), "{}", run.out);
}

#[test]
fn a_rule_begun_and_filled_in_passes_the_check() {
    let scratch = overlay("scaffold-rule");
    let out = begin(&scratch, &["rule", "drainage-example"]);
    assert!(out.starts_with("wrote county/rules/drainage/drainage-example.toml\n"), "{out}");
    let file = scratch.0.join("county/rules/drainage/drainage-example.toml");
    let begun = fs::read_to_string(&file).unwrap();
    let schema = named_schema(&file);
    let filled = begun
        .replace("title = \"?\"", "title = \"Drainage against need (invented)\"")
        .replace("why = \"?\"", "why = \"Roots drown.\"")
        .replace("key = \"?\", at = \"?\"", "key = \"common-practice\"")
        .replace("when = \"?\"", "when = \"site.drainage <= 'imperfect'\"")
        .replace(
            "need = \"?\", level = \"?\"",
            "need = \"drainage\", level = \"grade(steps(site.drainage, 'poor'), none = 3, severe = 0)\"",
        )
        .replace("because = \"?\"", "because = \"stands on {site.drainage} drainage\"")
        .replacen("\"?\" = \"?\"", "\"site.drainage\" = \"poor\"", 1)
        .replacen("\"?\" = \"?\"", "\"site.drainage\" = \"well\"", 1)
        .replace("level = \"?\"", "level = \"severe\"");
    // with every effect that the scaffold shows, and with the one alone
    let effects = filled.replace("\n# then.", "\nthen.").replace("\nlevel = \"severe\"", "");
    assert_eq!(effects.matches("\nthen.").count(), 7);
    for text in [filled, effects] {
        fs::write(&file, &text).unwrap();
        assert_eq!(check(&scratch), (0, String::new()), "{text}");
        assert_eq!(faults(&jsonschema::draft202012::new(&schema).unwrap(), &text), Vec::<String>::new());
    }
}

/// In a working copy the file goes beside the others and names the schema that is kept there.
#[test]
fn a_base_is_written_into_where_it_stands() {
    let scratch = Scratch::new("scaffold-base");
    copy_folder(&root().join("tests/bad/base"), &scratch.0);
    fs::create_dir(scratch.0.join("schemas")).unwrap();
    fs::copy(root().join("schemas/species.schema.json"), scratch.0.join("schemas/species.schema.json"))
        .unwrap();
    let run = run_in(&scratch.0, &["knowledge", "new", "species", "exampla-nova"], b"");
    assert!(run.out.starts_with("wrote knowledge/species/exampla-nova.toml\n"), "{}{}", run.out, run.err);
    assert!(run.out.contains("--knowledge knowledge"), "{}", run.out);
    assert!(!scratch.0.join("knowledge/schemas").exists());
    let file = scratch.0.join("knowledge/species/exampla-nova.toml");
    named_schema(&file);
    // a species that is at work does not stand in the way of the next, nor is it written over
    let next = run_in(&scratch.0, &["knowledge", "new", "rule", "example"], b"");
    assert!(next.out.contains("wrote knowledge/rules/other/example.toml"), "{}{}", next.out, next.err);
    let again = run_in(&scratch.0, &["knowledge", "new", "species", "exampla-nova"], b"");
    assert_eq!(again.code, 2);
    assert!(again.err.contains("error[id-taken]"), "{}", again.err);
    let topic = run_in(&scratch.0, &["knowledge", "new", "rule", "example-two", "--topic", "reaction"], b"");
    assert!(topic.out.contains("wrote knowledge/rules/reaction/example-two.toml"), "{}", topic.out);
}

#[test]
fn a_file_that_is_still_filled_in_keeps_no_schema_back() {
    let scratch = Scratch::new("authoring-schema-beside-scaffold");
    copy_folder(&root().join("tests/bad/base/knowledge"), &scratch.0.join("knowledge"));
    let begun = ["knowledge", "new", "species", "exampla-nova", "--knowledge", "knowledge"];
    assert_eq!(run_in(&scratch.0, &begun, b"").code, 0);
    let schema = run_in(&scratch.0, &["knowledge", "schema", "species", "--knowledge", "knowledge"], b"");
    assert!(schema.code == 0 && schema.out.contains("drainage_min"), "{}", schema.err);
}

/// `new` begins one source, `schema` is of a file of them: both take either word.
#[test]
fn a_source_is_called_alike_by_both_commands() {
    let scratch = Scratch::new("authoring-source-words");
    let [one, all] =
        ["source", "sources"].map(|word| run_in(&scratch.0, &["knowledge", "schema", word], b""));
    assert_eq!((one.code, all.code), (0, 0), "{}{}", one.err, all.err);
    assert_eq!(one.out, all.out);
    for (word, folder) in [("source", "one"), ("sources", "all")] {
        let begun = ["knowledge", "new", word, "example-trial-2020", "--output", folder];
        let run = run_in(&scratch.0, &begun, b"");
        assert_eq!(run.code, 0, "{word}: {}", run.err);
    }
    let [one, all] = ["one", "all"].map(|folder| {
        fs::read_to_string(scratch.0.join(folder).join("sources/example-trial-2020.toml")).unwrap()
    });
    assert_eq!(one, all);
}

#[test]
fn a_schema_lists_names_only_where_they_are_wished_for() {
    let scratch = Scratch::new("schema-names");
    let plain = run_in(&scratch.0, &["knowledge", "schema", "site"], b"");
    assert_eq!(plain.code, 0, "{}", plain.err);
    assert!(!plain.out.contains("cynodon-dactylon"));
    let named =
        run_in(&scratch.0, &["knowledge", "schema", "site", "--names", "--output", "a/site.json"], b"");
    assert!(named.out.starts_with("wrote a/site.json"), "{}{}", named.out, named.err);
    assert!(fs::read_to_string(scratch.0.join("a/site.json")).unwrap().contains("cynodon-dactylon"));
}
