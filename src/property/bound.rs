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
use super::pieces::Pieces;

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
        let prices = relaxed.good_prices();
        let outcome = relaxed.at(&prices);
        if relaxed.standing.iter().any(Vec::is_empty) || outcome.bound == f64::NEG_INFINITY {
            let none = |area: &ModelArea| vec![f64::NEG_INFINITY; area.options.len()];
            let with_option = model.areas.iter().map(none).collect();
            return Self { upper: f64::NEG_INFINITY, with_option, range: relaxed.range };
        }
        let slack = MARGIN * (1.0 + relaxed.range);
        let with_option = relaxed.with_each_option(&outcome);
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

/// The relaxed model; options in one list, area after area.
struct Relaxed {
    /// Where the options of each area begin, and the end.
    starts: Vec<usize>,
    sizes: Vec<f64>,
    /// Kinds of which there are pieces.
    kinds: usize,
    /// The most kinds, where they are counted.
    most_kinds: Option<usize>,
    /// What an option adds to the value of the whole.
    worth: Vec<f64>,
    rows: Vec<Row>,
    pieces: Pieces,
    /// The options of each piece, by their places in the list of all options, and the number of its kind.
    covers: Vec<(usize, Vec<usize>)>,
    /// The pieces that stand at each area.
    standing: Vec<Vec<usize>>,
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
}

/// What the relaxation comes to at some prices.
struct Outcome {
    bound: f64,
    /// What stands apart from the choice of pieces.
    fixed: f64,
    /// What each piece adds.
    score: Vec<f64>,
    /// Whether each option is taken.
    taken: Vec<bool>,
    /// What each kind gains where it may stand, where kinds are counted.
    gain: Vec<f64>,
    /// The best that each patch comes to, where they are not.
    best: Vec<f64>,
}

impl Relaxed {
    fn of(model: &Model) -> Self {
        let mut starts = vec![0];
        for area in &model.areas {
            starts.push(starts.last().copied().unwrap_or(0) + area.options.len());
        }
        let options = || model.areas.iter().flat_map(|area| area.options.iter().map(move |one| (area, one)));
        let size = model.size();
        let worth: Vec<f64> = options().map(|(area, option)| option.value * area.size / size).collect();
        let mut rows = Vec::new();
        for (at, resource) in model.resources.iter().enumerate() {
            if model.most(at) <= resource.most {
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
        let pieces = Pieces::of(model);
        let mut numbers: BTreeMap<usize, usize> = BTreeMap::new();
        let mut standing = vec![Vec::new(); model.areas.len()];
        let mut covers = Vec::new();
        for (at, piece) in pieces.all.iter().enumerate() {
            let next = numbers.len();
            let kind = *numbers.entry(piece.kind).or_insert(next);
            piece.places.iter().for_each(|(area, _)| standing[*area].push(at));
            covers.push((kind, piece.places.iter().map(|(area, at)| starts[*area] + at).collect()));
        }
        let mut relaxed = Self {
            starts,
            sizes: model.areas.iter().map(|area| area.size).collect(),
            kinds: numbers.len(),
            most_kinds: model.kinds.filter(|most| *most < numbers.len()),
            worth,
            rows,
            pieces,
            covers,
            standing,
            range: 0.0,
        };
        relaxed.range = relaxed.spread();
        relaxed
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
        };
        if self.most_kinds.is_some() {
            for (area, price) in prices.area.iter_mut().enumerate() {
                *price = self.options(area).map(|at| self.worth[at]).fold(f64::NEG_INFINITY, f64::max);
            }
        }
        prices
    }

    /// What each piece adds at some prices.
    fn scores(&self, prices: &Prices) -> Vec<f64> {
        let mut each = self.worth.clone();
        for ((row, price), weight) in self.rows.iter().zip(&prices.row).zip(&prices.weight) {
            if *price > 0.0 {
                for (area, weight) in weight.iter().enumerate() {
                    for at in self.options(area) {
                        each[at] -= price * weight * row.draws[at];
                    }
                }
            }
        }
        for (area, price) in prices.area.iter().enumerate() {
            self.options(area).for_each(|at| each[at] -= price);
        }
        self.covers.iter().map(|(_, options)| options.iter().map(|at| each[*at]).sum()).collect()
    }

    fn at(&self, prices: &Prices) -> Outcome {
        let score = self.scores(prices);
        let paid: f64 = self.rows.iter().zip(&prices.row).map(|(row, price)| row.most * price).sum();
        let fixed = paid + prices.area.iter().sum::<f64>();
        let mut outcome = Outcome {
            bound: fixed,
            fixed,
            score,
            taken: vec![false; self.worth.len()],
            gain: Vec::new(),
            best: Vec::new(),
        };
        match self.most_kinds {
            Some(most) => self.take_kinds(most, &mut outcome),
            None => self.take_patches(&mut outcome),
        }
        outcome
    }

    /// The kinds that gain most, each wherever it gains.
    fn take_kinds(&self, most: usize, outcome: &mut Outcome) {
        outcome.gain = vec![0.0; self.kinds];
        for ((kind, _), score) in self.covers.iter().zip(&outcome.score) {
            outcome.gain[*kind] += score.max(0.0);
        }
        let mut planted = vec![false; self.kinds];
        for kind in by_gain(&outcome.gain).into_iter().take(most) {
            planted[kind] = true;
            outcome.bound += outcome.gain[kind];
        }
        for ((kind, options), score) in self.covers.iter().zip(&outcome.score) {
            if planted[*kind] && *score > 0.0 {
                options.iter().for_each(|at| outcome.taken[*at] = true);
            }
        }
    }

    /// Each patch by one piece or part by part, whichever comes to more.
    fn take_patches(&self, outcome: &mut Outcome) {
        let patches = &self.pieces.patches;
        let parts = self.by_parts(&mut outcome.best, &outcome.score);
        // from the whole to its parts
        let mut asked = vec![false; patches.len()];
        for (at, patch) in patches.iter().enumerate().rev() {
            match patch.within {
                None => outcome.bound += outcome.best[at],
                Some(whole) if asked[whole] => {}
                Some(_) => continue,
            }
            let own = |piece: &usize| outcome.score[*piece] >= outcome.best[at];
            match patch.pieces.iter().copied().find(own) {
                Some(piece) => self.covers[piece].1.iter().for_each(|at| outcome.taken[*at] = true),
                None => asked[at] = parts[at].is_finite(),
            }
        }
    }

    /// What each patch comes to part by part; `best` takes what it comes to at best.
    fn by_parts(&self, best: &mut Vec<f64>, score: &[f64]) -> Vec<f64> {
        let patches = &self.pieces.patches;
        let areas = self.areas();
        let mut parts: Vec<f64> =
            (0..patches.len()).map(|at| if at < areas { f64::NEG_INFINITY } else { 0.0 }).collect();
        for (at, patch) in patches.iter().enumerate() {
            let own = patch.pieces.iter().map(|piece| score[*piece]).fold(parts[at], f64::max);
            best.push(own);
            if let Some(whole) = patch.within {
                parts[whole] += own;
            }
        }
        parts
    }

    /// Prices at which the bound is low.
    fn good_prices(&self) -> Prices {
        let mut prices = self.first_prices();
        let mut best = (f64::INFINITY, prices.clone());
        let mean = self.range / self.areas() as f64;
        let mut area = Steps::new(self.areas(), 0.5 * mean);
        let mut row = Steps::new(self.rows.len(), 0.05 * self.range);
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
            pace *= decay;
        }
        best.1
    }

    /// The bound with each option taken and no other at its area.
    fn with_each_option(&self, outcome: &Outcome) -> Vec<Vec<f64>> {
        let mut with: Vec<Vec<f64>> =
            (0..self.areas()).map(|area| vec![f64::NEG_INFINITY; self.options(area).len()]).collect();
        let with_piece = match self.most_kinds {
            Some(most) => self.with_each_kind(most, outcome),
            None => self.with_each_patch(outcome),
        };
        for (piece, bound) in self.pieces.all.iter().zip(with_piece) {
            piece.places.iter().for_each(|(area, at)| with[*area][*at] = bound);
        }
        with
    }

    fn with_each_kind(&self, most: usize, outcome: &Outcome) -> Vec<f64> {
        let with = |(at, (kind, _)): (usize, &(usize, Vec<usize>))| {
            // what shares an area with it cannot be taken beside it
            let mut beside: Vec<usize> = self.pieces.all[at]
                .places
                .iter()
                .flat_map(|(area, _)| &self.standing[*area])
                .copied()
                .collect();
            beside.sort_unstable();
            beside.dedup();
            let mut gain = outcome.gain.clone();
            beside.iter().for_each(|one| gain[self.covers[*one].0] -= outcome.score[*one].max(0.0));
            let others =
                by_gain(&gain).into_iter().filter(|other| other != kind).take(most.saturating_sub(1));
            let others: f64 = others.map(|other| gain[other].max(0.0)).sum();
            outcome.fixed + gain[*kind] + outcome.score[at] + others
        };
        self.covers.iter().enumerate().map(with).collect()
    }

    fn with_each_patch(&self, outcome: &Outcome) -> Vec<f64> {
        let patches = &self.pieces.patches;
        let parts = self.by_parts(&mut Vec::new(), &outcome.score);
        let mut with = vec![f64::NEG_INFINITY; self.covers.len()];
        for (at, patch) in patches.iter().enumerate() {
            // what is gained or lost on the way up, where every patch around it goes by parts
            let (mut lost, mut part) = (0.0, at);
            while let Some(whole) = patches[part].within {
                lost += outcome.best[whole] - parts[whole];
                part = whole;
            }
            for piece in &patch.pieces {
                with[*piece] = outcome.bound - lost - outcome.best[at] + outcome.score[*piece];
            }
        }
        with
    }
}

/// Kinds, those that gain most first.
fn by_gain(gain: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..gain.len()).collect();
    order.sort_by(|a, b| gain[*b].total_cmp(&gain[*a]).then(a.cmp(b)));
    order
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
