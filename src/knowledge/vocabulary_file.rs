//! `vocabulary.toml` to [`Vocabulary`].

use std::sync::Arc;

use super::counted;
use super::lever;
use super::names::Faulty;
use super::tables::LookupTable;
use super::text_form::TextForm;
use super::values::{WhatIsRead, read_value};
use super::vocabulary::{Change, Declaration, From, Kind, Merge, NameList, SiteKey, Vocabulary};
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};
use crate::document::{Entry, Node, NodeKind, Table, TableReader};
use crate::engine::value::Value;
use crate::engine::value::{Slot, Space};
use crate::units::Unit;

/// The tables of the vocabulary, with the family of the names in them.
const FAMILIES: [(&str, &str); 5] =
    [("scale", "list"), ("choice", "list"), ("site", "site"), ("species", "species"), ("fit", "fit")];

/// Reads the vocabulary; declarations that cannot be used are left out and noted as faulty.
pub fn read(source: &Arc<Source>, table: &Table, faulty: &mut Faulty, findings: &mut Findings) -> Vocabulary {
    note_misplaced(table, faulty);
    let mut vocabulary = Vocabulary::default();
    let mut file = TableReader::of_file(source, table, "the vocabulary");
    for (section, ordered, key) in [("scale", true, "steps"), ("choice", false, "names")] {
        let Some(mut lists) = file.table(section, "the lists of names", findings) else { continue };
        for (id, entry) in lists.all() {
            match read_list(source, id, entry, (ordered, key), findings) {
                Some(list) => vocabulary.lists.push(list),
                None => faulty.note(format!("list.{id}")),
            }
        }
    }
    let mut keys: Vec<(String, Place)> = Vec::new();
    let mut counting: Vec<(usize, Place)> = Vec::new();
    for space in [Space::Site, Space::Species, Space::Fit] {
        let Some(mut section) = file.table(space.prefix(), "the declarations", findings) else { continue };
        let mut group = String::new();
        for (name, entry) in section.all() {
            let id = format!("{}.{name}", space.prefix());
            let Some(table) = entry.node.as_table() else {
                section.wrong_type::<()>(name, &entry.node, "a table", findings);
                faulty.note(id);
                continue;
            };
            let place = section.place(entry.key_span);
            let reader = TableReader::of_table(source, &entry.node, table, "a declaration");
            let declared = Declaration { group: group.clone(), ..Declaration::bare(&id, space, Kind::Flag) };
            if let Some(declaration) = read_declaration(declared, reader, &vocabulary, findings) {
                refuse_double_keys(&declaration, &place, &mut keys, findings);
                group.clone_from(&declaration.group);
                let declarations = match space {
                    Space::Site => &mut vocabulary.site,
                    Space::Species => &mut vocabulary.species,
                    _ => &mut vocabulary.fit,
                };
                let slot = Slot { space, index: declarations.len() };
                vocabulary.by_id.insert(declaration.id.clone(), slot);
                if declaration.counted.is_some() {
                    counting.push((slot.index, place));
                }
                declarations.push(declaration);
            } else {
                faulty.note(id);
            }
        }
    }
    counted::check(&vocabulary, &counting, findings);
    if vocabulary.ids().next().is_none() {
        // every other file would be told that its names are unknown, and none is to blame
        FAMILIES.iter().for_each(|(_, family)| faulty.note(*family));
        let message = format!("`{}` declares no fact and no trait", source.path);
        let help = "a fact begins with `[site.name]`, a trait with `[species.name]`; what the other files say of them is checked once there are any";
        findings.push(Finding::error("nothing-declared", &file.own_place(), message).help(help));
    }
    file.finish(findings);
    vocabulary
}

/// What stands in a table of a wrong name, or in place of a table, is declared all the same.
fn note_misplaced(table: &Table, faulty: &mut Faulty) {
    for (key, entry) in table.iter() {
        let known = FAMILIES.iter().find(|(own, _)| *own == key);
        match (known, entry.node.as_table()) {
            (Some(_), Some(_)) => {}
            (Some((_, family)), None) => faulty.note(*family),
            (None, inner) => {
                for (name, _) in inner.into_iter().flat_map(Table::iter) {
                    FAMILIES.iter().for_each(|(_, family)| faulty.note(format!("{family}.{name}")));
                }
            }
        }
    }
}

/// Refuses a key of the site file that an earlier fact has, or that a fact gives to both its units.
fn refuse_double_keys(
    declaration: &Declaration,
    place: &Place,
    keys: &mut Vec<(String, Place)>,
    findings: &mut Findings,
) {
    for key in [&declaration.key, &declaration.us_key].into_iter().flatten() {
        let path = key.path();
        match keys.iter().find(|(own, _)| *own == path) {
            Some((_, first)) if first == place => {
                let message = format!("`{}` has the key `{path}` for both its units", declaration.id);
                findings.push(Finding::error("duplicate-key", place, message));
            }
            Some((_, first)) => {
                let message = format!("`{}` has the key `{path}`, which is taken", declaration.id);
                let finding = Finding::error("duplicate-key", place, message).also(first, "first here");
                findings.push(finding.help("every fact needs a key of its own in the site file"));
            }
            None => keys.push((path, place.clone())),
        }
    }
}

fn read_list<'a>(
    source: &Arc<Source>,
    id: &str,
    entry: &'a Entry,
    (ordered, key): (bool, &'a str),
    findings: &mut Findings,
) -> Option<NameList> {
    let before = findings.len();
    let Some(table) = entry.node.as_table() else {
        let place = Place { source: source.clone(), span: entry.node.span.range() };
        let message = format!("`{id}` must be a table with `{key}`, not {}", entry.node.type_name());
        findings.push(Finding::error("wrong-type", &place, message));
        return None;
    };
    let mut reader = TableReader::of_table(source, &entry.node, table, "a list of names");
    let names = reader.texts(key, findings);
    // that it is no list has been told
    let misread = names.is_none() && findings.len() > before;
    let names = names.unwrap_or_default();
    if !misread && (names.is_empty() || names.len() > 64) {
        let message = format!("`{id}` needs 1 to 64 {key}, not {}", names.len());
        findings.push(Finding::error("bad-list", &reader.own_place(), message));
    }
    for (at, (name, node)) in names.iter().enumerate() {
        if names[..at].iter().any(|(earlier, _)| earlier == name) {
            let message = format!("`{name}` stands twice in `{id}`");
            findings.push(Finding::error("duplicate-name", &reader.place(node.span), message));
        }
    }
    reader.finish(findings);
    let names = names.into_iter().map(|(name, _)| name.to_owned()).collect();
    (findings.len() == before).then(|| NameList { id: id.to_owned(), names, ordered })
}

fn read_declaration(
    bare: Declaration,
    mut reader: TableReader<'_>,
    vocabulary: &Vocabulary,
    findings: &mut Findings,
) -> Option<Declaration> {
    let meaning = reader.required_text("meaning", findings).unwrap_or_default().to_owned();
    let own_label = reader.text("label", findings).map(str::to_owned);
    let kind = read_kind(&mut reader, vocabulary, findings);
    let from = [("site-file", From::File), ("computed", From::Computed), ("rules", From::Rules)];
    let from = reader.one_of("from", &from, findings).unwrap_or(bare.from);
    let tables = reader.texts("tables", findings).unwrap_or_default();
    let tables = tables.into_iter().map(|(name, _)| name.to_owned()).collect();
    let change = reader.one_of("change", Change::NAMES, findings).unwrap_or(bare.change);
    let merge = reader.one_of("merge", Merge::NAMES, findings).unwrap_or(bare.merge);
    let better_high = reader.one_of("better", &[("high", true), ("low", false)], findings);
    let ask = reader.text("ask", findings).unwrap_or_default().to_owned();
    let estimate = reader.flag("estimate", findings).unwrap_or(false);
    let key_trait = reader.flag("key_trait", findings).unwrap_or(false);
    let one_for_all = reader.flag("one_for_all", findings).unwrap_or(false);
    let whole = reader.flag("whole", findings).unwrap_or(false);
    let form = reader.one_of("form", TextForm::NAMES, findings).unwrap_or_default();
    let group = reader.text("group", findings).map_or(bare.group, str::to_owned);
    let counted = counted::read(&mut reader, findings);
    let key_text = reader.text("key", findings);
    let us = reader.table("us", "a key in US units", findings).map(|mut us| {
        let key = us.required_text("key", findings).unwrap_or_default().to_owned();
        let unit = read_unit(&mut us, findings);
        us.finish(findings);
        (key, unit)
    });
    let allowed_place =
        reader.node("range").map_or_else(|| reader.own_place(), |node| reader.place(node.span));
    let allowed_node = reader.list("range", findings);
    let plausible_nodes = reader.list("plausible", findings).unwrap_or_default();
    let drawn_nodes = reader.list("drawn", findings).unwrap_or_default();
    let source = reader.source();
    let Some(kind) = kind else {
        reader.node("lever");
        reader.finish(findings);
        return None;
    };
    let allowed = allowed_node.and_then(|ends| {
        let unit = kind.unit()?;
        let number = |at: usize| ends.get(at).and_then(Node::as_number);
        match (ends.len(), number(0), number(1)) {
            (2, Some(low), Some(high)) if low < high => Some((unit.to_base(low), unit.to_base(high))),
            _ => {
                let message = format!("`range` of `{}` must be two numbers, the lower first", bare.id);
                findings.push(Finding::error("bad-range", &allowed_place, message));
                None
            }
        }
    });
    let mut declaration = Declaration {
        meaning,
        own_label,
        kind,
        allowed,
        change,
        key: key_text.map(|path| site_key(path, kind.unit())),
        us_key: us.map(|(path, unit)| site_key(&path, unit)),
        from,
        tables,
        merge,
        better_high,
        estimate,
        key_trait,
        ask,
        one_for_all,
        whole,
        form,
        counted,
        group,
        ..bare
    };
    let mut values = |nodes: &[_], name| -> Vec<Value> {
        let what = |node| WhatIsRead { source, node, name, unit: kind.unit() };
        nodes.iter().filter_map(|node| read_value(vocabulary, &declaration, what(node), findings)).collect()
    };
    let (plausible, drawn) = (values(plausible_nodes, "plausible"), values(drawn_nodes, "drawn"));
    declaration.plausible = plausible;
    declaration.drawn = drawn;
    declaration.lever = lever::read(&declaration, &mut reader, vocabulary, findings);
    if let (Some(unit), Some(node)) = (kind.unit(), reader.node("unit")) {
        refuse_other_unit(&declaration.id, unit, &reader.place(node.span), findings);
    }
    reader.finish(findings);
    Some(declaration)
}

/// Refuses tables that no file declares among those that facts say they are looked up in: an overlay that
/// replaces one would leave no mark on what rests on it.
pub fn check_tables(source: &Arc<Source>, table: &Table, tables: &[LookupTable], findings: &mut Findings) {
    let sections = ["site", "fit"].into_iter().filter_map(|space| table.get(space)?.node.as_table());
    let facts = sections.flat_map(Table::iter).filter_map(|(_, fact)| fact.node.as_table()?.get("tables"));
    let named = facts.filter_map(|entry| match &entry.node.kind {
        NodeKind::List(names) => Some(names),
        _ => None,
    });
    for node in named.flatten() {
        let name = node.as_text().unwrap_or_default();
        if name.is_empty() || tables.iter().any(|own| own.id == name) {
            continue;
        }
        let near = nearest(name, tables.iter().map(|own| own.id.as_str()));
        let help =
            near.map_or("tables stand in tables/".to_owned(), |near| format!("did you mean `{near}`?"));
        let place = Place { source: source.clone(), span: node.span.range() };
        let finding = Finding::error("unknown-table", &place, format!("no table is called `{name}`"));
        findings.push(finding.help(help).undeclared(format!("tables.{name}")));
    }
}

fn site_key(path: &str, unit: Option<&'static Unit>) -> SiteKey {
    let (section, key) = path.split_once('.').unwrap_or(("", path));
    SiteKey { section: section.to_owned(), key: key.to_owned(), unit }
}

fn read_kind(reader: &mut TableReader<'_>, vocabulary: &Vocabulary, findings: &mut Findings) -> Option<Kind> {
    const NAMES: [&str; 8] = ["number", "range", "months", "flag", "scale", "choice", "set", "text"];
    // without a type nobody can say which of these belong
    let accept_all = |reader: &mut TableReader<'_>| {
        reader.node("unit");
        reader.node("of");
        reader.node("many");
    };
    let Some(node) = reader.required("type", findings) else {
        accept_all(reader);
        return None;
    };
    let place = reader.place(node.span);
    let name = node.as_text().unwrap_or_default();
    let kind = match name {
        "number" => Kind::Number(read_unit(reader, findings)?),
        "range" => Kind::Range(read_unit(reader, findings)?),
        "months" => Kind::Months(read_unit(reader, findings)?),
        "flag" => Kind::Flag,
        "text" => match reader.flag("many", findings) {
            Some(true) => Kind::Texts,
            _ => Kind::Text,
        },
        "scale" | "choice" | "set" => {
            let of_node = reader.required("of", findings)?;
            let of = of_node.as_text().unwrap_or_default();
            let Some(list) = vocabulary.list_named(of, name == "scale") else {
                let names = vocabulary.lists.iter().map(|list| list.id.as_str());
                let help = nearest(of, names).map(|name| format!("did you mean `{name}`?"));
                let message = format!("no {name} is called `{of}`");
                let finding = Finding::error("unknown-list", &reader.place(of_node.span), message);
                findings.push(finding.maybe_help(help).undeclared(format!("list.{of}")));
                return None;
            };
            match name {
                "scale" => Kind::Scale(list),
                "choice" => Kind::Choice(list),
                _ => Kind::Set(list),
            }
        }
        _ => {
            accept_all(reader);
            let message = format!("unknown type `{name}`");
            let help = format!("a type is one of {}", join_names(NAMES));
            findings.push(Finding::error("unknown-type", &place, message).help(help));
            return None;
        }
    };
    Some(kind)
}

/// Refuses a name that ends in another unit of the same kind: whoever enters a bare figure goes by the name.
pub(super) fn refuse_other_unit(id: &str, unit: &Unit, place: &Place, findings: &mut Findings) {
    let mut words = id.rsplit(['_', '.']);
    let end = words.next().unwrap_or_default();
    let named = match end {
        "c" => Unit::named("degC"),
        "f" => Unit::named("degF"),
        // `cuts_per_week` ends in a rate
        _ if words.next() == Some("per") => Unit::named(&format!("/{end}")),
        _ => Unit::named(end),
    };
    let other = named.filter(|other| other.dimension == unit.dimension && other.name != unit.name);
    if let Some(other) = other {
        let message = format!("the name of `{id}` ends in {}, and its unit is {}", other.name, unit.name);
        let help = format!("write `unit = \"{}\"`, or end the name otherwise", other.name);
        findings.push(Finding::error("unit-unlike-name", place, message).help(help));
    }
}

fn read_unit(reader: &mut TableReader<'_>, findings: &mut Findings) -> Option<&'static Unit> {
    let node = reader.required("unit", findings)?;
    let name = node.as_text().unwrap_or_default();
    let unit = Unit::named(name);
    if unit.is_none() {
        let names = Unit::all().iter().map(|unit| unit.name);
        let help = match nearest(name, names.clone()) {
            Some(name) => format!("did you mean `{name}`?"),
            None => format!("units are {}", names.collect::<Vec<_>>().join(", ")),
        };
        let message = format!("unknown unit `{name}`");
        findings.push(Finding::error("unknown-unit", &reader.place(node.span), message).help(help));
    }
    unit
}
