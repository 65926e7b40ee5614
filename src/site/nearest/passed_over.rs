//! Places that lie nearer than the one that lends its climate, and why they were passed over.

use super::{COAST_REACHES_KM, GREATEST_HEIGHT_M, Search, height_words};
use crate::knowledge::climates::Climate;

impl Search {
    /// The places that lie nearer than the one taken, each with why it was passed over: the nearest of
    /// them, and the nearest on a coast that does not stand for the country behind it.
    pub(super) fn passed_over(&self, taken: &Climate, climates: &[Climate]) -> Option<String> {
        let (taken_km, _) = self.measure(taken);
        let mut nearer: Vec<(f64, &Climate)> = climates
            .iter()
            .map(|climate| (self.measure(climate).0, climate))
            .filter(|(km, climate)| climate.id != taken.id && *km < taken_km)
            .collect();
        nearer.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (_, first) = nearer.first()?;
        let coastal = nearer.iter().map(|(_, climate)| *climate).find(|climate| self.too_coastal(climate));
        let mut told = vec![*first];
        told.extend(coastal.filter(|coastal| coastal.id != first.id));
        let words: Vec<String> =
            told.into_iter().map(|climate| self.why_passed_over(climate, taken)).collect();
        Some(words.join("; "))
    }

    fn why_passed_over(&self, climate: &Climate, taken: &Climate) -> String {
        let (km, higher) = self.measure(climate);
        let height = |metres: f64| height_words(Some(metres));
        let why = match higher {
            _ if self.too_coastal(climate) => format!(
                "a coast with dry summers does not stand for country more than {COAST_REACHES_KM:.0} km behind it"
            ),
            Some(metres) if metres.abs() > GREATEST_HEIGHT_M => {
                format!(
                    "it lies {}, more than {GREATEST_HEIGHT_M:.0} m from the height of the site",
                    height(metres)
                )
            }
            _ if !self.has_rain(climate) && self.has_rain(taken) => "its rain is not known".to_owned(),
            Some(metres) => {
                format!("it lies {}, and by distance and height together the other errs less", height(metres))
            }
            None => "another stands in better".to_owned(),
        };
        format!("{}, {km:.0} km away, is nearer and was passed over: {why}", climate.name)
    }
}
