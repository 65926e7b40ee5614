//! The cases that rules bring along, run one by one.

use std::collections::HashMap;

use super::expression::{AstKind, Expr, Facts};
use super::open_point::EXCLUDING;
use super::value::{Slot, Value};
use crate::diag::{Finding, Findings, join_names};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Case, Effect, Expectation, Rule};
use crate::rank::Level;
use crate::units::format_number;

struct Given(HashMap<Slot, Value>);

impl Facts for Given {
    fn get(&self, slot: Slot) -> Option<&Value> {
        self.0.get(&slot)
    }
}

/// What came out otherwise than the case says, and what would mend it where that is known.
struct Failure {
    message: String,
    help: Option<String>,
}

impl From<String> for Failure {
    fn from(message: String) -> Self {
        Self { message, help: None }
    }
}

/// Runs every case of every rule and reports those that come out otherwise.
pub fn check_cases(knowledge: &Knowledge) -> Findings {
    let mut findings = Findings::new();
    for rule in &knowledge.rules {
        for case in &rule.cases {
            if let Some(Failure { message, help }) = run_case(knowledge, rule, case) {
                let message = format!("`{}`: {message}", rule.id);
                findings.push(Finding::error("case-fails", &case.place, message).maybe_help(help));
            }
        }
    }
    findings
}

/// `None` when the case holds, else what came instead.
fn run_case(knowledge: &Knowledge, rule: &Rule, case: &Case) -> Option<Failure> {
    let facts = Given(case.given.iter().cloned().collect());
    let truth = rule.when.as_ref().map_or(Some(true), |when| when.expr.truth(&facts));
    let level = rule.effects.iter().find_map(|effect| match effect {
        Effect::Rate { level, .. } => {
            Some(level.expr.number(&facts).map(|level| level.clamp(0.0, EXCLUDING)))
        }
        Effect::Limit { level, .. } => Some(Some(*level)),
        Effect::Exclude { .. } => Some(Some(EXCLUDING)),
        _ => None,
    });
    match (truth, &case.expects) {
        (Some(false), Expectation::Silent) => None,
        (Some(false), _) => Some(Failure {
            message: "the rule stays silent where the case says that it fires".to_owned(),
            help: broken(rule, &facts),
        }),
        // an open rule is not a silent one, and a rule that cannot tell its level has not spoken
        (None, _) => Some(undecided(knowledge, rule, &facts)),
        (Some(true), _) if level == Some(None) => Some(undecided(knowledge, rule, &facts)),
        (Some(true), Expectation::Silent) => {
            Some("the rule fires where the case says that it stays silent".to_owned().into())
        }
        (Some(true), expected) => {
            unlike_expected(knowledge, rule, &facts, level.flatten(), expected).map(Failure::from)
        }
    }
}

/// What of a condition does not hold in a case, as it is written: of parts joined by `and` those alone.
fn broken(rule: &Rule, facts: &Given) -> Option<String> {
    let (when, written) = (rule.when.as_ref()?, (*rule.written).as_ref()?);
    let texts: Vec<String> = match (&when.expr, &written.kind) {
        (Expr::All(parts), AstKind::All(asts)) => {
            let broken = parts.iter().zip(asts).filter(|(part, _)| part.truth(facts) == Some(false));
            broken.map(|(_, ast)| format!("`{ast}`")).collect()
        }
        _ => vec![format!("`{written}`")],
    };
    Some(format!("by what `given` says, this does not hold: {}", texts.join(", ")))
}

/// A case that leaves the rule open, with the facts that it would have to give.
fn undecided(knowledge: &Knowledge, rule: &Rule, facts: &Given) -> Failure {
    let mut missing = Vec::new();
    if let Some(when) = &rule.when {
        when.expr.missing(facts, &mut missing);
    }
    for effect in &rule.effects {
        if let Effect::Rate { level, .. } = effect {
            level.expr.missing(facts, &mut missing);
        }
    }
    let names: Vec<String> = missing.iter().map(|slot| knowledge.names().name_of(*slot)).collect();
    let written = |quote: char, end: &str| -> Vec<String> {
        names.iter().map(|name| format!("{quote}{name}{quote}{end}")).collect()
    };
    let named = written('`', "");
    Failure {
        message: format!(
            "the rule cannot be decided: the case does not give {}",
            join_names(named.iter().map(String::as_str))
        ),
        help: Some(format!("say in `given` what it is there: {}", written('"', " = …").join(", "))),
    }
}

/// `None` where a rule that fires does what the case expects of it, else what it does instead.
fn unlike_expected(
    knowledge: &Knowledge,
    rule: &Rule,
    facts: &Given,
    level: Option<f64>,
    expected: &Expectation,
) -> Option<String> {
    match expected {
        Expectation::Fires | Expectation::Silent => None,
        Expectation::Level(wanted) => {
            let level = level?;
            ((level - wanted).abs() > 0.05)
                .then(|| format!("the level is {}, not {}", format_number(level), format_number(*wanted)))
        }
        Expectation::Named(wanted) => {
            let level = level?;
            let named = |level: f64| Level::clamped(level).map_or("no level", |level| level.name().as_str());
            (level.floor() as u8 != *wanted).then(|| {
                format!(
                    "the level is {} ({}), not {}",
                    format_number(level),
                    named(level),
                    named(f64::from(*wanted))
                )
            })
        }
        Expectation::Derives(wanted) => {
            let derived = rule.effects.iter().find_map(|effect| match effect {
                Effect::Derive { slot, value, .. } => Some((slot, value.expr.eval(facts))),
                _ => None,
            });
            let (slot, value) = derived?;
            let kind = knowledge.vocabulary.declaration(*slot)?.kind;
            let write = |value: &Value| knowledge.vocabulary.write(value, kind, crate::units::UnitSystem::Si);
            let same = match (&value, wanted) {
                (Some(Value::Number(a)), Value::Number(b)) => (a - b).abs() <= 1e-6 * b.abs().max(1.0),
                (Some(value), wanted) => value == wanted,
                (None, _) => false,
            };
            (!same).then(|| {
                format!(
                    "it derives {}, not {}",
                    value.as_ref().map_or("nothing".into(), write),
                    write(wanted)
                )
            })
        }
    }
}
