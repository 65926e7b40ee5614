//! The path of somebody who knows no Rust, as DEVELOPERS.md has it: the commands of the guide are run as
//! they stand there, what they begin is filled in as the guide shows it, with a slip in every file, and each
//! slip is mended from its message alone: the test reads place and help as a writer would, and does what they
//! say without knowing what is right.

use std::fs;
use std::path::Path;

use serde_json::Value;

use super::overlays::{VERGE, guide, walk};
use super::support::{Run, Scratch, run_in};

/// Runs a line of the guide.
fn run_line(scratch: &Scratch, line: &str, input: &[u8]) -> Run {
    let mut words = line.split_whitespace();
    assert_eq!(words.next(), Some("swardwright"), "{line}");
    run_in(&scratch.0, &words.collect::<Vec<_>>(), input)
}

/// What stands between the first two backticks.
fn quoted(text: &str) -> Option<&str> {
    text.split('`').nth(1)
}

/// Mends the one fault of a run as it says, and gives back the line that told where.
fn mend(folder: &Path, told: &str) -> String {
    assert_eq!(told.matches("error[").count(), 1, "one slip, one fault: {told}");
    let message = told.lines().find_map(|line| line.split_once("]: ")).unwrap().1;
    let place = told.lines().find_map(|line| line.trim_start().strip_prefix("--> ")).unwrap();
    let help = told.lines().find_map(|line| line.trim_start().strip_prefix("= help: ")).unwrap();
    let mut parts = place.rsplitn(3, ':');
    let mut number = || parts.next().unwrap().parse::<usize>().unwrap();
    let (column, line) = (number(), number());
    let path = folder.join(parts.next().unwrap());
    let carets = told.lines().find(|line| line.contains('^')).unwrap().matches('^').count();

    let text = fs::read_to_string(&path).unwrap();
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let own = &lines[line - 1];
    let characters: Vec<char> = own.chars().collect();
    let text_of = |characters: &[char]| characters.iter().collect::<String>();
    let wrong = text_of(&characters[column - 1..column - 1 + carets]);
    // the fault names what it points at
    let named = message.split('`').skip(1).step_by(2).any(|name| wrong.contains(name) || own.contains(name));
    assert!(named, "{told}");
    let offered = quoted(help).unwrap_or_else(|| panic!("no help to follow: {told}"));
    let (before, after) = (text_of(&characters[..column - 1]), text_of(&characters[column - 1 + carets..]));
    let is_key = |key: &str| key.chars().all(|c| c.is_alphanumeric() || "-_.".contains(c));
    let mended = if help.ends_with("` behind it") {
        format!("{before}{wrong}{offered}{after}")
    } else if help.ends_with("` before it") {
        format!("{before}{offered}{wrong}{after}")
    } else if offered.split_once(" = ").is_some_and(|(key, _)| is_key(key)) {
        // a whole line is offered
        offered.to_owned()
    } else {
        // of a quoted value the word within is meant, where no quotes or brackets are offered
        let bare = offered.starts_with(char::is_alphanumeric);
        let name = message.split('`').skip(1).step_by(2).find(|name| bare && wrong.contains(name));
        let put = name.map_or(offered.to_owned(), |name| wrong.replacen(name, offered, 1));
        format!("{before}{put}{after}")
    };
    assert_ne!(own, &mended, "{told}");
    lines[line - 1] = mended;
    fs::write(&path, lines.join("\n") + "\n").unwrap();
    place.to_owned()
}

#[test]
fn what_an_overlay_holds_comes_about_by_the_guide_alone() {
    let scratch = Scratch::new("staff-path");
    let guide = guide();
    let commands: Vec<&str> = guide
        .lines()
        .filter_map(|line| line.strip_prefix("    "))
        .filter(|line| line.starts_with("swardwright "))
        .collect();
    let (begin, rest): (Vec<&str>, Vec<&str>) =
        commands.into_iter().partition(|line| line.starts_with("swardwright knowledge new "));
    assert_eq!(begin.len(), 4, "{begin:?}");
    let check_line = rest[0];
    assert!(rest.iter().any(|line| line.starts_with("swardwright recommend ")), "{rest:?}");
    let check = || run_line(&scratch, check_line, b"");

    // 1. begin: what is still to be filled in is all that is at fault
    for line in &begin {
        let run = run_line(&scratch, line, b"");
        assert_eq!((run.code, run.err.as_str()), (0, ""), "{line}");
        assert!(run.out.contains(&format!("check: {check_line}")), "{}", run.out);
    }
    let begun = check();
    assert_eq!(begun.code, 1);
    let others: Vec<&str> = begun.err.lines().filter(|line| line.starts_with("error[")).collect();
    assert!(others.iter().all(|line| line.starts_with("error[not-filled-in]")), "{others:#?}");

    // 2. fill in as the guide shows, below the line that names the schema where there is one
    let files = walk();
    let fill = |path: &str| {
        let begun = fs::read_to_string(scratch.0.join(path)).unwrap_or_default();
        let schema = begun.lines().next().filter(|line| line.starts_with("#:schema "));
        schema.map(|line| format!("{line}\n")).unwrap_or_default() + &files[path]
    };
    for path in files.keys() {
        fs::write(scratch.0.join(path), fill(path)).unwrap();
    }
    let sound = check();
    assert_eq!((sound.code, sound.err.as_str()), (0, ""), "{}", sound.out);

    // 3. slip, read, mend: file, what should stand there, the slip
    const SOURCE: &str = "county/sources/county-trial.toml";
    const SPECIES: &str = "county/species/exampla-repens.toml";
    const VALUES: &str = "county/values/bouteloua-gracilis.toml";
    const RULE: &str = "county/rules/cautions/county-verge-permit.toml";
    const HEAD: &str = "county/overlay.toml";
    let slips = [
        (SOURCE, "year = 2024", "year = \"2024\""),
        (SOURCE, "kind = \"extension\"", "kind = \"Extension\""),
        (SPECIES, "id = \"exampla-repens\"", "id = \"Exampla repens\""),
        (SPECIES, "common = [\"creeping example\"]", "common = \"creeping example\""),
        (SPECIES, "drought_avoidance", "drougth_avoidance"),
        (SPECIES, "value = \"6b\"", "value = \"zone 6b\""),
        (SPECIES, "high = 10,", "high = \"10 centimetres\","),
        (SPECIES, "value = [\"plugs\"]", "value = [\"plug\"]"),
        (
            VALUES,
            "source = \"county-trial\", at = \"discussion\"",
            "source = \"county-trail\", at = \"discussion\"",
        ),
        (RULE, "site.purpose = 'roadside'", "site.purpose == 'roadside'"),
        (RULE, "when = \"site.purpose", "when = \"place.purpose"),
        (RULE, "severity = \"law\"", "severity = \"laws\""),
        (RULE, "given = { \"site.purpose\" = \"roadside\" }", "given = { \"site.purpose\" = \"road-side\" }"),
        (HEAD, "rules/cautions/caution-seed-label", "rules/cautions/caution-seed-lable"),
        (HEAD, "rules/cautions/caution-seed-label", "caution-seed-label"),
        // slips against the syntax, each of which would have the parser find fault with the lines below
        (SOURCE, "[county-trial]", "[county trial]"),
        (SOURCE, "[county-trial]", "[county-trial"),
        (SPECIES, "at = \"discussion\" }]", "at = \"discussion\" }"),
        (SPECIES, "at = \"discussion\" }]", "at = \"discussion\" ]"),
        (SPECIES, "at = \"discussion\" }]", "at = \"discussion\""),
        (SPECIES, "value = [\"plugs\"]", "value = [\"plugs\""),
        (SPECIES, "low = 6.0", "low = 6,0"),
        (SPECIES, "common = [\"creeping example\"]", "common = [creeping example]"),
        (SPECIES, "value = \"6b\"", "value = 6b"),
        (SPECIES, "value = \"6b\"", "value: \"6b\""),
        (SPECIES, "id = \"exampla-repens\"", "id: \"exampla-repens\""),
        (
            HEAD,
            "withdraws = [\"rules/cautions/caution-seed-label\"]",
            "withdraws = [\"rules/cautions/caution-seed-label\"",
        ),
        (RULE, "'roadside'", "\"roadside\""),
        (RULE, "given = { \"site.purpose\" = \"roadside\" }", "given = { \"site.purpose\" = \"roadside\""),
        // tables where a name was written, and words that are no continuation
        (RULE, "[[stays_silent]]", "[stays_silent]"),
        (RULE, "because = \"stands", "because = \"Stands"),
        (RULE, "takes a permit\"", "takes a permit.\""),
        (RULE, "sources = [{ key = \"county-trial\", at = \"foreword\" }]", "sources = [\"county-trial\"]"),
        (RULE, "sources = [{ key = \"county-trial\", at = \"foreword\" }]", "sources = \"county-trial\""),
        (RULE, "{ severity = \"law\", defer_to = \"the county road office\" }", "\"law\""),
        (RULE, "\"law\", defer_to", "\"law\" defer_to"),
        (RULE, "then.caution = ", "caution = "),
    ];
    // what no message can know is left to the writer here, or another writing is as right
    const ONLY_SOUND: [&str; 7] = [
        "high = \"10 centimetres\",",
        "at = \"discussion\"",
        "given = { \"site.purpose\" = \"roadside\"",
        "sources = [\"county-trial\"]",
        "sources = \"county-trial\"",
        "\"law\"",
        "\"law\" defer_to",
    ];
    for (path, right, wrong) in slips {
        let whole = fill(path);
        assert!(whole.contains(right), "{path}: {right}");
        fs::write(scratch.0.join(path), whole.replacen(right, wrong, 1)).unwrap();
        let told = check();
        assert_eq!(told.code, 1, "{wrong}: {}", told.out);
        let place = mend(&scratch.0, &told.err);
        assert!(place.starts_with(&format!("{path}:")), "{place}");
        let mended = check();
        assert_eq!((mended.code, mended.err.as_str()), (0, ""), "{wrong}, told by\n{}", told.err);
        if !ONLY_SOUND.contains(&wrong) {
            assert_eq!(fs::read_to_string(scratch.0.join(path)).unwrap(), whole, "{wrong}");
        }
        fs::write(scratch.0.join(path), whole).unwrap();
    }

    // 4. ask, as the guide does
    let ask = rest.iter().find(|line| line.starts_with("swardwright recommend ")).unwrap();
    let file = ask.split_whitespace().nth(2).unwrap();
    fs::write(scratch.0.join(file), VERGE).unwrap();
    let answer = run_line(&scratch, &format!("{ask} --all --format json"), b"");
    assert_eq!(answer.code, 0, "{}", answer.err);
    let answer: Value = serde_json::from_str(&answer.out).unwrap();
    let ranked = answer["ranking"].as_array().unwrap();
    assert!(ranked.iter().any(|one| one["species"] == "exampla-repens" && one["overlay"] == "county"));
    let cautions = answer["site"]["cautions"].as_array().unwrap();
    assert!(cautions.iter().any(|one| one["rule"] == "county-verge-permit"), "{cautions:?}");
}
