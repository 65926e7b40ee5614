//! The knowledge base: text, then trees with places, then valid data.
//!
//! Everything is read by the vocabulary, and every fault of every file is found in one run.

pub mod backing;
mod bare_entry;
pub mod citation;
pub mod climates;
pub mod counted;
mod degrees;
pub mod difference;
pub mod digest;
pub mod edition;
mod estimates;
mod file_id;
pub mod later;
pub mod lever;
mod merge;
pub mod names;
pub mod needs;
pub mod overlay;
mod overlay_values;
pub mod placeholder;
mod read_all;
mod region;
pub mod region_codes;
pub mod rule;
mod rule_cases;
mod rule_effects;
mod rule_expression;
pub mod rule_figures;
mod rule_file;
mod rule_words;
pub mod sources;
pub mod species;
mod species_names;
pub mod stored;
pub mod strict;
pub mod tables;
pub mod text;
pub mod text_form;
mod trees;
pub mod unrated;
pub mod values;
pub mod vocabulary;
mod vocabulary_file;

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::diag::{Findings, Place, Severity};
use crate::engine::formula::Formula;
use crate::engine::strata::{Strata, stratify};
use climates::Climate;
use edition::Edition;
use file_id::file_id;
pub use file_id::id_meant;
use later::Later;
use names::Names;
use needs::Needs;
use overlay::Overlay;
use read_all::{FOUNDATIONS, read_all};
use rule::Rule;
use sources::Sources;
use species::Species;
use tables::LookupTable;
use text::{KnowledgeFile, KnowledgeText};
use vocabulary::Vocabulary;

/// A checked knowledge base.
#[derive(Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "'de: 'static"))]
pub struct Knowledge {
    /// Version and changelog.
    pub edition: Edition,
    /// Digest over the canonical content.
    pub digest: String,
    /// Overlays that are in force, in the order in which they were given.
    #[serde(skip)]
    pub overlays: Vec<Overlay>,
    /// Facts and traits.
    pub vocabulary: Vocabulary,
    /// Needs.
    pub needs: Needs,
    /// Publications.
    #[serde(with = "stored::sources")]
    pub sources: Sources,
    /// Tables.
    pub tables: Vec<LookupTable>,
    /// Climates of the gazetteer, by id.
    pub climates: Later<Vec<Climate>>,
    /// Species, by id.
    pub species: Vec<Species>,
    /// Rules, by id.
    pub rules: Vec<Rule>,
    /// Rules of the base that an overlay withdraws or replaces, with its position.
    #[serde(skip)]
    pub out_of_force: Vec<(usize, Rule)>,
    /// What the program computes for a species at a site while rules run.
    #[serde(skip)]
    pub formulas: Vec<Formula>,
    /// The order in which rules and formulas run.
    #[serde(skip)]
    pub strata: Strata,
}

impl Knowledge {
    /// Reads and checks a knowledge base. Findings that are only warnings do not refuse it.
    pub fn load(text: &KnowledgeText) -> Result<(Self, Findings), Findings> {
        let ready = text.ready.as_ref().filter(|ready| !ready.stored.is_empty() && text.overlays.is_empty());
        if let Some(knowledge) = ready.and_then(|ready| stored::restore(ready.stored, text)) {
            return Ok((knowledge, Findings::new()));
        }
        let mut findings = Findings::new();
        let knowledge = read_all(text, &mut findings);
        let refused = findings.iter().any(|finding| finding.severity == Severity::Error);
        match knowledge {
            Some(knowledge) if !refused => Ok((knowledge, findings)),
            _ => Err(findings),
        }
    }

    /// Reads as much of a knowledge base as can be read, for whoever is at work on it: what has faults
    /// is left out. Refused where the vocabulary or the needs, which everything else rests on, have any.
    pub fn load_what_is_sound(text: &KnowledgeText) -> Result<Self, Findings> {
        let mut findings = Findings::new();
        let knowledge = read_all(text, &mut findings);
        let foundations: Vec<&KnowledgeFile> =
            text.files.iter().filter(|file| FOUNDATIONS.contains(&file.path.as_str())).collect();
        let rocked = findings.iter().any(|finding| {
            let source = finding.place.as_ref().map(|place| &place.source);
            finding.severity == Severity::Error
                && source
                    .is_some_and(|source| foundations.iter().any(|file| Arc::ptr_eq(&file.source, source)))
        });
        knowledge.filter(|_| !rocked).ok_or(findings)
    }

    /// Finds the formulas of the program and the order in which they and the rules run.
    fn put_in_order(&mut self, findings: &mut Findings) {
        let names = self.names();
        let declared = crate::site::FORMULAS.iter();
        let formulas: Vec<Formula> =
            declared.filter_map(|declared| Formula::resolve(declared, &names)).collect();
        let strata = stratify(&self.rules, &formulas, &names, findings);
        (self.formulas, self.strata) = (formulas, strata);
    }

    /// The names that expressions may use.
    pub fn names(&self) -> Names<'_> {
        Names { vocabulary: &self.vocabulary, needs: &self.needs.all, tables: &self.tables }
    }

    /// A species by its id.
    pub fn species_named(&self, id: &str) -> Option<&Species> {
        self.species.iter().find(|species| species.id == id)
    }

    /// A species by its id, or by a name of its own in any case.
    pub fn species_by_any_name(&self, name: &str) -> Option<&Species> {
        species_names::species_called(name, &self.species)
    }

    /// The words for a group of plants.
    pub fn kind_name(&self, kind: u8) -> &str {
        let list = self.vocabulary.list_named("kind", false).map(|list| self.vocabulary.list(list));
        list.and_then(|list| list.names.get(usize::from(kind))).map_or("", String::as_str)
    }

    /// A place of the gazetteer by its id, or by its name in any case.
    pub fn climate_by_any_name(&self, name: &str) -> Option<&Climate> {
        let wanted = name.trim().to_lowercase();
        self.climates.iter().find(|place| place.id == wanted || place.name.to_lowercase() == wanted)
    }

    /// A rule by its id.
    pub fn rule_named(&self, id: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.id == id)
    }

    /// The overlay in which a place lies; `None` for the base.
    pub fn overlay_of(&self, place: &Place) -> Option<&Overlay> {
        self.overlays.iter().find(|overlay| overlay.holds(place))
    }

    /// A table by its id.
    pub fn table_named(&self, id: &str) -> Option<&LookupTable> {
        self.tables.iter().find(|table| table.id == id)
    }
}
