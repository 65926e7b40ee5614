//! Running again: the site with some of its inputs changed, and what a species comes to on it. Only
//! what a change can bear on is computed anew, which gives the same as computing all.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::candidate::need_state;
pub use super::site_levers::SiteLever;
use super::site_levers::{is_moot, levers, unstated};
use super::{Assessment, Candidate};
use crate::engine::cone::{Cone, Cones};
use crate::engine::facts::{Values, View};
use crate::engine::formula::{Compute, ComputedFact};
use crate::engine::plausible::Plausible;
use crate::engine::positions::Positions;
use crate::engine::run::{NeedOutcome, Outcome, run_site, run_some};
use crate::engine::value::Value;
use crate::knowledge::vocabulary::{Declaration, From};
use crate::rank::{Level, NeedState};
use crate::site::facts::{Derivation, SiteFacts, SitePlausible};
use crate::site::{SiteBalance, SiteDays};

/// One input brought to a setting.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Position of the fact.
    pub fact: usize,
    /// What it is brought to.
    pub value: Value,
}

/// The site of an assessment, ready to be tried with changed inputs.
pub struct Trials<'a, 'k> {
    assessment: &'a Assessment<'k>,
    derivation: Derivation<'a>,
    days: Option<&'a SiteDays<'a>>,
    cones: Cones,
    /// The inputs that can be changed, in the order of the vocabulary.
    pub levers: Vec<SiteLever>,
    /// The inputs that could be changed but are not stated, so that nobody knows from where.
    unstated: Vec<usize>,
    /// For each of them the facts that may rest on it on any site that was tried; `None` where that is not noted.
    may_rest: Option<Mutex<Vec<Positions>>>,
    /// For each fact of the site, the facts that may rest on it.
    reach: Vec<Positions>,
    tried: Mutex<HashMap<TrialKey, Arc<TriedSite<'a>>>>,
}

/// Settings, to be looked up by.
pub type TrialKey = Vec<(usize, u64)>;

/// The site with its inputs changed.
pub struct TriedSite<'a> {
    key: TrialKey,
    facts: SiteFacts,
    values: Values,
    balance: OnceLock<SiteBalance<'a>>,
}

/// What a species comes to on a changed site.
pub struct Seen<'c> {
    /// Its needs.
    pub needs: Vec<NeedState<usize>>,
    /// What rules said of each, anew or as before.
    outcomes: Vec<Result<NeedOutcome, &'c NeedOutcome>>,
}

/// What holds a species back: something that must give way, whatever else does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// A rule that was decided.
    Rule(usize),
    /// A need that is held by what is open alone.
    Need(usize),
}

impl<'a, 'k> Trials<'a, 'k> {
    /// Makes a site ready; `days` are those of its weather.
    pub fn new(assessment: &'a Assessment<'k>, days: Option<&'a SiteDays<'a>>) -> Self {
        let knowledge = assessment.knowledge;
        let declared = &knowledge.vocabulary.site;
        let derivation = Derivation::new(&assessment.site, knowledge);
        let levers = levers(assessment, &derivation);
        let unstated = unstated(assessment, &derivation);
        let reach = (0..declared.len()).map(|fact| reach(&assessment.facts, declared, fact)).collect();
        Self {
            assessment,
            derivation,
            days,
            cones: Cones::new(knowledge),
            levers,
            unstated,
            may_rest: None,
            reach,
            tried: Mutex::default(),
        }
    }

    /// The same, which notes what may rest on the inputs that are left out because they are not stated.
    pub fn noting(assessment: &'a Assessment<'k>, days: Option<&'a SiteDays<'a>>) -> Self {
        let trials = Self::new(assessment, days);
        let none = vec![Positions::default(); trials.unstated.len()];
        Self { may_rest: Some(Mutex::new(none)), ..trials }
    }

    /// The inputs left out because they are not stated on which any need may rest on one of the sites tried:
    /// whether changing them too would help was not looked into. Where a formula did not look at an input on any
    /// of these sites, another value of it changes none of them.
    pub fn left_out(&self) -> Vec<usize> {
        let Some(noted) = &self.may_rest else { return Vec::new() };
        let noted = noted.lock().unwrap_or_else(PoisonError::into_inner);
        let read = |facts: &Positions| self.cones.needs.iter().any(|need| need.site.meets(facts));
        let inputs = self.unstated.iter().zip(noted.iter());
        inputs.filter(|(_, facts)| read(facts)).map(|(input, _)| *input).collect()
    }

    /// The inputs that could be changed but are not stated.
    #[cfg(test)]
    pub fn unstated(&self) -> &[usize] {
        &self.unstated
    }

    /// Whether an input goes into the climate, whose days are the same in all trials.
    pub fn makes_climate(&self, fact: usize) -> bool {
        self.derivation.makes_climate(fact)
    }

    /// The site with these settings; each is made once.
    pub fn site(&self, settings: &[Setting]) -> Arc<TriedSite<'a>> {
        let key = key(settings);
        let known = self.tried.lock().unwrap_or_else(PoisonError::into_inner).get(&key).cloned();
        known.unwrap_or_else(|| {
            let site = Arc::new(self.make(settings));
            self.tried.lock().unwrap_or_else(PoisonError::into_inner).insert(key, site.clone());
            site
        })
    }

    /// The same for settings that nobody will ask for again.
    pub fn site_anew(&self, settings: &[Setting]) -> TriedSite<'a> {
        self.make(settings)
    }

    fn make(&self, settings: &[Setting]) -> TriedSite<'a> {
        let changed: Vec<(usize, Value)> = settings.iter().map(|one| (one.fact, one.value.clone())).collect();
        let facts = self.derivation.facts(&changed);
        self.note(&facts);
        let mut values = facts.values();
        let knowledge = self.assessment.knowledge;
        run_site(knowledge, &mut values, &SitePlausible { knowledge, facts: &facts });
        TriedSite { key: key(settings), facts, values, balance: OnceLock::new() }
    }

    /// Notes what may rest on the inputs that are left out, on a site that is tried.
    fn note(&self, facts: &SiteFacts) {
        let Some(noted) = &self.may_rest else { return };
        let declared = &self.assessment.knowledge.vocabulary.site;
        let rests = |input: &usize| match is_moot(*input, facts, declared) {
            true => Positions::default(),
            false => reach(facts, declared, *input),
        };
        let found: Vec<Positions> = self.unstated.iter().map(rests).collect();
        let mut noted = noted.lock().unwrap_or_else(PoisonError::into_inner);
        noted.iter_mut().zip(&found).for_each(|(noted, found)| noted.add_all(found));
    }

    /// What a candidate comes to with these settings, on the site that they make.
    pub fn see<'c>(
        &self,
        candidate: &'c Candidate<'k>,
        settings: &[Setting],
        on: &TriedSite<'a>,
    ) -> Seen<'c> {
        let knowledge = self.assessment.knowledge;
        let touched: Vec<usize> = (0..knowledge.needs.all.len())
            .filter(|need| self.bears(settings, &self.cones.needs[*need].site))
            .collect();
        let mut seen = Seen {
            needs: candidate.needs.clone(),
            outcomes: candidate.outcome.needs.iter().map(Err).collect(),
        };
        if touched.is_empty() {
            return seen;
        }
        let mut members = Positions::default();
        touched.iter().for_each(|need| members.add_all(&self.cones.needs[*need].members));
        let mut outcome = self.run(candidate, on, &members);
        let purpose = super::candidate::purpose(&on.values, knowledge);
        for need in touched {
            let own = std::mem::take(&mut outcome.needs[need]);
            seen.needs[need] = need_state(need, &own, purpose, &self.assessment.site, knowledge);
            seen.outcomes[need] = Ok(own);
        }
        seen
    }

    fn run(&self, candidate: &Candidate<'k>, on: &TriedSite<'a>, members: &Positions) -> Outcome {
        let knowledge = self.assessment.knowledge;
        let traits = candidate.species.trait_values();
        let plausible = SitePlausible { knowledge, facts: &on.facts };
        let balance = MadeWhenAsked { trials: self, on };
        run_some(knowledge, &on.values, &traits, Values::new(), &plausible, &balance, Some(members))
    }

    /// Some needs of a candidate, by position, on the site that settings make.
    pub fn needs(&self, candidate: usize, needs: &[usize], on: &TriedSite<'a>) -> Vec<NeedState<usize>> {
        if needs.is_empty() {
            return Vec::new();
        }
        let knowledge = self.assessment.knowledge;
        let mut members = Positions::default();
        needs.iter().for_each(|need| members.add_all(&self.cones.needs[*need].members));
        let outcome = self.run(&self.assessment.candidates[candidate], on, &members);
        let purpose = super::candidate::purpose(&on.values, knowledge);
        let state = |need: &usize| {
            need_state(*need, &outcome.needs[*need], purpose, &self.assessment.site, knowledge)
        };
        needs.iter().map(state).collect()
    }

    /// For each need the settings of a tried site that it rests on there: where they are the same the need is,
    /// whatever else was changed.
    pub fn rested_on(&self, on: &TriedSite<'_>) -> Vec<TrialKey> {
        let declared = &self.assessment.knowledge.vocabulary.site;
        let reached = on.key.iter().map(|setting| (setting, reach(&on.facts, declared, setting.0)));
        let reached: Vec<(&(usize, u64), Positions)> = reached.collect();
        let rested = |cone: &Cone| -> TrialKey {
            let rested = reached.iter().filter(|(_, reach)| reach.meets(&cone.site));
            rested.map(|(setting, _)| **setting).collect()
        };
        self.cones.needs.iter().map(rested).collect()
    }

    /// Whether an obstacle that is a rule still stands on a site; only its own cone is run.
    pub fn rule_stands(
        &self,
        candidate: &Candidate<'k>,
        rule: usize,
        on: &TriedSite<'a>,
        below: Level,
    ) -> bool {
        let outcome = self.run(candidate, on, &self.cones.rules[rule].members);
        let mut said = outcome.needs.iter().flat_map(|need| &need.contributions);
        said.any(|one| one.rule == rule && one.level >= below.value())
    }

    /// Whether any of the settings may bear on any of these facts of the site.
    fn bears(&self, settings: &[Setting], facts: &Positions) -> bool {
        settings.iter().any(|setting| self.reach[setting.fact].meets(facts))
    }

    /// The levers that may bear on an obstacle on a site, by position.
    pub fn levers_on(&self, obstacle: Obstacle, on: &TriedSite<'_>) -> Vec<usize> {
        let facts = &self.cone(obstacle).site;
        let declared = &self.assessment.knowledge.vocabulary.site;
        let rests = |fact, input| may_rest_on(&on.facts, declared, fact, input);
        let bears = |at: &usize| {
            let input = self.levers[*at].fact;
            !is_moot(input, &on.facts, declared) && facts.iter().any(|fact| rests(fact, input))
        };
        (0..self.levers.len()).filter(bears).collect()
    }

    /// Notes the inputs that are not stated on which an obstacle may rest on a site.
    pub fn note_unstated_on(&self, obstacle: Obstacle, on: &TriedSite<'_>, noted: &mut Positions) {
        let facts = &self.cone(obstacle).site;
        let declared = &self.assessment.knowledge.vocabulary.site;
        for input in &self.unstated {
            let rests = |fact| may_rest_on(&on.facts, declared, fact, *input);
            if !noted.has(*input) && !is_moot(*input, &on.facts, declared) && facts.iter().any(rests) {
                noted.add(*input);
            }
        }
    }

    /// Whether more of what a lever sets never makes an obstacle worse.
    pub fn most_serves(&self, obstacle: Obstacle, lever: usize) -> bool {
        let knowledge = self.assessment.knowledge;
        let fact = self.levers[lever].fact;
        let serves = |need: usize| knowledge.needs.all[need].more_never_harms.contains(&fact);
        match obstacle {
            Obstacle::Need(need) => serves(need),
            Obstacle::Rule(rule) => knowledge.rules[rule].rated_needs().all(serves),
        }
    }

    fn cone(&self, obstacle: Obstacle) -> &Cone {
        match obstacle {
            Obstacle::Rule(rule) => &self.cones.rules[rule],
            Obstacle::Need(need) => &self.cones.needs[need],
        }
    }
}

/// The balance of a tried site, made once a rule waits for it.
struct MadeWhenAsked<'t, 'a, 'k> {
    trials: &'t Trials<'a, 'k>,
    on: &'t TriedSite<'a>,
}

impl Compute for MadeWhenAsked<'_, '_, '_> {
    fn compute(&self, id: &str, view: &View<'_>, plausible: &dyn Plausible) -> Vec<ComputedFact> {
        let knowledge = self.trials.assessment.knowledge;
        let make = || SiteBalance::new(self.trials.days, &self.on.facts, knowledge);
        self.on.balance.get_or_init(make).compute(id, view, plausible)
    }
}

impl Seen<'_> {
    /// What keeps the needs that bear on the class from lying below a level; none where all do.
    pub fn obstacles(&self, below: Level) -> Vec<Obstacle> {
        let mut obstacles = Vec::new();
        for state in self.needs.iter().filter(|state| !state.is_saving && state.used() >= below) {
            let outcome = match &self.outcomes[state.need] {
                Ok(own) => own,
                Err(before) => before,
            };
            let decided = outcome.contributions.iter().filter(|one| one.level >= below.value());
            let before = obstacles.len();
            obstacles.extend(decided.map(|one| Obstacle::Rule(one.rule)));
            if obstacles.len() == before {
                obstacles.push(Obstacle::Need(state.need));
            }
        }
        obstacles.dedup();
        obstacles
    }
}

/// Whether a fact of the site may come out otherwise when an input does.
fn may_rest_on(facts: &SiteFacts, declared: &[Declaration], fact: usize, input: usize) -> bool {
    let settled = declared[fact].from == From::File
        || facts.known.get(fact).is_some_and(Option::is_some)
        || facts.open.contains_key(&fact);
    let own = facts.rests_on.get(fact).is_some_and(|behind| behind.has(input));
    // a fact that no formula entered might be entered on another way through them
    own || (!settled && facts.looked_at.has(input))
}

/// The facts that may rest on an input.
fn reach(facts: &SiteFacts, declared: &[Declaration], input: usize) -> Positions {
    let mut reach = Positions::default();
    (0..facts.known.len())
        .filter(|fact| may_rest_on(facts, declared, *fact, input))
        .for_each(|fact| reach.add(fact));
    reach
}

/// Settings as a key, the facts in the order given.
pub fn key(settings: &[Setting]) -> TrialKey {
    settings.iter().map(|one| (one.fact, bits(&one.value))).collect()
}

/// Settings with one more, in the order of the facts.
pub fn with(settings: &[Setting], one: Setting) -> Vec<Setting> {
    let mut more = settings.to_vec();
    let turn = more.partition_point(|own| own.fact < one.fact);
    more.insert(turn, one);
    more
}

fn bits(value: &Value) -> u64 {
    match value {
        Value::Number(number) => number.to_bits(),
        other => other.as_position().or(other.as_flag().map(usize::from)).unwrap_or(usize::MAX) as u64,
    }
}
