//! How far each input of the site may move before the first choice falls, and to whom, shown by running
//! again.

use super::order::Order;
use crate::assess::Assessment;
use crate::assess::trial::{Setting, Trials};
use crate::engine::value::Value;
use crate::knowledge::vocabulary::{From, Kind};
use crate::rank::Class;
use crate::side_by_side::side_by_side;
use crate::site::SiteDays;
use crate::site::file::FRACTIONS;
use crate::units::UnitSystem;

/// Settings of a number tried on either side of the present one, closer together near it.
const STEPS: i32 = 24;
/// Halvings of a stretch between two settings.
const HALVINGS: usize = 30;

/// An input whose move makes the first choice fall.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// The setting at which it has fallen.
    pub at: Setting,
    /// Whether that is more of it than now; `None` where the input has no more and less.
    pub upward: Option<bool>,
    /// Id of the species that stands first then; `None` where nothing is suited any more.
    pub first_then: Option<String>,
    /// The place of the first choice then; `None` where it is refused.
    pub place_then: Option<usize>,
}

/// How far the inputs may move.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Turns {
    /// What makes the first choice fall, in the order of the vocabulary.
    pub turns: Vec<Turn>,
    /// Inputs that were moved through all their settings without its falling.
    pub firm: Vec<usize>,
}

/// How far each input that the site file states may move before the first choice falls. Inputs that
/// make the climate are left alone: a warmer place is another place.
pub fn turns(assessment: &Assessment<'_>, units: UnitSystem) -> Turns {
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let trials = Trials::new(assessment, days.as_ref());
    if assessment.candidates.first().is_none_or(|first| first.standing.class == Class::N) {
        return Turns::default();
    }
    let moves = Moves { assessment, order: Order::new(assessment, &trials), units };
    let facts: Vec<usize> = (0..assessment.site.values.len())
        .filter(|fact| assessment.site.values[*fact].is_some() && is_moved(*fact, assessment, &trials))
        .collect();
    let found = side_by_side(&facts, |fact| moves.of(*fact));
    let mut all = Turns::default();
    for (fact, turns) in facts.into_iter().zip(found) {
        match turns {
            Some(turns) if turns.is_empty() => all.firm.push(fact),
            Some(turns) => all.turns.extend(turns),
            None => {}
        }
    }
    all
}

/// Whether a fact is one that a site file could state otherwise of the same place.
fn is_moved(fact: usize, assessment: &Assessment<'_>, trials: &Trials<'_, '_>) -> bool {
    let declared = &assessment.knowledge.vocabulary.site[fact];
    let section = declared.key.as_ref().map_or("", |key| key.section.as_str());
    declared.from == From::File
        && !trials.makes_climate(fact)
        // together they make a whole, so that no file could state one of them moved alone
        && !FRACTIONS.contains(&declared.id.as_str())
        && !["", "place", "climate"].contains(&section)
}

/// The moves of single inputs of a site, and what has fallen by each.
struct Moves<'o, 'a, 'k> {
    assessment: &'o Assessment<'k>,
    order: Order<'o, 'a, 'k>,
    units: UnitSystem,
}

impl Moves<'_, '_, '_> {
    /// What makes the first choice fall of one fact; `None` where it has no other settings.
    fn of(&self, fact: usize) -> Option<Vec<Turn>> {
        let vocabulary = &self.assessment.knowledge.vocabulary;
        let declared = &vocabulary.site[fact];
        let (now, _) = self.assessment.site.values[fact].as_ref()?;
        let fallen = |value, upward| self.fallen(fact, value, upward);
        Some(match (declared.kind, now, declared.allowed) {
            (Kind::Number(_), Value::Number(now), Some((low, high))) => [(low, false), (high, true)]
                .into_iter()
                .filter_map(|(end, upward)| self.toward(fact, *now, end, upward))
                .collect(),
            (Kind::Scale(list), Value::Step(now), _) => {
                let steps: Vec<u8> = vocabulary.list(list).positions().collect();
                let mut lower = steps.iter().rev().filter(|step| *step < now);
                let mut higher = steps.iter().filter(|step| *step > now);
                let lower = lower.find_map(|step| fallen(Value::Step(*step), Some(false)));
                let higher = higher.find_map(|step| fallen(Value::Step(*step), Some(true)));
                lower.into_iter().chain(higher).collect()
            }
            (Kind::Choice(list), Value::Choice(now), _) => {
                let others = vocabulary.list(list).positions().filter(|name| name != now);
                others.filter_map(|name| fallen(Value::Choice(name), None)).collect()
            }
            (Kind::Flag, Value::Flag(now), _) => fallen(Value::Flag(!now), None).into_iter().collect(),
            _ => return None,
        })
    }

    /// The nearest number on the way to one end at which the first choice has fallen, as answers print it
    /// where it has fallen there too.
    fn toward(&self, fact: usize, now: f64, end: f64, upward: bool) -> Option<Turn> {
        if (end - now).abs() <= 0.0 {
            return None;
        }
        let fallen = |number: f64| self.fallen(fact, Value::Number(number), Some(upward));
        let at = |step: i32| now + (end - now) * (f64::from(step) / f64::from(STEPS)).powi(2);
        let step = (1..=STEPS).find(|step| fallen(at(*step)).is_some())?;
        let (mut stands, mut falls) = (at(step - 1), at(step));
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(stands, falls);
            if fallen(middle).is_some() {
                falls = middle;
            } else {
                stands = middle;
            }
        }
        let declared = &self.assessment.knowledge.vocabulary.site[fact];
        let printed = (0..=1).filter_map(|steps| declared.next_stated(self.units, falls, upward, steps));
        printed.chain([falls]).find_map(fallen)
    }

    /// What has come of one setting where the first choice has fallen by it.
    fn fallen(&self, fact: usize, value: Value, upward: Option<bool>) -> Option<Turn> {
        let at = Setting { fact, value };
        let (first, place_then) = self.order.on(0, &self.order.site(std::slice::from_ref(&at)));
        let first_then = || first.map(|first| self.assessment.candidates[first].species.id.clone());
        (place_then != Some(1)).then(|| Turn { at, upward, first_then: first_then(), place_then })
    }
}
