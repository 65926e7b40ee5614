//! An interview: the most telling question first, an answer at a time, until no answer could change the
//! first choice. It holds the site file that comes of it; whoever asks (a terminal, a file of answers)
//! only passes questions and answers on.

use std::sync::Arc;

use toml_edit::{DocumentMut, Item, Table, value};

use crate::assess::{Assessment, assess};
use crate::diag::{Finding, Findings, Severity, Source};
use crate::explain::next_question::{Worth, outlook};
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::{Declaration, Kind, SiteKey};
use crate::site::file::SCHEMA;
use crate::units::UnitSystem;

mod number;

use number::{months_item, number_item};

/// Sites drawn to find the next question.
pub const SAMPLES: usize = 160;
/// What is asked first where it is not known: without them nothing else can be weighed.
const FIRST: [&str; 4] = ["site.purpose", "site.region", "site.latitude_deg", "site.longitude_deg"];

/// A question to a client.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Position of the fact.
    pub fact: usize,
    /// Key of the site file, for example `soil.ph`.
    pub key: String,
    /// The question in plain words.
    pub words: String,
    /// Unit of a number, or what may be answered.
    pub help: String,
    /// The answers among which one is chosen, where there are such.
    pub choices: Vec<String>,
    /// What the answer tells of the first choice, bits; `None` for what is always asked first.
    pub bits: Option<f64>,
}

/// What comes next.
#[derive(Clone, Debug, PartialEq)]
pub enum Next {
    /// A question.
    Ask(Question),
    /// No answer could change the first choice: the id of the species that is first, or tied for it, in
    /// every draw of what is left to ask, or `nothing`.
    Settled(String),
    /// Nothing is left to ask, and the first choice is open still.
    Exhausted,
}

/// An interview about one site.
pub struct Interview<'k> {
    knowledge: &'k Knowledge,
    path: String,
    document: DocumentMut,
    /// What was asked, in order, with the document before each answer.
    asked: Vec<(usize, DocumentMut)>,
    /// Whether no place of the gazetteer is near enough.
    nothing_near: bool,
}

impl<'k> Interview<'k> {
    /// Begins with a site file, or with nothing.
    ///
    /// # Errors
    /// What is wrong with the site file.
    pub fn new(text: Option<&str>, path: &str, knowledge: &'k Knowledge) -> Result<Self, Findings> {
        let begun = format!("schema = {SCHEMA}\n");
        let text = text.unwrap_or(&begun);
        read(text, path, knowledge)?;
        let document = text
            .parse::<DocumentMut>()
            .map_err(|error| vec![Finding::bare("toml-syntax", format!("{path}: {}", error.message()))])?;
        Ok(Self { knowledge, path: path.to_owned(), document, asked: Vec::new(), nothing_near: false })
    }

    /// The site file so far.
    pub fn site_file(&self) -> String {
        self.document.to_string()
    }

    /// Questions answered, those with "don't know" too.
    pub fn answered(&self) -> usize {
        self.asked.len()
    }

    /// The answer for the site so far.
    ///
    /// # Errors
    /// What is wrong with the site as a whole.
    pub fn assess(&self) -> Result<Assessment<'k>, Findings> {
        read(&self.site_file(), &self.path, self.knowledge)
    }

    /// The next question, the most telling one.
    ///
    /// # Errors
    /// What is wrong with the site as a whole.
    pub fn next(&self) -> Result<Next, Findings> {
        self.next_by(|worth| worth.first())
    }

    /// The next question in the order of the vocabulary, for comparison.
    ///
    /// # Errors
    /// What is wrong with the site as a whole.
    pub fn next_in_fixed_order(&self) -> Result<Next, Findings> {
        self.next_by(|worth| worth.iter().min_by_key(|one| one.fact))
    }

    fn next_by(&self, pick: impl Fn(&[Worth]) -> Option<&Worth>) -> Result<Next, Findings> {
        let assessment = self.assess()?;
        let not_asked: Vec<usize> = self.asked.iter().map(|(fact, _)| *fact).collect();
        let declared = &self.knowledge.vocabulary.site;
        let has_climate = self.knows_climate(&assessment);
        let needed = |id: &&&str| match **id {
            "site.latitude_deg" | "site.longitude_deg" => !has_climate && !self.nothing_near,
            _ => true,
        };
        for id in FIRST.iter().filter(needed) {
            let fact = declared.iter().position(|one| one.id == *id);
            if let Some(fact) = fact.filter(|fact| !self.known(&assessment, id) && !not_asked.contains(fact))
            {
                return Ok(Next::Ask(self.question(fact, None)));
            }
        }
        let outlook = outlook(&assessment, SAMPLES, &not_asked);
        if let [(first, _)] = &outlook.first[..] {
            return Ok(Next::Settled(first.clone()));
        }
        let mut worth = outlook.worth;
        while let Some(chosen) = pick(&worth).cloned() {
            if self.may_be_answered(chosen.fact) {
                return Ok(Next::Ask(self.question(chosen.fact, Some(chosen.bits))));
            }
            worth.retain(|one| one.fact != chosen.fact);
        }
        Ok(Next::Exhausted)
    }

    /// Whether any of its choices fits what is known so far: the kind of the trees, say, is no answer before
    /// it is told that there are trees.
    fn may_be_answered(&self, fact: usize) -> bool {
        let declared = &self.knowledge.vocabulary.site[fact];
        let choices = self.question(fact, None).choices;
        let fits = |choice: &String| {
            let mut with = self.document.clone();
            enter(&mut with, declared, self.written(declared, choice));
            read(&with.to_string(), &self.path, self.knowledge).is_ok()
        };
        choices.is_empty() || choices.iter().any(fits)
    }

    /// Whether the place is known and no place of the gazetteer is near enough to lend a climate.
    pub fn nothing_near(&self) -> bool {
        self.nothing_near
    }

    /// The keys of all that may be asked.
    pub fn keys(&self) -> Vec<String> {
        let declared = self.knowledge.vocabulary.site.iter();
        declared.filter(|own| !own.ask.is_empty()).filter_map(|own| Some(own.key.as_ref()?.path())).collect()
    }

    /// Whether the temperatures of the months are known, from the site file or from a place near it.
    pub fn knows_climate(&self, assessment: &Assessment<'_>) -> bool {
        self.known(assessment, "site.tmax_c")
    }

    fn known(&self, assessment: &Assessment<'_>, id: &str) -> bool {
        self.knowledge.vocabulary.slot(id).is_some_and(|slot| assessment.values[slot.index].is_some())
    }

    fn question(&self, fact: usize, bits: Option<f64>) -> Question {
        let declared = &self.knowledge.vocabulary.site[fact];
        let names = |list| self.knowledge.vocabulary.list(list).names.clone();
        let (help, choices) = match declared.kind {
            Kind::Number(unit) if unit.symbol.is_empty() => ("a number".to_owned(), Vec::new()),
            Kind::Number(unit) => {
                let other = unit.in_us();
                let other = match other.symbol == unit.symbol {
                    true => String::new(),
                    false => format!(", or with its unit behind it, such as {}", other.symbol),
                };
                (format!("a number, in {}{other}", unit.symbol), Vec::new())
            }
            Kind::Flag => (String::new(), vec!["yes".to_owned(), "no".to_owned()]),
            Kind::Scale(list) | Kind::Choice(list) => (String::new(), names(list)),
            _ => (declared.meaning.clone(), Vec::new()),
        };
        let key = declared.key.as_ref().map(|key| key.path()).unwrap_or_default();
        Question { fact, key, words: declared.ask.clone(), help, choices, bits }
    }

    /// Takes an answer; `None` is "don't know".
    ///
    /// # Errors
    /// What is wrong with the answer; the question stands.
    pub fn answer(&mut self, fact: usize, text: Option<&str>) -> Result<(), Findings> {
        let before = self.document.clone();
        let declared = &self.knowledge.vocabulary.site[fact];
        if let Some(text) = text {
            let mut after = before.clone();
            enter(&mut after, declared, self.written(declared, text));
            read(&after.to_string(), &self.path, self.knowledge)?;
            self.document = after;
        }
        self.asked.push((fact, before));
        self.take_the_nearest_climate();
        Ok(())
    }

    /// Takes what was said without being asked for, by positions of facts and all together, since one may need
    /// another. Nothing is taken where one of them is wrong.
    ///
    /// # Errors
    /// The positions of the facts that do not fit, each with what is wrong.
    pub fn take_unasked(&mut self, said: &[(usize, &str)]) -> Result<(), Vec<(usize, Findings)>> {
        self.document = self.with_all(said)?;
        self.take_the_nearest_climate();
        Ok(())
    }

    /// Whether all of this could be taken together, before any of it is.
    ///
    /// # Errors
    /// The positions of the facts that do not fit, each with what is wrong.
    pub fn could_take(&self, said: &[(usize, &str)]) -> Result<(), Vec<(usize, Findings)>> {
        self.with_all(said).map(|_| ())
    }

    /// The site file with all of this.
    fn with_all(&self, said: &[(usize, &str)]) -> Result<DocumentMut, Vec<(usize, Findings)>> {
        let entered = |document: &DocumentMut, (fact, text): &(usize, &str)| {
            let declared = &self.knowledge.vocabulary.site[*fact];
            let mut with = document.clone();
            enter(&mut with, declared, self.written(declared, text));
            with
        };
        let fault = |document: &DocumentMut| read(&document.to_string(), &self.path, self.knowledge).err();
        let mut document = said.iter().fold(self.document.clone(), |document, one| entered(&document, one));
        if fault(&document).is_some() {
            // one at a time, to know which do not fit; what fits may let others in
            document = self.document.clone();
            let mut left = said.to_vec();
            loop {
                let before = left.len();
                let mut faults = Vec::new();
                left.retain(|one| {
                    let with = entered(&document, one);
                    match fault(&with) {
                        Some(findings) => faults.push((one.0, findings)),
                        None => document = with,
                    }
                    faults.last().is_some_and(|(fact, _)| *fact == one.0)
                });
                if left.is_empty() {
                    break;
                }
                if left.len() == before {
                    return Err(faults);
                }
            }
        }
        Ok(document)
    }

    /// The fact that is asked for under a key of the site file.
    pub fn fact(&self, key: &str) -> Option<usize> {
        let declared = &self.knowledge.vocabulary.site;
        declared
            .iter()
            .position(|own| !own.ask.is_empty() && own.key.as_ref().is_some_and(|k| k.path() == key))
    }

    /// Whether a fact was asked for.
    pub fn was_asked(&self, fact: usize) -> bool {
        self.asked.iter().any(|(asked, _)| *asked == fact)
    }

    /// Whether the site file states a fact, in either system of units.
    pub fn states(&self, fact: usize) -> bool {
        let declared = &self.knowledge.vocabulary.site[fact];
        let stated = |key: &SiteKey| match key.section.as_str() {
            "" => self.document.get(&key.key).is_some(),
            section => self.document.get(section).is_some_and(|section| section.get(&key.key).is_some()),
        };
        declared.key.iter().chain(&declared.us_key).any(stated)
    }

    /// Takes the last answer back; false where there is none.
    pub fn back(&mut self) -> bool {
        match self.asked.pop() {
            Some((_, before)) => {
                self.document = before;
                self.nothing_near = false;
                true
            }
            None => false,
        }
    }

    /// Whether the site is placed by latitude and longitude.
    pub fn has_position(&self) -> bool {
        let known = |id: &str| {
            let key = self.knowledge.vocabulary.site.iter().find(|one| one.id == id)?.key.as_ref()?;
            self.document.get(&key.section)?.get(&key.key).map(|_| ())
        };
        known("site.latitude_deg").and(known("site.longitude_deg")).is_some()
    }

    /// Whether the site file names where the months of its climate come from, or gives them.
    fn has_climate(&self) -> bool {
        let Some(climate) = self.document.get("climate") else { return false };
        let of_months = |one: &&Declaration| matches!(one.kind, Kind::Months(_));
        let months = self.knowledge.vocabulary.site.iter().filter(of_months);
        let keys = months.flat_map(|one| one.key.iter().chain(&one.us_key));
        let in_climate = keys.filter(|key| key.section == "climate").map(|key| key.key.as_str());
        in_climate.chain(["file", "near"]).any(|key| climate.get(key).is_some())
    }

    /// Once the position is known the climate of the nearest place stands in, where one is near enough.
    fn take_the_nearest_climate(&mut self) {
        if !self.has_position() || self.has_climate() || self.nothing_near {
            return;
        }
        let mut with = self.document.clone();
        // a site whose lowest temperature alone is stated still wants the months
        let climate = with.entry("climate").or_insert_with(|| Item::Table(Table::new()));
        if let Some(climate) = climate.as_table_like_mut() {
            climate.insert("near", value(true));
        }
        match read(&with.to_string(), &self.path, self.knowledge) {
            Ok(_) => self.document = with,
            Err(_) => self.nothing_near = true,
        }
    }

    /// An answer as a value of TOML. What fits nothing is passed on as text, for its fault to be told.
    fn written(&self, declared: &Declaration, text: &str) -> Item {
        let text = text.trim();
        let plain = |text: &str| text.to_lowercase().replace([' ', '_'], "-");
        match declared.kind {
            Kind::Flag => match plain(text).as_str() {
                "yes" | "y" | "true" => value(true),
                "no" | "n" | "false" => value(false),
                _ => value(text),
            },
            Kind::Number(unit) => number_item(text, unit),
            Kind::Months(unit) => months_item(text, unit),
            Kind::Scale(list) | Kind::Choice(list) => {
                let names = &self.knowledge.vocabulary.list(list).names;
                let by_number = text.parse::<usize>().ok().and_then(|at| names.get(at.checked_sub(1)?));
                let by_name = || names.iter().find(|name| plain(name) == plain(text));
                value(by_number.or_else(by_name).map_or(text, String::as_str))
            }
            _ => value(text),
        }
    }

    /// The units that the site is written in.
    pub fn units(&self) -> UnitSystem {
        self.assess().map_or(UnitSystem::Si, |assessment| assessment.units())
    }
}

fn enter(document: &mut DocumentMut, declared: &Declaration, item: Item) {
    let Some(key) = &declared.key else { return };
    if key.section.is_empty() {
        document.insert(&key.key, item);
        return;
    }
    let section = document.entry(&key.section).or_insert_with(|| Item::Table(Table::new()));
    if let Some(table) = section.as_table_like_mut() {
        table.insert(&key.key, item);
    }
}

fn read<'k>(text: &str, path: &str, knowledge: &'k Knowledge) -> Result<Assessment<'k>, Findings> {
    let source = Arc::new(Source { path: path.to_owned(), text: text.to_owned().into() });
    let (assessment, findings) = assess(&source, knowledge)?;
    let refused = findings.iter().any(|finding| finding.severity == Severity::Error);
    if refused { Err(findings) } else { Ok(assessment) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::trial_tests::knowledge;

    /// Whatever unit stands with a question, or in a report in its place, is taken in the answer to it.
    #[test]
    fn the_units_that_a_question_prints_are_taken_in_its_answer() {
        let knowledge = knowledge();
        let interview = Interview::new(None, "test", &knowledge).unwrap();
        let mut taken = 0;
        for (fact, declared) in knowledge.vocabulary.site.iter().enumerate() {
            let (Kind::Number(unit), Some((low, high))) = (declared.kind, declared.allowed) else { continue };
            if declared.ask.is_empty() {
                continue;
            }
            let help = interview.question(fact, None).help;
            assert!(help.contains(unit.symbol), "{}: {help}", declared.id);
            let middle = f64::midpoint(low, high);
            for said in [unit, unit.in_us()].into_iter().filter(|said| !said.symbol.is_empty()) {
                for answer in [said.name, said.symbol] {
                    for gap in ["", " "] {
                        let answer = format!("{:.3}{gap}{answer}", said.express(middle));
                        let mut document = interview.document.clone();
                        enter(&mut document, declared, interview.written(declared, &answer));
                        let findings = match read(&document.to_string(), "test", &knowledge) {
                            Ok(_) => Vec::new(),
                            Err(findings) => findings,
                        };
                        let refused = findings.iter().find(|one| {
                            ["unknown-unit", "wrong-unit", "wrong-type", "out-of-range"].contains(&one.code)
                        });
                        assert_eq!(refused, None, "{}: {answer}", declared.id);
                        taken += 1;
                    }
                }
            }
        }
        assert!(taken > 60, "{taken}");
    }
}
