//! The tree: nodes with spans.

use std::ops::Range;

use indexmap::IndexMap;

/// A value with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Byte range of the value.
    pub span: Range<usize>,
    /// What it is.
    pub kind: NodeKind,
}

/// What a value is.
#[derive(Clone, Debug, PartialEq)]
pub enum NodeKind {
    /// A string.
    Text(String),
    /// A number without a point.
    Integer(i64),
    /// A number with a point.
    Float(f64),
    /// True or false.
    Flag(bool),
    /// A date or time, which no file of ours uses.
    Date,
    /// A list.
    List(Vec<Node>),
    /// A table.
    Table(Table),
}

/// A table: entries in the order of the text.
pub type Table = IndexMap<String, Entry>;

/// A key with its place, and its value.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Byte range of the key.
    pub key_span: Range<usize>,
    /// The value.
    pub node: Node,
}

impl Node {
    /// What the value is, in words for a message.
    pub fn type_name(&self) -> &'static str {
        match self.kind {
            NodeKind::Text(_) => "text",
            NodeKind::Integer(_) | NodeKind::Float(_) => "a number",
            NodeKind::Flag(_) => "true or false",
            NodeKind::Date => "a date",
            NodeKind::List(_) => "a list",
            NodeKind::Table(_) => "a table",
        }
    }

    /// The number, whether written with a point or without.
    pub fn as_number(&self) -> Option<f64> {
        match self.kind {
            NodeKind::Integer(number) => Some(number as f64),
            NodeKind::Float(number) => Some(number),
            _ => None,
        }
    }

    /// The text.
    pub fn as_text(&self) -> Option<&str> {
        match &self.kind {
            NodeKind::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The table.
    pub fn as_table(&self) -> Option<&Table> {
        match &self.kind {
            NodeKind::Table(table) => Some(table),
            _ => None,
        }
    }
}
