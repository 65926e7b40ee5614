//! The digest of a knowledge base: over its canonical content, so that comments, layout and the
//! order of keys do not change it.

use std::fmt::Write;

use sha2::{Digest, Sha256};

use crate::document::{Node, NodeKind, Table};

/// Hexadecimal SHA-256 over all files in the order of their paths.
pub fn digest<'a>(files: impl Iterator<Item = (&'a str, &'a Table)>) -> String {
    let mut hasher = Sha256::new();
    let mut text = String::new();
    for (path, table) in files {
        text.clear();
        let _ = writeln!(text, "{path}");
        write_table(&mut text, table);
        hasher.update(text.as_bytes());
    }
    hasher.finalize().iter().fold(String::new(), |mut hex, byte| {
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// The canonical text of a value.
pub fn canonical(node: &Node) -> String {
    let mut text = String::new();
    write_node(&mut text, node);
    text
}

fn write_table(text: &mut String, table: &Table) {
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(key, _)| *key);
    text.push('{');
    for (key, entry) in entries {
        let _ = write!(text, "{key:?}:");
        write_node(text, &entry.node);
        text.push(',');
    }
    text.push('}');
}

fn write_node(text: &mut String, node: &Node) {
    match &node.kind {
        NodeKind::Text(inner) => {
            let _ = write!(text, "{inner:?}");
        }
        // 3 and 3.0 say the same
        NodeKind::Integer(number) => {
            let _ = write!(text, "{}", *number as f64);
        }
        NodeKind::Float(number) => {
            let _ = write!(text, "{number}");
        }
        NodeKind::Flag(flag) => {
            let _ = write!(text, "{flag}");
        }
        NodeKind::Date => text.push_str("date"),
        NodeKind::Huge => text.push_str("huge"),
        NodeKind::List(items) => {
            text.push('[');
            for item in items {
                write_node(text, item);
                text.push(',');
            }
            text.push(']');
        }
        NodeKind::Table(table) => write_table(text, table),
    }
}
