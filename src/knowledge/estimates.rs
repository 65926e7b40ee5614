//! Estimates of traits that nobody published: the cautious quartile of a species' group, a quarter of the
//! way from its unfavourable end.
//!
//! They come of the base alone. A species or a value that an overlay brings takes estimates and gives none:
//! it would move the figures of species of which it says nothing, and no line of theirs would tell.

use super::species::{Species, TraitValue};
use super::vocabulary::{Declaration, Kind, Vocabulary};
use crate::engine::value::Value;

/// Groups with fewer known values, of which a quarter would be the single worst one, take the quartile of
/// the whole base.
const FEWEST: usize = 5;

/// A quartile and of how many values of whom it is one.
struct Quartile {
    at: f64,
    words: String,
}

/// What is known of each trait that may be estimated: group and value of every species that has one of its
/// own, by the position of the trait.
pub struct Known(Vec<Vec<(u8, f64)>>);

impl Known {
    /// Of these species; what is estimated itself is not known.
    pub fn of(species: &[Species], vocabulary: &Vocabulary) -> Self {
        let position = |own: &TraitValue| match own.value {
            _ if own.estimated.is_some() => None,
            Value::Number(number) => Some(number),
            Value::Step(step) => Some(f64::from(step)),
            _ => None,
        };
        let of_trait = |(index, declaration): (usize, &Declaration)| match declaration.estimate {
            true => species
                .iter()
                .filter_map(|one| Some((one.kind, position(one.traits[index].as_ref()?)?)))
                .collect(),
            false => Vec::new(),
        };
        Self(vocabulary.species.iter().enumerate().map(of_trait).collect())
    }

    /// Fills what is missing and may be estimated.
    pub fn estimate_missing(&self, species: &mut [Species], vocabulary: &Vocabulary) {
        for (index, (declaration, known)) in vocabulary.species.iter().zip(&self.0).enumerate() {
            let (true, Some(better_high)) = (declaration.estimate, declaration.better_high) else { continue };
            for one in species.iter_mut().filter(|one| one.traits[index].is_none()) {
                let Some(quartile) = quartile_for(one.kind, known, better_high) else { continue };
                let value = match declaration.kind {
                    // between two steps, the less favourable one
                    Kind::Scale(_) if better_high => Value::Step(quartile.at.floor() as u8),
                    Kind::Scale(_) => Value::Step(quartile.at.ceil() as u8),
                    _ => Value::Number(quartile.at),
                };
                one.traits[index] = Some(TraitValue {
                    value,
                    spread: None,
                    evidence: Vec::new().into(),
                    estimated: Some(quartile.words),
                });
            }
        }
    }
}

fn quartile_for(kind: u8, known: &[(u8, f64)], better_high: bool) -> Option<Quartile> {
    let own: Vec<f64> = known.iter().filter(|(group, _)| *group == kind).map(|(_, value)| *value).collect();
    let (values, whose) = match own.len() < FEWEST {
        true => (known.iter().map(|(_, value)| *value).collect(), "all species"),
        false => (own, "its group"),
    };
    let words = format!("cautious quartile of {} known values of {whose}", values.len());
    (values.len() >= FEWEST).then(|| Quartile { at: cautious_quartile(values, better_high), words })
}

/// A quarter of the way from the unfavourable end, linear between the two values that it falls between, so
/// that one value more or less never makes it jump.
fn cautious_quartile(mut values: Vec<f64>, better_high: bool) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = (values.len() - 1) as f64 * if better_high { 0.25 } else { 0.75 };
    let (below, above) = (values[at.floor() as usize], values[at.ceil() as usize]);
    below + (above - below) * at.fract()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::Knowledge;
    use crate::knowledge::text::KnowledgeText;

    /// Type 7 of Hyndman and Fan (1996), the common linear one: of 1 to 4 the lower quartile is 1.75.
    #[test]
    fn the_quartile_lies_between_two_values() {
        let quartile = |values: &[f64], better_high| cautious_quartile(values.to_vec(), better_high);
        assert_eq!(quartile(&[4.0, 2.0, 1.0, 3.0], true), 1.75);
        assert_eq!(quartile(&[1.0, 2.0, 3.0, 4.0], false), 3.25);
        assert_eq!(quartile(&[1.0, 2.0, 3.0, 4.0, 5.0], true), 2.0);
        // a value more between two far ones moves it by a part of the gap, not by all of it
        let roots = [25.0, 30.0, 65.0, 70.0, 90.0, 100.0, 120.0, 150.0];
        let [with, without] = [&roots[..], &roots[..7]].map(|values| quartile(values, true));
        assert!((with - without).abs() < 15.0 && with > 30.0 && without < 65.0, "{with} {without}");
    }

    #[test]
    fn what_is_estimated_is_no_ground_of_estimates() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let vocabulary = &knowledge.vocabulary;
        let mut bare = knowledge.species.clone();
        for own in bare.iter_mut().flat_map(|one| &mut one.traits) {
            *own = own.take().filter(|own| own.estimated.is_none());
        }
        let estimates = |from: &[Species]| -> Vec<String> {
            let mut filled = bare.clone();
            Known::of(from, vocabulary).estimate_missing(&mut filled, vocabulary);
            let traits = filled.iter().flat_map(|one| one.traits.iter().flatten());
            traits.filter(|own| own.estimated.is_some()).map(|own| format!("{own:?}")).collect()
        };
        let estimated = estimates(&bare);
        assert!(estimated.len() > 50, "{}", estimated.len());
        assert_eq!(estimates(&knowledge.species), estimated);
    }
}
