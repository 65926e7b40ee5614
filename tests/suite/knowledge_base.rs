//! The knowledge base itself: sound, sourced, and no rule dead.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use serde_json::Value;
use swardwright::report::{ExplainOptions, Look, Shown, explain_text, recommend_json, recommend_text};
use swardwright::{Knowledge, KnowledgeText, assess};

use super::support::{EVERYTHING, folders, knowledge, root, run, source};

/// Positions of the rules that took effect in an outcome, whose type the library does not name.
macro_rules! spoken_rules {
    ($outcome:expr) => {{
        let rated = $outcome.needs.iter().flat_map(|need| &need.contributions).map(|one| one.rule);
        let spoken = $outcome.spoken.iter().map(|(rule, _)| *rule);
        let derived = $outcome.derived.iter().map(|(rule, _, _)| *rule);
        rated.chain(spoken).chain(derived).collect::<BTreeSet<usize>>()
    }};
}

#[test]
fn knowledge_check_is_clean() {
    let run = run(&["knowledge", "check", "--knowledge", "knowledge"]);
    assert_eq!(run.code, 0, "{}", run.err);
    println!("{}", run.out);
}

fn species_files() -> Vec<(String, toml::Table)> {
    let mut files: Vec<(String, toml::Table)> = fs::read_dir(root().join("knowledge/species"))
        .unwrap()
        .flatten()
        .map(|entry| {
            let text = fs::read_to_string(entry.path()).unwrap();
            (entry.path().file_stem().unwrap().to_string_lossy().into_owned(), toml::from_str(&text).unwrap())
        })
        .collect();
    files.sort_by(|a, b| a.0.cmp(&b.0));
    files
}

fn vocabulary() -> toml::Table {
    toml::from_str(&fs::read_to_string(root().join("knowledge/vocabulary.toml")).unwrap()).unwrap()
}

#[test]
fn species_of_every_group_are_there() {
    let mut groups: BTreeMap<String, usize> = BTreeMap::new();
    for (_, species) in species_files() {
        *groups.entry(species["kind"].as_str().unwrap().to_owned()).or_default() += 1;
    }
    println!("{groups:?}");
    assert!(groups.values().sum::<usize>() >= 30);
    for kind in ["warm-season-grass", "cool-season-grass", "sedge", "broadleaf-cover", "woody-cover"] {
        assert!(groups.get(kind).is_some_and(|count| *count >= 5), "{kind}: {groups:?}");
    }
}

/// Less than one value in four from memory, and no key trait: the printed table says how it stands.
#[test]
fn values_are_sourced() {
    let vocabulary = vocabulary();
    let traits = vocabulary["species"].as_table().unwrap();
    let is_key = |name: &str| traits[name].get("key_trait").and_then(toml::Value::as_bool) == Some(true);
    let (mut all, mut practice, mut memory) = (0usize, 0usize, 0usize);
    let mut key_from_memory = Vec::new();
    for (id, species) in species_files() {
        for (name, entries) in species["traits"].as_table().unwrap() {
            for entry in entries.as_array().unwrap() {
                all += 1;
                match entry["source"].as_str().unwrap() {
                    "common-practice" => practice += 1,
                    "from-memory" => {
                        memory += 1;
                        if is_key(name) {
                            key_from_memory.push(format!("{id}.{name}"));
                        }
                    }
                    _ => {}
                }
            }
        }
    }
    println!(
        "{all} values: {} published, {practice} common practice, {memory} from memory",
        all - practice - memory
    );
    assert!(all > 3_000);
    assert!(memory * 4 < all, "{memory} of {all} from memory");
    assert!(key_from_memory.is_empty(), "{key_from_memory:?}");
}

#[test]
fn every_source_is_used_somewhere() {
    let mut text = String::new();
    let mut open = vec![root().join("knowledge")];
    let mut keys = BTreeSet::new();
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).unwrap().flatten() {
            let path = entry.path();
            if path.is_dir() {
                open.push(path);
            } else if path.parent().is_some_and(|parent| parent.ends_with("sources")) {
                let table: toml::Table = toml::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
                keys.extend(table.keys().cloned());
            } else {
                text += &fs::read_to_string(&path).unwrap();
            }
        }
    }
    // the sources of the ranking method are cited in the program, and the two marks need no use
    let code = ["level.rs", "class.rs", "index.rs", "mod.rs", "candidate.rs"]
        .map(|name| fs::read_to_string(root().join("src/rank").join(name)).unwrap())
        .join("\n");
    let marks = ["common-practice", "from-memory"];
    let unused: Vec<&String> = keys
        .iter()
        .filter(|key| {
            !text.contains(&format!("\"{key}\""))
                && !code.contains(key.as_str())
                && !marks.contains(&key.as_str())
        })
        .collect();
    println!("{} sources, {} not used: {unused:?}", keys.len(), unused.len());
    assert!(unused.len() * 50 <= keys.len(), "sources that nothing cites: {unused:?}");
}

/// Sites of all scenarios and cases, as text.
fn sites() -> Vec<(String, String)> {
    let scenarios = root().join("scenarios");
    let mut sites: Vec<(String, String)> = folders(&scenarios)
        .into_iter()
        .map(|name| (name.clone(), fs::read_to_string(scenarios.join(name).join("site.toml")).unwrap()))
        .collect();
    for entry in fs::read_dir(root().join("tests/cases")).unwrap().flatten() {
        if entry.path().extension().is_some_and(|end| end == "toml") {
            let table: toml::Table = toml::from_str(&fs::read_to_string(entry.path()).unwrap()).unwrap();
            let name = entry.path().file_stem().unwrap().to_string_lossy().into_owned();
            sites.push((name, toml::to_string(&table["site"]).unwrap()));
        }
    }
    sites.sort();
    sites
}

/// Every file below a folder of the knowledge, with its text.
fn texts(below: &str) -> Vec<(String, String)> {
    let (mut open, mut texts) = (vec![root().join("knowledge").join(below)], Vec::new());
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).unwrap().flatten() {
            match entry.path() {
                path if path.is_dir() => open.push(path),
                path => texts.push((path.display().to_string(), fs::read_to_string(&path).unwrap())),
            }
        }
    }
    texts.sort();
    texts
}

#[test]
fn every_need_has_a_rule_that_rates_it() {
    let needs: toml::Table =
        toml::from_str(&fs::read_to_string(root().join("knowledge/needs.toml")).unwrap()).unwrap();
    let mut rated: BTreeMap<String, usize> = BTreeMap::new();
    for (path, text) in texts("rules") {
        let rule: toml::Table = toml::from_str(&text).unwrap();
        assert!(path.ends_with(&format!("/{}.toml", rule["id"].as_str().unwrap())), "{path}");
        // an effect stands once or as a list
        let effects = |key: &str| match rule["then"].get(key) {
            Some(toml::Value::Array(several)) => several.clone(),
            Some(one) => vec![one.clone()],
            None => Vec::new(),
        };
        for effect in ["rate", "limit", "exclude"].into_iter().flat_map(effects) {
            *rated.entry(effect["need"].as_str().unwrap().to_owned()).or_default() += 1;
        }
    }
    println!("{rated:?}");
    for (need, declared) in needs.iter().filter(|(_, declared)| declared.is_table()) {
        assert!(rated.contains_key(need), "{need}: {declared}");
    }
}

/// Whether a rule says something of its own; derivations and tasks stand beside what others say.
macro_rules! is_said {
    ($rule:expr) => {
        $rule.effects.iter().any(|effect| !["derive", "task"].contains(&effect.name()))
    };
}

/// Over all scenarios and cases, by the outcomes themselves: no rule of any kind is dead, and few hold
/// for every species on every site.
#[test]
fn rules_fire_somewhere_and_are_silent_somewhere() {
    let knowledge = knowledge();
    let (mut fired, mut silent) = (BTreeSet::new(), BTreeSet::new());
    for (name, text) in sites() {
        let (assessment, _) = assess(&source(&name, &text), &knowledge).map_err(|_| name).unwrap();
        let at_site: BTreeSet<usize> = spoken_rules!(assessment.site_outcome);
        for candidate in &assessment.candidates {
            let here: BTreeSet<usize> = spoken_rules!(candidate.outcome).union(&at_site).copied().collect();
            silent.extend((0..knowledge.rules.len()).filter(|rule| !here.contains(rule)));
            fired.extend(here);
        }
    }
    let missing_in = |set: &BTreeSet<usize>| -> Vec<usize> {
        (0..knowledge.rules.len()).filter(|rule| !set.contains(rule)).collect()
    };
    let named = |rules: &[usize]| -> Vec<&str> {
        rules.iter().map(|rule| knowledge.rules[*rule].id.as_str()).collect()
    };
    let (never, always) = (missing_in(&fired), missing_in(&silent));
    println!("{} rules; never: {:?}; always: {:?}", knowledge.rules.len(), named(&never), named(&always));
    assert!(never.is_empty(), "no scenario and no case wakes {:?}", named(&never));
    assert!(knowledge.rules.iter().filter(|rule| is_said!(rule)).count() >= 70);
    // a few ratings hold for every species on every site, so that ratings spread
    let said: Vec<usize> = always.into_iter().filter(|rule| is_said!(knowledge.rules[*rule])).collect();
    assert!(said.len() <= 8, "rules that always speak: {:?}", named(&said));
}

/// The JSON answer names every rule that spoke of a species, and none besides.
#[test]
fn json_names_the_rules_that_spoke() {
    let knowledge = knowledge();
    let (name, text) = sites().into_iter().next().unwrap();
    let (assessment, _) = assess(&source(&name, &text), &knowledge).map_err(|_| name).unwrap();
    let answer = recommend_json(&assessment, EVERYTHING);
    for (candidate, told) in assessment.candidates.iter().zip(answer["ranking"].as_array().unwrap()) {
        let spoken: BTreeSet<usize> = spoken_rules!(candidate.outcome);
        let spoken: BTreeSet<&str> = (spoken.iter().map(|rule| &knowledge.rules[*rule]))
            .filter(|rule| is_said!(rule))
            .map(|rule| rule.id.as_str())
            .collect();
        let told = ["reasons", "cautions"].into_iter().flat_map(|key| told[key].as_array().unwrap());
        let decided = told.filter(|one| one["direction"] != "open");
        let named: BTreeSet<&str> = decided.map(|one| one["rule"].as_str().unwrap()).collect();
        assert_eq!(named, spoken, "{}", candidate.species.id);
    }
}

/// Whatever decides a class stands among the reasons at its full level, be it only that a rule is open.
#[test]
fn no_class_is_held_back_without_a_reason() {
    let knowledge = knowledge();
    let few = ("few facts".to_owned(), "schema = 1\npurpose = \"lawn\"\n".to_owned());
    // the law asks there whether water is near, and nobody has said
    let (_, field) = sites().into_iter().find(|(name, _)| name == "sports-field").unwrap();
    let lines = field.lines().filter(|line| !line.starts_with("near_water"));
    let moved: Vec<&str> =
        lines.map(|line| if line.starts_with("region") { "region = \"US-CA\"" } else { line }).collect();
    let few = [few, ("listed there".to_owned(), moved.join("\n"))];
    let mut held_open: BTreeMap<String, usize> = BTreeMap::new();
    let mut counted_open = 0;
    for (name, text) in sites().into_iter().step_by(4).chain(few) {
        let (assessment, _) = assess(&source(&name, &text), &knowledge).map_err(|_| name.clone()).unwrap();
        let answer = recommend_json(&assessment, EVERYTHING);
        for (candidate, one) in assessment.candidates.iter().zip(answer["ranking"].as_array().unwrap()) {
            // a level that stands above those of decided rules has its reason too, be it below a class
            for state in candidate.needs.iter().filter(|state| !state.is_saving) {
                let counted = state.counted().value();
                if candidate.standing.deciding.contains(&state.need) || counted <= state.level.value() + 0.05
                {
                    continue;
                }
                let id = knowledge.needs.all[state.need].id.as_str();
                let reasons = one["reasons"].as_array().unwrap().iter();
                let mut reasons = reasons.filter(|reason| reason["need"] == id);
                let told =
                    reasons.any(|reason| (reason["level"].as_f64().unwrap_or(0.0) - counted).abs() < 1e-6);
                assert!(told, "{name}: {} counts as {counted} on {id} without a reason", one["species"]);
                counted_open += 1;
            }
            for need in &candidate.standing.deciding {
                let id = knowledge.needs.all[*need].id.as_str();
                let worst = candidate.needs[*need].used().value();
                let reasons = one["reasons"].as_array().unwrap().iter();
                let reasons: Vec<&Value> = reasons.filter(|reason| reason["need"] == id).collect();
                let at_worst =
                    |reason: &Value| (reason["level"].as_f64().unwrap_or(0.0) - worst).abs() < 1e-6;
                let told = reasons.iter().any(|reason| at_worst(reason));
                assert!(told, "{name}: {} is held back on {id} at {worst}: {reasons:#?}", one["species"]);
                for open in reasons.iter().filter(|reason| reason["direction"] == "open") {
                    assert!(open["text"].as_str().unwrap().starts_with("waits for "), "{open}");
                    *held_open.entry(id.to_owned()).or_default() += 1;
                }
            }
        }
    }
    println!("held back for being open: {held_open:?}");
    println!("needs that count as worse for being open, told of: {counted_open}");
    assert!(counted_open >= 20, "{counted_open}");
    assert!(held_open.len() >= 5 && held_open.contains_key("light"), "{held_open:?}");
    // the text says it too, with the rule
    let (assessment, _) = assess(&source("few", "schema = 1\npurpose = \"lawn\"\n"), &knowledge).unwrap();
    let look = Look { width: 400, coloured: false, units: assessment.units() };
    let ranking = recommend_text(&assessment, Shown { top: 3, all: false }, &look);
    let options = ExplainOptions { all: false, months: false };
    let explained = explain_text(&assessment, &assessment.candidates[0], options, &look);
    let json = recommend_json(&assessment, EVERYTHING);
    let reasons = json["ranking"][0]["reasons"].as_array().unwrap();
    let open = reasons.iter().find(|reason| reason["direction"] == "open").unwrap();
    for (text, rule) in [(&ranking, "["), (&explained, "rule ")] {
        assert!(text.contains(open["text"].as_str().unwrap()), "{open}\n{text}");
        assert!(text.contains(&format!("{rule}{}", open["rule"].as_str().unwrap())), "{open}\n{text}");
    }
}

/// A declaration that cannot be read is told once; the files that use its name are not blamed.
#[test]
fn a_faulty_declaration_does_not_blame_its_readers() {
    let files: Vec<(String, String)> = texts("");
    let root = format!("{}/", root().join("knowledge").display());
    let vocabulary = files.iter().position(|(path, _)| path.ends_with("/vocabulary.toml")).unwrap();
    let text = &files[vocabulary].1;
    // every list, and some of the facts and traits
    let heads = text.match_indices("\n[").map(|(at, _)| at + 1);
    let blocks: Vec<usize> = heads
        .enumerate()
        .filter(|(count, at)| {
            text[*at..].starts_with("[scale.") || text[*at..].starts_with("[choice.") || count % 18 == 0
        })
        .map(|(_, at)| at)
        .collect();
    assert!(blocks.len() > 30);
    for at in blocks {
        let (before, block) = text.split_at(at);
        let (from, to) = match block {
            scale if scale.starts_with("[scale.") => ("\nsteps", "\nstep"),
            choice if choice.starts_with("[choice.") => ("\nnames", "\nname"),
            _ => ("\ntype", "\ntipe"),
        };
        let slip = block.replacen(from, to, 1);
        let slipped = format!("{before}{slip}");
        let pairs = files.iter().enumerate().map(|(own, (path, text))| {
            let text = if own == vocabulary { slipped.as_str() } else { text.as_str() };
            (path.strip_prefix(&root).unwrap(), text)
        });
        let head = block.lines().next().unwrap();
        let findings = Knowledge::load(&KnowledgeText::from_pairs("slipped", pairs)).err().unwrap();
        for finding in &findings {
            let place = finding.place.as_ref().map(|place| place.locate()).unwrap_or_default();
            assert!(place.starts_with("knowledge/vocabulary.toml:"), "{head}: {place}: {}", finding.message);
        }
        assert!(findings.len() <= 2, "{head}: {} findings", findings.len());
    }
}

#[test]
fn no_note_to_self_is_left_in_the_knowledge() {
    const MARKS: [&str; 6] = ["TODO", "FIXME", "XXX", "TBD", "lorem", "???"];
    let left: Vec<String> = texts("")
        .iter()
        .flat_map(|(path, text)| text.lines().map(move |line| (path, line)))
        .filter(|(_, line)| MARKS.iter().any(|mark| line.contains(mark)))
        .map(|(path, line)| format!("{path}: {line}"))
        .collect();
    assert!(left.is_empty(), "{left:#?}");
}
