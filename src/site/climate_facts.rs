//! Facts of the climate, from the monthly figures.

use super::et0_monthly::{Choice, Et0Inputs, monthly_et0};
use super::facts::Workbench;
use super::growth::{
    Season, frost_free_days, hot_days, monthly_degree_days, monthly_growth_potential, months_at_or_above,
};
use super::hardiness::{HardinessZone, estimate_extreme_minimum};
use super::solar::{
    KRS_INTERIOR, Monthly, clear_sky_radiation, monthly_extraterrestrial, solar_from_temperature,
};
use crate::engine::facts::Origin;
use crate::engine::value::Value;
use crate::units::factors::{DAY_S, MONTH_D};
use crate::units::quantity::{Celsius, CelsiusDifference, Degrees, MegajoulesPerSquareMetreDay, Metres};

/// Mean temperature from which a month counts as one of growth, degC.
pub const GROWING_MONTH_C: f64 = 10.0;
/// Daily maximum above which a day counts as hot, degC.
const HOT_DAY_C: f64 = 30.0;
/// Base of degree days, degC: what is common for warm-season grasses.
const DEGREE_DAY_BASE_C: f64 = 10.0;
/// Height taken where the site file gives none; ET0 changes by about 1 % for 300 m.
const HEIGHT_WHERE_UNKNOWN_M: f64 = 0.0;

/// Enters what follows from temperatures, rain, latitude and height.
pub fn derive(bench: &mut Workbench<'_>) {
    extreme_minimum(bench);
    match bench.months("precip_mm") {
        Some(precip) => bench.compute("precip_year_mm", precip.iter().sum(), "sum of the months"),
        None => bench.leave_open("precip_year_mm", Vec::new(), &["precip_mm"]),
    }
    leave_open_without_climate(bench);
    let (Some(tmax), Some(tmin)) = (bench.months("tmax_c"), bench.months("tmin_c")) else { return };
    let mean: Monthly = std::array::from_fn(|month| f64::midpoint(tmax[month], tmin[month]));
    let greatest = |months: &Monthly| months.iter().copied().fold(f64::MIN, f64::max);
    let least = |months: &Monthly| months.iter().copied().fold(f64::MAX, f64::min);
    bench.compute_months("tmean_c", mean, "halfway between mean maximum and mean minimum");
    bench.compute("summer_max_c", greatest(&tmax), "hottest month");
    bench.compute("summer_mean_c", greatest(&mean), "warmest month");
    bench.compute("summer_night_c", greatest(&tmin), "month with the warmest nights");
    bench.compute("winter_mean_c", least(&mean), "coldest month");
    let hot: f64 = hot_days(&tmax, Celsius(HOT_DAY_C)).iter().sum();
    bench.enter("heat_days", Value::Number(hot), Origin::Estimated("from the monthly mean maxima".into()));
    let frost_free = f64::from(frost_free_days(&tmin));
    let origin = Origin::Estimated("from the monthly mean minima".into());
    bench.enter("frost_free_days", Value::Number(frost_free), origin);
    let growing = f64::from(months_at_or_above(&mean, GROWING_MONTH_C)) * MONTH_D;
    bench.compute("growing_months", growing, "months with a mean of 10 °C or more");
    let degree_days: f64 = monthly_degree_days(&mean, Celsius(DEGREE_DAY_BASE_C)).iter().sum();
    let origin = Origin::Estimated("from the monthly means; warm days in cool months do not count".into());
    bench.enter("degree_days", Value::Number(degree_days), origin);
    for (name, season) in [("warm_growth_months", Season::Warm), ("cool_growth_months", Season::Cool)] {
        let months: f64 = monthly_growth_potential(&mean, season).iter().sum();
        bench.compute(name, months * MONTH_D, "growth potential summed over the months");
    }
    evapotranspiration(bench, tmax, tmin);
}

/// Names what the facts of the climate wait for, where the file says too little of it.
fn leave_open_without_climate(bench: &mut Workbench<'_>) {
    const FROM_TEMPERATURE: [&str; 11] = [
        "tmean_c",
        "summer_max_c",
        "summer_mean_c",
        "summer_night_c",
        "winter_mean_c",
        "heat_days",
        "frost_free_days",
        "growing_months",
        "degree_days",
        "warm_growth_months",
        "cool_growth_months",
    ];
    let temperatures = ["tmax_c", "tmin_c"];
    if bench.months("tmax_c").is_none() || bench.months("tmin_c").is_none() {
        FROM_TEMPERATURE.iter().for_each(|name| bench.leave_open(name, Vec::new(), &temperatures));
        bench.leave_open("hardiness_zone", Vec::new(), &["extreme_min_c"]);
    }
    let mut for_demand: Vec<&str> =
        temperatures.into_iter().filter(|name| bench.months(name).is_none()).collect();
    if bench.number("latitude_deg").is_none() {
        for_demand.push("latitude_deg");
    }
    if for_demand.is_empty() {
        return;
    }
    ["et0_mm", "et0_year_mm"].iter().for_each(|name| bench.leave_open(name, Vec::new(), &for_demand));
    if bench.months("precip_mm").is_none() {
        for_demand.push("precip_mm");
    }
    let shares = ["rain_share", "water_share", "driest_share", "dry_months"];
    shares.iter().for_each(|name| bench.leave_open(name, Vec::new(), &for_demand));
}

fn extreme_minimum(bench: &mut Workbench<'_>) {
    if bench.value("extreme_min_c").is_none()
        && let Some(tmin) = bench.months("tmin_c")
        && let Some(estimate) = estimate_extreme_minimum(&tmin)
    {
        let error = estimate.standard_error.0;
        let words = format!("from the monthly mean minima, standard error {error:.1} K");
        bench.enter("extreme_min_c", Value::Number(estimate.minimum.0), Origin::Estimated(words));
    }
    if let Some(minimum) = bench.number("extreme_min_c")
        && let Some(zone) = HardinessZone::from_extreme_minimum(Celsius(minimum))
    {
        let origin = Origin::Computed("USDA limits of 2023, from the mean annual extreme minimum".into());
        bench.compute_name("hardiness_zone", &zone.to_string(), origin);
    }
}

fn evapotranspiration(bench: &mut Workbench<'_>, tmax: Monthly, tmin: Monthly) {
    let Some(latitude) = bench.number("latitude_deg") else { return };
    let height = bench.number("elevation_m").unwrap_or(HEIGHT_WHERE_UNKNOWN_M);
    let mut inputs = Et0Inputs::new(Degrees(latitude), Metres(height), tmax, tmin);
    inputs.solar_mj_m2_d = bench.months("solar_mj_m2_d");
    inputs.wind_2m_m_s = bench.months("wind_m_s").map(|months| months.map(|speed| speed / DAY_S));
    inputs.rh_pct = bench.months("rh_pct").map(|months| months.map(|share| share * 100.0));
    inputs.precip_mm = bench.months("precip_mm").map(|months| months.map(|metres| metres * 1000.0));
    // figures that no formula can use leave ET0 unknown rather than wrong
    let Ok(et0) = monthly_et0(&inputs, Choice::ByData) else { return };
    let mut method = et0.method.describe();
    let height = bench.position("elevation_m").and_then(|at| bench.facts.known[at].as_ref());
    match height.map(|known| &known.origin) {
        None => method.push_str("; height above sea level taken as 0 m"),
        Some(Origin::Estimated(words)) => method.push_str(&format!("; height above sea level {words}")),
        Some(_) => {}
    }
    bench.compute_months("et0_mm", et0.mm_month.map(|mm| mm / 1000.0), &method);
    bench.compute("et0_year_mm", et0.year_mm() / 1000.0, &method);
}

/// Solar radiation on the level, as given or from the daily range of temperature, with how.
pub fn solar(bench: &Workbench<'_>) -> Option<(Monthly, &'static str)> {
    if let Some(given) = bench.months("solar_mj_m2_d") {
        return Some((given, "solar radiation as given"));
    }
    let (tmax, tmin) = (bench.months("tmax_c")?, bench.months("tmin_c")?);
    let latitude = bench.number("latitude_deg")?;
    let height = Metres(bench.number("elevation_m").unwrap_or(HEIGHT_WHERE_UNKNOWN_M));
    let outer = monthly_extraterrestrial(Degrees(latitude));
    let estimated = std::array::from_fn(|month| {
        let outer = MegajoulesPerSquareMetreDay(outer[month]);
        let range = CelsiusDifference(tmax[month] - tmin[month]);
        solar_from_temperature(outer, range, KRS_INTERIOR, clear_sky_radiation(outer, height)).0
    });
    Some((estimated, "solar radiation from the daily range of temperature (FAO-56 eq 50)"))
}
