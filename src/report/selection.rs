//! Which traits and species a table is to show.

use crate::diag::{Finding, Findings, join_names, nearest};
use crate::knowledge::Knowledge;
use crate::knowledge::species::{Species, trait_named, unknown_species};
use crate::knowledge::vocabulary::Declaration;

/// Traits and species of a base, by their positions.
#[derive(Clone, Debug)]
pub struct Selection {
    pub(super) traits: Vec<usize>,
    pub(super) species: Vec<usize>,
}

impl Selection {
    /// The traits, species and groups of these names; without traits all of them, without species and
    /// groups all of them.
    ///
    /// # Errors
    /// Each name that nothing has, with the nearest right one.
    pub fn new(
        knowledge: &Knowledge,
        traits: &[String],
        species: &[String],
        kinds: &[String],
    ) -> Result<Self, Findings> {
        let mut findings = Findings::new();
        let vocabulary = &knowledge.vocabulary;
        let all_traits = || (0..vocabulary.species.len()).filter(|at| vocabulary.species[*at].is_entered());
        let mut wanted = Vec::new();
        for name in traits {
            match trait_named(name.trim().trim_start_matches("species."), vocabulary) {
                Some(at) => wanted.push(at),
                None => {
                    let names = all_traits().map(|at| short(&vocabulary.species[at]));
                    let help = match nearest(name, names) {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => "`knowledge table --coverage` lists all traits".to_owned(),
                    };
                    let message = format!("no trait is called `{name}`");
                    findings.push(Finding::bare("unknown-trait", message).help(help));
                }
            }
        }
        let mut ids = Vec::new();
        for name in species {
            match knowledge.species_by_any_name(name) {
                Some(one) => ids.push(one.id.as_str()),
                None => findings.push(unknown_species(name, knowledge)),
            }
        }
        let list = vocabulary.list_named("kind", false).map(|list| vocabulary.list(list));
        for name in kinds {
            if list.is_some_and(|list| list.position(name).is_none()) {
                let names = || list.iter().flat_map(|list| list.names.iter().map(String::as_str));
                let help = match nearest(name, names()) {
                    Some(near) => format!("did you mean `{near}`? Groups are {}", join_names(names())),
                    None => format!("groups are {}", join_names(names())),
                };
                let message = format!("no group of plants is called `{name}`");
                findings.push(Finding::bare("unknown-name", message).help(help));
            }
        }
        if !findings.is_empty() {
            return Err(findings);
        }
        let is_wanted = |one: &Species| {
            (ids.is_empty() || ids.contains(&one.id.as_str()))
                && (kinds.is_empty() || kinds.iter().any(|kind| kind == knowledge.kind_name(one.kind)))
        };
        let species: Vec<usize> =
            (0..knowledge.species.len()).filter(|at| is_wanted(&knowledge.species[*at])).collect();
        if species.is_empty() && !(ids.is_empty() && kinds.is_empty()) {
            let message = "no species that is asked for is of a group that is asked for";
            let help = "leave `--kind` out, or name species of that group";
            return Err(vec![Finding::bare("nothing-selected", message).help(help)]);
        }
        Ok(Self { traits: if traits.is_empty() { all_traits().collect() } else { wanted }, species })
    }
}

/// The name of a trait without its space.
pub(super) fn short(declaration: &Declaration) -> &str {
    declaration.id.trim_start_matches("species.")
}
