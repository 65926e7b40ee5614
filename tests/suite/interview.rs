//! The interview: fewer questions than a fixed order, the same choice, and what it writes is the site.

use std::collections::BTreeMap;

use swardwright::{Interview, Next};

use super::support::{Scratch, folders, knowledge, root, run_in};

/// Keys that an interview does not ask for: what a site is for, where it lies, and its climate.
const KEPT: [&str; 6] = ["schema", "name", "purpose", "place", "climate", "candidates"];

/// A scenario without its answers, and the answers by key; only those written in SI units.
fn stripped(name: &str) -> Option<(String, BTreeMap<String, String>)> {
    let text = std::fs::read_to_string(root().join("scenarios").join(name).join("site.toml")).unwrap();
    let table: toml::Table = text.parse().unwrap();
    let us = ["_in =", "_ft =", "_f =", "_ft2 =", "_lb_"];
    if us.iter().any(|unit| text.contains(unit)) {
        return None;
    }
    let mut kept = toml::Table::new();
    let mut answers = BTreeMap::new();
    for (key, value) in table {
        match value {
            toml::Value::Table(section) if !KEPT.contains(&key.as_str()) => {
                for (inner, value) in section {
                    let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
                    answers.insert(format!("{key}.{inner}"), text);
                }
            }
            value => _ = kept.insert(key, value),
        }
    }
    Some((kept.to_string(), answers))
}

/// Questions asked until no answer could change the first choice, and that choice.
fn ask(
    base: &str,
    answers: &BTreeMap<String, String>,
    next: impl Fn(&Interview<'_>) -> Next,
) -> (usize, String, String) {
    let knowledge = knowledge();
    let mut interview = Interview::new(Some(base), "test", &knowledge).unwrap();
    let first = loop {
        match next(&interview) {
            Next::Ask(question) => {
                let answer = answers.get(&question.key).map(String::as_str);
                interview.answer(question.fact, answer).unwrap_or_else(|findings| panic!("{findings:?}"));
            }
            Next::Settled(first) => break first,
            Next::Exhausted => break interview.assess().unwrap().candidates[0].species.id.clone(),
        }
    };
    (interview.answered(), first, interview.site_file())
}

#[test]
fn the_most_telling_question_first_takes_fewer_questions() {
    let (mut chosen, mut fixed) = (0, 0);
    let names: Vec<String> =
        folders(&root().join("scenarios")).into_iter().filter(|name| stripped(name).is_some()).collect();
    println!("questions until no answer could change the first choice");
    for name in names.iter().step_by(4).take(2) {
        let (base, answers) = stripped(name).unwrap();
        let (few, first, written) = ask(&base, &answers, |one| one.next().unwrap());
        let (many, other, _) = ask(&base, &answers, |one| one.next_in_fixed_order().unwrap());
        println!("  {name}: {few} against {many} in the order of the vocabulary ({first}, {other})");
        chosen += few;
        fixed += many;
        // what was written is a site file, and what was asked stands in it
        assert!(written.contains("schema = 1"), "{written}");
        assert!(few <= many, "{name}: {few} against {many}");
    }
    println!(
        "  in all {chosen} against {fixed}: {:.0} % fewer",
        100.0 * (1.0 - f64::from(chosen as u32) / f64::from(fixed as u32))
    );
    assert!(chosen < fixed, "{chosen} against {fixed}");
}

#[test]
fn answers_are_taken_back_and_wrong_ones_refused() {
    let base = "schema = 1\npurpose = \"lawn\"\n";
    let knowledge = knowledge();
    let mut interview = Interview::new(Some(base), "test", &knowledge).unwrap();
    let Next::Ask(region) = interview.next().unwrap() else { panic!("nothing is asked") };
    assert_eq!((region.key.as_str(), region.bits), ("place.region", None));
    interview.answer(region.fact, Some("US-TX")).unwrap();
    let Next::Ask(latitude) = interview.next().unwrap() else { panic!("nothing is asked") };
    let wrong = interview.answer(latitude.fact, Some("very far north")).unwrap_err();
    assert!(wrong[0].message.contains("latitude_deg"), "{wrong:?}");
    assert!(interview.answer(latitude.fact, Some("900")).is_err());
    assert_eq!(interview.answered(), 1, "a wrong answer leaves the question standing");
    interview.answer(latitude.fact, None).unwrap();
    assert!(interview.back() && interview.back() && !interview.back());
    assert_eq!(interview.site_file(), base);
}

/// By a file of answers, as a script would: the site that is written answers like the interview.
#[test]
fn a_file_of_answers_is_an_interview() {
    let scratch = Scratch::new("interview");
    std::fs::create_dir_all(&scratch.0).unwrap();
    let answers = "# invented\npurpose = lawn\nplace.region = US-TX\nplace.latitude_deg = 31.2\nplace.longitude_deg = -97.5\nlight.sun_hours = 7\nsoil.ph = 7.9\nsoil.texture = clay loam\nwater.irrigation = 2\nuse.wear = light\nupkeep.level = low\nwishes.accept_dormant = yes\n";
    std::fs::write(scratch.0.join("answers.txt"), answers).unwrap();
    let run = run_in(&scratch.0, &["interview", "--answers", "answers.txt", "--output", "site.toml"], b"");
    assert_eq!(run.code, 0, "{}", run.err);
    let told = run.out.lines().find(|line| line.starts_with("After")).unwrap().to_owned();
    let site = std::fs::read_to_string(scratch.0.join("site.toml")).unwrap();
    for part in ["near = true", "ph = 7.9", "texture = \"clay loam\""] {
        assert!(site.contains(part) || !run.out.contains(part), "{part}: {site}");
    }
    assert!(site.contains("irrigation = \"limited\""), "a choice may be given by its number: {site}");
    let answer = run_in(&scratch.0, &["recommend", "site.toml", "--format", "json"], b"").out;
    let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert!(told.contains(answer["ranking"][0]["common_name"].as_str().unwrap()), "{told}");
    // a slip in an answer is told, and nothing is written
    std::fs::remove_file(scratch.0.join("site.toml")).unwrap();
    std::fs::write(scratch.0.join("answers.txt"), answers.replace("= lawn", "= lawnn")).unwrap();
    let run = run_in(&scratch.0, &["interview", "--answers", "answers.txt", "--output", "site.toml"], b"");
    assert!(run.code == 2 && run.err.contains("did you mean `lawn`"), "{}", run.err);
    assert!(!scratch.0.join("site.toml").exists());
    let run = run_in(&scratch.0, &["interview"], b"");
    assert!(run.code == 2 && run.err.contains("needs a terminal"), "{}", run.err);
}
