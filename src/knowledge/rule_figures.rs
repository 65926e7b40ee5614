//! What a rule observes and what it holds that against: as its file states it, or else the two sides
//! that its level or its condition compares.

use serde::{Deserialize, Serialize};

use super::names::Names;
use super::rule::{Effect, Rule};
use crate::engine::expression::{Arithmetic, Ast, AstKind, Expr, Type, Typed, check_pair};
use crate::engine::value::{Slot, Space};

/// An expression that a reason gives the value of.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Figure {
    /// What is evaluated.
    pub typed: Typed,
    /// Its canonical text; of a fact, the name.
    pub written: String,
}

/// The figures of a rule.
#[derive(Clone, Debug, Default)]
pub struct Figures {
    /// What is observed: the first of these that has a value.
    pub observed: Vec<Figure>,
    /// What it is held against, of the same kind and unit; `None` where the rule compares nothing
    /// that a reader could set side by side.
    pub needed: Option<Figure>,
}

impl Figures {
    /// The figures of a rule.
    pub fn of(rule: &Rule, names: &Names<'_>) -> Self {
        let mut figures = match &rule.observed {
            Some(observed) => Self { observed: vec![observed.clone()], needed: rule.needed.clone() },
            None => Self::found(rule, names),
        };
        // both are written in the unit of what is observed
        let unit = figures.observed.first().and_then(|figure| figure.typed.unit);
        if let (Some(needed), Some(unit)) = (&mut figures.needed, unit) {
            needed.typed.unit = Some(unit);
        }
        figures
    }

    fn found(rule: &Rule, names: &Names<'_>) -> Self {
        let level = rule.effects.iter().find_map(|effect| match effect {
            Effect::Rate { level, written, .. } => Some((level, written)),
            _ => None,
        });
        // what the level is computed from says more than what the condition asks
        let levels = level.iter().filter_map(|one| one.1.as_ref());
        let written: Vec<&Ast> = levels.chain(rule.written.as_ref()).collect();
        let search = |constants| written.iter().find_map(|ast| first_pair(ast, constants, names));
        // a graded rule compares with a constant only to ask whether it speaks at all
        let pair = search(false).or_else(|| if level.is_some() { None } else { search(true) });
        if let Some((observed, needed)) = pair {
            return Self { observed: vec![observed], needed: Some(needed) };
        }
        let mut slots: Vec<Slot> = Vec::new();
        for typed in level.iter().map(|one| one.0).chain(&rule.when) {
            slots.extend(typed.expr.value_slots());
        }
        let mut figures: Vec<(usize, Figure)> = slots.into_iter().filter_map(|s| of_slot(s, names)).collect();
        figures.sort_by_key(|(preference, _)| *preference);
        Self { observed: figures.into_iter().map(|(_, figure)| figure).collect(), needed: None }
    }
}

/// Whether values of two types can be set side by side: of one kind and unit, or a number and a range.
pub fn side_by_side(a: Type, b: Type) -> bool {
    match (a, b) {
        (Type::Number(x), Type::Range(y)) | (Type::Range(x), Type::Number(y)) => x == y,
        _ => a == b,
    }
}

/// A slot as a figure, with how late it is to be taken: what is measured before names and flags, what
/// is seen at the site before traits.
fn of_slot(slot: Slot, names: &Names<'_>) -> Option<(usize, Figure)> {
    let kind = names.vocabulary.declaration(slot)?.kind;
    let ty = Type::of(kind);
    let measured = matches!(ty, Type::Number(_) | Type::Range(_) | Type::Months(_) | Type::Scale(_));
    let typed = Typed { expr: Expr::Fact(slot), ty, unit: kind.unit() };
    let preference = usize::from(!measured) * 2 + usize::from(slot.space == Space::Species);
    Some((preference, Figure { typed, written: names.name_of(slot) }))
}

/// The first two sides in an expression, from the outside to the inside.
fn first_pair(ast: &Ast, constants: bool, names: &Names<'_>) -> Option<(Figure, Figure)> {
    // what must not hold is no need
    if matches!(ast.kind, AstKind::Not(_)) {
        return None;
    }
    let own = || {
        let (a, b) = sides(ast)?;
        let constants = constants && matches!(ast.kind, AstKind::Compare(..));
        let (left, right) = check_pair(a, b, names).ok()?;
        let figure = |typed: Typed, ast: &Ast| Figure { typed, written: ast.to_string() };
        if !side_by_side(left.ty, right.ty) {
            return None;
        }
        match (Side::of(&left, constants)?, Side::of(&right, constants)?) {
            (Side::Observed, Side::Needed) => Some((figure(left, a), figure(right, b))),
            (Side::Needed, Side::Observed) => Some((figure(right, b), figure(left, a))),
            _ => None,
        }
    };
    own().or_else(|| ast.parts().into_iter().find_map(|part| first_pair(part, constants, names)))
}

/// The two sides of a comparison, a quotient, a difference, or of how far one lies from the other.
fn sides(ast: &Ast) -> Option<(&Ast, &Ast)> {
    match &ast.kind {
        AstKind::Compare(_, a, b) | AstKind::Arithmetic(Arithmetic::Divide | Arithmetic::Subtract, a, b) => {
            Some((a, b))
        }
        AstKind::Call(name, arguments) => match (name.as_str(), &arguments[..]) {
            ("steps" | "outside" | "above" | "below", [(_, a), (_, b)]) => Some((a, b)),
            _ => None,
        },
        _ => None,
    }
}

/// What a side of a comparison is.
enum Side {
    /// A figure of the site, or of the species at it.
    Observed,
    /// A trait, or a number that stands for one.
    Needed,
}

impl Side {
    /// `None` where it is computed from both, or by more than a choice among facts.
    fn of(typed: &Typed, constants: bool) -> Option<Self> {
        if !is_plain(&typed.expr) || !matches!(typed.ty, Type::Number(_) | Type::Range(_) | Type::Scale(_)) {
            return None;
        }
        let slots = typed.expr.value_slots();
        let traits = slots.iter().filter(|slot| slot.space == Space::Species).count();
        match (slots.len(), traits) {
            (0, _) => (constants && matches!(typed.ty, Type::Number(_))).then_some(Self::Needed),
            (_, 0) => Some(Self::Observed),
            (all, traits) if all == traits => Some(Self::Needed),
            _ => None,
        }
    }
}

fn is_plain(expr: &Expr) -> bool {
    match expr {
        Expr::Fact(_) | Expr::Const(_) => true,
        Expr::End(inner, _) => is_plain(inner),
        Expr::First(parts) | Expr::Extreme(_, parts) => parts.iter().all(is_plain),
        _ => false,
    }
}
