//! What is not known never stands better than every answer to it would.

use std::collections::BTreeMap;

use serde_json::Value;

use super::support::{root, run_in};

/// Place of each species' class, S1 first.
fn classes(text: &str) -> BTreeMap<String, usize> {
    let run = run_in(&root(), &["recommend", "-", "--format", "json"], text.as_bytes());
    assert_eq!(run.code, 0, "{text}\n{}", run.err);
    let answer: Value = serde_json::from_str(&run.out).unwrap();
    let place = |class: &str| ["S1", "S2", "S3"].iter().position(|own| *own == class).unwrap_or(3);
    let ranking = answer["ranking"].as_array().unwrap();
    let told = |one: &Value, key: &str| one[key].as_str().unwrap().to_owned();
    ranking.iter().map(|one| (told(one, "species"), place(&told(one, "class")))).collect()
}

/// A scenario without the line of a key, and with each of some values in it.
fn never_better_unknown(scenario: &str, line: &str, values: &[&str]) {
    let path = root().join("scenarios").join(scenario).join("site.toml");
    let text = std::fs::read_to_string(path).unwrap();
    let key = line.split(" = ").next().unwrap();
    assert_eq!(text.lines().filter(|own| own.trim() == line).count(), 1, "{scenario}: {line}");
    let unknown = classes(&text.replace(&format!("\n{line}\n"), "\n"));
    let answers: Vec<_> = values
        .iter()
        .map(|value| classes(&text.replace(&format!("\n{line}\n"), &format!("\n{key} = {value}\n"))))
        .collect();
    for (species, class) in unknown {
        let best = answers.iter().map(|answer| answer[&species]).min().unwrap();
        assert!(class >= best, "{scenario} without {key}: {species} stands at {class}, at best {best}");
    }
}

#[test]
fn a_wish_that_is_not_stated_stands_no_better_than_either_answer() {
    for scenario in ["hot-dry-lawn", "desert-reclaimed-park", "front-range-unwatered", "low-upkeep-meadow"] {
        let text =
            std::fs::read_to_string(root().join("scenarios").join(scenario).join("site.toml")).unwrap();
        let line = text.lines().find(|line| line.starts_with("accept_dormant = ")).unwrap();
        never_better_unknown(scenario, line, &["true", "false"]);
    }
}

#[test]
fn facts_that_are_not_stated_stand_no_better_than_every_answer() {
    never_better_unknown("hot-dry-lawn", "wear = \"light\"", &["\"none\"", "\"light\"", "\"moderate\""]);
    never_better_unknown("hot-dry-lawn", "irrigation = \"none\"", &["\"none\"", "\"limited\"", "\"full\""]);
    never_better_unknown("hot-dry-lawn", "level = \"low\"", &["\"low\"", "\"medium\"", "\"high\""]);
    never_better_unknown("hot-dry-lawn", "ph = 7.9", &["5.8", "6.8", "7.8"]);
}
