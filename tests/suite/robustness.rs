//! Samples inside stated spreads: how firm an order is.

use serde_json::Value;

use super::support::{folders, root, run, run_as_typed};

fn answer(args: &[&str]) -> Value {
    let run = run(args);
    assert_eq!(run.code, 0, "{}", run.err);
    serde_json::from_str(&run.out).unwrap()
}

#[test]
fn shares_add_up_and_come_again() {
    let (mut firm, mut shaky) = (0, 0);
    for name in folders(&root().join("scenarios")).iter().step_by(4) {
        let site = format!("scenarios/{name}/site.toml");
        let args = ["recommend", &site, "--format", "json", "--samples", "40"];
        let told = answer(&args);
        assert_eq!(told, answer(&args), "{name}: the same seed gives the same answer");
        let ranking = told["ranking"].as_array().unwrap();
        let suited = ranking.iter().filter(|one| !one["class"].as_str().unwrap().starts_with('N')).count();
        let drawn: Vec<&Value> =
            ranking.iter().map(|one| &one["robustness"]).filter(|one| !one.is_null()).collect();
        assert_eq!(drawn.len(), suited.min(24), "{name}");
        let sum = |key: &str| drawn.iter().map(|one| one[key].as_f64().unwrap()).sum::<f64>();
        if suited == 0 {
            continue;
        }
        // every sample has one first, or none where all are refused in it
        assert!(sum("first") <= 1.0 + 1e-6 && sum("first") > 0.5, "{name}: {}", sum("first"));
        assert!(sum("first_three") <= 3.0 + 1e-6, "{name}: {}", sum("first_three"));
        for one in &drawn {
            assert!(one["first"].as_f64() <= one["first_three"].as_f64(), "{name}: {one}");
        }
        let most = drawn.iter().map(|one| one["first"].as_f64().unwrap()).fold(0.0, f64::max);
        firm += usize::from(most > 0.6);
        shaky += usize::from(most < 0.6);
    }
    assert!(firm > 0 && shaky > 0, "{firm} firm and {shaky} shaky answers: samples must tell them apart");
}

/// Without a word on samples as many are drawn as tell who shares a place, in every command that names places.
#[test]
fn samples_are_drawn_unless_none_are_asked_for() {
    let site = "scenarios/hot-dry-lawn/site.toml";
    let typed = |args: &[&str]| {
        let run = run_as_typed(&root(), args, b"");
        assert_eq!(run.code, 0, "{}", run.err);
        run.out
    };
    let told: Value = serde_json::from_str(&typed(&["recommend", site, "--format", "json"])).unwrap();
    assert_eq!(told["ties"]["from"], "samples");
    let ranking = told["ranking"].as_array().unwrap();
    assert!(ranking[0]["robustness"]["first"].as_f64().unwrap() > 0.0);
    let text = typed(&["recommend", site]);
    assert!(text.contains("of 40 samples"), "{text}");
    // the place in the other commands is the one of the answer
    let place = |at: usize| {
        let tied = !ranking[at]["tied_with"].as_array().unwrap().is_empty();
        format!("{}{}", ranking[at]["rank"], if tied { "=" } else { "" })
    };
    let species: Vec<&str> = ranking.iter().take(8).map(|one| one["species"].as_str().unwrap()).collect();
    let compared = typed(&[&["compare", site, "--width", "300"][..], &species].concat());
    let row = compared.lines().find(|line| line.trim_start().starts_with("place")).unwrap();
    let places: Vec<String> = row.split_whitespace().skip(1).map(str::to_owned).collect();
    assert_eq!(places, (0..8).map(place).collect::<Vec<_>>());
    assert!(places.iter().any(|place| place.ends_with('=')), "no tie among {places:?}");
    for (at, species) in species.iter().enumerate().step_by(3) {
        let explained = typed(&["explain", site, species]);
        assert!(explained.contains(&format!("place {}", place(at))), "{species}: {explained}");
    }
}

/// Without samples nothing is claimed of how firm an answer is.
#[test]
fn nothing_is_said_where_nothing_was_drawn() {
    let told = answer(&["recommend", "scenarios/hot-dry-lawn/site.toml", "--format", "json"]);
    assert!(told["ranking"].as_array().unwrap().iter().all(|one| one["robustness"].is_null()));
    let text = run(&["recommend", "scenarios/hot-dry-lawn/site.toml", "--samples", "20"]).out;
    assert!(text.contains("of 20 samples"), "{text}");
}

/// What is not known makes an answer less firm: the same site with fewer facts.
#[test]
fn fewer_facts_make_an_answer_less_firm() {
    let text = std::fs::read_to_string(root().join("scenarios/hot-dry-lawn/site.toml")).unwrap();
    let scratch = super::support::Scratch::new("robustness");
    std::fs::create_dir_all(&scratch.0).unwrap();
    let fewer: String = text
        .lines()
        .filter(|line| {
            !line.starts_with("irrigation") && !line.starts_with("exposure") && !line.starts_with("ph ")
        })
        .map(|line| format!("{line}\n"))
        .collect();
    assert!(fewer.len() < text.len());
    let path = scratch.0.join("site.toml");
    std::fs::write(&path, fewer).unwrap();
    let most = |site: &str| {
        let told = answer(&["recommend", site, "--format", "json", "--samples", "60"]);
        let ranking = told["ranking"].as_array().unwrap().clone();
        ranking.iter().filter_map(|one| one["robustness"]["first"].as_f64()).fold(0.0, f64::max)
    };
    let (whole, part) = (most("scenarios/hot-dry-lawn/site.toml"), most(path.to_str().unwrap()));
    assert!(part < whole, "{part} against {whole}");
}
