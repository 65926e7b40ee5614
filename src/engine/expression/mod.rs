//! The rule language: text to tokens, to a tree, to a checked expression, to a value.
//!
//! The language is small, total and typed. Every expression ends, none can fail while it runs, and
//! an unknown fact makes an answer unknown instead of false.

mod ast;
mod check;
mod eval;
mod functions;
mod lexer;
mod parser;
mod slips;
mod typed;

pub use ast::{Arithmetic, Ast, AstKind};
pub use check::{LEVELS, check, check_as, check_flag, check_pair};
pub use eval::Facts;
pub use lexer::ExpressionFault;
pub use parser::parse;
pub use typed::{Expr, Type, Typed};
