//! What to ask next: of all that is not known of a site, the fact whose answer would tell most about
//! which species comes first.
//!
//! Sites are drawn with every input that may still be asked for at a plausible value, or still unknown, for
//! "don't know" is an answer too (seeded); what no client need have, such as a cap on the season's water, is
//! left unsaid in half of the draws. The fact that shares most information with the first choice over
//! these draws is asked first (mutual information, Shannon 1948, less the bias of small samples, Miller
//! 1955). Where one species is first, or tied for it, in every draw, no answer can change that any more, as
//! far as the draws tell.

use std::collections::BTreeMap;

use crate::assess::robust::{Dice, Input, SEED, inputs, standings};
use crate::assess::{Assessment, Candidate};
use crate::engine::facts::Values;
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::{Declaration, Kind};
use crate::rank::{Class, Entry, Standing, place};
use crate::side_by_side::side_by_side;
use crate::site::SiteDays;
use crate::site::facts::Derivation;
use crate::site::file::LIGHT;

/// Candidates among which the first choice is sought in the draws.
const CONTENDERS: usize = 40;

/// The ways in which light is asked for, each where the client does not know the one before.
const SUN_HOURS: &str = "site.sun_hours";
const EXPOSURE: &str = "site.exposure";
const CANOPY_COVER: &str = "site.canopy_cover";

/// Of draws in which a fact might be stated that nobody need state, the share in which it is not.
const UNSAID: f64 = 0.5;

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
    /// The fewest species of which one was first, or tied for it, in each draw, with the share of the draws
    /// that each is named for, the most often named first; `nothing` where none was suited.
    pub first: Vec<(String, f64)>,
    /// The facts that may be asked for, the most telling first.
    pub worth: Vec<Worth>,
}

/// Draws sites and tells what is worth asking. Facts in `not_asked` are left as they are: a client who
/// does not know is not asked twice. So are those that nobody is asked for, which no answer can change.
pub fn outlook(assessment: &Assessment<'_>, samples: usize, not_asked: &[usize]) -> Outlook {
    let knowledge = assessment.knowledge;
    let days = assessment.weather.as_ref().map(SiteDays::new);
    let derivation = Derivation::new(&assessment.site, knowledge);
    let may_be_asked = |fact: usize| {
        let declared = &knowledge.vocabulary.site[fact];
        declared.key.is_some()
            && !declared.ask.is_empty()
            && assessment.facts.known[fact].is_none()
            && !not_asked.contains(&fact)
    };
    let supposed: Vec<Input> =
        inputs(assessment).into_iter().map(|input| as_answered(input, knowledge)).collect();
    let otherwise = light_otherwise(&supposed, not_asked, knowledge);
    // each with the share of the draws in which it is left unsaid at least
    let inputs: Vec<(Input, f64)> = supposed
        .into_iter()
        .chain(otherwise)
        .map(|input| (input, 0.0))
        .chain(unsupposed(assessment).into_iter().map(|input| (input, UNSAID)))
        .filter(|(input, _)| may_be_asked(input.fact))
        .collect();
    let hopeful = assessment.candidates.iter().filter(|one| one.standing.class_best != Class::N);
    let contenders: Vec<&Candidate<'_>> = hopeful.take(CONTENDERS).collect();
    let traits: Vec<Values> = contenders.iter().map(|one| one.species.trait_values()).collect();
    let numbers: Vec<u64> = (0..samples as u64).collect();
    let draws: Vec<(Vec<Option<Value>>, Vec<usize>)> = side_by_side(&numbers, |number| {
        let mut dice = Dice::new(SEED, *number);
        let unanswered = share_unanswered(*number, &mut dice);
        let values: Vec<Option<Value>> = inputs
            .iter()
            .map(|(input, unsaid)| {
                let value = input.draw(&mut dice);
                (dice.unit() >= unanswered.max(*unsaid)).then_some(value)
            })
            .collect();
        let answered = inputs.iter().zip(&values);
        let changed: Vec<(usize, Value)> =
            answered.filter_map(|((input, _), value)| Some((input.fact, value.clone()?))).collect();
        let standings = standings(assessment, &derivation, days.as_ref(), &changed, &contenders, &traits);
        (values, leaders(&standings, knowledge.needs.tie_within))
    });
    let (all_values, leading): (Vec<Vec<Option<Value>>>, Vec<Vec<usize>>) = draws.into_iter().unzip();
    let named = name_few(&leading, contenders.len());
    let total = named.len().max(1) as f64;
    let mut counts: BTreeMap<Option<usize>, usize> = BTreeMap::new();
    named.iter().for_each(|first| *counts.entry(*first).or_default() += 1);
    let mut first: Vec<(String, f64)> = counts
        .iter()
        .map(|(at, count)| {
            let name = at.map_or("nothing", |at| contenders[at].species.id.as_str());
            (name.to_owned(), *count as f64 / total)
        })
        .collect();
    first.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut worth: Vec<Worth> = inputs
        .iter()
        .enumerate()
        .map(|(at, (input, _))| {
            let pairs =
                all_values.iter().map(|values| format!("{:?}", values[at])).zip(named.iter().copied());
            Worth { fact: input.fact, bits: information(pairs) }
        })
        .collect();
    worth.sort_by(|a, b| b.bits.total_cmp(&a.bits).then(a.fact.cmp(&b.fact)));
    Outlook { first, worth }
}

/// Share of the questions left that a client of a draw cannot answer: of the first one all, as would be if
/// the site were taken as it stands; of every other one some; of the rest none.
fn share_unanswered(draw: u64, dice: &mut Dice) -> f64 {
    match draw {
        0 => 1.0,
        draw if draw % 2 == 1 => dice.unit(),
        _ => 0.0,
    }
}

/// The light in words, which is asked for where nobody knows the hours of sun; and what covers the sky, where
/// nobody has words for it either.
fn light_otherwise(inputs: &[Input], not_asked: &[usize], knowledge: &Knowledge) -> Option<Input> {
    let fact = |id: &str| knowledge.vocabulary.slot(id).map(|slot| slot.index);
    let asked_in_vain = |id: &str| fact(id).is_some_and(|fact| not_asked.contains(&fact));
    let hours = fact(SUN_HOURS)?;
    if !asked_in_vain(SUN_HOURS) || !inputs.iter().any(|input| input.fact == hours) {
        return None;
    }
    let way = fact(if asked_in_vain(EXPOSURE) { CANOPY_COVER } else { EXPOSURE })?;
    let declared = &knowledge.vocabulary.site[way];
    let values = match declared.kind {
        Kind::Scale(list) => knowledge.vocabulary.list(list).positions().map(Value::Step).collect(),
        _ => declared.lever.as_ref()?.run_through(declared, &knowledge.vocabulary),
    };
    (!values.is_empty()).then(|| Input::one_of(way, values))
}

/// An unknown fact as a client may answer it: beyond what is supposed of it while nobody answers, where the
/// vocabulary says so.
fn as_answered(input: Input, knowledge: &Knowledge) -> Input {
    let drawn = &knowledge.vocabulary.site[input.fact].drawn;
    if drawn.is_empty() { input } else { Input::one_of(input.fact, drawn.clone()) }
}

/// Facts of which nothing is supposed where they are not stated, since they need not be: the size of the area,
/// limits on water, mowing and feeding, what is settled on planting.
fn unsupposed(assessment: &Assessment<'_>) -> Vec<Input> {
    let vocabulary = &assessment.knowledge.vocabulary;
    let values = |declared: &Declaration| -> Vec<Value> {
        if !declared.drawn.is_empty() {
            return declared.drawn.clone();
        }
        match (&declared.lever, declared.kind) {
            (Some(lever), _) => lever.run_through(declared, vocabulary),
            (None, Kind::Choice(list)) => vocabulary.list(list).positions().map(Value::Choice).collect(),
            _ => Vec::new(),
        }
    };
    let input = |(fact, declared): (usize, &Declaration)| {
        let unsupposed = declared.plausible.is_empty() && !LIGHT.contains(&declared.id.as_str());
        let values = if unsupposed { values(declared) } else { Vec::new() };
        (!values.is_empty()).then(|| Input::one_of(fact, values))
    };
    vocabulary.site.iter().enumerate().filter_map(input).collect()
}

/// Who is first or tied for it; nobody where all are refused.
fn leaders(standings: &[Standing<usize>], tie_within: f64) -> Vec<usize> {
    let entries: Vec<Entry<usize>> = standings
        .iter()
        .enumerate()
        .map(|(id, one)| Entry { id, class: one.class, index: one.index })
        .collect();
    let places = place(&entries, tie_within).into_iter().take_while(|place| place.rank == 1);
    places.map(|place| place.id).filter(|id| standings[*id].class != Class::N).collect()
}

/// Names one leader for each draw, so that few are named in all: the one who leads most of the draws for
/// all of those, then the one who leads most of the others, and so on (of equals the one before).
fn name_few(leading: &[Vec<usize>], contenders: usize) -> Vec<Option<usize>> {
    let mut named = vec![None; leading.len()];
    loop {
        let mut counts = vec![0_usize; contenders];
        let open = leading.iter().zip(&named).filter(|(_, named)| named.is_none());
        open.flat_map(|(leaders, _)| leaders).for_each(|leader| counts[*leader] += 1);
        let most = (0..contenders).rev().max_by_key(|at| counts[*at]);
        let Some(most) = most.filter(|at| counts[*at] > 0) else { return named };
        for (named, leaders) in named.iter_mut().zip(leading) {
            if named.is_none() && leaders.contains(&most) {
                *named = Some(most);
            }
        }
    }
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
    use super::{CANOPY_COVER, EXPOSURE, SUN_HOURS, information, name_few, outlook};
    use crate::assess::assess;
    use crate::diag::Source;
    use crate::{Knowledge, KnowledgeText};

    /// Who does not know the hours of sun is asked for the light in words, and nobody is asked for both.
    #[test]
    fn light_is_asked_for_in_words_where_its_hours_are_not_known() {
        let (knowledge, _) = Knowledge::load(&KnowledgeText::embedded()).unwrap();
        let [hours, words] = [SUN_HOURS, EXPOSURE].map(|id| knowledge.vocabulary.slot(id).unwrap().index);
        let asked = |text: &str, not_asked: &[usize]| {
            let source = Source { path: "test".to_owned(), text: text.to_owned().into() };
            let (site, _) = assess(&source.into(), &knowledge).unwrap();
            let worth = outlook(&site, 4, not_asked).worth;
            [hours, words].map(|fact| worth.iter().any(|one| one.fact == fact))
        };
        let open = "schema = 1\npurpose = \"lawn\"\n";
        assert_eq!(asked(open, &[]), [true, false]);
        assert_eq!(asked(open, &[hours]), [false, true]);
        assert_eq!(asked(open, &[hours, words]), [false, false]);
        let cover = knowledge.vocabulary.slot(CANOPY_COVER).unwrap().index;
        let covered = |not_asked: &[usize]| {
            let source = Source { path: "test".to_owned(), text: open.into() };
            let (site, _) = assess(&source.into(), &knowledge).unwrap();
            outlook(&site, 4, not_asked).worth.iter().any(|one| one.fact == cover)
        };
        assert!(!covered(&[hours]) && covered(&[hours, words]) && !covered(&[hours, words, cover]));
        let said = format!("{open}[light]\nexposure = \"shade\"\n");
        assert_eq!(asked(&said, &[]), [false, false]);
        assert_eq!(asked(&said, &[hours]), [false, false]);
    }

    #[test]
    fn a_species_that_leads_or_ties_in_every_draw_is_named_alone() {
        let draws = [vec![2], vec![1, 2], vec![0, 1, 2]];
        assert_eq!(name_few(&draws, 3), [Some(2); 3]);
        // the first two each lead twice: the one before is named for both of its draws
        let draws = [vec![0], vec![0, 1], vec![1], vec![]];
        assert_eq!(name_few(&draws, 2), [Some(0), Some(0), Some(1), None]);
    }

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
