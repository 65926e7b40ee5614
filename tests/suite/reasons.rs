//! What a reason rests on, what it observes and needs, and how an answer words both.

use std::fs;

use serde_json::{Value, json};
use swardwright::report::{Look, Shown, explain_text, recommend_json, recommend_text};
use swardwright::{Assessment, UnitSystem, assess};

use super::support::{EVERYTHING, Scratch, folders, knowledge, root, run, run_in, source};

/// The text of the site file of a scenario.
fn scenario(name: &str) -> String {
    fs::read_to_string(root().join("scenarios").join(name).join("site.toml")).unwrap()
}

fn scenarios() -> Vec<(String, String)> {
    folders(&root().join("scenarios")).into_iter().map(|name| (name.clone(), scenario(&name))).collect()
}

fn look(units: UnitSystem) -> Look {
    Look { width: 400, coloured: false, units }
}

/// The first reason of a rule for a species in an answer.
fn reason<'a>(answer: &'a Value, species: &str, rule: &str) -> &'a Value {
    let ranking = answer["ranking"].as_array().unwrap();
    let one = ranking.iter().find(|one| one["species"] == species).unwrap();
    let reasons = one["reasons"].as_array().unwrap();
    reasons.iter().find(|reason| reason["rule"] == rule).unwrap_or_else(|| panic!("{rule}: {reasons:#?}"))
}

/// Answers over all kinds of site, for a closure that takes each.
fn each_answer(mut visit: impl FnMut(&str, &Assessment<'_>, &Value)) {
    let knowledge = knowledge();
    for (name, text) in scenarios().into_iter().step_by(3) {
        let (assessment, _) = assess(&source(&name, &text), &knowledge).map_err(|_| name.clone()).unwrap();
        visit(&name, &assessment, &recommend_json(&assessment, EVERYTHING));
    }
}

#[test]
fn no_reason_hides_the_traits_that_it_rests_on() {
    let mut only_through_derived = 0;
    each_answer(|name, assessment, answer| {
        let knowledge = assessment.knowledge;
        for (candidate, told) in assessment.candidates.iter().zip(answer["ranking"].as_array().unwrap()) {
            for reason in told["reasons"].as_array().unwrap() {
                let rule = knowledge.rules.iter().find(|rule| reason["rule"] == rule.id).unwrap();
                let mut slots = rule.reads();
                let own = slots.len();
                let mut at = 0;
                while at < slots.len() {
                    let slot = slots[at];
                    at += 1;
                    let mut more = Vec::new();
                    for (from, effect, _) in &candidate.outcome.derived {
                        if knowledge.rules[*from].effects[*effect].writes() == Some(slot) {
                            more.extend(knowledge.rules[*from].reads());
                        }
                    }
                    let formulas = knowledge.formulas.iter().filter(|one| one.writes.contains(&slot));
                    more.extend(formulas.flat_map(|one| one.reads.clone()));
                    for one in more {
                        if !slots.contains(&one) {
                            slots.push(one);
                        }
                    }
                }
                let has_evidence = |at: usize| {
                    slots[at].space.prefix() == "species"
                        && candidate.species.traits[slots[at].index]
                            .as_ref()
                            .is_some_and(|own| !own.evidence.is_empty())
                };
                let traits = reason["traits"].as_array().unwrap();
                if (0..slots.len()).any(has_evidence) {
                    assert!(!traits.is_empty(), "{name}: {}: {reason:#}", told["species"]);
                    only_through_derived += usize::from(!(0..own).any(has_evidence));
                }
            }
        }
    });
    assert!(only_through_derived > 500, "{only_through_derived}");
    // through derived facts, and through the water balance, down to the roots
    let knowledge = knowledge();
    let (assessment, _) = assess(&source("site", &scenario("hot-dry-lawn")), &knowledge).unwrap();
    let answer = recommend_json(&assessment, EVERYTHING);
    let traits = |rule: &str| -> Vec<String> {
        let told = reason(&answer, "cynodon-dactylon", rule)["traits"].as_array().unwrap();
        told.iter().map(|one| one.as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(traits("cold-zone"), ["cold_zone_min"]);
    for name in ["root_depth_cm", "kc", "drought_dormant_days"] {
        assert!(traits("water-when-tan-is-accepted").contains(&name.to_owned()), "{name}");
    }
    // what is only asked whether it is known carries nothing
    assert_eq!(traits("light-against-daily-need"), ["dli_min"]);
}

/// An invented overlay takes the published zone away and leaves what is common practice.
#[test]
fn a_zone_of_common_practice_is_marked_where_a_reason_rests_on_it() {
    let scratch = Scratch::new("practice-zone");
    let write = |path: &str, text: &str| {
        let path = scratch.0.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    write("county/overlay.toml", "id = \"county\"\ntitle = \"Invented county\"\nversion = \"1.0.0\"\n");
    write(
        "county/values/stenotaphrum-secundatum.toml",
        "id = \"stenotaphrum-secundatum\"\n[replace]\n\
         cold_zone_min = [{ value = \"8b\", source = \"common-practice\" }]\n",
    );
    let site = scenario("hot-dry-lawn") + "\n[candidates]\nonly = [\"stenotaphrum-secundatum\"]\n";
    write("site.toml", &site.replace("extreme_min_c = -10.5", "extreme_min_c = -11.5"));
    let ask = |args: &[&str]| {
        let run = run_in(&scratch.0, &[args, &["--overlay", "county"]].concat(), b"");
        assert_eq!(run.code, 0, "{}", run.err);
        run.out
    };
    let answer: Value =
        serde_json::from_str(&ask(&["recommend", "site.toml", "--all", "--format", "json"])).unwrap();
    let cold = reason(&answer, "stenotaphrum-secundatum", "cold-zone");
    assert_eq!(cold["traits"][0], "cold_zone_min");
    let ranking = answer["ranking"].as_array().unwrap();
    let own = ranking.iter().find(|one| one["species"] == "stenotaphrum-secundatum").unwrap();
    assert_eq!(own["traits"]["cold_zone_min"]["common_practice"], true);
    assert_eq!(cold["overlays"], json!(["county"]));
    let text = ask(&["recommend", "site.toml", "--all", "--width", "200"]);
    let line = text.lines().find(|line| line.contains("[cold-zone;")).unwrap();
    assert!(line.contains("(coldest zone: common practice)"), "{line}");
    let text = ask(&["explain", "site.toml", "stenotaphrum-secundatum"]);
    assert!(text.contains("coldest zone 8b: common practice; overlay county"), "{text}");
}

#[test]
fn what_is_needed_is_of_the_kind_of_what_is_observed() {
    let mut pairs = 0;
    each_answer(|name, _, answer| {
        for one in answer["ranking"].as_array().unwrap() {
            for reason in one["reasons"].as_array().unwrap() {
                let (observed, needed) = (&reason["observed"], &reason["needed"]);
                if needed.is_null() {
                    continue;
                }
                pairs += 1;
                assert!(!observed.is_null() && observed["unit"] == needed["unit"], "{name}: {reason:#}");
                let kind = |value: &Value| {
                    if value.is_string() {
                        "name"
                    } else if value.is_boolean() {
                        "flag"
                    } else {
                        "number"
                    }
                };
                assert_eq!(kind(&observed["value"]), kind(&needed["value"]), "{name}: {reason:#}");
            }
        }
    });
    assert!(pairs > 1000, "{pairs}");
}

#[test]
fn figures_that_a_rule_file_states_are_given() {
    let knowledge = knowledge();
    let text = scenario("hot-dry-lawn").replace("depth_cm = 50", "depth_cm = 15\nec_ds_m = 6");
    let (assessment, _) = assess(&source("site", &text), &knowledge).unwrap();
    let answer = recommend_json(&assessment, EVERYTHING);
    let species = |rule: &str| {
        let told = answer["ranking"].as_array().unwrap();
        let has = |one: &&Value| one["reasons"].as_array().unwrap().iter().any(|own| own["rule"] == rule);
        told.iter().find(has).unwrap()["species"].as_str().unwrap().to_owned()
    };
    for (rule, observed, needed) in [
        ("cold-zone", "site.hardiness_zone", "species.cold_zone_min"),
        ("salinity-threshold", "fit.root_zone_ec_ds_m", "species.salinity_threshold_ds_m"),
        ("reaction-range", "site.ph", "species.ph"),
        ("drainage-against-need", "site.drainage", "species.drainage_min"),
    ] {
        let told = reason(&answer, &species(rule), rule);
        assert_eq!(told["observed"]["fact"], observed, "{told:#}");
        assert_eq!(told["needed"]["fact"], needed, "{told:#}");
    }
    // no figure of a species goes against the wear of the site
    assert_eq!(reason(&answer, &species("wear-against-use"), "wear-against-use")["needed"], Value::Null);
    let water = reason(&answer, "cynodon-dactylon", "water-survival");
    assert_eq!(water["observed"]["fact"], "fit.longest_wilting_d");
    assert_eq!(water["needed"]["unit"], "d");
    // both the days of the record and those on this soil
    let words = water["text"].as_str().unwrap();
    let days = water["needed"]["value"].as_f64().unwrap();
    assert!(words.contains("this soil is 15 cm: about"), "{words}");
    assert!(words.ends_with(&format!("about {days:.0} days here")), "{words} {days}");
    let deep = scenario("hot-dry-lawn").replace("depth_cm = 50", "depth_cm = 400");
    let (assessment, _) = assess(&source("site", &deep), &knowledge).unwrap();
    let answer = recommend_json(&assessment, EVERYTHING);
    let words = reason(&answer, "cynodon-dactylon", "water-survival")["text"].as_str().unwrap();
    // a soil deeper than the trial's adds no days
    assert!(words.ends_with("deep; this soil is 400 cm"), "{words}");
}

/// A class printed as two lies within what the open points leave it.
#[test]
fn the_label_lies_within_the_range_that_is_told() {
    let order = ["S1", "S2", "S3", "N"];
    let place = |class: &str| order.iter().position(|own| *own == class).unwrap();
    let (mut borders, mut ranges) = (0, 0);
    each_answer(|name, assessment, answer| {
        let text = recommend_text(assessment, Shown { top: 200, all: true }, &look(UnitSystem::Si));
        let mut lines = text.lines();
        for (candidate, told) in assessment.candidates.iter().zip(answer["ranking"].as_array().unwrap()) {
            let refined = told["class"].as_str().unwrap();
            let class = if refined.starts_with('N') { "N" } else { refined };
            let label = candidate.standing.label();
            let mut printed: Vec<&str> = label.split('/').collect();
            assert!(printed.contains(&class) || printed == [refined], "{name}: {label} {class}");
            printed.retain(|one| ![class, refined].contains(one));
            assert_eq!(told["class_border"].as_str(), printed.first().copied(), "{name}: {label}");
            borders += usize::from(!printed.is_empty());
            let botanical = format!("({}), {label} ", candidate.species.botanical);
            lines.find(|line| line.contains(&botanical)).unwrap_or_else(|| panic!("{botanical}"));
            let next = lines.clone().next().unwrap_or_default();
            let Some(span) = next.trim().strip_prefix("what is open leaves it between ") else { continue };
            let (best, worst) = span.split_once(" and ").unwrap();
            ranges += 1;
            for one in label.split('/') {
                assert!((place(best)..=place(worst)).contains(&place(one)), "{name}: {label}: {span}");
            }
        }
    });
    assert!(borders > 10 && ranges > 10, "{borders} {ranges}");
}

#[test]
fn what_is_left_out_or_refused_has_no_place() {
    let knowledge = knowledge();
    let explained = |text: &str, id: &str| {
        let (mut assessment, _) = assess(&source("site", text), &knowledge).unwrap();
        let species = knowledge.species.iter().find(|one| one.id == id).unwrap();
        if assessment.candidate(id).is_none() {
            assessment.add(species);
        }
        let options = swardwright::report::ExplainOptions { all: false, months: false };
        explain_text(&assessment, assessment.candidate(id).unwrap(), options, &look(UnitSystem::Si))
    };
    let site = scenario("hot-dry-lawn");
    let without = site.clone() + "\n[candidates]\nwithout = [\"cynodon-dactylon\"]\n";
    let only = site.clone() + "\n[candidates]\nonly = [\"bouteloua-gracilis\", \"zoysia-japonica\"]\n";
    for (text, key) in [(&without, "candidates.without"), (&only, "candidates.only")] {
        let told = explained(text, "cynodon-dactylon");
        assert!(told.contains(&format!("\nLeft out by `{key}` in the site file")), "{told}");
        assert!(!told.contains(", place "), "{told}");
    }
    let told = explained(&site, "cynodon-dactylon");
    assert!(told.contains(", place ") && !told.contains("Left out"), "{told}");
    let (assessment, _) = assess(&source("site", &site), &knowledge).unwrap();
    let refused = assessment.candidates.last().unwrap();
    let told = explained(&site, &refused.species.id);
    assert!(told.contains("Class N") && !told.contains(", place "), "{told}");
    let told = recommend_text(&assessment, Shown { top: 3, all: true }, &look(UnitSystem::Si));
    assert!(told.contains(&format!("\n-  {} (", refused.species.name())), "{told}");
}

#[test]
fn all_that_shares_a_name_is_shown() {
    for name in ["irrigation", "exposure"] {
        let shown = run(&["knowledge", "show", name]);
        assert_eq!(shown.code, 0, "{}", shown.err);
        assert!(shown.out.starts_with(&format!("site.{name}\n")), "{}", shown.out);
        assert!(shown.out.contains(&format!("\ntable {name}\n")), "{}", shown.out);
    }
    let shown = run(&["knowledge", "show", "water-survival"]);
    assert!(shown.out.contains("observed fit.longest_wilting_d\n"), "{}", shown.out);
    let words = shown.out.split_whitespace().collect::<Vec<_>>().join(" ");
    // what it says stands there as the file has it
    let part =
        "{where site.soil_depth_cm < first(species.dormant_soil_depth_cm, 30 cm) | where the soil is {first(";
    assert!(words.contains(part), "{words}");
    // the key of a site file, and a list that messages name
    assert!(run(&["knowledge", "show", "soil.ph"]).out.starts_with("site.ph\n"));
    let shown = run(&["knowledge", "show", "zone"]).out;
    assert!(shown.starts_with("scale zone\n") && shown.contains("species.cold_zone_min"), "{shown}");
    let shown = run(&["knowledge", "show", "drainage-against-need"]);
    assert!(shown.out.contains("needed   species.drainage_min (found by the program)\n"), "{}", shown.out);
}

#[test]
fn figures_tell_what_the_word_for_irrigation_was_taken_for() {
    let knowledge = knowledge();
    let told = |lines: &str| {
        let text = scenario("hot-dry-lawn").replace("irrigation = \"none\"", lines);
        let text = text.replace("[fixed]\ninputs = [\"irrigation\"]", "");
        let (assessment, _) = assess(&source("site", &text), &knowledge).unwrap();
        recommend_text(&assessment, Shown { top: 1, all: false }, &look(UnitSystem::Si))
    };
    let limited = "irrigation = \"limited\"";
    let words = "irrigation limited: 1 day a week, at most 20 mm a day [table irrigation; common practice]";
    assert!(told(limited).contains(words), "{}", told(limited));
    let stated = told(&format!("{limited}\ndays_per_week = 2\ndepth_mm = 12"));
    assert!(
        stated.contains("irrigation limited: 2 days a week, at most 12 mm a day [site file]"),
        "{stated}"
    );
    assert!(!told("irrigation = \"none\"").contains("day a week"));
}

#[test]
fn headings_and_small_words_are_right() {
    let knowledge = knowledge();
    let told = |text: &str| {
        let (assessment, _) = assess(&source("site", text), &knowledge).map_err(|_| "refused").unwrap();
        recommend_text(&assessment, Shown { top: 3, all: false }, &look(UnitSystem::Si))
    };
    assert!(told("schema = 1\n").contains("Nothing is known of this site"));
    let acid = told("schema = 1\n[soil]\nph = 5\n");
    assert!(acid.contains("the purpose and the climate. Until they are, this order"));
    assert!(told("schema = 1\npurpose = \"lawn\"\n").contains("Not known: the climate. Until it is, this"));
    let mut announced = 0;
    for (name, text) in scenarios() {
        let answer = told(&text);
        assert!(!answer.contains("Not known, and might matter\n\n"), "{name}: an empty heading\n{answer}");
        for range in ["none to none", "slight to slight", "not known: fit.", "waits for fit."] {
            assert!(!answer.contains(range), "{name}: {range}\n{answer}");
        }
        if answer.contains("What excludes each species follows.") {
            announced += 1;
            let at = |heading: &str| answer.find(heading).unwrap_or(usize::MAX);
            assert!(at("\nNot suited (") < at("\nCautions\n"), "{name}\n{answer}");
        }
    }
    assert!(announced > 0);
}

#[test]
fn a_slight_lack_speaks_neither_for_nor_against() {
    let mut neutral = 0;
    each_answer(|name, _, answer| {
        for reason in
            answer["ranking"].as_array().unwrap().iter().flat_map(|one| one["reasons"].as_array().unwrap())
        {
            let Some(level) = reason["level"].as_f64() else { continue };
            match reason["direction"].as_str().unwrap() {
                "against" => assert!(level >= 1.5 - 1e-6, "{name}: {reason:#}"),
                "neutral" => {
                    assert!(level < 1.5, "{name}: {reason:#}");
                    neutral += usize::from(level >= 1.0);
                }
                _ => {}
            }
        }
    });
    assert!(neutral > 100, "{neutral}");
}

#[test]
fn the_units_asked_for_hold_in_every_word() {
    let knowledge = knowledge();
    let text = scenario("hot-dry-lawn");
    let (assessment, _) = assess(&source("site", &text), &knowledge).unwrap();
    let told = |units| {
        let options = swardwright::report::ExplainOptions { all: false, months: false };
        explain_text(&assessment, assessment.candidate("lolium-perenne").unwrap(), options, &look(units))
    };
    assert!(told(UnitSystem::Us).contains("a year above 86 °F"), "{}", told(UnitSystem::Us));
    assert!(told(UnitSystem::Si).contains("a year above 30 °C"), "{}", told(UnitSystem::Si));
    assert!(told(UnitSystem::Us).contains("heat load by "), "{}", told(UnitSystem::Us));
    // no words of a rule carry a figure with a unit of their own
    let unit = |word: &str| {
        let word = word.trim_matches(|sign: char| !sign.is_alphanumeric());
        ["C", "F", "cm", "mm", "m", "feet", "ft", "inches", "in", "kg", "lb"].contains(&word)
    };
    for rule in &knowledge.rules {
        for part in &rule.because.parts {
            let swardwright_words = format!("{part:?}");
            let Some(words) = swardwright_words.strip_prefix("Words(\"") else { continue };
            let words: Vec<&str> = words.split_whitespace().collect();
            for pair in words.windows(2) {
                let figure = pair[0].ends_with(|last: char| last.is_ascii_digit());
                assert!(!figure || !unit(pair[1]), "{}: {pair:?}", rule.id);
            }
        }
    }
}

/// What rests on a count of publications rests on the trait whose publications were counted.
#[test]
fn a_counted_trait_rests_on_what_is_counted() {
    let text = scenario("hot-dry-lawn");
    let knowledge = knowledge();
    let (assessment, _) = assess(&source("site.toml", &text), &knowledge).unwrap();
    let answer = recommend_json(&assessment, EVERYTHING);
    let told = reason(&answer, "bouteloua-dactyloides", "proven-use-reported");
    assert_eq!(told["traits"], json!(["proven_for"]));
}
