//! Width, wrapping, tables and emphasis.

use comfy_table::{ContentArrangement, Table, presets};
use textwrap::WrapAlgorithm;
use textwrap::wrap_algorithms::Penalties;

use crate::units::UnitSystem;

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
        let first = format!("{:indent$}{label:<label_width$} ", "");
        let rest = " ".repeat(indent + label_width + 1);
        let options = textwrap::Options::new(self.columns())
            .initial_indent(&first)
            .subsequent_indent(&rest)
            // ids keep their hyphens whole, so that they can be searched for
            .word_splitter(textwrap::WordSplitter::NoHyphenation)
            .wrap_algorithm(within_the_width())
            .break_words(true);
        let mut wrapped = textwrap::fill(text, options);
        wrapped.push('\n');
        wrapped
    }

    /// Wraps a paragraph with an indent.
    pub fn paragraph(&self, indent: usize, text: &str) -> String {
        let indent = " ".repeat(indent);
        let options = textwrap::Options::new(self.columns())
            .initial_indent(&indent)
            .subsequent_indent(&indent)
            .word_splitter(textwrap::WordSplitter::NoHyphenation)
            .wrap_algorithm(within_the_width());
        let mut wrapped = textwrap::fill(text, options);
        wrapped.push('\n');
        wrapped
    }
}

/// Even lines, none of them too long: left to itself the algorithm may run over by a character or two
/// where the line would otherwise be short.
fn within_the_width() -> WrapAlgorithm {
    let overflow_penalty = 1_000_000;
    WrapAlgorithm::OptimalFit(Penalties { overflow_penalty, ..Penalties::new() })
}

/// The lines of a table.
pub fn table_text(table: &Table) -> String {
    table.lines().map(|line| line.trim_end().to_owned() + "\n").collect()
}

/// `a, b, c and 4 more`.
pub fn some_of(names: &[&str], most: usize) -> String {
    if names.len() <= most {
        return names.join(", ");
    }
    format!("{} and {} more", names[..most].join(", "), names.len() - most)
}
