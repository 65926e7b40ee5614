//! Prices on the limits of a model at which little is left to gain: by steps down the slope of the bound, each
//! of which raises the price of what is overdrawn (subgradient steps). The area that draws most of its zone pays
//! more of it (`ladder`).

use super::ladder::RowPrices;
use super::model::Model;
use super::relaxed::Relaxed;

/// The last step is this share of the first.
const LAST_STEP: f64 = 0.004;

/// Prices on what the relaxation leaves aside.
#[derive(Clone, Debug)]
pub struct Prices {
    /// By area, where kinds are counted.
    pub area: Vec<f64>,
    /// By resource; none where it never bound.
    pub row: Vec<Option<RowPrices>>,
    /// Paid for going over a pair.
    pub cross: f64,
}

impl Prices {
    /// The price of a unit of a resource.
    pub fn of_unit(&self, resource: usize) -> f64 {
        self.row[resource].as_ref().map_or(0.0, RowPrices::of_unit)
    }

    /// Nothing costs anything.
    pub fn none(model: &Model) -> Self {
        Self { area: vec![0.0; model.areas.len()], row: vec![None; model.resources.len()], cross: 0.0 }
    }
}

/// Prices at which the bound is low, after so many steps of which the first is so long.
pub fn good_prices(relaxed: &Relaxed, mut prices: Prices, (steps, first): (usize, f64)) -> Prices {
    let mut best = (f64::INFINITY, prices.clone());
    let mean = relaxed.range / relaxed.areas() as f64;
    let mut area = Steps::new(relaxed.areas(), 0.5 * mean);
    let mut row = Steps::new(relaxed.rows.len(), 0.05 * relaxed.range);
    let mut cross = Steps::new(1, 0.05 * relaxed.range);
    let decay = (LAST_STEP / first).powf(1.0 / steps as f64);
    let (mut below, mut drawn, mut taken) = (Vec::new(), Vec::new(), Vec::new());
    let mut pace = first;
    for _ in 0..steps {
        let outcome = relaxed.at(&prices);
        if outcome.bound < best.0 {
            best = (outcome.bound, prices.clone());
        }
        taken.clear();
        let options = outcome.taken.iter().flat_map(|piece| &relaxed.covers[*piece].1);
        taken.extend(options.map(|at| (relaxed.area_of[*at], *at)));
        if relaxed.most_kinds.is_some() {
            let mut count = vec![0.0; relaxed.areas()];
            taken.iter().for_each(|(area, _)| count[*area] += 1.0);
            for (own, count) in count.iter().enumerate() {
                prices.area[own] -= area.step(own, 1.0 - count) * pace;
            }
        }
        for (at, own) in relaxed.rows.iter().enumerate() {
            if let Some(prices) = &mut prices.row[own.resource] {
                let used = own.draw(&taken, prices, pace, &mut below, &mut drawn);
                prices.price = (prices.price - row.step(at, own.most - used) * pace).max(0.0);
            }
        }
        if relaxed.must_cross {
            let over = outcome.taken.iter().filter(|piece| relaxed.crosses[**piece]).count();
            prices.cross = (prices.cross - cross.step(0, over as f64 - 1.0) * pace).max(0.0);
        }
        pace *= decay;
    }
    best.1
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
