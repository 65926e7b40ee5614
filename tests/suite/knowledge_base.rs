//! The knowledge base itself: sound, sourced, and no rule dead.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::sync::Arc;

use serde_json::Value;
use swardwright::diag::Source;
use swardwright::{Knowledge, KnowledgeText};

use super::support::{folders, root, run, run_in};

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

/// Which rules speak over all scenarios and cases, and which never do or always do.
#[test]
fn rules_fire_somewhere_and_are_silent_somewhere() {
    let mut spoken: BTreeMap<String, usize> = BTreeMap::new();
    let mut chances = 0;
    for (name, text) in sites() {
        let run = run_in(&root(), &["recommend", "-", "--format", "json"], text.as_bytes());
        assert_eq!(run.code, 0, "{name}: {}", run.err);
        let answer: Value = serde_json::from_str(&run.out).unwrap();
        for caution in answer["site"]["cautions"].as_array().unwrap() {
            *spoken.entry(caution["rule"].as_str().unwrap().to_owned()).or_default() += 1;
        }
        for candidate in answer["ranking"].as_array().unwrap() {
            chances += 1;
            let said = ["reasons", "cautions"].into_iter().flat_map(|key| candidate[key].as_array().unwrap());
            let rules: BTreeSet<&str> = said.map(|one| one["rule"].as_str().unwrap()).collect();
            for rule in rules {
                *spoken.entry(rule.to_owned()).or_default() += 1;
            }
        }
    }
    let mut never = Vec::new();
    let mut always = Vec::new();
    let mut count = 0;
    for topic in folders(&root().join("knowledge/rules")) {
        for entry in fs::read_dir(root().join("knowledge/rules").join(&topic)).unwrap().flatten() {
            let rule: toml::Table = toml::from_str(&fs::read_to_string(entry.path()).unwrap()).unwrap();
            let then = rule["then"].as_table().unwrap();
            // derivations and tasks do not stand among the reasons of the JSON answer
            if !then.keys().any(|effect| !["derive", "task"].contains(&effect.as_str())) {
                continue;
            }
            count += 1;
            let id = rule["id"].as_str().unwrap().to_owned();
            match spoken.get(&id) {
                None => never.push(id),
                Some(times) if *times == chances => always.push(id),
                Some(_) => {}
            }
        }
    }
    println!("{count} rules over {chances} pairs of site and species");
    println!("never: {never:?}");
    println!("always: {always:?}");
    assert!(count >= 70);
    assert!(never.is_empty(), "rules that never speak: {never:?}");
    // a few ratings hold for every species on every site, so that ratings spread
    assert!(always.len() <= 8, "rules that always speak: {always:?}");
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

/// Derivations and tasks do not stand among the reasons of the JSON answer; here the outcomes
/// themselves are asked, so that no rule of any kind is dead.
#[test]
fn no_rule_of_any_kind_is_dead() {
    let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).map_err(|_| "not sound").unwrap();
    let (mut fired, mut silent) = (BTreeSet::new(), BTreeSet::new());
    for (name, text) in sites() {
        let source = Arc::new(Source { path: name.clone(), text });
        let (assessment, _) = swardwright::assess(&source, &knowledge).map_err(|_| name).unwrap();
        let at_site: BTreeSet<usize> = spoken_rules!(assessment.site_outcome);
        for candidate in &assessment.candidates {
            let here: BTreeSet<usize> = spoken_rules!(candidate.outcome).union(&at_site).copied().collect();
            silent.extend((0..knowledge.rules.len()).filter(|rule| !here.contains(rule)));
            fired.extend(here);
        }
    }
    let named = |set: &BTreeSet<usize>| -> Vec<&str> {
        let rules = knowledge.rules.iter().enumerate();
        rules.filter(|(at, _)| !set.contains(at)).map(|(_, rule)| rule.id.as_str()).collect()
    };
    println!(
        "{} rules; never fire: {:?}; always fire: {:?}",
        knowledge.rules.len(),
        named(&fired),
        named(&silent)
    );
    assert!(named(&fired).is_empty(), "no scenario and no case wakes {:?}", named(&fired));
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
