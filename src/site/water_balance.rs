//! The daily soil-water balance of a species at a site, as a formula among the rules.
//!
//! Weather: the days of [`super::site_weather`]. Plant: its need for water (share of ET0) as the
//! rules derive it from the evidence, its roots down to the depth of the soil. Irrigation: what the
//! table says of the site's word, or the days and depth that the site file states.

use std::cell::RefCell;
use std::collections::HashMap;

use super::daily_weather::{curve_number, curve_number_on_slope};
use super::facts::{SiteFacts, Workbench};
use super::site_weather::SiteWeather;
use super::soil_water::{Irrigation, MonthWater, Plant, SiteWater, SurvivalWatering, run};
use super::texture::Texture;
use crate::engine::expression::Facts;
use crate::engine::facts::View;
use crate::engine::formula::{Compute, ComputedFact, Declared};
use crate::engine::run::Plausible;
use crate::engine::value::{Slot, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::tables::LookupTable;
use crate::units::quantity::Millimetres;

/// Name of the formula.
const ID: &str = "daily soil-water balance";

/// What the balance reads of a species and of rules, and what it writes.
pub const WATER_BALANCE: Declared = Declared {
    id: ID,
    reads: &["fit.water_need", "fit.survival_days", "species.root_depth_cm", "species.kind"],
    writes: &[
        "fit.et_met",
        "fit.stress_days",
        "fit.longest_wilting_d",
        "fit.green_irrigation_mm",
        "fit.survival_irrigation_mm",
    ],
};

/// Roots below this depth are not counted on: FAO-56 Table 22 gives turf 0.5 to 1.0 m.
const DEEPEST_ROOTS_M: f64 = 1.2;
/// Share of the soil's store that is left where tree roots share it (common practice).
const BESIDE_TREE_ROOTS: f64 = 0.5;
/// Demand lost with each step of shade (common practice).
const LESS_DEMAND_A_SHADE_STEP: f64 = 0.1;
/// Depletion fraction p of cool-season turf, and of warm-season turf and covers (FAO-56 Table 22).
const P_COOL: f64 = 0.4;
const P_OTHER: f64 = 0.5;
/// Stress coefficient down to which a cover still looks green (common practice).
const GREEN_KS: f64 = 0.7;
/// Depth of a survival watering, mm: extension sheets give 6 to 13 mm every two to four weeks.
const SURVIVAL_DEPTH_MM: f64 = 13.0;

/// The balance of one site, made ready once for all species.
pub struct SiteBalance<'a> {
    knowledge: &'a Knowledge,
    water: Option<SiteWater<'a>>,
    slots: Slots,
    results: RefCell<HashMap<Key, [f64; 5]>>,
}

/// Where the balance finds its inputs.
struct Slots {
    taw: Option<Slot>,
    depth: Option<Slot>,
    irrigation: Option<Slot>,
    tree_roots: Option<Slot>,
    shade: Option<Slot>,
    need: Option<Slot>,
    survival: Option<Slot>,
    roots: Option<Slot>,
    kind: Option<Slot>,
    cap: Option<Slot>,
    days: Option<Slot>,
    dose: Option<Slot>,
    writes: Vec<Slot>,
}

/// Runs that differ in none of these give the same; many species share them.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
struct Key {
    taw_tenths_mm: u32,
    kc_thousandths: u32,
    cool: bool,
    irrigation: usize,
    survival_d: u32,
}

impl<'a> SiteBalance<'a> {
    /// The balance over that weather.
    pub fn new(weather: Option<&'a SiteWeather>, facts: &SiteFacts, knowledge: &'a Knowledge) -> Self {
        let bench = Workbench { knowledge, facts: facts.clone() };
        let slot = |id: &str| knowledge.vocabulary.slot(id);
        let texture = bench.name_of("texture").and_then(Texture::from_name).unwrap_or(Texture::Loam);
        let slots = Slots {
            taw: slot("site.taw_mm_m"),
            depth: slot("site.soil_depth_cm"),
            irrigation: slot("site.irrigation"),
            tree_roots: slot("site.tree_roots"),
            shade: slot("site.shade"),
            need: slot("fit.water_need"),
            survival: slot("fit.survival_days"),
            roots: slot("species.root_depth_cm"),
            kind: slot("species.kind"),
            cap: slot("site.season_cap_mm"),
            days: slot("site.days_per_week"),
            dose: slot("site.irrigation_depth_mm"),
            writes: WATER_BALANCE.writes.iter().filter_map(|id| slot(id)).collect(),
        };
        // the runoff of a loam stands for a texture that is not known, level ground for a slope
        let number = curve_number_on_slope(curve_number(texture), bench.number("slope_pct").unwrap_or(0.0));
        let water = weather.map(|weather| SiteWater::new(&weather.days, Some(number)));
        Self { knowledge, water, slots, results: RefCell::default() }
    }

    fn table(&self) -> Option<&LookupTable> {
        self.knowledge.table_named("irrigation")
    }

    /// The irrigation that a step of the scale stands for, within what the site file states.
    fn irrigation(&self, step: usize, view: &View<'_>) -> Option<Irrigation> {
        let table = self.table()?;
        let stated = |slot: Option<Slot>| view.get(slot?)?.as_number();
        // days a week are a share of days, depths are in metres
        let days = stated(self.slots.days)
            .map(|share| share * 7.0)
            .or(table.number(step, "days_per_week").map(|s| s * 7.0))?;
        let depth = stated(self.slots.dose).or(table.number(step, "depth_mm"))? * 1000.0;
        if step == 0 {
            return Some(Irrigation::NONE);
        }
        Some(Irrigation {
            days_per_week: days.round().clamp(0.0, 7.0) as u8,
            depth: Millimetres(depth),
            season_cap: stated(self.slots.cap).map(|metres| Millimetres(metres * 1000.0)),
            efficiency: 1.0,
        })
    }
}

/// One unknown input with the values to try.
struct Choice {
    slot: Slot,
    values: Vec<Value>,
}

impl Compute for SiteBalance<'_> {
    fn compute(&self, id: &str, view: &View<'_>, plausible: &dyn Plausible) -> Vec<ComputedFact> {
        if id != ID || self.slots.writes.len() != WATER_BALANCE.writes.len() {
            return Vec::new();
        }
        self.balance(view, plausible).unwrap_or_else(|| self.waiting(view, plausible))
    }
}

impl SiteBalance<'_> {
    /// Nothing computed, and what it waits for.
    fn waiting(&self, view: &View<'_>, plausible: &dyn Plausible) -> Vec<ComputedFact> {
        let s = &self.slots;
        let climate = ["site.et0_mm", "site.precip_mm"].map(|id| self.knowledge.vocabulary.slot(id));
        let inputs = climate.into_iter().chain([s.taw, s.depth, s.irrigation, s.shade, s.need]).flatten();
        let unknown: Vec<Slot> =
            inputs.filter(|slot| view.get(*slot).is_none()).flat_map(|slot| plausible.roots(slot)).collect();
        let fact = |slot: &Slot| ComputedFact { slot: *slot, values: Vec::new(), waits_for: unknown.clone() };
        s.writes.iter().map(fact).collect()
    }

    fn balance(&self, view: &View<'_>, plausible: &dyn Plausible) -> Option<Vec<ComputedFact>> {
        let water = self.water.as_ref()?;
        let s = &self.slots;
        // the ends of what is plausible bound the answer; the middle would only cost time
        let choices: Vec<Choice> =
            [s.taw?, s.depth?, s.irrigation?, s.shade?, s.tree_roots?, s.need?, s.survival?]
                .into_iter()
                .map(|slot| {
                    let known = view.get(slot).cloned();
                    let values = known.map_or_else(|| ends(plausible.values(slot)), |value| vec![value]);
                    Choice { slot, values }
                })
                .collect();
        if choices.iter().any(|choice| choice.values.is_empty() && Some(choice.slot) != s.survival) {
            return None;
        }
        let mut outcomes: Vec<[f64; 5]> = Vec::new();
        let total: usize = choices.iter().map(|choice| choice.values.len().max(1)).product();
        for combination in 0..total {
            let mut rest = combination;
            let mut picked: Vec<(Slot, Value)> = Vec::with_capacity(choices.len());
            for choice in choices.iter().filter(|choice| !choice.values.is_empty()) {
                picked.push((choice.slot, choice.values[rest % choice.values.len()].clone()));
                rest /= choice.values.len();
            }
            outcomes.push(self.one(water, view, &picked)?);
        }
        let waits_for: Vec<Slot> = choices
            .iter()
            .filter(|choice| choice.values.len() > 1)
            .flat_map(|choice| plausible.roots(choice.slot))
            .collect();
        let facts = s.writes.iter().enumerate().map(|(at, slot)| ComputedFact {
            slot: *slot,
            values: outcomes.iter().map(|outcome| Value::Number(outcome[at])).collect(),
            waits_for: waits_for.clone(),
        });
        Some(facts.collect())
    }

    /// The twelve months of a species, for a table; `None` while an input is unknown.
    pub fn months(&self, view: &View<'_>) -> Option<[MonthWater; 12]> {
        let s = &self.slots;
        let mut known = Vec::new();
        for slot in [s.taw, s.depth, s.irrigation, s.shade, s.tree_roots, s.need, s.survival] {
            match view.get(slot?) {
                Some(value) => known.push((slot?, value.clone())),
                // without shade no tree takes water, and survival does not show in the months
                None if slot == s.tree_roots => known.push((slot?, Value::Flag(false))),
                None if slot == s.survival => {}
                None => return None,
            }
        }
        let (_, plant, irrigation) = self.inputs(view, &known)?;
        run(self.water.as_ref()?, &plant, &irrigation).ok().map(|balance| balance.months)
    }

    /// The five results for one set of inputs, in the order of [`WATER_BALANCE`]'s writes.
    fn one(&self, site: &SiteWater<'_>, view: &View<'_>, picked: &[(Slot, Value)]) -> Option<[f64; 5]> {
        let (key, plant, irrigation) = self.inputs(view, picked)?;
        if let Some(result) = self.results.borrow().get(&key) {
            return Some(*result);
        }
        let balance = run(site, &plant, &irrigation).ok()?;
        let result = [
            driest_quarter(&balance.months),
            balance.stress_days,
            balance.one_in_ten_years_run,
            balance.green_need_mm / 1000.0,
            balance.survival_need_mm.unwrap_or(0.0) / 1000.0,
        ];
        self.results.borrow_mut().insert(key, result);
        Some(result)
    }

    /// Plant and irrigation as the balance takes them.
    fn inputs(&self, view: &View<'_>, picked: &[(Slot, Value)]) -> Option<(Key, Plant, Irrigation)> {
        let s = &self.slots;
        let get =
            |slot: Option<Slot>| picked.iter().find(|(own, _)| Some(*own) == slot).map(|(_, value)| value);
        let number = |slot: Option<Slot>| get(slot)?.as_number();
        let shade_steps = get(s.shade)?.as_position()? as f64;
        let beside_trees = shade_steps > 0.0 && get(s.tree_roots)?.as_flag()?;
        let roots_m = s.roots.and_then(|slot| view.get(slot)?.as_number()).unwrap_or(DEEPEST_ROOTS_M / 2.0);
        let depth_m = roots_m.min(number(s.depth)?).min(DEEPEST_ROOTS_M);
        let share = if beside_trees { BESIDE_TREE_ROOTS } else { 1.0 };
        let taw_mm = (number(s.taw)? * depth_m * 1000.0 * share).max(1.0);
        let kc = number(s.need)? * (1.0 - LESS_DEMAND_A_SHADE_STEP * shade_steps);
        let step = get(s.irrigation)?.as_position()?;
        let kind = s.kind.and_then(|slot| view.get(slot)?.as_position());
        let list = self
            .knowledge
            .vocabulary
            .list_named("kind", false)
            .map(|list| self.knowledge.vocabulary.list(list));
        let cool = kind.is_some()
            && kind == list.and_then(|list| list.position("cool-season-grass")).map(usize::from);
        let survival_d = number(s.survival).unwrap_or(30.0).clamp(1.0, 400.0);
        let key = Key {
            taw_tenths_mm: (taw_mm * 10.0).round() as u32,
            kc_thousandths: (kc * 1000.0).round() as u32,
            cool,
            irrigation: step,
            survival_d: survival_d.round() as u32,
        };
        let plant = Plant {
            taw: Millimetres(f64::from(key.taw_tenths_mm) / 10.0),
            p_table: if cool { P_COOL } else { P_OTHER },
            kc: [f64::from(key.kc_thousandths) / 1000.0; 12],
            green_ks: GREEN_KS,
            survival: Some(SurvivalWatering {
                days_at_wilting: key.survival_d,
                depth: Millimetres(SURVIVAL_DEPTH_MM),
            }),
        };
        Some((key, plant, self.irrigation(step, view)?))
    }
}

/// Share of demand met in the worst three months in a row; 1 where nothing is asked for. A whole year
/// would flatter a climate whose rain falls when little is wanted.
fn driest_quarter(months: &[MonthWater; 12]) -> f64 {
    let share = |first: usize| {
        let quarter = (first..first + 3).map(|month| &months[month % 12]);
        let (demand, used) = quarter.fold((0.0, 0.0), |sum, month| (sum.0 + month.etc, sum.1 + month.eta));
        if demand > 0.0 { used / demand } else { 1.0 }
    };
    (0..12).map(share).fold(1.0, f64::min)
}

/// The first and the last by size; scales and flags keep all their values.
fn ends(values: Vec<Value>) -> Vec<Value> {
    let numbers = || values.iter().filter_map(Value::as_number);
    match (numbers().reduce(f64::min), numbers().reduce(f64::max)) {
        (Some(low), Some(high)) if low < high => vec![Value::Number(low), Value::Number(high)],
        _ => {
            let mut distinct: Vec<Value> = Vec::new();
            for value in values {
                if !distinct.contains(&value) {
                    distinct.push(value);
                }
            }
            distinct
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_driest_quarter_goes_round_the_year() {
        let mut months = [MonthWater { etc: 50.0, eta: 50.0, ..MonthWater::default() }; 12];
        for month in [11, 0, 1] {
            months[month].eta = 20.0;
        }
        assert!((driest_quarter(&months) - 0.4).abs() < 1e-12);
        assert_eq!(driest_quarter(&[MonthWater::default(); 12]), 1.0);
    }
}
