//! Options that can be left out without losing the best choice, so that the solver has less to do.
//!
//! Both proofs change one choice into another that is worth as much or more, takes no more of anything and
//! keeps every limit that the first kept. So the best value stays, and so does the least of a resource at
//! a value; which choice comes second need not.

use super::model::{Model, ModelOption};
use super::part::Part;

/// Leaves out what can be spared.
pub fn reduced(model: &Model) -> Part {
    let spared = spared_kinds(model);
    let left = |options: &[ModelOption]| -> Vec<usize> {
        let stays = |at: &usize| !spared.contains(&options[*at].kind);
        let left: Vec<usize> = (0..options.len()).filter(stays).collect();
        if model.kinds.is_some() {
            return left;
        }
        // one after the other: what the first step left out may not stand for another in the second
        left.iter().copied().filter(|at| !outdone(options, &left, *at)).collect()
    };
    Part::of(model, model.areas.iter().map(|area| left(&area.options)).collect())
}

/// The options of each area that no option of a kind that is counted already can stand for: planting that in its
/// place adds no kind.
pub fn left_by(model: &Model, given: &[usize]) -> Vec<Vec<usize>> {
    let of = |options: &[ModelOption]| -> Vec<usize> {
        let is_given = |at: &usize| model.kinds.is_none() || given.contains(&options[*at].kind);
        let given: Vec<usize> = (0..options.len()).filter(is_given).collect();
        (0..options.len()).filter(|at| !outdone(options, &given, *at)).collect()
    };
    model.areas.iter().map(|area| of(&area.options)).collect()
}

/// Kinds that another kind outdoes wherever they may stand: planting the other in their place everywhere adds
/// no kind, and it invades nothing that they would not.
fn spared_kinds(model: &Model) -> Vec<usize> {
    let mut kinds: Vec<usize> =
        model.areas.iter().flat_map(|area| area.options.iter().map(|option| option.kind)).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let of = |options: &[ModelOption], kind: usize| options.iter().position(|one| one.kind == kind);
    let outdoes = |better: usize, worse: usize| {
        // of two that are alike everywhere the first stays
        let mut alike = true;
        let everywhere =
            model.areas.iter().all(|area| match (of(&area.options, better), of(&area.options, worse)) {
                (Some(better), Some(worse)) => {
                    let (better, worse) = (&area.options[better], &area.options[worse]);
                    alike &= covers(worse, better);
                    covers(better, worse)
                }
                (Some(_), None) => {
                    alike = false;
                    true
                }
                (None, Some(_)) => false,
                (None, None) => true,
            });
        everywhere && (!alike || better < worse)
    };
    let is_outdone = |worse: &usize| kinds.iter().any(|better| better != worse && outdoes(*better, *worse));
    kinds.iter().copied().filter(is_outdone).collect()
}

/// Whether another of the options left at an area can stand for this one where kinds are not counted: neither
/// invades a neighbour, so a neighbour that suffers the one suffers the other.
fn outdone(options: &[ModelOption], left: &[usize], at: usize) -> bool {
    let own = &options[at];
    let keeps_to_itself = |one: &ModelOption| !one.creeps && !one.seeds;
    keeps_to_itself(own)
        && left.iter().filter(|other| **other != at).any(|other| {
            let one = &options[*other];
            keeps_to_itself(one) && covers(one, own) && (!covers(own, one) || *other < at)
        })
}

/// Whether one is worth as much, takes no more and invades no more than another.
fn covers(one: &ModelOption, other: &ModelOption) -> bool {
    one.value >= other.value
        && one.takes.iter().zip(&other.takes).all(|(own, its)| own <= its)
        && one.creeps <= other.creeps
        && one.seeds <= other.seeds
}
