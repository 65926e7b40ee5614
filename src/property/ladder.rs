//! What a resource of a model comes to at some price, for an upper bound: areas of a zone all take what the
//! thirstiest of them takes.
//!
//! That the rate of a zone passes some amount is true as soon as it is true of one of its areas. So, whatever the
//! share in the size of the zone that each of its areas answers for, the zone takes no less for what lies above
//! the amount than the shares of those areas that pass it. The shares may differ from step to step of the
//! rate; of steps as fine as the options lie apart, the best shares lose nothing but what is lost where an area is
//! planted by fractions.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::model::{Model, SPARE};

/// At most so many steps a zone.
const MOST_STEPS: usize = 16;

/// The steps of the rates of a resource, area after area; an area that is on no zone has one.
#[derive(Debug)]
struct Ladder {
    /// Rates are shares of all there is; so much is one unit of them.
    scale: f64,
    /// Where the steps of each area begin, and the end.
    first: Vec<usize>,
    /// The rate at which each step begins.
    floors: Vec<f64>,
    /// Areas that are watered alike, two and more, and their size.
    zones: Vec<(Vec<usize>, f64)>,
}

/// The price of a resource, and who pays it.
#[derive(Clone, Debug)]
pub struct RowPrices {
    ladder: Arc<Ladder>,
    /// For all of the resource that there was at first.
    pub price: f64,
    /// The size that each step of each area answers for.
    weight: Vec<f64>,
}

/// A resource that options draw on.
pub struct Row {
    /// Which.
    pub resource: usize,
    /// The most of it.
    pub most: f64,
    /// The step that each option reaches, and how far it goes into it.
    draws: Vec<(usize, f64)>,
}

impl Ladder {
    fn of(model: &Model, resource: usize) -> Self {
        let own = &model.resources[resource];
        let scale = if own.most > 0.0 { 1.0 / own.most } else { 1.0 };
        let mut zones: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (at, area) in model.areas.iter().enumerate() {
            if let Some(zone) = area.zone.filter(|_| own.zoned) {
                zones.entry(zone).or_default().push(at);
            }
        }
        let mut floors = vec![vec![0.0]; model.areas.len()];
        let alike = |areas: Vec<usize>| {
            let size = areas.iter().map(|area| model.areas[*area].size).sum();
            (areas, size)
        };
        let zones: Vec<_> = zones.into_values().filter(|areas| areas.len() > 1).map(alike).collect();
        for (areas, _) in &zones {
            let options = areas.iter().flat_map(|area| &model.areas[*area].options);
            let mut rates: Vec<f64> = options.map(|one| one.takes[resource] * scale).chain([0.0]).collect();
            rates.sort_by(f64::total_cmp);
            rates.dedup();
            if rates.len() > MOST_STEPS {
                let last = rates.len() - 1;
                rates = (0..MOST_STEPS).map(|at| rates[at * last / (MOST_STEPS - 1)]).collect();
            }
            areas.iter().for_each(|area| floors[*area] = rates.clone());
        }
        let mut first = vec![0];
        first.extend(floors.iter().scan(0, |sum, own| {
            *sum += own.len();
            Some(*sum)
        }));
        Self { scale, first, floors: floors.concat(), zones }
    }

    /// How far a step goes; the last one of an area has no end.
    fn step(&self, area: usize, at: usize) -> f64 {
        if at + 1 < self.first[area + 1] { self.floors[at + 1] - self.floors[at] } else { f64::INFINITY }
    }
}

impl RowPrices {
    /// No price, paid by size.
    pub fn first(model: &Model, resource: usize) -> Self {
        let ladder = Ladder::of(model, resource);
        let steps = ladder.first.windows(2).map(|two| two[1] - two[0]);
        let sizes = model.areas.iter().zip(steps);
        let weight = sizes.flat_map(|(area, steps)| std::iter::repeat_n(area.size, steps)).collect();
        Self { ladder: Arc::new(ladder), price: 0.0, weight }
    }

    /// The price of a unit of the resource.
    pub fn of_unit(&self) -> f64 {
        self.price * self.ladder.scale
    }

    /// What the whole steps before each come to.
    fn below(&self, below: &mut Vec<f64>) {
        below.clear();
        for two in self.ladder.first.windows(2) {
            let mut sum = 0.0;
            for at in two[0]..two[1] {
                below.push(sum);
                if at + 1 < two[1] {
                    sum += (self.ladder.floors[at + 1] - self.ladder.floors[at]) * self.weight[at];
                }
            }
        }
    }
}

impl Row {
    /// The row of a model, on the ladder of the prices.
    pub fn of(model: &Model, resource: usize, prices: &RowPrices) -> Self {
        let ladder = &prices.ladder;
        let draws = model.areas.iter().zip(ladder.first.windows(2)).flat_map(|(area, own)| {
            let floors = &ladder.floors[own[0]..own[1]];
            area.options.iter().map(move |option| {
                let rate = option.takes[resource] * ladder.scale;
                let step = floors.partition_point(|floor| *floor <= rate).saturating_sub(1);
                (own[0] + step, rate - floors[step])
            })
        });
        let most = model.resources[resource].most * ladder.scale * (1.0 + SPARE);
        Self { resource, most, draws: draws.collect() }
    }

    /// Takes what each option pays off what it adds.
    pub fn charge(&self, prices: &RowPrices, each: &mut [f64], below: &mut Vec<f64>) {
        if prices.price > 0.0 {
            prices.below(below);
            for (each, (step, rest)) in each.iter_mut().zip(&self.draws) {
                *each -= prices.price * (below[*step] + rest * prices.weight[*step]);
            }
        }
    }

    /// What is drawn by the options taken, each with its area. More weight goes to the areas of a zone that draw
    /// more; the weights of each step still add up to the size of the zone.
    pub fn draw(
        &self,
        taken: &[(usize, usize)],
        prices: &mut RowPrices,
        pace: f64,
        below: &mut Vec<f64>,
        drawn: &mut Vec<f64>,
    ) -> f64 {
        prices.below(below);
        let ladder = &prices.ladder;
        drawn.clear();
        drawn.resize(ladder.floors.len(), 0.0);
        let mut used = 0.0;
        for (area, option) in taken {
            let (step, rest) = self.draws[*option];
            used += below[step] + rest * prices.weight[step];
            drawn[ladder.first[*area]..step].iter_mut().for_each(|one| *one += 1.0);
            drawn[step] += rest / ladder.step(*area, step);
        }
        for (areas, size) in &ladder.zones {
            let steps = ladder.first[areas[0] + 1] - ladder.first[areas[0]];
            for step in 0..steps {
                let own = |area: &usize| ladder.first[*area] + step;
                let most = areas.iter().map(|area| drawn[own(area)]).fold(0.0, f64::max);
                if most <= 0.0 {
                    continue;
                }
                let mut sum = 0.0;
                for area in areas {
                    let at = own(area);
                    let weight = &mut prices.weight[at];
                    // never to nothing, from where no share of it comes back
                    *weight = (*weight * (1.0 + 0.3 * pace * (drawn[at] / most - 0.5))).max(1e-6 * size);
                    sum += *weight;
                }
                areas.iter().for_each(|area| prices.weight[own(area)] *= size / sum);
            }
        }
        used
    }
}
