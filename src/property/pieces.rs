//! Neighbours that must not invade one another, said without a word on pairs: a kind that goes into what stands
//! beside it may stand at an area only where all that it would reach from there is planted with it too. So it
//! takes the whole of such a patch or none of it, and every other kind takes its areas one by one.
//!
//! A choice keeps its neighbours apart just where it is made of such pieces, each area covered once.

use super::model::{Model, ModelOption, Pair};

/// A kind at all areas of a patch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// The kind.
    pub kind: usize,
    /// The areas, in order, with the position of the kind's option at each.
    pub places: Vec<(usize, usize)>,
}

/// A patch: an area, areas without an edge between them, or all that hang together by pairs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Patch {
    /// The patch that it is a part of.
    pub within: Option<usize>,
    /// The pieces that cover just this patch.
    pub pieces: Vec<usize>,
}

/// The pieces of which the choices of a model are made.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pieces {
    /// All of them.
    pub all: Vec<Piece>,
    /// Patches, each behind its parts; the first are the areas, in order.
    pub patches: Vec<Patch>,
}

impl Pieces {
    /// The pieces of a model.
    pub fn of(model: &Model) -> Self {
        let open = Joined::of(model, |edged| !edged);
        let whole = Joined::of(model, |_| true);
        let areas = model.areas.len();
        let (first_open, first_whole) = (areas, areas + open.groups.len());
        let mut made = Self::default();
        let part_of = |within| Patch { within: Some(within), pieces: Vec::new() };
        made.patches.extend((0..areas).map(|area| part_of(first_open + open.group[area])));
        made.patches.extend(open.groups.iter().map(|own| part_of(first_whole + whole.group[own[0]])));
        made.patches.extend(whole.groups.iter().map(|_| Patch::default()));
        for (area, own) in model.areas.iter().enumerate() {
            for (at, option) in own.options.iter().enumerate() {
                let (patch, places) = if option.seeds {
                    let group = whole.group[area];
                    (first_whole + group, stands_at(model, option, &whole.groups[group]))
                } else if option.creeps {
                    let group = open.group[area];
                    (first_open + group, stands_at(model, option, &open.groups[group]))
                } else {
                    (area, Some(vec![(area, at)]))
                };
                // once, at the first area of the patch
                if let Some(places) = places.filter(|places| places[0].0 == area) {
                    made.patches[patch].pieces.push(made.all.len());
                    made.all.push(Piece { kind: option.kind, places });
                }
            }
        }
        made
    }

    /// So many areas in a line, such that each piece takes neighbours in it; those of a whole patch of which few
    /// pieces are first.
    pub fn in_line(&self, areas: usize) -> Vec<usize> {
        let within = |patch: usize| self.patches[patch].within.unwrap_or(patch);
        let whole = |patch: usize| within(within(patch));
        let mut count = vec![0; self.patches.len()];
        self.patches.iter().enumerate().for_each(|(at, patch)| count[whole(at)] += patch.pieces.len());
        let mut line: Vec<usize> = (0..areas).collect();
        line.sort_by_key(|area| (count[whole(*area)], whole(*area), within(*area), *area));
        line
    }
}

impl Piece {
    /// Whether it reaches over a pair into what may be planted otherwise.
    pub fn goes_over(&self, model: &Model, pair: Pair) -> bool {
        let at = |area: usize| self.places.iter().find(|(own, _)| *own == area);
        match (at(pair.a), at(pair.b)) {
            (Some((area, option)), None) | (None, Some((area, option))) => {
                model.areas[*area].options[*option].invades(pair.edged)
            }
            _ => false,
        }
    }
}

/// Where the kind of an option stands at these areas, if it may stand at each.
fn stands_at(model: &Model, option: &ModelOption, areas: &[usize]) -> Option<Vec<(usize, usize)>> {
    let at = |area: &usize| {
        let options = &model.areas[*area].options;
        options.iter().position(|one| one.kind == option.kind).map(|at| (*area, at))
    };
    areas.iter().map(at).collect()
}

/// Areas that hang together.
struct Joined {
    /// The group of each area.
    group: Vec<usize>,
    /// The areas of each group, in order.
    groups: Vec<Vec<usize>>,
}

impl Joined {
    fn of(model: &Model, joins: impl Fn(bool) -> bool) -> Self {
        let mut group: Vec<usize> = (0..model.areas.len()).collect();
        for pair in model.pairs.iter().filter(|pair| joins(pair.edged)) {
            let (one, other) = (group[pair.a], group[pair.b]);
            group.iter_mut().filter(|own| **own == other).for_each(|own| *own = one);
        }
        let mut names: Vec<usize> = group.clone();
        names.sort_unstable();
        names.dedup();
        let mut groups = vec![Vec::new(); names.len()];
        for (area, own) in group.iter_mut().enumerate() {
            *own = names.partition_point(|name| name < own);
            groups[*own].push(area);
        }
        Self { group, groups }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::property::model::ModelArea;

    fn option(kind: usize, creeps: bool, seeds: bool) -> ModelOption {
        ModelOption { kind, value: 50.0, takes: Vec::new(), creeps, seeds }
    }

    /// Three areas in a row, an edge between the last two: the creeping kind takes the first two together and
    /// the third alone, the seeding one all three or, where it cannot stand at one of them, none.
    #[test]
    fn a_kind_takes_all_that_it_reaches() {
        let area = |options| ModelArea { size: 1.0, zone: None, options };
        let every = || vec![option(0, false, false), option(1, true, false), option(2, false, true)];
        let pairs = vec![Pair { a: 0, b: 1, edged: false }, Pair { a: 1, b: 2, edged: true }];
        let mut model =
            Model { areas: vec![area(every()), area(every()), area(every())], pairs, ..Model::default() };
        let places = |model: &Model, kind| -> Vec<Vec<(usize, usize)>> {
            Pieces::of(model).all.into_iter().filter(|one| one.kind == kind).map(|one| one.places).collect()
        };
        assert_eq!(places(&model, 0), [[(0, 0)], [(1, 0)], [(2, 0)]]);
        assert_eq!(places(&model, 1), [vec![(0, 1), (1, 1)], vec![(2, 1)]]);
        assert_eq!(places(&model, 2), [[(0, 2), (1, 2), (2, 2)]]);
        model.areas[2].options.pop();
        assert!(places(&model, 2).is_empty());
    }
}
