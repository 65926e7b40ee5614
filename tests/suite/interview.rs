//! The interview: fewer questions than a fixed order, the same choice, and what it writes is the site.

#[path = "../questions/asked.rs"]
mod asked;

use asked::{ask, first_of_whole};
use swardwright::{Interview, Next};

use super::support::{Scratch, knowledge, root, run_in};

/// Over two scenarios; `cargo bench --bench questions` measures all of them, and the published cases.
#[test]
fn the_most_telling_question_first_takes_fewer_questions() {
    let (mut chosen, mut fixed) = (0, 0);
    // a third of the species ask as much, in a third of the time
    let mut knowledge = knowledge();
    let mut turns = (0..3).cycle();
    knowledge.species.retain(|_| turns.next() == Some(0));
    println!("questions until no answer could change the first choice");
    for site in asked::scenarios(&root()).iter().step_by(6).take(2) {
        let whole = first_of_whole(site, &knowledge);
        let few = ask(site, &whole, &knowledge, |one| one.next().unwrap());
        let many = ask(site, &whole, &knowledge, |one| one.next_in_fixed_order().unwrap());
        let counts = (few.interview.answered(), many.interview.answered());
        let firsts = (&few.first, &many.first, &whole);
        assert_eq!(few.reached.is_some(), whole.contains(&few.first), "{}", site.name);
        println!(
            "  {}: {} against {} in the order of the vocabulary {firsts:?}",
            site.name, counts.0, counts.1
        );
        chosen += counts.0;
        fixed += counts.1;
        // what was written is a site file
        assert!(few.interview.site_file().contains("schema = 1"), "{}", few.interview.site_file());
        assert!(counts.0 <= counts.1, "{}", site.name);
    }
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

/// Far from every place with a climate an interview says how little its end means.
#[test]
fn a_climate_that_is_not_known_is_told_at_the_end() {
    let scratch = Scratch::new("interview-far");
    std::fs::create_dir_all(&scratch.0).unwrap();
    let far = "purpose = lawn\nplace.region = US-TX\nplace.latitude_deg = -60\nplace.longitude_deg = -97.5\n";
    std::fs::write(scratch.0.join("answers.txt"), far).unwrap();
    let run = run_in(&scratch.0, &["interview", "--answers", "answers.txt"], b"");
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("no place of the gazetteer is near enough"), "{}", run.out);
    let placed = "latitude_deg = 31.2\nlongitude_deg = -97.5\n";
    std::fs::write(scratch.0.join("begun.toml"), BEGUN.replace(placed, "")).unwrap();
    std::fs::write(scratch.0.join("answers.txt"), "").unwrap();
    let run = run_in(&scratch.0, &["interview", "begun.toml", "--answers", "answers.txt"], b"");
    assert!(run.out.contains("the site is not placed by latitude and longitude"), "{}", run.out);
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
    // what it was not asked for weighs in too
    let told: Vec<&str> = run.out.lines().skip_while(|line| !line.starts_with("After")).collect();
    let told = told.join("\n");
    assert!(!run.out.contains("The climate is not known"), "{}", run.out);
    let site = std::fs::read_to_string(scratch.0.join("site.toml")).unwrap();
    for part in ["near = true", "ph = 7.9", "texture = \"clay loam\""] {
        assert!(site.contains(part) || !run.out.contains(part), "{part}: {site}");
    }
    assert!(site.contains("irrigation = \"limited\""), "a choice may be given by its number: {site}");
    let answer = run_in(&scratch.0, &["recommend", "site.toml", "--format", "json"], b"").out;
    let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert!(told.contains(answer["ranking"][0]["common_name"].as_str().unwrap()), "{told}");
    assert!(told.contains(answer["ranking"][0]["class"].as_str().unwrap()), "{told}");
    // slips in answers are told, all at once, and nothing is written
    std::fs::remove_file(scratch.0.join("site.toml")).unwrap();
    std::fs::write(scratch.0.join("answers.txt"), answers.replace("= lawn", "= lawnn").replace("7.9", "79"))
        .unwrap();
    let run = run_in(&scratch.0, &["interview", "--answers", "answers.txt", "--output", "site.toml"], b"");
    assert!(run.code == 2 && run.err.contains("did you mean `lawn`"), "{}", run.err);
    for slip in ["answers.txt:2:1: `purpose = lawnn`", "answers.txt:7:1: `soil.ph = 79`"] {
        assert!(run.err.contains(slip), "{}", run.err);
    }
    assert!(!scratch.0.join("site.toml").exists());
    // so is a key that nobody asks for, and one that is answered twice
    let twice = answers.replace("place.region", "place.regoin") + "soil.ph = 6.5\n";
    std::fs::write(scratch.0.join("answers.txt"), twice).unwrap();
    let run = run_in(&scratch.0, &["interview", "--answers", "answers.txt", "--output", "site.toml"], b"");
    assert!(run.code == 2 && run.err.contains("did you mean `place.region`"), "{}", run.err);
    assert!(
        run.err.contains("answers.txt:13:1: `soil.ph` is answered already, at answers.txt:7:1"),
        "{}",
        run.err
    );
    assert!(!scratch.0.join("site.toml").exists());
    let run = run_in(&scratch.0, &["interview"], b"");
    assert!(run.code == 2 && run.err.contains("needs a terminal"), "{}", run.err);
}

/// What a client says without being asked is told, written and weighed; what does not fit is told at its own line.
#[test]
fn answers_that_are_not_asked_for_are_told_and_written() {
    let scratch = Scratch::new("interview-unasked");
    std::fs::create_dir_all(&scratch.0).unwrap();
    let interview = |answers: &str, site: &str| {
        std::fs::write(scratch.0.join("answers.txt"), answers).unwrap();
        std::fs::write(scratch.0.join("begun.toml"), site).unwrap();
        let _ = std::fs::remove_file(scratch.0.join("site.toml"));
        let args = ["interview", "begun.toml", "--answers", "answers.txt", "--output", "site.toml"];
        let run = run_in(&scratch.0, &args, b"");
        (run, std::fs::read_to_string(scratch.0.join("site.toml")).unwrap_or_default())
    };
    // nothing else is left to ask of a site with one candidate; of the canopy it is said what and of which kind
    let begun = "schema = 1\npurpose = \"lawn\"\n[place]\nregion = \"US-TX\"\nlatitude_deg = 31.2\n\
                 longitude_deg = -97.5\n[soil]\nph = 7\n[candidates]\nonly = [\"cynodon-dactylon\"]\n";
    let said = "light.canopy = deciduous\nlight.canopy_cover = 40 %\nuse.wear = heavy\nsoil.ph = 7.4\n\
                soil.depth_cm = 16 inches\nplace.elevation_m = 200m\nwater.days_per_week = ?\n";
    let (run, site) = interview(said, begun);
    assert_eq!(run.code, 0, "{}", run.err);
    let told = run.out.lines().find(|line| line.starts_with("Answered without being asked")).unwrap();
    for (key, written) in [
        ("light.canopy = deciduous", "canopy = \"deciduous\""),
        ("light.canopy_cover = 40 %", "canopy_cover = \"40 %\""),
        ("use.wear = heavy", "wear = \"heavy\""),
        ("soil.depth_cm = 16 inches", "depth_cm = \"16 in\""),
        ("place.elevation_m = 200m", "elevation_m = 200"),
    ] {
        assert!(told.contains(key), "{key}: {told}");
        assert!(site.contains(written), "{written}: {site}");
    }
    assert!(run.out.contains("(was bermudagrass"), "what they change is told: {}", run.out);
    assert!(
        run.out.contains("Not taken, since the site file states it already: soil.ph = 7.4."),
        "{}",
        run.out
    );
    assert!(site.contains("ph = 7\n") && !site.contains("days_per_week"), "{site}");
    assert_eq!(run_in(&scratch.0, &["recommend", "site.toml"], b"").code, 0);
    // every fault of what was not asked is told, and nothing is written
    let wrong = said.replace("use.wear = heavy", "use.wear = heavvy").replace("200m", "200 kg");
    let (run, site) = interview(&wrong, begun);
    assert!(run.code == 2 && site.is_empty(), "{site}");
    for words in
        ["answers.txt:3:1: `use.wear = heavvy`", "did you mean `heavy`", "answers.txt:6:1", "2 faults"]
    {
        assert!(run.err.contains(words), "{words}: {}", run.err);
    }
    // an interview that asks for all it is told of has nothing to add
    let (run, _) = interview("soil.texture = ?\n", begun);
    assert!(!run.out.contains("without being asked"), "{}", run.out);
}

/// A site of which little but its climate is left to ask.
const BEGUN: &str = "schema = 1\npurpose = \"lawn\"\n[place]\nregion = \"US-TX\"\nlatitude_deg = 31.2\n\
    longitude_deg = -97.5\n[light]\nsun_hours = 8\n[soil]\ntexture = \"clay loam\"\nph = 7.9\ndepth_cm = 60\n\
    drainage = \"well\"\ncompaction = \"none\"\nec_ds_m = 1\nflood_days = 0\n[water]\nirrigation = \"limited\"\n\
    establishment_water = true\n[use]\nwear = \"light\"\n[upkeep]\nlevel = \"low\"\n[wishes]\n\
    accept_dormant = true\nwinter_green = false\nno_pesticides = false\n[ground]\nbeds_beside = false\n\
    salt_spray = false\nfire_hazard = false\n";

/// Twelve months are answered in one line; what is no list of numbers is told at its own line.
#[test]
fn the_months_of_a_climate_may_be_answered() {
    let scratch = Scratch::new("interview-months");
    std::fs::create_dir_all(&scratch.0).unwrap();
    let interview = |months: &str| {
        std::fs::write(scratch.0.join("begun.toml"), BEGUN).unwrap();
        std::fs::write(scratch.0.join("answers.txt"), format!("\nclimate.tmax_c = {months}\n")).unwrap();
        let args = ["interview", "begun.toml", "--answers", "answers.txt", "--output", "site.toml"];
        run_in(&scratch.0, &args, b"")
    };
    let written = "tmax_c = [17, 19, 23, 27, 30, 34, 36, 36.5, 32, 27, 21, 17]";
    for months in [
        "17, 19, 23, 27, 30, 34, 36, 36.5, 32, 27, 21, 17",
        "[17, 19, 23, 27, 30, 34, 36, 36.5, 32, 27, 21, 17]",
    ] {
        let run = interview(months);
        assert_eq!(run.code, 0, "{}", run.err);
        let site = std::fs::read_to_string(scratch.0.join("site.toml")).unwrap();
        assert!(site.contains(written) && site.contains("near = true"), "{site}");
        assert_eq!(run_in(&scratch.0, &["recommend", "site.toml"], b"").code, 0);
    }
    let run = interview("17, 19, 23");
    assert!(run.code == 2 && run.err.contains("answers.txt:2:1: `climate.tmax_c"), "{}", run.err);
}
