//! The tree of an expression to a checked one: names are found, types and units agree.

use std::ops::Range;
use std::sync::Arc;

use super::ast::{Arithmetic, Ast, AstKind, Comparison};
use super::functions;
use super::lexer::ExpressionFault;
use super::typed::{Expr, Type, Typed};
use crate::diag::{join_names, nearest};
use crate::engine::value::{Slot, Space, Value};
use crate::knowledge::names::Names;
use crate::knowledge::vocabulary::ListId;
use crate::rank::Level;
use crate::units::{Dimension, Unit};

/// A checked expression or the first fault in it.
pub type Checked = Result<Typed, ExpressionFault>;

/// Names of levels that stand for numbers, as rules write them.
pub const LEVELS: [(&str, f64); 6] = [
    ("none", Level::NONE.value()),
    ("slight", Level::SLIGHT.value()),
    ("moderate", Level::MODERATE.value()),
    ("severe", Level::SEVERE.value()),
    ("very-severe", Level::VERY_SEVERE.value()),
    ("excluding", Level::EXCLUDING.value()),
];

/// Checks a tree against the names that it may use.
pub fn check(ast: &Ast, names: &Names<'_>) -> Checked {
    match &ast.kind {
        AstKind::Number(number, unit) => {
            let unit = unit.unwrap_or(&Unit::all()[0]);
            let value = Value::Number(unit.to_base(*number));
            Ok(Typed { expr: Expr::Const(value), ty: Type::Number(unit.dimension), unit: Some(unit) })
        }
        AstKind::Text(text) => {
            let message = format!("'{text}' stands where nothing says what it is a name of");
            let alone = fault("text-alone", &ast.span, message);
            Err(match ["true", "false"].contains(&text.as_str()) {
                true => alone.help(format!("write {text} without quotes")),
                false => alone,
            })
        }
        AstKind::Word(word) => check_word(word, &ast.span, names),
        AstKind::List(_) => Err(fault("text-alone", &ast.span, "a list may only stand behind `in`")),
        AstKind::Not(inner) => {
            let inner = check_flag(inner, names)?;
            Ok(flag(Expr::Not(Box::new(inner))))
        }
        AstKind::All(parts) => check_flags(parts, names).map(|parts| flag(Expr::All(parts))),
        AstKind::Any(parts) => check_flags(parts, names).map(|parts| flag(Expr::Any(parts))),
        AstKind::Compare(sign, left, right) => check_comparison(*sign, left, right, &ast.span, names),
        AstKind::In(item, set, negated) => check_in(item, set, *negated, names),
        AstKind::Arithmetic(sign, left, right) => check_arithmetic(*sign, left, right, &ast.span, names),
        AstKind::Negate(inner) => {
            let typed = check(inner, names)?;
            match typed.ty {
                Type::Number(dimension) | Type::Months(dimension) if !dimension.is_point() => {
                    Ok(Typed { expr: Expr::Negate(Box::new(typed.expr)), ..typed })
                }
                // a literal such as -20 degC is a point below zero
                Type::Number(_) => match (&inner.kind, typed.unit) {
                    (AstKind::Number(number, _), Some(unit)) => {
                        Ok(Typed { expr: Expr::Const(Value::Number(unit.to_base(-number))), ..typed })
                    }
                    _ => Err(fault("wrong-unit", &ast.span, "a temperature cannot change its sign")),
                },
                other => Err(type_fault("a number", other, &inner.span, names)),
            }
        }
        AstKind::If(parts) => {
            let condition = check_flag(&parts[0], names)?;
            let (yes, no) = check_pair(&parts[1], &parts[2], names)?;
            if yes.ty != no.ty {
                return Err(disagree(&Side::of(&yes), &Side::of(&no), &parts[2].span, names));
            }
            let expr = Expr::If(Box::new([condition, yes.expr, no.expr]));
            Ok(Typed { expr, ty: yes.ty, unit: yes.unit })
        }
        AstKind::Call(name, arguments) => functions::check_call(name, arguments, &ast.span, names),
    }
}

/// Checks an expression that must be true or false.
pub fn check_flag(ast: &Ast, names: &Names<'_>) -> Result<Expr, ExpressionFault> {
    let typed = check(ast, names)?;
    match typed.ty {
        Type::Flag => Ok(typed.expr),
        other => Err(type_fault("true or false", other, &ast.span, names)),
    }
}

fn check_flags(parts: &[Ast], names: &Names<'_>) -> Result<Vec<Expr>, ExpressionFault> {
    parts.iter().map(|part| check_flag(part, names)).collect()
}

/// Checks an expression whose type is given from outside, so that quoted text can be a name.
pub fn check_as(ast: &Ast, wanted: Type, names: &Names<'_>) -> Checked {
    match (&ast.kind, wanted) {
        (AstKind::Text(text), Type::Scale(list)) => {
            let position = name_in(list, text, &ast.span, names)?;
            Ok(Typed { expr: Expr::Const(Value::Step(position)), ty: wanted, unit: None })
        }
        (AstKind::Text(text), Type::Choice(list)) => {
            let position = name_in(list, text, &ast.span, names)?;
            Ok(Typed { expr: Expr::Const(Value::Choice(position)), ty: wanted, unit: None })
        }
        (AstKind::Text(text), Type::Text) => {
            let value = Value::Text(text.as_str().into());
            Ok(Typed { expr: Expr::Const(value), ty: wanted, unit: None })
        }
        (AstKind::List(items), Type::Set(list)) => {
            let mut bits = 0u64;
            for item in items {
                bits |= 1 << text_in(list, item, names)?;
            }
            Ok(Typed { expr: Expr::Const(Value::Set(bits)), ty: wanted, unit: None })
        }
        (AstKind::List(items), Type::Texts) => {
            Ok(Typed { expr: constant_texts(items)?, ty: wanted, unit: None })
        }
        _ => {
            let typed = check(ast, names)?;
            if typed.ty == wanted {
                return Ok(typed);
            }
            let wanted = Side { ty: wanted, unit: None, slot: None };
            Err(disagree(&wanted, &Side::of(&typed), &ast.span, names))
        }
    }
}

/// Checks two expressions of which one may be quoted text that takes its meaning from the other.
pub fn check_pair(left: &Ast, right: &Ast, names: &Names<'_>) -> Result<(Typed, Typed), ExpressionFault> {
    hold_form(left, right, names)?;
    hold_form(right, left, names)?;
    if matches!(left.kind, AstKind::Text(_)) {
        let right = check(right, names)?;
        return Ok((check_as(left, right.ty, names)?, right));
    }
    let left = check(left, names)?;
    let right = match right.kind {
        AstKind::Text(_) => check_as(right, left.ty, names)?,
        _ => check(right, names)?,
    };
    Ok((left, right))
}

/// Refuses quoted text that no value of the fact beside it can be.
pub fn hold_form(text: &Ast, fact: &Ast, names: &Names<'_>) -> Result<(), ExpressionFault> {
    if let AstKind::List(items) = &text.kind {
        return items.iter().try_for_each(|item| hold_form(item, fact, names));
    }
    let (AstKind::Text(text), AstKind::Word(word), span) = (&text.kind, &fact.kind, &text.span) else {
        return Ok(());
    };
    let declaration = names.slot(word).and_then(|slot| names.vocabulary.declaration(slot));
    match declaration.and_then(|declaration| declaration.form.fault(text)) {
        Some(wrong) => Err(fault(wrong.code, span, wrong.message).help(wrong.help)),
        None => Ok(()),
    }
}

fn check_word(word: &str, span: &Range<usize>, names: &Names<'_>) -> Checked {
    if word == "true" || word == "false" {
        return Ok(flag(Expr::Const(Value::Flag(word == "true"))));
    }
    if let Some((_, level)) = LEVELS.iter().find(|(name, _)| *name == word) {
        let expr = Expr::Const(Value::Number(*level));
        return Ok(Typed { expr, ty: Type::Number(Dimension::NONE), unit: None });
    }
    if let Some(slot) = names.slot(word) {
        return Ok(fact(slot, names));
    }
    if let Some((range, end)) = word.rsplit_once('.')
        && (end == "low" || end == "high")
        && let Some(slot) = names.slot(range)
    {
        let whole = fact(slot, names);
        return match whole.ty {
            Type::Range(dimension) => Ok(Typed {
                expr: Expr::End(Box::new(whole.expr), end == "high"),
                ty: Type::Number(dimension),
                unit: whole.unit,
            }),
            _ => Err(fault("not-a-range", span, format!("`{range}` has no `.{end}`: it is not a range"))),
        };
    }
    let help = names.hint(word);
    let name = word.strip_suffix(".low").or_else(|| word.strip_suffix(".high")).unwrap_or(word);
    let message = format!("no fact is called `{word}`");
    Err(fault("undeclared-fact", span, message).help(help).undeclared(name))
}

fn fact(slot: Slot, names: &Names<'_>) -> Typed {
    match names.vocabulary.declaration(slot) {
        Some(declaration) => {
            Typed { expr: Expr::Fact(slot), ty: Type::of(declaration.kind), unit: declaration.kind.unit() }
        }
        None => {
            debug_assert_eq!(slot.space, Space::Need);
            Typed { expr: Expr::Fact(slot), ty: Type::Number(Dimension::NONE), unit: None }
        }
    }
}

fn flag(expr: Expr) -> Typed {
    Typed { expr, ty: Type::Flag, unit: None }
}

fn check_comparison(
    sign: Comparison,
    left: &Ast,
    right: &Ast,
    span: &Range<usize>,
    names: &Names<'_>,
) -> Checked {
    let (a, b) = check_pair(left, right, names)?;
    let ordered = !matches!(sign, Comparison::Equal | Comparison::Unequal);
    let ty = match (a.ty, b.ty) {
        (Type::Number(x), Type::Number(y)) if x == y => Type::Flag,
        (Type::Months(x), Type::Number(y) | Type::Months(y)) | (Type::Number(x), Type::Months(y))
            if x == y =>
        {
            Type::Mask
        }
        (Type::Scale(x), Type::Scale(y)) if x == y => Type::Flag,
        (Type::Choice(x), Type::Choice(y)) if x == y && !ordered => Type::Flag,
        (Type::Flag, Type::Flag) | (Type::Text, Type::Text) if !ordered => Type::Flag,
        (Type::Choice(x), Type::Choice(y)) if x == y => {
            return Err(fault(
                "no-order",
                span,
                format!("`{}` needs an order, and a choice has none", sign.sign()),
            ));
        }
        _ => {
            // the literal is what can be wrong, where only one side is one
            let is_literal = |ast: &Ast| matches!(ast.kind, AstKind::Number(..));
            let span = match (is_literal(left), is_literal(right)) {
                (false, true) => &right.span,
                (true, false) => &left.span,
                _ => span,
            };
            if let Some(fault) = whole_range(&[(left, &a), (right, &b)], names) {
                return Err(fault);
            }
            let fault = disagree(&Side::of(&a), &Side::of(&b), span, names);
            // a number without its unit is told as it should stand
            let bare = match (&left.kind, &right.kind) {
                (_, AstKind::Number(number, None)) => Some((number, Side::of(&a))),
                (AstKind::Number(number, None), _) => Some((number, Side::of(&b))),
                _ => None,
            };
            let with_unit = bare.and_then(|(number, other)| {
                let unit = other.unit_name(other.dimension()?);
                Unit::named(unit)
                    .map(|unit| format!("write the number with its unit: `{number} {}`", unit.name))
            });
            return Err(match (with_unit, &fault.help) {
                (Some(words), Some(help)) if fault.code == "wrong-unit" => {
                    let help = format!("{help}; {words}");
                    fault.help(help)
                }
                (Some(words), None) if fault.code == "wrong-unit" => fault.help(words),
                _ => fault,
            });
        }
    };
    let expr = Expr::Compare(sign, Box::new(a.expr), Box::new(b.expr));
    Ok(Typed { expr, ty, unit: None })
}

fn check_in(item: &Ast, set: &Ast, negated: bool, names: &Names<'_>) -> Checked {
    let (item, set) = if let AstKind::List(items) = &set.kind {
        let item_typed = check(item, names)?;
        let list = match item_typed.ty {
            Type::Scale(list) | Type::Choice(list) => list,
            Type::Text => {
                hold_form(set, item, names)?;
                let constant = constant_texts(items)?;
                return Ok(negate_if(negated, Expr::In(Box::new(item_typed.expr), Box::new(constant))));
            }
            other => return Err(type_fault("a step, a name or text", other, &item.span, names)),
        };
        let mut bits = 0u64;
        for item in items {
            bits |= 1 << text_in(list, item, names)?;
        }
        (item_typed, Expr::Const(Value::Set(bits)))
    } else {
        hold_form(item, set, names)?;
        let set_typed = check(set, names)?;
        let wanted = match set_typed.ty {
            Type::Set(list) => Type::Choice(list),
            Type::Texts => Type::Text,
            other => return Err(type_fault("a set", other, &set.span, names)),
        };
        (check_as(item, wanted, names)?, set_typed.expr)
    };
    Ok(negate_if(negated, Expr::In(Box::new(item.expr), Box::new(set))))
}

/// A list of quoted texts.
fn constant_texts(items: &[Ast]) -> Result<Expr, ExpressionFault> {
    let texts: Result<Vec<Arc<str>>, ExpressionFault> =
        items.iter().map(|item| text_of(item).map(Into::into)).collect();
    Ok(Expr::Const(Value::Texts(texts?.into())))
}

fn negate_if(negated: bool, expr: Expr) -> Typed {
    flag(if negated { Expr::Not(Box::new(expr)) } else { expr })
}

fn check_arithmetic(
    sign: Arithmetic,
    left: &Ast,
    right: &Ast,
    span: &Range<usize>,
    names: &Names<'_>,
) -> Checked {
    let (a, b) = (check(left, names)?, check(right, names)?);
    let (months, x, y) = match (a.ty, b.ty) {
        (Type::Number(x), Type::Number(y)) => (false, x, y),
        (Type::Months(x), Type::Number(y) | Type::Months(y)) | (Type::Number(x), Type::Months(y)) => {
            (true, x, y)
        }
        (Type::Number(_) | Type::Months(_), other) => {
            return Err(type_fault("a number", other, &right.span, names));
        }
        (other, _) => return Err(type_fault("a number", other, &left.span, names)),
    };
    let dimension = match sign {
        Arithmetic::Add => x.plus(y),
        Arithmetic::Subtract => x.minus(y),
        Arithmetic::Multiply => x.times(y),
        Arithmetic::Divide => x.over(y),
    };
    let Some(dimension) = dimension else {
        let words = format!("`{}` does not take {} and {}", sign.sign(), x.name(), y.name());
        return Err(fault("wrong-unit", span, words));
    };
    let unit = [a.unit, b.unit].into_iter().flatten().find(|unit| unit.dimension == dimension);
    // the ratio of two like quantities is a plain number, whatever unit they shared
    let unit = if sign == Arithmetic::Divide && dimension == Dimension::NONE { None } else { unit };
    let expr = Expr::Arithmetic(sign, Box::new(a.expr), Box::new(b.expr));
    Ok(Typed { expr, ty: if months { Type::Months(dimension) } else { Type::Number(dimension) }, unit })
}

fn text_of(ast: &Ast) -> Result<&str, ExpressionFault> {
    match &ast.kind {
        AstKind::Text(text) => Ok(text),
        _ => Err(fault("text-alone", &ast.span, "a list holds names in quotes")),
    }
}

fn text_in(list: ListId, ast: &Ast, names: &Names<'_>) -> Result<u8, ExpressionFault> {
    name_in(list, text_of(ast)?, &ast.span, names)
}

fn name_in(list: ListId, text: &str, span: &Range<usize>, names: &Names<'_>) -> Result<u8, ExpressionFault> {
    let list = names.vocabulary.list(list);
    list.position(text).ok_or_else(|| {
        let known = || list.names.iter().map(String::as_str);
        let choices = join_names(known());
        let help = match nearest(text, known()) {
            Some(name) => format!("did you mean '{name}'? It takes {choices}"),
            None => format!("it takes {choices}"),
        };
        fault("unknown-name", span, format!("'{text}' is no name of `{}`", list.id)).help(help)
    })
}

/// A fault at a range of the expression.
pub fn fault(code: &'static str, span: &Range<usize>, message: impl Into<String>) -> ExpressionFault {
    ExpressionFault::new(code, span.clone(), message)
}

/// The fault of a value of the wrong type.
pub fn type_fault(wanted: &str, found: Type, span: &Range<usize>, names: &Names<'_>) -> ExpressionFault {
    let fault =
        fault("wrong-type", span, format!("{wanted} is wanted here, and this is {}", describe(found, names)));
    match found {
        Type::Mask if wanted == "true or false" => fault.help("count the months: `count(…) >= 3 month`"),
        Type::Range(_) if wanted == "a number" => {
            fault.help("a range has two ends: put `.low` or `.high` behind its name")
        }
        _ if wanted == "true or false" => fault.help("compare it: with =, <, > or `in`, or ask `known(…)`"),
        _ => fault,
    }
}

/// One of two that are set against each other: its type, the unit that it is written in, and the fact
/// where it is nothing else.
struct Side {
    ty: Type,
    unit: Option<&'static Unit>,
    slot: Option<Slot>,
}

impl Side {
    fn of(typed: &Typed) -> Self {
        let slot = match typed.expr {
            Expr::Fact(slot) => Some(slot),
            _ => None,
        };
        Self { ty: typed.ty, unit: typed.unit, slot }
    }

    fn dimension(&self) -> Option<Dimension> {
        match self.ty {
            Type::Number(dimension) | Type::Months(dimension) | Type::Range(dimension) => Some(dimension),
            _ => None,
        }
    }

    fn unit_name(&self, dimension: Dimension) -> &'static str {
        match self.unit {
            Some(unit) if unit.name != "1" => unit.name,
            _ => dimension.name(),
        }
    }
}

/// The fault of a range that is held against a number of its unit, where an end of it is meant.
fn whole_range(sides: &[(&Ast, &Typed); 2], names: &Names<'_>) -> Option<ExpressionFault> {
    let one_way = |[range, number]: [usize; 2]| match (sides[range].1.ty, sides[number].1.ty) {
        (Type::Range(x), Type::Number(y)) if x == y => Some(sides[range]),
        _ => None,
    };
    let (ast, typed) = one_way([0, 1]).or_else(|| one_way([1, 0]))?;
    let name = names.name_of(Side::of(typed).slot?);
    let message = format!("`{name}` is a range, and a number does not compare with both its ends");
    let help = format!("write `{name}.low` or `{name}.high`");
    Some(fault("wrong-type", &ast.span, message).help(help))
}

/// Says that two do not go together, in the units that their facts and numbers are written in.
fn disagree(a: &Side, b: &Side, span: &Range<usize>, names: &Names<'_>) -> ExpressionFault {
    match (a.dimension(), b.dimension()) {
        (Some(x), Some(y)) if x != y => {
            let message = format!("{} and {} do not compare", a.unit_name(x), b.unit_name(y));
            let fault = fault("wrong-unit", span, message);
            let fact =
                [(a, x), (b, y)].into_iter().find_map(|(side, of)| Some((side.slot?, side.unit_name(of))));
            match fact {
                Some((slot, unit)) => fault.help(format!("`{}` is in {unit}", names.name_of(slot))),
                None => fault,
            }
        }
        _ => {
            let message =
                format!("{} and {} do not go together", describe(a.ty, names), describe(b.ty, names));
            let list = [a.ty, b.ty].into_iter().find_map(|ty| match ty {
                Type::Scale(list) | Type::Choice(list) => Some(names.vocabulary.list(list)),
                _ => None,
            });
            let fault = fault("wrong-type", span, message);
            match list {
                Some(list) => {
                    let known: Vec<String> = list.names.iter().map(|name| format!("'{name}'")).collect();
                    fault.help(format!(
                        "a name stands in quotes, one of {}",
                        join_names(known.iter().map(String::as_str))
                    ))
                }
                None => fault,
            }
        }
    }
}

fn describe(ty: Type, names: &Names<'_>) -> String {
    let list = |list: ListId| names.vocabulary.list(list).id.clone();
    match ty {
        Type::Number(dimension) => match dimension.name() {
            "a plain number" => "a plain number".to_owned(),
            unit => format!("a number in {unit}"),
        },
        Type::Range(dimension) => format!("a range in {}", dimension.name()),
        Type::Months(dimension) => format!("twelve numbers in {}", dimension.name()),
        Type::Mask => "an answer for each month".to_owned(),
        Type::Flag => "true or false".to_owned(),
        Type::Scale(id) => format!("a step of `{}`", list(id)),
        Type::Choice(id) => format!("a name of `{}`", list(id)),
        Type::Set(id) => format!("a set of `{}`", list(id)),
        Type::Text => "text".to_owned(),
        Type::Texts => "a list of texts".to_owned(),
    }
}
