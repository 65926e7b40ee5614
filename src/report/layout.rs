//! Width, wrapping and emphasis.

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

impl Look {
    /// Strong text.
    pub fn strong(&self, text: &str) -> String {
        if self.coloured { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    /// Wraps a paragraph behind a label: the label stands in the first line, the others are
    /// indented as deep.
    pub fn labelled(&self, indent: usize, label: &str, label_width: usize, text: &str) -> String {
        let first = format!("{:indent$}{label:<label_width$} ", "");
        let rest = " ".repeat(indent + label_width + 1);
        let options = textwrap::Options::new(self.width.max(40))
            .initial_indent(&first)
            .subsequent_indent(&rest)
            // ids keep their hyphens whole, so that they can be searched for
            .word_splitter(textwrap::WordSplitter::NoHyphenation)
            .break_words(true);
        let mut wrapped = textwrap::fill(text, options);
        wrapped.push('\n');
        wrapped
    }

    /// Wraps a paragraph with an indent.
    pub fn paragraph(&self, indent: usize, text: &str) -> String {
        let indent = " ".repeat(indent);
        let options = textwrap::Options::new(self.width.max(40))
            .initial_indent(&indent)
            .subsequent_indent(&indent)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        let mut wrapped = textwrap::fill(text, options);
        wrapped.push('\n');
        wrapped
    }
}

/// `a, b, c and 4 more`.
pub fn some_of(names: &[&str], most: usize) -> String {
    if names.len() <= most {
        return names.join(", ");
    }
    format!("{} and {} more", names[..most].join(", "), names.len() - most)
}
