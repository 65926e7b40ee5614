//! From a site file to facts: what was given, and all that follows from it by formula. Nothing is
//! guessed silently: each computed fact names its method, and a fact that rests on an unknown input
//! is left unknown, with the values that the plausible inputs would give.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::climate::DailyRecord;
use super::file::SiteFile;
use super::{climate_facts, light_facts, region_facts, soil_facts, water_facts};
use crate::engine::facts::{Known, Origin, Values};
use crate::engine::plausible::Plausible;
use crate::engine::positions::Positions;
use crate::engine::value::{Slot, Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::{From, Kind};

/// What is known of a site.
#[derive(Clone, Debug)]
pub struct SiteFacts {
    /// Known facts, by the position of their declaration.
    pub known: Vec<Option<Known>>,
    /// What an unknown computed fact might be, with the inputs that it waits for.
    pub open: BTreeMap<usize, OpenFact>,
    /// Standard errors of the facts that are estimated with one, in the base of their unit.
    pub errors: BTreeMap<usize, f64>,
    /// For each fact, itself and the facts of the site file that were looked at to come to it.
    pub rests_on: Vec<Positions>,
    /// Every fact that any formula looked at.
    pub looked_at: Positions,
}

/// A computed fact that waits for inputs.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenFact {
    /// The values that plausible inputs would give.
    pub plausible: Vec<Value>,
    /// Positions of the inputs that it waits for.
    pub waits_for: Vec<usize>,
}

impl SiteFacts {
    /// Computed facts that are not known, and may still be.
    pub fn awaited(&self, knowledge: &Knowledge) -> Positions {
        let declared = &knowledge.vocabulary.site;
        let mut awaited = Positions::default();
        let open = self.open.iter().filter(|(at, open)| {
            self.known[**at].is_none() && !open.plausible.is_empty() && declared[**at].from == From::Computed
        });
        open.for_each(|(at, _)| awaited.add(*at));
        awaited
    }

    /// The values alone, as the engine reads them.
    pub fn values(&self) -> Values {
        self.known.iter().map(|known| known.as_ref().map(|known| known.value.clone())).collect()
    }

    /// Leaves open every fact that is unknown here and that each supposed value of an input would
    /// give a value to.
    fn leave_open_all(&mut self, input: usize, supposed: &[Self]) {
        for at in (0..self.known.len()).filter(|at| *at != input) {
            if self.known[at].is_some() {
                continue;
            }
            let values: Vec<Vec<Value>> = supposed.iter().map(|facts| facts.possible(at)).collect();
            if values.is_empty() || values.iter().any(Vec::is_empty) {
                continue;
            }
            let mut plausible = values.concat();
            plausible.dedup();
            // open already for want of other inputs, and this one would tell nothing more
            if values.iter().all(|values| *values == self.possible(at)) {
                continue;
            }
            let open = self
                .open
                .entry(at)
                .or_insert_with(|| OpenFact { plausible: Vec::new(), waits_for: Vec::new() });
            open.plausible = plausible;
            let waits =
                supposed.iter().filter_map(|facts| facts.open.get(&at)).flat_map(|open| &open.waits_for);
            open.waits_for.extend(std::iter::once(&input).chain(waits));
            open.waits_for.sort_unstable();
            open.waits_for.dedup();
            for facts in supposed {
                self.rests_on[at].add_all(&facts.rests_on[at]);
            }
        }
        for facts in supposed {
            self.looked_at.add_all(&facts.looked_at);
        }
    }

    /// What a fact is or, where it is open, may be.
    fn possible(&self, at: usize) -> Vec<Value> {
        match &self.known[at] {
            Some(known) => vec![known.value.clone()],
            None => self.open.get(&at).map_or_else(Vec::new, |open| open.plausible.clone()),
        }
    }

    /// Facts as the site file gives them, before any formula.
    fn given(known: Vec<Option<Known>>) -> Self {
        let rests_on = (0..known.len()).map(Positions::of).collect();
        Self {
            known,
            open: BTreeMap::new(),
            errors: BTreeMap::new(),
            rests_on,
            looked_at: Positions::default(),
        }
    }
}

/// Everything that formulas read and write: the facts so far and the knowledge behind them.
pub struct Workbench<'a> {
    /// The knowledge base.
    pub knowledge: &'a Knowledge,
    /// The facts so far.
    pub facts: SiteFacts,
    /// What the formula at work looked at so far.
    looked_at: RefCell<Positions>,
}

impl<'a> Workbench<'a> {
    /// A workbench with these facts.
    pub fn new(knowledge: &'a Knowledge, facts: SiteFacts) -> Self {
        Self { knowledge, facts, looked_at: RefCell::default() }
    }

    /// Lets one formula work; what it looks at is noted with the facts that it enters.
    fn work(&mut self, formula: impl FnOnce(&mut Self)) {
        self.looked_at.replace(Positions::default());
        formula(self);
        self.facts.looked_at.add_all(&self.looked_at.take());
    }

    /// Notes that a fact was looked at, and with it all that it rests on.
    fn look_at(&self, at: usize) {
        let mut looked_at = self.looked_at.borrow_mut();
        match self.facts.rests_on.get(at) {
            Some(behind) => looked_at.add_all(behind),
            None => looked_at.add(at),
        }
    }

    /// Notes what a fact that is entered now rests on.
    fn rests(&mut self, at: usize) {
        let looked_at = self.looked_at.borrow().clone();
        if let Some(behind) = self.facts.rests_on.get_mut(at) {
            behind.add_all(&looked_at);
        }
    }

    /// Position of a fact of the site by its name without `site.`.
    pub fn position(&self, name: &str) -> Option<usize> {
        self.knowledge.vocabulary.slot(&format!("site.{name}")).map(|slot| slot.index)
    }

    /// A known value.
    pub fn value(&self, name: &str) -> Option<&Value> {
        let at = self.position(name)?;
        self.look_at(at);
        Some(&self.facts.known[at].as_ref()?.value)
    }

    /// A known number in the base of its unit.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.value(name)?.as_number()
    }

    /// Twelve known numbers in the base of their unit.
    pub fn months(&self, name: &str) -> Option<[f64; 12]> {
        self.value(name)?.as_months().copied()
    }

    /// The name of a known step or choice.
    pub fn name_of(&self, name: &str) -> Option<&str> {
        let position = self.value(name)?.as_position()?;
        self.list(name)?.names.get(position).map(String::as_str)
    }

    /// The list behind a scale or choice.
    pub fn list(&self, name: &str) -> Option<&crate::knowledge::vocabulary::NameList> {
        match self.knowledge.vocabulary.site[self.position(name)?].kind {
            Kind::Scale(list) | Kind::Choice(list) => Some(self.knowledge.vocabulary.list(list)),
            _ => None,
        }
    }

    /// What the vocabulary holds plausible for a fact.
    pub fn plausible(&self, name: &str) -> &[Value] {
        let Some(at) = self.position(name) else { return &[] };
        self.look_at(at);
        &self.knowledge.vocabulary.site[at].plausible
    }

    /// Enters a fact, unless the site file gave it.
    pub fn enter(&mut self, name: &str, value: Value, origin: Origin) {
        if let Some(at) = self.position(name)
            && self.facts.known[at].is_none()
        {
            self.facts.known[at] = Some(Known { value, origin });
            self.rests(at);
        }
    }

    /// Notes the standard error of an estimated fact, in the base of its unit.
    pub fn errs_by(&mut self, name: &str, error: f64) {
        if let Some(at) = self.position(name) {
            self.facts.errors.insert(at, error);
        }
    }

    /// Enters a computed number.
    pub fn compute(&mut self, name: &str, value: f64, method: &str) {
        if value.is_finite() {
            self.enter(name, Value::Number(value), Origin::Computed(method.to_owned()));
        }
    }

    /// Enters twelve computed numbers.
    pub fn compute_months(&mut self, name: &str, months: [f64; 12], method: &str) {
        if months.iter().all(|month| month.is_finite()) {
            self.enter(name, Value::Months(months.into()), Origin::Computed(method.to_owned()));
        }
    }

    /// Enters a step or choice by its name.
    pub fn compute_name(&mut self, name: &str, step: &str, origin: Origin) {
        if let Some(value) = self.named(name, step) {
            self.enter(name, value, origin);
        }
    }

    /// The value of a step or choice by its name.
    pub fn named(&self, name: &str, step: &str) -> Option<Value> {
        let list = self.list(name)?;
        let position = list.position(step)?;
        Some(if list.ordered { Value::Step(position) } else { Value::Choice(position) })
    }

    /// Leaves a computed fact open: it waits for inputs, and plausible ones would give these values.
    pub fn leave_open(&mut self, name: &str, mut plausible: Vec<Value>, waits_for: &[&str]) {
        let Some(at) = self.position(name).filter(|at| self.facts.known[*at].is_none()) else { return };
        plausible.dedup();
        // whoever knows the nearer input speaks last; nothing is forgotten of what is plausible
        if plausible.is_empty() && self.facts.open.contains_key(&at) {
            return;
        }
        let waits_for = waits_for.iter().filter_map(|input| self.position(input)).collect();
        self.facts.open.insert(at, OpenFact { plausible, waits_for });
        self.rests(at);
    }

    /// Takes an input as not stated where `is_moot`; either way it rests on what was looked at to tell.
    pub fn unstate(&mut self, name: &str, is_moot: bool) {
        let Some(at) = self.position(name) else { return };
        if is_moot {
            self.facts.known[at] = None;
        }
        self.rests(at);
    }
}

/// All facts of a site.
pub fn derive(site: &SiteFile, knowledge: &Knowledge) -> SiteFacts {
    Derivation::new(site, knowledge).facts(&[])
}

/// The facts of a site up to its climate, from which the rest follows: what is tried at the site
/// seldom changes the climate, and that part is the dearest.
pub struct Derivation<'a> {
    site: &'a SiteFile,
    knowledge: &'a Knowledge,
    given: Vec<Option<Known>>,
    climate: SiteFacts,
}

impl<'a> Derivation<'a> {
    /// The facts that the file gives and those of the climate.
    pub fn new(site: &'a SiteFile, knowledge: &'a Knowledge) -> Self {
        let given = given(site);
        let climate = climate_of(site, knowledge, given.clone());
        Self { site, knowledge, given, climate }
    }

    /// Whether the facts of the climate may rest on an input.
    pub fn makes_climate(&self, fact: usize) -> bool {
        self.climate.looked_at.has(fact)
    }

    /// All facts, where some inputs of the site are other than its file says.
    pub fn facts(&self, changed: &[(usize, Value)]) -> SiteFacts {
        let mut facts = self.without_suppositions(changed);
        for (at, plausible) in self.unknown_months(&facts) {
            let supposed = plausible.iter().map(|value| {
                let changed: Vec<_> = changed.iter().cloned().chain([(at, value.clone())]).collect();
                self.without_suppositions(&changed)
            });
            facts.leave_open_all(at, &supposed.collect::<Vec<_>>());
        }
        facts
    }

    /// Inputs by the month that are not known, with the years that are plausible: formulas turn the
    /// whole year into figures, so that each year is tried as a whole.
    fn unknown_months(&self, facts: &SiteFacts) -> Vec<(usize, &'a [Value])> {
        let declared = self.knowledge.vocabulary.site.iter().enumerate();
        declared
            .filter(|(at, declared)| matches!(declared.kind, Kind::Months(_)) && facts.known[*at].is_none())
            .map(|(at, declared)| (at, declared.plausible.as_slice()))
            .filter(|(_, plausible)| !plausible.is_empty())
            .collect()
    }

    fn without_suppositions(&self, changed: &[(usize, Value)]) -> SiteFacts {
        let change = |known: &mut Vec<Option<Known>>| {
            for (at, value) in changed {
                if let Some(fact) = known.get_mut(*at) {
                    *fact = Some(Known { value: value.clone(), origin: Origin::Given });
                }
            }
        };
        let in_climate = changed.iter().any(|(at, _)| self.makes_climate(*at));
        let start = if in_climate {
            let mut known = self.given.clone();
            change(&mut known);
            climate_of(self.site, self.knowledge, known)
        } else {
            let mut start = self.climate.clone();
            change(&mut start.known);
            start
        };
        let mut bench = Workbench::new(self.knowledge, start);
        bench.work(soil_facts::derive);
        bench.work(light_facts::derive);
        bench.work(water_facts::derive);
        bench.facts
    }
}

/// What the site file says, with what it was read from.
fn given(site: &SiteFile) -> Vec<Option<Known>> {
    let from = |index: usize| {
        let from_file = site.from_climate.as_ref().filter(|file| file.filled.contains(&index));
        let from_near = site.from_nearest.as_ref().filter(|near| near.filled.contains(&index));
        let lent_height = site.from_nearest.as_ref().and_then(|near| near.height.as_ref());
        let lent_height = lent_height.filter(|(at, _)| *at == index);
        match (from_file, from_near, lent_height) {
            (Some(file), _, _) => file.origin_of(index),
            (None, Some(near), _) => near.origin_of(index),
            (None, None, Some((_, words))) => Origin::Estimated(words.clone()),
            (None, None, None) => Origin::Given,
        }
    };
    let values = site.values.iter().enumerate();
    values
        .map(|(index, given)| {
            let (value, _) = given.as_ref()?;
            Some(Known { value: value.clone(), origin: from(index) })
        })
        .collect()
}

fn climate_of(site: &SiteFile, knowledge: &Knowledge, known: Vec<Option<Known>>) -> SiteFacts {
    let mut bench = Workbench::new(knowledge, SiteFacts::given(known));
    let record = days_behind_the_temperatures(site, &bench);
    let near = site.from_nearest.as_ref();
    bench.work(|bench| climate_facts::derive(bench, record, near));
    bench.work(region_facts::derive);
    bench.facts
}

/// The days of the station's record, where both maxima and minima of the site are its own.
fn days_behind_the_temperatures<'a>(site: &'a SiteFile, bench: &Workbench<'_>) -> Option<&'a DailyRecord> {
    let file = site.from_climate.as_ref()?;
    let from_file = |name| bench.position(name).is_some_and(|at| file.filled.contains(&at));
    file.daily.as_ref().filter(|_| from_file("tmax_c") && from_file("tmin_c"))
}

/// What may be supposed of the unknown facts of a site.
pub struct SitePlausible<'a> {
    /// The knowledge base.
    pub knowledge: &'a Knowledge,
    /// The facts of the site.
    pub facts: &'a SiteFacts,
}

impl Plausible for SitePlausible<'_> {
    fn awaited(&self) -> Positions {
        self.facts.awaited(self.knowledge)
    }

    fn values(&self, slot: Slot) -> Vec<Value> {
        if slot.space != Space::Site {
            return Vec::new();
        }
        match self.facts.open.get(&slot.index) {
            Some(open) => open.plausible.clone(),
            None => {
                self.knowledge.vocabulary.declaration(slot).map_or_else(Vec::new, |one| one.plausible.clone())
            }
        }
    }
}
