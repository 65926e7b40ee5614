//! The nearest place of the gazetteer, for a site file that asks for it with `near = true`.

use super::climate_file::check_temperatures;
use super::file::SiteFile;
use crate::diag::{Finding, Findings};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::citation::Citation;
use crate::knowledge::climates::Climate;

/// Farther than this no place stands in for another, km.
const FARTHEST_KM: f64 = 250.0;
/// Nor with a greater difference of height, m: by then the air is some 4 K colder or warmer.
const GREATEST_HEIGHT_M: f64 = 600.0;
/// A hundred metres of height count as much as this distance when places are compared, km (common
/// practice: 100 m change the mean temperature by about 0.6 K, as much as some 100 km northward).
const KM_FOR_100_M: f64 = 100.0;
/// What counts against a place whose rain is not known, km: much of the answer rests on rain.
const KM_WITHOUT_RAIN: f64 = 100.0;
/// Mean radius of the earth, km.
const EARTH_KM: f64 = 6371.0;

/// What the nearest place gave to a site.
#[derive(Clone, Debug)]
pub struct FromNearest {
    /// Positions of the facts that it filled.
    pub filled: Vec<usize>,
    /// The place, its distance and difference of height, in words.
    pub words: String,
}

/// Fills what is still missing of the climate from the nearest place.
pub fn fill(site: &mut SiteFile, knowledge: &Knowledge, findings: &mut Findings) {
    let Some(asked) = site.near.clone() else { return };
    let number = |id: &str| {
        let slot = knowledge.vocabulary.slot(id)?;
        site.values[slot.index].as_ref().and_then(|(value, _)| value.as_number())
    };
    let (Some(latitude), Some(longitude)) = (number("site.latitude_deg"), number("site.longitude_deg"))
    else {
        let message = "the nearest place cannot be found without latitude and longitude";
        let help = "add `latitude_deg` and `longitude_deg` to [place]";
        findings.push(Finding::error("near-without-position", &asked, message).help(help));
        return;
    };
    let height = number("site.elevation_m");
    let measure = |climate: &Climate| {
        let km = distance_km((latitude, longitude), (climate.latitude_deg, climate.longitude_deg));
        (km, height.map(|height| climate.elevation_m - height))
    };
    let rain = knowledge.vocabulary.slot("site.precip_mm").map(|slot| slot.index);
    let rain_given = rain.is_none_or(|at| site.values[at].is_some());
    let has_rain = |climate: &Climate| rain_given || climate.values.iter().any(|(at, _)| Some(*at) == rain);
    let cost = |climate: &Climate| {
        let (km, higher) = measure(climate);
        let dry = if has_rain(climate) { 0.0 } else { KM_WITHOUT_RAIN };
        km + higher.unwrap_or(0.0).abs() / 100.0 * KM_FOR_100_M + dry
    };
    let too_far = |climate: &Climate| {
        let (km, higher) = measure(climate);
        km > FARTHEST_KM || higher.is_some_and(|metres| metres.abs() > GREATEST_HEIGHT_M)
    };
    // a place that will do goes before one that will not, whatever they cost
    let order = |a: &&Climate, b: &&Climate| (too_far(a).cmp(&too_far(b))).then(cost(a).total_cmp(&cost(b)));
    let nearest = knowledge.climates.iter().min_by(order);
    let Some(nearest) = nearest else {
        findings.push(Finding::error("no-place-near", &asked, "the gazetteer holds no place"));
        return;
    };
    let (km, higher) = measure(nearest);
    let height_words = match higher {
        Some(metres) if metres.abs() < 10.0 => "at about the same height".to_owned(),
        Some(metres) => format!("{:.0} m {}", metres.abs(), if metres > 0.0 { "higher" } else { "lower" }),
        None => "height above sea level not compared".to_owned(),
    };
    let words = format!("{}, {km:.0} km away, {height_words}", nearest.name);
    if too_far(nearest) {
        let message = format!("no place of the gazetteer is near enough; the nearest is {words}");
        let help = format!(
            "within {FARTHEST_KM:.0} km and {GREATEST_HEIGHT_M:.0} m of height one would do; give the twelve months, or a station file"
        );
        findings.push(Finding::error("no-place-near", &asked, message).help(help));
        return;
    }
    let without_rain = !has_rain(nearest);
    let mut filled = Vec::new();
    for (index, value) in &nearest.values {
        if site.values[*index].is_none() {
            site.values[*index] = Some((Value::clone(value), asked.clone()));
            filled.push(*index);
        }
    }
    let mut message = format!("the climate is that of {words}: local ground may differ by some degrees");
    if without_rain {
        message.push_str("; its rain is not known, so give `precip_mm`");
    }
    let help = "hollows are colder, towns and coasts milder; figures of a station nearby are better";
    findings.push(Finding::error("nearest-place", &asked, message).help(help).as_warning());
    check_temperatures(site, knowledge, &filled, &asked, findings);
    let sources: Vec<String> = nearest.citations.iter().map(Citation::short).collect();
    let words = format!("{words} ({}; {})", nearest.period, sources.join("; "));
    site.from_nearest = Some(FromNearest { filled, words });
}

/// Great-circle distance by the haversine formula, degrees in.
pub fn distance_km(a: (f64, f64), b: (f64, f64)) -> f64 {
    let (lat1, lat2) = (a.0.to_radians(), b.0.to_radians());
    let half_lat = ((lat2 - lat1) / 2.0).sin();
    let half_lon = ((b.1 - a.1).to_radians() / 2.0).sin();
    let h = half_lat * half_lat + lat1.cos() * lat2.cos() * half_lon * half_lon;
    2.0 * EARTH_KM * h.sqrt().min(1.0).asin()
}

#[cfg(test)]
mod tests {
    use super::distance_km;

    /// A degree of a meridian is 111.2 km on a sphere of 6371 km; a quarter of the equator 10 007.5 km.
    #[test]
    fn distances_on_the_sphere() {
        assert!((distance_km((40.0, -75.0), (41.0, -75.0)) - 111.195).abs() < 0.01);
        assert!((distance_km((0.0, 0.0), (0.0, 90.0)) - 10_007.5).abs() < 0.1);
        assert!(distance_km((10.0, 179.5), (10.0, -179.5)) < 110.0);
    }
}
