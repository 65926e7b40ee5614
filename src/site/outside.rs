//! Tables of published figures that lie outside the repository, for tests that hold a method against them.

use std::path::Path;

use super::solar::Monthly;

/// A table with a header and twelve rows a place.
pub(super) struct Outside {
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// The cells of a line, quotation marks taken off.
fn cells(line: &str) -> Vec<String> {
    let mut quoted = false;
    let mut cells = vec![String::new()];
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            other => cells.last_mut().unwrap().push(other),
        }
    }
    cells
}

impl Outside {
    /// The table by its path from the folder that `SWARDWRIGHT_CLIMATE_DIR` names; without it the skip of
    /// `what` is printed.
    pub(super) fn read(path: &str, what: &str) -> Option<Self> {
        let folder = std::env::var_os("SWARDWRIGHT_CLIMATE_DIR");
        let text = folder.and_then(|folder| std::fs::read_to_string(Path::new(&folder).join(path)).ok());
        if text.is_none() {
            println!("NOT READ: {what} (SWARDWRIGHT_CLIMATE_DIR is not set, or leads to no {path})");
        }
        let text = text?;
        let mut lines = text.lines().map(cells);
        Some(Self { names: lines.next()?, rows: lines.collect() })
    }

    /// The rows of each place.
    pub(super) fn places(&self) -> impl Iterator<Item = Place<'_>> {
        self.rows.chunks(12).map(|rows| Place { names: &self.names, rows })
    }

    /// Every row by itself.
    pub(super) fn rows(&self) -> impl Iterator<Item = Place<'_>> {
        self.rows.chunks(1).map(|rows| Place { names: &self.names, rows })
    }
}

/// The rows of one place.
pub(super) struct Place<'a> {
    names: &'a [String],
    rows: &'a [Vec<String>],
}

impl Place<'_> {
    fn at(&self, name: &str) -> usize {
        self.names.iter().position(|own| own == name).unwrap()
    }

    /// The text of a column in the first row.
    pub(super) fn text(&self, name: &str) -> &str {
        &self.rows[0][self.at(name)]
    }

    /// The number of a column in the first row; 0 where it is empty.
    pub(super) fn number(&self, name: &str) -> f64 {
        self.text(name).parse().unwrap_or(0.0)
    }

    /// The twelve numbers of a column, where all are there.
    pub(super) fn months(&self, name: &str) -> Option<Monthly> {
        let at = self.at(name);
        let values: Option<Vec<f64>> = self.rows.iter().map(|row| row[at].parse().ok()).collect();
        values?.try_into().ok()
    }
}
