//! Facts of the water: how far rain, and the irrigation allowed, meet what the air asks for.

use super::climate_facts::GROWING_MONTH_C;
use super::effective_rain::scs_monthly;
use super::facts::Workbench;
use super::solar::DAYS_IN_MONTH;
use crate::engine::value::Value;
use crate::units::factors::MONTH_D;
use crate::units::quantity::Millimetres;

/// Depth of water that the root zone takes up between rains, for effective rain (75 mm, the depth
/// that the published monthly table is made for; FAO Irrigation and Drainage Paper 24, table 34).
const NET_DEPTH_MM: f64 = 75.0;
/// Share of reference evapotranspiration below which a month counts as dry.
const DRY_SHARE: f64 = 0.5;
/// Facts that say how much irrigation may be given, which a site file states only where any is.
pub const HOW_MUCH: [&str; 3] = ["days_per_week", "irrigation_depth_mm", "season_cap_mm"];
const METHOD: &str = "monthly balance: SCS effective rain and the irrigation allowed, against ET0";

/// Rain and demand of the growing months.
struct Season {
    et0_mm: [f64; 12],
    rain_mm: [f64; 12],
    grows: [bool; 12],
}

/// Shares of demand that are met.
struct Shares {
    mean: f64,
    driest: f64,
    dry_months: f64,
}

/// Enters the shares of demand that water meets.
pub fn derive(bench: &mut Workbench<'_>) {
    // a site file that says both is refused, but a change may bring irrigation to none: how much says nothing then
    let is_none = bench.value("irrigation").and_then(Value::as_position) == Some(0);
    HOW_MUCH.iter().for_each(|name| bench.unstate(name, is_none));
    let Some(season) = season(bench) else { return };
    let Some(rain) = shares(&season, &[0.0; 12]) else { return };
    bench.compute("rain_share", rain.mean, "SCS effective rain against ET0 over the growing months");
    if bench.value("stays_moist").and_then(Value::as_flag) == Some(true) {
        let all = "water from below meets what rain does not";
        bench.compute("water_share", 1.0, all);
        bench.compute("driest_share", 1.0, all);
        bench.compute("dry_months", 0.0, all);
        return;
    }
    if let Some(step) = bench.value("irrigation").and_then(Value::as_position) {
        if let Some(shares) = irrigation(bench, &season, step).and_then(|given| shares(&season, &given)) {
            bench.compute("water_share", shares.mean, METHOD);
            bench.compute("driest_share", shares.driest, METHOD);
            bench.compute("dry_months", shares.dry_months, METHOD);
        }
        return;
    }
    let much = HOW_MUCH.iter().filter_map(|name| bench.value(name)?.as_number());
    let rules_out_none = rules_out_none(much);
    let plausible: Vec<Shares> = bench
        .plausible("irrigation")
        .iter()
        .filter_map(Value::as_position)
        .filter(|step| *step > 0 || !rules_out_none)
        .filter_map(|step| shares(&season, &irrigation(bench, &season, step)?))
        .collect();
    let each =
        |pick: fn(&Shares) -> f64| plausible.iter().map(|shares| Value::Number(pick(shares))).collect();
    bench.leave_open("water_share", each(|shares| shares.mean), &["irrigation"]);
    bench.leave_open("driest_share", each(|shares| shares.driest), &["irrigation"]);
    bench.leave_open("dry_months", each(|shares| shares.dry_months), &["irrigation"]);
}

/// Who says how much may be given, more than nothing, does not mean that none may.
pub fn rules_out_none(mut much: impl Iterator<Item = f64>) -> bool {
    much.any(|much| much > 0.0)
}

fn season(bench: &Workbench<'_>) -> Option<Season> {
    let mm = |months: [f64; 12]| months.map(|metres| metres * 1000.0);
    let et0_mm = mm(bench.months("et0_mm")?);
    let precip = mm(bench.months("precip_mm")?);
    let grows = bench.months("tmean_c")?.map(|mean| mean >= GROWING_MONTH_C);
    let rain_mm = std::array::from_fn(|month| {
        scs_monthly(Millimetres(precip[month]), Millimetres(et0_mm[month]), Millimetres(NET_DEPTH_MM)).0
    });
    Some(Season { et0_mm, rain_mm, grows })
}

/// Irrigation of each month for a step of the scale: within the days a week and the depth of the site
/// file or else of the table, as in the daily balance, up to the share of ET0 that anybody waters to.
/// Under a season's cap the share is lowered until the season fits, so that the driest months keep what
/// they need most.
fn irrigation(bench: &Workbench<'_>, season: &Season, step: usize) -> Option<[f64; 12]> {
    let table = bench.knowledge.table_named("irrigation")?;
    let allowed = table.number(step, "share_of_et0")?;
    // days a week are a share of days, depths are in metres
    let stated = |fact: &str, column: &str| bench.number(fact).or_else(|| table.number(step, column));
    let a_day =
        stated("days_per_week", "days_per_week")? * stated("irrigation_depth_mm", "depth_mm")? * 1000.0;
    let up_to = |share: f64| -> [f64; 12] {
        std::array::from_fn(|month| {
            if !season.grows[month] {
                return 0.0;
            }
            let wanted = (share * season.et0_mm[month] - season.rain_mm[month]).max(0.0);
            wanted.min(a_day * f64::from(DAYS_IN_MONTH[month]))
        })
    };
    let total = |share: f64| up_to(share).iter().sum::<f64>();
    let Some(cap) = bench.number("season_cap_mm").map(|metres| metres * 1000.0) else {
        return Some(up_to(allowed));
    };
    Some(up_to(greatest_within(allowed, |share| total(share) <= cap)))
}

/// The greatest share up to `most` that fits, where smaller ones fit if a greater one does.
fn greatest_within(most: f64, fits: impl Fn(f64) -> bool) -> f64 {
    if fits(most) {
        return most;
    }
    let (mut low, mut high) = (0.0, most);
    // halving a share of 1 this often leaves nothing that a number could tell
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if fits(middle) { low = middle } else { high = middle }
    }
    low
}

/// `None` where no month grows.
fn shares(season: &Season, irrigation_mm: &[f64; 12]) -> Option<Shares> {
    let share: [Option<f64>; 12] = std::array::from_fn(|month| {
        let supply = season.rain_mm[month] + irrigation_mm[month];
        (season.grows[month] && season.et0_mm[month] > 0.0).then(|| (supply / season.et0_mm[month]).min(1.0))
    });
    let demand: f64 = (0..12).filter(|m| share[*m].is_some()).map(|m| season.et0_mm[m]).sum();
    let met: f64 = (0..12).filter_map(|m| Some(share[m]? * season.et0_mm[m])).sum();
    let driest = share.iter().flatten().copied().reduce(f64::min)?;
    let dry = share.map(|share| share.is_some_and(|share| share < DRY_SHARE - 1e-6));
    Some(Shares { mean: met / demand, driest, dry_months: longest_run(&dry) as f64 * MONTH_D })
}

/// Longest run of months, round the year.
fn longest_run(months: &[bool; 12]) -> usize {
    let (mut run, mut longest) = (0, 0);
    for month in months.iter().cycle().take(24) {
        run = if *month { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    longest.min(12)
}
