//! The program as a new user meets it: exit codes, formats, widths, the same bytes twice.

use std::fs;

use serde_json::Value;
use swardwright::diag::render_all;
use swardwright::report::{ExplainOptions, Look, Shown, explain_text, recommend_text, show_text};
use swardwright::{UnitSystem, assess};

use super::support::{Scratch, copy_folder, folders, knowledge, root, run, run_in, run_plain, source};

fn scenarios() -> Vec<String> {
    folders(&root().join("scenarios")).iter().map(|name| format!("scenarios/{name}/site.toml")).collect()
}

#[test]
fn the_commands_of_the_readme_answer() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    assert!(readme.contains("cargo run --release -- recommend scenarios/hot-dry-lawn/site.toml"));
    assert!(readme.contains("bash tests/run"));
    let ci = fs::read_to_string(root().join(".ci/run")).unwrap();
    assert!(ci.contains("bash tests/run"));
    let run = run(&["recommend", "scenarios/hot-dry-lawn/site.toml"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("Caliche Bend (invented)") && run.out.contains("knowledge "), "{}", run.out);
}

/// Where the first choice falls, the place that it takes then is told with its name: another is first there.
#[test]
fn a_fall_names_what_falls() {
    let mut told = 0;
    for site in scenarios().into_iter().step_by(4) {
        let run = run(&["change", &site, "--samples", "0", "--width", "400"]);
        assert_eq!(run.code, 0, "{site}: {}", run.err);
        let Some((_, rest)) = run.out.split_once(" would lose first place by\n") else { continue };
        let first = run.out[..run.out.len() - rest.len()].lines().last().unwrap();
        let first = first.trim_end_matches(" would lose first place by");
        for line in rest.lines().filter(|line| line.contains(" is first then, and ")) {
            let (_, then) = line.split_once(" is first then, and ").unwrap();
            assert!(then.starts_with(&format!("{first} ")), "{site}: {line}");
            told += 1;
        }
    }
    assert!(told > 20, "{told}");
}

/// A site file that gives no water cannot say how much, so that the answer tells what goes with it.
#[test]
fn a_fall_by_no_water_names_what_is_left_out() {
    let run = run(&["change", "scenarios/fire-country-slope/site.toml", "--samples", "0", "--width", "400"]);
    let line = run.out.lines().find(|line| line.contains("irrigation becoming none")).unwrap();
    let left_out = "none, with irrigation cap and irrigation days a week left out (now limited)";
    let other_order = "none, with irrigation days a week and irrigation cap left out (now limited)";
    assert!(line.contains(left_out) || line.contains(other_order), "{line}");
}

/// Of every refused species of the scenarios it is known whether a change helps: the tries suffice.
#[test]
fn no_refusal_is_left_unsettled() {
    for site in scenarios() {
        let run = run(&["recommend", &site, "--format", "json", "--samples", "0", "--top", "0"]);
        let answer: Value = serde_json::from_str(&run.out).unwrap();
        let ranking = answer["ranking"].as_array().unwrap().iter();
        let unsettled: Vec<&Value> =
            ranking.filter(|one| one["class"] == "N").map(|one| &one["species"]).collect();
        assert!(unsettled.is_empty(), "{site}: {unsettled:?}");
    }
}

/// The site file of the README is a real one.
#[test]
fn the_site_file_of_the_readme_is_read() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let (_, from_schema) = readme.split_once("    schema = 1\n").unwrap();
    let body = from_schema.lines().take_while(|line| line.is_empty() || line.starts_with("    "));
    let text: String = std::iter::once("schema = 1".to_owned())
        .chain(body.map(|line| line.trim_start().to_owned()))
        .fold(String::new(), |mut all, line| {
            all.push_str(&line);
            all.push('\n');
            all
        });
    let run = run_in(&root(), &["recommend", "-"], text.as_bytes());
    assert_eq!(run.code, 0, "{text}\n{}", run.err);
}

#[test]
fn odd_inputs_are_refused_with_exit_code_2() {
    let scratch = Scratch::new("odd-inputs");
    fs::write(scratch.0.join("empty.toml"), "").unwrap();
    fs::write(scratch.0.join("binary.toml"), [0u8, 159, 146, 150, 255, 0, 10]).unwrap();
    fs::write(scratch.0.join("huge.toml"), vec![b'a'; 50 << 20]).unwrap();
    for (name, code) in [
        ("empty.toml", "empty-site"),
        ("binary.toml", "not-text"),
        ("huge.toml", "too-large"),
        (".", "unreadable"),
        ("missing.toml", "unreadable"),
    ] {
        let run = run_in(&scratch.0, &["recommend", name], b"");
        assert_eq!(run.code, 2, "{name}: {}", run.out);
        assert!(run.err.contains(&format!("error[{code}]")), "{name}: {}", run.err);
        assert!(run.out.is_empty(), "{name}: nothing is half answered");
    }
}

#[test]
fn a_site_with_every_value_missing_is_answered_with_what_is_unknown() {
    let run = run_in(&root(), &["recommend", "-"], b"schema = 1\n");
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("Nothing is known of this site"), "{}", run.out);
    assert!(run.out.contains("What are the mean daily maximum temperatures"), "{}", run.out);
    let json = run_in(&root(), &["recommend", "-", "--format", "json"], b"schema = 1\n");
    let answer: Value = serde_json::from_str(&json.out).unwrap();
    // nobody is a sure choice on a site that nobody described
    for candidate in answer["ranking"].as_array().unwrap() {
        assert_ne!(candidate["class"], "S1", "{}", candidate["species"]);
    }
}

/// A need that no rule rates is met by every species everywhere: a warning, and a fault where more is asked.
#[test]
fn a_need_without_a_rule_is_told() {
    let scratch = Scratch::new("unrated-need");
    copy_folder(&root().join("tests/bad/base"), &scratch.0);
    let args = ["knowledge", "check", "--knowledge", "knowledge"];
    assert_eq!(run_in(&scratch.0, &args, b"").err, "");
    copy_folder(&root().join("tests/bad/unrated-need"), &scratch.0);
    let told = run_in(&scratch.0, &args, b"");
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.err.contains("warning[unrated-need]: no rule rates the need `frost`"), "{}", told.err);
}

/// Where no list of a region was read the answer says so, and only there.
#[test]
fn an_answer_says_when_no_list_of_the_region_was_read() {
    let answer = |region: &str| {
        let site = format!("schema = 1\npurpose = \"lawn\"\n[place]\nregion = \"{region}\"\n");
        let run = run_in(&root(), &["recommend", "-", "--width", "300"], site.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        run.out
    };
    let words = "no list of invasive or noxious plants of";
    assert!(answer("GB-WLS").contains(&format!("{words} GB-WLS was read")));
    assert!(!answer("US-CA").contains(words));
}

#[test]
fn standard_input_and_a_file_give_the_same_answer() {
    let path = "scenarios/sports-field/site.toml";
    let file = run(&["recommend", path]);
    let piped = run_in(&root(), &["recommend", "-"], &fs::read(root().join(path)).unwrap());
    assert_eq!(file.out, piped.out);
}

#[test]
fn two_runs_give_the_same_bytes() {
    for (at, site) in scenarios().into_iter().enumerate() {
        // both formats come from one assessment: every fourth site in JSON is enough
        for format in if at % 4 == 0 { vec!["text", "json"] } else { vec!["text"] } {
            let once = run(&["recommend", &site, "--format", format]);
            let again = run(&["recommend", &site, "--format", format]);
            assert_eq!(once.code, 0, "{site}: {}", once.err);
            assert_eq!(once.out, again.out, "{site}");
        }
    }
}

/// Files written in another order, rules moved to other folders: the same answer.
#[test]
fn the_order_and_folders_of_rule_files_change_nothing() {
    let scratch = Scratch::new("shuffled");
    let shuffled = scratch.0.join("shuffled");
    for part in ["sources", "tables", "species"] {
        copy_folder(&root().join("knowledge").join(part), &shuffled.join(part));
    }
    let climates = root().join("knowledge/climates");
    if climates.is_dir() {
        copy_folder(&climates, &shuffled.join("climates"));
    }
    for name in ["edition.toml", "vocabulary.toml", "needs.toml"] {
        fs::copy(root().join("knowledge").join(name), shuffled.join(name)).unwrap();
    }
    let mut moved = 0;
    let topics = folders(&root().join("knowledge/rules"));
    for (at, topic) in topics.iter().rev().enumerate() {
        let target = shuffled.join("rules").join(format!("{}-{topic}", (b'z' - at as u8) as char));
        copy_folder(&root().join("knowledge/rules").join(topic), &target);
        moved += 1;
    }
    assert!(moved > 10, "rules stand in folders by topic");
    for site in ["saline-coast", "hot-dry-lawn", "dry-shade-under-trees", "nothing-suits"] {
        let answer = |knowledge: &str, format: &str| {
            let path = format!("scenarios/{site}/site.toml");
            let run = run(&["recommend", &path, "--all", "--format", format, "--knowledge", knowledge]);
            assert_eq!(run.code, 0, "{}", run.err);
            run.out
        };
        // the digest too: it goes by what stands there, not by the file
        for format in ["text", "json"] {
            assert_eq!(answer("knowledge", format), answer(shuffled.to_str().unwrap(), format), "{site}");
        }
    }
}

/// The knowledge inside the program is the knowledge of the folder.
#[test]
fn built_in_and_folder_knowledge_answer_alike() {
    let site = "scenarios/steep-bank/site.toml";
    let built_in = run(&["recommend", site, "--format", "json"]);
    let folder = run(&["recommend", site, "--format", "json", "--knowledge", "knowledge"]);
    assert_eq!(built_in.out, folder.out);
}

#[test]
fn no_line_is_wider_than_asked() {
    for site in scenarios() {
        let run = run(&["recommend", &site, "--width", "60", "--all"]);
        for line in run.out.lines() {
            assert!(line.chars().count() <= 60, "{site}: {line}");
        }
    }
    let long = format!("schema = 1\nname = \"{}\"\n", "a long name ".repeat(20));
    let run = run_in(&root(), &["recommend", "-"], long.as_bytes());
    for line in run.out.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

/// Every report at narrow, usual and wide, and without a panic narrower than anyone reads.
#[test]
fn reports_fit_any_width() {
    let knowledge = knowledge();
    for site in ["hot-dry-lawn", "homeowner-few-facts", "southern-sports-field"] {
        let text = fs::read_to_string(root().join(format!("scenarios/{site}/site.toml"))).unwrap();
        let (assessment, _) =
            assess(&source(site, &text), &knowledge).map_err(|all| render_all(&all, false)).unwrap();
        let candidates = [&assessment.candidates[0], assessment.candidates.last().unwrap()];
        for width in [1, 10, 39, 40, 60, 80, 120] {
            let look = Look { width, coloured: false, units: assessment.units() };
            let mut reports = vec![
                recommend_text(&assessment, Shown { top: 3, all: false }, &look),
                recommend_text(&assessment, Shown { top: 3, all: true }, &look),
                show_text(&knowledge, "cynodon-dactylon", &look).unwrap(),
                show_text(&knowledge, "heathrow-gb", &look).unwrap(),
            ];
            for (candidate, all, months) in
                candidates.iter().flat_map(|one| [(one, false, false), (one, false, true), (one, true, true)])
            {
                reports.push(explain_text(&assessment, candidate, ExplainOptions { all, months }, &look));
            }
            for line in reports.iter().flat_map(|report| report.lines()) {
                assert!(line.chars().count() <= width.max(40), "{site} at {width}: {line}");
            }
        }
    }
    // a table that is split keeps every column and every month
    let split =
        run(&["explain", "scenarios/hot-dry-lawn/site.toml", "poa-pratensis", "--months", "--width", "60"]);
    let (_, months) = split.out.split_once("Month by month\n").unwrap();
    assert!(months.matches(" Jan ").count() >= 2 && months.matches(" Dec ").count() >= 2, "{months}");
    for head in ["max", "ET0", "used", "short", "wilting"] {
        assert!(months.contains(head), "no `{head}`: {months}");
    }
}

/// Whatever `knowledge show` prints of any species, trait, need, table or place fits.
#[test]
fn knowledge_show_fits_its_width() {
    let knowledge = knowledge();
    let vocabulary = knowledge.vocabulary.ids().filter_map(|id| id.split_once('.').map(|(_, name)| name));
    let ids: Vec<&str> = (knowledge.species.iter().map(|one| one.id.as_str()))
        .chain(knowledge.rules.iter().map(|one| one.id.as_str()))
        .chain(knowledge.tables.iter().map(|one| one.id.as_str()))
        .chain(knowledge.sources.keys().map(String::as_str))
        .chain(knowledge.climates.iter().map(|one| one.id.as_str()))
        .chain(knowledge.needs.all.iter().map(|one| one.id.as_str()))
        .chain(vocabulary)
        .collect();
    for (width, units) in [(80, UnitSystem::Si), (80, UnitSystem::Us), (60, UnitSystem::Si)] {
        let look = Look { width, coloured: false, units };
        for id in &ids {
            let text = show_text(&knowledge, id, &look).map_err(|all| render_all(&all, false)).unwrap();
            for line in text.lines().filter(|line| !line.contains("://")) {
                assert!(line.chars().count() <= width, "{id} at {width}: {line}");
            }
        }
    }
}

/// A place of the gazetteer is found by its id and its name, and offered where a name is near.
#[test]
fn knowledge_show_knows_the_gazetteer() {
    for name in ["heathrow-gb", "Heathrow, England", "HEATHROW, england "] {
        let shown = run(&["knowledge", "show", name]);
        assert_eq!(shown.code, 0, "{name}: {}", shown.err);
        for wanted in
            ["Heathrow, England", "1991-2020", "51.479", "25 m", "tmax_c", "23.9", "met-office-historic"]
        {
            assert!(shown.out.contains(wanted), "no `{wanted}`: {}", shown.out);
        }
    }
    let us = run(&["knowledge", "show", "heathrow-gb", "--units", "us"]);
    assert!(us.out.contains("82 ft") && us.out.contains("°F"), "{}", us.out);
    let near = run(&["knowledge", "show", "lerwik"]);
    assert!(near.err.contains("did you mean `lerwick-gb`?"), "{}", near.err);
    let nothing = run(&["knowledge", "show", "qqqq"]);
    assert!(nothing.err.contains("a source or a place; places are "), "{}", nothing.err);
}

/// For programs: what is refused or warned of is one JSON document on the error stream, in the form
/// of its contract, and the exit code is the same.
#[test]
fn findings_are_json_where_json_is_asked_for() {
    let schema: Value =
        serde_json::from_str(&fs::read_to_string(root().join("schemas/findings.schema.json")).unwrap())
            .unwrap();
    let held = |text: &str| -> Value {
        let document = serde_json::from_str(text).unwrap_or_else(|fault| panic!("{fault}: {text}"));
        let mut faults = Vec::new();
        hold_against(&schema, &schema, &document, "$", &mut faults);
        assert!(faults.is_empty(), "{faults:#?}\n{text}");
        document
    };
    let recommend = |text: &str| run_in(&root(), &["recommend", "-", "--format", "json"], text.as_bytes());
    let refused = recommend("schema = 1\n[light]\nsun_hours = 6\nexposure = \"shade\"\n");
    assert_eq!((refused.code, refused.out.as_str()), (2, ""));
    let finding = &held(&refused.err)["findings"][0];
    assert_eq!(finding["code"], "light-twice");
    let place =
        |line, column| serde_json::json!({ "file": "<standard input>", "line": line, "column": column });
    assert_eq!(finding["place"], place(4, 1));
    assert_eq!(finding["also"][0]["place"], place(3, 1));
    // a file that is not there has no place to point at
    let absent = run(&["recommend", "no-such-site.toml", "--format", "json"]);
    assert_eq!(held(&absent.err)["findings"][0]["place"], Value::Null);
    // warnings beside an answer, and silence beside one that needs none
    let warned =
        recommend("schema = 1\n[place]\nlatitude_deg = 32\nlongitude_deg = -106\n[climate]\nnear = true\n");
    assert_eq!(warned.code, 0, "{}", warned.err);
    assert_eq!(held(&warned.err)["findings"][0]["severity"], "warning");
    assert!(serde_json::from_str::<Value>(&warned.out).unwrap()["ranking"].is_array());
    assert_eq!(recommend("schema = 1\n").err, "");
    // of a check the findings are the answer
    let check = |folder: &str| {
        let run = run(&["knowledge", "check", "--knowledge", folder, "--format", "json"]);
        assert_eq!(run.err, "");
        (run.code, held(&run.out))
    };
    let (code, sound) = check("tests/bad/base/knowledge");
    assert_eq!((code, &sound["findings"]), (0, &serde_json::json!([])));
    assert_eq!(sound["knowledge"]["rules"], 2);
    let scratch = Scratch::new("check-json");
    copy_folder(&root().join("tests/bad/base"), &scratch.0);
    copy_folder(&root().join("tests/bad/no-source"), &scratch.0);
    let (code, faulty) = check(&scratch.0.join("knowledge").display().to_string());
    assert_eq!((code, &faulty["knowledge"]), (1, &Value::Null));
    assert_eq!(faulty["findings"][0]["code"], "no-source");
}

/// A broken vocabulary is one fault, not one for every name that rests on it.
#[test]
fn a_broken_vocabulary_does_not_blame_every_file() {
    let scratch = Scratch::new("broken-vocabulary");
    let folder = scratch.0.join("knowledge");
    copy_folder(&root().join("knowledge"), &folder);
    let path = folder.join("vocabulary.toml");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, format!("= 1\n{text}")).unwrap();
    let run = run_in(&scratch.0, &["knowledge", "check", "--knowledge", "knowledge"], b"");
    assert_eq!(run.code, 1);
    assert!(run.err.lines().count() < 40, "{} lines: {}", run.err.lines().count(), &run.err[..600]);
    assert!(run.err.contains("vocabulary.toml:1:"), "{}", run.err);
}

/// Without NO_COLOR too: that no terminal is there must be enough.
#[test]
fn pipes_carry_no_escape_codes() {
    for (args, input) in [
        (vec!["recommend", "scenarios/northern-lawn/site.toml"], ""),
        (vec!["explain", "scenarios/northern-lawn/site.toml", "poa-pratensis", "--months"], ""),
        (vec!["recommend", "-"], "schema = 2"),
        // a name may not bring codes of its own
        (vec!["recommend", "-"], "schema = 1\nname = \"a\\u001b[31mb\\u0007\"\n"),
        (vec!["recommend", "-"], "schema = 1\npurpose = \"a\\u001b[31m\"\n"),
        (vec!["knowledge", "--help"], ""),
    ] {
        let run = run_plain(&root(), &args, input.as_bytes());
        assert!(!run.out.contains('\u{1b}') && !run.out.contains('\u{7}'), "{args:?}: {}", run.out);
        assert!(!run.err.contains('\u{1b}'), "{args:?}: {}", run.err);
    }
}

/// On a terminal, colour comes and NO_COLOR takes it away; needs the `script` of util-linux.
#[test]
fn no_color_is_honoured_on_a_terminal() {
    let on_terminal = |no_color: &str| {
        let command = format!(
            "NO_COLOR={no_color} {} recommend {}/scenarios/northern-lawn/site.toml",
            env!("CARGO_BIN_EXE_swardwright"),
            root().display()
        );
        let mut script = std::process::Command::new("script");
        script.args(["-qec", &command, "/dev/null"]).stdin(std::process::Stdio::null());
        let output = script.env("TERM", "xterm").output().ok().filter(|output| output.status.success())?;
        String::from_utf8(output.stdout).ok().filter(|text| text.contains("swardwright"))
    };
    let (Some(with), Some(without)) = (on_terminal(""), on_terminal("1")) else {
        println!("NOT RUN: no `script` to stand in for a terminal");
        return;
    };
    assert!(with.contains('\u{1b}'), "a terminal gets emphasis");
    assert!(!without.contains('\u{1b}'), "NO_COLOR takes it away");
    let plain: String = with.replace("\u{1b}[1m", "").replace("\u{1b}[0m", "");
    assert_eq!(plain, without, "colour carries nothing alone");
}

#[test]
fn units_follow_the_file_and_the_option() {
    let us = run(&["recommend", "scenarios/hot-dry-lawn/site.toml", "--units", "us"]);
    assert!(us.out.contains("°F") && !us.out.contains("°C)"), "{}", us.out);
    let si = run(&["recommend", "scenarios/homeowner-few-facts/site.toml", "--units", "si"]);
    assert!(si.out.contains("325 m2"), "{}", si.out);
    let own = run(&["recommend", "scenarios/homeowner-few-facts/site.toml"]);
    assert!(own.out.contains("3500 ft2"), "a file in US units is answered in US units\n{}", own.out);
}

/// Every id of a rule or source that an answer names, by the keys under which it names them.
fn named_ids(value: &Value, ids: &mut Vec<(&'static str, String)>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| named_ids(item, ids)),
        Value::Object(object) => {
            for (key, inner) in object {
                match (key.as_str(), inner) {
                    ("rule", Value::String(id)) => ids.push(("rules", id.clone())),
                    ("key", Value::String(id)) => ids.push(("sources", id.clone())),
                    ("held_back_by", Value::Array(rules)) => {
                        ids.extend(rules.iter().map(|id| ("rules", id.as_str().unwrap().to_owned())));
                    }
                    _ => named_ids(inner, ids),
                }
            }
        }
        _ => {}
    }
}

/// The contract of the JSON answer: its schema, what is named by id stands there, and nothing else does.
#[test]
fn json_answers_keep_the_contract() {
    let schema: Value =
        serde_json::from_str(&fs::read_to_string(root().join("schemas/recommend.schema.json")).unwrap())
            .unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    for (at, site) in scenarios().into_iter().enumerate() {
        let mut args = vec!["recommend", &site, "--format", "json"];
        // both forms keep it: every fourth site with all is enough
        let all = at % 4 == 0;
        args.extend(all.then_some("--all"));
        let run = run(&args);
        let answer: Value = serde_json::from_str(&run.out).unwrap();
        let faults: Vec<String> = validator.iter_errors(&answer).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{site}: {faults:#?}");
        assert!(all || run.out.len() < 1_000_000, "{site}: {} bytes", run.out.len());
        let mut ids = Vec::new();
        named_ids(&answer, &mut ids);
        for (table, id) in &ids {
            assert!(answer[*table].get(id).is_some(), "{site}: `{id}` does not stand under `{table}`");
        }
        for table in ["rules", "sources"] {
            for id in answer[table].as_object().unwrap().keys() {
                assert!(ids.contains(&(table, id.clone())), "{site}: nothing names `{id}` of `{table}`");
            }
        }
        let full = answer["ranking"].as_array().unwrap().iter().filter(|one| one["detail"] == "full").count();
        assert!(if all { full > 90 } else { full <= 3 }, "{site}: {full} candidates stand there in full");
        for one in answer["ranking"].as_array().unwrap() {
            let traits = one["traits"].as_object();
            let reasons = one["reasons"].as_array().into_iter().flatten();
            for name in reasons.flat_map(|reason| reason["traits"].as_array().unwrap()) {
                assert!(traits.unwrap().contains_key(name.as_str().unwrap()), "{site}: {name}");
            }
        }
        let ranking = answer["ranking"].as_array().unwrap();
        assert!(ranking.len() > 90, "ranking holds every candidate");
        let is_refused = |one: &Value| one["class"].as_str().unwrap().starts_with('N');
        let refused = ranking.iter().position(is_refused);
        let last_suited = ranking.iter().rposition(|one| !is_refused(one));
        if let (Some(refused), Some(last)) = (refused, last_suited) {
            assert!(last < refused, "{site}: refused classes stand last");
        }
    }
}

/// A checker for the part of JSON Schema that our schema uses: type, required, properties,
/// additionalProperties false, items, enum, minimum, maximum, and references into `$defs`.
fn hold_against(root: &Value, schema: &Value, value: &Value, path: &str, faults: &mut Vec<String>) {
    if let Some(reference) = schema["$ref"].as_str() {
        let target = root.pointer(reference.trim_start_matches('#')).unwrap();
        return hold_against(root, target, value, path, faults);
    }
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(all) => all.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    let is = |name: &str| match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "boolean" => value.is_boolean(),
        _ => value.is_null(),
    };
    if !types.is_empty() && !types.iter().any(|name| is(name)) {
        faults.push(format!("{path}: {value} is not {types:?}"));
    }
    if let Some(allowed) = schema["enum"].as_array()
        && !allowed.contains(value)
    {
        faults.push(format!("{path}: {value} is none of {allowed:?}"));
    }
    if let Some(number) = value.as_f64() {
        let outside = schema["minimum"].as_f64().is_some_and(|least| number < least)
            || schema["maximum"].as_f64().is_some_and(|most| number > most);
        if outside {
            faults.push(format!("{path}: {number} is out of bounds"));
        }
    }
    if let Some(object) = value.as_object() {
        for key in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
            if !object.contains_key(key) {
                faults.push(format!("{path}: no `{key}`"));
            }
        }
        for (key, inner) in object {
            match schema["properties"].get(key) {
                Some(own) => hold_against(root, own, inner, &format!("{path}.{key}"), faults),
                None if schema["additionalProperties"] == Value::Bool(false) => {
                    faults.push(format!("{path}: `{key}` is not in the schema"));
                }
                None => {}
            }
        }
    }
    if let (Some(items), Some(own)) = (value.as_array(), schema.get("items")) {
        for (at, item) in items.iter().enumerate() {
            hold_against(root, own, item, &format!("{path}[{at}]"), faults);
        }
    }
}

#[test]
fn the_checker_of_the_contract_can_fail() {
    let schema = serde_json::json!({ "type": "object", "required": ["a"], "properties": { "a": { "type": "integer" } }, "additionalProperties": false });
    for bad in [serde_json::json!({}), serde_json::json!({ "a": "x" }), serde_json::json!({ "a": 1, "b": 2 })]
    {
        let mut faults = Vec::new();
        hold_against(&schema, &schema, &bad, "$", &mut faults);
        assert!(!faults.is_empty(), "{bad}");
    }
}

#[test]
fn help_of_every_command_has_an_example() {
    for command in [vec!["recommend"], vec!["explain"], vec!["knowledge", "check"], vec!["knowledge", "show"]]
    {
        let args: Vec<&str> = command.iter().copied().chain(["--help"]).collect();
        let run = run(&args);
        assert_eq!(run.code, 0);
        assert!(run.out.contains("Example") && run.out.contains("swardwright "), "{command:?}: {}", run.out);
    }
    assert_eq!(run(&["plant"]).code, 2, "an unknown command is refused");
}

#[test]
fn explain_takes_ids_and_names_and_species_that_the_site_leaves_out() {
    let site = b"schema = 1\npurpose = \"lawn\"\n[candidates]\nwithout = [\"poa-pratensis\"]\n";
    for name in ["poa-pratensis", "Kentucky bluegrass", "poa PRATENSIS"] {
        let run = run_in(&root(), &["explain", "-", name], site);
        assert_eq!(run.code, 0, "{name}: {}", run.err);
        assert!(run.out.contains("Kentucky bluegrass (Poa pratensis)"), "{}", run.out);
    }
}

#[test]
fn explain_shows_observed_needed_rule_and_source() {
    let run =
        run(&["explain", "scenarios/hot-dry-lawn/site.toml", "bouteloua-dactyloides", "--months", "--all"]);
    for wanted in [
        "Class ",
        "rule water-when-tan-is-accepted",
        "fit.et_met",
        " against ",
        "Month by month",
        "Rules that stay silent",
    ] {
        assert!(run.out.contains(wanted), "no `{wanted}` in\n{}", run.out);
    }
}

/// A site file may be somebody else's: its text never moves the cursor nor turns the direction of reading.
#[test]
fn hidden_characters_of_a_site_file_are_shown_as_codes() {
    let name = "Yard \\u202E nevig\\u001B[2J\\nsecond line";
    let site =
        format!("schema = 1\nname = \"{name}\"\npurpose = \"lawn\"\n[place]\ncounty = \"A\\u2066b\"\n");
    for command in [&["recommend", "-"][..], &["recommend", "-", "--all"]] {
        let run = run_in(&root(), command, site.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        assert!(run.out.starts_with("Yard \\u{202e} nevig\\u{1b}[2J\\u{a}second line\n"), "{}", run.out);
        let hidden = |c: char| (c.is_control() && c != '\n') || ('\u{202a}'..='\u{2069}').contains(&c);
        assert_eq!(run.out.chars().find(|c| hidden(*c)), None, "{command:?}");
    }
    // where the file is at fault its own words are shown as codes too
    let run = run_in(&root(), &["recommend", "-"], site.replace("\"lawn\"", "\"la\\u202Ewn\"").as_bytes());
    assert!(run.code == 2 && run.err.contains("`la\\u{202e}wn`"), "{}", run.err);
}

/// With nobody shown there is neither table nor reasons, and the rest stands; the suited are counted apart
/// from the marginal, as the answer in JSON has them.
#[test]
fn those_that_are_not_shown_are_counted_by_class() {
    let site = "scenarios/hot-dry-lawn/site.toml";
    let json = run(&["recommend", site, "--format", "json", "--top", "0"]);
    let answer: Value = serde_json::from_str(&json.out).unwrap();
    let ranking = answer["ranking"].as_array().unwrap();
    assert!(
        ranking.iter().all(|one| one.get("reasons").is_none_or(|own| own.as_array().unwrap().is_empty()))
    );
    let count =
        |class: &str, from: usize| ranking.iter().skip(from).filter(|one| one["class"] == class).count();
    for top in [0, 1, 3] {
        let text = run(&["recommend", site, "--top", &top.to_string(), "--width", "200"]).out;
        let [high, moderate, marginal] = ["S1", "S2", "S3"].map(|class| count(class, top));
        let split = if high > 0 { format!("{high} S1, {moderate} S2") } else { "S2".to_owned() };
        let (more, less) = if top > 0 { (" more", ", less well") } else { ("", "") };
        let words = format!(
            "\n{}{more} are suited{less} ({split}), and {marginal} are marginal (S3): `--all` lists them.\n",
            high + moderate
        );
        assert!(text.contains(&words), "{words}{text}");
        assert_eq!(text.contains("held back by"), top > 0);
        for part in ["Cautions\n", "\nNot suited (", "\nNot known, and might matter\n", "\nFigures\n"] {
            assert!(text.contains(part), "{part}: {text}");
        }
    }
}
