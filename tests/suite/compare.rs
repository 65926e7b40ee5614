//! Species side by side.

use super::support::{folders, root, run, run_in};

/// The table shows what the ranking says, and every pair is told in the order of the ranking.
#[test]
fn a_comparison_says_what_the_ranking_says() {
    let mut pairs = 0;
    for name in folders(&root().join("scenarios")) {
        let site = format!("scenarios/{name}/site.toml");
        let answer: serde_json::Value =
            serde_json::from_str(&run(&["recommend", &site, "--format", "json"]).out).unwrap();
        let ranking = answer["ranking"].as_array().unwrap();
        let chosen: Vec<_> = [0, 4, ranking.len() - 1].iter().map(|at| &ranking[*at]).collect();
        // named last to first: the answer keeps its own order
        let mut args = vec!["compare", &site, "--all", "--width", "200"];
        args.extend(chosen.iter().rev().map(|one| one["species"].as_str().unwrap()));
        let compared = run(&args);
        assert_eq!(compared.code, 0, "{name}: {}", compared.err);
        let names: Vec<&str> = chosen.iter().map(|one| one["common_name"].as_str().unwrap()).collect();
        let head = compared.out.lines().find(|line| line.trim_start().starts_with("rating of")).unwrap();
        let places: Vec<usize> = names.iter().map(|name| head.find(name).unwrap()).collect();
        assert!(places.is_sorted(), "{name}: {head}");
        let class = compared.out.lines().find(|line| line.trim_start().starts_with("class ")).unwrap();
        for one in &chosen {
            if one["class_border"].is_null() {
                assert!(class.contains(one["class"].as_str().unwrap()), "{name}: {class}");
            }
        }
        for pair in names.windows(2) {
            let told = compared.out.lines().any(|line| line.contains(pair[0]) && line.contains(pair[1]));
            assert!(told, "{name}: {pair:?}\n{}", compared.out);
            pairs += 1;
        }
    }
    assert!(pairs >= 50, "{pairs}");
}

/// Needs with their points as `explain` tells them of a species behind the first, the greatest first.
fn told_by_explain(out: &str) -> Vec<(String, String)> {
    let line = out.split_whitespace().collect::<Vec<_>>().join(" ");
    let Some((_, gaps)) = line.split_once(", the first, in rating of ") else { return Vec::new() };
    let gaps = gaps.split_once('.').unwrap().0;
    let gaps = gaps.split_once(", each counted").map_or(gaps, |(gaps, _)| gaps);
    // the title of a need may hold a comma
    let mut told: Vec<(String, String)> = Vec::new();
    let mut title = String::new();
    for part in gaps.split(", ") {
        title.push_str(part);
        match title.rsplit_once(" by ") {
            Some((need, by)) if by.parse::<u32>().is_ok() => {
                told.push((need.to_owned(), by.to_owned()));
                title.clear();
            }
            _ => title.push_str(", "),
        }
    }
    told
}

/// The same as `compare` tells them of the two.
fn told_by_compare(out: &str) -> Vec<(String, String)> {
    let lines = out.lines().filter_map(|line| line.strip_prefix("  for it "));
    let pair = |line: &str| {
        let (need, rest) = line.trim_start().split_once(" (by ").unwrap();
        (need.to_owned(), rest.split_once(')').unwrap().0.to_owned())
    };
    lines.map(pair).collect()
}

/// What `explain` tells of a species behind the first is what `compare` tells of the two, on every scenario and
/// with the weights of the client's priorities.
#[test]
fn an_explanation_and_a_comparison_tell_the_same_gaps() {
    let wide = ["--width", "400", "--samples", "0"];
    let (mut told, mut weighed) = (0, 0);
    for name in folders(&root().join("scenarios")) {
        let site = format!("scenarios/{name}/site.toml");
        let text = std::fs::read_to_string(root().join(&site)).unwrap();
        let answer = run(&["recommend", &site, "--format", "json", "--samples", "0"]).out;
        let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
        let suited: Vec<&str> = answer["ranking"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|one| !one["class"].as_str().unwrap().starts_with('N'))
            .map(|one| one["species"].as_str().unwrap())
            .collect();
        let (Some(first), Some(other)) = (suited.first(), suited.last()) else { continue };
        if first == other {
            continue;
        }
        let explained = run(&[&["explain", site.as_str(), other], &wide[..]].concat());
        let compared = run(&[&["compare", site.as_str(), first, other], &wide[..]].concat());
        let (by_explain, by_compare) = (told_by_explain(&explained.out), told_by_compare(&compared.out));
        // a comparison names the greatest few
        assert!(by_compare.len() == by_explain.len().min(4), "{name}: {by_explain:?} {by_compare:?}");
        assert!(by_explain.starts_with(&by_compare), "{name}: {by_explain:?} {by_compare:?}");
        told += by_compare.len();
        let says_so = explained.out.contains("each counted by its weight in the index");
        assert_eq!(says_so, text.contains("[priorities]") && !by_explain.is_empty(), "{name}");
        weighed += usize::from(says_so);
    }
    assert!(told > 40 && weighed > 0, "{told} {weighed}");
}

/// What decides between two is never told in the same words of both: neighbours of the whole ranking, on
/// every scenario.
#[test]
fn no_two_that_differ_are_told_the_same() {
    let mut told = 0;
    for name in folders(&root().join("scenarios")) {
        let site = format!("scenarios/{name}/site.toml");
        let answer = run(&["recommend", &site, "--format", "json", "--samples", "0", "--top", "0"]).out;
        let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
        let of_all = |key: &str| -> Vec<String> {
            let ranking = answer["ranking"].as_array().unwrap().iter();
            ranking.map(|one| one[key].as_str().unwrap().to_owned()).collect()
        };
        let (ids, names) = (of_all("species"), of_all("common_name"));
        let mut args = vec!["compare", &site, "--width", "400", "--samples", "0"];
        args.extend(ids.iter().map(String::as_str));
        let out = run(&args).out;
        let mut lines: Vec<String> = Vec::new();
        for line in out.lines() {
            match line.strip_prefix("          ") {
                // what does not fit a line goes on below it
                Some(more) if !lines.is_empty() => {
                    let last = lines.last_mut().unwrap();
                    last.push(' ');
                    last.push_str(more);
                }
                _ => lines.push(line.to_owned()),
            }
        }
        let decides = |line: &&String| line.starts_with("  for it ") || line.starts_with("  against ");
        for line in lines.iter().filter(decides) {
            let (_, words) = line.split_once("): ").unwrap();
            let said = |name: &String| words.strip_prefix(name.as_str())?.strip_prefix(' ');
            let first = names.iter().filter_map(said).min_by_key(|rest| rest.len());
            let Some(rest) = first else { panic!("{name}: {line}") };
            let mut splits = names.iter().filter_map(|own| rest.split_once(&format!("; {own} ")));
            assert!(
                splits.all(|(one, other)| one != other || one == "has nothing against it"),
                "{name}: {line}"
            );
            told += 1;
        }
    }
    assert!(told > 1000, "{told}");
}

/// A need that counts twice is told with twice its points.
#[test]
fn a_gap_counts_by_the_weight_of_its_need() {
    let site = std::fs::read_to_string(root().join("scenarios/hot-dry-lawn/site.toml")).unwrap();
    let points = |weight: &str| {
        let text = site.replace("water-saving = 2", &format!("water-saving = {weight}"));
        let args = ["explain", "-", "zoysia-japonica", "--width", "400", "--samples", "0"];
        let out = run_in(&root(), &args, text.as_bytes()).out;
        let told = told_by_explain(&out).into_iter().find(|(need, _)| need == "water saved");
        told.unwrap_or_else(|| panic!("{out}")).1.parse::<f64>().unwrap()
    };
    let (once, twice) = (points("1"), points("2"));
    assert!((twice - 2.0 * once).abs() <= 1.5 && twice > once + 5.0, "{once} {twice}");
}
