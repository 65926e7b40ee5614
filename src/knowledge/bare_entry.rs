//! What a writer meant who gave a trait a bare value in place of a list of entries.

use super::species::Trait;
use super::values::{WhatIsRead, read_value};
use super::vocabulary::{Declaration, Kind};
use crate::diag::Findings;
use crate::document::Node;

/// An entry that says what bare values say, as far as they can be read; else one of that type.
pub(super) fn entry_like(whose: Trait<'_>, bare: &[&Node], declaration: &Declaration) -> String {
    let Trait { source, name, declared, .. } = whose;
    let vocabulary = declared.vocabulary;
    let written = |node: &Node| source.text.get(node.span.range()).unwrap_or_default().to_owned();
    let reads = |node: &Node, kind: Kind| {
        let declaration = Declaration { kind, ..declaration.clone() };
        let what = WhatIsRead { source, node, name, unit: None };
        read_value(vocabulary, &declaration, what, &mut Findings::new()).is_some()
    };
    let list = |list| vocabulary.list(list).names.iter();
    let value = match (declaration.kind, bare) {
        (Kind::Range(unit), [low, high]) if [low, high].iter().all(|one| reads(one, Kind::Number(unit))) => {
            format!("low = {}, high = {}", written(low), written(high))
        }
        (Kind::Range(_), _) => "low = …, high = …".to_owned(),
        (Kind::Set(names), bare) => {
            let all: Vec<String> = bare.iter().map(|one| written(one)).collect();
            let known = bare.iter().all(|one| list(names).any(|name| one.as_text() == Some(name)));
            if known { format!("value = [{}]", all.join(", ")) } else { "value = [\"…\"]".to_owned() }
        }
        (kind, [only]) if reads(only, kind) => format!("value = {}", written(only)),
        // zone 7 has halves
        (Kind::Scale(names) | Kind::Choice(names), [only]) => {
            let near = list(names).find(|name| name.starts_with(&written(only)));
            format!("value = \"{}\"", near.map_or("…", String::as_str))
        }
        _ => "value = …".to_owned(),
    };
    format!("{{ {value}, source = \"…\", at = \"…\" }}")
}
