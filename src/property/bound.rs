//! How much a model can come to at most, and with each option in turn: an upper bound by prices on its limits
//! (Lagrangian relaxation), so that options with which no choice comes near the best are left out before the
//! solver is called.
//!
//! Any prices that are not negative give a bound that holds: what a choice that keeps the limits passes by
//! paying them is never less than nothing. Good ones come of subgradient steps; how good they are decides how
//! much is left out, and never what is found (`prices`). What is left at some prices is `relaxed`.

use super::model::{Model, ModelArea};
use super::prices::{Prices, good_prices};
pub use super::relaxed::Known;
use super::relaxed::Relaxed;

/// Subgradient steps.
const STEPS: usize = 400;
/// The same where they begin at prices that were good for a model of which this is a part.
const STEPS_ON: usize = 30;
/// The first of those is so much shorter.
const FIRST_ON: f64 = 0.3;
/// Where the bound without a limit on kinds is no higher but for this share of the range, the limit hardly binds.
const AS_LOW: f64 = 0.0005;
/// What is lost in adding, as a share of the whole range.
pub const MARGIN: f64 = 1e-9;

/// Upper bounds on the value of the choices that keep all limits.
#[derive(Clone, Debug)]
pub struct Bound {
    /// What no choice passes.
    pub upper: f64,
    /// What no choice passes that takes this option, area by area.
    pub with_option: Vec<Vec<f64>>,
    /// From the worst choice to the best, limits left aside.
    pub range: f64,
    /// By what it was found.
    pub prices: Prices,
    /// Where kinds are counted, those that it plants, and by how much the bound falls without each.
    pub planted: Vec<(usize, f64)>,
}

impl Bound {
    /// The bound on a model in which every area has an option.
    pub fn of(model: &Model) -> Self {
        Self::knowing(model, Known::default(), None)
    }

    /// The same with what is known, beginning at prices that were good for a model of which this is a part.
    pub fn knowing(model: &Model, known: Known<'_>, start: Option<&Prices>) -> Self {
        let mut prices = start.cloned().unwrap_or_else(|| Prices::none(model));
        let relaxed = Relaxed::of(model, known, &mut prices);
        if start.is_none() && relaxed.most_kinds.is_some() {
            relaxed.price_areas(&mut prices);
        }
        let steps = if start.is_some() { (STEPS_ON, FIRST_ON) } else { (STEPS, 1.0) };
        let prices = good_prices(&relaxed, prices, steps);
        let outcome = relaxed.at(&prices);
        let nowhere = relaxed.standing.iter().any(Vec::is_empty) || outcome.bound == f64::NEG_INFINITY;
        if nowhere || (!known.crossed.is_empty() && !relaxed.crosses.contains(&true)) {
            let none = |area: &ModelArea| vec![f64::NEG_INFINITY; area.options.len()];
            let with_option = model.areas.iter().map(none).collect();
            let (upper, planted) = (f64::NEG_INFINITY, Vec::new());
            return Self { upper, with_option, range: relaxed.range, prices, planted };
        }
        let slack = MARGIN * (1.0 + relaxed.range);
        let mut with_option = relaxed.with_each_option(&outcome);
        with_option.iter_mut().flatten().for_each(|one| *one += slack);
        Self {
            upper: outcome.bound + slack,
            with_option,
            range: relaxed.range,
            planted: relaxed.planted(&outcome),
            prices,
        }
    }

    /// Whether the limit on kinds hardly lowers it, so that it is likely to be in the way of little; `known` and
    /// `start` as it was found by.
    pub fn is_hardly_lowered_by_kinds(
        &self,
        model: &Model,
        known: Known<'_>,
        start: Option<&Prices>,
    ) -> bool {
        let free = Model { kinds: None, ..model.clone() };
        Self::knowing(&free, known, start).upper < self.upper + AS_LOW * self.range
    }

    /// The options of each area with which a choice may come to so much.
    pub fn reaching(&self, least: f64) -> Vec<Vec<usize>> {
        let reaches = |own: &Vec<f64>| (0..own.len()).filter(|at| own[*at] >= least).collect();
        self.with_option.iter().map(reaches).collect()
    }
}
