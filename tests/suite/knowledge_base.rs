//! The knowledge base itself: sound, sourced, and no rule dead.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use serde_json::Value;

use super::support::{folders, root, run, run_in};

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
