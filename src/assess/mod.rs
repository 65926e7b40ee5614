//! The assessment: a site's facts through the rules and the ranking, for every candidate.

mod candidate;
mod changes;
pub mod need_memory;
pub mod reach;
pub mod robust;
#[cfg(test)]
mod robust_tests;
mod rule_use;
mod site_levers;
pub mod trial;
#[cfg(test)]
pub mod trial_tests;

use crate::diag::{Finding, Findings, Source};
use crate::engine::facts::{Values, View};
use crate::engine::formula::{Compute, ComputedFact};
use crate::engine::run::{Outcome, run_pair, run_site};
use crate::knowledge::Knowledge;
use crate::knowledge::species::Species;
use crate::rank::{Class, Entry, Place, place, place_by, within};
use crate::site::facts::{SiteFacts, SitePlausible, derive};
use crate::site::file::{self, SiteFile};
use crate::site::read_ahead::ReadAhead;
use crate::site::site_weather::{SiteWeather, site_weather};
use crate::site::water_balance::{SpeciesMonths, WATER_BALANCE};
use crate::site::{SiteBalance, SiteDays};
use crate::units::UnitSystem;

use crate::side_by_side::side_by_side;
use reach::Reach;
use robust::{Robustness, Shares};
use trial::Trials;

pub use candidate::{Candidate, matters};
pub use changes::{AnswerChange, Hearers, SpokenChange, answer_changes, spoken_changes};
pub use rule_use::{RuleUse, count_rules};

/// The answer for one site, before it is explained or printed.
#[derive(Debug)]
pub struct Assessment<'k> {
    /// The knowledge that it rests on.
    pub knowledge: &'k Knowledge,
    /// The site file.
    pub site: SiteFile,
    /// Facts of the site.
    pub facts: SiteFacts,
    /// Facts of the site with those that rules derived, as the engine saw them.
    pub values: Values,
    /// The days behind the soil-water balance, where the climate is known.
    pub weather: Option<SiteWeather>,
    /// What rules say of the site alone.
    pub site_outcome: Outcome,
    /// Every candidate, the best first; refused ones last.
    pub candidates: Vec<Candidate<'k>>,
    /// How firm the order is, where that was asked for.
    pub robustness: Option<Robustness>,
}

/// Assesses the site that a text describes.
pub fn assess<'k>(
    source: &std::sync::Arc<Source>,
    knowledge: &'k Knowledge,
) -> Result<(Assessment<'k>, Findings), Findings> {
    assess_ahead(source, knowledge, None)
}

/// The same with the climate file that the text names, where that was read before.
pub fn assess_ahead<'k>(
    source: &std::sync::Arc<Source>,
    knowledge: &'k Knowledge,
    ahead: Option<ReadAhead>,
) -> Result<(Assessment<'k>, Findings), Findings> {
    let (site, findings) = file::read(source, knowledge, ahead)?;
    Ok((assess_site(site, knowledge)?, findings))
}

/// Assesses a site that was read.
pub fn assess_site(site: SiteFile, knowledge: &Knowledge) -> Result<Assessment<'_>, Findings> {
    let mut assessment = assess_unparted(site, knowledge)?;
    assessment.split_refused();
    Ok(assessment)
}

/// The same with the refused left in one class, for answers that tell nothing of them: to part them
/// every one is run again with changed inputs.
pub fn assess_unparted(site: SiteFile, knowledge: &Knowledge) -> Result<Assessment<'_>, Findings> {
    let facts = derive(&site, knowledge);
    let plausible = SitePlausible { knowledge, facts: &facts };
    let weather = site_weather(&site, &facts, knowledge);
    let mut values = facts.values();
    let site_outcome = run_site(knowledge, &mut values, &plausible);
    let chosen: Vec<&Species> = knowledge
        .species
        .iter()
        .filter(|species| site.only.is_empty() || site.only.contains(&species.id))
        .filter(|species| !site.without.contains(&species.id))
        .collect();
    if chosen.is_empty() {
        return Err(vec![no_candidates(&site)]);
    }
    let mut candidates = assess_all(&chosen, &site, &facts, &values, weather.as_ref(), knowledge);
    order(&mut candidates, knowledge.needs.tie_within);
    Ok(Assessment { knowledge, site, facts, values, weather, site_outcome, candidates, robustness: None })
}

/// The finding for a site file that leaves no species, at the lists that leave none.
fn no_candidates(site: &SiteFile) -> Finding {
    let message = "no species is left as a candidate";
    match &site.lists[..] {
        [] => Finding::bare("no-candidates", message).help("the knowledge base holds no species"),
        [(key, place), others @ ..] => {
            let finding = Finding::error("no-candidates", place, message);
            match others {
                [] => finding.help(format!("`{key}` leaves nothing")),
                _ => others
                    .iter()
                    .fold(finding, |finding, (other, place)| {
                        finding.also(place, format!("and what `{other}` takes away"))
                    })
                    .help("the two lists together leave nothing"),
            }
        }
    }
}

/// Assesses species side by side on the processors at hand; each is judged by itself, so the
/// answer does not depend on how many there are.
fn assess_all<'k>(
    chosen: &[&'k Species],
    site: &SiteFile,
    facts: &SiteFacts,
    values: &Values,
    weather: Option<&SiteWeather>,
    knowledge: &'k Knowledge,
) -> Vec<Candidate<'k>> {
    let days = weather.map(SiteDays::new);
    let balance = SiteBalance::new(days.as_ref(), facts, knowledge);
    side_by_side(chosen, |species| {
        let plausible = SitePlausible { knowledge, facts };
        assess_one(species, site, values, (&plausible, &balance), knowledge)
    })
}

fn assess_one<'k>(
    species: &'k Species,
    site: &SiteFile,
    values: &Values,
    (plausible, balance): (&SitePlausible<'_>, &SiteBalance<'_>),
    knowledge: &'k Knowledge,
) -> Candidate<'k> {
    let traits = species.trait_values();
    let outcome = run_pair(knowledge, values, &traits, Values::new(), plausible, balance);
    candidate::stand(species, outcome, site, values, knowledge)
}

/// Puts candidates in their order and gives each its place.
fn order(candidates: &mut [Candidate<'_>], tie_within: f64) {
    let places = place(&entries(candidates), tie_within);
    take_places(candidates, places);
}

fn entries(candidates: &[Candidate<'_>]) -> Vec<Entry<String>> {
    let entry = |one: &Candidate<'_>| Entry {
        id: one.species.id.clone(),
        class: one.standing.class,
        index: one.standing.index,
    };
    candidates.iter().map(entry).collect()
}

fn take_places(candidates: &mut [Candidate<'_>], places: Vec<Place<String>>) {
    for (at, own) in places.into_iter().enumerate() {
        if let Some(from) = candidates[at..].iter().position(|one| one.species.id == own.id) {
            candidates[at..=at + from].rotate_right(1);
            candidates[at].rank = own.rank;
            candidates[at].tied_with = own.tied_with;
        }
    }
}

impl<'k> Assessment<'k> {
    /// Parts those refused into N1, which what the client can change would bring to S3, and N2.
    fn split_refused(&mut self) {
        let days = self.weather.as_ref().map(SiteDays::new);
        let trials = Trials::new(self, days.as_ref());
        let refused: Vec<&Candidate<'k>> =
            self.candidates.iter().filter(|one| one.standing.class.is_refused()).collect();
        let found = side_by_side(&refused, |candidate| match reach::reach(&trials, candidate, Class::S3) {
            Reach::Settings(_) => Some((true, Vec::new())),
            Reach::Never { left_out, .. } => Some((false, left_out)),
            Reach::Unsettled => None,
        });
        drop(trials);
        let refused = self.candidates.iter_mut().filter(|one| one.standing.class.is_refused());
        for (candidate, changeable) in refused.zip(found) {
            if let Some((changeable, left_out)) = changeable {
                candidate.standing.set_changeable(changeable);
                candidate.left_out = left_out;
            }
        }
    }

    /// The candidate of a species.
    pub fn candidate(&self, id: &str) -> Option<&Candidate<'k>> {
        self.candidates.iter().find(|one| one.species.id == id)
    }

    /// Draws samples of traits and site inside their stated spreads; none asked for leave it open how
    /// firm the order is. The order stays; a place is shared by whoever lies as near as without samples, and
    /// by whoever the samples do not tell from the first of it.
    pub fn draw_samples(&mut self, samples: usize) {
        let tie_within = self.knowledge.needs.tie_within;
        self.robustness = (samples > 0).then(|| robust::sample(self, samples));
        let Some(robustness) = &self.robustness else {
            return order(&mut self.candidates, tie_within);
        };
        let ids: Vec<&str> = self.candidates.iter().map(|one| one.species.id.as_str()).collect();
        let position = |one: &Entry<String>| ids.iter().position(|id| *id == one.id);
        let places = place_by(&entries(&self.candidates), &|leader, own| {
            let told = position(leader).zip(position(own)).and_then(|(a, b)| robustness.ties(a, b));
            within(leader, own, tie_within) || told == Some(true)
        });
        take_places(&mut self.candidates, places);
    }

    /// How a candidate fared over the samples.
    pub fn shares(&self, candidate: &Candidate<'_>) -> Option<(usize, Shares)> {
        let robustness = self.robustness.as_ref()?;
        let at = self.candidates.iter().position(|own| own.species.id == candidate.species.id)?;
        Some((robustness.samples, (*robustness.shares.get(at)?)?))
    }

    /// The number of samples, where they tell who shares a place, and the share of them in which one
    /// candidate stands before another.
    pub fn share_before(&self, one: &Candidate<'_>, other: &Candidate<'_>) -> Option<(usize, f64)> {
        let robustness = self.robustness.as_ref().filter(|own| own.tell_ties())?;
        let at =
            |one: &Candidate<'_>| self.candidates.iter().position(|own| own.species.id == one.species.id);
        Some((robustness.samples, *robustness.before.get(at(other)?)?.get(at(one)?)?))
    }

    /// Takes in a species that the site file leaves out.
    pub fn add(&mut self, species: &'k Species) {
        let plausible = SitePlausible { knowledge: self.knowledge, facts: &self.facts };
        let days = self.weather.as_ref().map(SiteDays::new);
        let balance = SiteBalance::new(days.as_ref(), &self.facts, self.knowledge);
        let candidate = assess_one(species, &self.site, &self.values, (&plausible, &balance), self.knowledge);
        self.candidates.push(candidate);
        self.split_refused();
        order(&mut self.candidates, self.knowledge.needs.tie_within);
    }

    /// Water of a candidate by month, as the daily balance gives it.
    pub fn monthly_water(&self, candidate: &Candidate<'_>) -> Option<SpeciesMonths> {
        self.at_the_balance(candidate, |balance, view| balance.months(view))
    }

    /// What the daily balance gives for the year of a candidate: of each figure the values that it may
    /// have, and what they wait for.
    pub fn yearly_water(&self, candidate: &Candidate<'_>) -> Vec<ComputedFact> {
        let plausible = SitePlausible { knowledge: self.knowledge, facts: &self.facts };
        self.at_the_balance(candidate, |balance, view| balance.compute(WATER_BALANCE.id, view, &plausible))
    }

    fn at_the_balance<T>(
        &self,
        candidate: &Candidate<'_>,
        ask: impl FnOnce(&SiteBalance<'_>, &View<'_>) -> T,
    ) -> T {
        let days = self.weather.as_ref().map(SiteDays::new);
        let balance = SiteBalance::new(days.as_ref(), &self.facts, self.knowledge);
        let species = candidate.species.trait_values();
        let view = View {
            site: &self.values,
            species: &species,
            fit: &candidate.outcome.fit,
            needs: &[],
            awaited: &candidate.outcome.awaited,
            awaited_of_site: &self.facts.awaited(self.knowledge),
        };
        ask(&balance, &view)
    }

    /// The units that the site file is written in.
    pub fn units(&self) -> UnitSystem {
        self.site.units
    }
}
