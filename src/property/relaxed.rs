//! A model with its limits left aside at a price: what it comes to at most, and what is planted then.
//!
//! Where kinds are counted, that an area takes one option is priced too; what is left falls apart by kinds, of which
//! the best few are taken. Where they are not, each patch of neighbours is covered at its best.

use std::collections::BTreeMap;

use super::ladder::{Row, RowPrices};
use super::model::{Model, Pair};
use super::pieces::{Piece, Pieces};
use super::prices::Prices;

/// What is known of the choices of a model that are looked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known<'a> {
    /// Kinds that are counted already, planted or not.
    pub given: &'a [usize],
    /// Where there are any: some kind goes over one of these pairs, which the model does not keep apart.
    pub crossed: &'a [Pair],
}

/// The relaxed model; options in one list, area after area.
pub struct Relaxed {
    /// Where the options of each area begin, and the end.
    starts: Vec<usize>,
    /// The area of each option.
    pub area_of: Vec<usize>,
    /// The kinds of which there are pieces.
    names: Vec<usize>,
    /// Whether each is counted.
    counted: Vec<bool>,
    /// The most kinds, where they are counted.
    pub most_kinds: Option<usize>,
    /// What an option adds to the value of the whole.
    worth: Vec<f64>,
    /// What binds.
    pub rows: Vec<Row>,
    /// Of what its choices are made.
    pub pieces: Pieces,
    /// The options of each piece, by their places in the list of all options, and the number of its kind.
    pub covers: Vec<(usize, Vec<usize>)>,
    /// Whether each piece goes over a pair that must be gone over.
    pub crosses: Vec<bool>,
    /// Whether some piece is known to.
    pub must_cross: bool,
    /// The pieces that stand at each area.
    pub standing: Vec<Vec<usize>>,
    /// From the worst choice to the best, limits left aside.
    pub range: f64,
}

/// What the relaxation comes to at some prices.
#[derive(Default)]
pub struct Outcome {
    /// What no choice passes.
    pub bound: f64,
    /// What stands apart from the choice of pieces.
    fixed: f64,
    /// What each piece adds.
    score: Vec<f64>,
    /// The pieces taken.
    pub taken: Vec<usize>,
    /// What each kind gains where it may stand, where kinds are counted.
    gain: Vec<f64>,
    /// Whether each kind is planted.
    planted: Vec<bool>,
    /// The best that each patch comes to, where they are not.
    best: Vec<f64>,
}

impl Relaxed {
    /// The relaxation of a model; what newly binds gets a price of nothing.
    pub fn of(model: &Model, known: Known<'_>, prices: &mut Prices) -> Self {
        let mut starts = vec![0];
        let mut area_of = Vec::new();
        for (at, area) in model.areas.iter().enumerate() {
            area_of.extend(std::iter::repeat_n(at, area.options.len()));
            starts.push(area_of.len());
        }
        let options = || model.areas.iter().flat_map(|area| area.options.iter().map(move |one| (area, one)));
        let size = model.size();
        let worth: Vec<f64> = options().map(|(area, option)| option.value * area.size / size).collect();
        // what cannot bind is no row
        let binding = (0..model.resources.len()).filter(|at| model.most(*at) > model.resources[*at].most);
        let rows = binding
            .map(|at| Row::of(model, at, prices.row[at].get_or_insert_with(|| RowPrices::first(model, at))))
            .collect();
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
        let mut names = vec![0; numbers.len()];
        numbers.iter().for_each(|(kind, at)| names[*at] = *kind);
        let counted: Vec<bool> = names.iter().map(|kind| !known.given.contains(kind)).collect();
        let all = counted.iter().filter(|own| **own).count();
        let room = model.kinds.map(|most| most.saturating_sub(known.given.len()));
        let goes_over = |piece: &Piece| known.crossed.iter().any(|pair| piece.goes_over(model, *pair));
        let mut relaxed = Self {
            starts,
            area_of,
            names,
            counted,
            most_kinds: room.filter(|room| *room < all),
            worth,
            rows,
            covers,
            crosses: pieces.all.iter().map(goes_over).collect(),
            must_cross: !known.crossed.is_empty(),
            pieces,
            standing,
            range: 0.0,
        };
        relaxed.range = relaxed.spread();
        relaxed
    }

    /// How many areas there are.
    pub fn areas(&self) -> usize {
        self.standing.len()
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

    /// Each area at what its best option is worth.
    pub fn price_areas(&self, prices: &mut Prices) {
        for (area, price) in prices.area.iter_mut().enumerate() {
            *price = self.options(area).map(|at| self.worth[at]).fold(f64::NEG_INFINITY, f64::max);
        }
    }

    /// What each piece adds at some prices.
    fn scores(&self, prices: &Prices) -> Vec<f64> {
        let mut each: Vec<f64> =
            self.worth.iter().zip(&self.area_of).map(|(worth, area)| worth - prices.area[*area]).collect();
        let mut below = Vec::new();
        for row in &self.rows {
            if let Some(prices) = &prices.row[row.resource] {
                row.charge(prices, &mut each, &mut below);
            }
        }
        let of = |((_, options), crosses): (&(usize, Vec<usize>), &bool)| {
            let sum: f64 = options.iter().map(|at| each[*at]).sum();
            sum + if *crosses { prices.cross } else { 0.0 }
        };
        self.covers.iter().zip(&self.crosses).map(of).collect()
    }

    /// What it comes to at some prices apart from the choice of pieces, and what each piece adds: no choice that
    /// keeps the limits passes the sum of its own.
    pub fn scored(&self, prices: &Prices) -> (f64, Vec<f64>) {
        let paid = |row: &Row| prices.row[row.resource].as_ref().map_or(0.0, |own| row.most * own.price);
        let paid: f64 = self.rows.iter().map(paid).sum();
        (paid + prices.area.iter().sum::<f64>() - prices.cross, self.scores(prices))
    }

    /// What it comes to at some prices.
    pub fn at(&self, prices: &Prices) -> Outcome {
        let (fixed, score) = self.scored(prices);
        let mut outcome = Outcome { bound: fixed, fixed, score, ..Outcome::default() };
        match self.most_kinds {
            Some(most) => self.take_kinds(most, &mut outcome),
            None => self.take_patches(&mut outcome),
        }
        outcome
    }

    /// The kinds that gain most, each wherever it gains, and those that are not counted.
    fn take_kinds(&self, most: usize, outcome: &mut Outcome) {
        outcome.gain = vec![0.0; self.names.len()];
        for ((kind, _), score) in self.covers.iter().zip(&outcome.score) {
            outcome.gain[*kind] += score.max(0.0);
        }
        outcome.planted = self.counted.iter().map(|counted| !counted).collect();
        let mut counted = self.counted_kinds();
        for kind in the_most(&mut counted, most, &outcome.gain) {
            outcome.planted[*kind] = true;
        }
        let planted = outcome.gain.iter().zip(&outcome.planted).filter(|(_, planted)| **planted);
        outcome.bound += planted.map(|(gain, _)| gain).sum::<f64>();
        let all = self.covers.iter().zip(&outcome.score).enumerate();
        let taken = all.filter(|(_, ((kind, _), score))| outcome.planted[*kind] && **score > 0.0);
        outcome.taken.extend(taken.map(|(at, _)| at));
    }

    fn counted_kinds(&self) -> Vec<usize> {
        (0..self.names.len()).filter(|kind| self.counted[*kind]).collect()
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
                Some(piece) => outcome.taken.push(piece),
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

    /// The kinds planted that are counted, and what the bound loses without each.
    pub fn planted(&self, outcome: &Outcome) -> Vec<(usize, f64)> {
        let Some(most) = self.most_kinds else { return Vec::new() };
        let mut order = self.counted_kinds();
        let count = the_most(&mut order, most + 1, &outcome.gain).len();
        let kinds = &mut order[..count];
        kinds.sort_by(|a, b| outcome.gain[*b].total_cmp(&outcome.gain[*a]).then(a.cmp(b)));
        let next = kinds.get(most).map_or(0.0, |kind| outcome.gain[*kind]);
        kinds.iter().take(most).map(|kind| (self.names[*kind], outcome.gain[*kind] - next)).collect()
    }

    /// The bound with each option taken and no other at its area.
    pub fn with_each_option(&self, outcome: &Outcome) -> Vec<Vec<f64>> {
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
        let given: Vec<usize> = (0..self.names.len()).filter(|kind| !self.counted[*kind]).collect();
        let counted = self.counted_kinds();
        let (mut gain, mut others, mut beside) = (Vec::new(), Vec::new(), Vec::new());
        let with = |(at, (kind, _)): (usize, &(usize, Vec<usize>))| {
            let room = match most.checked_sub(usize::from(self.counted[*kind])) {
                Some(room) => room,
                None => return f64::NEG_INFINITY,
            };
            // what shares an area with it cannot be taken beside it
            beside.clear();
            let places = &self.pieces.all[at].places;
            places.iter().for_each(|(area, _)| beside.extend_from_slice(&self.standing[*area]));
            if places.len() > 1 {
                beside.sort_unstable();
                beside.dedup();
            }
            gain.clone_from(&outcome.gain);
            beside.iter().for_each(|one| gain[self.covers[*one].0] -= outcome.score[*one].max(0.0));
            others.clear();
            others.extend(counted.iter().filter(|other| *other != kind));
            let planted = the_most(&mut others, room, &gain).iter();
            let planted = planted.chain(given.iter().filter(|other| *other != kind));
            let others: f64 = planted.map(|other| gain[*other].max(0.0)).sum();
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

/// So many of the kinds that gain most, in no order.
fn the_most<'a>(kinds: &'a mut [usize], count: usize, gain: &[f64]) -> &'a [usize] {
    if count < kinds.len() {
        kinds.select_nth_unstable_by(count, |a, b| gain[*b].total_cmp(&gain[*a]).then(a.cmp(b)));
    }
    let count = count.min(kinds.len());
    &kinds[..count]
}
