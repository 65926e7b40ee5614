//! Figures of a site that are each allowed and cannot be true of its place: they would carry a slip
//! of the pen into the answer.

use super::climate::check::{Finding as Found, check as check_table};
use super::climate::{ClimateTable, Format, MonthValue, Series};
use super::file::SiteFile;
use super::hardiness::{estimate_extreme_minimum, extreme_above};
use super::light::{dli_from_solar, monthly_dli};
use super::solar::{
    DAYS_IN_MONTH, Monthly, TWILIGHT_MJ_M2_D, clear_sky_radiation, monthly_day_length,
    monthly_extraterrestrial,
};
use super::water_facts::HOW_MUCH;
use crate::diag::{Finding, Findings, Place};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::units::factors::DAY_S;
use crate::units::quantity::{Degrees, MegajoulesPerSquareMetreDay, Metres};

/// A measurement above what open sky can give still passes by this factor: sensors err by 5 %.
const LIGHT_SLACK: f64 = 1.05;
/// So do hours of sunshine above the daylight, whose mean over a month is computed here without
/// refraction.
const SUNSHINE_SLACK: f64 = 1.05;

/// Latitude of the polar circles, degrees.
const POLAR_CIRCLE_DEG: f64 = 66.6;
/// No mean daily maximum of a month within them is above this, degrees C (common practice: the hottest summers
/// there, of inner Siberia, reach some 24).
const HOTTEST_POLAR_C: f64 = 28.0;
/// A lowest night this far below the one that the months let expect is of another place or unit (common practice:
/// in Florida, where the estimate errs most, it lies some 7 K below).
const FAR_BELOW_K: f64 = 15.0;
/// Hours of sunshine below this share of the daylight of a year are of no place (common practice: the cloudiest
/// have a fifth).
const LEAST_SUNSHINE: f64 = 0.1;

/// The values of a site file with their places.
struct Given<'a> {
    site: &'a SiteFile,
    knowledge: &'a Knowledge,
}

impl<'a> Given<'a> {
    fn get(&self, name: &str) -> Option<&'a (Value, Place)> {
        let slot = self.knowledge.vocabulary.slot(&format!("site.{name}"))?;
        self.site.values.get(slot.index)?.as_ref()
    }

    fn number(&self, name: &str) -> Option<f64> {
        self.get(name)?.0.as_number()
    }

    fn months(&self, name: &str) -> Option<(&'a Monthly, &'a Place)> {
        let (value, place) = self.get(name)?;
        Some((value.as_months()?, place))
    }

    fn series(&self, name: &str, scale: f64) -> Series {
        let month = |value| Some(MonthValue { value, years: None, flag: None });
        self.months(name).map_or([None; 12], |(months, _)| months.map(|own| month(own * scale)))
    }
}

/// Holds the figures of a site, its own and those filled in, against its place and each other.
pub fn check(site: &SiteFile, knowledge: &Knowledge, findings: &mut Findings) {
    let given = Given { site, knowledge };
    climate(&given, findings);
    extreme(&given, findings);
    light(&given, findings);
    sunshine(&given, findings);
    sun_hours(&given, findings);
    polar(&given, findings);
    wet_days(&given, findings);
    irrigation(&given, findings);
}

/// The checks of a climate file, on the site's own months.
fn climate(given: &Given<'_>, findings: &mut Findings) {
    // the file of the figures was refused for the same already
    if findings.iter().any(|finding| finding.code == "climate-impossible") {
        return;
    }
    let from_file = given.site.from_climate.as_ref();
    let told_of_the_file = |name: &str| {
        let slot = given.knowledge.vocabulary.slot(&format!("site.{name}"));
        slot.is_some_and(|slot| from_file.is_some_and(|file| file.filled.contains(&slot.index)))
    };
    let mut table = ClimateTable::empty(Format::MonthlyTable);
    table.station.latitude_deg = given.number("latitude_deg");
    table.station.elevation_m = given.number("elevation_m");
    table.tmax_c = given.series("tmax_c", 1.0);
    table.tmin_c = given.series("tmin_c", 1.0);
    table.precip_mm = given.series("precip_mm", 1000.0);
    table.solar_mj_m2_d = given.series("solar_mj_m2_d", 1.0);
    table.wind_m_s = given.series("wind_m_s", 1.0 / DAY_S);
    table.rh_pct = given.series("rh_pct", 100.0);
    table.wet_days = given.series("wet_days", 1.0);
    for found in check_table(&table) {
        let about = match &found {
            // a maximum below its minimum is told where the two are read
            Found::MaximumNotAbove { tmax, tmin, .. } if tmax < tmin => continue,
            Found::NoRainAtAll => "precip_mm",
            // told of the file already
            Found::Beyond(beyond) if told_of_the_file(beyond.limit.key) => continue,
            Found::Beyond(beyond) => beyond.limit.key,
            Found::SolarAboveExtraterrestrial { .. } | Found::SolarBelowOvercast { .. } => "solar_mj_m2_d",
            Found::HumidityAsFraction => "rh_pct",
            Found::RainOfWetDay { .. } => "wet_days",
            Found::MaximumNotAbove { .. } | Found::AllMonthsEqual(_) | Found::WrongHemisphere { .. } => {
                "tmax_c"
            }
            // what is missing is open, and the limits of the vocabulary hold the rest
            _ => continue,
        };
        let Some((_, place)) = given.get(about) else { continue };
        if found.is_fault() {
            let finding = Finding::error("climate-impossible", place, found.to_string());
            let latitude =
                given.get("latitude_deg").filter(|_| matches!(found, Found::WrongHemisphere { .. }));
            findings.push(match latitude {
                Some((_, latitude)) => finding.also(latitude, "the latitude, north positive"),
                None => finding,
            });
        } else {
            let help = matches!(found, Found::NoRainAtAll)
                .then(|| "leave `precip_mm` out where the rain was not recorded".to_owned());
            let finding = Finding::error("climate-remarks", place, found.to_string()).maybe_help(help);
            findings.push(finding.as_warning());
        }
    }
}

/// The lowest night of a year is no warmer than the mean of the coldest month, nor colder by any measure.
fn extreme(given: &Given<'_>, findings: &mut Findings) {
    let Some((value, place)) = given.get("extreme_min_c") else { return };
    let Some((tmin, other)) = given.months("tmin_c") else { return };
    let Some(own) = value.as_number() else { return };
    let expected = estimate_extreme_minimum(tmin).map(|estimate| estimate.minimum.0);
    if let Some(expected) = expected.filter(|expected| own < expected - FAR_BELOW_K) {
        let message = format!(
            "the mean annual extreme minimum, {own:.1} degC, is {:.1} K below the {expected:.1} degC that the mean \
             minima let expect",
            expected - own
        );
        let finding = Finding::error("climate-remarks", place, message).also(other, "the mean minima");
        let help = "`extreme_min_c` is the mean over the years of each year's lowest temperature, in degrees C, not the lowest ever measured";
        findings.push(finding.help(help).as_warning());
    }
    if let Some(words) = extreme_above(own, tmin) {
        let finding = Finding::error("extreme-above-minimum", place, words).also(other, "the mean minima");
        let help = "`extreme_min_c` is the mean over the years of each year's lowest temperature, in degrees C; one of the two may stand in another unit or be of another place";
        findings.push(finding.help(help));
    }
}

/// Light measured at the turf is never above that of a clear sky.
fn light(given: &Given<'_>, findings: &mut Findings) {
    let Some((dli, place)) = given.months("dli_measured") else { return };
    let Some(latitude) = given.number("latitude_deg") else { return };
    let height = Metres(given.number("elevation_m").unwrap_or(0.0));
    let clear = monthly_extraterrestrial(Degrees(latitude))
        .map(|outer| clear_sky_radiation(MegajoulesPerSquareMetreDay(outer), height).0);
    let limits = monthly_dli(&clear);
    // one figure for all months is the mean of a growing season, whichever months that is
    let is_one = dli.iter().all(|month| (month - dli[0]).abs() < 1e-9);
    let brightest = limits.iter().copied().fold(0.0, f64::max);
    let limit_of = |month: usize| if is_one { brightest } else { limits[month] };
    let twilight = dli_from_solar(MegajoulesPerSquareMetreDay(TWILIGHT_MJ_M2_D)).0;
    let too_bright = |month: &usize| dli[*month] > LIGHT_SLACK * limit_of(*month) + twilight;
    let Some(month) = (0..12).find(too_bright) else { return };
    let when = if is_one { "in any month".to_owned() } else { format!("in month {}", month + 1) };
    let message = format!(
        "a daily light integral of {:.1} mol/m2/d is above the {:.1} of a clear open sky {when} at latitude {latitude}",
        dli[month],
        limit_of(month)
    );
    let help =
        "`dli` is in mol/m2/d, 400 to 700 nm; sunlight in MJ/m2/d stands under [climate] as `solar_mj_m2_d`";
    findings.push(Finding::error("light-above-sky", place, message).help(help));
}

/// The sun does not shine longer than it is above the horizon.
fn sunshine(given: &Given<'_>, findings: &mut Findings) {
    let Some((hours, place)) = given.months("sunshine_h") else { return };
    let Some(latitude) = given.number("latitude_deg") else { return };
    let daylight = monthly_day_length(Degrees(latitude));
    let share = hours.iter().sum::<f64>() / daylight.iter().sum::<f64>();
    if share < LEAST_SUNSHINE {
        let message =
            format!("the sun shines {:.0}% of the daylight of the year, less than anywhere", share * 100.0);
        let help = "leave `sunshine_h` out where it was not recorded";
        findings.push(Finding::error("climate-remarks", place, message).help(help).as_warning());
    }
    if let Some(month) = (0..12).find(|month| hours[*month] > SUNSHINE_SLACK * daylight[*month]) {
        let message = format!(
            "month {}: {:.1} hours of sunshine a day are more than the {:.1} of daylight at latitude {latitude}",
            month + 1,
            hours[month],
            daylight[month]
        );
        let help = "`sunshine_h` is the mean of a day, not the total of the month";
        findings.push(Finding::error("climate-impossible", place, message).help(help));
    }
}

/// Nor does it reach the turf longer than that: one figure, of the longest day at the most.
fn sun_hours(given: &Given<'_>, findings: &mut Findings) {
    let (Some((value, place)), Some(latitude)) = (given.get("sun_hours"), given.number("latitude_deg"))
    else {
        return;
    };
    let longest = monthly_day_length(Degrees(latitude)).into_iter().fold(0.0, f64::max);
    if let Some(hours) = value.as_number().filter(|hours| *hours > SUNSHINE_SLACK * longest) {
        let message = format!(
            "{hours:.1} hours of sun on the turf are more than the {longest:.1} of daylight of the longest month at \
             latitude {latitude}"
        );
        let help = "`sun_hours` is direct sun on a clear day of the growing season";
        findings.push(Finding::error("light-above-sky", place, message).help(help));
    }
}

/// Within the polar circles no summer is hot: the latitude or the temperatures are of another place.
fn polar(given: &Given<'_>, findings: &mut Findings) {
    let (Some((value, place)), Some((tmax, other))) = (given.get("latitude_deg"), given.months("tmax_c"))
    else {
        return;
    };
    let Some(latitude) = value.as_number().filter(|latitude| latitude.abs() > POLAR_CIRCLE_DEG) else {
        return;
    };
    let hottest = tmax.iter().copied().fold(f64::MIN, f64::max);
    if hottest > HOTTEST_POLAR_C {
        let message = format!(
            "daily maxima of {hottest:.1} °C in the hottest month do not go with latitude {latitude}, within a polar circle"
        );
        let finding = Finding::error("climate-impossible", place, message).also(other, "the mean maxima");
        findings.push(finding.help("mend the one that is of another place"));
    }
}

/// A month has no more days with rain than days; 29 February may count.
fn wet_days(given: &Given<'_>, findings: &mut Findings) {
    let Some((days, place)) = given.months("wet_days") else { return };
    let length = |month: usize| f64::from(DAYS_IN_MONTH[month]) + if month == 1 { 1.0 } else { 0.0 };
    if let Some(month) = (0..12).find(|month| days[*month] > length(*month) + 1e-9) {
        let message = format!("month {} has no {} days with rain", month + 1, days[month]);
        findings.push(Finding::error("climate-impossible", place, message));
    }
}

/// No irrigation, and how much of it.
fn irrigation(given: &Given<'_>, findings: &mut Findings) {
    let Some((Value::Step(0), none)) = given.get("irrigation") else { return };
    for name in HOW_MUCH {
        let Some((value, place)) = given.get(name) else { continue };
        if value.as_number().is_some_and(|number| number > 0.0) {
            let message = "no irrigation is allowed, and this says how much";
            let finding = Finding::error("irrigation-contradicts", place, message).also(none, "none here");
            findings.push(finding.help("leave it out, or say `irrigation = \"limited\"`"));
        }
    }
}
