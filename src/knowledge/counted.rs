//! Traits that nobody enters: how many publications say a thing of another trait.

use serde::{Deserialize, Serialize};

use super::sources::SourceKind;
use super::species::{Evidence, Species, TraitValue};
use super::vocabulary::{Kind, Vocabulary};
use crate::diag::{Finding, Findings, Place, nearest};
use crate::document::TableReader;
use crate::engine::value::{Space, Value};

/// The names of a set that enough publications state of a species.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counted {
    /// The trait that is counted, with `species.`.
    pub of: String,
    /// Fewest publications, those of the trade and common practice left out.
    pub least: usize,
}

/// Reads `counted = { of = "proven_for", least = 3 }`.
pub fn read(reader: &mut TableReader<'_>, findings: &mut Findings) -> Option<Counted> {
    let mut inner = reader.table("counted", "what a trait is counted from", findings)?;
    let of = inner.required_text("of", findings).unwrap_or_default().to_owned();
    let least = inner.required("least", findings).and_then(|node| {
        let number =
            node.as_number().filter(|number| (1.0..=100.0).contains(number) && number.fract() == 0.0);
        if number.is_none() {
            let message = "`least` must be a whole number of publications, 1 to 100";
            findings.push(Finding::error("wrong-type", &inner.place(node.span), message));
        }
        number
    });
    inner.finish(findings);
    Some(Counted { of: format!("species.{of}"), least: least? as usize })
}

/// Refuses what counts a trait that is not there, or that is no set of the same names.
pub fn check(vocabulary: &Vocabulary, places: &[(usize, Place)], findings: &mut Findings) {
    for (index, place) in places {
        let declaration = &vocabulary.species[*index];
        let Some(counted) = &declaration.counted else { continue };
        let of = vocabulary.slot(&counted.of).map(|slot| &vocabulary.species[slot.index]);
        let same = |kind: Kind| matches!((kind, declaration.kind), (Kind::Set(a), Kind::Set(b)) if a == b);
        if of.is_some_and(|of| same(of.kind) && of.counted.is_none()) {
            continue;
        }
        let own = counted.of.trim_start_matches("species.");
        let names = vocabulary.species.iter().filter(|one| same(one.kind) && one.counted.is_none());
        let help = nearest(own, names.map(|one| one.id.trim_start_matches("species.")));
        let message = format!("`{}` counts `{own}`, which is no set of the same names", declaration.id);
        let finding = Finding::error("bad-counted", place, message);
        findings.push(finding.maybe_help(help.map(|name| format!("did you mean `{name}`?"))));
    }
}

/// Fills the counted traits of every species from the evidence of those that they count.
pub fn fill(species: &mut [Species], vocabulary: &Vocabulary) {
    for (index, declaration) in vocabulary.species.iter().enumerate() {
        let Some(counted) = &declaration.counted else { continue };
        let Some(slot) = vocabulary.slot(&counted.of).filter(|slot| slot.space == Space::Species) else {
            continue;
        };
        for one in species.iter_mut() {
            let Some(value) = &one.traits[slot.index] else { continue };
            let set = stated_by(counted.least, &value.evidence);
            one.traits[index] = (set != 0).then(|| TraitValue {
                value: Value::Set(set),
                spread: None,
                evidence: Vec::new().into(),
                estimated: None,
            });
        }
    }
}

/// The names that at least so many publications beside the trade state; one that states a name twice counts
/// once.
fn stated_by(least: usize, evidence: &[Evidence]) -> u64 {
    let mut publications: Vec<(&str, u64)> = Vec::new();
    for one in evidence {
        let (publication, Value::Set(bits)) = (&one.citation.publication, &one.value) else { continue };
        if matches!(publication.kind, SourceKind::Trade | SourceKind::Practice) {
            continue;
        }
        match publications.iter_mut().find(|(key, _)| *key == publication.key) {
            Some((_, all)) => *all |= bits,
            None => publications.push((&publication.key, *bits)),
        }
    }
    let enough = |name: &u64| publications.iter().filter(|(_, all)| all & name != 0).count() >= least;
    (0..u64::BITS).map(|at| 1_u64 << at).filter(enough).sum()
}
