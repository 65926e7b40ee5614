//! A reader over one table. It remembers the keys that it was asked for, and [`TableReader::finish`]
//! reports every other key with the nearest right name.

use std::ops::Range;
use std::sync::Arc;

use super::tree::{Entry, Node, NodeKind, Span, Table};
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};

/// Reads one table of a file.
pub struct TableReader<'a> {
    source: &'a Arc<Source>,
    table: &'a Table,
    span: Range<usize>,
    /// What the table is, for messages: "a rule", "a source".
    what: &'a str,
    asked: Vec<&'a str>,
}

impl<'a> TableReader<'a> {
    /// A reader over the top level of a file.
    pub fn of_file(source: &'a Arc<Source>, table: &'a Table, what: &'a str) -> Self {
        Self { source, table, span: 0..source.text.len().min(1), what, asked: Vec::new() }
    }

    /// A reader over an inner table.
    pub fn of_table(source: &'a Arc<Source>, node: &'a Node, table: &'a Table, what: &'a str) -> Self {
        Self { source, table, span: node.span.range(), what, asked: Vec::new() }
    }

    /// A place in this file.
    pub fn place(&self, span: Span) -> Place {
        Place { source: self.source.clone(), span: span.range() }
    }

    /// The place of the table itself.
    pub fn own_place(&self) -> Place {
        Place { source: self.source.clone(), span: self.span.clone() }
    }

    /// What the table is, with its id where it has one: "the rule `ph-range`", else "a rule".
    pub fn subject(&self) -> String {
        let id = self.table.get("id").and_then(|entry| entry.node.as_text());
        match (id, self.what.strip_prefix("a ")) {
            (Some(id), Some(what)) => format!("the {what} `{id}`"),
            _ => self.what.to_owned(),
        }
    }

    /// Whether the table holds nothing.
    pub fn is_empty(&self) -> bool {
        self.table.is_empty()
    }

    /// The file.
    pub fn source(&self) -> &'a Arc<Source> {
        self.source
    }

    /// The entry of a key, if it stands there.
    pub fn entry(&mut self, key: &'a str) -> Option<&'a Entry> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.table.get(key)
    }

    /// The first of these keys that stands there though nobody asks for it, with its place: it is asked for by
    /// this, so that it is told once.
    pub fn not_asked(&mut self, keys: &[&'a str]) -> Option<(&'a str, Place)> {
        let key = keys.iter().copied().find(|key| self.table.get(key).is_some())?;
        let span = self.entry(key)?.key_span;
        Some((key, self.place(span)))
    }

    /// The value of a key, if it stands there.
    pub fn node(&mut self, key: &'a str) -> Option<&'a Node> {
        self.entry(key).map(|entry| &entry.node)
    }

    /// The value of a key that must stand there.
    pub fn required(&mut self, key: &'a str, findings: &mut Findings) -> Option<&'a Node> {
        let node = self.node(key);
        if node.is_none() {
            findings.push(
                Finding::error("missing-key", &self.own_place(), format!("{} has no `{key}`", self.what))
                    .help(format!("add a line `{key} = …`")),
            );
        }
        node
    }

    /// Text under a key that must stand there; empty text counts as missing.
    pub fn required_text(&mut self, key: &'a str, findings: &mut Findings) -> Option<&'a str> {
        let node = self.required(key, findings)?;
        let text = self.expect_text(key, node, findings)?;
        if text.trim().is_empty() {
            let place = self.place(node.span);
            findings.push(Finding::error("empty-text", &place, format!("`{key}` is empty")));
            return None;
        }
        Some(text)
    }

    /// Text under a key, if it stands there.
    pub fn text(&mut self, key: &'a str, findings: &mut Findings) -> Option<&'a str> {
        let node = self.node(key)?;
        self.expect_text(key, node, findings)
    }

    /// True or false under a key, if it stands there.
    pub fn flag(&mut self, key: &'a str, findings: &mut Findings) -> Option<bool> {
        let node = self.node(key)?;
        match node.kind {
            NodeKind::Flag(flag) => Some(flag),
            _ => self.wrong_type(key, node, "true or false", findings),
        }
    }

    /// A finite number under a key, if it stands there.
    pub fn number(&mut self, key: &'a str, findings: &mut Findings) -> Option<f64> {
        let node = self.node(key)?;
        match (&node.kind, node.as_number()) {
            (NodeKind::Huge, _) => {
                findings.push(too_large(self.source, node, key));
                None
            }
            (_, Some(number)) if number.is_finite() => Some(number),
            (_, Some(_)) => {
                let message = format!("`{key}` must be a finite number");
                findings.push(Finding::error("not-a-number", &self.place(node.span), message));
                None
            }
            (_, None) => {
                let number = node.as_text().map(str::trim).filter(|text| text.parse::<f64>().is_ok());
                let help = number.map(|number| format!("write `{key} = {number}`, without quotes"));
                self.wrong_type_with(key, node, "a number", help, findings)
            }
        }
    }

    /// A list under a key, if it stands there.
    pub fn list(&mut self, key: &'a str, findings: &mut Findings) -> Option<&'a [Node]> {
        let node = self.node(key)?;
        match &node.kind {
            NodeKind::List(items) => Some(items),
            NodeKind::Text(_) | NodeKind::Integer(_) | NodeKind::Float(_) => {
                let written = self.source.text.get(node.span.range()).filter(|text| !text.contains('\n'));
                let help = written.map(|text| format!("put it in square brackets: `{key} = [{text}]`"));
                self.wrong_type_with(key, node, "a list", help, findings)
            }
            _ => self.wrong_type(key, node, "a list", findings),
        }
    }

    /// A list of texts under a key, if it stands there, each with its node.
    pub fn texts(&mut self, key: &'a str, findings: &mut Findings) -> Option<Vec<(&'a str, &'a Node)>> {
        let items = self.list(key, findings)?;
        let texts = items
            .iter()
            .filter_map(|item| match item.as_text() {
                Some(text) => Some((text, item)),
                None => self.wrong_type(key, item, "a list of texts", findings),
            })
            .collect();
        Some(texts)
    }

    /// What one of a few names under a key stands for, if it stands there.
    pub fn one_of<T: Copy>(
        &mut self,
        key: &'a str,
        names: &[(&str, T)],
        findings: &mut Findings,
    ) -> Option<T> {
        let node = self.node(key)?;
        let text = node.as_text().unwrap_or_default();
        let found = names.iter().find(|(name, _)| *name == text).map(|(_, value)| *value);
        if found.is_none() {
            let choices = join_names(names.iter().map(|(name, _)| *name));
            let help = match nearest(text, names.iter().map(|(name, _)| *name)) {
                Some(near) => format!("did you mean `{near}`? `{key}` is one of {choices}"),
                None => format!("`{key}` is one of {choices}"),
            };
            let message = format!("unknown `{key}`: `{text}`");
            findings.push(Finding::error("unknown-name", &self.place(node.span), message).help(help));
        }
        found
    }

    /// A table under a key, if it stands there.
    pub fn table(&mut self, key: &'a str, what: &'a str, findings: &mut Findings) -> Option<TableReader<'a>> {
        let node = self.node(key)?;
        match &node.kind {
            NodeKind::Table(table) => Some(Self::of_table(self.source, node, table, what)),
            _ => self.wrong_type(key, node, &format!("a table, as `[{key}]` begins one"), findings),
        }
    }

    /// A table of a few keys under a key, if it stands there. Whoever writes something else is shown
    /// such a table, in which that stands under the first of the keys.
    pub fn table_of(
        &mut self,
        key: &'a str,
        what: &'a str,
        keys: &[&str],
        findings: &mut Findings,
    ) -> Option<TableReader<'a>> {
        let node = self.node(key)?;
        match &node.kind {
            NodeKind::Table(table) => Some(Self::of_table(self.source, node, table, what)),
            _ => {
                let help = format!("write `{}`", self.such_a_table(keys, node));
                self.wrong_type_with(key, node, "a table", Some(help), findings)
            }
        }
    }

    /// The tables of a list of tables under a key; none if the key does not stand there.
    pub fn tables(&mut self, key: &'a str, what: &'a str, findings: &mut Findings) -> Vec<TableReader<'a>> {
        self.tables_of(key, what, &[], findings)
    }

    /// The same for tables of a few keys, of which the first is the one that counts.
    pub fn tables_of(
        &mut self,
        key: &'a str,
        what: &'a str,
        keys: &[&str],
        findings: &mut Findings,
    ) -> Vec<TableReader<'a>> {
        let Some(node) = self.node(key) else { return Vec::new() };
        let NodeKind::List(items) = &node.kind else {
            let written = self.source.text.get(node.span.range()).unwrap_or_default();
            let help = match &node.kind {
                NodeKind::Table(_) if written.starts_with('[') => {
                    Some(format!("write `[{written}]`: double brackets begin an item of a list"))
                }
                NodeKind::Table(_) if !written.contains('\n') => {
                    Some(format!("put square brackets about it: `[{written}]`"))
                }
                NodeKind::Text(_) if !keys.is_empty() => {
                    Some(format!("write `[{}]`", self.such_a_table(keys, node)))
                }
                _ => None,
            };
            self.wrong_type_with::<()>(key, node, "a list of tables", help, findings);
            return Vec::new();
        };
        items
            .iter()
            .filter_map(|item| match &item.kind {
                NodeKind::Table(table) => Some(Self::of_table(self.source, item, table, what)),
                NodeKind::Text(_) if !keys.is_empty() => {
                    let help = format!("write `{}`", self.such_a_table(keys, item));
                    self.wrong_type_with(key, item, "a list of tables", Some(help), findings)
                }
                _ => self.wrong_type(key, item, "a list of tables", findings),
            })
            .collect()
    }

    /// A table of these keys, the first with what was written bare in place of it.
    fn such_a_table(&self, keys: &[&str], bare: &Node) -> String {
        let written = self.source.text.get(bare.span.range()).filter(|_| bare.as_text().is_some());
        let first = written.filter(|text| !text.contains('\n')).unwrap_or("\"…\"");
        let values = std::iter::once(first).chain(std::iter::repeat("\"…\""));
        let pairs: Vec<String> =
            keys.iter().zip(values).map(|(key, value)| format!("{key} = {value}")).collect();
        format!("{{ {} }}", pairs.join(", "))
    }

    /// All entries, marked as asked for.
    pub fn all(&mut self) -> impl Iterator<Item = (&'a str, &'a Entry)> + use<'a> {
        let table = self.table;
        self.asked.extend(table.iter().map(|(key, _)| key));
        table.iter()
    }

    /// Reports every key that nobody asked for.
    pub fn finish(self, findings: &mut Findings) {
        for (key, entry) in self.table.iter() {
            if !self.asked.contains(&key) {
                let help = match nearest(key, self.asked.iter().copied()) {
                    Some(name) => format!("did you mean `{name}`?"),
                    None => format!("{} takes {}", self.what, join_names(self.asked.iter().copied())),
                };
                let message = format!("unknown key `{key}` in {}", self.what);
                findings.push(Finding::error("unknown-key", &self.place(entry.key_span), message).help(help));
            }
        }
    }

    /// Reports a value of the wrong type.
    pub fn wrong_type<T>(&self, key: &str, node: &Node, wanted: &str, findings: &mut Findings) -> Option<T> {
        self.wrong_type_with(key, node, wanted, None, findings)
    }

    /// The same with what would mend it, where that is known.
    fn wrong_type_with<T>(
        &self,
        key: &str,
        node: &Node,
        wanted: &str,
        help: Option<String>,
        findings: &mut Findings,
    ) -> Option<T> {
        let message = format!("`{key}` must be {wanted}, not {}", node.type_name());
        findings.push(Finding::error("wrong-type", &self.place(node.span), message).maybe_help(help));
        None
    }

    fn expect_text(&self, key: &str, node: &'a Node, findings: &mut Findings) -> Option<&'a str> {
        let written = || self.source.text.get(node.span.range()).unwrap_or_default();
        match node.kind {
            NodeKind::Text(_) => node.as_text(),
            NodeKind::Integer(_) | NodeKind::Float(_) | NodeKind::Flag(_) | NodeKind::Date => {
                let help = format!("text stands in quotes: `{key} = \"{}\"`", written());
                self.wrong_type_with(key, node, "text", Some(help), findings)
            }
            _ => self.wrong_type(key, node, "text", findings),
        }
    }
}

/// The finding for a number that is too large to hold, with its digits as they are written.
pub fn too_large(source: &Arc<Source>, node: &Node, key: &str) -> Finding {
    const MOST_DIGITS: usize = 40;
    let place = Place { source: source.clone(), span: node.span.range() };
    let written = source.text.get(node.span.range()).unwrap_or_default();
    let digits = written.chars().count();
    let shown = if digits > MOST_DIGITS {
        format!("{}… ({digits} characters)", written.chars().take(MOST_DIGITS).collect::<String>())
    } else {
        written.to_owned()
    };
    Finding::error("out-of-range", &place, format!("`{key}` is {shown}, which is out of range"))
}
