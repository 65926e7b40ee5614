//! Expressions after checking: every name is a slot, every text is a step or a name, every number
//! is in the base of its unit. Evaluating one cannot fail; it can only be unknown.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::ast::{Arithmetic, Comparison};
use super::eval::Facts;
use crate::engine::value::{Slot, Value};
use crate::knowledge::vocabulary::{Kind, ListId};
use crate::units::{Dimension, Unit};

/// The type of an expression.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Type {
    /// A number with a dimension.
    Number(Dimension),
    /// Two ends with a dimension.
    Range(Dimension),
    /// Twelve numbers with a dimension.
    Months(Dimension),
    /// Twelve answers.
    Mask,
    /// True, false or unknown.
    Flag,
    /// A step of a scale.
    Scale(ListId),
    /// A name of a choice.
    Choice(ListId),
    /// Several names of a choice.
    Set(ListId),
    /// Free text.
    Text,
    /// Several free texts.
    Texts,
}

impl Type {
    /// The type of a declared fact.
    pub fn of(kind: Kind) -> Self {
        match kind {
            Kind::Number(unit) => Self::Number(unit.dimension),
            Kind::Range(unit) => Self::Range(unit.dimension),
            Kind::Months(unit) => Self::Months(unit.dimension),
            Kind::Flag => Self::Flag,
            Kind::Scale(list) => Self::Scale(list),
            Kind::Choice(list) => Self::Choice(list),
            Kind::Set(list) => Self::Set(list),
            Kind::Text => Self::Text,
            Kind::Texts => Self::Texts,
        }
    }
}

/// A checked expression with its type and the unit that its numbers are printed in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Typed {
    /// What to evaluate.
    pub expr: Expr,
    /// Its type.
    pub ty: Type,
    /// Unit for printing, where it has numbers.
    pub unit: Option<&'static Unit>,
}

impl Typed {
    /// The kind that a value of this expression is printed as.
    pub fn kind(&self) -> Kind {
        let unit = |dimension| {
            self.unit
                .filter(|unit| unit.dimension == dimension)
                .or_else(|| Unit::of_dimension(dimension))
                .unwrap_or(&Unit::all()[0])
        };
        match self.ty {
            Type::Number(dimension) => Kind::Number(unit(dimension)),
            Type::Range(dimension) => Kind::Range(unit(dimension)),
            Type::Months(dimension) => Kind::Months(unit(dimension)),
            Type::Mask | Type::Flag => Kind::Flag,
            Type::Scale(list) => Kind::Scale(list),
            Type::Choice(list) => Kind::Choice(list),
            Type::Set(list) => Kind::Set(list),
            Type::Text => Kind::Text,
            Type::Texts => Kind::Texts,
        }
    }
}

/// A summary of twelve numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Summary {
    /// Sum of the months, or of those that a mask lets through.
    Sum,
    /// Mean of the same.
    Mean,
    /// Smallest.
    Least,
    /// Greatest.
    Greatest,
}

/// How a number lies to a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Beyond {
    /// How far below its lower end.
    Below,
    /// How far above its upper end.
    Above,
    /// How far outside either end.
    Outside,
}

/// A checked expression.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Expr {
    /// A constant.
    Const(Value),
    /// The value in a slot.
    Fact(Slot),
    /// The lower (`false`) or upper (`true`) end of a range.
    End(Box<Expr>, bool),
    /// Whether a slot has a value.
    Known(Slot),
    /// Negation.
    Not(Box<Expr>),
    /// All of them.
    All(Vec<Expr>),
    /// Any of them.
    Any(Vec<Expr>),
    /// A comparison of numbers, months, steps or names.
    Compare(Comparison, Box<Expr>, Box<Expr>),
    /// Whether a name or text is among others.
    In(Box<Expr>, Box<Expr>),
    /// An operation on numbers or months.
    Arithmetic(Arithmetic, Box<Expr>, Box<Expr>),
    /// Change of sign.
    Negate(Box<Expr>),
    /// A choice between two.
    If(Box<[Expr; 3]>),
    /// A level by linear interpolation between anchors, sorted by their number.
    Grade(Box<Expr>, Arc<[(f64, f64)]>),
    /// The smallest (`false`) or greatest (`true`) of several.
    Extreme(bool, Vec<Expr>),
    /// Size without sign.
    Abs(Box<Expr>),
    /// How far a number lies beyond a range.
    Beyond(Beyond, Box<Expr>, Box<Expr>),
    /// Difference of two steps of one scale.
    Steps(Box<Expr>, Box<Expr>),
    /// The first that is known.
    First(Vec<Expr>),
    /// How many months, as a time.
    Count(Box<Expr>),
    /// Longest run of months, round the year, as a time.
    Longest(Box<Expr>),
    /// A summary of months, perhaps only of some.
    Summarise(Summary, Box<Expr>, Option<Box<Expr>>),
    /// How many names.
    Size(Box<Expr>),
    /// Whether two sets share a name.
    Overlap(Box<Expr>, Box<Expr>),
    /// A column of a table by the position of the key.
    Lookup(Box<Expr>, Arc<[Option<Value>]>),
}

impl Expr {
    /// Calls `visit` with every slot that the expression reads, and with whether it is read only to
    /// ask if it is known.
    pub fn visit_slots(&self, visit: &mut impl FnMut(Slot, bool)) {
        match self {
            Self::Fact(slot) => visit(*slot, false),
            Self::Known(slot) => visit(*slot, true),
            other => {
                let (pair, list) = other.parts();
                pair.into_iter().flatten().for_each(|part| part.visit_slots(visit));
                list.iter().for_each(|part| part.visit_slots(visit));
            }
        }
    }

    /// The unknown slots that an unknown answer waits for, each once. What a decided part of the
    /// expression passes over is left out.
    pub fn missing(&self, facts: &impl Facts, missing: &mut Vec<Slot>) {
        match self {
            Self::Fact(slot) => {
                if facts.get(*slot).is_none() && !missing.contains(slot) {
                    missing.push(*slot);
                }
            }
            Self::Known(slot) => {
                if facts.knows(*slot).is_none() && !missing.contains(slot) {
                    missing.push(*slot);
                }
            }
            Self::Const(_) => {}
            Self::All(parts) | Self::Any(parts) => {
                if self.truth(facts).is_none() {
                    let open = parts.iter().filter(|part| part.truth(facts).is_none());
                    open.for_each(|part| part.missing(facts, missing));
                }
            }
            Self::If(parts) => match parts[0].truth(facts) {
                Some(true) => parts[1].missing(facts, missing),
                Some(false) => parts[2].missing(facts, missing),
                None => parts.iter().for_each(|part| part.missing(facts, missing)),
            },
            other => {
                if other.eval(facts).is_none() {
                    other.children().for_each(|child| child.missing(facts, missing));
                }
            }
        }
    }

    /// The parts of an expression, in their order.
    fn children(&self) -> impl Iterator<Item = &Self> {
        let (pair, list) = self.parts();
        pair.into_iter().flatten().chain(list)
    }

    /// The parts of an expression: up to two that it names, or those of its list.
    fn parts(&self) -> ([Option<&Self>; 2], &[Self]) {
        match self {
            Self::Const(_) | Self::Fact(_) | Self::Known(_) => ([None, None], &[]),
            Self::End(a, _)
            | Self::Not(a)
            | Self::Negate(a)
            | Self::Grade(a, _)
            | Self::Abs(a)
            | Self::Count(a)
            | Self::Longest(a)
            | Self::Size(a)
            | Self::Lookup(a, _)
            | Self::Summarise(_, a, None) => ([Some(a), None], &[]),
            Self::All(parts) | Self::Any(parts) | Self::Extreme(_, parts) | Self::First(parts) => {
                ([None, None], parts)
            }
            Self::Compare(_, a, b)
            | Self::In(a, b)
            | Self::Arithmetic(_, a, b)
            | Self::Beyond(_, a, b)
            | Self::Steps(a, b)
            | Self::Overlap(a, b)
            | Self::Summarise(_, a, Some(b)) => ([Some(a), Some(b)], &[]),
            Self::If(parts) => ([None, None], &**parts),
        }
    }

    /// The slots read for their value, each once, in the order of first reading.
    pub fn value_slots(&self) -> Vec<Slot> {
        let mut slots = Vec::new();
        self.visit_slots(&mut |slot, only_known| {
            if !only_known && !slots.contains(&slot) {
                slots.push(slot);
            }
        });
        slots
    }
}
