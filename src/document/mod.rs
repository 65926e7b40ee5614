//! TOML text as a tree in which every key and value keeps its place, and a reader that walks a
//! table and reports whatever it did not expect. One fault never hides the next.

mod convert;
mod parse;
mod reader;
mod statement;
mod syntax;
mod syntax_slip;
mod tree;

pub use parse::parse;
pub use reader::{TableReader, too_large};
pub use tree::{Entry, Node, NodeKind, Span, Table, Words, words};
