//! `knowledge diff`: what differs, and which answers change by which rule.

use std::fs;

use super::support::{Scratch, copy_folder, root, run_in};

fn diff(scratch: &Scratch, args: &[&str]) -> String {
    let mut all = vec!["knowledge", "diff"];
    all.extend(args);
    let run = run_in(&scratch.0, &all, b"");
    assert_eq!(run.code, 0, "{}", run.err);
    run.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One figure of one species and one rule are changed in a copy of the base.
#[test]
fn a_changed_value_and_a_changed_rule_are_named_with_the_answers_that_they_change() {
    let scratch = Scratch::new("knowledge-diff");
    let folder = scratch.0.join("new");
    copy_folder(&root().join("knowledge"), &folder);
    let edit = |path: &str, change: &dyn Fn(&str) -> String| {
        let path = folder.join(path);
        let text = fs::read_to_string(&path).unwrap();
        let changed = change(&text);
        assert_ne!(text, changed, "{}", path.display());
        fs::write(path, changed).unwrap();
    };
    // a comment and another layout are no difference
    edit("species/cynodon-dactylon.toml", &|text| format!("# another comment\n\n{text}"));
    assert!(diff(&scratch, &["built-in", "new"]).ends_with("nothing differs"));

    // words alone ask for a patch, values for a minor number, each with its entry in the changelog
    let edition = fs::read_to_string(folder.join("edition.toml")).unwrap();
    let version: Vec<u32> =
        edition.split('"').nth(1).unwrap().split('.').map(|part| part.parse().unwrap()).collect();
    let raise = |version: String| {
        let rest = edition.split_once('\n').unwrap().1;
        let entry =
            format!("[[changelog]]\nversion = \"{version}\"\ndate = \"2026-11-25\"\nwhat = \"test\"\n");
        fs::write(folder.join("edition.toml"), format!("version = \"{version}\"\n{rest}\n{entry}")).unwrap();
    };
    let refused = || {
        let run = run_in(&scratch.0, &["knowledge", "diff", "built-in", "new"], b"");
        assert_eq!(run.code, 1, "{}", run.err);
        assert!(
            run.err.contains("error[edition-not-raised]") && run.err.contains("edition.toml:1:1"),
            "{}",
            run.err
        );
        assert!(run.out.contains("Rules (1)") || run.out.contains("Values"), "{}", run.out);
        run.err
    };
    edit("rules/cautions/caution-digging.toml", &|text| text.replace("title = \"", "title = \"On "));
    let patched = format!("{}.{}.{}", version[0], version[1], version[2] + 1);
    let told = refused();
    assert!(told.contains(&format!("to at least \"{patched}\"")), "{told}");
    assert!(told.contains("compare with the one before it"), "{told}");
    // what the last edition said stays beside what the new one says
    let own = version.iter().map(u32::to_string).collect::<Vec<_>>().join(".");
    let [was, is] = [&own, &patched].map(|version| format!("version = \"{version}\""));
    fs::write(folder.join("edition.toml"), edition.replace(&was, &is)).unwrap();
    let over = run_in(&scratch.0, &["knowledge", "diff", "built-in", "new"], b"");
    let told = over.err.contains(&format!("error[entry-gone]: the changelog has no entry of edition {own}"));
    assert!(over.code == 1 && told, "{}", over.err);
    raise(patched);
    assert!(diff(&scratch, &["built-in", "new"]).contains("Rules (1) caution-digging: title \""));

    edit("species/bouteloua-dactyloides.toml", &|text| {
        let (before, after) = text.split_once("cold_zone_min = ").unwrap();
        let (_, after) = after.split_once("\n").unwrap();
        let rest =
            after.split_once("\n]\n").filter(|_| after.starts_with("  {")).map_or(after, |(_, rest)| rest);
        format!("{before}cold_zone_min = [{{ value = \"9b\", source = \"common-practice\" }}]\n{rest}")
    });
    edit("rules/cautions/caution-digging.toml", &|text| {
        text.replace("severity = \"danger\"", "severity = \"care\"")
    });
    fs::remove_file(folder.join("rules/cautions/caution-pollen.toml")).unwrap();
    let raised = format!("{}.{}.0", version[0], version[1] + 1);
    assert!(refused().contains(&format!("to at least \"{raised}\"")));
    raise(raised);
    let scenarios = root().join("scenarios").display().to_string();
    let said = diff(&scratch, &["built-in", "new", "--sites", &scenarios]);
    for part in [
        "bouteloua-dactyloides cold_zone_min: ",
        // what others have none of is estimated from it
        "axonopus-fissifolius cold_zone_min: ",
        "-> 9b ",
        "Rules (2)",
        "caution-digging: then.caution.severity \"danger\" -> \"care\"",
        "caution-pollen: removed",
        "hot-dry-lawn/site.toml",
        "by cold-zone",
        "caution-digging (caution, care): now said of the site",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(said.contains("bouteloua-dactyloides: S1 at place 1 -> N"), "{said}");
    // a site file stands for itself
    let alone = format!("{scenarios}/hot-dry-lawn/site.toml");
    let said = diff(&scratch, &["built-in", "new", "--sites", &alone]);
    assert!(said.contains("Answers that change (1 of 1 sites)") && said.contains(&alone), "{said}");
    // the other way round the rule is added again, and the edition is an older one
    let back = run_in(&scratch.0, &["knowledge", "diff", "new", "built-in"], b"");
    assert!(back.code == 1 && back.out.contains("caution-pollen: added"), "{}", back.err);
}

/// What an overlay withdraws is gone from the new side, and a rule in the place of another differs from it.
#[test]
fn rules_that_an_overlay_withdraws_or_replaces_are_named() {
    let scratch = Scratch::new("knowledge-diff-overlay");
    let rule = "rules/cautions/caution-digging";
    let put = |path: &str, text: &str| {
        let path = scratch.0.join("county").join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    let head = "id = \"county\"\ntitle = \"Invented county\"\nversion = \"1.0.0\"\n";
    put(
        "overlay.toml",
        &format!("{head}replaces = [\"{rule}\"]\nwithdraws = [\"rules/wear/wear-torn-bunches\"]\n"),
    );
    let own = fs::read_to_string(root().join(format!("knowledge/{rule}.toml"))).unwrap();
    put(&format!("{rule}.toml"), &own.replace("severity = \"danger\"", "severity = \"care\""));
    let told = diff(&scratch, &["built-in", "built-in", "--overlay", "county"]);
    for part in ["Rules (2)", "wear-torn-bunches: removed", "caution-digging: ", "care"] {
        assert!(told.contains(part), "{part}: {told}");
    }
}

/// A caution or a task moves no place, and is a line of the answer all the same.
#[test]
fn what_is_said_beside_the_ranking_is_a_change_of_the_answer() {
    let scratch = Scratch::new("knowledge-diff-spoken");
    let rule = "rules/cautions/caution-digging";
    fs::create_dir_all(scratch.0.join("county/rules/cautions")).unwrap();
    let head = "id = \"county\"\ntitle = \"Invented county\"\nversion = \"1.0.0\"\n";
    let lists = format!("replaces = [\"{rule}\"]\nwithdraws = [\"rules/tasks/task-clean-ground\"]\n");
    fs::write(scratch.0.join("county/overlay.toml"), format!("{head}{lists}")).unwrap();
    let own = fs::read_to_string(root().join(format!("knowledge/{rule}.toml"))).unwrap();
    let milder = own.replace("severity = \"danger\"", "severity = \"care\"");
    assert_ne!(own, milder);
    fs::write(scratch.0.join(format!("county/{rule}.toml")), milder).unwrap();
    let site = root().join("scenarios/hot-dry-lawn/site.toml").display().to_string();
    let told = diff(&scratch, &["built-in", "built-in", "--overlay", "county", "--sites", &site]);
    for part in [
        "Answers that change (1 of 1 sites)",
        "caution-digging (caution, care): now said of the site",
        "caution-digging (caution, danger): no longer said of the site",
        "task-clean-ground (task): no longer said of the site",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }

    // the same knowledge says the same
    let told = diff(&scratch, &["built-in", "built-in", "--sites", &site]);
    assert!(told.ends_with("Answers that change (0 of 1 sites)"), "{told}");

    // what both refuse is told, and is no answer that changes
    fs::write(scratch.0.join("bad.toml"), "schema = 1\npurpose = \"laws\"\n").unwrap();
    let told = diff(&scratch, &["built-in", "built-in", "--overlay", "county", "--sites", "bad.toml"]);
    for part in ["Answers that change (0 of 1 sites)", "Refused by the old and the new bad.toml: "] {
        assert!(told.contains(part), "{part}: {told}");
    }
}

#[test]
fn folders_without_knowledge_or_sites_are_refused() {
    let scratch = Scratch::new("knowledge-diff-bad");
    for (args, words) in [
        (["built-in", "nowhere", "", ""], "there is no such folder"),
        (["built-in", "built-in", "--sites", "."], "no site file stands in this folder"),
    ] {
        let args: Vec<&str> =
            ["knowledge", "diff"].into_iter().chain(args).filter(|one| !one.is_empty()).collect();
        let run = run_in(&scratch.0, &args, b"");
        assert_eq!((run.code, run.out.as_str()), (2, ""));
        assert!(run.err.contains(words), "{}", run.err);
    }
}
