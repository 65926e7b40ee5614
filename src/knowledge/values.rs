//! A value of a declared fact out of a file: type, unit, step or name, and limits are checked, and
//! whatever is wrong is said at its place.

use std::sync::Arc;

use super::degrees::decimal_degrees;
use super::placeholder::UNFILLED;
use super::vocabulary::{Declaration, Kind, ListId, NameList, Vocabulary};
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};
use crate::document::{Node, NodeKind, too_large};
use crate::engine::value::Value;
use crate::units::{Dimension, Unit, UnitSystem, two_numbers, unknown_unit_help, with_plain_minus};

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
        self.wrong_type_with(wanted, None, findings)
    }

    fn wrong_type_with<T>(&self, wanted: &str, help: Option<String>, findings: &mut Findings) -> Option<T> {
        let message = format!("`{}` must be {wanted}, not {}", self.name, self.node.type_name());
        findings.push(Finding::error("wrong-type", &self.place(), message).maybe_help(help));
        None
    }

    /// The value as it is written.
    fn written(&self) -> &str {
        self.source.text.get(self.node.span.range()).unwrap_or_default()
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
        Kind::Months(_) => read_months(vocabulary, declaration, what, findings),
        Kind::Flag => match what.node.kind {
            NodeKind::Flag(flag) => Some(Value::Flag(flag)),
            _ => what.wrong_type_with("true or false", flag_meant(what.node), findings),
        },
        Kind::Scale(list) => read_name(vocabulary, list, what, findings).map(Value::Step),
        Kind::Choice(list) => read_name(vocabulary, list, what, findings).map(Value::Choice),
        Kind::Set(list) => {
            let NodeKind::List(items) = &what.node.kind else {
                let help =
                    what.node.as_text().map(|_| format!("put it in square brackets: [{}]", what.written()));
                return what.wrong_type_with("a list of names", help, findings);
            };
            let mut bits = 0u64;
            let mut whole = true;
            for item in items {
                if let Some(finding) = several_names(vocabulary.list(list), what.at(item)) {
                    findings.push(finding);
                    whole = false;
                    continue;
                }
                match read_name(vocabulary, list, what.at(item), findings) {
                    Some(position) => bits |= 1 << position,
                    None => whole = false,
                }
            }
            whole.then_some(Value::Set(bits))
        }
        Kind::Text => read_text(declaration, what, findings).map(Value::Text),
        Kind::Texts => {
            let NodeKind::List(items) = &what.node.kind else {
                let help =
                    what.node.as_text().map(|_| format!("put it in square brackets: [{}]", what.written()));
                return what.wrong_type_with(declaration.form.words_of_list(), help, findings);
            };
            let texts: Vec<Option<Arc<str>>> =
                items.iter().map(|item| read_text(declaration, what.at(item), findings)).collect();
            let texts: Option<Vec<Arc<str>>> = texts.into_iter().collect();
            texts.map(|texts| Value::Texts(texts.into()))
        }
    }
}

/// The finding for several names of a list in one text.
fn several_names(list: &NameList, what: WhatIsRead<'_>) -> Option<Finding> {
    let text = what.node.as_text()?;
    let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    if parts.len() < 2 || parts.iter().any(|part| list.position(part).is_none()) {
        return None;
    }
    let quoted: Vec<String> = parts.iter().map(|part| format!("\"{part}\"")).collect();
    let message = format!("`{text}` is no {} of `{}`", list_word(list), what.name);
    let help =
        format!("write each by itself: {}; in a cell of a CSV: {}", quoted.join(", "), parts.join(";"));
    Some(Finding::error("unknown-name", &what.place(), message).help(help))
}

/// Reads a text, and holds it against the form that it must have.
fn read_text(declaration: &Declaration, what: WhatIsRead<'_>, findings: &mut Findings) -> Option<Arc<str>> {
    let Some(text) = what.node.as_text() else {
        return what.wrong_type(declaration.form.words(), findings);
    };
    match declaration.form.fault(text) {
        // a scaffold's mark is told by itself
        Some(fault) if text != UNFILLED => {
            findings.push(Finding::error(fault.code, &what.place(), fault.message).help(fault.help));
            None
        }
        _ => Some(text.into()),
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
        NodeKind::Text(text) => read_quantity(text, unit, declaration, what, findings)?,
        NodeKind::Huge => {
            findings.push(beyond_all(declaration, unit, what));
            return None;
        }
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
        let help = other_unit(declaration, (low, high), what)
            .or_else(|| fraction_meant(unit, (low, high), what))
            .or_else(|| meant_in_another_unit(unit, (low, high), what))
            .unwrap_or_else(|| format!("{}: {}", declaration.id, declaration.meaning));
        findings.push(Finding::error("out-of-range", &what.place(), message).help(help));
        return None;
    }
    let number = unit.express(base);
    if declaration.whole && (number - number.round()).abs() > 1e-6 {
        let given = UnitSystem::Si.write(base, unit);
        let message = format!("`{}` is {given}, and takes whole numbers", what.name);
        let help = format!("{}: {}", declaration.id, declaration.meaning);
        findings.push(Finding::error("not-whole", &what.place(), message).help(help));
        return None;
    }
    Some(base)
}

/// The key of the other unit, where a bare number would be allowed under it.
fn other_unit(declaration: &Declaration, (low, high): (f64, f64), what: WhatIsRead<'_>) -> Option<String> {
    let number = what.node.as_number()?;
    let keys = [declaration.key.as_ref()?, declaration.us_key.as_ref()?];
    let other = keys.into_iter().find(|key| key.unit != what.unit)?;
    let unit = other.unit.filter(|unit| (low..=high).contains(&unit.to_base(number)))?;
    Some(format!("if that is in `{}`, write it under `{}`", unit.name, other.key))
}

/// The fraction that a number of percent was meant for.
fn fraction_meant(unit: &Unit, (low, high): (f64, f64), what: WhatIsRead<'_>) -> Option<String> {
    let percent = what.node.as_number()?;
    let is_share = unit.name == "1" && (low, high) == (0.0, 1.0) && percent > 1.0 && percent <= 100.0;
    is_share.then(|| format!("it takes a fraction: write {} or \"{percent} %\"", percent / 100.0))
}

/// The text with its unit of a bare number that is allowed in another unit of the same kind, of those that are the
/// one nearest in size: a wind of 100 is meant in km/h sooner than in mm/d.
fn meant_in_another_unit(unit: &Unit, (low, high): (f64, f64), what: WhatIsRead<'_>) -> Option<String> {
    let number = what.node.as_number()?;
    let fits = |other: &&Unit| {
        other.dimension == unit.dimension
            && other.dimension != Dimension::NONE
            && other.name != unit.name
            && (low..=high).contains(&other.to_base(number))
    };
    let other = Unit::all().iter().filter(fits).min_by(|a, b| apart(a, unit).total_cmp(&apart(b, unit)))?;
    Some(format!("if that is in `{}`, write \"{number} {}\"", other.name, other.name))
}

/// How far apart two units of the same kind are in size.
fn apart(one: &Unit, other: &Unit) -> f64 {
    let size = |unit: &Unit| unit.to_base(1.0) - unit.to_base(0.0);
    (size(one) / size(other)).ln().abs()
}

/// The finding for a number too large to hold, with what is allowed in its place.
fn beyond_all(declaration: &Declaration, unit: &'static Unit, what: WhatIsRead<'_>) -> Finding {
    let finding = too_large(what.source, what.node, what.name);
    let allowed = declaration.allowed.map(|(low, high)| UnitSystem::Si.write_range(low, high, unit));
    finding.maybe_help(allowed.map(|allowed| format!("allowed is {allowed}")))
}

fn number_words(unit: &Unit) -> String {
    if ["1", "pH"].contains(&unit.name) {
        "a number".to_owned()
    } else {
        format!("a number in {}", unit.name)
    }
}

/// `"85 degF"` to its base value, refused when the unit measures something else.
fn read_quantity(
    text: &str,
    expected: &'static Unit,
    declaration: &Declaration,
    what: WhatIsRead<'_>,
    findings: &mut Findings,
) -> Option<(f64, &'static Unit)> {
    let text = text.trim();
    if expected.name == "deg"
        && let Some(number) = decimal_degrees(text)
    {
        let message = format!(
            "`{}` is one number of degrees, without minutes or a letter for the side of the globe",
            what.name
        );
        let help =
            format!("north and east are above zero, south and west below: write `{} = {number}`", what.name);
        findings.push(Finding::error("not-a-number", &what.place(), message).help(help));
        return None;
    }
    if let Some(finding) = as_printed(text, declaration, what) {
        findings.push(finding);
        return None;
    }
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c))).unwrap_or(text.len());
    let (number, unit_name) = (text[..end].trim(), text[end..].trim());
    let Ok(number) = number.parse::<f64>() else {
        let message = format!("`{}` must be {}, not a word", what.name, number_words(expected));
        let allowed = declaration.allowed.map(|(low, high)| UnitSystem::Si.write_range(low, high, expected));
        let meaning = if declaration.meaning.is_empty() { what.name } else { &declaration.meaning };
        let help = match (allowed, expected.name) {
            (Some(allowed), "1" | "pH") => format!("{meaning}, {allowed}, without quotes"),
            (Some(allowed), unit) => {
                format!("{meaning}, {allowed}: a bare number is in {unit}, and text names its unit")
            }
            (None, unit) => format!("a bare number is in {unit}, and text names its unit"),
        };
        findings.push(Finding::error("not-a-number", &what.place(), message).help(help));
        return None;
    };
    if number.is_infinite() {
        findings.push(too_large(what.source, what.node, what.name));
        return None;
    }
    if let Some(decimals) = unit_name.strip_prefix(',')
        && decimals.starts_with(|c: char| c.is_ascii_digit())
    {
        let message = format!("`{}` has a comma in its number", what.name);
        let help = format!("write a point before the decimals: {}", text.replacen(',', ".", 1));
        findings.push(Finding::error("not-a-number", &what.place(), message).help(help));
        return None;
    }
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
            let help = unknown_unit_help(unit_name, Some(expected.dimension));
            findings.push(Finding::error("unknown-unit", &what.place(), message).help(help));
            None
        }
    }
}

/// The finding for a number that is written as print has it.
fn as_printed(text: &str, declaration: &Declaration, what: WhatIsRead<'_>) -> Option<Finding> {
    if let Some(plain) = with_plain_minus(text) {
        let message = format!("`{}` has a minus sign of print", what.name);
        return Some(
            Finding::error("not-a-number", &what.place(), message)
                .help(format!("write a plain one: {plain}")),
        );
    }
    let (low, high, unit) = two_numbers(text)?;
    let end = |number: &str| match unit {
        "" => number.to_owned(),
        unit => format!("\"{number} {unit}\""),
    };
    let help = match declaration.id.starts_with("species.") {
        true => format!("write both ends: low = {}, high = {}", end(low), end(high)),
        false => "write one number".to_owned(),
    };
    let message = format!("`{}` takes one number, not two", what.name);
    Some(Finding::error("not-a-number", &what.place(), message).help(help))
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

/// Which keys of the site file take one number for all months, as the end of a sentence.
fn single_words(vocabulary: &Vocabulary) -> String {
    let single = vocabulary.site.iter().filter(|one| one.one_for_all).filter_map(|one| one.key.as_ref());
    let names = join_names(single.map(|key| key.key.as_str()));
    if names.is_empty() { names } else { format!("; a single number is right for `{names}` alone") }
}

fn read_months(
    vocabulary: &Vocabulary,
    declaration: &Declaration,
    what: WhatIsRead<'_>,
    findings: &mut Findings,
) -> Option<Value> {
    let items = match &what.node.kind {
        NodeKind::List(items) => items,
        NodeKind::Integer(_) | NodeKind::Float(_) | NodeKind::Text(_) | NodeKind::Huge => {
            let number = read_number(declaration, what, findings)?;
            if declaration.one_for_all {
                return Some(Value::Months(Arc::new([number; 12])));
            }
            let message = format!("`{}` needs 12 numbers, one for each month, not one for all", what.name);
            let help = format!("write `{} = [ … ]`, January first{}", what.name, single_words(vocabulary));
            findings.push(Finding::error("not-twelve", &what.place(), message).help(help));
            return None;
        }
        _ => return what.wrong_type("a list of 12 numbers, January first", findings),
    };
    if items.len() != 12 {
        let message =
            format!("`{}` needs 12 numbers, one for each month, and has {}", what.name, items.len());
        // `16,4` is two numbers
        let help = (items.len() > 12).then(|| "decimals stand behind a point, not a comma".to_owned());
        findings.push(Finding::error("not-twelve", &what.place(), message).maybe_help(help));
        return None;
    }
    let mut months = [0.0; 12];
    let mut faults = Findings::new();
    for (month, item) in months.iter_mut().zip(items) {
        *month = read_number(declaration, what.at(item), &mut faults).unwrap_or_default();
    }
    let whole = faults.is_empty();
    // a wrong unit puts most months out of range: that is one slip, told at the first of them
    let is_outside = |fault: &Finding| fault.code == "out-of-range";
    let outside = faults.iter().filter(|fault| is_outside(fault)).count();
    let mut told = false;
    for fault in faults {
        if !is_outside(&fault) || outside == 1 {
            findings.push(fault);
        } else if !told {
            told = true;
            findings.push(fault.label(format!("and {} more of the twelve", outside - 1)));
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
        // zone 7 has halves, and what is written without quotes has its quotes missing
        let written = what.written();
        let meant = list.names.iter().find(|name| name.starts_with(written)).or(list.names.first());
        let help = meant.map(|name| format!("a {} is text, such as \"{name}\"", list_word(list)));
        return what.wrong_type_with(&format!("one of {names}"), help, findings);
    };
    let position = list.position(text);
    if position.is_none() {
        findings.push(unknown_name(list, text, what.name, &what.place()));
    }
    position
}

/// The flag that a word for yes or no was meant to be.
fn flag_meant(node: &Node) -> Option<String> {
    let flag = match node.as_text()?.to_lowercase().as_str() {
        "yes" | "true" | "y" => "true",
        "no" | "false" | "n" => "false",
        _ => return None,
    };
    Some(format!("write {flag}, without quotes"))
}

/// What an entry of a list is called.
fn list_word(list: &NameList) -> &'static str {
    if list.ordered { "step" } else { "name" }
}

/// The finding for a name that a list does not have.
pub fn unknown_name(list: &NameList, text: &str, name: &str, place: &Place) -> Finding {
    let names = || list.names.iter().map(String::as_str);
    let word = list_word(list);
    let choices = join_names(names());
    // "zone 6b" has the step among its words
    let among =
        || text.split_whitespace().find_map(|word| names().find(|name| name.eq_ignore_ascii_case(word)));
    // a blank that is not seen
    let bare = text.trim();
    let help = match nearest(text, names()).or_else(among) {
        Some(near) if near == bare => format!("write `{near}` without the blank beside it"),
        Some(near) => format!("did you mean `{near}`? It takes {choices}"),
        None if choices.is_empty() => format!("the list `{}` is empty", list.id),
        None => format!("it takes {choices}"),
    };
    Finding::error("unknown-name", place, format!("`{text}` is no {word} of `{name}`")).help(help)
}
