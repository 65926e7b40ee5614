//! Hostile bytes through the library: whatever is read, the answer is a value and never a panic.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use swardwright::diag::{Finding, render_all, render_json};
use swardwright::report::{ExplainOptions, Look, Shown, explain_text, recommend_json, recommend_text};
use swardwright::{Knowledge, KnowledgeText, assess, check_cases};

use super::support::{EVERYTHING, folders, knowledge, root, source};

/// Writes findings as the program would: a wrong span shows only here.
fn write(findings: &[Finding]) {
    for coloured in [false, true] {
        let text = render_all(findings, coloured);
        assert_eq!(text.is_empty(), findings.is_empty());
    }
    assert_eq!(render_json(findings).as_array().map(Vec::len), Some(findings.len()));
}

/// Reads a text as a site file; the assessment must come or be refused, and either must be writable.
fn try_site(knowledge: &Knowledge, text: &str) {
    match assess(&source("hostile.toml", text), knowledge) {
        Err(findings) => {
            assert!(!findings.is_empty(), "a refusal says why");
            write(&findings);
        }
        Ok((_, warnings)) => write(&warnings),
    }
}

/// The same, with the whole answer written too, and no number in it that is none.
fn try_site_and_answer(knowledge: &Knowledge, text: &str) {
    try_site(knowledge, text);
    let Ok((assessment, _)) = assess(&source("hostile.toml", text), knowledge) else { return };
    let look = Look { width: 80, coloured: false, units: assessment.units() };
    let answer = recommend_text(&assessment, Shown { top: 3, all: false }, &look);
    let best = &assessment.candidates[0];
    let explained = explain_text(&assessment, best, ExplainOptions { all: true, months: true }, &look);
    for line in answer.lines().chain(explained.lines()) {
        assert!(line.chars().count() <= 80, "wider than 80 columns: {line}\n{text}");
        assert!(!line.contains("NaN") && !line.split(' ').any(|word| word == "inf"), "{line}\n{text}");
    }
    // JSON has no NaN: a number that is none would stand as null
    let ranking = &recommend_json(&assessment, EVERYTHING)["ranking"];
    for one in ranking.as_array().into_iter().flatten() {
        let whole = one["needs"].as_array().into_iter().flatten().all(|need| need["level"].is_number());
        assert!(one["index"].is_number() && whole, "{}\n{text}", one["species"]);
    }
}

#[test]
fn odd_texts_are_answered_or_refused() {
    let knowledge = knowledge();
    let deep = format!("schema = 1\na = {}1{}", "[".repeat(5_000), "]".repeat(5_000));
    let many: String = (0..1_000).map(|at| format!("key{at} = {at}\n")).collect();
    let huge = format!("schema = 1\n[soil]\nph = 1{}\n", "0".repeat(400));
    for text in [
        "",
        "\u{feff}schema = 1\n",
        "\u{feff}",
        "\u{feff}purpose = \"lawn\"\n",
        "\u{feff}schema = 1\n[candidates]\nonly = [\"poa-pratensis\"]\nwithout = [\"poa-pratensis\"]\n",
        "é = 1\n",
        "日本 = 1\n",
        "schema = 1\nname = \"\\u0000\\u001b[31m\\u202e\"\n",
        "schema = 1\n[climate]\nextreme_min_c = 1e300\n",
        "schema = 1\n[climate]\nextreme_min_c = -99999999999999999999\n",
        "schema = 99999999999999999999\n[priorities]\nlight = 99999999999999999999\n",
        "schema = 1\r\n[soil]\r\nph = 6.5\r\n",
        "schema = 1\n\"\" = 3\n",
        "schema = 9223372036854775808\n",
        "schema = 1\n[soil]\nph = inf\ndepth_cm = -nan\n",
        "schema = 1979-05-27\n",
        "schema = 1\n[climate]\ntmax_c = [[1]]\n",
        "[[soil]]\nph = 6\n",
        "soil.ph = 6\nschema = 1\nsoil = 3\n",
        "schema = 1\n[soil]\ndepth_cm = \"1e999 m\"\n",
        "schema = 1\n[soil]\ndepth_cm = \"ÄÖÜ\"\nph = \"６\"\n",
        &deep,
        &many,
        &huge,
    ] {
        try_site_and_answer(&knowledge, text);
    }
}

/// Each declared number at its lowest and at its highest, all facts together. At a place of the ends
/// of latitude the other ends may be impossible, and are refused as that and nothing else.
#[test]
fn the_ends_of_every_range_are_answered() {
    let knowledge = knowledge();
    let vocabulary: toml::Table =
        std::fs::read_to_string(root().join("knowledge/vocabulary.toml")).unwrap().parse().unwrap();
    // the light is said in one way at a time
    let lights = ["dli", "sun_hours", "horizon_deg", "canopy_cover"];
    let ends = [(0, false), (0, true), (1, false), (1, true)];
    for ((end, placed), light) in ends.into_iter().flat_map(|end| lights.map(|light| (end, light))) {
        let mut sections = std::collections::BTreeMap::<&str, String>::new();
        for declaration in vocabulary["site"].as_table().unwrap().values() {
            let text = |key: &str| declaration.get(key).and_then(toml::Value::as_str);
            let (Some((section, key)), Some(range)) =
                (text("key").and_then(|path| path.split_once('.')), declaration.get("range"))
            else {
                continue;
            };
            // the parts of the texture must add up, whatever their ends
            if key.ends_with("_pct") && section == "soil" {
                continue;
            }
            if lights.contains(&key) && key != light || key == "latitude_deg" && !placed {
                continue;
            }
            // a maximum may not lie below the minimum, nor the coldest night above it; and no place on earth
            // has the upper ends of maxima and rain on the mean
            let highest = match key {
                "tmax_c" => toml::Value::Integer(48),
                "precip_mm" => toml::Value::Integer(1000),
                _ => range[1].clone(),
            };
            // nor air without any moisture, nor a year without sun
            let lowest = match key {
                "rh_pct" => toml::Value::Integer(5),
                "solar_mj_m2_d" => toml::Value::Integer(12),
                _ => range[0].clone(),
            };
            let number = match (key, end) {
                ("tmin_c" | "extreme_min_c", _) | (_, 0) => &lowest,
                _ => &highest,
            };
            let value = match text("type") {
                Some("months") => {
                    let mut months = vec![number.to_string(); 12];
                    // no place has the same maxima all year, nor 31 days in every month
                    match key {
                        "tmax_c" => {
                            months[11] = (number.as_integer().unwrap() + 1 - 2 * end as i64).to_string()
                        }
                        "wet_days" => {
                            [1, 3, 5, 8, 10].into_iter().for_each(|short| months[short] = "28".to_owned());
                        }
                        _ => {}
                    }
                    format!("[{}]", months.join(", "))
                }
                Some("number") => number.to_string(),
                _ => continue,
            };
            *sections.entry(section).or_default() += &format!("{key} = {value}\n");
        }
        let body: String = sections.iter().map(|(section, lines)| format!("[{section}]\n{lines}")).collect();
        let text = format!("schema = 1\n{body}");
        let read = assess(&source("ends.toml", &text), &knowledge);
        // what is only unlikely is told beside it
        let impossible = ["climate-impossible", "light-above-sky", "climate-remarks"];
        let fits = match &read {
            Ok(_) => true,
            Err(faults) => placed && faults.iter().all(|fault| impossible.contains(&fault.code)),
        };
        assert!(fits, "{text}\n{}", read.err().map(|all| render_all(&all, false)).unwrap_or_default());
        try_site_and_answer(&knowledge, &text);
    }
}

#[test]
fn a_site_file_cut_at_any_byte_is_answered_or_refused() {
    let knowledge = knowledge();
    let text = std::fs::read_to_string(root().join("scenarios/hot-dry-lawn/site.toml")).unwrap();
    for at in (0..text.len()).filter(|at| text.is_char_boundary(*at)) {
        // most cuts fault the syntax and cost nothing; whole lines are read and assessed
        if at % 5 == 0 || !text[..at].ends_with('\n') && text[..at].contains('"') {
            try_site(&knowledge, &text[..at]);
        }
    }
}

/// The small knowledge base of the bad inputs, as pairs of path and text.
fn small_base() -> Vec<(String, String)> {
    let base = root().join("tests/bad/base/knowledge");
    let mut files = Vec::new();
    let mut open = vec![(base, String::new())];
    while let Some((folder, below)) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            let path = format!("{below}{}", entry.file_name().to_string_lossy());
            if entry.path().is_dir() {
                open.push((entry.path(), format!("{path}/")));
            } else {
                files.push((path, std::fs::read_to_string(entry.path()).unwrap()));
            }
        }
    }
    files.sort();
    files
}

/// Loads a base and writes what is wrong with it; one that loads must answer a site.
fn load(files: &[(String, String)]) -> bool {
    let pairs = files.iter().map(|(path, text)| (path.as_str(), text.as_str()));
    match Knowledge::load(&KnowledgeText::from_pairs("small base", pairs)) {
        Err(findings) => {
            assert!(!findings.is_empty());
            write(&findings);
            false
        }
        Ok((knowledge, warnings)) => {
            write(&warnings);
            write(&check_cases(&knowledge));
            for site in
                ["schema = 1\n", "schema = 1\npurpose = \"lawn\"\n[soil]\nph = 5\ndrainage = \"poor\"\n"]
            {
                match assess(&source("site.toml", site), &knowledge) {
                    Ok((assessment, _)) => drop(recommend_json(&assessment, EVERYTHING)),
                    Err(findings) => write(&findings),
                }
            }
            true
        }
    }
}

#[test]
fn knowledge_cut_at_any_byte_is_loaded_or_refused() {
    let base = small_base();
    let (mut loaded, mut refused) = (0, 0);
    for which in 0..base.len() {
        for at in (0..base[which].1.len()).filter(|at| base[which].1.is_char_boundary(*at)) {
            let mut files = base.clone();
            files[which].1.truncate(at);
            if load(&files) { loaded += 1 } else { refused += 1 }
        }
    }
    assert!(loaded > 0 && refused > loaded, "{loaded} loaded, {refused} refused");
}

#[test]
fn odd_knowledge_is_loaded_or_refused() {
    let base = small_base();
    let deep = format!("a = {}1{}", "[".repeat(5_000), "]".repeat(5_000));
    let many: String = (0..1_000).map(|at| format!("key{at} = {at}\n")).collect();
    for which in 0..base.len() {
        for (extra, behind) in [
            ("\u{feff}", false),
            ("é", false),
            ("\"\" = 1\n", false),
            (&deep, false),
            (&many, false),
            ("\u{0}", true),
            ("\n[[\"\"]]\n", true),
            (
                "\n[site.x]\ntype = \"number\"\nunit = \"cm\"\nrange = [nan, inf]\nplausible = [1e308, -1e308]\n",
                true,
            ),
        ] {
            let mut files = base.clone();
            let text = &files[which].1;
            files[which].1 = if behind { format!("{text}{extra}") } else { format!("{extra}\n{text}") };
            load(&files);
            files[which].1 = base[which].1.replace('\n', "\r\n");
            assert!(load(&files), "line ends of another system are no fault: {}", files[which].0);
        }
    }
}

#[test]
fn the_small_base_loads() {
    assert!(load(&small_base()));
}

/// Expressions nested without end are refused before they exhaust the stack.
#[test]
fn deep_expressions_are_refused() {
    let base = small_base();
    let rule = base.iter().position(|(path, _)| path.ends_with("reaction-range.toml")).unwrap();
    for (open, close) in
        [("(", ")"), ("not ", ""), ("if ", " then true else false"), ("abs(", ")"), ("[", "]")]
    {
        let mut files = base.clone();
        let deep = format!("when = '{}known(species.ph){}'", open.repeat(20_000), close.repeat(20_000));
        files[rule].1 = base[rule].1.replace("when = \"known(species.ph)\"", &deep);
        assert_ne!(files[rule].1, base[rule].1);
        assert!(!load(&files), "{open}");
    }
    for (from, to) in [
        (
            "when = \"known(species.ph)\"",
            format!("when = 'known(species.ph) or 0 < 1{}'", " + 1".repeat(100_000)),
        ),
        (
            "because = \"",
            format!("because = \"stands {}{}", "{where true|a ".repeat(8_000), "}".repeat(8_000)),
        ),
    ] {
        let mut files = base.clone();
        files[rule].1 = base[rule].1.replace(from, &to);
        assert_ne!(files[rule].1, base[rule].1);
        assert!(!load(&files), "{from}");
    }
}

/// A change of one stretch of a text: replaced by other bytes that stay UTF-8.
fn mutate(text: &str, at: usize, length: usize, with: &str) -> String {
    let mut start = at % (text.len() + 1);
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = (start + length).min(text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    format!("{}{with}{}", &text[..start], &text[end..])
}

fn site_texts() -> Vec<String> {
    let scenarios = root().join("scenarios");
    let read = |name: &String| std::fs::read_to_string(scenarios.join(name).join("site.toml")).unwrap();
    folders(&scenarios).iter().map(read).collect()
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 150,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_261_125),
        ..ProptestConfig::default()
    })]

    #[test]
    fn random_text_is_no_panic(text in "\\PC{0,300}") {
        thread_local!(static KNOWLEDGE: Knowledge = knowledge());
        KNOWLEDGE.with(|knowledge| try_site(knowledge, &text));
    }

    #[test]
    fn mutated_site_files_are_no_panic(which in any::<usize>(), at in any::<usize>(), length in 0usize..40, with in "[ -~\\n\\u{e4}]{0,12}") {
        thread_local!(static KNOWLEDGE: (Knowledge, Vec<String>) = (knowledge(), site_texts()));
        KNOWLEDGE.with(|(knowledge, sites)| try_site(knowledge, &mutate(&sites[which % sites.len()], at, length, &with)));
    }

    #[test]
    fn mutated_knowledge_is_no_panic(which in any::<usize>(), at in any::<usize>(), length in 0usize..40, with in "[ -~\\n\\u{e4}]{0,12}") {
        let mut files = small_base();
        let which = which % files.len();
        files[which].1 = mutate(&files[which].1, at, length, &with);
        load(&files);
    }
}

/// A full disk behind the answer is told, and no success.
#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_no_success() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_swardwright"))
        .args(["recommend", "scenarios/hot-dry-lawn/site.toml"])
        .current_dir(root())
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(2));
    let told = String::from_utf8_lossy(&run.stderr);
    assert!(told.contains("error[answer-not-written]"), "{told}");
}
