//! The tree: nodes with spans. The build script puts the trees of the built-in knowledge into the program in
//! their stored form, whose texts need no copy.

use std::borrow::Cow;
use std::ops::Range;

use serde::{Deserialize, Deserializer, Serialize};

/// Text of a file that was read, or of one inside the program, which needs no copy.
pub type Words = Cow<'static, str>;

/// Decodes text without a copy, which serde does by itself only for shorter lives than `'static`.
pub fn words<'de: 'static, D: Deserializer<'de>>(decoder: D) -> Result<Words, D::Error> {
    <&'de str>::deserialize(decoder).map(Cow::Borrowed)
}

/// A stretch of a file, in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Span {
    start: u32,
    end: u32,
}

impl Span {
    /// A span from a byte range; files are far smaller than 4 GB.
    pub fn new(range: &Range<usize>) -> Self {
        let narrow = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { start: narrow(range.start), end: narrow(range.end) }
    }

    /// The byte range.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A value with its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Node {
    /// Where the value stands.
    pub span: Span,
    /// What it is.
    pub kind: NodeKind,
}

/// What a value is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub enum NodeKind {
    /// A string.
    Text(#[serde(deserialize_with = "words")] Words),
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
    /// A number too large to hold; its digits stand in the text.
    Huge,
}

/// A key with its place, and its value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Entry {
    /// The key.
    #[serde(deserialize_with = "words")]
    pub key: Words,
    /// Where the key stands.
    pub key_span: Span,
    /// The value.
    pub node: Node,
}

/// A table: entries in the order of the text. Tables are small, so a key is found by looking.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Table {
    /// The entries.
    pub entries: Vec<Entry>,
}

impl Table {
    /// The entry of a key.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.key == key)
    }

    /// Keys and entries in the order of the text.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Entry)> {
        self.entries.iter().map(|entry| (&*entry.key, entry))
    }

    /// Whether it holds nothing.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }
}

impl Node {
    /// What the value is, in words for a message.
    pub fn type_name(&self) -> &'static str {
        match self.kind {
            NodeKind::Text(_) => "text",
            NodeKind::Integer(_) | NodeKind::Float(_) => "a number",
            NodeKind::Huge => "a number too large to hold",
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
