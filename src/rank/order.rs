//! Putting candidates in order, with ties printed as ties.

use std::cmp::Ordering;

use super::class::Class;

/// How far behind the leader of its group, in index points, a candidate still shares its rank.
///
/// A convention where the spread of traits and site is not sampled, no source: two points are a little
/// less than what a tenth of a level is worth in class S2 (2.5 points of rating).
pub const TIE_WITHIN: f64 = 2.0;

/// Slack for rounding, so that a distance of exactly the tolerance is a tie on every machine.
const SLACK: f64 = 1e-9;

/// What the order needs to know of a candidate.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<I> {
    /// Which candidate; ids are unique.
    pub id: I,
    /// Its class. N comes last.
    pub class: Class,
    /// Its corrected index, 0 to 100.
    pub index: f64,
}

/// The place of a candidate.
#[derive(Debug, Clone, PartialEq)]
pub struct Place<I> {
    /// Which candidate.
    pub id: I,
    /// 1 for the leader and all that tie with it; the next group starts at 1 plus the number of
    /// candidates before it (1, 1, 3).
    pub rank: usize,
    /// The other candidates of the same rank, in the order in which they are listed.
    pub tied_with: Vec<I>,
}

/// Puts candidates in order: by corrected index from high to low, N last, equal ones by id.
///
/// Candidates whose index is at most `tie_within` below that of the first of their group (the
/// leader) share its rank, across a class border too; being tied to the leader and not to the
/// neighbour keeps a long chain of small steps from becoming one tie. A refused candidate (N) never
/// ties with one that is not. A tolerance that is negative or NaN counts as 0.
///
/// The result does not depend on the order of `entries`. An index that is NaN comes last.
#[must_use]
pub fn place<I: Ord + Clone>(entries: &[Entry<I>], tie_within: f64) -> Vec<Place<I>> {
    place_by(entries, &|leader, entry| within(leader, entry, tie_within))
}

/// Whether the index of an entry lies at most so far below that of the leader of its group.
#[must_use]
pub fn within<I>(leader: &Entry<I>, entry: &Entry<I>, tie_within: f64) -> bool {
    // `max` returns the other operand for NaN.
    let tolerance = tie_within.max(0.0) + SLACK;
    sortable(leader.index) - sortable(entry.index) <= tolerance
        || entry.index.total_cmp(&leader.index) == Ordering::Equal
}

/// The same order with ties by another rule, which is asked of the leader of a group and of each entry
/// after it; a group ends with the first that does not tie, so that ties never contradict the order.
#[must_use]
pub fn place_by<I: Ord + Clone>(
    entries: &[Entry<I>],
    ties: &dyn Fn(&Entry<I>, &Entry<I>) -> bool,
) -> Vec<Place<I>> {
    let mut sorted: Vec<&Entry<I>> = entries.iter().collect();
    sorted.sort_by(|one, other| compare(one, other));

    let mut places = Vec::with_capacity(sorted.len());
    let mut rest = sorted.as_slice();
    while let Some(leader) = rest.first() {
        let size = rest
            .iter()
            .take_while(|entry| entry.class.is_refused() == leader.class.is_refused() && ties(leader, entry))
            .count()
            .max(1);
        let (group, after) = rest.split_at(size);
        let rank = places.len() + 1;
        for (at, entry) in group.iter().enumerate() {
            places.push(Place {
                id: entry.id.clone(),
                rank,
                tied_with: group
                    .iter()
                    .enumerate()
                    .filter(|(other, _)| *other != at)
                    .map(|(_, other)| other.id.clone())
                    .collect(),
            });
        }
        rest = after;
    }
    places
}

fn compare<I: Ord>(one: &Entry<I>, other: &Entry<I>) -> Ordering {
    one.class
        .is_refused()
        .cmp(&other.class.is_refused())
        .then_with(|| sortable(other.index).total_cmp(&sortable(one.index)))
        .then_with(|| one.id.cmp(&other.id))
}

/// Total order would put NaN above every number; an index that is not a number must not lead.
fn sortable(index: f64) -> f64 {
    if index.is_nan() { f64::NEG_INFINITY } else { index }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(id: &'static str, class: Class, index: f64) -> Entry<&'static str> {
        Entry { id, class, index }
    }

    fn ranks(places: &[Place<&'static str>]) -> Vec<(&'static str, usize)> {
        places.iter().map(|place| (place.id, place.rank)).collect()
    }

    #[test]
    fn shared_ranks_skip() {
        let places = place(
            &[entry("c", Class::S2, 71.0), entry("a", Class::S1, 86.0), entry("b", Class::S1, 88.0)],
            TIE_WITHIN,
        );
        assert_eq!(ranks(&places), [("b", 1), ("a", 1), ("c", 3)]);
        assert_eq!(places[0].tied_with, ["a"]);
        assert_eq!(places[1].tied_with, ["b"]);
        assert!(places[2].tied_with.is_empty());
    }

    #[test]
    fn ties_are_counted_from_the_leader() {
        let chain = [
            entry("a", Class::S1, 90.0),
            entry("b", Class::S1, 88.5),
            entry("c", Class::S1, 87.0),
            entry("d", Class::S1, 85.5),
        ];
        assert_eq!(ranks(&place(&chain, 2.0)), [("a", 1), ("b", 1), ("c", 3), ("d", 3)]);
        assert_eq!(ranks(&place(&chain, 0.0)), [("a", 1), ("b", 2), ("c", 3), ("d", 4)]);
        assert_eq!(place(&chain, f64::NAN), place(&chain, 0.0));
    }

    #[test]
    fn a_tie_crosses_a_class_border_but_not_into_n() {
        let places = place(
            &[
                entry("n", Class::N, 39.9),
                entry("s3", Class::S3, 40.1),
                entry("s2", Class::S2, 84.5),
                entry("s1", Class::S1, 85.5),
            ],
            TIE_WITHIN,
        );
        assert_eq!(ranks(&places), [("s1", 1), ("s2", 1), ("s3", 3), ("n", 4)]);
    }

    #[test]
    fn equal_indices_go_by_id_and_nan_goes_last() {
        let places = place(
            &[entry("x", Class::S1, f64::NAN), entry("b", Class::S1, 90.0), entry("a", Class::S1, 90.0)],
            0.0,
        );
        assert_eq!(ranks(&places), [("a", 1), ("b", 1), ("x", 3)]);
        assert!(place::<&str>(&[], TIE_WITHIN).is_empty());
    }
}
