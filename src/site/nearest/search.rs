//! Which place of the gazetteer stands in best for a site, by distance, height, rain and coast.

use super::super::lending::km_for_height;
use super::{COAST, height_words};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::climates::Climate;

/// Farther than this no place stands in for another, km.
pub(in crate::site) const FARTHEST_KM: f64 = 250.0;
/// Nor with a greater difference of height, m: the correction of temperature is of some 4 K by then,
/// and rain, which nothing corrects, is another.
pub(in crate::site) const GREATEST_HEIGHT_M: f64 = 600.0;
/// What counts against a place whose rain is not known, km: much of the answer rests on rain.
const KM_WITHOUT_RAIN: f64 = 100.0;
/// Mean radius of the earth, km.
const EARTH_KM: f64 = 6371.0;
/// How far inland a coast with dry summers stands for the country behind it, km (common practice).
pub(in crate::site) const COAST_REACHES_KM: f64 = 40.0;
/// Rain of the three hottest months below which summers are dry, m.
const DRY_SUMMER_M: f64 = 0.06;

/// What places are measured by.
pub(super) struct Search {
    /// Latitude and longitude of the site.
    pub(super) position: (f64, f64),
    /// Its height above sea level, where it is stated.
    pub(super) height: Option<f64>,
    /// Position of the fact of rain, where the site file leaves it to the place.
    pub(super) rain: Option<usize>,
    /// Whether the site file says that winds off a water reach the site.
    pub(super) on_coast: bool,
    /// Positions of the facts of the coast, of rain and of monthly maxima.
    pub(super) summer: [Option<usize>; 3],
}

impl Search {
    /// Distance in km, and how much higher the place lies than the site, m.
    pub(super) fn measure(&self, climate: &Climate) -> (f64, Option<f64>) {
        let km = distance_km(self.position, (climate.latitude_deg, climate.longitude_deg));
        (km, self.height.map(|height| climate.elevation_m - height))
    }

    pub(super) fn has_rain(&self, climate: &Climate) -> bool {
        self.rain.is_none_or(|rain| climate.values.iter().any(|(at, _)| *at == rain))
    }

    pub(super) fn too_far(&self, climate: &Climate) -> bool {
        let (km, higher) = self.measure(climate);
        let high = higher.is_some_and(|metres| metres.abs() > GREATEST_HEIGHT_M);
        km > FARTHEST_KM || high || self.too_coastal(climate)
    }

    /// Whether the site lies too far behind a coast with dry summers.
    pub(super) fn too_coastal(&self, climate: &Climate) -> bool {
        let (km, _) = self.measure(climate);
        !self.on_coast && km > COAST_REACHES_KM && self.cooled_by_the_sea(climate)
    }

    pub(super) fn cooled_by_the_sea(&self, climate: &Climate) -> bool {
        cooled_by_the_sea(climate, self.summer)
    }

    fn cost(&self, climate: &Climate) -> f64 {
        let (km, higher) = self.measure(climate);
        let dry = if self.has_rain(climate) { 0.0 } else { KM_WITHOUT_RAIN };
        km + km_for_height(higher.unwrap_or(0.0)) + dry
    }

    /// The place at the least distance, whether it will do or not.
    pub(super) fn closest<'a>(&self, climates: &'a [Climate]) -> Option<&'a Climate> {
        climates.iter().min_by(|a, b| self.measure(a).0.total_cmp(&self.measure(b).0))
    }

    /// A place with its distance and difference of height, in words.
    pub(super) fn words(&self, climate: &Climate) -> String {
        let (km, higher) = self.measure(climate);
        format!("{}, {km:.0} km away, {}", climate.name, height_words(higher))
    }

    /// The best stand-in; a place that will do goes before one that will not, whatever they cost.
    pub(super) fn nearest<'a>(&self, climates: &'a [Climate]) -> Option<&'a Climate> {
        climates
            .iter()
            .min_by(|a, b| self.too_far(a).cmp(&self.too_far(b)).then(self.cost(a).total_cmp(&self.cost(b))))
    }
}

/// A place on a coast with dry summers, whose cool air ends within a short way inland; by the positions of
/// the facts of [`summer_facts`].
pub(in crate::site) fn cooled_by_the_sea(climate: &Climate, summer: [Option<usize>; 3]) -> bool {
    let value = |at: Option<usize>| climate.values.iter().find(|(own, _)| Some(*own) == at).map(|(_, v)| v);
    let [coast, rain, maxima] = summer.map(value);
    let (Some(rain), Some(maxima)) = (rain.and_then(Value::as_months), maxima.and_then(Value::as_months))
    else {
        return false;
    };
    let hottest = (0..12).max_by(|a, b| maxima[*a].total_cmp(&maxima[*b])).unwrap_or(6);
    let summer_m: f64 = [hottest + 11, hottest, hottest + 1].iter().map(|month| rain[month % 12]).sum();
    coast.and_then(Value::as_flag) == Some(true) && summer_m < DRY_SUMMER_M
}

/// Positions of the facts of the coast, of rain and of monthly maxima.
pub(in crate::site) fn summer_facts(knowledge: &Knowledge) -> [Option<usize>; 3] {
    [COAST, "site.precip_mm", "site.tmax_c"].map(|id| knowledge.vocabulary.slot(id).map(|slot| slot.index))
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
    use super::{FARTHEST_KM, Search, distance_km, summer_facts};
    use crate::knowledge::Knowledge;
    use crate::knowledge::text::KnowledgeText;

    /// A degree of a meridian is 111.2 km on a sphere of 6371 km; a quarter of the equator 10 007.5 km.
    #[test]
    fn distances_on_the_sphere() {
        assert!((distance_km((40.0, -75.0), (41.0, -75.0)) - 111.195).abs() < 0.01);
        assert!((distance_km((0.0, 0.0), (0.0, 90.0)) - 10_007.5).abs() < 0.1);
        assert!(distance_km((10.0, 179.5), (10.0, -179.5)) < 110.0);
    }

    /// A basin far away in the mountains, though of the site's height, errs by more than a nearer place lower
    /// down, whose temperatures are brought to the height.
    #[test]
    fn height_counts_by_the_error_that_it_makes() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let rain = knowledge.vocabulary.slot("site.precip_mm").map(|slot| slot.index);
        let taken = |position, height| {
            let summer = summer_facts(&knowledge);
            let search = Search { position, height: Some(height), rain, on_coast: false, summer };
            search.nearest(&knowledge.climates).unwrap().id.clone()
        };
        assert_eq!(taken((35.68, -105.94), 2190.0), "albuquerque-nm");
        // beyond the greatest difference of height it will not do
        assert_ne!(taken((35.68, -105.94), 2300.0), "albuquerque-nm");
        for height in [2000.0, 2100.0, 2200.0] {
            assert_eq!(taken((35.2, -106.0), height), "albuquerque-nm", "{height}");
        }
    }

    /// Points in whole or half degrees over the climates of the United States.
    const POINTS: [(f64, f64); 58] = [
        // northern Plains
        (48.5, -102.0),
        (47.5, -98.5),
        (47.0, -104.0),
        (45.0, -100.0),
        (44.0, -97.5),
        (44.0, -103.0),
        // central Plains, Texas
        (42.0, -99.5),
        (40.5, -96.5),
        (39.0, -99.0),
        (37.5, -97.0),
        (35.5, -98.0),
        (36.0, -101.5),
        (33.0, -97.0),
        (31.0, -97.5),
        (31.5, -102.0),
        (30.0, -100.5),
        (29.5, -96.0),
        (27.0, -98.5),
        // Rockies
        (47.0, -110.5),
        (46.5, -113.5),
        (43.0, -108.0),
        (41.5, -105.5),
        (40.0, -105.0),
        (39.0, -108.0),
        (37.5, -105.5),
        (35.5, -106.0),
        // Great Basin, Southwest
        (41.0, -112.0),
        (38.5, -112.5),
        (40.5, -117.0),
        (39.0, -115.0),
        (39.5, -119.5),
        (36.0, -115.0),
        (34.5, -112.0),
        (32.0, -111.0),
        // Pacific Northwest and California
        (46.5, -119.5),
        (45.5, -118.0),
        (44.0, -121.0),
        (47.5, -117.5),
        (43.5, -116.0),
        (43.0, -112.5),
        (45.5, -123.0),
        (47.5, -122.0),
        (38.5, -121.5),
        (36.0, -119.5),
        (34.0, -118.0),
        // Deep South, Midwest, East
        (33.0, -87.0),
        (32.5, -90.0),
        (32.5, -93.0),
        (35.0, -90.5),
        (46.5, -93.5),
        (41.5, -93.5),
        (38.5, -91.5),
        (40.0, -83.0),
        (37.5, -80.5),
        (44.5, -75.0),
        (46.5, -68.5),
        (30.0, -85.0),
        (28.0, -82.0),
    ];

    #[test]
    fn a_place_with_rain_is_near_to_every_climate_of_the_united_states() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let rain = knowledge.vocabulary.slot("site.precip_mm").map(|slot| slot.index);
        for position in POINTS {
            let search =
                Search { position, height: None, rain, on_coast: false, summer: summer_facts(&knowledge) };
            let place = search.nearest(&knowledge.climates).unwrap();
            let (km, _) = search.measure(place);
            assert!(km <= FARTHEST_KM, "{position:?}: {} is {km:.0} km away", place.name);
        }
        let search = Search {
            position: POINTS[0],
            height: None,
            rain,
            on_coast: false,
            summer: summer_facts(&knowledge),
        };
        for place in &knowledge.climates {
            assert!(search.has_rain(place), "{} has no rain", place.id);
        }
    }

    /// Cool summer air of a dry coast ends within a short way inland; a coast with wet summers has no
    /// such edge, nor has a site that the sea reaches.
    #[test]
    fn a_dry_coast_does_not_stand_for_the_country_behind_it() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let rain = knowledge.vocabulary.slot("site.precip_mm").map(|slot| slot.index);
        let search = |position, on_coast| Search {
            position,
            height: None,
            rain,
            on_coast,
            summer: summer_facts(&knowledge),
        };
        // a place of the desert itself stands for the desert; without it the coast does not
        let desert = (33.8, -116.5);
        assert_eq!(search(desert, false).nearest(&knowledge.climates).unwrap().id, "thermal-ca");
        let mut others = knowledge.climates.to_vec();
        let behind_the_hills = ["thermal-ca", "yuma-az", "burbank-ca"];
        others.retain(|place| !behind_the_hills.contains(&place.id.as_str()));
        let passed = search(desert, false);
        let thermal = passed.nearest(&knowledge.climates).unwrap();
        assert_eq!(passed.passed_over(thermal, &knowledge.climates), None, "nothing lies nearer");
        let mut yuma = knowledge.climates.to_vec();
        yuma.retain(|place| place.id != "thermal-ca");
        let told = passed.passed_over(passed.nearest(&yuma).unwrap(), &yuma).unwrap();
        for part in ["San Diego, CA", "is nearer and was passed over: a coast with dry summers"] {
            assert!(told.contains(part), "{told}");
        }
        let refused = search(desert, false);
        assert!(refused.too_far(refused.nearest(&others).unwrap()));
        let reached = search(desert, true);
        assert_eq!(reached.nearest(&others).unwrap().id, "san-diego-ca");
        let boston = search((42.27, -71.8), false);
        assert_eq!(boston.nearest(&knowledge.climates).unwrap().id, "boston-ma");
    }
}
