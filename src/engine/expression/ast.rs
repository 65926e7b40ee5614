//! The tree of an expression as written, and its canonical text.

use std::fmt;
use std::ops::Range;

use serde::{Deserialize, Serialize};

use crate::units::Unit;

/// A node with its byte range in the expression.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ast {
    /// Byte range.
    pub span: Range<usize>,
    /// What it is.
    pub kind: AstKind,
}

/// A comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Comparison {
    /// `=`
    Equal,
    /// `!=`
    Unequal,
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
}

/// An operation on numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Arithmetic {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
}

/// An argument of a function, with its name where it has one.
pub type Argument = (Option<(String, Range<usize>)>, Ast);

/// What a node is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum AstKind {
    /// A number.
    Number(f64, Option<&'static Unit>),
    /// Quoted text.
    Text(String),
    /// A bare word: a path, `true`, `false` or the name of a level.
    Word(String),
    /// `[a, b]`
    List(Vec<Ast>),
    /// `not a`
    Not(Box<Ast>),
    /// `a and b …`
    All(Vec<Ast>),
    /// `a or b …`
    Any(Vec<Ast>),
    /// `a < b`
    Compare(Comparison, Box<Ast>, Box<Ast>),
    /// `a in b`, or `a not in b`
    In(Box<Ast>, Box<Ast>, bool),
    /// `a + b`
    Arithmetic(Arithmetic, Box<Ast>, Box<Ast>),
    /// `-a`
    Negate(Box<Ast>),
    /// `if a then b else c`
    If(Box<[Ast; 3]>),
    /// `name(a, key = b)`
    Call(String, Vec<Argument>),
}

impl Comparison {
    /// As written.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Equal => "=",
            Self::Unequal => "!=",
            Self::Less => "<",
            Self::AtMost => "<=",
            Self::More => ">",
            Self::AtLeast => ">=",
        }
    }
}

impl Arithmetic {
    /// As written.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Add => "+",
            Self::Subtract => "-",
            Self::Multiply => "*",
            Self::Divide => "/",
        }
    }
}

impl AstKind {
    /// How tightly it binds; a child that binds less than its parent stands in parentheses.
    fn tightness(&self) -> u8 {
        match self {
            Self::If(_) => 0,
            Self::Any(_) => 1,
            Self::All(_) => 2,
            Self::Not(_) => 3,
            Self::Compare(..) | Self::In(..) => 4,
            Self::Arithmetic(Arithmetic::Add | Arithmetic::Subtract, ..) => 5,
            Self::Arithmetic(..) => 6,
            Self::Negate(_) => 7,
            _ => 8,
        }
    }
}

impl Ast {
    /// The trees right below it, in the order of the text.
    pub fn parts(&self) -> Vec<&Self> {
        match &self.kind {
            AstKind::Number(..) | AstKind::Text(_) | AstKind::Word(_) => Vec::new(),
            AstKind::List(parts) | AstKind::All(parts) | AstKind::Any(parts) => parts.iter().collect(),
            AstKind::Not(inner) | AstKind::Negate(inner) => vec![inner],
            AstKind::Compare(_, a, b) | AstKind::In(a, b, _) | AstKind::Arithmetic(_, a, b) => vec![a, b],
            AstKind::If(parts) => parts.iter().collect(),
            AstKind::Call(_, arguments) => arguments.iter().map(|(_, argument)| argument).collect(),
        }
    }
}

impl fmt::Display for Ast {
    /// The canonical text: parsing it again gives the same tree.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let own = self.kind.tightness();
        let inner = |f: &mut fmt::Formatter<'_>, child: &Self, least: u8| {
            if child.kind.tightness() < least { write!(f, "({child})") } else { write!(f, "{child}") }
        };
        let joined = |f: &mut fmt::Formatter<'_>, children: &[Self], word: &str| {
            for (i, child) in children.iter().enumerate() {
                if i > 0 {
                    write!(f, " {word} ")?;
                }
                inner(f, child, own + 1)?;
            }
            Ok(())
        };
        match &self.kind {
            AstKind::Number(number, None) => write!(f, "{number}"),
            AstKind::Number(number, Some(unit)) => write!(f, "{number} {}", unit.name),
            AstKind::Text(text) => {
                let quote = if text.contains('\'') { '"' } else { '\'' };
                write!(f, "{quote}{text}{quote}")
            }
            AstKind::Word(word) => f.write_str(word),
            AstKind::List(items) => {
                f.write_str("[")?;
                for (i, item) in items.iter().enumerate() {
                    write!(f, "{}{item}", if i > 0 { ", " } else { "" })?;
                }
                f.write_str("]")
            }
            AstKind::Not(child) => {
                f.write_str("not ")?;
                inner(f, child, own)
            }
            AstKind::All(children) => joined(f, children, "and"),
            AstKind::Any(children) => joined(f, children, "or"),
            AstKind::Compare(sign, left, right) => {
                inner(f, left, own + 1)?;
                write!(f, " {} ", sign.sign())?;
                inner(f, right, own + 1)
            }
            AstKind::In(left, right, negated) => {
                inner(f, left, own + 1)?;
                f.write_str(if *negated { " not in " } else { " in " })?;
                inner(f, right, own + 1)
            }
            AstKind::Arithmetic(sign, left, right) => {
                inner(f, left, own)?;
                write!(f, " {} ", sign.sign())?;
                inner(f, right, own + 1)
            }
            AstKind::Negate(child) => {
                f.write_str("-")?;
                inner(f, child, own)
            }
            AstKind::If(parts) => write!(f, "if {} then {} else {}", parts[0], parts[1], parts[2]),
            AstKind::Call(name, arguments) => {
                write!(f, "{name}(")?;
                for (i, (key, value)) in arguments.iter().enumerate() {
                    f.write_str(if i > 0 { ", " } else { "" })?;
                    if let Some((key, _)) = key {
                        write!(f, "{key} = ")?;
                    }
                    write!(f, "{value}")?;
                }
                f.write_str(")")
            }
        }
    }
}
