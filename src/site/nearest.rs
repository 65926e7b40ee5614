//! The nearest place of the gazetteer, for a site file that asks for it with `near = true`.

mod passed_over;

use super::climate_file::check_temperatures;
use super::file::SiteFile;
use super::lending::Lending;
use crate::diag::{Finding, Findings, Place};
use crate::engine::facts::Origin;
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::citation::Citation;
use crate::knowledge::climates::Climate;

/// Farther than this no place stands in for another, km.
pub(super) const FARTHEST_KM: f64 = 250.0;
/// Nor with a greater difference of height, m: the correction of temperature is of some 4 K by then,
/// and rain, which nothing corrects, is another.
pub(super) const GREATEST_HEIGHT_M: f64 = 600.0;
/// A hundred metres of height count as much as this distance when places are compared, km (common
/// practice: valleys and slopes part from the mean fall of temperature with height, and rain goes
/// its own way, so that a farther place of the same height is the better stand-in).
const KM_FOR_100_M: f64 = 100.0;
/// What counts against a place whose rain is not known, km: much of the answer rests on rain.
const KM_WITHOUT_RAIN: f64 = 100.0;
/// Mean radius of the earth, km.
const EARTH_KM: f64 = 6371.0;
/// Fall of temperature with height in the standard atmosphere, K/m (ICAO standard atmosphere, ISO
/// 2533: 6.5 K/km from sea level to 11 km; FAO-56 equation 7 rests on the same figure).
pub(super) const LAPSE_K_PER_M: f64 = 0.0065;
/// A difference of height below this is none, m: it would change temperatures by less than 0.1 K.
pub(super) const SAME_HEIGHT_M: f64 = 10.0;
/// The facts that height changes by the lapse rate.
pub(super) const TEMPERATURES: [&str; 3] = ["site.tmax_c", "site.tmin_c", "site.extreme_min_c"];

/// The facts that nothing brings from the place to the site, and what they are called.
const AS_THERE: [(&str, &str); 3] =
    [("site.solar_mj_m2_d", "sun"), ("site.wind_m_s", "wind"), ("site.rh_pct", "humidity")];

/// The fact that a large water is near: it belongs to the daily range of temperature, from which the sun
/// is estimated where it was not measured (FAO-56 equation 50).
const COAST: &str = "site.coast";
/// How far inland a coast with dry summers stands for the country behind it, km (common practice).
pub(super) const COAST_REACHES_KM: f64 = 40.0;
/// Rain of the three hottest months below which summers are dry, m.
const DRY_SUMMER_M: f64 = 0.06;

/// What the nearest place gave to a site.
#[derive(Clone, Debug)]
pub struct FromNearest {
    /// Positions of the facts that it filled.
    pub filled: Vec<usize>,
    /// The place, its distance and difference of height, in words.
    pub place: String,
    /// Years and sources of its figures.
    pub sources: String,
    /// How its temperatures were brought to the height of the site, and which facts those are.
    pub corrected: Option<(String, Vec<usize>)>,
    /// Position of the rain.
    rain: Option<usize>,
    /// Positions of sun, wind and humidity, which nothing brings to the site.
    as_there: [Option<usize>; 3],
    /// Height at which the place's wind was measured, where it was brought to 2 m.
    wind_height_m: Option<f64>,
    /// Positions of the mean annual extreme minimum and of the coast.
    extreme_minimum: Option<usize>,
    coast: Option<usize>,
    /// How far the place lies from the site.
    pub lending: Lending,
    /// A place that lies nearer and was not taken, with the reason.
    pub passed_over: Option<String>,
    /// Position of the height above sea level and how it was come by, where the site file states none
    /// and that of the place stands for it.
    pub height: Option<(usize, String)>,
}

impl FromNearest {
    /// How a lent fact was come by. What was measured at the place is an estimate at the site, and is
    /// told as one where its error is known.
    #[must_use]
    pub fn origin_of(&self, index: usize) -> Origin {
        if self.extreme_minimum == Some(index) {
            return Origin::Estimated(format!(
                "as lent by the nearest place, {}; standard error {:.1} K, {}",
                self.words_of(index),
                self.lending.error_k(),
                self.lending.words()
            ));
        }
        if self.coast == Some(index) {
            return Origin::Estimated(format!(
                "as that of the nearest place, {}, whose daily range of temperature is lent; the site file does not say",
                self.place
            ));
        }
        Origin::Nearest(self.words_of(index))
    }

    /// Where a lent fact comes from and what was done to it.
    fn words_of(&self, index: usize) -> String {
        let correction = match &self.corrected {
            Some((words, temperatures)) if temperatures.contains(&index) => {
                format!("; temperatures {words}, 6.5 K/km of the standard atmosphere")
            }
            _ => String::new(),
        };
        let rain = if self.rain == Some(index) { "; rain may differ most in hills" } else { "" };
        let passed = self.passed_over.as_ref().map(|words| format!("; {words}")).unwrap_or_default();
        format!("{}{correction} ({}){rain}{}{passed}", self.place, self.sources, self.words_as_there(index))
    }

    /// Sun, wind and humidity stay as they are at the place.
    fn words_as_there(&self, index: usize) -> String {
        let [_, wind, _] = self.as_there;
        match self.wind_height_m {
            _ if !self.as_there.contains(&Some(index)) => String::new(),
            Some(height) if wind == Some(index) => {
                format!("; as at the place, brought from {height} m to 2 m (FAO-56 eq 47)")
            }
            _ => "; as at the place".to_owned(),
        }
    }

    /// Which of sun, wind and humidity are the place's, in words for the demand that rests on them; `is_lent`
    /// tells whether a fact still stands as it was lent.
    #[must_use]
    pub fn demand_words(&self, is_lent: impl Fn(&str) -> bool) -> Option<String> {
        let lent: Vec<&str> =
            AS_THERE.iter().filter(|(id, _)| is_lent(id)).map(|(_, words)| *words).collect();
        (!lent.is_empty()).then(|| format!("{} as at the nearest place, {}", lent.join(", "), self.place))
    }
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
    let search = Search {
        position: (latitude, longitude),
        height: number("site.elevation_m"),
        rain: knowledge
            .vocabulary
            .slot("site.precip_mm")
            .map(|slot| slot.index)
            .filter(|at| site.values[*at].is_none()),
        on_coast: knowledge
            .vocabulary
            .slot(COAST)
            .and_then(|slot| site.values[slot.index].as_ref()?.0.as_flag())
            .unwrap_or(false),
        summer: summer_facts(knowledge),
    };
    let Some(nearest) = search.nearest(&knowledge.climates) else {
        findings.push(Finding::error("no-place-near", &asked, "the gazetteer holds no place"));
        return;
    };
    let (km, higher) = search.measure(nearest);
    let words = format!("{}, {km:.0} km away, {}", nearest.name, height_words(higher));
    if search.too_far(nearest) {
        let message = format!("no place of the gazetteer is near enough; the nearest is {words}");
        let help = if km <= FARTHEST_KM && search.cooled_by_the_sea(nearest) {
            format!(
                "a coast with dry summers does not stand for country more than {COAST_REACHES_KM:.0} km behind it: state `coast = true` in [place] if winds off the sea reach the site, or give the twelve months, or a station file"
            )
        } else {
            format!(
                "within {FARTHEST_KM:.0} km and {GREATEST_HEIGHT_M:.0} m of height one would do; give the twelve months, or a station file"
            )
        };
        findings.push(Finding::error("no-place-near", &asked, message).help(help));
        return;
    }
    let warmer = higher.filter(|metres| metres.abs() >= SAME_HEIGHT_M).map(|metres| metres * LAPSE_K_PER_M);
    let filled = lend(site, knowledge, nearest, warmer.unwrap_or(0.0), &asked);
    let lent = Lent::of(knowledge, &filled);
    let corrected = warmer.zip(higher).filter(|_| lent.temperatures);
    let correction = corrected.map(|(warmer, higher)| correction_words(warmer, higher));
    let height = lend_height(site, knowledge, nearest, &asked);
    let passed_over = search.passed_over(nearest, &knowledge.climates);
    let whole = filled.len() == nearest.values.len();
    let mut message = match lent.words() {
        _ if whole => format!("the climate is that of {words}"),
        Some(what) => format!("of the climate, {what} came from {words}"),
        None if height.is_some() => format!("only a height above sea level was taken from {words}"),
        None => "`near = true` was not needed: nothing of the climate was missing".to_owned(),
    };
    if let Some(correction) = &correction {
        message.push_str(&format!(", its temperatures taken {correction}"));
    }
    if let Some(caution) = lent.caution() {
        message.push_str(&format!(": {caution}"));
    }
    if height.is_some() {
        let as_they_are = if lent.temperatures { "so its temperatures are as they are and " } else { "so " };
        message.push_str(&format!(
            "; the site's height is not stated, {as_they_are}its {:.0} m above sea level stand for the site's",
            nearest.elevation_m
        ));
    }
    if !search.has_rain(nearest) {
        message.push_str("; its rain is not known, so give `precip_mm`");
    }
    if let Some(passed_over) = &passed_over {
        message.push_str(&format!("; {passed_over}"));
    }
    let nothing_lent = filled.is_empty() && height.is_none();
    let help = match lent.temperatures {
        true => "hollows are colder, towns and coasts milder; figures of a station nearby are better",
        false if nothing_lent => "leave it out",
        false => "figures of a station nearby are better",
    };
    findings.push(Finding::error("nearest-place", &asked, message).help(help).as_warning());
    if nothing_lent {
        return;
    }
    check_temperatures(site, knowledge, &filled, &asked, findings);
    let sources: Vec<String> = nearest.citations.iter().map(Citation::short).collect();
    let sources = format!("{}; {}", nearest.period, sources.join("; "));
    let position = |id: &str| Some(knowledge.vocabulary.slot(id)?.index);
    let temperatures = TEMPERATURES.iter().filter_map(|id| position(id)).collect();
    let corrected = correction.map(|correction| (correction, temperatures));
    let rain = position("site.precip_mm");
    let extreme_minimum = position("site.extreme_min_c");
    let (coast, lending) = (position(COAST), Lending { km, higher });
    site.from_nearest = Some(FromNearest {
        filled,
        place: words,
        sources,
        corrected,
        rain,
        as_there: AS_THERE.map(|(id, _)| position(id)),
        wind_height_m: nearest.wind_height_m,
        extreme_minimum,
        coast,
        lending,
        passed_over,
        height,
    });
}

/// What a place lent.
struct Lent<'a> {
    /// Whether any temperature is among it.
    temperatures: bool,
    rain: bool,
    wind: bool,
    /// The facts, without `site.`.
    names: Vec<&'a str>,
}

impl<'a> Lent<'a> {
    fn of(knowledge: &'a Knowledge, filled: &[usize]) -> Self {
        let ids: Vec<&str> = filled.iter().map(|at| knowledge.vocabulary.site[*at].id.as_str()).collect();
        Self {
            temperatures: ids.iter().any(|id| TEMPERATURES.contains(id)),
            rain: ids.contains(&"site.precip_mm"),
            wind: ids.contains(&"site.wind_m_s"),
            names: ids.into_iter().map(|id| id.trim_start_matches("site.")).collect(),
        }
    }

    fn words(&self) -> Option<String> {
        (!self.names.is_empty()).then(|| self.names.join(", "))
    }

    /// What to be wary of in the figures lent.
    fn caution(&self) -> Option<String> {
        let parts = [
            (self.temperatures, "local ground may differ by some degrees"),
            (self.rain, "rain may differ most in hills"),
            (self.wind, "sheltered ground has less wind"),
        ];
        let parts: Vec<&str> = parts.into_iter().filter(|(lent, _)| *lent).map(|(_, words)| words).collect();
        let (last, others) = parts.split_last()?;
        Some(if others.is_empty() {
            (*last).to_owned()
        } else {
            format!("{}, and {last}", others.join(", "))
        })
    }
}

/// What places are measured by.
struct Search {
    /// Latitude and longitude of the site.
    position: (f64, f64),
    /// Its height above sea level, where it is stated.
    height: Option<f64>,
    /// Position of the fact of rain, where the site file leaves it to the place.
    rain: Option<usize>,
    /// Whether the site file says that winds off a water reach the site.
    on_coast: bool,
    /// Positions of the facts of the coast, of rain and of monthly maxima.
    summer: [Option<usize>; 3],
}

impl Search {
    /// Distance in km, and how much higher the place lies than the site, m.
    fn measure(&self, climate: &Climate) -> (f64, Option<f64>) {
        let km = distance_km(self.position, (climate.latitude_deg, climate.longitude_deg));
        (km, self.height.map(|height| climate.elevation_m - height))
    }

    fn has_rain(&self, climate: &Climate) -> bool {
        self.rain.is_none_or(|rain| climate.values.iter().any(|(at, _)| *at == rain))
    }

    fn too_far(&self, climate: &Climate) -> bool {
        let (km, higher) = self.measure(climate);
        let high = higher.is_some_and(|metres| metres.abs() > GREATEST_HEIGHT_M);
        km > FARTHEST_KM || high || self.too_coastal(climate)
    }

    /// Whether the site lies too far behind a coast with dry summers.
    fn too_coastal(&self, climate: &Climate) -> bool {
        let (km, _) = self.measure(climate);
        !self.on_coast && km > COAST_REACHES_KM && self.cooled_by_the_sea(climate)
    }

    fn cooled_by_the_sea(&self, climate: &Climate) -> bool {
        cooled_by_the_sea(climate, self.summer)
    }

    fn cost(&self, climate: &Climate) -> f64 {
        let (km, higher) = self.measure(climate);
        let dry = if self.has_rain(climate) { 0.0 } else { KM_WITHOUT_RAIN };
        km + higher.unwrap_or(0.0).abs() / 100.0 * KM_FOR_100_M + dry
    }

    /// The best stand-in; a place that will do goes before one that will not, whatever they cost.
    fn nearest<'a>(&self, climates: &'a [Climate]) -> Option<&'a Climate> {
        climates
            .iter()
            .min_by(|a, b| self.too_far(a).cmp(&self.too_far(b)).then(self.cost(a).total_cmp(&self.cost(b))))
    }
}

/// A place on a coast with dry summers, whose cool air ends within a short way inland; by the positions of
/// the facts of [`summer_facts`].
pub(super) fn cooled_by_the_sea(climate: &Climate, summer: [Option<usize>; 3]) -> bool {
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
pub(super) fn summer_facts(knowledge: &Knowledge) -> [Option<usize>; 3] {
    [COAST, "site.precip_mm", "site.tmax_c"].map(|id| knowledge.vocabulary.slot(id).map(|slot| slot.index))
}

pub(super) fn height_words(higher: Option<f64>) -> String {
    match higher {
        Some(metres) if metres.abs() < SAME_HEIGHT_M => "at about the same height".to_owned(),
        Some(metres) => format!("{:.0} m {}", metres.abs(), if metres > 0.0 { "higher" } else { "lower" }),
        None => "height above sea level not compared".to_owned(),
    }
}

pub(super) fn correction_words(warmer: f64, higher: f64) -> String {
    let way = if warmer > 0.0 { "warmer" } else { "cooler" };
    format!("{:.1} K {way} for {:.0} m", warmer.abs(), higher.abs())
}

/// Enters the place's figures where the site file gives none, temperatures moved by `warmer`; which
/// facts those are.
fn lend(
    site: &mut SiteFile,
    knowledge: &Knowledge,
    nearest: &Climate,
    warmer: f64,
    asked: &Place,
) -> Vec<usize> {
    let temperatures: Vec<usize> =
        TEMPERATURES.iter().filter_map(|id| Some(knowledge.vocabulary.slot(id)?.index)).collect();
    let mut filled = Vec::new();
    let position = |id: &str| Some(knowledge.vocabulary.slot(id)?.index);
    let is_given = |id: &str| position(id).is_some_and(|at| site.values[at].is_some());
    // a range of the site's own, or sun that was measured, asks for no coast of another place
    let without_coast = is_given("site.tmax_c") || is_given("site.tmin_c");
    for (index, value) in &nearest.values {
        if site.values[*index].is_some() || without_coast && position(COAST) == Some(*index) {
            continue;
        }
        let value = match value {
            Value::Months(months) if temperatures.contains(index) => {
                Value::Months(months.map(|month| month + warmer).into())
            }
            Value::Number(number) if temperatures.contains(index) => Value::Number(number + warmer),
            other => other.clone(),
        };
        site.values[*index] = Some((value, asked.clone()));
        filled.push(*index);
    }
    filled
}

/// Lets the place's height stand for the site's, where the site file states none: radiation and
/// evapotranspiration need one, and that of the place is nearer the truth than sea level.
fn lend_height(
    site: &mut SiteFile,
    knowledge: &Knowledge,
    nearest: &Climate,
    asked: &Place,
) -> Option<(usize, String)> {
    let index = knowledge.vocabulary.slot("site.elevation_m")?.index;
    let allowed = knowledge.vocabulary.site[index].allowed;
    let fits = allowed.is_none_or(|(low, high)| (low..=high).contains(&nearest.elevation_m));
    if site.values[index].is_some() || !fits {
        return None;
    }
    site.values[index] = Some((Value::Number(nearest.elevation_m), asked.clone()));
    Some((index, format!("as that of {}, the nearest place; the site file states none", nearest.name)))
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
    use super::{FARTHEST_KM, Search, correction_words, distance_km, height_words, summer_facts};
    use crate::knowledge::Knowledge;
    use crate::knowledge::text::KnowledgeText;

    /// A degree of a meridian is 111.2 km on a sphere of 6371 km; a quarter of the equator 10 007.5 km.
    #[test]
    fn distances_on_the_sphere() {
        assert!((distance_km((40.0, -75.0), (41.0, -75.0)) - 111.195).abs() < 0.01);
        assert!((distance_km((0.0, 0.0), (0.0, 90.0)) - 10_007.5).abs() < 0.1);
        assert!(distance_km((10.0, 179.5), (10.0, -179.5)) < 110.0);
    }

    #[test]
    fn heights_in_words() {
        assert_eq!(height_words(Some(-9.0)), "at about the same height");
        assert_eq!(height_words(Some(-320.0)), "320 m lower");
        assert_eq!(correction_words(-320.0 * super::LAPSE_K_PER_M, -320.0), "2.1 K cooler for 320 m");
        assert_eq!(correction_words(100.0 * super::LAPSE_K_PER_M, 100.0), "0.7 K warmer for 100 m");
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
        others.retain(|place| !["thermal-ca", "yuma-az"].contains(&place.id.as_str()));
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
