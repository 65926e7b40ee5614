//! A hardiness zone written where the site file takes the temperature that it stands for.

use crate::document::NodeKind;
use crate::site::hardiness::HardinessZone;
use crate::units::{Unit, UnitSystem};

/// What to write for a zone of a map, where a key that is not known speaks of one.
pub fn help(key: &str, value: &NodeKind) -> Option<String> {
    if !key.to_lowercase().contains("zone") {
        return None;
    }
    let written = match value {
        NodeKind::Text(text) => text.trim().to_lowercase(),
        NodeKind::Integer(number) => number.to_string(),
        _ => String::new(),
    };
    let written = written.trim_start_matches("zone").trim();
    let zones: Vec<HardinessZone> = HardinessZone::all()
        .filter(|zone| zone.to_string() == written || zone.number().to_string() == written)
        .collect();
    let key = "`extreme_min_c` in [climate], the mean over the years of each year's lowest temperature";
    let (Some(coldest), Some(warmest)) = (zones.first(), zones.last()) else {
        return Some(format!("the zone follows from {key}"));
    };
    let (low, high) = (coldest.limits().0.0, warmest.limits().1.0);
    let middle = ((low + high) / 2.0 * 10.0).round() / 10.0;
    let span =
        Unit::named("degC").map_or_else(String::new, |unit| UnitSystem::Si.write_range(low, high, unit));
    Some(format!("the zone follows from {key}: {written} is {span}, its middle `extreme_min_c = {middle}`"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The middle of a zone is in that zone: USDA 2023, 8a from 10 to 15 °F, 8 from 10 to 20 °F.
    #[test]
    fn a_zone_is_told_as_the_temperature_that_it_stands_for() {
        let told = |key: &str, value: &'static str| help(key, &NodeKind::Text(value.into()));
        assert!(told("hardiness_zone", "8a").unwrap().ends_with("`extreme_min_c = -10.8`"));
        assert!(told("usda_zone", "Zone 8").unwrap().ends_with("`extreme_min_c = -9.4`"));
        assert!(help("zone", &NodeKind::Integer(8)).unwrap().ends_with("`extreme_min_c = -9.4`"));
        assert!(told("zone", "warm").unwrap().ends_with("lowest temperature"));
        assert_eq!(told("colour", "8a"), None);
    }
}
