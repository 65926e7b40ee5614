//! The cases that rules bring along, run one by one.

use std::collections::HashMap;

use super::expression::Facts;
use super::value::{Slot, Value};
use crate::diag::{Finding, Findings};
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

/// Runs every case of every rule and reports those that come out otherwise.
pub fn check_cases(knowledge: &Knowledge) -> Findings {
    let mut findings = Findings::new();
    for rule in &knowledge.rules {
        for case in &rule.cases {
            if let Some(message) = run_case(knowledge, rule, case) {
                findings.push(Finding::error("case-fails", &case.place, format!("`{}`: {message}", rule.id)));
            }
        }
    }
    findings
}

/// `None` when the case holds, else what came instead.
fn run_case(knowledge: &Knowledge, rule: &Rule, case: &Case) -> Option<String> {
    let facts = Given(case.given.iter().cloned().collect());
    let truth = rule.when.as_ref().map_or(Some(true), |when| when.expr.truth(&facts));
    let level = rule.effects.iter().find_map(|effect| match effect {
        Effect::Rate { level, .. } => Some(level.expr.number(&facts).map(|level| level.clamp(0.0, 5.0))),
        Effect::Limit { level, .. } => Some(Some(*level)),
        Effect::Exclude { .. } => Some(Some(5.0)),
        _ => None,
    });
    // a rule that cannot tell its level has not spoken
    let fires = truth == Some(true) && level != Some(None);
    match (&case.expects, fires) {
        (Expectation::Silent, false) => None,
        (Expectation::Silent, true) => {
            Some("the rule fires where the case says that it stays silent".to_owned())
        }
        (_, false) if truth == Some(false) => {
            Some("the rule stays silent where the case says that it fires".to_owned())
        }
        (_, false) => {
            Some("the rule cannot be decided: the case does not give every fact that it reads".to_owned())
        }
        (Expectation::Fires, true) => None,
        (Expectation::Level(wanted), true) => {
            let level = level.flatten()?;
            ((level - wanted).abs() > 0.05)
                .then(|| format!("the level is {}, not {}", format_number(level), format_number(*wanted)))
        }
        (Expectation::Named(wanted), true) => {
            let level = level.flatten()?;
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
        (Expectation::Derives(wanted), true) => {
            let derived = rule.effects.iter().find_map(|effect| match effect {
                Effect::Derive { slot, value, .. } => Some((slot, value.expr.eval(&facts))),
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
