//! What the nearest place lent to a site, and in which words its figures say so.

use super::TEMPERATURES;
use crate::engine::facts::Origin;
use crate::knowledge::Knowledge;
use crate::site::lending::Lending;

/// The facts that nothing brings from the place to the site, and what they are called.
pub(super) const AS_THERE: [(&str, &str); 3] =
    [("site.solar_mj_m2_d", "sun"), ("site.wind_m_s", "wind"), ("site.rh_pct", "humidity")];

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
    pub(super) rain: Option<usize>,
    /// Positions of sun, wind and humidity, which nothing brings to the site.
    pub(super) as_there: [Option<usize>; 3],
    /// Height at which the place's wind was measured, where it was brought to 2 m.
    pub(super) wind_height_m: Option<f64>,
    /// Positions of the mean annual extreme minimum and of the coast.
    pub(super) extreme_minimum: Option<usize>,
    pub(super) coast: Option<usize>,
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

/// What a place lent.
pub(super) struct Lent<'a> {
    /// Whether any temperature is among it.
    pub(super) temperatures: bool,
    rain: bool,
    wind: bool,
    /// The facts, without `site.`.
    names: Vec<&'a str>,
}

impl<'a> Lent<'a> {
    pub(super) fn of(knowledge: &'a Knowledge, filled: &[usize]) -> Self {
        let ids: Vec<&str> = filled.iter().map(|at| knowledge.vocabulary.site[*at].id.as_str()).collect();
        Self {
            temperatures: ids.iter().any(|id| TEMPERATURES.contains(id)),
            rain: ids.contains(&"site.precip_mm"),
            wind: ids.contains(&"site.wind_m_s"),
            names: ids.into_iter().map(|id| id.trim_start_matches("site.")).collect(),
        }
    }

    pub(super) fn words(&self) -> Option<String> {
        (!self.names.is_empty()).then(|| self.names.join(", "))
    }

    /// What to be wary of in the figures lent.
    pub(super) fn caution(&self) -> Option<String> {
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
