//! `knowledge show`: the names under which people look for a species, and what stands behind a value.

use super::support::{knowledge, root, run, run_in};

/// Names of older books and of the trade lead to the species that has them, before any spelling is guessed.
#[test]
fn synonyms_lead_to_their_species() {
    let knowledge = knowledge();
    for (name, id) in [
        ("Festuca arundinacea", "schedonorus-arundinaceus"),
        ("festuca-arundinacea", "schedonorus-arundinaceus"),
        ("Lolium arundinaceum", "schedonorus-arundinaceus"),
        ("Buchloe dactyloides", "bouteloua-dactyloides"),
        ("Festuca longifolia", "festuca-trachyphylla"),
        ("festuca brevipila", "festuca-trachyphylla"),
        ("creeping fescue", "festuca-rubra-rubra"),
        ("Sedum spurium", "phedimus-spurius"),
        ("Lippia nodiflora", "phyla-nodiflora"),
    ] {
        assert_eq!(knowledge.species_by_any_name(name).map(|one| one.id.as_str()), Some(id), "{name}");
    }
    let shown = run(&["knowledge", "show", "Festuca arundinacea"]).out;
    assert!(shown.contains("Also looked for as: Festuca arundinacea, Lolium arundinaceum"), "{shown}");
    // a synonym of several, or a part of one, is told and not guessed
    let told = |name: &str| run(&["knowledge", "show", name]).err;
    let monkey = told("monkey grass");
    for id in ["liriope-muscari", "liriope-spicata", "ophiopogon-japonicus"] {
        assert!(monkey.contains(&format!("`{id}`")), "{monkey}");
    }
    assert!(told("Buchloe").contains("did you mean `bouteloua-dactyloides` (buffalograss)?"));
    // a site file names species by their ids, and is told the right one
    let site = b"schema = 1\n[candidates]\nonly = [\"festuca-arundinacea\"]\n";
    let refused = run_in(&root(), &["recommend", "-"], site);
    assert!(
        refused.err.contains("did you mean `schedonorus-arundinaceus` (tall fescue)?"),
        "{}",
        refused.err
    );
}

/// A source is a publication: what the trade takes for granted is none.
#[test]
fn a_value_without_a_publication_is_not_told_as_sourced() {
    let knowledge = knowledge();
    let told = run(&["knowledge", "show", "heat_tolerance", "--width", "200"]).out;
    let slot = knowledge.vocabulary.slot("species.heat_tolerance").unwrap();
    let mut practice = 0;
    for species in &knowledge.species {
        let Some(value) = &species.traits[slot.index] else { continue };
        let line = told.lines().find(|line| line.trim_start().starts_with(&format!("{}  ", species.name())));
        let line = line.unwrap_or_else(|| panic!("{}: {told}", species.id));
        let published = value.evidence.iter().filter(|one| !one.citation.is_unpublished()).count();
        assert_eq!(line.contains(" source"), published > 0, "{line}");
        practice += usize::from(line.ends_with("(common practice)"));
    }
    assert!(practice > 0, "{told}");
}

/// A trait that nothing reads changes no answer, and whoever looks for a publication of it ought to know.
#[test]
fn the_coverage_table_names_the_traits_that_no_rule_reads() {
    let knowledge = knowledge();
    let told = run(&["knowledge", "table", "--coverage", "--width", "400"]).out;
    let line = told.lines().find(|line| line.starts_with("Read by no condition")).unwrap();
    let (_, listed) = line.trim_end_matches('.').split_once(": ").unwrap();
    let listed: Vec<&str> = listed.split(", ").collect();
    let read: Vec<String> = knowledge
        .rules
        .iter()
        .flat_map(|rule| rule.reads())
        .map(|slot| knowledge.names().name_of(slot))
        .collect();
    for name in &listed {
        assert!(!read.contains(&format!("species.{name}")), "{name} is read");
    }
    assert!(listed.contains(&"lt50_crown_c") && !listed.contains(&"cold_zone_min"), "{listed:?}");
}
