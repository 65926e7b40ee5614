//! Walks through the choices of a model with few options left, piece after piece, as far as bounds let it.
//!
//! At good prices each piece adds a score, and no choice passes the sum of its scores (`relaxed`). So a choice that
//! is to come to so much can lose only so much against the best pieces, and most of them lose it within a few pieces.
//! What the areas take at least, the zones at the rates that they have come to, cuts off more. A step costs less than
//! a hundredth of the solver's; where there are too many of them, that is asked instead.

use super::bound::MARGIN;
use super::model::{Choice, Model, ModelArea, SPARE};
use super::prices::Prices;
use super::programme::{Asked, Goal};
use super::relaxed::{Known, Relaxed};

/// How a walk ended.
#[derive(Debug, PartialEq)]
pub enum Walked {
    /// The choice that was asked for; `None` where there is none.
    Through(Option<Choice>),
    /// There were too many steps.
    TooFar,
}

/// Walks through the choices of a model, taking at most so many steps; `prices` are good for the model.
pub fn walk(model: &Model, asked: Asked<'_>, prices: &Prices, most_steps: usize) -> Walked {
    let mut prices = prices.clone();
    let relaxed = Relaxed::of(model, Known { given: &[], crossed: asked.crossed }, &mut prices);
    let (fixed, score) = relaxed.scored(&prices);
    let line = Line::of(model, &relaxed, &score);
    let Some(places) = line.places() else { return Walked::Through(None) };
    let priced = |at: usize| relaxed.rows.iter().any(|row| row.resource == at);
    let unit = match asked.goal {
        Goal::LeastOf(at) if priced(at) => prices.of_unit(at) * (1.0 + SPARE),
        _ => 0.0,
    };
    let slack = MARGIN * (1.0 + relaxed.range);
    let mut walk = Walk {
        model,
        asked,
        slack,
        fixed: fixed + slack,
        unit,
        tallies: Tally::of_each(model, asked.goal),
        planted: Vec::new(),
        choice: vec![0; model.areas.len()],
        found: None,
        steps: most_steps,
    };
    if walk.tallies.iter().any(Tally::is_over) {
        return Walked::Through(None);
    }
    match walk.from(&places, 0, 0.0, 0.0) {
        Some(()) => Walked::Through(walk.found),
        None => Walked::TooFar,
    }
}

/// The areas in a line, such that every piece takes neighbours in it, and those with the least to choose from first.
struct Line {
    /// The pieces that begin at each place, with what they add, to the bound and to the value.
    beginning: Vec<Vec<Step>>,
}

/// A piece on the line.
#[derive(Clone, Debug)]
struct Step {
    /// The areas taken, and the option at each.
    taken: Vec<(usize, usize)>,
    kind: usize,
    score: f64,
    worth: f64,
}

/// A place on the line.
struct Place {
    /// What may be taken from here, most promising first, with what it comes to at best to the end.
    steps: Vec<(f64, Step)>,
    /// What the rest is worth at most.
    worth: f64,
}

impl Line {
    fn of(model: &Model, relaxed: &Relaxed, score: &[f64]) -> Self {
        let order = relaxed.pieces.in_line(model.areas.len());
        let mut at = vec![0; order.len()];
        order.iter().enumerate().for_each(|(place, area)| at[*area] = place);
        let size = model.size();
        let mut beginning = vec![Vec::new(); order.len()];
        for (piece, score) in relaxed.pieces.all.iter().zip(score) {
            let first = piece.places.iter().map(|(area, _)| at[*area]).min().unwrap_or(0);
            let worth = |(area, option): &(usize, usize)| {
                let area = &model.areas[*area];
                area.size * area.options[*option].value / size
            };
            let worth = piece.places.iter().map(worth).sum();
            let step = Step { taken: piece.places.clone(), kind: piece.kind, score: *score, worth };
            beginning[first].push(step);
        }
        Self { beginning }
    }

    /// The places with what comes behind each; none where some area is left without a piece.
    fn places(self) -> Option<Vec<Place>> {
        let count = self.beginning.len();
        let (mut best, mut worth) = (vec![0.0; count + 1], vec![0.0; count + 1]);
        let mut places = Vec::with_capacity(count);
        for (at, steps) in self.beginning.into_iter().enumerate().rev() {
            let behind = |step: &Step| at + step.taken.len();
            worth[at] =
                steps.iter().map(|step| step.worth + worth[behind(step)]).fold(f64::NEG_INFINITY, f64::max);
            let mut steps: Vec<(f64, Step)> =
                steps.into_iter().map(|step| (step.score + best[behind(&step)], step)).collect();
            steps.sort_by(|a, b| b.0.total_cmp(&a.0));
            best[at] = steps.first().map_or(f64::NEG_INFINITY, |(most, _)| *most);
            places.push(Place { steps, worth: worth[at] });
        }
        places.reverse();
        (best[0] > f64::NEG_INFINITY).then_some(places)
    }
}

/// What is taken of a resource so far, and at least of what is still open.
struct Tally {
    resource: usize,
    zoned: bool,
    most: f64,
    least: f64,
    /// The least that each area takes for each unit of size, where it is on no zone.
    own: Vec<f64>,
    /// The rate of each zone so far, and the size of its areas.
    zones: Vec<(f64, f64)>,
    /// What was changed, to be put back: the sum, or the zone and its rate.
    changed: Vec<(Option<usize>, f64)>,
}

impl Tally {
    /// Of the resources that may run short, and of the one of which least is sought.
    fn of_each(model: &Model, goal: Goal<'_>) -> Vec<Self> {
        let sought = |at: usize| matches!(goal, Goal::LeastOf(own) if own == at);
        let binding = |at: &usize| sought(*at) || model.most(*at) > model.resources[*at].most;
        (0..model.resources.len()).filter(binding).map(|at| Self::of(model, at)).collect()
    }

    fn of(model: &Model, resource: usize) -> Self {
        let own = &model.resources[resource];
        let least = |area: &ModelArea| {
            area.options.iter().map(|option| option.takes[resource]).fold(f64::INFINITY, f64::min)
        };
        let zones = model.areas.iter().filter_map(|area| area.zone).max().map_or(0, |most| most + 1);
        let mut tally = Self {
            resource,
            zoned: own.zoned,
            most: own.most + own.most.abs() * SPARE,
            least: 0.0,
            own: model.areas.iter().map(least).collect(),
            zones: vec![(0.0, 0.0); if own.zoned { zones } else { 0 }],
            changed: Vec::new(),
        };
        for (area, least) in model.areas.iter().zip(&tally.own) {
            match area.zone.filter(|_| own.zoned) {
                Some(zone) => {
                    let (rate, size) = &mut tally.zones[zone];
                    *rate = rate.max(*least);
                    *size += area.size;
                }
                None => tally.least += area.size * least,
            }
        }
        tally.least += tally.zones.iter().map(|(rate, size)| rate * size).sum::<f64>();
        tally
    }

    fn is_over(&self) -> bool {
        // what adding and taking away again may leave is less than what the limit itself has to spare
        self.least > self.most + self.most.abs() * SPARE
    }

    fn add(&mut self, model: &Model, step: &Step) {
        self.changed.push((None, self.least));
        for (at, option) in &step.taken {
            let area = &model.areas[*at];
            let takes = area.options[*option].takes[self.resource];
            match area.zone.filter(|_| self.zoned) {
                Some(zone) => {
                    let (rate, size) = &mut self.zones[zone];
                    if takes > *rate {
                        self.changed.push((Some(zone), *rate));
                        self.least += *size * (takes - *rate);
                        *rate = takes;
                    }
                }
                None => self.least += area.size * (takes - self.own[*at]),
            }
        }
    }

    fn put_back(&mut self) {
        while let Some((zone, before)) = self.changed.pop() {
            match zone {
                Some(zone) => self.zones[zone].0 = before,
                None => {
                    self.least = before;
                    return;
                }
            }
        }
    }
}

struct Walk<'a> {
    model: &'a Model,
    /// What is asked; it rises with what is found.
    asked: Asked<'a>,
    /// What is lost in adding.
    slack: f64,
    /// What the bound comes to before any piece.
    fixed: f64,
    /// How much of it goes with each unit of what is sought to be little.
    unit: f64,
    tallies: Vec<Tally>,
    /// The kinds planted.
    planted: Vec<usize>,
    choice: Choice,
    found: Option<Choice>,
    steps: usize,
}

impl Walk<'_> {
    /// Goes on from a place, with what was gained on the way there; `None` where there are too many steps.
    fn from(&mut self, places: &[Place], at: usize, score: f64, worth: f64) -> Option<()> {
        let Some(place) = places.get(at) else {
            self.arrive();
            return Some(());
        };
        if worth + place.worth < self.asked.least - self.slack {
            return Some(());
        }
        for (best, step) in &place.steps {
            if self.fixed + score + best < self.asked.least {
                // those behind it come to less
                break;
            }
            self.steps = self.steps.checked_sub(1)?;
            let new = self.model.kinds.is_some() && !self.planted.contains(&step.kind);
            if new && self.model.kinds.is_some_and(|most| self.planted.len() >= most) {
                continue;
            }
            self.tallies.iter_mut().for_each(|tally| tally.add(self.model, step));
            if !self.tallies.iter().any(Tally::is_over) {
                step.taken.iter().for_each(|(area, option)| self.choice[*area] = *option);
                if new {
                    self.planted.push(step.kind);
                }
                self.from(places, at + step.taken.len(), score + step.score, worth + step.worth)?;
                if new {
                    self.planted.pop();
                }
            }
            self.tallies.iter_mut().for_each(Tally::put_back);
        }
        Some(())
    }

    /// All areas have their options: keeps what is better than what was found before.
    fn arrive(&mut self) {
        let value = self.model.value(&self.choice);
        if value < self.asked.least
            || !self.model.keeps(&self.choice)
            || !self.asked.goal.allows(&self.choice)
        {
            return;
        }
        if let Goal::LeastOf(at) = self.asked.goal {
            let used = self.model.used(&self.choice, at);
            let Some(tally) = self.tallies.iter_mut().find(|tally| tally.resource == at) else { return };
            let most = used * (1.0 - 1e-9);
            if used <= tally.most {
                self.fixed -= self.unit * (tally.most - most).min(f64::MAX);
                tally.most = most;
                self.found = Some(self.choice.clone());
            }
        } else if self.found.as_ref().is_none_or(|found| value > self.model.value(found)) {
            self.asked.least = value + self.slack;
            self.found = Some(self.choice.clone());
        }
    }
}
