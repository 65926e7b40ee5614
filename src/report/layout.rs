//! Width, wrapping, tables and emphasis.

use comfy_table::{ColumnConstraint, ContentArrangement, Table, presets};
use textwrap::WrapAlgorithm;

use crate::diag::printable;
use crate::units::{Unit, UnitSystem};

/// How a report looks.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Columns to fill at most.
    pub width: usize,
    /// Whether emphasis may be written with escape codes.
    pub coloured: bool,
    /// Units of figures.
    pub units: UnitSystem,
}

/// Narrower than this no text is set: a reader with less room scrolls.
const NARROWEST: usize = 40;

impl Look {
    /// Columns that are filled.
    pub fn columns(&self) -> usize {
        self.width.max(NARROWEST)
    }

    /// A heading, wrapped.
    pub fn heading(&self, text: &str) -> String {
        self.paragraph(0, text).lines().map(|line| self.strong(line) + "\n").collect()
    }

    /// A table without lines whose cells wrap within the width.
    pub fn wrapping_table(&self) -> Table {
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(u16::try_from(self.columns()).unwrap_or(u16::MAX));
        table
    }

    /// Strong text.
    pub fn strong(&self, text: &str) -> String {
        if self.coloured { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    /// Wraps a paragraph behind a label: the label stands in the first line, the others are
    /// indented as deep. Where that leaves too little room, the label stands in a line of its own.
    pub fn labelled(&self, indent: usize, label: &str, label_width: usize, text: &str) -> String {
        if (indent + label_width) * 5 > self.columns() * 3 {
            return self.paragraph(indent, label) + &self.paragraph(indent + 2, text);
        }
        let text = glued(text);
        let first = format!("{:indent$}{label:<label_width$} ", "");
        let rest = " ".repeat(indent + label_width + 1);
        let options = textwrap::Options::new(self.columns())
            .initial_indent(&first)
            .subsequent_indent(&rest)
            // ids keep their hyphens whole, so that they can be searched for
            .word_splitter(textwrap::WordSplitter::NoHyphenation)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .wrap_algorithm(WrapAlgorithm::FirstFit)
            .break_words(true);
        unglued(textwrap::fill(&text, options))
    }

    /// Wraps a paragraph with an indent.
    pub fn paragraph(&self, indent: usize, text: &str) -> String {
        let indent = " ".repeat(indent);
        let options = textwrap::Options::new(self.columns())
            .initial_indent(&indent)
            .subsequent_indent(&indent)
            .word_splitter(textwrap::WordSplitter::NoHyphenation)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .wrap_algorithm(WrapAlgorithm::FirstFit);
        unglued(textwrap::fill(&glued(text), options))
    }
}

/// Stands for a space at which no line may break.
const GLUE: char = '\u{a0}';

/// Joins numbers with the units behind them, so that no line breaks within a quantity.
fn glued(text: &str) -> String {
    // names of sites and places are somebody else's text
    let text = &*printable(text, &['\n']);
    let mut glued = String::with_capacity(text.len() + 16);
    let mut left = text;
    while let Some(space) = left.find(' ') {
        let (word, rest) = (&left[..space], &left[space + 1..]);
        glued.push_str(word);
        match word.ends_with(|last: char| last.is_ascii_digit()).then(|| unit_at(rest)).flatten() {
            Some(unit) => {
                glued.push(GLUE);
                glued.extend(unit.chars().map(|sign| if sign == ' ' { GLUE } else { sign }));
                left = &rest[unit.len()..];
            }
            None => {
                glued.push(' ');
                left = rest;
            }
        }
    }
    glued.push_str(left);
    glued
}

/// The longest symbol of a unit that a text begins with, as a word of its own.
fn unit_at(text: &str) -> Option<&'static str> {
    let ends = |symbol: &str| {
        text.strip_prefix(symbol).is_some_and(|rest| !rest.starts_with(|next: char| next.is_alphanumeric()))
    };
    let symbols = Unit::all().iter().map(|unit| unit.symbol);
    symbols.filter(|symbol| !symbol.is_empty() && ends(symbol)).max_by_key(|symbol| symbol.len())
}

/// The lines as they are printed.
fn unglued(mut wrapped: String) -> String {
    wrapped.push('\n');
    wrapped.replace(GLUE, " ")
}

/// Keeps the cells of a column whole, so that ids can be searched for.
pub fn keep_whole(table: &mut Table, column: usize) {
    if let Some(column) = table.column_mut(column) {
        column.set_constraint(ColumnConstraint::ContentWidth);
    }
}

/// The lines of a table.
pub fn table_text(table: &Table) -> String {
    table.lines().map(|line| line.trim_end().to_owned() + "\n").collect()
}

/// Words with a capital, as a line of their own begins.
pub fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// `a, b, c and 4 more`.
pub fn some_of<S: std::borrow::Borrow<str>>(names: &[S], most: usize) -> String {
    if names.len() <= most {
        return names.join(", ");
    }
    format!("{} and {} more", names[..most].join(", "), names.len() - most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_breaks_within_a_quantity() {
        let look = Look { width: 40, coloured: false, units: UnitSystem::Si };
        for lead in 0..40 {
            let text = format!("{} gets 18.5 mol/m2/d at -20.5 °C, 31 °C days.", "x".repeat(lead));
            for set in [look.paragraph(2, &text), look.labelled(2, "for", 4, &text)] {
                for quantity in ["18.5 mol/m2/d", "-20.5 °C", "31 °C days"] {
                    assert!(set.contains(quantity), "{set}");
                }
                assert!(!set.contains(GLUE) && set.lines().all(|line| line.chars().count() <= 40), "{set}");
            }
        }
    }

    #[test]
    fn words_of_any_letters_begin_with_a_capital() {
        let words = ["shade", "Shade", "élan of the turf", "ß", "1 m of soil", ""];
        let expected = ["Shade", "Shade", "Élan of the turf", "SS", "1 m of soil", ""];
        assert_eq!(words.map(capitalised), expected);
    }

    #[test]
    fn words_that_only_begin_like_a_unit_stay_apart() {
        assert_eq!(glued("8 inches, 3 more, 5 in a row"), format!("8 inches, 3 more, 5{GLUE}in a row"));
    }
}
