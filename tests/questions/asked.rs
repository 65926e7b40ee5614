//! Sites without their answers, and interviews that are given them one by one.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use swardwright::diag::Source;
use swardwright::{Assessment, Interview, Knowledge, Next, assess};

/// Keys that an interview does not ask for: what a site is for, where it lies, and its climate.
const KEPT: [&str; 6] = ["schema", "name", "purpose", "place", "climate", "candidates"];
/// Keys in US units, with the key that is asked for and the unit in words.
const US: [(&str, &str, &str); 3] = [
    ("depth_in", "depth_cm", "in"),
    ("mowing_height_in", "mowing_height_mm", "in"),
    ("area_ft2", "area_m2", "ft2"),
];

/// A site whose answers are kept apart.
pub struct Asked {
    pub name: String,
    /// What is known before anything is asked.
    pub base: String,
    /// What a client would answer, by key.
    pub answers: BTreeMap<String, String>,
    /// The whole site.
    pub whole: String,
}

impl Asked {
    /// From the table of a site file.
    pub fn new(name: &str, site: &toml::Table) -> Self {
        let mut kept = toml::Table::new();
        let mut answers = BTreeMap::new();
        for (key, value) in site {
            match value {
                toml::Value::Table(section) if !KEPT.contains(&key.as_str()) => {
                    answers.extend(section.iter().map(|(inner, value)| answer(key, inner, value)));
                }
                value => _ = kept.insert(key.clone(), value.clone()),
            }
        }
        Self { name: name.to_owned(), base: kept.to_string(), answers, whole: site.to_string() }
    }
}

fn answer(section: &str, key: &str, value: &toml::Value) -> (String, String) {
    let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    match US.iter().find(|(us, ..)| *us == key) {
        Some((_, asked, unit)) => (format!("{section}.{asked}"), format!("{text} {unit}")),
        None => (format!("{section}.{key}"), text),
    }
}

/// The sites of the folder of scenarios.
pub fn scenarios(root: &Path) -> Vec<Asked> {
    let folder = std::fs::read_dir(root.join("scenarios")).expect("scenarios");
    let mut names: Vec<String> =
        folder.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    let read = |name: &String| {
        let text = std::fs::read_to_string(root.join("scenarios").join(name).join("site.toml")).ok()?;
        Some(Asked::new(name, &text.parse().ok()?))
    };
    names.iter().filter_map(read).collect()
}

/// An interview that is over.
pub struct Course<'k> {
    pub interview: Interview<'k>,
    /// The choice that no answer could change any more.
    pub first: String,
    /// Questions after which a leader of the whole site came first, and stayed first to the end; `None` where
    /// the end was another.
    pub reached: Option<usize>,
}

/// Asks until no answer could change the first choice; what the site does not state is not known.
pub fn ask<'k>(
    site: &Asked,
    whole: &[String],
    knowledge: &'k Knowledge,
    next: impl Fn(&Interview<'_>) -> Next,
) -> Course<'k> {
    let mut interview = Interview::new(Some(&site.base), "test", knowledge).expect("a site");
    let mut reached = None;
    let first = loop {
        let first = first_of(&interview.assess().expect("a site"))[0].clone();
        reached = whole.contains(&first).then(|| reached.unwrap_or(interview.answered()));
        match next(&interview) {
            Next::Ask(question) => {
                let answer = site.answers.get(&question.key).map(String::as_str);
                let taken = interview.answer(question.fact, answer);
                assert!(taken.is_ok(), "{}: {}: {taken:?}", site.name, question.key);
            }
            Next::Settled(first) => break first,
            Next::Exhausted => break first,
        }
    };
    reached = whole.contains(&first).then(|| reached.unwrap_or(interview.answered()));
    Course { interview, first, reached }
}

/// Who is first, or tied for it, when all that the site states is known; `nothing` where all are refused.
pub fn first_of_whole(site: &Asked, knowledge: &Knowledge) -> Vec<String> {
    let source = Arc::new(Source { path: site.name.clone(), text: site.whole.clone().into() });
    first_of(&assess(&source, knowledge).expect("a site").0)
}

fn first_of(assessment: &Assessment<'_>) -> Vec<String> {
    if assessment.candidates[0].standing.class.is_refused() {
        return vec!["nothing".to_owned()];
    }
    let leaders = assessment.candidates.iter().take_while(|one| one.rank == 1);
    leaders.map(|one| one.species.id.clone()).collect()
}
