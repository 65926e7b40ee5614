//! How far a client can change a fact of the site, as the vocabulary says it: which way, how far, in
//! what steps, and in which words. How far is common practice, and reports say so.

use serde::{Deserialize, Serialize};

use super::values::{WhatIsRead, read_number, read_value};
use super::vocabulary::{Declaration, Kind, Vocabulary};
use crate::diag::{Finding, Findings};
use crate::document::TableReader;
use crate::engine::value::Value;

/// At most this many settings of a number are tried on either side of where it stands; the steps of a
/// wider span are widened.
const MOST_STEPS: f64 = 12.0;

/// Which way a fact can be changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Way {
    /// To more of it, or a later step of its scale.
    Up,
    /// To less of it, or an earlier step.
    Down,
    /// Both ways.
    Either,
}

impl Way {
    const NAMES: [(&'static str, Self); 3] =
        [("up", Self::Up), ("down", Self::Down), ("either", Self::Either)];
}

/// How a client can change a fact.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lever {
    way: Way,
    /// Ends of a number, or the steps, names or answers that can be reached; all, where empty.
    to: Vec<Value>,
    /// Greatest change of a number.
    by: Option<f64>,
    /// Step of a number that makes a difference in practice.
    step: f64,
    /// Whether it is for the client to decide, so that it can be set though it is not known.
    decided: bool,
    /// What is done, with `{}` where the setting stands.
    pub doing: String,
    /// Whom to ask before it is done.
    pub defer_to: Option<String>,
}

/// Reads the `lever` of a declaration.
pub fn read(
    declaration: &Declaration,
    reader: &mut TableReader<'_>,
    vocabulary: &Vocabulary,
    findings: &mut Findings,
) -> Option<Lever> {
    let mut lever = reader.table("lever", "what a client can do", findings)?;
    let before = findings.len();
    let way = lever.one_of("way", &Way::NAMES, findings).unwrap_or(Way::Either);
    let source = lever.source();
    let unit = declaration.kind.unit();
    let what = |node, name| WhatIsRead { source, node, name, unit };
    let nodes = lever.list("to", findings).unwrap_or_default();
    let to: Vec<Value> = nodes
        .iter()
        .filter_map(|node| read_value(vocabulary, declaration, what(node, "to"), findings))
        .collect();
    // a change is a difference: its own limits are none of the fact's
    let difference = Declaration { allowed: None, ..declaration.clone() };
    let mut number = |key: &'static str, findings: &mut Findings| {
        let node = lever.node(key)?;
        match unit {
            Some(unit) => {
                let base = read_number(&difference, what(node, key), findings)?;
                Some((base - unit.to_base(0.0)).abs())
            }
            None => {
                let message = format!("`{key}` is for numbers, and `{}` is none", declaration.id);
                findings.push(Finding::error("unknown-key", &lever.place(node.span), message));
                None
            }
        }
    };
    let by = number("by", findings);
    let step = number("step", findings);
    let decided = lever.flag("decided", findings).unwrap_or(false);
    let doing = lever.required_text("doing", findings).unwrap_or_default().to_owned();
    let defer_to = lever.text("defer_to", findings).map(str::to_owned);
    if matches!(declaration.kind, Kind::Number(_)) && findings.len() == before {
        let ends = matches!(to[..], [Value::Number(low), Value::Number(high)] if low < high);
        if !ends || step.is_none_or(|step| step <= 0.0) {
            let message =
                "the lever of a number needs `to`, its two ends with the lower first, and a `step` above 0";
            findings.push(Finding::error("bad-lever", &lever.own_place(), message));
        }
    }
    lever.finish(findings);
    (findings.len() == before).then(|| Lever {
        way,
        to,
        by,
        step: step.unwrap_or(1.0),
        decided,
        doing,
        defer_to,
    })
}

impl Lever {
    /// Settings that a client can bring the fact to, the nearest to the present one first; none where
    /// it is not known and is not for the client to decide.
    pub fn settings(
        &self,
        declaration: &Declaration,
        now: Option<&Value>,
        vocabulary: &Vocabulary,
    ) -> Vec<Value> {
        if now.is_none() && !self.decided {
            return Vec::new();
        }
        let all: Vec<Value> = match declaration.kind {
            Kind::Number(_) => return self.numbers(now.and_then(Value::as_number)),
            Kind::Scale(list) => vocabulary.list(list).positions().map(Value::Step).collect(),
            Kind::Choice(list) => vocabulary.list(list).positions().map(Value::Choice).collect(),
            Kind::Flag => vec![Value::Flag(false), Value::Flag(true)],
            _ => Vec::new(),
        };
        let mut settings: Vec<Value> = all
            .into_iter()
            .filter(|setting| self.to.is_empty() || self.to.contains(setting))
            .filter(|setting| Some(setting) != now && self.leads_to(setting, now))
            .collect();
        if let (Kind::Scale(_), Some(now)) = (declaration.kind, now.and_then(Value::as_position)) {
            settings.sort_by_key(|setting| setting.as_position().map_or(0, |at| at.abs_diff(now)));
        }
        settings
    }

    /// Every setting that the lever runs through, whatever the fact is now.
    pub fn run_through(&self, declaration: &Declaration, vocabulary: &Vocabulary) -> Vec<Value> {
        let decided = Self { decided: true, ..self.clone() };
        decided.settings(declaration, None, vocabulary)
    }

    /// Whether a step lies the way that is open.
    fn leads_to(&self, setting: &Value, now: Option<&Value>) -> bool {
        match (setting, now, self.way) {
            (Value::Step(to), Some(Value::Step(now)), Way::Up) => to > now,
            (Value::Step(to), Some(Value::Step(now)), Way::Down) => to < now,
            _ => true,
        }
    }

    fn numbers(&self, now: Option<f64>) -> Vec<Value> {
        let (Some(low), Some(high)) =
            (self.to.first().and_then(Value::as_number), self.to.last().and_then(Value::as_number))
        else {
            return Vec::new();
        };
        let Some(now) = now else {
            let step = self.step.max((high - low) / MOST_STEPS);
            return steps(low, high, step).chain([high]).map(Value::Number).collect();
        };
        let (mut low, mut high) = (low, high);
        if let Some(by) = self.by {
            (low, high) = (low.max(now - by), high.min(now + by));
        }
        let mut numbers = Vec::new();
        if self.way != Way::Down && high > now {
            let step = self.step.max((high - now) / MOST_STEPS);
            numbers.extend(steps(now, high, step).skip(1).chain([high]));
        }
        if self.way != Way::Up && low < now {
            let step = self.step.max((now - low) / MOST_STEPS);
            numbers.extend(steps(-now, -low, step).skip(1).chain([-low]).map(|number| -number));
        }
        numbers.sort_by(|a, b| (a - now).abs().total_cmp(&(b - now).abs()));
        numbers.into_iter().map(Value::Number).collect()
    }
}

/// Numbers from `low` up to, and without, `high`.
fn steps(low: f64, high: f64, step: f64) -> impl Iterator<Item = f64> {
    let count = ((high - low) / step - 1e-9).ceil().max(0.0) as usize;
    (0..count).map(move |at| low + at as f64 * step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::value::Space;
    use crate::units::Unit;

    fn number(way: Way, by: Option<f64>) -> Vec<f64> {
        let to = vec![Value::Number(4.0), Value::Number(9.0)];
        let lever = Lever { way, to, by, step: 0.5, decided: true, doing: String::new(), defer_to: None };
        let kind = Kind::Number(Unit::named("pH").unwrap_or(&Unit::all()[0]));
        let declaration = Declaration::bare("site.x", Space::Site, kind);
        let settings = lever.settings(&declaration, Some(&Value::Number(7.2)), &Vocabulary::default());
        settings.iter().filter_map(Value::as_number).collect()
    }

    #[test]
    fn settings_of_numbers_go_from_the_nearest_to_the_end() {
        assert_eq!(number(Way::Up, Some(1.0)), [7.7, 8.2]);
        let both = number(Way::Either, Some(0.6));
        assert_eq!(both.len(), 4);
        assert!((both[2] - 7.8).abs() < 1e-9 || (both[2] - 6.6).abs() < 1e-9, "{both:?}");
        assert_eq!(number(Way::Down, None).last(), Some(&4.0));
        // a wide span is tried in wider steps, and its end is always among them
        let to = vec![Value::Number(0.0), Value::Number(300.0)];
        let lever = Lever {
            way: Way::Down,
            to,
            by: None,
            step: 1.0,
            decided: false,
            doing: String::new(),
            defer_to: None,
        };
        let wide = lever.numbers(Some(290.0));
        assert!(wide.len() <= 13 && wide.last() == Some(&Value::Number(0.0)), "{wide:?}");
        let declaration = Declaration::bare("site.x", Space::Site, Kind::Number(&Unit::all()[0]));
        assert!(lever.settings(&declaration, None, &Vocabulary::default()).is_empty());
    }
}
