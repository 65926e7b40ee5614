//! Species side by side.

use super::support::{folders, root, run};

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
