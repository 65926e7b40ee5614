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
        "questions until no answer could change the first choice, and until one of the whole site's stood first for good"
    );
    println!("{:<40} {:>7} {:>5} {:>7} {:>7} {:>5}", "", "telling", "fixed", "fewer", "telling", "fixed");
    let mut sums = Sums::default();
    for site in &sites {
        let whole = first_of_whole(site, &knowledge);
        let telling = ask(site, &whole, &knowledge, |one| one.next().expect("a question"));
        let fixed = ask(site, &whole, &knowledge, |one| one.next_in_fixed_order().expect("a question"));
        let told = match whole.contains(&telling.first) {
            true => telling.first.clone(),
            false => format!("{}, of the whole site {}", telling.first, whole.join(" or ")),
        };
        let (few, many) = (telling.interview.answered(), fixed.interview.answered());
        let spared = 100.0 * fewer(few, many);
        let reached = |course: &Course<'_>| course.reached.map_or("-".to_owned(), |count| count.to_string());
        let (early, late) = (reached(&telling), reached(&fixed));
        println!("{:<40} {few:>7} {many:>5} {spared:>5.0} % {early:>7} {late:>5}  {told}", site.name);
        sums.add(&telling, &fixed);
    }
    sums.print(sites.len());
}

/// Share of the questions that are spared.
fn fewer(few: usize, many: usize) -> f64 {
    if many == 0 { 0.0 } else { 1.0 - few as f64 / many as f64 }
}

/// Questions in both orders.
#[derive(Default)]
struct Questions {
    sites: usize,
    telling: usize,
    fixed: usize,
    /// Sum over the sites of the shares that are spared.
    shares: f64,
}

impl Questions {
    fn add(&mut self, telling: usize, fixed: usize) {
        self.sites += 1;
        self.telling += telling;
        self.fixed += fixed;
        self.shares += fewer(telling, fixed);
    }

    fn print(&self, what: &str) {
        println!(
            "{what} ({} sites): {} against {}, {:.0} % fewer, {:.0} % on the average of the sites",
            self.sites,
            self.telling,
            self.fixed,
            100.0 * fewer(self.telling, self.fixed),
            100.0 * self.shares / self.sites.max(1) as f64
        );
    }
}

#[derive(Default)]
struct Sums {
    settled: Questions,
    settled_alike: Questions,
    reached: Questions,
    /// Sites on which a leader of the whole site is settled on: telling, fixed.
    whole: [usize; 2],
}

impl Sums {
    fn add(&mut self, telling: &Course<'_>, fixed: &Course<'_>) {
        let (few, many) = (telling.interview.answered(), fixed.interview.answered());
        self.settled.add(few, many);
        if telling.first == fixed.first || (telling.reached.is_some() && fixed.reached.is_some()) {
            self.settled_alike.add(few, many);
        }
        if let (Some(few), Some(many)) = (telling.reached, fixed.reached) {
            self.reached.add(few, many);
        }
        self.whole[0] += usize::from(telling.reached.is_some());
        self.whole[1] += usize::from(fixed.reached.is_some());
    }

    fn print(&self, sites: usize) {
        self.settled.print("until settled");
        self.settled_alike.print("until settled, at the same choice");
        self.reached.print("until one that leads the whole site stood first for good");
        println!(
            "settled on one that leads the whole site: {} of {sites}, in fixed order {}",
            self.whole[0], self.whole[1]
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
