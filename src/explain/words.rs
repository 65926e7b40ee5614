//! Words of a rule with their values written in, and what a reason rests on.

use super::grounds::Grounds;
use super::overlays::{overlays_of, places_of};
use crate::assess::Assessment;
use crate::engine::expression::{Expr, Typed};
use crate::engine::facts::View;
use crate::engine::value::{Slot, Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Template, TemplatePart};
use crate::knowledge::rule_figures::Figure;
use crate::knowledge::species::{Species, TraitValue};
use crate::knowledge::vocabulary::Kind;
use crate::units::UnitSystem;

/// A trait that a reason rests on, and how well it is founded.
#[derive(Clone, Debug, PartialEq)]
pub struct Basis {
    /// Name of the trait, without its space.
    pub name: String,
    /// As reports call it.
    pub label: String,
    /// Its value, written.
    pub value: String,
    /// Citations of its evidence, the weightiest first.
    pub citations: Vec<(String, String)>,
    /// Whether it is estimated from its group.
    pub estimated: bool,
    /// Whether all its evidence is from memory.
    pub memory: bool,
    /// Whether all its evidence is common practice.
    pub practice: bool,
    /// Ids of the overlays that had a hand in it.
    pub overlays: Vec<String>,
}

impl Basis {
    /// What a reader must be told of the foundation; empty where publications stand behind it.
    pub fn caveat(&self) -> &'static str {
        match (self.estimated, self.memory, self.practice) {
            (true, _, _) => "estimated from its group",
            (_, true, _) => "from memory",
            (_, _, true) => "common practice",
            _ => "",
        }
    }
}

/// A value that a reason gives, with the expression that it comes from.
#[derive(Clone, Debug)]
pub struct Figured {
    /// Name of the fact, or the expression.
    pub written: String,
    /// What reports call it, or the fact that it is computed from; empty for a bare number.
    pub label: String,
    /// Whether it is computed from the fact of that label.
    pub computed: bool,
    /// Its value.
    pub value: Value,
    /// How it is written.
    pub kind: Kind,
}

impl Figured {
    /// The value of a figure of a rule; `None` while it is unknown.
    pub fn of(figure: &Figure, view: &View<'_>, knowledge: &Knowledge) -> Option<Self> {
        let value = figure.typed.expr.eval(view)?;
        let (label, computed) = figure_label(&figure.typed.expr, knowledge);
        Some(Self { written: figure.written.clone(), label, computed, value, kind: figure.typed.kind() })
    }
}

/// What a reader calls an expression: its fact, an end of it, or the first fact that it is computed
/// from, and then that it is computed.
fn figure_label(expr: &Expr, knowledge: &Knowledge) -> (String, bool) {
    let label = |slot: Slot| {
        let declared = knowledge.vocabulary.declaration(slot);
        declared.map_or_else(|| knowledge.names().name_of(slot), |own| own.label())
    };
    let first = || expr.value_slots().first().map(|slot| label(*slot)).unwrap_or_default();
    match expr {
        Expr::Fact(slot) => (label(*slot), false),
        Expr::End(_, upper) => (format!("{} {}", if *upper { "highest" } else { "lowest" }, first()), false),
        Expr::First(_) | Expr::Extreme(..) | Expr::Const(_) => (first(), false),
        _ => (first(), true),
    }
}

/// Writes a template; an unknown value reads "unknown", words under a condition stand only where it
/// holds, and of two values with " to " between them the first goes without the unit that both have.
pub fn write_template(
    template: &Template,
    view: &View<'_>,
    knowledge: &Knowledge,
    units: UnitSystem,
) -> String {
    let mut text = String::new();
    let told = |typed: &Typed| match typed.expr.eval(view) {
        Some(value) => knowledge.vocabulary.tell(&value, typed.kind(), units),
        None => "unknown".to_owned(),
    };
    for (at, part) in template.parts.iter().enumerate() {
        match part {
            TemplatePart::Words(words) => text.push_str(words),
            TemplatePart::Value(typed) => {
                let own = told(typed);
                let other = match template.parts.get(at + 1..at + 3) {
                    Some([TemplatePart::Words(words), TemplatePart::Value(other)])
                        if words == " to " && matches!(typed.kind(), Kind::Number(_)) =>
                    {
                        told(other)
                    }
                    _ => String::new(),
                };
                let unit = other.find(' ').map_or("", |blank| &other[blank..]);
                text.push_str(own.strip_suffix(unit).unwrap_or(&own));
            }
            TemplatePart::Where(condition, inner) => {
                if condition.truth(view) == Some(true) {
                    text.push_str(&write_template(inner, view, knowledge, units));
                }
            }
        }
    }
    text
}

/// What slots wait for, in words: what can be said of the site, or names of traits. Facts that the program or
/// rules derive are left out, since nobody can be asked for them; empty where nothing else is left.
pub fn awaited_names<'a>(assessment: &Assessment<'_>, slots: impl Iterator<Item = &'a Slot>) -> String {
    let written = |at: usize| assessment.knowledge.vocabulary.site[at].label();
    let mut names: Vec<String> = Vec::new();
    for slot in slots {
        // a computed fact waits for what it is computed from
        let inputs = match assessment.facts.open.get(&slot.index) {
            Some(open) if slot.space == Space::Site => open.waits_for.clone(),
            _ => Vec::new(),
        };
        let own: Vec<String> = match (inputs.is_empty(), slot.space) {
            (false, _) => inputs.into_iter().map(written).collect(),
            (true, Space::Site) => vec![written(slot.index)],
            (true, Space::Species) => {
                let declared = assessment.knowledge.vocabulary.declaration(*slot);
                declared.map(|own| own.label()).into_iter().collect()
            }
            (true, Space::Fit | Space::Need) => Vec::new(),
        };
        for name in own {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    names.join(", ")
}

/// The traits that a line rests on and how well each is founded; those without a word on that are left
/// out. Traits of which it is only asked whether they are known are named where there are no others.
pub fn bases(
    grounds: &Grounds<'_>,
    species: &Species,
    knowledge: &Knowledge,
    units: UnitSystem,
) -> Vec<Basis> {
    let founded = foundations(&grounds.traits, species, knowledge, units);
    if founded.is_empty() { foundations(&grounds.asked, species, knowledge, units) } else { founded }
}

fn foundations(traits: &[usize], species: &Species, knowledge: &Knowledge, units: UnitSystem) -> Vec<Basis> {
    traits
        .iter()
        .filter_map(|index| {
            let declaration = knowledge.vocabulary.species.get(*index)?;
            let own: &TraitValue = species.traits.get(*index)?.as_ref()?;
            if own.evidence.is_empty() && own.estimated.is_none() {
                return None;
            }
            let mut evidence: Vec<_> = own.evidence.iter().map(|one| &one.citation).collect();
            evidence.sort_by(|a, b| b.publication.weight().total_cmp(&a.publication.weight()));
            let withdrawn = species.withdrawn.iter().filter(|(at, _)| at == index);
            let all = |test: fn(&&crate::knowledge::citation::Citation) -> bool| {
                !evidence.is_empty() && evidence.iter().all(test)
            };
            Some(Basis {
                name: declaration.id.trim_start_matches("species.").to_owned(),
                label: declaration.label(),
                value: knowledge.vocabulary.tell(&own.value, declaration.kind, units),
                citations: evidence.iter().map(|one| (one.publication.key.clone(), one.at.clone())).collect(),
                estimated: own.estimated.is_some(),
                memory: all(|one| one.is_memory()),
                practice: all(|one| one.is_unpublished() && !one.is_memory()),
                overlays: overlays_of(places_of(own).chain(withdrawn.map(|(_, place)| place)), knowledge),
            })
        })
        .collect()
}
