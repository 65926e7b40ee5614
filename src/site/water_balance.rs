//! The daily soil-water balance of a species at a site, as a formula among the rules.
//!
//! Weather: the days of [`super::site_weather`]. Plant: its unstressed demand and its need for
//! acceptable cover (shares of ET0) as the rules derive them from the evidence, its roots down to the
//! depth of the soil. It draws on the soil by its demand; what it gets is held against its need, so
//! that thrift counts once. Irrigation: what the table says of the site's word, or the days and depth
//! that the site file states, as water that reaches the roots.

use std::sync::Arc;

use super::daily_weather::DailyWeather;
use super::facts::{SiteFacts, Workbench};
use super::site_weather::SiteWeather;
use super::soil_water::{
    Irrigation, MonthWater, Plant, SiteWater, WaterNeeds, Watered, needs, run, run_with_needs,
};
use super::water_facts::rules_out_none;
mod case;
mod kept;
mod measures;
pub mod runoff;

use case::{Case, Growing, Rooted, Span, Years};
pub use kept::KeptRuns;
use kept::{Allowed, Runs};
use measures::Measures;
use runoff::Runoff;

use crate::engine::expression::Facts;
use crate::engine::facts::View;
use crate::engine::formula::{Compute, ComputedFact, Declared};
use crate::engine::plausible::Plausible;
use crate::engine::value::{Slot, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::tables::LookupTable;
use crate::units::quantity::Millimetres;

/// Name of the formula.
const ID: &str = "daily soil-water balance";

/// What the balance reads of a species and of rules, and what it writes.
pub const WATER_BALANCE: Declared = Declared {
    id: ID,
    reads: &["fit.kc", "fit.water_need", "fit.survival_days_here", "species.root_depth_cm", "species.kind"],
    of_site: &[
        "site.et0_mm",
        "site.precip_mm",
        "site.wet_days",
        "site.latitude_deg",
        "site.texture",
        "site.slope_pct",
        "site.taw_mm_m",
        "site.soil_depth_cm",
        "site.tree_roots",
        "site.shade",
        "site.irrigation",
        "site.season_cap_mm",
        "site.days_per_week",
        "site.irrigation_depth_mm",
        "site.stays_moist",
    ],
    writes: &[
        "fit.et_met",
        "fit.et_met_year",
        "fit.demand_met",
        "fit.stress_days",
        "fit.longest_wilting_d",
        "fit.green_irrigation_mm",
        "fit.survival_irrigation_mm",
    ],
};

/// Roots below this depth are not counted on: FAO-56 Table 22 gives turf 0.5 to 1.0 m.
const DEEPEST_ROOTS_M: f64 = 1.2;
/// Roots shallower than this draw on the water of the whole layer that evaporation dries, since it rises to
/// them: FAO-56 puts that layer at 0.10 to 0.15 m (text of equation 73, from memory).
const SHALLOWEST_ROOTS_M: f64 = 0.1;
/// Share of the soil's store that is left where tree roots share it (common practice).
pub const STORE_BESIDE_TREE_ROOTS: f64 = 0.5;
/// Share of rain and irrigation that comes to a plant among tree roots: crowns keep rain off, and the roots of
/// trees drink first (common practice; University of Missouri Extension G6725 and University of Massachusetts
/// Extension, turf in shade, tell of both without a figure).
pub const WATER_BESIDE_TREE_ROOTS: f64 = 0.7;
/// Demand lost by the first step of shade and by each one after it, so that a site in light shade keeps nine tenths
/// and one in dense shade half: the ends of the microclimate factor of shaded planting in the landscape coefficient
/// guide of California (Costello et al. 2000, table 1; from memory).
const LESS_DEMAND_IN_LIGHT_SHADE: f64 = 0.1;
const LESS_DEMAND_A_FURTHER_STEP: f64 = 0.2;
/// Years that cases are run over which are only supposed, since an input is not known: all that a pattern of
/// rain has, so that what is answered then lies within what was supposed, and the latest of a long record.
const YEARS_SUPPOSED: usize = 30;
/// Days at wilting after which a plant of which nothing is known is watered to live.
const SURVIVAL_D: f64 = 30.0;
/// The balance of one site, made ready once for all species, which many may ask at a time.
pub struct SiteBalance<'a> {
    knowledge: &'a Knowledge,
    /// The water of the days; more than one where the rain is only supposed.
    waters: Vec<SiteWater<'a>>,
    /// The latest years alone, for cases that are only supposed.
    lately: Vec<SiteWater<'a>>,
    slots: Slots,
    /// How far the months let plants grow, and so take water.
    growing: Growing,
    runs: Arc<Runs>,
}

/// Water of a species month by month.
#[derive(Clone, Debug, PartialEq)]
pub struct SpeciesMonths {
    /// Means by month.
    pub months: [MonthWater; 12],
    /// What a season's cap leaves, where there is one.
    pub capped: Option<Irrigation>,
    /// Whether tree roots drink with it; `None` where trees may stand near, and are supposed to take none.
    pub beside_trees: Option<bool>,
    /// Whether water from below meets what rain does not.
    pub from_below: bool,
}

/// The days of a site, and the latest of them alone where they are many.
pub struct SiteDays<'a> {
    all: &'a [DailyWeather],
    lately: Vec<DailyWeather>,
    kept: Option<&'a KeptRuns>,
}

impl<'a> SiteDays<'a> {
    /// From the weather of a site.
    pub fn new(weather: &'a SiteWeather) -> Self {
        let all = &weather.days;
        let many = all.iter().filter(|days| days.years() > YEARS_SUPPOSED);
        Self {
            all,
            lately: many.map(|days| days.latest(YEARS_SUPPOSED)).collect(),
            kept: Some(&weather.kept),
        }
    }

    /// The same for runs of which hardly any comes again, so that keeping them all would fill the memory.
    #[must_use]
    pub fn keeping_nothing(self) -> Self {
        Self { kept: None, ..self }
    }
}

/// Where the balance finds its inputs.
struct Slots {
    taw: Option<Slot>,
    depth: Option<Slot>,
    irrigation: Option<Slot>,
    tree_roots: Option<Slot>,
    shade: Option<Slot>,
    kc: Option<Slot>,
    need: Option<Slot>,
    rain: Option<Slot>,
    survival: Option<Slot>,
    roots: Option<Slot>,
    kind: Option<Slot>,
    cap: Option<Slot>,
    days: Option<Slot>,
    dose: Option<Slot>,
    moist: Option<Slot>,
    writes: Vec<Slot>,
}

impl<'a> SiteBalance<'a> {
    /// The balance over that weather.
    pub fn new(days: Option<&'a SiteDays<'a>>, facts: &SiteFacts, knowledge: &'a Knowledge) -> Self {
        let slot = |id: &str| knowledge.vocabulary.slot(id);
        let slots = Slots {
            taw: slot("site.taw_mm_m"),
            depth: slot("site.soil_depth_cm"),
            irrigation: slot("site.irrigation"),
            tree_roots: slot("site.tree_roots"),
            shade: slot("site.shade"),
            kc: slot("fit.kc"),
            need: slot("fit.water_need"),
            rain: slot("site.precip_mm"),
            survival: slot("fit.survival_days_here"),
            roots: slot("species.root_depth_cm"),
            kind: slot("species.kind"),
            cap: slot("site.season_cap_mm"),
            days: slot("site.days_per_week"),
            dose: slot("site.irrigation_depth_mm"),
            moist: slot("site.stays_moist"),
            writes: WATER_BALANCE.writes.iter().filter_map(|id| slot(id)).collect(),
        };
        let number = Runoff::of(facts, knowledge).curve_number;
        let enters = |days: &'a DailyWeather| SiteWater::new(days, Some(number));
        let waters = days.map_or_else(Vec::new, |days| days.all.iter().map(enters).collect());
        let lately = days.map_or_else(Vec::new, |days| days.lately.iter().map(enters).collect());
        let growing = Growing::of(Workbench::new(knowledge, facts.clone()).months("tmean_c"));
        let kept = days.and_then(|days| days.kept);
        let runs = kept.map_or_else(Arc::default, |kept| kept.of(number, &growing));
        Self { knowledge, waters, lately, slots, growing, runs }
    }

    fn table(&self) -> Option<&LookupTable> {
        self.knowledge.table_named("irrigation")
    }

    /// Whether water rises to the roots from below as fast as they take it.
    fn stays_moist(&self, view: &View<'_>) -> bool {
        self.slots.moist.and_then(|slot| view.get(slot)?.as_flag()).unwrap_or(false)
    }

    /// What comes to the roots beside rain: what rises from below (the term CR of FAO-56 equation 85) where the
    /// ground stays moist, or else the irrigation of a step.
    fn beside_rain(&self, step: usize, view: &View<'_>) -> Option<Irrigation> {
        if self.stays_moist(view) { Some(Irrigation::FULL) } else { self.irrigation(step, view) }
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

/// What the balance takes, each as far as it is known.
struct Inputs {
    /// Available water of the root zone, mm.
    taw_mm: Span,
    /// Share of the water that comes to it.
    water_share: Span,
    /// Unstressed demand as a share of ET0.
    kc: Span,
    /// Share of ET0 that keeps it in acceptable cover.
    need: Span,
    /// Days at wilting that it outlasts.
    survival_d: Span,
    cool: bool,
    warm: bool,
    /// Steps of the scale of irrigation.
    irrigation: Vec<usize>,
    /// What is not known of all this.
    waits_for: Vec<Slot>,
}

impl Inputs {
    /// The driest case and the wettest: all that is plausible lies between them. (The count of days
    /// short of water need not, since it is not monotone in the depth of soil.)
    fn corners(&self) -> impl Iterator<Item = Case> {
        let spans = [self.taw_mm, self.water_share, self.kc, self.need, self.survival_d];
        let case = |taw_mm, water_share, kc, need, survival_d| Case {
            taw_mm,
            water_share,
            kc,
            need,
            survival_d,
            cool: self.cool,
            warm: self.warm,
        };
        let dry =
            case(self.taw_mm.low, self.water_share.low, self.kc.high, self.need.high, self.survival_d.low);
        let wet =
            case(self.taw_mm.high, self.water_share.high, self.kc.low, self.need.low, self.survival_d.high);
        std::iter::once(dry).chain(spans.into_iter().any(Span::is_open).then_some(wet))
    }
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
        let inputs =
            climate.into_iter().chain([s.taw, s.depth, s.irrigation, s.shade, s.kc, s.need]).flatten();
        let unknown: Vec<Slot> =
            inputs.filter(|slot| view.get(*slot).is_none()).flat_map(|slot| plausible.roots(slot)).collect();
        let fact = |slot: &Slot| ComputedFact { slot: *slot, values: Vec::new(), waits_for: unknown.clone() };
        s.writes.iter().map(fact).collect()
    }

    fn balance(&self, view: &View<'_>, plausible: &dyn Plausible) -> Option<Vec<ComputedFact>> {
        let values =
            |slot: Slot| view.get(slot).cloned().map_or_else(|| plausible.values(slot), |value| vec![value]);
        let inputs = self.inputs(view, &values)?;
        let supposed = inputs.irrigation.len() > 1 || inputs.corners().count() > 1;
        let few_years = supposed && self.lately.len() == self.waters.len();
        let mut outcomes: Vec<[f64; 7]> = Vec::new();
        for at in 0..self.waters.len() {
            let over = if few_years { Years::Lately(at) } else { Years::All(at) };
            for step in &inputs.irrigation {
                for case in inputs.corners() {
                    outcomes.push(self.one(over, view, *step, &case)?);
                }
            }
        }
        if outcomes.is_empty() {
            return None;
        }
        let rain = self.slots.rain.filter(|_| self.waters.len() > 1);
        let waits_for: Vec<Slot> =
            inputs.waits_for.iter().copied().chain(rain).flat_map(|slot| plausible.roots(slot)).collect();
        let facts = self.slots.writes.iter().enumerate().map(|(at, slot)| ComputedFact {
            slot: *slot,
            values: outcomes.iter().map(|outcome| Value::Number(outcome[at])).collect(),
            waits_for: waits_for.clone(),
        });
        Some(facts.collect())
    }

    /// The twelve months of a species, for a table; `None` while an input is unknown.
    pub fn months(&self, view: &View<'_>) -> Option<SpeciesMonths> {
        let values = |slot: Slot| match view.get(slot) {
            Some(value) => vec![value.clone()],
            // where it is not known no tree is supposed to take water
            None if Some(slot) == self.slots.tree_roots => vec![Value::Flag(false)],
            None => Vec::new(),
        };
        let inputs = self.inputs(view, &values)?;
        let step = *inputs.irrigation.first()?;
        let case = inputs.corners().next()?;
        let (rooted, plant) = case.plant(Years::All(0), &self.growing);
        let [water] = &self.waters[..] else { return None };
        let allowed = self.beside_rain(step, view)?;
        let (watered, _) = self.run(water, (rooted, &plant), allowed)?;
        let balance = Measures::looks_best(&watered, case.need_of_demand())?;
        let given = Irrigation { days_per_week: balance.days_per_week, ..allowed };
        let capped = given.season_cap.map(|_| given);
        let shaded = self.slots.shade.and_then(|slot| view.get(slot)?.as_position()).is_some_and(|at| at > 0);
        let told = self.slots.tree_roots.and_then(|slot| view.get(slot)?.as_flag());
        let beside_trees = if shaded { told } else { Some(false) };
        let mut months = balance.months;
        let from_below = self.stays_moist(view);
        if from_below {
            months.iter_mut().for_each(|month| month.irrigation = 0.0);
        }
        Some(SpeciesMonths { months, capped, beside_trees, from_below })
    }

    /// The seven results for one case, in the order of [`WATER_BALANCE`]'s writes.
    fn one(&self, over: Years, view: &View<'_>, step: usize, case: &Case) -> Option<[f64; 7]> {
        let site = match over {
            Years::All(at) => self.waters.get(at)?,
            Years::Lately(at) => self.lately.get(at)?,
        };
        let (rooted, plant) = case.plant(over, &self.growing);
        let allowed = self.beside_rain(step, view)?;
        let (watered, wanted) = self.run(site, (rooted, &plant), allowed)?;
        let found = Measures::of(&watered, case.need_of_demand());
        let put_on = if self.stays_moist(view) { WaterNeeds::default() } else { wanted };
        Some([
            found.driest_quarter_met,
            found.year_met,
            found.demand_met,
            found.stress_days,
            found.longest_wilting_d,
            put_on.green_mm / 1000.0,
            put_on.survival_mm.unwrap_or(0.0) / 1000.0,
        ])
    }

    /// The balances under an allowance, and what the plant would want; those that are not known yet are run,
    /// together where both are not.
    fn run(
        &self,
        site: &SiteWater<'_>,
        (rooted, plant): (Rooted, &Plant),
        allowed: Irrigation,
    ) -> Option<(Arc<Watered>, WaterNeeds)> {
        let survival_d = plant.survival.map_or(0, |survival| survival.days_at_wilting);
        let green = (plant.green_ks * 1000.0).round() as u32;
        let (of_balance, of_needs) = ((rooted, Allowed::from(&allowed)), (rooted, survival_d, green));
        let (balances, wanted) = (&self.runs.balances, &self.runs.needs);
        Some(match (balances.known(&of_balance), wanted.known(&of_needs)) {
            (Some(watered), Some(wanted)) => (watered, wanted),
            (Some(watered), None) => (watered, wanted.keep(of_needs, needs(site, plant).ok()?)),
            (None, Some(wanted)) => {
                let watered = run(site, plant, &allowed).ok()?;
                (balances.keep(of_balance, Arc::new(watered)), wanted)
            }
            (None, None) => {
                let (watered, needs) = run_with_needs(site, plant, &allowed).ok()?;
                (balances.keep(of_balance, Arc::new(watered)), wanted.keep(of_needs, needs))
            }
        })
    }

    /// What the balance takes, from what each fact is or may be; `None` where one may be anything.
    fn inputs(&self, view: &View<'_>, values: &dyn Fn(Slot) -> Vec<Value>) -> Option<Inputs> {
        let s = &self.slots;
        let mut waits_for = Vec::new();
        let mut ask = |slot: Option<Slot>| -> Option<Vec<Value>> {
            let values = values(slot?);
            if values.windows(2).any(|pair| pair[0] != pair[1]) {
                waits_for.extend(slot);
            }
            Some(values)
        };
        let numbers = |values: &[Value]| Span::of(values.iter().filter_map(Value::as_number));
        let shade: Vec<f64> =
            ask(s.shade)?.iter().filter_map(Value::as_position).map(|at| at as f64).collect();
        let shade = Span::of(shade.iter().copied())?;
        let (taw, depth) = (numbers(&ask(s.taw)?)?, numbers(&ask(s.depth)?)?);
        let (kc, need) = (numbers(&ask(s.kc)?)?, numbers(&ask(s.need)?)?);
        let mut irrigation: Vec<usize> = if self.stays_moist(view) {
            // the ground waters it, whatever is allowed
            vec![0]
        } else {
            ask(s.irrigation)?.iter().filter_map(Value::as_position).collect()
        };
        let stated = |slot: &Option<Slot>| view.get((*slot)?)?.as_number();
        if rules_out_none([s.cap, s.days, s.dose].iter().filter_map(stated)) {
            irrigation.retain(|step| *step > 0 || self.stays_moist(view));
        }
        // in full sun no tree stands near enough to drink
        let beside_trees: Vec<bool> = if shade.high > 0.0 {
            ask(s.tree_roots)?.iter().filter_map(Value::as_flag).collect()
        } else {
            vec![false]
        };
        let survival_d = numbers(&ask(s.survival)?).unwrap_or(Span { low: SURVIVAL_D, high: SURVIVAL_D });
        let some_trees = beside_trees.contains(&true);
        let no_trees = beside_trees.contains(&false) || shade.low <= 0.0;
        let beside = |share: f64| Span {
            low: if some_trees { share } else { 1.0 },
            high: if no_trees { 1.0 } else { share },
        };
        let (store, water_share) = (beside(STORE_BESIDE_TREE_ROOTS), beside(WATER_BESIDE_TREE_ROOTS));
        let roots_m = s.roots.and_then(|slot| view.get(slot)?.as_number()).unwrap_or(DEEPEST_ROOTS_M / 2.0);
        let roots_m = roots_m.clamp(SHALLOWEST_ROOTS_M, DEEPEST_ROOTS_M);
        let rooted = |depth_m: f64| roots_m.min(depth_m) * 1000.0;
        let rooted = Span { low: rooted(depth.low), high: rooted(depth.high) };
        let dimmed = |steps: f64| {
            1.0 - LESS_DEMAND_IN_LIGHT_SHADE * steps.min(1.0)
                - LESS_DEMAND_A_FURTHER_STEP * (steps - 1.0).max(0.0)
        };
        let dimmed = Span { low: dimmed(shade.high), high: dimmed(shade.low) };
        let kind = s.kind.and_then(|slot| view.get(slot)?.as_position());
        let list = self
            .knowledge
            .vocabulary
            .list_named("kind", false)
            .map(|list| self.knowledge.vocabulary.list(list));
        let is =
            |name: &str| kind.is_some() && kind == list.and_then(|list| list.position(name)).map(usize::from);
        let (cool, warm) = (is("cool-season-grass"), is("warm-season-grass"));
        let closed = irrigation.is_empty() || beside_trees.is_empty();
        (!closed).then_some(Inputs {
            taw_mm: taw.times(rooted).times(store),
            water_share,
            kc: kc.times(dimmed),
            need: need.times(dimmed),
            survival_d,
            cool,
            warm,
            irrigation,
            waits_for,
        })
    }
}
