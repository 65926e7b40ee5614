//! Which overlays had a hand in a fact of the site, or of a species there: by a table that the program looks
//! up in to compute it, by the place of the gazetteer whose climate it is, or by the rule that derives it.

use super::grounds::grounds_of_fact;
use super::overlays::overlays_of;
use crate::alike::add_once;
use crate::assess::Assessment;
use crate::engine::facts::Origin;
use crate::engine::value::{Slot, Space};
use crate::knowledge::overlay::Overlay;
use crate::knowledge::vocabulary::{Declaration, Kind};

/// The facts of an answer and what overlays brought to them.
pub struct OverlaidFacts<'a, 'k> {
    assessment: &'a Assessment<'k>,
    /// The overlay of the place whose climate is lent.
    lends: Option<&'k Overlay>,
    /// Whether an overlay has a hand in any table.
    any_table: bool,
}

impl<'a, 'k> OverlaidFacts<'a, 'k> {
    /// Of an answer.
    pub fn of(assessment: &'a Assessment<'k>) -> Self {
        let knowledge = assessment.knowledge;
        let any_table = knowledge.overlays.iter().any(|overlay| {
            let away = overlay.withdraws.iter().any(|path| path.starts_with("tables/"));
            away || knowledge.tables.iter().any(|table| overlay.holds(&table.place))
        });
        Self { assessment, lends: lending_overlay(assessment), any_table }
    }

    /// Ids of the overlays behind a fact as the program came to it, each once; rules that derive it are not
    /// followed.
    pub fn overlays(&self, slot: Slot) -> Vec<String> {
        let mut ids = Vec::new();
        if self.lends.is_none() && !self.any_table {
            return ids;
        }
        let vocabulary = &self.assessment.knowledge.vocabulary;
        if slot.space == Space::Fit {
            let declared = vocabulary.declaration(slot);
            declared.into_iter().for_each(|one| self.add_tables(one, |_| true, &mut ids));
            return ids;
        }
        let facts = &self.assessment.facts;
        let Some(behind) = facts.rests_on.get(slot.index).filter(|_| slot.space == Space::Site) else {
            return ids;
        };
        let stated = |at: usize| matches!(&facts.known[at], Some(known) if known.origin == Origin::Given);
        for at in behind.iter().filter(|_| !stated(slot.index)) {
            if let Some(overlay) = self.lends.filter(|_| self.is_lent(at)) {
                add_once(&mut ids, [overlay.id.clone()]);
            }
            // a fact that did not ask for the key of a table did not look it up
            let keyed = |kind| facts.rests_on[at].iter().any(|own| vocabulary.site[own].kind == kind);
            if !stated(at) {
                self.add_tables(&vocabulary.site[at], keyed, &mut ids);
            }
        }
        ids
    }

    /// The same with the rules that derive it, for a fact that stands in an answer by itself.
    pub fn overlays_in_full(&self, slot: Slot) -> Vec<String> {
        let knowledge = self.assessment.knowledge;
        let mut ids = Vec::new();
        if knowledge.overlays.is_empty() {
            return ids;
        }
        let behind = grounds_of_fact(slot, self.assessment);
        let facts = behind.facts.iter().flat_map(|slot| self.overlays(*slot));
        let rules = overlays_of(behind.rules.iter().map(|rule| &rule.place), knowledge);
        let looked_up =
            behind.rules.iter().flat_map(|rule| rule.tables()).flat_map(|table| self.of_table(table));
        add_once(&mut ids, facts.chain(rules).chain(looked_up));
        ids
    }

    /// Ids of the overlays that bring a table or take it away.
    pub fn of_table(&self, table: &str) -> Vec<String> {
        let knowledge = self.assessment.knowledge;
        let own = knowledge.table_named(table).and_then(|table| knowledge.overlay_of(&table.place));
        let path = format!("tables/{table}");
        let away = knowledge.overlays.iter().filter(|overlay| overlay.withdraws.contains(&path));
        own.into_iter().chain(away).map(|overlay| overlay.id.clone()).collect()
    }

    fn add_tables(&self, declared: &Declaration, keyed: impl Fn(Kind) -> bool, ids: &mut Vec<String>) {
        for table in &declared.tables {
            let asked = self.assessment.knowledge.table_named(table).is_none_or(|own| keyed(own.key_kind));
            if asked {
                add_once(ids, self.of_table(table));
            }
        }
    }

    /// Whether a fact is that of the place whose climate is lent.
    fn is_lent(&self, at: usize) -> bool {
        let near = self.assessment.site.from_nearest.as_ref();
        near.is_some_and(|near| {
            near.filled.contains(&at) || near.height.as_ref().is_some_and(|(height, _)| *height == at)
        })
    }
}

/// The overlay that holds the place whose climate is lent, found by the name that the site was told.
fn lending_overlay<'k>(assessment: &Assessment<'k>) -> Option<&'k Overlay> {
    let knowledge = assessment.knowledge;
    if knowledge.overlays.is_empty() {
        return None;
    }
    let lent = &assessment.site.from_nearest.as_ref()?.place;
    let is_it = |name: &str| lent.strip_prefix(name).is_some_and(|rest| rest.starts_with(", "));
    let climate =
        knowledge.climates.iter().filter(|one| is_it(&one.name)).max_by_key(|one| one.name.len())?;
    knowledge.overlay_of(&climate.place)
}
