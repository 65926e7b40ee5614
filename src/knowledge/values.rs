//! A value of a declared fact out of a file: type, unit, step or name, and limits are checked, and
//! whatever is wrong is said at its place.

use std::sync::Arc;

use super::vocabulary::{Declaration, Kind, ListId, Vocabulary};
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};
use crate::document::{Node, NodeKind};
use crate::engine::value::Value;
use crate::units::{Unit, UnitSystem};

/// A node to read, with the name that messages use and the unit of its bare numbers.
#[derive(Clone, Copy)]
pub struct WhatIsRead<'a> {
    /// The file.
    pub source: &'a Arc<Source>,
    /// The value.
    pub node: &'a Node,
    /// The key that it stands under.
    pub name: &'a str,
    /// Unit of a bare number; text with a unit may use another.
    pub unit: Option<&'static Unit>,
}

impl WhatIsRead<'_> {
    fn place(&self) -> Place {
        Place { source: self.source.clone(), span: self.node.span.range() }
    }

    fn at<'a>(&'a self, node: &'a Node) -> WhatIsRead<'a> {
        WhatIsRead { node, ..*self }
    }

    fn wrong_type<T>(&self, wanted: &str, findings: &mut Findings) -> Option<T> {
        let message = format!("`{}` must be {wanted}, not {}", self.name, self.node.type_name());
        findings.push(Finding::error("wrong-type", &self.place(), message));
        None
    }
}

/// Reads one value of a declared fact.
pub fn read_value(
    vocabulary: &Vocabulary,
    declaration: &Declaration,
    what: WhatIsRead<'_>,
    findings: &mut Findings,
) -> Option<Value> {
    match declaration.kind {
        Kind::Number(_) => read_number(declaration, what, findings).map(Value::Number),
        Kind::Range(_) => read_range(declaration, what, findings),
        Kind::Months(_) => read_months(declaration, what, findings),
        Kind::Flag => match what.node.kind {
            NodeKind::Flag(flag) => Some(Value::Flag(flag)),
            _ => what.wrong_type("true or false", findings),
        },
        Kind::Scale(list) => read_name(vocabulary, list, what, findings).map(Value::Step),
        Kind::Choice(list) => read_name(vocabulary, list, what, findings).map(Value::Choice),
        Kind::Set(list) => {
            let NodeKind::List(items) = &what.node.kind else {
                return what.wrong_type("a list of names", findings);
            };
            let mut bits = 0u64;
            let mut whole = true;
            for item in items {
                match read_name(vocabulary, list, what.at(item), findings) {
                    Some(position) => bits |= 1 << position,
                    None => whole = false,
                }
            }
            whole.then_some(Value::Set(bits))
        }
        Kind::Text => match what.node.as_text() {
            Some(text) => Some(Value::Text(text.into())),
            None => what.wrong_type("text", findings),
        },
        Kind::Texts => {
            let NodeKind::List(items) = &what.node.kind else {
                return what.wrong_type("a list of texts", findings);
            };
            let texts: Option<Vec<Arc<str>>> = items
                .iter()
                .map(|item| match item.as_text() {
                    Some(text) => Some(text.into()),
                    None => what.at(item).wrong_type("text", findings),
                })
                .collect();
            texts.map(|texts| Value::Texts(texts.into()))
        }
    }
}

/// Reads a number, bare or as text with a unit, and holds it against the allowed range.
pub fn read_number(declaration: &Declaration, what: WhatIsRead<'_>, findings: &mut Findings) -> Option<f64> {
    let unit = what.unit.or(declaration.kind.unit())?;
    let (base, written) = match &what.node.kind {
        NodeKind::Integer(_) | NodeKind::Float(_) => {
            let number = what.node.as_number().unwrap_or(f64::NAN);
            (unit.to_base(number), unit)
        }
        NodeKind::Text(text) => read_quantity(text, unit, what, findings)?,
        _ => return what.wrong_type(&number_words(unit), findings),
    };
    if !base.is_finite() {
        let message = format!("`{}` must be a finite number", what.name);
        findings.push(Finding::error("not-a-number", &what.place(), message));
        return None;
    }
    if let Some((low, high)) = declaration.allowed
        && !(low - 1e-9..=high + 1e-9).contains(&base)
    {
        let message = format!(
            "`{}` is {}, outside the allowed {}",
            what.name,
            if base.abs() < 1e9 {
                UnitSystem::Si.write(base, written)
            } else {
                format!("{:e} {}", written.express(base), written.symbol)
            },
            UnitSystem::Si.write_range(low, high, written),
        );
        let help = format!("{}: {}", declaration.id, declaration.meaning);
        findings.push(Finding::error("out-of-range", &what.place(), message).help(help));
        return None;
    }
    Some(base)
}

fn number_words(unit: &Unit) -> String {
    if unit.name == "1" { "a number".to_owned() } else { format!("a number in {}", unit.name) }
}

/// `"85 degF"` to its base value, refused when the unit measures something else.
fn read_quantity(
    text: &str,
    expected: &'static Unit,
    what: WhatIsRead<'_>,
    findings: &mut Findings,
) -> Option<(f64, &'static Unit)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c))).unwrap_or(text.len());
    let (number, unit_name) = (text[..end].trim(), text[end..].trim());
    let Ok(number) = number.parse::<f64>() else {
        let message = format!("`{}` must be a number, or text such as `\"12 {}\"`", what.name, expected.name);
        findings.push(Finding::error("not-a-number", &what.place(), message));
        return None;
    };
    if unit_name.is_empty() {
        return Some((expected.to_base(number), expected));
    }
    let fitting = || {
        let units = Unit::all().iter().filter(|unit| unit.dimension == expected.dimension);
        format!("write it in {}", join_names(units.map(|unit| unit.name)))
    };
    match Unit::named(unit_name) {
        Some(unit) if unit.dimension == expected.dimension => Some((unit.to_base(number), unit)),
        Some(unit) => {
            let message = format!("`{}` cannot be in {}", what.name, unit.name);
            findings.push(Finding::error("wrong-unit", &what.place(), message).help(fitting()));
            None
        }
        None => {
            let message = format!("unknown unit `{unit_name}`");
            let help = match nearest(unit_name, Unit::all().iter().map(|unit| unit.name)) {
                Some(name) => format!("did you mean `{name}`?"),
                None => fitting(),
            };
            findings.push(Finding::error("unknown-unit", &what.place(), message).help(help));
            None
        }
    }
}

fn read_range(declaration: &Declaration, what: WhatIsRead<'_>, findings: &mut Findings) -> Option<Value> {
    if let NodeKind::List(items) = &what.node.kind
        && let [low, high] = &items[..]
    {
        let low = read_number(declaration, what.at(low), findings)?;
        let high = read_number(declaration, what.at(high), findings)?;
        if low > high {
            let message = format!("the lower end of `{}` is above its upper end", what.name);
            findings.push(Finding::error("ends-swapped", &what.place(), message));
            return None;
        }
        return Some(Value::Range(low, high));
    }
    what.wrong_type("a list of two numbers, the lower first", findings)
}

fn read_months(declaration: &Declaration, what: WhatIsRead<'_>, findings: &mut Findings) -> Option<Value> {
    let items = match &what.node.kind {
        NodeKind::List(items) => items,
        // one number stands for every month
        NodeKind::Integer(_) | NodeKind::Float(_) | NodeKind::Text(_) => {
            return read_number(declaration, what, findings)
                .map(|number| Value::Months(Arc::new([number; 12])));
        }
        _ => return what.wrong_type("a list of 12 numbers, January first", findings),
    };
    if items.len() != 12 {
        let message =
            format!("`{}` needs 12 numbers, one for each month, and has {}", what.name, items.len());
        findings.push(Finding::error("not-twelve", &what.place(), message));
        return None;
    }
    let mut months = [0.0; 12];
    let mut whole = true;
    for (month, item) in months.iter_mut().zip(items) {
        match read_number(declaration, what.at(item), findings) {
            Some(number) => *month = number,
            None => whole = false,
        }
    }
    whole.then(|| Value::Months(Arc::new(months)))
}

fn read_name(
    vocabulary: &Vocabulary,
    list: ListId,
    what: WhatIsRead<'_>,
    findings: &mut Findings,
) -> Option<u8> {
    let list = vocabulary.list(list);
    let Some(text) = what.node.as_text() else {
        let names = join_names(list.names.iter().map(String::as_str));
        return what.wrong_type(&format!("one of {names}"), findings);
    };
    let position = list.position(text);
    if position.is_none() {
        findings.push(unknown_name(list, text, what.name, &what.place()));
    }
    position
}

/// The finding for a name that a list does not have.
pub fn unknown_name(list: &super::vocabulary::NameList, text: &str, name: &str, place: &Place) -> Finding {
    let names = || list.names.iter().map(String::as_str);
    let word = if list.ordered { "step" } else { "name" };
    let choices = join_names(names());
    let help = match nearest(text, names()) {
        Some(near) => format!("did you mean `{near}`? It takes {choices}"),
        None if choices.is_empty() => format!("the list `{}` is empty", list.id),
        None => format!("it takes {choices}"),
    };
    Finding::error("unknown-name", place, format!("`{text}` is no {word} of `{name}`")).help(help)
}
