//! How firm the order is: traits and site drawn again and again inside their stated spreads, by a
//! fixed seed, and how often each species comes out first, among the first three, and in its class.
//!
//! A trait takes the value of one of its sources, drawn by their weights and inside the spread that the
//! source itself states; an estimated trait takes a known value of its group. An input of the site that
//! is not known takes a plausible value, and the lowest temperature of a usual year, where it is
//! estimated or lent by another place, and the light err by their stated standard errors. Everything else
//! stands as it is.
//!
//! The samples also say who shares a place: see [`TIES_FROM`].

use super::{Assessment, Candidate};
use crate::engine::facts::Values;
use crate::engine::run::{run_pair, run_site};
use crate::engine::value::{Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::Rule;
use crate::knowledge::species::{Species, TraitValue};
use crate::knowledge::vocabulary::{Declaration, From, Kind, Merge};
use crate::rank::{Class, Entry, Standing, place};
use crate::side_by_side::side_by_side;
use crate::site::facts::{Derivation, SiteFacts, SitePlausible};
use crate::site::file::LIGHT;
use crate::site::site_weather::site_weather;
use crate::site::{SiteBalance, SiteDays};

/// The seed of every draw.
pub const SEED: u64 = 20_261_125;
/// Candidates that are drawn for, the first ones of the answer: who stands behind so many will not
/// come among the first three.
const CONTENDERS: usize = 24;

/// Share of the samples in which a candidate must stand before the leader of its group to share its
/// place. A convention, no source: one of two would be a toss of a coin, and a candidate that comes
/// before in less than one of four is behind in more than three of four, which a client may rely on.
pub const TIES_FROM: f64 = 0.25;
/// Fewest samples that tell who shares a place: with 40, a candidate that truly stands before the leader in one
/// of ten is tied with it one time in two hundred.
pub const FEWEST_FOR_TIES: usize = 40;
/// Index points that are rounding alone.
const SAME_INDEX: f64 = 1e-9;

/// How a candidate fared over the samples.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shares {
    /// Share of the samples in which it is first (those who tie for it count in equal parts).
    pub first: f64,
    /// Share in which its place is 1 to 3.
    pub first_three: f64,
    /// Share in which it is in the class that the answer gives.
    pub in_class: f64,
}

/// How firm an answer is.
#[derive(Clone, Debug, PartialEq)]
pub struct Robustness {
    /// Samples drawn.
    pub samples: usize,
    /// By candidate, in their order; `None` for those that were not drawn for.
    pub shares: Vec<Option<Shares>>,
    /// For those drawn for, the first so many: share of the samples in which the second stands before
    /// the first. Samples in which they are equal, or both refused, count half.
    pub before: Vec<Vec<f64>>,
}

impl Robustness {
    /// Whether the samples do not tell a candidate from the leader of its group, by position; `None`
    /// where one of them was not drawn for, or the samples are too few.
    pub fn ties(&self, leader: usize, own: usize) -> Option<bool> {
        let before = *self.before.get(leader)?.get(own)?;
        self.tell_ties().then_some(before >= TIES_FROM)
    }

    /// Whether there are enough samples to tell who shares a place.
    pub fn tell_ties(&self) -> bool {
        self.samples >= FEWEST_FOR_TIES
    }
}

/// Draws samples of an assessment.
pub fn sample(assessment: &Assessment<'_>, samples: usize) -> Robustness {
    let knowledge = assessment.knowledge;
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let derivation = Derivation::new(&assessment.site, knowledge);
    let inputs = inputs(assessment);
    let suited = assessment.candidates.iter().take_while(|one| one.standing.class != Class::N).count();
    let contenders: Vec<&Candidate<'_>> = assessment.candidates[..suited.min(CONTENDERS)].iter().collect();
    let draws: Vec<Vec<TraitDraw>> = contenders.iter().map(|one| draws(one.species, knowledge)).collect();
    let streams: Vec<u64> =
        inputs.iter().map(|input| stream("", &knowledge.vocabulary.site[input.fact].id)).collect();
    let numbers: Vec<u64> = (0..samples as u64).collect();
    let outcomes: Vec<Vec<Told>> = side_by_side(&numbers, |number| {
        let changed: Vec<(usize, Value)> = inputs
            .iter()
            .zip(&streams)
            .map(|(input, stream)| (input.fact, input.draw(&mut Dice::new(SEED ^ stream, *number))))
            .collect();
        let traits: Vec<Values> = contenders
            .iter()
            .zip(&draws)
            .map(|(one, draws)| {
                let mut traits = one.species.trait_values();
                for own in draws {
                    traits[own.at] = Some(own.draw.value(&mut Dice::new(SEED ^ own.stream, *number)));
                }
                traits
            })
            .collect();
        let standings = standings(assessment, &derivation, days.as_ref(), &changed, &contenders, &traits);
        let entries: Vec<Entry<usize>> = standings
            .iter()
            .enumerate()
            .map(|(id, one)| Entry { id, class: one.class, index: one.index })
            .collect();
        let mut told: Vec<Told> = standings
            .iter()
            .map(|one| Told { class: one.class, index: one.index, rank: usize::MAX, among: false })
            .collect();
        for (at, own) in place(&entries, 0.0).into_iter().enumerate() {
            if told[own.id].class != Class::N {
                told[own.id].rank = own.rank;
                told[own.id].among = at < 3;
            }
        }
        told
    });
    let share = |at: usize| {
        let mut shares = Shares::default();
        for told in &outcomes {
            let Told { class, rank, among, .. } = told[at];
            let leaders = told.iter().filter(|one| one.rank == 1).count().max(1) as f64;
            shares.first += if rank == 1 { 1.0 / leaders } else { 0.0 };
            shares.first_three += f64::from(u8::from(among));
            shares.in_class += f64::from(u8::from(class == contenders[at].standing.class));
        }
        let count = outcomes.len().max(1) as f64;
        Shares {
            first: shares.first / count,
            first_three: shares.first_three / count,
            in_class: shares.in_class / count,
        }
    };
    let drawn = if samples > 0 { contenders.len() } else { 0 };
    let before = |leader: usize, own: usize| {
        let told = outcomes.iter().map(|told| told[own].before(&told[leader]));
        told.sum::<f64>() / outcomes.len().max(1) as f64
    };
    Robustness {
        samples,
        shares: (0..assessment.candidates.len()).map(|at| (at < drawn).then(|| share(at))).collect(),
        before: (0..drawn).map(|leader| (0..drawn).map(|own| before(leader, own)).collect()).collect(),
    }
}

/// How a candidate came out in one sample.
struct Told {
    class: Class,
    index: f64,
    /// Its place; none for the refused.
    rank: usize,
    /// Whether it is among the first three.
    among: bool,
}

impl Told {
    /// 1 where it stands before the other, 0 where it stands behind, a half where neither does.
    fn before(&self, other: &Self) -> f64 {
        match (self.class == Class::N, other.class == Class::N) {
            (true, true) => 0.5,
            (true, false) => 0.0,
            (false, true) => 1.0,
            _ if (self.index - other.index).abs() <= SAME_INDEX => 0.5,
            _ => f64::from(u8::from(self.index > other.index)),
        }
    }
}

/// Where candidates stand on the site with some inputs changed, with these traits.
pub fn standings<'k>(
    assessment: &Assessment<'k>,
    derivation: &Derivation<'_>,
    days: Option<&SiteDays<'_>>,
    changed: &[(usize, Value)],
    candidates: &[&Candidate<'k>],
    traits: &[Values],
) -> Vec<Standing<usize>> {
    let knowledge = assessment.knowledge;
    let demand = |facts: &SiteFacts| {
        let slot = knowledge.vocabulary.slot("site.et0_mm")?;
        Some(facts.known[slot.index].as_ref()?.value.clone())
    };
    let facts = derivation.facts(changed);
    let mut values = facts.values();
    let plausible = SitePlausible { knowledge, facts: &facts };
    run_site(knowledge, &mut values, &plausible);
    // what goes into the climate changes its days too
    let own = (demand(&facts) != demand(&assessment.facts))
        .then(|| site_weather(&assessment.site, &facts, knowledge))
        .flatten();
    let own_days = own.as_ref().map(|weather| SiteDays::new(weather).keeping_nothing());
    let balance = SiteBalance::new(own_days.as_ref().or(days), &facts, knowledge);
    let one = |(candidate, traits): (&&Candidate<'k>, &Values)| {
        stand(assessment, candidate, &values, traits, (&plausible, &balance))
    };
    candidates.iter().zip(traits).map(one).collect()
}

fn stand<'k>(
    assessment: &Assessment<'k>,
    candidate: &Candidate<'k>,
    values: &Values,
    traits: &Values,
    (plausible, balance): (&SitePlausible<'_>, &SiteBalance<'_>),
) -> Standing<usize> {
    let outcome = run_pair(assessment.knowledge, values, traits, Values::new(), plausible, balance);
    super::candidate::stand(candidate.species, outcome, &assessment.site, values, assessment.knowledge)
        .standing
}

/// A value that a trait may take: the weights up to it, the value, and the spread that its source states.
type Drawn = (f64, Value, Option<(f64, f64)>);

/// What a trait may be drawn as: one of these, by weight.
struct Draw(Vec<Drawn>);

impl Draw {
    fn value(&self, dice: &mut Dice) -> Value {
        let all = &self.0;
        let total = all.last().map_or(0.0, |one| one.0);
        let drawn = dice.unit() * total;
        let within = dice.unit();
        let at = all.iter().position(|one| drawn < one.0).unwrap_or(all.len() - 1);
        match (&all[at].1, all[at].2) {
            (Value::Number(_), Some((low, high))) => Value::Number(low + within * (high - low)),
            (value, _) => value.clone(),
        }
    }
}

/// What is drawn of one trait of one species.
struct TraitDraw {
    at: usize,
    stream: u64,
    draw: Draw,
}

/// The traits of a species that sources, or estimates, leave some room.
fn draws(species: &Species, knowledge: &Knowledge) -> Vec<TraitDraw> {
    let declared = &knowledge.vocabulary.species;
    let traits = species.traits.iter().enumerate();
    traits
        .filter_map(|(at, own)| {
            let own = own.as_ref()?;
            let among = if own.estimated.is_some() {
                group_values(species, at, knowledge)
            } else {
                published(own, &declared[at])
            };
            let differ = among.iter().any(|one| one.1 != own.value || one.2.is_some_and(|(a, b)| a < b));
            let stream = stream(&species.id, &declared[at].id);
            (differ && !among.is_empty()).then_some(TraitDraw { at, stream, draw: Draw(among) })
        })
        .collect()
}

/// What each source says, with the weights added up.
fn published(own: &TraitValue, declared: &Declaration) -> Vec<Drawn> {
    // sets and flags are joined, not weighed: each source tells of some; and what is the best of several was
    // seen, whatever others saw
    let weighed = matches!(declared.kind, Kind::Number(_) | Kind::Scale(_) | Kind::Range(_));
    if !weighed || declared.merge == Merge::Best {
        return Vec::new();
    }
    let mut sum = 0.0;
    own.evidence
        .iter()
        .map(|one| {
            sum += one.citation.publication.weight();
            (sum, one.value.clone(), one.spread)
        })
        .collect()
}

/// Known values of a trait among the species of the same group.
fn group_values(species: &Species, at: usize, knowledge: &Knowledge) -> Vec<Drawn> {
    let known = |one: &Species| {
        one.traits[at].as_ref().filter(|own| own.estimated.is_none()).map(|own| own.value.clone())
    };
    let same: Vec<Value> =
        knowledge.species.iter().filter(|one| one.kind == species.kind).filter_map(known).collect();
    let values = if same.is_empty() { knowledge.species.iter().filter_map(known).collect() } else { same };
    values.into_iter().enumerate().map(|(at, value)| ((at + 1) as f64, value, None)).collect()
}

/// An input of the site that is drawn.
pub struct Input {
    /// Position of the fact.
    pub fact: usize,
    what: InputDraw,
}

enum InputDraw {
    OneOf(Vec<Value>),
    /// Mean and standard error.
    About(f64, f64),
}

impl Input {
    /// A fact that takes any of these values alike.
    pub fn one_of(fact: usize, values: Vec<Value>) -> Self {
        Self { fact, what: InputDraw::OneOf(values) }
    }

    /// A value for it.
    pub fn draw(&self, dice: &mut Dice) -> Value {
        match &self.what {
            InputDraw::OneOf(values) => values[dice.below(values.len())].clone(),
            InputDraw::About(mean, error) => Value::Number(mean + error * dice.normal()),
        }
    }
}

/// The inputs that are not known, and those that are estimated with an error.
pub fn inputs(assessment: &Assessment<'_>) -> Vec<Input> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let facts: &SiteFacts = &assessment.facts;
    let light_said =
        LIGHT.iter().any(|id| vocabulary.slot(id).is_some_and(|slot| facts.known[slot.index].is_some()));
    // what neither a formula nor a rule looks at cannot matter
    let mut looked_at = facts.looked_at.clone();
    let read = assessment.knowledge.rules.iter().flat_map(Rule::reads);
    let formulas = assessment.knowledge.formulas.iter().flat_map(|formula| formula.of_site.iter().copied());
    read.chain(formulas).filter(|slot| slot.space == Space::Site).for_each(|slot| looked_at.add(slot.index));
    let unknown = |at: usize, declared: &Declaration| {
        let light = LIGHT.contains(&declared.id.as_str());
        declared.from == From::File
            && facts.known[at].is_none()
            && !declared.plausible.is_empty()
            && looked_at.has(at)
            && !(light && light_said)
    };
    let mut inputs: Vec<Input> = vocabulary
        .site
        .iter()
        .enumerate()
        .filter(|(at, declared)| unknown(*at, declared))
        .map(|(fact, declared)| Input::one_of(fact, declared.plausible.clone()))
        .collect();
    for (fact, error) in &facts.errors {
        if let Some(mean) = facts.known[*fact].as_ref().and_then(|known| known.value.as_number()) {
            inputs.push(Input { fact: *fact, what: InputDraw::About(mean, *error) });
        }
    }
    inputs
}

/// The stream of numbers of one fact, or of one trait of a species, by their ids (FNV-1a of 64 bits): what is
/// drawn of one is the same whatever else is known.
fn stream(species: &str, id: &str) -> u64 {
    let bytes = species.bytes().chain([b'/']).chain(id.bytes());
    bytes.fold(0xCBF2_9CE4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01B3))
}

/// Numbers drawn from a seed (splitmix64, Steele, Lea & Flood 2014), the same on every machine.
pub struct Dice(u64);

impl Dice {
    /// The dice of one sample.
    pub fn new(seed: u64, sample: u64) -> Self {
        Self(seed ^ sample.wrapping_mul(0x9E37_79B9_7F4A_7C15))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// From 0 up to, and without, 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// One of so many.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// Of the normal distribution (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}
