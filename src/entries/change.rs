//! Which entries of a trait changed, whatever the order of the rows.

use super::row::{KEYS, Row};

/// A change of one entry; positions are those in the list of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EntryChange {
    /// Cells of an entry changed.
    Changed {
        /// Its position.
        at: usize,
        /// As it stands.
        old: Row,
        /// As it is to stand.
        new: Row,
    },
    /// An entry is new.
    Added {
        /// What it says.
        new: Row,
    },
    /// An entry is gone.
    Removed {
        /// Its position.
        at: usize,
        /// What it says.
        old: Row,
    },
}

/// How much two entries have in common, the least first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Likeness {
    /// Every cell.
    whole: bool,
    /// Source and place.
    cited: bool,
    /// How many cells.
    cells: usize,
}

impl Likeness {
    fn of(old: &Row, new: &Row) -> Self {
        let differing: Vec<&str> = old.differences(new).map(|(key, ..)| key).collect();
        Self {
            whole: differing.is_empty(),
            cited: !differing.contains(&"source") && !differing.contains(&"at"),
            cells: KEYS.len() - differing.len(),
        }
    }
}

/// What turns the old entries of a trait into the new ones. A spreadsheet may have sorted the rows, so
/// order alone is no change: equal entries are paired first, then those of the same source and place,
/// then those that share most cells. What another publication says is another entry, unless nothing but its key
/// was mended.
pub fn changes(old: &[Row], new: &[Row]) -> Vec<EntryChange> {
    let mut free: Vec<usize> = (0..old.len()).collect();
    let mut partner: Vec<Option<usize>> = vec![None; new.len()];
    let mut pairs: Vec<(usize, usize, Likeness)> = Vec::new();
    for (to, row) in new.iter().enumerate() {
        let alike = old.iter().enumerate().filter(|(_, before)| is_one_entry(before, row));
        pairs.extend(alike.map(|(from, before)| (from, to, Likeness::of(before, row))));
    }
    // the most alike first; among equals those that kept their place
    pairs.sort_by_key(|(from, to, alike)| (std::cmp::Reverse(*alike), from.abs_diff(*to), *from));
    for (from, to, _) in pairs {
        if partner[to].is_none() && free.contains(&from) {
            partner[to] = Some(from);
            free.retain(|at| *at != from);
        }
    }
    let mut changes: Vec<EntryChange> = Vec::new();
    for (row, from) in new.iter().zip(&partner) {
        match from {
            Some(at) if old[*at].differences(row).next().is_some() => {
                changes.push(EntryChange::Changed { at: *at, old: old[*at].clone(), new: row.clone() });
            }
            Some(_) => {}
            None => changes.push(EntryChange::Added { new: row.clone() }),
        }
    }
    changes.extend(free.into_iter().map(|at| EntryChange::Removed { at, old: old[at].clone() }));
    changes
}

/// Whether a row may be what became of an entry.
fn is_one_entry(old: &Row, new: &Row) -> bool {
    let differing: Vec<&str> = old.differences(new).map(|(key, ..)| key).collect();
    !differing.contains(&"source") || differing.len() == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(value: &str, source: &str, at: &str) -> Row {
        let cells = [value, "", "", source, at, ""].map(str::to_owned);
        Row { cells }
    }

    #[test]
    fn order_alone_is_no_change() {
        let old = [row("1", "a", "p"), row("2", "b", "q"), row("1", "a", "p")];
        let new = [old[1].clone(), old[0].clone(), old[2].clone()];
        assert_eq!(changes(&old, &new), []);
    }

    #[test]
    fn an_entry_is_followed_by_its_source_and_place() {
        let old = [row("1", "a", "p"), row("2", "b", "q")];
        let new = [row("1", "b", "q"), row("1", "a", "p"), row("9", "c", "r")];
        let expected = [
            EntryChange::Changed { at: 1, old: old[1].clone(), new: new[0].clone() },
            EntryChange::Added { new: new[2].clone() },
        ];
        assert_eq!(changes(&old, &new), expected);
        let expected = [EntryChange::Removed { at: 0, old: old[0].clone() }];
        assert_eq!(changes(&old, &old[1..]), expected);
        // another publication in the place of one that was taken out
        let new = [row("3", "d", "s"), old[1].clone()];
        let expected =
            [EntryChange::Added { new: new[0].clone() }, EntryChange::Removed { at: 0, old: old[0].clone() }];
        assert_eq!(changes(&old, &new), expected);
        // a key that was mended
        let new = [row("1", "aa", "p"), old[1].clone()];
        let expected = [EntryChange::Changed { at: 0, old: old[0].clone(), new: new[0].clone() }];
        assert_eq!(changes(&old, &new), expected);
    }
}
