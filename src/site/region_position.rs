//! Whether the region that a site file states can hold the position that it states.
//!
//! Lists of law and of native plants go by the region, climate and day length by the position: where one
//! of the two is a slip, half of the answer is that of another place. Only the box about a region is known
//! here, so that a slip to a neighbour may pass; what is told lies outside for certain.

use super::file::SiteFile;
use super::nearest::distance_km;
use crate::diag::{Finding, Findings};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;

/// South, north, west and east, degrees.
type Box4 = [f64; 4];

/// How far outside of its box a state's position is let pass, degrees: its edges are those of a generalised
/// map.
const STATE_SLACK_DEG: f64 = 0.25;
/// The same of a country, whose box is that of a coarse map without outlying islands.
const COUNTRY_SLACK_DEG: f64 = 2.5;

/// States and the district, rounded outwards to a tenth of a degree from two listings of the extents in the
/// cartographic boundary file of the United States Census Bureau (2017); the wider edge where they differ.
/// Alaska reaches across 180 degrees, so that its box says nothing of longitude.
const STATES: [(&str, Box4); 51] = [
    ("AK", [51.2, 71.4, -180.0, 180.0]),
    ("AL", [30.2, 35.1, -88.5, -84.8]),
    ("AR", [33.0, 36.5, -94.7, -89.6]),
    ("AZ", [31.3, 37.1, -114.9, -109.0]),
    ("CA", [32.5, 42.1, -124.5, -114.1]),
    ("CO", [36.9, 41.1, -109.1, -102.0]),
    ("CT", [40.9, 42.1, -73.8, -71.7]),
    ("DC", [38.7, 39.0, -77.2, -76.9]),
    ("DE", [38.4, 39.9, -75.8, -75.0]),
    ("FL", [24.5, 31.1, -87.7, -80.0]),
    ("GA", [30.3, 35.1, -85.7, -80.8]),
    ("HI", [18.9, 28.5, -178.4, -154.8]),
    ("IA", [40.3, 43.6, -96.7, -90.1]),
    ("ID", [41.9, 49.1, -117.3, -111.0]),
    ("IL", [36.9, 42.6, -91.6, -87.4]),
    ("IN", [37.7, 41.8, -88.1, -84.7]),
    ("KS", [36.9, 40.1, -102.1, -94.5]),
    ("KY", [36.4, 39.2, -89.6, -81.9]),
    ("LA", [28.9, 33.1, -94.1, -88.8]),
    ("MA", [41.2, 42.9, -73.6, -69.9]),
    ("MD", [37.9, 39.8, -79.5, -75.0]),
    ("ME", [42.9, 47.5, -71.1, -66.9]),
    ("MI", [41.6, 48.3, -90.5, -82.4]),
    ("MN", [43.4, 49.4, -97.3, -89.4]),
    ("MO", [35.9, 40.7, -95.8, -89.0]),
    ("MS", [30.1, 35.0, -91.7, -88.0]),
    ("MT", [44.3, 49.1, -116.1, -104.0]),
    ("NC", [33.8, 36.6, -84.4, -75.4]),
    ("ND", [45.9, 49.1, -104.1, -96.5]),
    ("NE", [39.9, 43.1, -104.1, -95.3]),
    ("NH", [42.6, 45.4, -72.6, -70.6]),
    ("NJ", [38.9, 41.4, -75.6, -73.8]),
    ("NM", [31.3, 37.1, -109.1, -103.0]),
    ("NV", [35.0, 42.1, -120.1, -114.0]),
    ("NY", [40.4, 45.1, -79.8, -71.8]),
    ("OH", [38.4, 42.4, -84.9, -80.5]),
    ("OK", [33.6, 37.1, -103.1, -94.4]),
    ("OR", [41.9, 46.3, -124.6, -116.4]),
    ("PA", [39.7, 42.3, -80.6, -74.6]),
    ("RI", [41.1, 42.1, -71.9, -71.1]),
    ("SC", [32.0, 35.3, -83.4, -78.5]),
    ("SD", [42.4, 46.0, -104.1, -96.4]),
    ("TN", [34.9, 36.7, -90.4, -81.6]),
    ("TX", [25.8, 36.6, -106.7, -93.5]),
    ("UT", [36.9, 42.1, -114.1, -109.0]),
    ("VA", [36.5, 39.5, -83.7, -75.2]),
    ("VT", [42.7, 45.1, -73.5, -71.4]),
    ("WA", [45.5, 49.1, -124.9, -116.9]),
    ("WI", [42.4, 47.1, -92.9, -86.8]),
    ("WV", [37.2, 40.7, -82.7, -77.7]),
    ("WY", [40.9, 45.1, -111.1, -104.0]),
];

/// Countries beside the United States for which the knowledge has lists, rounded outwards from a listing of
/// the extents in Natural Earth's countries at 1:110 million (public domain).
const COUNTRIES: [(&str, Box4); 3] = [
    ("AU", [-43.7, -10.6, 113.3, 153.6]),
    ("CA", [41.6, 83.3, -141.0, -52.6]),
    ("GB", [49.9, 58.7, -7.6, 1.7]),
];

/// The box of a region with the slack that it is given; nothing where none is known.
fn box_of(region: &str) -> Option<(Box4, f64)> {
    let (country, part) = region.split_once('-')?;
    let find = |list: &[(&str, Box4)], code: &str| list.iter().find(|(own, _)| *own == code).map(|(_, b)| *b);
    match country {
        "US" => Some((find(&STATES, part)?, STATE_SLACK_DEG)),
        other => Some((find(&COUNTRIES, other)?, COUNTRY_SLACK_DEG)),
    }
}

/// The middle of the box about a region, latitude and longitude; nothing where none is known.
pub(super) fn middle_of_region(region: &str) -> Option<(f64, f64)> {
    let ([south, north, west, east], _) = box_of(region)?;
    Some((f64::midpoint(south, north), f64::midpoint(west, east)))
}

fn holds((edges, slack): (Box4, f64), latitude: f64, longitude: Option<f64>) -> bool {
    let [south, north, west, east] = edges;
    (south - slack..=north + slack).contains(&latitude)
        && longitude.is_none_or(|longitude| (west - slack..=east + slack).contains(&longitude))
}

/// The states whose boxes hold a position, in the order of their codes; none outside of the United States.
fn states_about(latitude: f64, longitude: f64) -> Vec<String> {
    let inside = STATES
        .iter()
        .filter(|(code, edges)| *code != "AK" && holds((*edges, 0.0), latitude, Some(longitude)));
    inside.map(|(code, _)| format!("US-{code}")).collect()
}

/// Warns where the region cannot hold the position.
pub fn check(site: &SiteFile, knowledge: &Knowledge, findings: &mut Findings) {
    let get = |id: &str| site.values[knowledge.vocabulary.slot(id)?.index].as_ref();
    // what a climate file or a place lent is a position, but not one that anybody stated
    let stated = |id: &str| {
        let slot = knowledge.vocabulary.slot(id)?;
        let lent = site.from_climate.as_ref().is_some_and(|file| file.filled.contains(&slot.index));
        get(id).filter(|_| !lent).and_then(|(value, _)| value.as_number())
    };
    let (Some((value, place)), Some(latitude)) = (get("site.region"), stated("site.latitude_deg")) else {
        return;
    };
    let longitude = stated("site.longitude_deg");
    let Value::Text(region) = value else { return };
    let Some(edges) = box_of(region) else { return };
    if holds(edges, latitude, longitude) {
        return;
    }
    let at = match longitude {
        Some(longitude) => format!("latitude {latitude} and longitude {longitude} lie"),
        None => format!("latitude {latitude} lies"),
    };
    let mut message = format!("{at} outside of {region}");
    if let Some(longitude) = longitude {
        let about = states_about(latitude, longitude);
        if !about.is_empty() {
            message.push_str(&format!("; the position is that of {}", about.join(" or ")));
        }
        let from = |climate: &crate::knowledge::climates::Climate| {
            distance_km((latitude, longitude), (climate.latitude_deg, climate.longitude_deg))
        };
        let nearest = knowledge.climates.iter().min_by(|a, b| from(a).total_cmp(&from(b)));
        if let Some(nearest) = nearest {
            let km = from(nearest);
            message.push_str(&format!(
                "; the nearest place of the gazetteer is {}, {km:.0} km away",
                nearest.name
            ));
        }
    }
    let help = "lists of law and of native plants go by the region, climate and light by the position; mend the one that is wrong (west of Greenwich the longitude is negative, south of the equator the latitude)";
    findings.push(Finding::error("region-off-position", place, message).help(help).as_warning());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::region_codes::UNITED_STATES;
    use crate::knowledge::text::KnowledgeText;

    fn fits(region: &str, latitude: f64, longitude: f64) -> bool {
        holds(box_of(region).unwrap(), latitude, Some(longitude))
    }

    /// Every place of the gazetteer lies in the box of the state or country that it names, where there is one, and
    /// in few boxes of states.
    #[test]
    fn the_gazetteer_lies_where_its_names_say() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let mut held = 0;
        for climate in &knowledge.climates {
            let (_, land) = climate.name.rsplit_once(", ").unwrap();
            let (_, country) = climate.id.rsplit_once('-').unwrap();
            let of_a_state = land.len() == 2;
            let region =
                if of_a_state { format!("US-{land}") } else { format!("{}-", country.to_uppercase()) };
            let Some(edges) = box_of(&region) else {
                assert!(!of_a_state || land == "PR", "{}: {region} has no box", climate.id);
                continue;
            };
            let (latitude, longitude) = (climate.latitude_deg, climate.longitude_deg);
            assert!(holds(edges, latitude, Some(longitude)), "{}: {region}", climate.id);
            held += 1;
            let others = STATES.iter().filter(|(_, edges)| holds((*edges, 0.0), latitude, Some(longitude)));
            assert!(others.count() <= 4, "{}", climate.id);
        }
        assert!(held > 100, "{held}");
    }

    #[test]
    fn signs_and_far_states_are_told_and_borders_pass() {
        assert!(!fits("US-CO", 39.7, 104.9), "a longitude without its sign");
        assert!(!fits("AU-NSW", 33.9, 151.2), "a latitude without its sign");
        assert!(!fits("US-TX", 44.9, -93.2), "Minnesota");
        assert!(fits("US-TX", 31.8, -106.7), "just over the border at El Paso");
        assert_eq!(box_of("ZA-ZN"), None);
        assert_eq!(states_about(44.9, -93.2), ["US-MN"]);
        let codes: Vec<&str> = UNITED_STATES.iter().map(|(code, _)| *code).collect();
        assert!(STATES.iter().all(|(code, _)| codes.contains(code)));
        assert!(STATES.is_sorted_by(|a, b| a.0 < b.0));
        assert!(STATES.iter().chain(&COUNTRIES).all(|(_, [s, n, w, e])| s < n && w < e));
    }
}
