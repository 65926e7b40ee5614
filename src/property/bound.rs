//! How much a model can come to at most, and with each option in turn: an upper bound by prices on its limits
//! (Lagrangian relaxation), so that options with which no choice comes near the best are left out before the
//! solver is called.
//!
//! Any prices that are not negative give a bound that holds: what a choice that keeps the limits passes by
//! paying them is never less than nothing. Good ones come of subgradient steps; how good they are decides how
//! much is left out, and never what is found. Beside the limits, that an area takes one option is priced too
//! where kinds are counted: what is left then falls apart by kinds, of which the best few are taken. What a
//! zone takes for each unit of size is at or above any weighted mean over its areas, by weights that add up
//! to its size.

use std::collections::BTreeMap;

use super::model::{Model, ModelArea, SPARE};

/// Subgradient steps.
const STEPS: usize = 400;
/// The last step is this share of the first.
const LAST_STEP: f64 = 0.004;
/// What is lost in adding, as a share of the whole range.
const MARGIN: f64 = 1e-9;

/// Upper bounds on the value of the choices that keep all limits.
#[derive(Clone, Debug)]
pub struct Bound {
    /// What no choice passes.
    pub upper: f64,
    /// What no choice passes that takes this option, area by area.
    pub with_option: Vec<Vec<f64>>,
    /// From the worst choice to the best, limits left aside.
    pub range: f64,
}

impl Bound {
    /// The bound on a model in which every area has an option.
    pub fn of(model: &Model) -> Self {
        let relaxed = Relaxed::of(model);
        if (0..relaxed.areas()).any(|area| relaxed.options(area).all(|at| relaxed.dead[at])) {
            let none = |area: &ModelArea| vec![f64::NEG_INFINITY; area.options.len()];
            let with_option = model.areas.iter().map(none).collect();
            return Self { upper: f64::NEG_INFINITY, with_option, range: relaxed.range };
        }
        let prices = relaxed.good_prices();
        let outcome = relaxed.at(&prices);
        let slack = MARGIN * (1.0 + relaxed.range);
        let with_option = relaxed.with_each_option(&prices, &outcome);
        Self {
            upper: outcome.bound + slack,
            with_option: with_option
                .into_iter()
                .map(|own| own.iter().map(|one| one + slack).collect())
                .collect(),
            range: relaxed.range,
        }
    }

    /// The options of each area with which a choice may come to so much.
    pub fn reaching(&self, least: f64) -> Vec<Vec<usize>> {
        let reaches = |own: &Vec<f64>| (0..own.len()).filter(|at| own[*at] >= least).collect();
        self.with_option.iter().map(reaches).collect()
    }
}

/// A row that options draw on.
struct Row {
    /// What each option draws for each unit of size, as a share of all there is.
    draws: Vec<f64>,
    /// The most of it, 1 or, where there is none, 0.
    most: f64,
    /// Of areas on a zone the zone; elsewhere `None`.
    zones: Vec<Option<usize>>,
    /// Size by zone.
    zone_sizes: BTreeMap<usize, f64>,
}

/// An option that invades, and the one of its kind beside it, by their places in the list of all options.
struct Invader {
    own: usize,
    beside: usize,
}

/// The relaxed model; options in one list, area after area.
struct Relaxed {
    /// Where the options of each area begin, and the end.
    starts: Vec<usize>,
    sizes: Vec<f64>,
    kind: Vec<usize>,
    kinds: usize,
    /// The most kinds, where they are counted.
    most_kinds: Option<usize>,
    /// What an option adds to the value of the whole.
    worth: Vec<f64>,
    rows: Vec<Row>,
    invaders: Vec<Invader>,
    /// Options that no neighbour leaves room for.
    dead: Vec<bool>,
    range: f64,
}

/// Prices on what the relaxation leaves aside.
#[derive(Clone)]
struct Prices {
    area: Vec<f64>,
    row: Vec<f64>,
    /// For each row and area the share of a zone's size that its draw is weighted with; the size of the
    /// area where there is no zone.
    weight: Vec<Vec<f64>>,
    invader: Vec<f64>,
}

/// What the relaxation comes to at some prices.
struct Outcome {
    bound: f64,
    /// What stands apart from the choice of kinds.
    fixed: f64,
    score: Vec<f64>,
    taken: Vec<bool>,
    /// What each kind gains where it may stand.
    gain: Vec<f64>,
}

impl Relaxed {
    fn of(model: &Model) -> Self {
        let mut starts = vec![0];
        for area in &model.areas {
            starts.push(starts.last().copied().unwrap_or(0) + area.options.len());
        }
        let mut numbers: BTreeMap<usize, usize> = BTreeMap::new();
        let options = || model.areas.iter().flat_map(|area| area.options.iter().map(move |one| (area, one)));
        let kind = options()
            .map(|(_, option)| {
                let next = numbers.len();
                *numbers.entry(option.kind).or_insert(next)
            })
            .collect();
        let size = model.size();
        let worth: Vec<f64> = options().map(|(area, option)| option.value * area.size / size).collect();
        let mut rows = Vec::new();
        for (at, resource) in model.resources.iter().enumerate() {
            if resource.most.is_infinite() {
                continue;
            }
            let scale = if resource.most > 0.0 { 1.0 / resource.most } else { 1.0 };
            let zones: Vec<Option<usize>> =
                model.areas.iter().map(|area| area.zone.filter(|_| resource.zoned)).collect();
            let mut zone_sizes = BTreeMap::new();
            for (area, zone) in model.areas.iter().zip(&zones) {
                if let Some(zone) = zone {
                    *zone_sizes.entry(*zone).or_insert(0.0) += area.size;
                }
            }
            rows.push(Row {
                draws: options().map(|(_, option)| option.takes[at] * scale).collect(),
                most: resource.most * scale * (1.0 + SPARE),
                zones,
                zone_sizes,
            });
        }
        let mut relaxed = Self {
            starts,
            sizes: model.areas.iter().map(|area| area.size).collect(),
            kind,
            kinds: numbers.len(),
            most_kinds: model.kinds.filter(|most| *most < model.areas.len()),
            dead: vec![false; worth.len()],
            worth,
            rows,
            invaders: Vec::new(),
            range: 0.0,
        };
        relaxed.part_neighbours(model);
        relaxed.range = relaxed.spread();
        relaxed
    }

    fn part_neighbours(&mut self, model: &Model) {
        for pair in &model.pairs {
            for (own, other) in [(pair.a, pair.b), (pair.b, pair.a)] {
                for (at, option) in model.areas[own].options.iter().enumerate() {
                    if !option.invades(pair.edged) {
                        continue;
                    }
                    let own = self.starts[own] + at;
                    match model.areas[other].options.iter().position(|one| one.kind == option.kind) {
                        Some(beside) => {
                            self.invaders.push(Invader { own, beside: self.starts[other] + beside });
                        }
                        None => self.dead[own] = true,
                    }
                }
            }
        }
        // what stands only beside what cannot stand cannot stand
        while let Some(one) = self.invaders.iter().find(|one| self.dead[one.beside] && !self.dead[one.own]) {
            self.dead[one.own] = true;
        }
    }

    fn areas(&self) -> usize {
        self.sizes.len()
    }

    fn options(&self, area: usize) -> std::ops::Range<usize> {
        self.starts[area]..self.starts[area + 1]
    }

    /// From the worst choice to the best, limits left aside.
    fn spread(&self) -> f64 {
        let of = |area: usize| {
            let worths = self.options(area).map(|at| self.worth[at]);
            let (low, high) = worths
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), one| (low.min(one), high.max(one)));
            high - low
        };
        (0..self.areas()).map(of).sum()
    }

    fn first_prices(&self) -> Prices {
        let mut prices = Prices {
            area: vec![0.0; self.areas()],
            row: vec![0.0; self.rows.len()],
            // by size to begin with
            weight: vec![self.sizes.clone(); self.rows.len()],
            invader: vec![0.0; self.invaders.len()],
        };
        let score = self.scores(&prices);
        for area in 0..self.areas() {
            prices.area[area] = self.options(area).map(|at| score[at]).fold(f64::NEG_INFINITY, f64::max);
        }
        prices
    }

    fn scores(&self, prices: &Prices) -> Vec<f64> {
        let mut score = self.worth.clone();
        for ((row, price), weight) in self.rows.iter().zip(&prices.row).zip(&prices.weight) {
            for (area, weight) in weight.iter().enumerate() {
                let each = price * weight;
                for at in self.options(area) {
                    score[at] -= each * row.draws[at];
                }
            }
        }
        for (invader, price) in self.invaders.iter().zip(&prices.invader) {
            score[invader.own] -= price;
            score[invader.beside] += price;
        }
        for (score, dead) in score.iter_mut().zip(&self.dead) {
            if *dead {
                *score = f64::NEG_INFINITY;
            }
        }
        score
    }

    fn at(&self, prices: &Prices) -> Outcome {
        let score = self.scores(prices);
        let mut fixed: f64 = self.rows.iter().zip(&prices.row).map(|(row, price)| row.most * price).sum();
        let mut taken = vec![false; score.len()];
        let mut gain = Vec::new();
        let bound;
        if let Some(most) = self.most_kinds {
            fixed += prices.area.iter().sum::<f64>();
            gain = vec![0.0; self.kinds];
            for area in 0..self.areas() {
                for at in self.options(area) {
                    gain[self.kind[at]] += (score[at] - prices.area[area]).max(0.0);
                }
            }
            let mut order: Vec<usize> = (0..self.kinds).collect();
            order.sort_by(|a, b| gain[*b].total_cmp(&gain[*a]).then(a.cmp(b)));
            order.truncate(most);
            bound = fixed + order.iter().map(|kind| gain[*kind]).sum::<f64>();
            let mut planted = vec![false; self.kinds];
            order.iter().for_each(|kind| planted[*kind] = true);
            for area in 0..self.areas() {
                for at in self.options(area) {
                    taken[at] = planted[self.kind[at]] && score[at] > prices.area[area];
                }
            }
        } else {
            let mut sum = fixed;
            for area in 0..self.areas() {
                let best = self.options(area).reduce(|a, b| if score[b] > score[a] { b } else { a });
                if let Some(best) = best {
                    sum += score[best];
                    taken[best] = true;
                }
            }
            bound = sum;
        }
        Outcome { bound, fixed, score, taken, gain }
    }

    /// Prices at which the bound is low.
    fn good_prices(&self) -> Prices {
        let mut prices = self.first_prices();
        let mut best = (f64::INFINITY, prices.clone());
        let mean = self.range / self.areas() as f64;
        let mut area = Steps::new(self.areas(), 0.5 * mean);
        let mut row = Steps::new(self.rows.len(), 0.05 * self.range);
        let mut invader = Steps::new(self.invaders.len(), 0.2 * mean);
        let decay = LAST_STEP.powf(1.0 / STEPS as f64);
        let mut pace = 1.0;
        for _ in 0..STEPS {
            let outcome = self.at(&prices);
            if outcome.bound < best.0 {
                best = (outcome.bound, prices.clone());
            }
            let taken = |at: usize| f64::from(u8::from(outcome.taken[at]));
            if self.most_kinds.is_some() {
                for own in 0..self.areas() {
                    let count: f64 = self.options(own).map(taken).sum();
                    prices.area[own] -= area.step(own, 1.0 - count) * pace;
                }
            }
            for (at, own) in self.rows.iter().enumerate() {
                let rates: Vec<f64> = (0..self.areas())
                    .map(|area| self.options(area).map(|at| taken(at) * own.draws[at]).sum())
                    .collect();
                let used: f64 =
                    rates.iter().zip(&prices.weight[at]).map(|(rate, weight)| rate * weight).sum();
                prices.row[at] = (prices.row[at] - row.step(at, own.most - used) * pace).max(0.0);
                own.shift_weights(&rates, &mut prices.weight[at], pace);
            }
            for (at, own) in self.invaders.iter().enumerate() {
                let step = invader.step(at, taken(own.beside) - taken(own.own)) * pace;
                prices.invader[at] = (prices.invader[at] - step).max(0.0);
            }
            pace *= decay;
        }
        best.1
    }

    /// The bound with each option taken and no other at its area.
    fn with_each_option(&self, prices: &Prices, outcome: &Outcome) -> Vec<Vec<f64>> {
        let score = &outcome.score;
        let of_area = |area: usize| -> Vec<f64> {
            let Some(most) = self.most_kinds else {
                let best = self.options(area).map(|at| score[at]).fold(f64::NEG_INFINITY, f64::max);
                return self.options(area).map(|at| outcome.bound - best + score[at]).collect();
            };
            let price = prices.area[area];
            let mut gain = outcome.gain.clone();
            for at in self.options(area) {
                gain[self.kind[at]] -= (score[at] - price).max(0.0);
            }
            let mut order: Vec<usize> = (0..self.kinds).collect();
            order.sort_by(|a, b| gain[*b].total_cmp(&gain[*a]).then(a.cmp(b)));
            let with = |at: usize| {
                let kind = self.kind[at];
                let others = order.iter().filter(|other| **other != kind).take(most.saturating_sub(1));
                let others: f64 = others.map(|other| gain[*other].max(0.0)).sum();
                outcome.fixed + gain[kind] + score[at] - price + others
            };
            self.options(area).map(with).collect()
        };
        (0..self.areas()).map(of_area).collect()
    }
}

impl Row {
    /// More weight to the areas of a zone that draw more; a zone's weights still add up to its size.
    fn shift_weights(&self, rates: &[f64], weights: &mut [f64], pace: f64) {
        for (zone, size) in &self.zone_sizes {
            let own: Vec<usize> = (0..rates.len()).filter(|area| self.zones[*area] == Some(*zone)).collect();
            let most = own.iter().map(|area| rates[*area]).fold(0.0, f64::max);
            if most <= 0.0 || own.len() < 2 {
                continue;
            }
            for area in &own {
                // never to nothing, from where no share of it comes back
                weights[*area] =
                    (weights[*area] * (1.0 + 0.3 * pace * (rates[*area] / most - 0.5))).max(1e-6 * size);
            }
            let sum: f64 = own.iter().map(|area| weights[*area]).sum();
            own.iter().for_each(|area| weights[*area] *= size / sum);
        }
    }
}

/// Steps down a slope, each of about the same length whatever the slope is measured in.
struct Steps {
    length: f64,
    mean: Vec<f64>,
    square: Vec<f64>,
}

impl Steps {
    fn new(count: usize, length: f64) -> Self {
        Self { length, mean: vec![0.0; count], square: vec![0.0; count] }
    }

    fn step(&mut self, at: usize, slope: f64) -> f64 {
        self.mean[at] = 0.8 * self.mean[at] + 0.2 * slope;
        self.square[at] = 0.98 * self.square[at] + 0.02 * slope * slope;
        self.length * self.mean[at] / (self.square[at].sqrt() + 1e-3)
    }
}
