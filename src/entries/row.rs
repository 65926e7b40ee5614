//! What one entry says, as the text of its cells.

use crate::document::{Node, NodeKind, Table};

/// Columns of the exchange, in the order in which they are written.
pub const COLUMNS: [&str; 8] = ["species", "trait", "value", "low", "high", "source", "at", "note"];

/// Those that belong to the entry itself.
pub const KEYS: [&str; 6] = ["value", "low", "high", "source", "at", "note"];

/// What stands between the names of a set in one cell.
pub const BETWEEN: char = ';';

/// A list without a name, which is a value: an empty cell would be none.
pub const EMPTY_LIST: &str = "[]";

/// The cells of one entry, in the order of [`KEYS`]; an empty cell is a key that is left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// The cells.
    pub cells: [String; KEYS.len()],
}

impl Row {
    /// The cells of an entry of a file; `text` is the file, out of which numbers are taken as written.
    pub fn of(entry: &Table, text: &str) -> Self {
        let cell = |key: &str| entry.get(key).map(|entry| written(&entry.node, text)).unwrap_or_default();
        Self { cells: KEYS.map(cell) }
    }

    /// The cell of a key.
    pub fn cell(&self, key: &str) -> &str {
        KEYS.iter().position(|own| *own == key).map_or("", |at| &self.cells[at])
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }

    /// Keys whose cells differ, each with the old and the new cell.
    pub fn differences<'a>(
        &'a self,
        new: &'a Self,
    ) -> impl Iterator<Item = (&'static str, &'a str, &'a str)> {
        let pairs = self.cells.iter().zip(&new.cells);
        let differ = KEYS.into_iter().zip(pairs).filter(|(_, (old, new))| !same(old, new));
        differ.map(|(key, (old, new))| (key, old.as_str(), new.as_str()))
    }
}

fn written(node: &Node, text: &str) -> String {
    let raw = || text.get(node.span.range()).unwrap_or_default();
    match &node.kind {
        NodeKind::Text(text) => text.to_string(),
        NodeKind::Integer(_) | NodeKind::Float(_) => raw().replace('_', ""),
        NodeKind::Flag(flag) => flag.to_string(),
        NodeKind::List(items) if items.is_empty() => EMPTY_LIST.to_owned(),
        NodeKind::List(items) => {
            let items: Vec<String> = items.iter().map(|item| written(item, text)).collect();
            items.join(&format!("{BETWEEN} "))
        }
        _ => raw().to_owned(),
    }
}

/// Whether two cells say the same: spreadsheets drop zeros behind the point, write flags in capitals
/// and break lines in their own way.
pub fn same(old: &str, new: &str) -> bool {
    let plain = |cell: &str| cell.trim().replace("\r\n", "\n");
    let (old, new) = (plain(old), plain(new));
    if old == new {
        return true;
    }
    let flag = |cell: &str| as_flag(cell);
    if flag(&old).is_some() && flag(&old) == flag(&new) {
        return true;
    }
    if let (Ok(old), Ok(new)) = (old.parse::<f64>(), new.parse::<f64>()) {
        return old == new;
    }
    let names = |cell: &str| cell.split(BETWEEN).map(|name| name.trim().to_owned()).collect::<Vec<_>>();
    old.contains(BETWEEN) && names(&old) == names(&new)
}

/// True or false in any case.
pub fn as_flag(cell: &str) -> Option<bool> {
    match cell.to_lowercase().as_str() {
        "true" => Some(true),
        "false" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::same;

    #[test]
    fn what_a_spreadsheet_rewrites_is_the_same() {
        for (old, new) in [("6.0", "6"), ("true", "TRUE"), ("a; b", "a;b"), ("x\ny", "x\r\ny"), ("a", " a ")]
        {
            assert!(same(old, new), "{old} and {new}");
        }
        for (old, new) in [("6.0", "6.1"), ("true", "FALSE"), ("a; b", "b; a"), ("a", ""), ("6b", "6")] {
            assert!(!same(old, new), "{old} and {new}");
        }
    }
}
