//! Changed entries into the text of a species file; whatever did not change keeps its layout and its
//! comments.

use std::sync::Arc;

use toml_edit::{
    Array, ArrayOfTables, Decor, DocumentMut, InlineTable, Item, RawString, Table, TableLike, Value,
};

use super::change::EntryChange;
use super::row::{BETWEEN, EMPTY_LIST, KEYS, Row, as_flag};
use crate::diag::{Finding, Findings, Place, Source};
use crate::knowledge::vocabulary::Kind;

#[cfg(test)]
mod tests;

/// What is to change in one trait.
pub struct TraitEdit<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its type.
    pub kind: Kind,
    /// Its entries that change.
    pub changes: &'a [EntryChange],
}

/// The text of a species file with these changes.
///
/// # Errors
/// The text is no TOML to the editor, although the loader read it.
pub fn rewrite(source: &Arc<Source>, edits: &[TraitEdit<'_>]) -> Result<String, Findings> {
    let mut document = source.text.parse::<DocumentMut>().map_err(|error| {
        let place = Place { source: source.clone(), span: error.span().unwrap_or(0..0) };
        vec![Finding::error("toml-syntax", &place, format!("not valid TOML: {}", error.message()))]
    })?;
    // comments of a trait that goes from the end of the file stay there
    let mut left_over = String::new();
    if document.get("traits").is_none() {
        document.insert("traits", Item::Table(Table::new()));
    }
    if let Some(traits) = document.get_mut("traits").and_then(Item::as_table_like_mut) {
        for edit in edits {
            left_over.push_str(&edit_trait(traits, edit));
        }
    }
    if !left_over.is_empty() {
        let trailing = document.trailing().as_str().unwrap_or_default();
        document.set_trailing(format!("{left_over}{trailing}"));
    }
    Ok(lines_end_as_in(&source.text, document.to_string()))
}

/// A text with the line ends of the one that it was made from: the editor ends every line in its own way.
pub fn lines_end_as_in(original: &str, text: String) -> String {
    let returns = original.matches("\r\n").count();
    let all_return = returns > 0 && returns == original.matches('\n').count();
    if all_return { text.replace("\r\n", "\n").replace('\n', "\r\n") } else { text }
}

/// Changes one trait; comments that stood before a trait that is gone, and have no trait after them,
/// are given back.
fn edit_trait(traits: &mut dyn TableLike, edit: &TraitEdit<'_>) -> String {
    let mut gone: Vec<usize> = Vec::new();
    let mut added: Vec<InlineTable> = Vec::new();
    for change in edit.changes {
        match change {
            EntryChange::Changed { at, old, new } => {
                let keys: Vec<(&str, &str)> = old.differences(new).map(|(key, _, new)| (key, new)).collect();
                match traits.get_mut(edit.name) {
                    Some(Item::Value(Value::Array(list))) => {
                        if let Some(entry) = list.get_mut(*at).and_then(Value::as_inline_table_mut) {
                            edit_inline(entry, &keys, edit.kind);
                        }
                    }
                    Some(Item::ArrayOfTables(list)) => {
                        if let Some(entry) = list.get_mut(*at) {
                            set_cells(entry, &keys, edit.kind);
                        }
                    }
                    _ => {}
                }
            }
            EntryChange::Removed { at, .. } => gone.push(*at),
            EntryChange::Added { new } => added.push(new_entry(new, edit.kind)),
        }
    }
    gone.sort_unstable_by(|a, b| b.cmp(a));
    let left = match traits.get_mut(edit.name) {
        Some(Item::Value(Value::Array(list))) => {
            added.drain(..).for_each(|entry| append(list, entry));
            gone.iter().for_each(|at| take_out(list, *at));
            list.len()
        }
        Some(Item::ArrayOfTables(list)) => {
            added.drain(..).for_each(|entry| list.push(entry.into_table()));
            gone.iter().for_each(|at| {
                list.remove(*at);
            });
            ArrayOfTables::len(list)
        }
        _ => {
            let count = added.len();
            if count > 0 {
                traits.insert(edit.name, Item::Value(Value::Array(new_list(added))));
            }
            count
        }
    };
    if left == 0 { withdraw(traits, edit.name) } else { String::new() }
}

/// Takes a trait out; comments before it go to the next one.
fn withdraw(traits: &mut dyn TableLike, name: &str) -> String {
    let names: Vec<String> = traits.iter().map(|(name, _)| name.to_owned()).collect();
    let next = names.iter().skip_while(|own| *own != name).nth(1);
    let comments = traits.key(name).map(|key| prefix(key.leaf_decor())).unwrap_or_default();
    traits.remove(name);
    if !comments.contains('#') {
        return String::new();
    }
    match next.and_then(|next| traits.key_mut(next)) {
        Some(mut key) => {
            let own = prefix(key.leaf_decor());
            key.leaf_decor_mut().set_prefix(comments + &own);
            String::new()
        }
        None => comments,
    }
}

fn raw(text: Option<&RawString>) -> String {
    text.and_then(RawString::as_str).unwrap_or_default().to_owned()
}

fn prefix(decor: &Decor) -> String {
    raw(decor.prefix())
}

/// Changes keys of an entry between braces; the blank before the last brace stays there.
fn edit_inline(entry: &mut InlineTable, keys: &[(&str, &str)], kind: Kind) {
    let tail = entry.iter_mut().last().map(|(_, value)| {
        let tail = raw(value.decor().suffix());
        value.decor_mut().set_suffix("");
        tail
    });
    let is_new = keys.iter().any(|(key, _)| !entry.contains_key(key));
    set_cells(entry, keys, kind);
    if is_new {
        let position = |key: &str| KEYS.iter().position(|own| *own == key).unwrap_or(KEYS.len());
        entry.sort_values_by(|a, _, b, _| position(a.get()).cmp(&position(b.get())));
    }
    if let (Some(tail), Some((_, last))) = (tail, entry.iter_mut().last()) {
        last.decor_mut().set_suffix(tail);
    }
}

/// Sets keys to their new cells; an empty cell takes its key out.
fn set_cells(entry: &mut dyn TableLike, keys: &[(&str, &str)], kind: Kind) {
    for (key, cell) in keys {
        if cell.is_empty() {
            entry.remove(key);
            continue;
        }
        let mut value = value_of(key, cell, kind);
        match entry.get_mut(key) {
            Some(Item::Value(old)) => {
                *value.decor_mut() = old.decor().clone();
                *old = value;
            }
            _ => {
                // the blank before a closing brace is given to the last value afterwards
                *value.decor_mut() = Decor::new(" ", "");
                entry.insert(key, Item::Value(value));
            }
        }
    }
}

/// Puts an entry behind the last one, in the way in which the list is laid out.
fn append(list: &mut Array, entry: InlineTable) {
    let mut value = Value::InlineTable(entry);
    let count = list.len();
    let Some(last) = count.checked_sub(1).and_then(|at| list.get_mut(at)) else {
        list.push_formatted(value);
        return;
    };
    let own = prefix(last.decor());
    let suffix = raw(last.decor().suffix());
    let lines = own.contains('\n');
    let indent = own.rsplit('\n').next().unwrap_or_default().to_owned();
    if !list.trailing_comma() {
        // what stands before the closing bracket stays there
        if let Some(last) = list.get_mut(count - 1) {
            last.decor_mut().set_suffix("");
        }
        let before = match (lines, suffix.rsplit_once('\n')) {
            (true, Some((comment, _))) => format!("{comment}\n{indent}"),
            (true, None) => format!("\n{indent}"),
            (false, _) => " ".to_owned(),
        };
        let end = suffix.rsplit_once('\n').map(|(_, end)| format!("\n{end}"));
        *value.decor_mut() = Decor::new(before, end.unwrap_or(if lines { String::new() } else { suffix }));
    } else {
        // a comment behind the last entry belongs to it
        let trailing = list.trailing().as_str().unwrap_or_default().to_owned();
        let (comment, end) = trailing.rsplit_once('\n').unwrap_or((&trailing, ""));
        let before = if lines { format!("{comment}\n{indent}") } else { " ".to_owned() };
        if lines {
            list.set_trailing(format!("\n{end}"));
        }
        *value.decor_mut() = Decor::new(before, "");
    }
    list.push_formatted(value);
}

/// Takes an entry out; comments around it stay.
fn take_out(list: &mut Array, at: usize) {
    let removed = list.remove(at);
    let (before, after) = (prefix(removed.decor()), raw(removed.decor().suffix()));
    let comment = if before.contains('#') { before.trim_end() } else { "" };
    let count = list.len();
    if let Some(next) = list.get_mut(at) {
        let own = prefix(next.decor());
        next.decor_mut().set_prefix(match (at, comment) {
            (_, comment) if !comment.is_empty() => format!("{comment}{own}"),
            // the first entry stands where the first one stood, unless a comment says what was there
            (0, _) if !own.contains('#') => before,
            _ => own,
        });
    } else if list.trailing_comma() {
        let trailing = list.trailing().as_str().unwrap_or_default();
        list.set_trailing(format!("{comment}{trailing}"));
    } else if let Some(last) = count.checked_sub(1).and_then(|at| list.get_mut(at)) {
        last.decor_mut().set_suffix(format!("{comment}{after}"));
    }
}

/// The list of a trait that the species did not have.
fn new_list(entries: Vec<InlineTable>) -> Array {
    let mut list = Array::new();
    let several = entries.len() > 1;
    for entry in entries {
        let mut value = Value::InlineTable(entry);
        *value.decor_mut() = Decor::new(if several { "\n  " } else { "" }, "");
        list.push_formatted(value);
    }
    if several {
        list.set_trailing_comma(true);
        list.set_trailing("\n");
    }
    list
}

fn new_entry(row: &Row, kind: Kind) -> InlineTable {
    let mut entry = InlineTable::new();
    for key in KEYS {
        if !row.cell(key).is_empty() {
            entry.insert(key, value_of(key, row.cell(key), kind));
        }
    }
    entry
}

/// A cell as its key writes it in a file.
fn value_of(key: &str, cell: &str, kind: Kind) -> Value {
    if !["value", "low", "high"].contains(&key) {
        return cell.into();
    }
    match kind {
        Kind::Number(_) | Kind::Range(_) => number(cell),
        Kind::Flag => as_flag(cell).map_or_else(|| cell.into(), Value::from),
        Kind::Months(_) => list_of(cell, number),
        Kind::Set(_) | Kind::Texts if cell == EMPTY_LIST => Value::Array(Array::new()),
        Kind::Set(_) | Kind::Texts => list_of(cell, |part| part.into()),
        Kind::Scale(_) | Kind::Choice(_) | Kind::Text => cell.into(),
    }
}

fn list_of(cell: &str, item: fn(&str) -> Value) -> Value {
    Value::Array(cell.split(BETWEEN).map(|part| item(part.trim())).collect())
}

/// A number as it was typed where TOML allows that, else as TOML writes it; else text with a unit.
fn number(cell: &str) -> Value {
    match (cell.parse::<Value>(), cell.parse::<f64>()) {
        (Ok(value @ (Value::Integer(_) | Value::Float(_))), _) => value,
        (_, Ok(number)) => number.into(),
        _ => cell.into(),
    }
}
