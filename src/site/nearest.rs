//! The nearest place of the gazetteer, for a site file that asks for it with `near = true`.

mod lent;
mod passed_over;
pub(super) mod search;

use lent::{AS_THERE, Lent};
use search::{COAST_REACHES_KM, Search, summer_facts};

pub use lent::FromNearest;
pub use search::distance_km;
pub(super) use search::{FARTHEST_KM, GREATEST_HEIGHT_M};

use super::climate_file::check_temperatures;
use super::file::SiteFile;
use super::lending::Lending;
use crate::diag::{Finding, Findings, Place};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::citation::Citation;
use crate::knowledge::climates::Climate;

/// Fall of temperature with height in the standard atmosphere, K/m (ICAO standard atmosphere, ISO
/// 2533: 6.5 K/km from sea level to 11 km; FAO-56 equation 7 rests on the same figure).
pub(super) const LAPSE_K_PER_M: f64 = 0.0065;
/// A difference of height below this is none, m: it would change temperatures by less than 0.1 K.
pub(super) const SAME_HEIGHT_M: f64 = 10.0;
/// The facts that height changes by the lapse rate.
pub(super) const TEMPERATURES: [&str; 3] = ["site.tmax_c", "site.tmin_c", "site.extreme_min_c"];

/// The fact that a large water is near: it belongs to the daily range of temperature, from which the sun
/// is estimated where it was not measured (FAO-56 equation 50).
const COAST: &str = "site.coast";

/// Fills what is still missing of the climate from the nearest place.
pub fn fill(site: &mut SiteFile, knowledge: &Knowledge, findings: &mut Findings) {
    let Some(asked) = site.near.clone() else { return };
    let Some(search) = search_of(site, knowledge, &asked, findings) else { return };
    let Some(nearest) = search.nearest(&knowledge.climates) else {
        findings.push(Finding::error("no-place-near", &asked, "the gazetteer holds no place"));
        return;
    };
    let (km, higher) = search.measure(nearest);
    let words = search.words(nearest);
    if search.too_far(nearest) {
        findings.push(none_near(&search, nearest, &knowledge.climates, &asked));
        return;
    }
    let warmer = higher.filter(|metres| metres.abs() >= SAME_HEIGHT_M).map(|metres| metres * LAPSE_K_PER_M);
    let filled = lend(site, knowledge, nearest, warmer.unwrap_or(0.0), &asked);
    let lent = Lent::of(knowledge, &filled);
    let corrected = warmer.zip(higher).filter(|_| lent.temperatures);
    let correction = corrected.map(|(warmer, higher)| correction_words(warmer, higher));
    let height = lend_height(site, knowledge, nearest, &asked);
    let passed_over = search.passed_over(nearest, &knowledge.climates);
    let taken = Taken { nearest, words: &words, filled: filled.len(), height: height.is_some(), lent: &lent };
    let message = taken.message(correction.as_deref(), search.has_rain(nearest), passed_over.as_deref());
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

/// Where the site lies and what it is to be like; told where its position is not stated.
fn search_of(
    site: &SiteFile,
    knowledge: &Knowledge,
    asked: &Place,
    findings: &mut Findings,
) -> Option<Search> {
    let number = |id: &str| {
        let slot = knowledge.vocabulary.slot(id)?;
        site.values[slot.index].as_ref().and_then(|(value, _)| value.as_number())
    };
    let (Some(latitude), Some(longitude)) = (number("site.latitude_deg"), number("site.longitude_deg"))
    else {
        // what stands there and is faulty was told already
        let is_unread =
            |id: &str| knowledge.vocabulary.slot(id).is_some_and(|slot| site.unread.contains(&slot.index));
        if is_unread("site.latitude_deg") || is_unread("site.longitude_deg") {
            return None;
        }
        let message = "the nearest place cannot be found without latitude and longitude";
        let help = "add `latitude_deg` and `longitude_deg` to [place]";
        findings.push(Finding::error("near-without-position", asked, message).help(help));
        return None;
    };
    Some(Search {
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
    })
}

/// What a place lends.
struct Taken<'t> {
    nearest: &'t Climate,
    words: &'t str,
    /// How many facts of the climate.
    filled: usize,
    /// Whether its height stands for that of the site.
    height: bool,
    lent: &'t Lent<'t>,
}

impl Taken<'_> {
    fn message(&self, correction: Option<&str>, has_rain: bool, passed_over: Option<&str>) -> String {
        let whole = self.filled == self.nearest.values.len();
        let mut message = match self.lent.words() {
            _ if whole => format!("the climate is that of {}", self.words),
            Some(what) => format!("of the climate, {what} came from {}", self.words),
            None if self.height => format!("only a height above sea level was taken from {}", self.words),
            None => "`near = true` was not needed: nothing of the climate was missing".to_owned(),
        };
        if let Some(correction) = correction {
            message.push_str(&format!(", its temperatures taken {correction}"));
        }
        if let Some(caution) = self.lent.caution() {
            message.push_str(&format!(": {caution}"));
        }
        if self.height {
            let as_they_are =
                if self.lent.temperatures { "so its temperatures are as they are and " } else { "so " };
            message.push_str(&format!(
                "; the site's height is not stated, {as_they_are}its {:.0} m above sea level stand for the site's",
                self.nearest.elevation_m
            ));
        }
        if !has_rain {
            message.push_str("; its rain is not known, so give `precip_mm`");
        }
        if let Some(passed_over) = passed_over {
            message.push_str(&format!("; {passed_over}"));
        }
        message
    }
}

/// Why no place will do, by the best stand-in and by the one at the least distance.
fn none_near(search: &Search, best: &Climate, climates: &[Climate], asked: &Place) -> Finding {
    let other = search.closest(climates).filter(|closest| closest.id != best.id);
    let which = match other {
        Some(closest) => format!(
            "the nearest is {}, the best fit by distance and height {}",
            search.words(closest),
            search.words(best)
        ),
        None => format!("the nearest is {}", search.words(best)),
    };
    let message = format!("no place of the gazetteer is near enough; {which}");
    let (km, _) = search.measure(best);
    let help = if km <= FARTHEST_KM && search.cooled_by_the_sea(best) {
        format!(
            "a coast with dry summers does not stand for country more than {COAST_REACHES_KM:.0} km behind it: \
             state `coast = true` in [place] if winds off the sea reach the site, or give the twelve months, or \
             a station file"
        )
    } else {
        format!(
            "within {FARTHEST_KM:.0} km and {GREATEST_HEIGHT_M:.0} m of height one would do; give the twelve \
             months, or a station file"
        )
    };
    Finding::error("no-place-near", asked, message).help(help)
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

#[cfg(test)]
mod tests {
    use super::{LAPSE_K_PER_M, correction_words, height_words};

    #[test]
    fn heights_in_words() {
        assert_eq!(height_words(Some(-9.0)), "at about the same height");
        assert_eq!(height_words(Some(-320.0)), "320 m lower");
        assert_eq!(correction_words(-320.0 * LAPSE_K_PER_M, -320.0), "2.1 K cooler for 320 m");
        assert_eq!(correction_words(100.0 * LAPSE_K_PER_M, 100.0), "0.7 K warmer for 100 m");
    }
}
