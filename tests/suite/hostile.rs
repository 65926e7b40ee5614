//! Hostile bytes through the library: whatever is read, the answer is a value and never a panic.

use proptest::prelude::*;
use swardwright::{Knowledge, KnowledgeText, assess};

use super::support::{folders, knowledge, root, source};

/// Reads a text as a site file; the assessment must come or be refused.
fn try_site(knowledge: &Knowledge, text: &str) {
    if let Err(findings) = assess(&source("hostile.toml", text), knowledge) {
        assert!(!findings.is_empty(), "a refusal says why");
    }
}

#[test]
fn odd_texts_are_answered_or_refused() {
    let knowledge = knowledge();
    let deep = format!("schema = 1\na = {}1{}", "[".repeat(5_000), "]".repeat(5_000));
    let many: String = (0..1_000).map(|at| format!("key{at} = {at}\n")).collect();
    let huge = format!("schema = 1\n[soil]\nph = 1{}\n", "0".repeat(400));
    for text in [
        "",
        "\u{feff}schema = 1\n",
        "schema = 1\r\n[soil]\r\nph = 6.5\r\n",
        "schema = 1\n\"\" = 3\n",
        "schema = 9223372036854775808\n",
        "schema = 1\n[soil]\nph = inf\ndepth_cm = -nan\n",
        "schema = 1979-05-27\n",
        "schema = 1\n[climate]\ntmax_c = [[1]]\n",
        "[[soil]]\nph = 6\n",
        "soil.ph = 6\nschema = 1\nsoil = 3\n",
        "schema = 1\n[soil]\ndepth_cm = \"1e999 m\"\n",
        "schema = 1\n[soil]\ndepth_cm = \"ÄÖÜ\"\nph = \"６\"\n",
        &deep,
        &many,
        &huge,
    ] {
        try_site(&knowledge, text);
    }
}

#[test]
fn a_site_file_cut_at_any_byte_is_answered_or_refused() {
    let knowledge = knowledge();
    let text = std::fs::read_to_string(root().join("scenarios/hot-dry-lawn/site.toml")).unwrap();
    for at in (0..text.len()).step_by(7).filter(|at| text.is_char_boundary(*at)) {
        try_site(&knowledge, &text[..at]);
    }
}

/// The small knowledge base of the bad inputs, as pairs of path and text.
fn small_base() -> Vec<(String, String)> {
    let base = root().join("tests/bad/base/knowledge");
    let mut files = Vec::new();
    let mut open = vec![(base, String::new())];
    while let Some((folder, below)) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            let path = format!("{below}{}", entry.file_name().to_string_lossy());
            if entry.path().is_dir() {
                open.push((entry.path(), format!("{path}/")));
            } else {
                files.push((path, std::fs::read_to_string(entry.path()).unwrap()));
            }
        }
    }
    files.sort();
    files
}

fn load(files: &[(String, String)]) -> bool {
    let pairs = files.iter().map(|(path, text)| (path.as_str(), text.as_str()));
    Knowledge::load(&KnowledgeText::from_pairs("small base", pairs)).is_ok()
}

#[test]
fn the_small_base_loads() {
    assert!(load(&small_base()));
}

/// A change of one stretch of a text: replaced by other bytes that stay UTF-8.
fn mutate(text: &str, at: usize, length: usize, with: &str) -> String {
    let mut start = at % (text.len() + 1);
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = (start + length).min(text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    format!("{}{with}{}", &text[..start], &text[end..])
}

fn site_texts() -> Vec<String> {
    let scenarios = root().join("scenarios");
    let read = |name: &String| std::fs::read_to_string(scenarios.join(name).join("site.toml")).unwrap();
    folders(&scenarios).iter().map(read).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_text_is_no_panic(text in "\\PC{0,300}") {
        thread_local!(static KNOWLEDGE: Knowledge = knowledge());
        KNOWLEDGE.with(|knowledge| try_site(knowledge, &text));
    }

    #[test]
    fn mutated_site_files_are_no_panic(which in any::<usize>(), at in any::<usize>(), length in 0usize..40, with in "[ -~\\n\\u{e4}]{0,12}") {
        thread_local!(static KNOWLEDGE: (Knowledge, Vec<String>) = (knowledge(), site_texts()));
        KNOWLEDGE.with(|(knowledge, sites)| try_site(knowledge, &mutate(&sites[which % sites.len()], at, length, &with)));
    }

    #[test]
    fn mutated_knowledge_is_no_panic(which in any::<usize>(), at in any::<usize>(), length in 0usize..40, with in "[ -~\\n\\u{e4}]{0,12}") {
        let mut files = small_base();
        let which = which % files.len();
        files[which].1 = mutate(&files[which].1, at, length, &with);
        load(&files);
    }
}
