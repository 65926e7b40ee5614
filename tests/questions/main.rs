//! How many questions an interview takes to the first choice: `cargo bench --bench questions`. Each scenario
//! and each published case is asked for from its purpose, place and climate alone, the most telling question
//! first and in the order of the vocabulary, and the choice held against that of the whole site.

#![expect(clippy::print_stdout, reason = "a benchmark says what it found")]

mod asked;

use std::path::Path;

use asked::{Asked, Course, ask, first_of_whole, scenarios};
use swardwright::{Knowledge, KnowledgeText};

fn main() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).expect("the built-in knowledge");
    let sites: Vec<Asked> = scenarios(root).into_iter().chain(cases(root)).collect();
    println!(
        "{:<40} {:>8} {:>8} {:>6}  first choice",
        "questions to the first choice", "telling", "fixed", "fewer"
    );
    let mut sums = Sums::default();
    for site in &sites {
        let telling = ask(site, &knowledge, |one| one.next().expect("a question"));
        let fixed = ask(site, &knowledge, |one| one.next_in_fixed_order().expect("a question"));
        let whole = first_of_whole(site, &knowledge);
        let told = match whole.contains(&telling.first) {
            true => String::new(),
            false => format!(", of the whole site {}", whole.join(" or ")),
        };
        let (few, many) = (telling.interview.answered(), fixed.interview.answered());
        let spared = 100.0 * fewer(few, many);
        println!("{:<40} {few:>8} {many:>8} {spared:>4.0} %  {}{told}", site.name, telling.first);
        sums.add(&telling, &fixed, &whole);
    }
    sums.print(sites.len());
}

/// Share of the questions that are spared.
fn fewer(few: usize, many: usize) -> f64 {
    if many == 0 { 0.0 } else { 1.0 - few as f64 / many as f64 }
}

#[derive(Default)]
struct Sums {
    telling: usize,
    fixed: usize,
    shares: f64,
    alike: usize,
    whole: [usize; 2],
}

impl Sums {
    fn add(&mut self, telling: &Course<'_>, fixed: &Course<'_>, whole: &[String]) {
        let (few, many) = (telling.interview.answered(), fixed.interview.answered());
        self.telling += few;
        self.fixed += many;
        self.shares += fewer(few, many);
        let (by_telling, by_fixed) = (whole.contains(&telling.first), whole.contains(&fixed.first));
        self.alike += usize::from(telling.first == fixed.first || (by_telling && by_fixed));
        self.whole[0] += usize::from(by_telling);
        self.whole[1] += usize::from(by_fixed);
    }

    fn print(&self, sites: usize) {
        println!(
            "in all {} against {}: {:.0} % fewer, {:.0} % on the average of the sites",
            self.telling,
            self.fixed,
            100.0 * fewer(self.telling, self.fixed),
            100.0 * self.shares / sites as f64
        );
        println!(
            "the same choice either way on {} of {sites}; one that leads the whole site on {}, in fixed order on {}",
            self.alike, self.whole[0], self.whole[1]
        );
    }
}

/// The sites of the published cases.
fn cases(root: &Path) -> Vec<Asked> {
    let folder = std::fs::read_dir(root.join("tests/cases")).expect("cases");
    let mut paths: Vec<_> = folder.map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
    paths.sort();
    let read = |path: &std::path::PathBuf| {
        let case: toml::Table = std::fs::read_to_string(path).expect("a case").parse().expect("a case");
        Asked::new(case["id"].as_str().expect("an id"), case["site"].as_table().expect("a site"))
    };
    paths.iter().map(read).collect()
}
