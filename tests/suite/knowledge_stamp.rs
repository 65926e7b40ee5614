//! `knowledge check --stamp`: no value changes within an edition without a word.

use std::fs;

use super::support::{Run, Scratch, copy_folder, root, run, run_in};

fn check(scratch: &Scratch, more: &[&str]) -> Run {
    let args: Vec<&str> =
        ["knowledge", "check", "--knowledge", "knowledge"].iter().chain(more).copied().collect();
    run_in(&scratch.0, &args, b"")
}

#[test]
fn the_edition_holds_the_digest_of_what_stands_here() {
    let edition: toml::Table =
        toml::from_str(&fs::read_to_string(root().join("knowledge/edition.toml")).unwrap()).unwrap();
    let newest = &edition["changelog"][0];
    assert_eq!(newest["version"], edition["version"]);
    let told = run(&["knowledge", "check", "--knowledge", "knowledge", "--format", "json"]);
    let told: serde_json::Value = serde_json::from_str(&told.out).unwrap();
    let help = "swardwright knowledge check --knowledge knowledge --stamp";
    assert_eq!(told["knowledge"]["digest"].as_str(), newest["digest"].as_str(), "run {help}");
}

#[test]
fn a_changed_value_is_at_fault_until_it_is_stamped() {
    let scratch = Scratch::new("knowledge-stamp");
    copy_folder(&root().join("tests/bad/base"), &scratch.0);
    let edition = scratch.0.join("knowledge/edition.toml");
    let stamped = fs::read_to_string(&edition).unwrap();
    let (unstamped, _) = stamped.split_once("digest = ").unwrap();
    let begun = unstamped.replace("base for tests\"", "base for tests.\" # invented");
    fs::write(&edition, &begun).unwrap();

    // the first stamp adds a line and nothing else
    let stamped = check(&scratch, &["--stamp"]);
    assert_eq!((stamped.code, stamped.err.as_str()), (0, ""), "{}", stamped.out);
    let first = fs::read_to_string(&edition).unwrap();
    let (rest, digest) = first.trim_end().rsplit_once("\ndigest = \"").unwrap();
    assert_eq!(format!("{rest}\n"), begun);
    assert_eq!(digest.trim_end_matches('"').len(), 64);
    assert_eq!(check(&scratch, &[]).code, 0);
    // layout and the words of the changelog are no content
    let species = scratch.0.join("knowledge/species/exampla-repens.toml");
    let text = fs::read_to_string(&species).unwrap();
    fs::write(&species, format!("# a comment\n{text}")).unwrap();
    fs::write(&edition, first.replace("a tiny base", "a very tiny base")).unwrap();
    assert_eq!(check(&scratch, &[]).code, 0);
    let again = check(&scratch, &["--stamp"]);
    assert!(again.out.ends_with("already; nothing was written\n"), "{}", again.out);

    // a value is content
    fs::write(&species, text.replace("high = 7.5", "high = 7.0")).unwrap();
    let told = check(&scratch, &[]);
    assert_eq!(told.code, 1);
    assert!(
        told.err.contains("error[digest-differs]") && told.err.contains("edition.toml:7:10"),
        "{}",
        told.err
    );
    // not without a word
    let silent = check(&scratch, &["--stamp"]);
    assert!(silent.code == 1 && silent.err.contains("say what changed"), "{}", silent.err);
    assert!(fs::read_to_string(&edition).unwrap().contains(digest));
    let mended = check(&scratch, &["--stamp", "pH of one species"]);
    assert_eq!((mended.code, mended.err.as_str()), (0, ""));
    assert!(
        mended.out.contains("where others have edition 0.1.0 already, raise `version`"),
        "{}",
        mended.out
    );
    let second = fs::read_to_string(&edition).unwrap();
    let lines = "what = [\n  \"a very tiny base for tests.\",\n  \"pH of one species\",\n] # invented\n";
    assert!(second.contains(lines), "{second}");
    assert!(!second.contains(digest), "{second}");
    assert_eq!(check(&scratch, &[]).code, 0);

    // a merge of two digests is resolved by the next stamp, one of words is not
    let own = second.lines().find(|line| line.starts_with("digest")).unwrap();
    let conflict = format!("<<<<<<< one\n{own}\n=======\ndigest = \"0\"\n>>>>>>> other");
    fs::write(&edition, second.replace(own, &conflict)).unwrap();
    let told = check(&scratch, &[]);
    assert!(told.code == 1 && told.err.contains("a merge left both sides here"), "{}", told.err);
    assert_eq!(check(&scratch, &["--stamp"]).code, 0);
    assert_eq!(fs::read_to_string(&edition).unwrap(), second);
    fs::write(&edition, second.replace(own, &conflict.replace("digest = \"0\"", "date = \"0\""))).unwrap();
    assert_eq!(check(&scratch, &["--stamp"]).code, 1);

    // nor does a merge of words need new ones
    let zeros = format!("digest = \"{}\"", "0".repeat(64));
    fs::write(&edition, second.replace(own, &zeros)).unwrap();
    assert_eq!(check(&scratch, &["--stamp"]).code, 1);
    assert_eq!(check(&scratch, &["--stamp", "--merge"]).code, 0);
    assert_eq!(fs::read_to_string(&edition).unwrap(), second);

    // an entry without a digest is no way round it
    fs::write(&edition, second.replace(&format!("{own}\n"), "")).unwrap();
    let told = check(&scratch, &[]);
    assert!(told.code == 1 && told.err.contains("error[no-digest]"), "{}", told.err);
    fs::write(&edition, &second).unwrap();

    // what is at fault is not stamped
    fs::write(&edition, &second).unwrap();
    fs::write(&species, text.replace("high = 7.5", "high = 75")).unwrap();
    let told = check(&scratch, &["--stamp"]);
    assert!(told.code == 1 && told.err.contains("error[out-of-range]"), "{}", told.err);
    assert_eq!(fs::read_to_string(&edition).unwrap(), second);
}
