//! What to ask next: of all that is not known of a site, the fact whose answer would tell most about
//! which species comes first.
//!
//! Sites are drawn with every unknown input at a plausible value (seeded); the fact that shares most
//! information with the first choice over these draws is asked first (mutual information, Shannon 1948,
//! less the bias of small samples, Miller 1955). Where every draw gives the same first choice, no answer
//! can change it any more, as far as the draws tell.

use std::collections::BTreeMap;

use crate::assess::robust::{Dice, Input, SEED, inputs, standings};
use crate::assess::{Assessment, Candidate, side_by_side};
use crate::engine::facts::Values;
use crate::engine::value::Value;
use crate::rank::{Class, Entry, place};
use crate::site::SiteDays;
use crate::site::facts::Derivation;

/// Candidates among which the first choice is sought in the draws.
const CONTENDERS: usize = 40;

/// A fact worth asking for.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// Position of the fact.
    pub fact: usize,
    /// What its answer tells of the first choice, bits.
    pub bits: f64,
}

/// What the draws tell.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// How often each species came first, the most often first; `nothing` where none was suited.
    pub first: Vec<(String, f64)>,
    /// The facts that may be asked for, the most telling first.
    pub worth: Vec<Worth>,
}

/// Draws sites and tells what is worth asking. Facts in `not_asked` are left as they are: a client who
/// does not know is not asked twice.
pub fn outlook(assessment: &Assessment<'_>, samples: usize, not_asked: &[usize]) -> Outlook {
    let knowledge = assessment.knowledge;
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let derivation = Derivation::new(&assessment.site, knowledge);
    // what the client does not know stays unknown, and is judged as such
    let mut inputs: Vec<Input> = inputs(assessment);
    inputs.retain(|input| !not_asked.contains(&input.fact));
    let hopeful = assessment.candidates.iter().filter(|one| one.standing.class_best != Class::N);
    let contenders: Vec<&Candidate<'_>> = hopeful.take(CONTENDERS).collect();
    let traits: Vec<Values> = contenders.iter().map(|one| one.species.trait_values()).collect();
    let numbers: Vec<u64> = (0..samples as u64).collect();
    let draws: Vec<(Vec<Value>, Option<usize>)> = side_by_side(&numbers, |number| {
        let mut dice = Dice::new(SEED, *number);
        let values: Vec<Value> = inputs.iter().map(|input| input.draw(&mut dice)).collect();
        let changed: Vec<(usize, Value)> =
            inputs.iter().map(|input| input.fact).zip(values.iter().cloned()).collect();
        let standings = standings(assessment, &derivation, days.as_ref(), &changed, &contenders, &traits);
        let entries: Vec<Entry<usize>> = standings
            .iter()
            .enumerate()
            .map(|(id, one)| Entry { id, class: one.class, index: one.index })
            .collect();
        let first = place(&entries, 0.0).first().map(|first| first.id);
        (values, first.filter(|first| standings[*first].class != Class::N))
    });
    let mut counts: BTreeMap<Option<usize>, usize> = BTreeMap::new();
    draws.iter().for_each(|(_, first)| *counts.entry(*first).or_default() += 1);
    let total = draws.len().max(1) as f64;
    let mut first: Vec<(String, f64)> = counts
        .iter()
        .map(|(at, count)| {
            let name = at.map_or("nothing", |at| contenders[at].species.id.as_str());
            (name.to_owned(), *count as f64 / total)
        })
        .collect();
    first.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let asked = |fact: usize| {
        let declared = &knowledge.vocabulary.site[fact];
        declared.key.is_some() && !declared.ask.is_empty()
    };
    let mut worth: Vec<Worth> = inputs
        .iter()
        .enumerate()
        .filter(|(_, input)| asked(input.fact) && assessment.facts.known[input.fact].is_none())
        .map(|(at, input)| {
            let pairs = draws.iter().map(|(values, first)| (format!("{:?}", values[at]), *first));
            Worth { fact: input.fact, bits: information(pairs) }
        })
        .collect();
    worth.sort_by(|a, b| b.bits.total_cmp(&a.bits).then(a.fact.cmp(&b.fact)));
    Outlook { first, worth }
}

/// Mutual information of two names over draws, in bits, less the bias of a small sample.
fn information(pairs: impl Iterator<Item = (String, Option<usize>)>) -> f64 {
    let mut joint: BTreeMap<(String, Option<usize>), f64> = BTreeMap::new();
    let (mut left, mut right) = (BTreeMap::<String, f64>::new(), BTreeMap::<Option<usize>, f64>::new());
    let mut total = 0.0;
    for (value, first) in pairs {
        *left.entry(value.clone()).or_default() += 1.0;
        *right.entry(first).or_default() += 1.0;
        *joint.entry((value, first)).or_default() += 1.0;
        total += 1.0;
    }
    if total == 0.0 {
        return 0.0;
    }
    let bits: f64 = joint
        .iter()
        .map(|((value, first), count)| count / total * (count * total / (left[value] * right[first])).log2())
        .sum();
    let bias = (left.len() - 1) as f64 * (right.len() - 1) as f64 / (2.0 * total * std::f64::consts::LN_2);
    (bits - bias).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::information;

    #[test]
    fn a_fact_that_decides_tells_one_bit_and_one_that_does_not_none() {
        let draws = |decides: bool| {
            (0..200usize)
                .map(move |at| (format!("{}", at % 2), Some(if decides { at % 2 } else { at / 2 % 2 })))
        };
        assert!((information(draws(true)) - 1.0).abs() < 0.01);
        assert_eq!(information(draws(false)), 0.0);
        assert_eq!(information(std::iter::empty()), 0.0);
    }
}
