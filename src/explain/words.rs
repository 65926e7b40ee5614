//! Words of a rule with their values written in, and what a reason rests on.

use super::overlays::overlays_of;
use crate::assess::Assessment;
use crate::engine::expression::{Facts, Typed};
use crate::engine::facts::View;
use crate::engine::value::{Slot, Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Template, TemplatePart};
use crate::knowledge::species::{Species, TraitValue};
use crate::knowledge::vocabulary::Kind;
use crate::units::UnitSystem;

/// A trait that a reason rests on, and how well it is founded.
#[derive(Clone, Debug, PartialEq)]
pub struct Basis {
    /// Name of the trait.
    pub name: String,
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

/// Writes a template; an unknown value reads "unknown".
pub fn write_template(
    template: &Template,
    view: &View<'_>,
    knowledge: &Knowledge,
    units: UnitSystem,
) -> String {
    let mut text = String::new();
    for part in &template.parts {
        match part {
            TemplatePart::Words(words) => text.push_str(words),
            TemplatePart::Value(typed) => match typed.expr.eval(view) {
                Some(value) => text.push_str(&knowledge.vocabulary.write(&value, typed.kind(), units)),
                None => text.push_str("unknown"),
            },
        }
    }
    text
}

/// What slots wait for, in words: keys of the site file, or names of traits.
pub fn awaited_names<'a>(assessment: &Assessment<'_>, slots: impl Iterator<Item = &'a Slot>) -> String {
    let written = |at: usize| {
        let declaration = &assessment.knowledge.vocabulary.site[at];
        declaration.key.as_ref().map_or_else(|| declaration.id.clone(), |key| key.path())
    };
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
            _ => vec![assessment.knowledge.names().name_of(*slot)],
        };
        for name in own {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    names.join(", ")
}

/// The first slot of a space that expressions read, with its value.
pub fn first_read(
    expressions: &[&Typed],
    spaces: &[Space],
    view: &View<'_>,
    knowledge: &Knowledge,
) -> Option<(Slot, Value, Kind)> {
    let slots = expressions.iter().flat_map(|typed| typed.expr.value_slots());
    let slot = slots.filter(|slot| spaces.contains(&slot.space)).find(|slot| view.get(*slot).is_some())?;
    let kind = knowledge.vocabulary.declaration(slot)?.kind;
    Some((slot, view.get(slot)?.clone(), kind))
}

/// The traits among `slots` and how well each is founded.
pub fn bases(slots: &[Slot], species: &Species, knowledge: &Knowledge, units: UnitSystem) -> Vec<Basis> {
    let traits = slots.iter().filter(|slot| slot.space == Space::Species);
    traits
        .filter_map(|slot| {
            let declaration = knowledge.vocabulary.declaration(*slot)?;
            let own: &TraitValue = species.traits.get(slot.index)?.as_ref()?;
            if own.evidence.is_empty() && own.estimated.is_none() {
                return None;
            }
            let mut evidence: Vec<_> = own.evidence.iter().map(|one| &one.citation).collect();
            evidence.sort_by(|a, b| b.publication.weight().total_cmp(&a.publication.weight()));
            let all = |test: fn(&&crate::knowledge::citation::Citation) -> bool| {
                !evidence.is_empty() && evidence.iter().all(test)
            };
            Some(Basis {
                name: declaration.id.trim_start_matches("species.").to_owned(),
                value: knowledge.vocabulary.write(&own.value, declaration.kind, units),
                citations: evidence.iter().map(|one| (one.publication.key.clone(), one.at.clone())).collect(),
                estimated: own.estimated.is_some(),
                memory: all(|one| one.is_memory()),
                practice: all(|one| one.is_unpublished() && !one.is_memory()),
                overlays: overlays_of(own.evidence.iter().map(|one| &one.place), knowledge),
            })
        })
        .collect()
}
