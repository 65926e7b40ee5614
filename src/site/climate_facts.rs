//! Facts of the climate, from the monthly figures.

use super::climate::DailyRecord;
use super::counted_days::count_days;
use super::et0_bias::expectation;
use super::et0_monthly::{Choice, Et0Inputs, Method, monthly_et0};
use super::facts::Workbench;
use super::growth::{
    FROST_FREE_ERROR, HOT_DAYS_ERROR, PARAMETERS, Season, frost_free_days, hot_days, monthly_degree_days,
    monthly_growth_potential, months_at_or_above,
};
use super::hardiness::{HardinessZone, estimate_extreme_minimum, in_fitted_country};
use super::lending::Lending;
use super::nearest::FromNearest;
use super::region_position::middle_of_region;
use super::slope::{Slope, monthly_sun_ratio};
use super::solar::{
    DAYS_IN_MONTH, KRS_COASTAL, KRS_INTERIOR, Monthly, clear_sky_radiation, monthly_day_length,
    monthly_extraterrestrial, solar_from_sunshine, solar_from_temperature,
};
use crate::engine::facts::Origin;
use crate::engine::value::Value;
use crate::units::factors::{DAY_S, MONTH_D};
use crate::units::quantity::{
    Celsius, CelsiusDifference, Degrees, Hours, MegajoulesPerSquareMetreDay, Metres,
};

/// Mean temperature from which a month counts as one of growth, degC.
pub const GROWING_MONTH_C: f64 = 10.0;
/// Daily maximum above which a day counts as hot, degC.
const HOT_DAY_C: f64 = 30.0;
/// Base of degree days, degC: that of the seeding trials which the rules read them against (Patton et
/// al. 2004, Crop Science 44:2160).
const DEGREE_DAY_BASE_C: f64 = 5.0;
/// Height taken where the site file gives none; ET0 changes by about 1 % for 300 m.
const HEIGHT_WHERE_UNKNOWN_M: f64 = 0.0;

/// Enters what follows from temperatures, rain, latitude and height. `record` holds the days behind
/// the temperatures, where a station's file has them; `near` is the place that lent what the site file
/// leaves out.
pub fn derive(bench: &mut Workbench<'_>, record: Option<&DailyRecord>, near: Option<&FromNearest>) {
    let lending = near.map(|near| near.lending);
    extreme_minimum(bench, lending);
    match bench.months("precip_mm") {
        Some(precip) => bench.compute("precip_year_mm", precip.iter().sum(), "sum of the months"),
        None => bench.leave_open("precip_year_mm", Vec::new(), &["precip_mm"]),
    }
    leave_open_without_climate(bench);
    slope_sun(bench);
    let (Some(tmax), Some(tmin)) = (bench.months("tmax_c"), bench.months("tmin_c")) else { return };
    let mean: Monthly = std::array::from_fn(|month| f64::midpoint(tmax[month], tmin[month]));
    let greatest = |months: &Monthly| months.iter().copied().fold(f64::MIN, f64::max);
    let least = |months: &Monthly| months.iter().copied().fold(f64::MAX, f64::min);
    bench.compute_months("tmean_c", mean, "halfway between mean maximum and mean minimum");
    bench.compute("summer_max_c", greatest(&tmax), "hottest month");
    bench.compute("summer_mean_c", greatest(&mean), "warmest month");
    bench.compute("summer_night_c", greatest(&tmin), "month with the warmest nights");
    bench.compute("winter_mean_c", least(&mean), "coldest month");
    let growing = f64::from(months_at_or_above(&mean, GROWING_MONTH_C)) * MONTH_D;
    bench.compute("growing_months", growing, "months with a mean of 10 °C or more");
    if let Some(record) = record {
        count(bench, record);
    }
    estimate_counts(bench, &tmax, &tmin, &mean);
    let method = format!("growth potential ({PARAMETERS}) summed over the months");
    for (name, season) in [("warm_growth_months", Season::Warm), ("cool_growth_months", Season::Cool)] {
        let months: f64 = monthly_growth_potential(&mean, season).iter().sum();
        bench.compute(name, months * MONTH_D, &method);
    }
    evapotranspiration(bench, tmax, tmin, near);
}

/// Counts in the days of a station: they go before any estimate.
fn count(bench: &mut Workbench<'_>, record: &DailyRecord) {
    let Some(counted) = count_days(record, Celsius(HOT_DAY_C), Celsius(DEGREE_DAY_BASE_C)) else { return };
    bench.compute("heat_days", counted.hot_days, &counted.words);
    bench.compute("degree_days", counted.degree_days, &counted.words);
    if let Some(days) = counted.frost_free_days {
        bench.compute("frost_free_days", days, &counted.words);
    }
}

/// What the monthly means tell of days, with the error of the method, where nothing was counted.
fn estimate_counts(bench: &mut Workbench<'_>, tmax: &Monthly, tmin: &Monthly, mean: &Monthly) {
    let mut estimate = |name: &str, value: f64, words: String| {
        bench.enter(name, Value::Number(value), Origin::Estimated(words));
    };
    let hot = hot_days(tmax, Celsius(HOT_DAY_C)).iter().sum();
    let words = format!("from the monthly mean maxima, standard error {HOT_DAYS_ERROR:.0} d");
    estimate("heat_days", hot, words);
    let frost_free = f64::from(frost_free_days(tmin));
    let words = format!("from the monthly mean minima, standard error {FROST_FREE_ERROR:.0} d");
    estimate("frost_free_days", frost_free, words);
    let degree_days = monthly_degree_days(mean, Celsius(DEGREE_DAY_BASE_C)).iter().sum();
    let words = "from the monthly means; warm days in cool months do not count";
    estimate("degree_days", degree_days, words.into());
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

/// How a fact was come by.
fn origin_of<'a>(bench: &'a Workbench<'_>, name: &str) -> Option<&'a Origin> {
    let at = bench.position(name)?;
    Some(&bench.facts.known[at].as_ref()?.origin)
}

/// What is said of an estimated extreme minimum where the site is not like the places of the fit.
const UNLIKE_THE_FITTED: &str = "; fitted in the interior, east and south of the United States away from \
    coasts, it errs by more elsewhere: on mild western coasts it is too cold by some kelvins, in Florida and on the \
    southern Gulf coast too mild by 3 to 4";

/// Whether the site is known to be like the places that the estimate of the extreme minimum was fitted on, by
/// its position or else by its state.
fn like_the_fitted(bench: &Workbench<'_>) -> bool {
    let stated = bench.number("latitude_deg").zip(bench.number("longitude_deg"));
    let by_region = || match bench.value("region") {
        Some(Value::Text(region)) => middle_of_region(region),
        _ => None,
    };
    let on_coast = bench.value("coast").and_then(Value::as_flag) == Some(true);
    !on_coast && stated.or_else(by_region).is_some_and(in_fitted_country)
}

fn extreme_minimum(bench: &mut Workbench<'_>, lending: Option<Lending>) {
    let mut error = None;
    if bench.value("extreme_min_c").is_some() {
        // one that is estimated before any formula was lent
        let lent = matches!(origin_of(bench, "extreme_min_c"), Some(Origin::Estimated(_)));
        error = lending.filter(|_| lent).map(|lending| lending.error_k());
    } else if let Some(tmin) = bench.months("tmin_c")
        && let Some(estimate) = estimate_extreme_minimum(&tmin)
    {
        let like_the_fitted = like_the_fitted(bench);
        let own = estimate.error_at(like_the_fitted).0;
        let lent = matches!(origin_of(bench, "tmin_c"), Some(Origin::Nearest(_)));
        let (whole, more) = match lending.filter(|_| lent) {
            Some(lending) => (lending.error_with(own), format!(", {}", lending.words())),
            None => (own, String::new()),
        };
        let unlike = if like_the_fitted { "" } else { UNLIKE_THE_FITTED };
        let words = format!("from the monthly mean minima, standard error {whole:.1} K{more}{unlike}");
        bench.enter("extreme_min_c", Value::Number(estimate.minimum.0), Origin::Estimated(words));
        error = Some(whole);
    }
    if let Some(error) = error {
        bench.errs_by("extreme_min_c", error);
    }
    if let Some(minimum) = bench.number("extreme_min_c")
        && let Some(zone) = HardinessZone::from_extreme_minimum(Celsius(minimum))
    {
        let by = "USDA limits of 2023, from the mean annual extreme minimum";
        let end = |way: f64| {
            let minimum = minimum + way * error.unwrap_or(0.0);
            HardinessZone::from_extreme_minimum(Celsius(minimum)).unwrap_or(zone)
        };
        let origin = match error {
            Some(error) => Origin::Estimated(format!(
                "by {by}; {} to {} within its error of {error:.1} K",
                end(-1.0),
                end(1.0)
            )),
            None => Origin::Computed(by.into()),
        };
        bench.compute_name("hardiness_zone", &zone.to_string(), origin);
    }
}

fn evapotranspiration(bench: &mut Workbench<'_>, tmax: Monthly, tmin: Monthly, near: Option<&FromNearest>) {
    let Some(latitude) = bench.number("latitude_deg") else { return };
    let height = bench.number("elevation_m").unwrap_or(HEIGHT_WHERE_UNKNOWN_M);
    let mut inputs = Et0Inputs::new(Degrees(latitude), Metres(height), tmax, tmin);
    let stated = stated_solar(bench);
    let coast = Coast::of(bench);
    inputs.krs = coast.krs;
    inputs.solar_mj_m2_d = stated.map(|(months, _)| months);
    let ratio = sun_ratio(bench);
    // demand per area of the map, as rain is: a slope has more ground than it covers there
    let on_map = slope(bench).map_or(1.0, |slope| slope.angle_rad.cos());
    inputs.sun_ratio = ratio.map_or([1.0; 12], |months| months.map(|month| month / on_map));
    inputs.wind_2m_m_s = bench.months("wind_m_s").map(|months| months.map(|speed| speed / DAY_S));
    inputs.rh_pct = bench.months("rh_pct").map(|months| months.map(|share| share * 100.0));
    inputs.precip_mm = bench.months("precip_mm").map(|months| months.map(|metres| metres * 1000.0));
    // figures that no formula can use leave ET0 unknown rather than wrong
    let Ok(et0) = monthly_et0(&inputs, Choice::ByData) else { return };
    let mut method = et0.method.describe();
    match (stated, et0.method) {
        (Some((_, BY_SUNSHINE)), _) => method.push_str(&format!("; {BY_SUNSHINE}")),
        (None, Method::PenmanMonteith(_)) => method.push_str(&format!("; eq 50 {}", coast.words)),
        _ => {}
    }
    let is_lent = |id: &str| {
        let name = id.trim_start_matches("site.");
        matches!(origin_of(bench, name), Some(Origin::Nearest(_)))
    };
    if let Some(words) = near.and_then(|near| near.demand_words(is_lent)) {
        method.push_str(&format!("; {words}"));
    }
    if ratio.is_some() {
        method.push_str("; with the sun that the slope gets, per area of the map");
    }
    // the other formula takes temperature and latitude alone
    if let Method::PenmanMonteith(_) = et0.method {
        match origin_of(bench, "elevation_m") {
            None => method.push_str("; height above sea level taken as 0 m"),
            Some(Origin::Estimated(words)) => method.push_str(&format!("; height above sea level {words}")),
            Some(_) => {}
        }
    }
    let origin = match (et0.method.relative_error(), expectation(&et0.method, et0.aridity)) {
        (None, _) => Origin::Computed(method),
        (Some(_), Some(words)) if et0.aridity.is_some() => Origin::Estimated(format!("by {method}; {words}")),
        (Some(error), words) => {
            let words = words.map(|words| format!("; {words}")).unwrap_or_default();
            let error = error * 100.0;
            Origin::Estimated(format!("by {method}; the year's total errs by some {error:.0} %{words}"))
        }
    };
    let months = et0.mm_month.map(|mm| mm / 1000.0);
    if months.iter().all(|month| month.is_finite()) {
        bench.enter("et0_mm", Value::Months(months.into()), origin.clone());
        bench.enter("et0_year_mm", Value::Number(et0.year_mm() / 1000.0), origin);
    }
}

/// Slope below which the direction that it faces is not asked for: the sun on it differs from that on
/// the level by some 5 % of the year at most at middle latitudes (computed).
const HARDLY_A_SLOPE: f64 = 0.08;

/// The slope and the direction that it faces.
fn slope(bench: &Workbench<'_>) -> Option<Slope> {
    Slope::facing(bench.number("slope_pct")?, bench.name_of("aspect")?)
}

/// Radiation on the slope over that on the level, by month; `None` on the level, and where the slope,
/// its aspect or the place is not known.
pub fn sun_ratio(bench: &Workbench<'_>) -> Option<Monthly> {
    let slope = slope(bench)?;
    let latitude = Degrees(bench.number("latitude_deg")?);
    let solar = solar(bench)?.months;
    Some(monthly_sun_ratio(latitude, slope, &solar, &monthly_extraterrestrial(latitude)))
}

/// Sun of the year on the slope, as a share of that on the level.
fn slope_sun(bench: &mut Workbench<'_>) {
    let steep = bench.number("slope_pct");
    if steep == Some(0.0) || bench.name_of("aspect") == Some("flat") {
        bench.compute("slope_sun_ratio", 1.0, "level ground");
        return;
    }
    if let (Some(ratio), Some(solar)) = (sun_ratio(bench), solar(bench)) {
        let sums = ratio.iter().zip(solar.months).zip(DAYS_IN_MONTH);
        let (received, level) = sums.fold((0.0, 0.0), |(received, level), ((ratio, sun), days)| {
            (received + ratio * sun * f64::from(days), level + sun * f64::from(days))
        });
        let words = "beam by the angle at which it meets the slope (Duffie & Beckman eq 1.6.2) and the light of an even sky";
        bench.compute("slope_sun_ratio", received / level, words);
        return;
    }
    if steep.is_some_and(|steep| steep >= HARDLY_A_SLOPE) {
        let asked: Vec<&str> = ["aspect", "latitude_deg", "tmax_c", "tmin_c"]
            .into_iter()
            .filter(|name| bench.value(name).is_none())
            .collect();
        bench.leave_open("slope_sun_ratio", [0.85, 1.0, 1.1].map(Value::Number).to_vec(), &asked);
    }
}

/// kRs of equation 50 and why.
struct Coast {
    krs: f64,
    words: &'static str,
}

impl Coast {
    fn of(bench: &Workbench<'_>) -> Self {
        match bench.value("coast") {
            Some(Value::Flag(true)) => Self { krs: KRS_COASTAL, words: "for a coast (kRs 0.19)" },
            Some(_) => Self { krs: KRS_INTERIOR, words: "for inland (kRs 0.16)" },
            None => Self {
                krs: KRS_INTERIOR,
                words: "for inland (kRs 0.16), as the site file does not say `coast`",
            },
        }
    }
}

const BY_SUNSHINE: &str = "solar radiation from the hours of sunshine (FAO-56 eq 35)";
const AS_GIVEN: &str = "solar radiation as given";

/// Solar radiation that was measured, as such or as hours of sunshine. Sunshine of the site file goes
/// before the radiation of a station or of the nearest place.
fn stated_solar(bench: &Workbench<'_>) -> Option<(Monthly, &'static str)> {
    let solar = bench.months("solar_mj_m2_d");
    let own = origin_of(bench, "solar_mj_m2_d") == Some(&Origin::Given);
    let by_sunshine = || {
        let (hours, latitude) = (bench.months("sunshine_h")?, Degrees(bench.number("latitude_deg")?));
        let (outer, daylight) = (monthly_extraterrestrial(latitude), monthly_day_length(latitude));
        let months = std::array::from_fn(|month| {
            let outer = MegajoulesPerSquareMetreDay(outer[month]);
            solar_from_sunshine(outer, Hours(hours[month]), Hours(daylight[month])).0
        });
        Some((months, BY_SUNSHINE))
    };
    let given = || solar.map(|months| (months, AS_GIVEN));
    if own { given() } else { by_sunshine().or_else(given) }
}

/// Solar radiation on the level.
pub struct SolarRadiation {
    /// MJ m-2 d-1 by month.
    pub months: Monthly,
    /// How it was come by.
    pub words: String,
    /// Whether it is an estimate from the daily range of temperature.
    pub estimated: bool,
}

/// Solar radiation, as given, from hours of sunshine, or from the daily range of temperature.
pub fn solar(bench: &Workbench<'_>) -> Option<SolarRadiation> {
    if let Some((months, words)) = stated_solar(bench) {
        return Some(SolarRadiation { months, words: words.to_owned(), estimated: false });
    }
    let (tmax, tmin) = (bench.months("tmax_c")?, bench.months("tmin_c")?);
    let latitude = bench.number("latitude_deg")?;
    let height = Metres(bench.number("elevation_m").unwrap_or(HEIGHT_WHERE_UNKNOWN_M));
    let outer = monthly_extraterrestrial(Degrees(latitude));
    let coast = Coast::of(bench);
    let months = std::array::from_fn(|month| {
        let outer = MegajoulesPerSquareMetreDay(outer[month]);
        let range = CelsiusDifference(tmax[month] - tmin[month]);
        solar_from_temperature(outer, range, coast.krs, clear_sky_radiation(outer, height)).0
    });
    let words = format!("solar radiation from the daily range of temperature (FAO-56 eq 50) {}", coast.words);
    Some(SolarRadiation { months, words, estimated: true })
}
