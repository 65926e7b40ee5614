//! `values/*.toml` of an overlay: changed values of a species of the base.
//!
//! `[replace]` puts values in the place of those of the base, `[add]` lays them beside, and
//! `withdraw` takes traits away.

use std::sync::Arc;

use super::merge::merge;
use super::names::Declared;
use super::overlay::Claims;
use super::species::{Species, TraitValue, read_traits};
use crate::diag::{Finding, Findings, Place, Source, nearest};
use crate::document::{Table, TableReader};

/// Applies one file. `overlay` is the position of its overlay.
pub fn apply(
    (source, table): (&Arc<Source>, &Table),
    overlay: usize,
    species: &mut [Species],
    declared: Declared<'_>,
    claims: &mut Claims,
    findings: &mut Findings,
) {
    let mut file = TableReader::of_file(source, table, "changed values");
    let id_node = file.required("id", findings);
    let place = id_node.map_or_else(|| file.own_place(), |node| file.place(node.span));
    let id = super::file_id(source, id_node, &place, findings);
    let withdrawn: Vec<(&str, Place)> = file
        .texts("withdraw", findings)
        .unwrap_or_default()
        .into_iter()
        .map(|(name, node)| (name, file.place(node.span)))
        .collect();
    let replaced = file.table("replace", "the values in place of the base's", findings);
    let added = file.table("add", "the values beside the base's", findings);
    file.finish(findings);
    let Some(id) = id else { return };
    let Some(own) = species.iter_mut().find(|one| one.id == id) else {
        let near = nearest(&id, species.iter().map(|one| one.id.as_str()));
        let help = near.map_or_else(
            || "a new species is a file of its own in species/".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        findings.push(
            Finding::error("unknown-species", &place, format!("no species is called `{id}`")).help(help),
        );
        return;
    };
    let mut claim = |name: &str, place: Place, findings: &mut Findings| {
        claims.claim(overlay, &format!("{id}: {name}"), place, findings);
    };
    for (name, place) in withdrawn {
        let slot = declared.vocabulary.slot(&format!("species.{name}"));
        match slot.filter(|slot| own.traits[slot.index].take().is_some()) {
            Some(slot) => {
                own.withdrawn.push((slot.index, place.clone()));
                claim(name, place, findings);
            }
            None => {
                let message = format!("`{id}` has no value of `{name}` to withdraw");
                let names = declared.vocabulary.species.iter().zip(&own.traits);
                let names = names.filter(|(_, own)| own.is_some());
                let near = nearest(name, names.filter_map(|(one, _)| one.id.strip_prefix("species.")));
                let help = near.map(|near| format!("did you mean `{near}`?"));
                findings.push(Finding::error("nothing-to-withdraw", &place, message).maybe_help(help));
            }
        }
    }
    for (reader, keep) in [(replaced, false), (added, true)] {
        let Some(mut reader) = reader else { continue };
        for (at, new, place) in read_traits(&mut reader, Some(&id), declared, findings) {
            let name = declared.vocabulary.species[at].id.trim_start_matches("species.");
            let here =
                own.withdrawn.iter().find(|(index, by)| *index == at && Arc::ptr_eq(&by.source, source));
            if let Some((_, first)) = here {
                let message = format!("`{name}` is withdrawn and given values in one file");
                let help = "leave it out of `withdraw`: what stands under [replace] takes the base's place";
                let finding = Finding::error("overlay-conflict", &place, message);
                findings.push(finding.also(first, "withdrawn here").help(help));
            }
            claim(name, place, findings);
            let mut evidence = new.evidence.into_inner();
            if keep && let Some(old) = own.traits[at].take() {
                evidence.splice(0..0, old.evidence.into_inner());
            }
            if let Some((value, spread)) = merge(&declared.vocabulary.species[at], &evidence) {
                own.traits[at] =
                    Some(TraitValue { value, spread, evidence: evidence.into(), estimated: None });
            }
        }
    }
}
