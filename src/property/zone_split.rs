//! Of all choices those in which a zone takes at most so much for each unit of size, and those in which it takes
//! more: some area of it does then, so that all of them are charged with no less.

use super::model::{Model, ModelArea};
use super::part::Part;
use super::prices::Prices;

/// Where the choices are parted.
pub struct ZoneSplit {
    zone: usize,
    resource: usize,
    /// The rates to either side of the split, for each unit of size.
    rate: f64,
    next: f64,
}

impl ZoneSplit {
    /// Splits where the prices have most at stake, in the middle of the rates that a zone may have; none where every
    /// zone has one rate.
    pub fn of(model: &Model, prices: &Prices) -> Option<Self> {
        let mut zones: Vec<usize> = model.areas.iter().filter_map(|area| area.zone).collect();
        zones.sort_unstable();
        zones.dedup();
        let zoned = (0..model.resources.len()).filter(|at| model.resources[*at].zoned);
        let priced = zoned.map(|at| (at, prices.of_unit(at))).filter(|(_, price)| *price > 0.0);
        let splits = priced.flat_map(|(resource, price)| {
            zones.iter().filter_map(move |zone| {
                let rates = rates(model, *zone, resource);
                let middle = rates.len().checked_sub(2)? / 2;
                let size: f64 = within(model, *zone).map(|area| area.size).sum();
                let stake = price * size * (rates[rates.len() - 1] - rates[0]);
                let split = Self { zone: *zone, resource, rate: rates[middle], next: rates[middle + 1] };
                Some((stake, split))
            })
        });
        splits.reduce(|a, b| if b.0 > a.0 { b } else { a }).map(|(_, split)| split)
    }

    /// What takes no more at any of the zone's areas.
    pub fn at_most(&self, part: &Part) -> Part {
        let of = |area: &ModelArea| {
            let stays = |at: &usize| {
                area.zone != Some(self.zone) || area.options[*at].takes[self.resource] <= self.rate
            };
            (0..area.options.len()).filter(stays).collect()
        };
        let kept: Vec<Vec<usize>> = part.model.areas.iter().map(of).collect();
        part.with(&kept)
    }

    /// Everything, where the zone is charged with no less than the rate above. A choice in which it takes less is
    /// charged too much there and as it is in the other part.
    pub fn above(&self, part: &Part) -> Part {
        let mut raised = part.clone();
        for area in raised.model.areas.iter_mut().filter(|area| area.zone == Some(self.zone)) {
            for option in &mut area.options {
                option.takes[self.resource] = option.takes[self.resource].max(self.next);
            }
        }
        raised
    }
}

fn within(model: &Model, zone: usize) -> impl Iterator<Item = &ModelArea> {
    model.areas.iter().filter(move |area| area.zone == Some(zone))
}

/// The rates that a zone may have, from the least: none is below the least of each of its areas.
fn rates(model: &Model, zone: usize, resource: usize) -> Vec<f64> {
    let takes = |area: &'_ ModelArea| -> Vec<f64> {
        area.options.iter().map(|option| option.takes[resource]).collect()
    };
    let least = within(model, zone).map(|area| takes(area).into_iter().fold(f64::INFINITY, f64::min));
    let least = least.fold(0.0, f64::max);
    let mut rates: Vec<f64> = within(model, zone).flat_map(takes).map(|rate| rate.max(least)).collect();
    rates.sort_by(f64::total_cmp);
    rates.dedup();
    rates
}
