//! A rule after checking.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use super::citation::Citation;
use super::later::Later;
use super::names::Names;
use super::rule_figures::{Figure, Figures};
use crate::diag::Place;
use crate::engine::expression::{Ast, AstKind, Expr, Typed, check, check_as};
use crate::engine::value::{Slot, Space, Value};

/// Words with values in them.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Template {
    /// Words and values in turn.
    pub parts: Vec<TemplatePart>,
}

/// A part of a template.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum TemplatePart {
    /// Words.
    Words(String),
    /// The value of an expression, written with its unit.
    Value(Typed),
    /// Words that stand only where a condition holds.
    Where(Expr, Template),
}

/// One condition of a rule: what `and`, `or` and `not` join.
#[derive(Clone, Debug)]
pub struct Condition {
    /// Its canonical text.
    pub text: String,
    /// The condition itself.
    pub whole: Typed,
    /// The two sides of a comparison: what is observed and what it is held against.
    pub sides: Option<(Typed, Typed)>,
}

/// How grave a caution is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Gravity {
    /// Good to know.
    Note,
    /// Take care.
    Care,
    /// Somebody or something can be hurt.
    Danger,
    /// The law speaks.
    Law,
}

impl Gravity {
    /// The names that files use.
    pub const NAMES: [(&'static str, Self); 4] =
        [("note", Self::Note), ("care", Self::Care), ("danger", Self::Danger), ("law", Self::Law)];

    /// The name.
    pub fn name(self) -> &'static str {
        Self::NAMES[self as usize].0
    }
}

/// When a task falls due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Stage {
    /// Before planting.
    Before,
    /// Planting until cover.
    Establish,
    /// The first year.
    FirstYear,
    /// Every year.
    Upkeep,
    /// In drought.
    Drought,
    /// After drought or damage.
    Recovery,
}

impl Stage {
    /// The names that files use.
    pub const NAMES: [(&'static str, Self); 6] = [
        ("before", Self::Before),
        ("establish", Self::Establish),
        ("first-year", Self::FirstYear),
        ("upkeep", Self::Upkeep),
        ("drought", Self::Drought),
        ("recovery", Self::Recovery),
    ];

    /// The name.
    pub fn name(self) -> &'static str {
        Self::NAMES[self as usize].0
    }
}

/// The first and the last place that a task may have among those of its stage.
pub const TASK_ORDERS: [u8; 2] = [1, 99];
/// The place of one that does not say it.
pub const TASK_ORDER_UNSAID: u8 = 50;

/// What a rule does when it fires.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub enum Effect {
    /// Gives a fact a value.
    Derive {
        /// The fact.
        slot: Slot,
        /// Its value.
        value: Typed,
        /// The value as written.
        written: Later<Option<Ast>>,
    },
    /// Rates a need on the continuous level.
    Rate {
        /// Position of the need.
        need: usize,
        /// Its level.
        level: Typed,
        /// The level as written.
        written: Later<Option<Ast>>,
    },
    /// Sets a need to a fixed level.
    Limit {
        /// Position of the need.
        need: usize,
        /// Its level.
        level: f64,
    },
    /// Refuses the species.
    Exclude {
        /// Position of the need.
        need: usize,
    },
    /// Speaks for the species.
    Credit {
        /// Position of the need.
        need: usize,
    },
    /// Warns.
    Caution {
        /// How grave it is.
        gravity: Gravity,
        /// Whose word goes before ours.
        defer_to: String,
    },
    /// Tells what to do.
    Task {
        /// When it falls due.
        stage: Stage,
        /// Where among the tasks of its stage it is told, within [`TASK_ORDERS`].
        order: u8,
        /// What to do.
        what: Later<Template>,
    },
}

impl Effect {
    /// The need whose level it moves.
    pub fn rated_need(&self) -> Option<usize> {
        match self {
            Self::Rate { need, .. } | Self::Limit { need, .. } | Self::Exclude { need } => Some(*need),
            _ => None,
        }
    }

    /// The slot that it writes.
    pub fn writes(&self) -> Option<Slot> {
        match self {
            Self::Derive { slot, .. } => Some(*slot),
            _ => self.rated_need().map(|index| Slot { space: Space::Need, index }),
        }
    }

    /// The name that rule files use.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Derive { .. } => "derive",
            Self::Rate { .. } => "rate",
            Self::Limit { .. } => "limit",
            Self::Exclude { .. } => "exclude",
            Self::Credit { .. } => "credit",
            Self::Caution { .. } => "caution",
            Self::Task { .. } => "task",
        }
    }
}

/// What a case of a rule expects.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Expectation {
    /// The rule fires.
    Fires,
    /// The rule fires with a level whose whole part is this.
    Named(u8),
    /// The rule fires with this level.
    Level(f64),
    /// The rule fires and derives this.
    Derives(Value),
    /// The rule does not fire.
    Silent,
}

/// A case that a rule file brings along.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Case {
    /// What is known.
    pub given: Vec<(Slot, Value)>,
    /// What must come of it.
    pub expects: Expectation,
    /// Where it stands.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

/// A rule.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Rule {
    /// Its id, which is the stem of its file.
    pub id: String,
    /// Folder that it stands in.
    pub topic: String,
    /// What it compares with what.
    pub title: String,
    /// Why that matters, in plain words.
    pub why: String,
    /// Where it comes from.
    pub citations: Vec<Citation>,
    /// Its condition as written.
    pub written: Later<Option<Ast>>,
    /// Its condition.
    pub when: Option<Typed>,
    /// What it does.
    pub effects: Vec<Effect>,
    /// What it observes, where the file says so.
    pub observed: Option<Figure>,
    /// What that is held against, where the file says so.
    pub needed: Option<Figure>,
    /// The figures of its reasons, made when first asked for.
    #[serde(skip)]
    pub(super) figures: OnceLock<Figures>,
    /// What it says when it fires.
    pub because: Later<Template>,
    /// Its own cases.
    pub cases: Later<Vec<Case>>,
    /// Whether it reads only facts of the site and speaks of no single species.
    pub site_only: bool,
    /// Where it stands.
    #[serde(with = "super::stored::place")]
    pub place: Place,
}

impl Rule {
    /// What its reasons observe and hold against each other.
    pub fn figures(&self, names: &Names<'_>) -> &Figures {
        self.figures.get_or_init(|| Figures::of(self, names))
    }

    /// The parts of its condition that `and`, `or` and `not` join. Made when an answer is explained,
    /// since most rules of most answers are not.
    pub fn conditions(&self, names: &Names<'_>) -> Vec<Condition> {
        let mut conditions = Vec::new();
        if let Some(written) = &*self.written {
            collect_conditions(written, names, &mut conditions);
        }
        conditions
    }

    /// Every slot that the rule reads for its value or its being known, each once.
    pub fn reads(&self) -> Vec<Slot> {
        let mut slots = Vec::new();
        let mut note = |slot: Slot, _: bool| {
            if !slots.contains(&slot) {
                slots.push(slot);
            }
        };
        if let Some(when) = &self.when {
            when.expr.visit_slots(&mut note);
        }
        for effect in &self.effects {
            match effect {
                Effect::Derive { value, .. } | Effect::Rate { level: value, .. } => {
                    value.expr.visit_slots(&mut note);
                }
                _ => {}
            }
        }
        slots
    }

    /// Names of the tables that it looks up in.
    pub fn tables(&self) -> Vec<&str> {
        let levels = self.effects.iter().filter_map(|effect| match effect {
            Effect::Derive { written, .. } | Effect::Rate { written, .. } => written.as_ref(),
            _ => None,
        });
        let mut tables = Vec::new();
        self.written.iter().chain(levels).for_each(|ast| collect_tables(ast, &mut tables));
        tables
    }

    /// Positions of the needs that it may lower a species on.
    pub fn rated_needs(&self) -> impl Iterator<Item = usize> + '_ {
        self.effects.iter().filter_map(Effect::rated_need)
    }
}

/// Collects the names in every `lookup('table', …)` of an expression.
fn collect_tables<'a>(ast: &'a Ast, tables: &mut Vec<&'a str>) {
    let mut go = |part: &'a Ast| collect_tables(part, tables);
    match &ast.kind {
        AstKind::Number(..) | AstKind::Text(_) | AstKind::Word(_) => {}
        AstKind::List(parts) | AstKind::All(parts) | AstKind::Any(parts) => parts.iter().for_each(go),
        AstKind::Not(part) | AstKind::Negate(part) => go(part),
        AstKind::Compare(_, a, b) | AstKind::In(a, b, _) | AstKind::Arithmetic(_, a, b) => {
            [a, b].into_iter().for_each(|part| go(part));
        }
        AstKind::If(parts) => parts.iter().for_each(go),
        AstKind::Call(name, arguments) => {
            arguments.iter().for_each(|(_, part)| go(part));
            if let ("lookup", Some(AstKind::Text(table))) =
                (name.as_str(), arguments.first().map(|(_, part)| &part.kind))
            {
                tables.push(table);
            }
        }
    }
}

/// Breaks a condition into the parts that `and`, `or` and `not` join.
fn collect_conditions(ast: &Ast, names: &Names<'_>, conditions: &mut Vec<Condition>) {
    match &ast.kind {
        AstKind::All(parts) | AstKind::Any(parts) => {
            parts.iter().for_each(|part| collect_conditions(part, names, conditions));
        }
        AstKind::Not(inner) => collect_conditions(inner, names, conditions),
        _ => {
            let Ok(whole) = check(ast, names) else { return };
            let sides = match &ast.kind {
                AstKind::Compare(_, left, right) => check(left, names)
                    .and_then(|left| check_as(right, left.ty, names).map(|right| (left, right)))
                    .ok(),
                _ => None,
            };
            conditions.push(Condition { text: ast.to_string(), whole, sides });
        }
    }
}
