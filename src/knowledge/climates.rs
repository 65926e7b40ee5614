//! `climates/*.toml`: a small gazetteer of monthly normals, for sites whose own are not known.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::citation::{Citation, read_citations};
use super::names::Declared;
use super::values::{WhatIsRead, read_value};
use super::vocabulary::Vocabulary;
use crate::diag::{Finding, Findings, Place, Source};
use crate::document::{Table, TableReader};
use crate::engine::value::Value;
use crate::site::evapotranspiration::wind_at_2m;
use crate::site::solar::monthly_extraterrestrial;
use crate::units::quantity::{Degrees, Metres, MetresPerSecond};

/// The normals of one place.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Climate {
    /// Its id, which is the stem of its file.
    pub id: String,
    /// As reports print it.
    pub name: String,
    /// Latitude, degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude, degrees, east positive.
    pub longitude_deg: f64,
    /// Height above sea level, m.
    pub elevation_m: f64,
    /// Years behind the normals, as published.
    pub period: String,
    /// Facts of the site that it can stand in for, by the position of their declaration.
    pub values: Vec<(usize, Value)>,
    /// Height above the ground at which its wind was measured, m, where that is not 2 m; the speeds among
    /// `values` are brought to 2 m.
    pub wind_height_m: Option<f64>,
    /// Where they were published.
    pub citations: Vec<Citation>,
    /// Where it is entered.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

/// Keys of a place that are facts of a site's climate: those that must be there, then the others.
const MUST: [&str; 2] = ["tmax_c", "tmin_c"];
const MAY: [&str; 6] = ["precip_mm", "extreme_min_c", "solar_mj_m2_d", "wind_m_s", "rh_pct", "coast"];

/// Reads one place.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    Declared { vocabulary, sources }: Declared<'_>,
    findings: &mut Findings,
) -> Option<Climate> {
    let mut file = TableReader::of_file(source, table, "a climate");
    let id_node = file.required("id", findings);
    let name = file.required_text("name", findings).unwrap_or_default().to_owned();
    let period = file.required_text("period", findings).unwrap_or_default().to_owned();
    let mut position = |key: &'static str, limit: f64, findings: &mut Findings| {
        let span = file.required(key, findings).map(|node| node.span);
        let number = file.number(key, findings)?;
        if number.abs() > limit {
            let message = format!("`{key}` is {number}, which is nowhere on earth");
            let place = span.map_or_else(|| file.own_place(), |span| file.place(span));
            findings.push(Finding::error("out-of-range", &place, message));
            return None;
        }
        Some(number)
    };
    let latitude_deg = position("latitude_deg", 90.0, findings);
    let longitude_deg = position("longitude_deg", 180.0, findings);
    let elevation_m = position("elevation_m", 9000.0, findings);
    let mut values = Vec::new();
    for key in MUST.into_iter().chain(MAY) {
        let node = if MUST.contains(&key) { file.required(key, findings) } else { file.node(key) };
        let slot = vocabulary.slot(&format!("site.{key}"));
        if let (Some(node), Some(slot)) = (node, slot) {
            let declaration = &vocabulary.site[slot.index];
            let what = WhatIsRead { source, node, name: key, unit: declaration.kind.unit() };
            values
                .extend(read_value(vocabulary, declaration, what, findings).map(|value| (slot.index, value)));
        }
    }
    let wind_height_m = wind_height(&mut file, findings);
    bring_wind_to_2m(&mut values, wind_height_m, &file, vocabulary, findings);
    check_together(&values, latitude_deg, &mut file, vocabulary, findings);
    let citations = read_citations(&mut file, sources, findings);
    let place = id_node.map_or_else(|| file.own_place(), |node| file.place(node.span));
    file.finish(findings);
    let id = super::file_id(source, id_node, &place, findings)?;
    Some(Climate {
        id,
        name,
        latitude_deg: latitude_deg?,
        longitude_deg: longitude_deg?,
        elevation_m: elevation_m?,
        period,
        values,
        wind_height_m,
        citations,
        place,
    })
}

/// Heights at which a station's wind is measured, m: below, equation 47 loses its meaning; above, the wind
/// is no longer that of the ground.
const WIND_HEIGHTS_M: (f64, f64) = (0.5, 30.0);

/// The height of the wind, where the file states one.
fn wind_height(file: &mut TableReader<'_>, findings: &mut Findings) -> Option<f64> {
    let place = file.node("wind_height_m").map(|node| file.place(node.span))?;
    let height = file.number("wind_height_m", findings)?;
    let (low, high) = WIND_HEIGHTS_M;
    if !(low..=high).contains(&height) {
        let message =
            format!("`wind_height_m` is {height}, outside the {low} to {high} m at which wind is measured");
        findings.push(Finding::error("out-of-range", &place, message));
        return None;
    }
    Some(height)
}

/// Wind as published, brought from the height at which it was measured to 2 m (FAO-56 equation 47).
fn bring_wind_to_2m(
    values: &mut [(usize, Value)],
    height: Option<f64>,
    file: &TableReader<'_>,
    vocabulary: &Vocabulary,
    findings: &mut Findings,
) {
    let Some(height) = height else { return };
    let wind = vocabulary.slot("site.wind_m_s").map(|slot| slot.index);
    let Some((_, value)) = values.iter_mut().find(|(index, _)| Some(*index) == wind) else {
        let message = "`wind_height_m` stands without `wind_m_s`";
        findings.push(Finding::error("height-without-wind", &file.own_place(), message));
        return;
    };
    // equation 47 is a factor, whatever the unit of the speed
    let factor = wind_at_2m(MetresPerSecond(1.0), Metres(height)).0;
    if let Some(months) = value.as_months() {
        *value = Value::Months(months.map(|speed| speed * factor).into());
    }
}

/// Solar radiation above the computed limit that still passes: finer sun positions differ by some percent.
const SOLAR_SLACK: f64 = 1.06;

/// Rounding that may put the lowest night of a year a hair above the mean of the coldest month, K.
const EXTREME_ROUNDING_K: f64 = 0.1;

/// Figures that are each allowed and cannot hold together.
fn check_together(
    values: &[(usize, Value)],
    latitude: Option<f64>,
    file: &mut TableReader<'_>,
    vocabulary: &Vocabulary,
    findings: &mut Findings,
) {
    let months = |key: &str| {
        let index = vocabulary.slot(&format!("site.{key}"))?.index;
        values.iter().find(|(own, _)| *own == index)?.1.as_months()
    };
    let mut place =
        |key: &'static str| file.node(key).map_or_else(|| file.own_place(), |node| file.place(node.span));
    if let (Some(high), Some(low)) = (months("tmax_c"), months("tmin_c"))
        && let Some(month) = (0..12).find(|month| high[*month] <= low[*month])
    {
        let message = format!("in month {} the mean maximum is not above the mean minimum", month + 1);
        let finding = Finding::error("maximum-below-minimum", &place("tmax_c"), message);
        findings.push(finding.also(&place("tmin_c"), "the minima"));
    }
    let extreme = vocabulary
        .slot("site.extreme_min_c")
        .and_then(|slot| values.iter().find(|(own, _)| *own == slot.index)?.1.as_number());
    let coldest = months("tmin_c").map(|low| low.iter().copied().fold(f64::INFINITY, f64::min));
    if let (Some(extreme), Some(coldest)) = (extreme, coldest)
        && extreme > coldest + EXTREME_ROUNDING_K
    {
        let message = format!(
            "the mean annual extreme minimum, {extreme}, is above the mean minimum of the coldest month, {coldest}"
        );
        findings.push(Finding::error("extreme-above-minimum", &place("extreme_min_c"), message));
    }
    if let (Some(solar), Some(latitude)) = (months("solar_mj_m2_d"), latitude) {
        let outer = monthly_extraterrestrial(Degrees(latitude));
        if let Some(month) = (0..12).find(|month| solar[*month] > outer[*month] * SOLAR_SLACK) {
            let message = format!("in month {} more sun arrives than shines outside the air", month + 1);
            findings.push(Finding::error("out-of-range", &place("solar_mj_m2_d"), message));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::Knowledge;
    use crate::knowledge::text::KnowledgeText;

    const GOOD: &str = r#"id = "sample-place"
name = "Sample Place"
latitude_deg = 41.0
longitude_deg = -90.0
elevation_m = 200
period = "1991-2020"
tmax_c = [0, 2, 8, 15, 21, 26, 29, 28, 24, 17, 9, 2]
tmin_c = [-9, -7, -2, 4, 10, 15, 18, 17, 12, 6, 0, -6]
precip_mm = [30, 30, 60, 90, 110, 110, 100, 95, 80, 70, 55, 40]
sources = [{ key = "common-practice" }]
"#;

    fn read_one(text: &str) -> (Option<Climate>, Vec<String>) {
        let (place, findings) = findings_of(text);
        (place, findings.into_iter().map(|one| one.message).collect())
    }

    fn findings_of(text: &str) -> (Option<Climate>, Findings) {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let source =
            Arc::new(Source { path: "climates/sample-place.toml".into(), text: text.to_owned().into() });
        let mut findings = Findings::new();
        let table = crate::document::parse(&source, &mut findings).unwrap_or_default();
        let declared = Declared { vocabulary: &knowledge.vocabulary, sources: &knowledge.sources };
        let place = read(&source, &table, declared, &mut findings);
        (place, findings)
    }

    /// Twelve figures stand in a line, and the fault is in one of them.
    #[test]
    fn figures_that_cannot_hold_together_are_told_at_their_list() {
        let suns = format!("solar_mj_m2_d = [{}]\nsources =", ["40"; 12].join(", "));
        for (from, to, key, also) in [
            ("tmin_c = [-9", "tmin_c = [9", "tmax_c", Some("tmin_c")),
            ("sources =", "extreme_min_c = -8\nsources =", "extreme_min_c", None),
            ("sources =", suns.as_str(), "solar_mj_m2_d", None),
        ] {
            let text = GOOD.replace(from, to);
            let (_, findings) = findings_of(&text);
            let line = |key: &str| 1 + text.lines().position(|line| line.starts_with(key)).unwrap();
            let [finding] = findings.as_slice() else { panic!("{key}: {findings:?}") };
            let (at, column) = finding.place.as_ref().unwrap().line_and_column();
            assert_eq!((at, column), (line(key), key.len() + 4), "{key}");
            let told = finding.also.first().map(|(place, _)| place.line_and_column().0);
            assert_eq!(told, also.map(line), "{key}");
        }
    }

    #[test]
    fn a_whole_place_is_read() {
        let (place, words) = read_one(GOOD);
        assert_eq!(words, [""; 0]);
        assert_eq!(place.unwrap().values.len(), 3);
    }

    /// 3 m/s at 10 m are 2.24 m/s at 2 m (FAO-56 equation 47: a factor of 0.748).
    #[test]
    fn wind_is_brought_to_2_m_and_its_height_kept() {
        let wind = "wind_m_s = [3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3]\n";
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let index = knowledge.vocabulary.slot("site.wind_m_s").unwrap().index;
        let speed = |lines: &str| {
            let (place, words) = read_one(&GOOD.replace("sources =", &format!("{lines}sources =")));
            assert_eq!(words, [""; 0]);
            let place = place.unwrap();
            let value = place.values.iter().find(|(own, _)| *own == index).unwrap().1.clone();
            (value.as_months().unwrap()[0], place.wind_height_m)
        };
        let (as_stated, none) = speed(wind);
        let (brought, height) = speed(&format!("{wind}wind_height_m = 10\n"));
        assert_eq!((none, height), (None, Some(10.0)));
        assert!((brought / as_stated - 0.748).abs() < 0.001, "{brought} of {as_stated}");
    }

    #[test]
    fn every_fault_of_a_place_is_told() {
        let cases = [
            ("tmax_c = [0, 2,", "tmax_c = [2,", "needs 12 numbers, one for each month, and has 11"),
            ("latitude_deg = 41.0", "latitude_deg = 141.0", "nowhere on earth"),
            ("precip_mm = [30", "precip_mm = [-30", "outside the allowed"),
            ("tmin_c = [-9", "tmin_c = [9", "the mean maximum is not above the mean minimum"),
            ("sources =", "extreme_min_c = -8\nsources =", "the mean annual extreme minimum, -8"),
            ("sources =", "# sources =", "the climate `sample-place` names no source"),
            ("common-practice", "common-practise", "no source is called `common-practise`"),
            ("period =", "# period =", "has no `period`"),
            ("id = \"sample", "id = \"other", "stands in a file called `sample-place.toml`"),
            ("elevation_m", "elevation", "has no `elevation_m`"),
            ("sources =", "wind_height_m = 10\nsources =", "`wind_height_m` stands without `wind_m_s`"),
            (
                "sources =",
                "wind_height_m = 300\nsources =",
                "`wind_height_m` is 300, outside the 0.5 to 30 m",
            ),
            (
                "tmax_c = [0, 2,",
                "tmax_c = 20 # [0, 2,",
                "needs 12 numbers, one for each month, not one for all",
            ),
            (
                "sources =",
                "solar_mj_m2_d = [40, 40, 40, 40, 40, 40, 40, 40, 40, 40, 40, 40]\nsources =",
                "more sun arrives than shines outside the air",
            ),
        ];
        for (from, to, wanted) in cases {
            let (_, words) = read_one(&GOOD.replace(from, to));
            assert!(words.iter().any(|one| one.contains(wanted)), "{to}: {words:?}");
        }
    }

    #[test]
    fn the_built_in_gazetteer_holds_many_climates_with_their_sources() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        assert!(knowledge.climates.len() >= 20, "{}", knowledge.climates.len());
        for place in &knowledge.climates {
            assert!(place.citations.iter().all(|citation| !citation.is_unpublished()), "{}", place.id);
        }
    }
}
