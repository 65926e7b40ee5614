//! Which species somebody means by a name: one that it has, or one that is nearly that.

use super::Knowledge;
use super::species::Species;
use crate::diag::{Finding, Findings, join_names, nearest};

/// The species of a name in any case: of an id, a botanical or a common name, or of a synonym that no other
/// species has too.
pub fn species_called<'a>(name: &str, species: &'a [Species]) -> Option<&'a Species> {
    let wanted = flat(name);
    let own = |one: &&Species| {
        [&one.id, &one.botanical].into_iter().chain(&one.common).any(|own| flat(own) == wanted)
    };
    species.iter().find(own).or_else(|| match with_synonym(name, species)[..] {
        [only] => Some(only),
        _ => None,
    })
}

/// The species that go by a name, as a help: where several have it nobody can say which is meant.
pub fn species_so_called(name: &str, species: &[Species]) -> Option<String> {
    let own = species_called(name, species).map(|one| vec![one]);
    offered(&own.unwrap_or_else(|| with_synonym(name, species)))
}

fn with_synonym<'a>(name: &str, species: &'a [Species]) -> Vec<&'a Species> {
    let wanted = flat(name);
    species.iter().filter(|one| one.synonyms.iter().any(|own| flat(own) == wanted)).collect()
}

/// Refuses a synonym that is the name of another species: whoever looks for it would never come here.
pub fn refuse_taken_synonyms(species: &[Species], findings: &mut Findings) {
    for one in species {
        for synonym in &one.synonyms {
            let other = species_called(synonym, species).filter(|other| other.id != one.id);
            if let Some(other) = other {
                let message = format!("the synonym `{synonym}` of `{}` is a name of `{}`", one.id, other.id);
                let finding =
                    Finding::error("synonym-taken", &one.place, message).also(&other.place, "of this one");
                findings.push(finding.help("take it out: the name leads to the species that has it"));
            }
        }
    }
}

/// Refuses a common name that another species goes by: answers print it, and nobody could tell which is meant.
pub fn refuse_taken_names(species: &[Species], findings: &mut Findings) {
    for (at, one) in species.iter().enumerate() {
        for name in &one.common {
            let same = |other: &&Species| {
                other.id != one.id
                    && other.common.iter().chain([&other.botanical]).any(|own| flat(own) == flat(name))
            };
            if let Some(other) = species[..at].iter().find(same) {
                let message = format!("`{}` goes by the name `{name}` of `{}`", one.id, other.id);
                let finding =
                    Finding::error("name-taken", &one.place, message).also(&other.place, "of this one");
                findings.push(finding.help("give it a name of its own"));
            }
        }
    }
}

/// A name as it is compared: hyphens and case make no other name.
fn flat(name: &str) -> String {
    name.trim().to_lowercase().replace('-', " ")
}

/// The finding for a species that is not in the base.
pub fn unknown_species(name: &str, knowledge: &Knowledge) -> Finding {
    let path = format!("species/{name}");
    if let Some(overlay) = knowledge.overlays.iter().find(|one| one.withdraws.contains(&path)) {
        let message = format!("the overlay {} takes `{name}` out of force", overlay.label());
        let help = format!("its head lists `{path}` under `withdraws`");
        return Finding::bare("withdrawn-species", message).help(help);
    }
    let species = &knowledge.species[..];
    let near_id = || {
        let near = nearest(name, species.iter().map(|one| one.id.as_str()))?;
        Some(format!("did you mean `{near}`?"))
    };
    let near_name = || {
        let spoken = || {
            species.iter().flat_map(|one| one.common.iter().chain(&one.synonyms).map(move |name| (name, one)))
        };
        let near = nearest(name, spoken().map(|(own, _)| own.as_str()))?;
        let (_, found) = spoken().find(|(own, _)| *own == near)?;
        Some(format!("did you mean `{}` ({near})?", found.id))
    };
    let help = species_so_called(name, species)
        .or_else(|| species_with_word(name, species))
        .or_else(near_id)
        .or_else(near_name)
        .or_else(|| species_near_word(name, species))
        .unwrap_or_else(|| format!("species are {}", join_names(species.iter().map(|one| one.id.as_str()))));
    Finding::bare("unknown-species", format!("no species is called `{name}`")).help(help)
}

/// The species in whose names something stands as whole words, as a help.
pub fn species_with_word(words: &str, species: &[Species]) -> Option<String> {
    let wanted = format!(" {} ", flat(words));
    let has = |one: &&Species| one.names().any(|name| format!(" {} ", flat(name)).contains(&wanted));
    (wanted.len() > 2).then(|| offered(&species.iter().filter(has).collect::<Vec<_>>())).flatten()
}

/// The species with a word in their names that begins as a misspelt one was meant to, as a help:
/// `burmuda` is told bermudagrass.
pub fn species_near_word(wrong: &str, species: &[Species]) -> Option<String> {
    const SHORTEST: usize = 4;
    let wanted: Vec<String> = words_of(wrong).filter(|word| word.chars().count() >= SHORTEST).collect();
    let apart = |one: &Species| -> Option<usize> {
        let names = one.common.iter().chain([&one.botanical]);
        let own: Vec<String> = names.flat_map(|name| words_of(name)).collect();
        wanted
            .iter()
            .map(|word| own.iter().map(|own| apart_at_the_start(word, own)).min().unwrap_or(usize::MAX))
            .min()
    };
    let all: Vec<(usize, &Species)> = species.iter().filter_map(|one| Some((apart(one)?, one))).collect();
    let least = all.iter().map(|(apart, _)| *apart).min()?;
    let longest = wanted.iter().map(|word| word.chars().count()).max()?;
    let near = all.into_iter().filter(|(apart, _)| *apart == least).map(|(_, one)| one).collect::<Vec<_>>();
    (least <= 1 + longest / 8).then(|| offered(&near)).flatten()
}

/// Words in lower case.
fn words_of(name: &str) -> impl Iterator<Item = String> {
    name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase)
}

/// How many slips lie between a word and the beginning of another, in which more may follow.
fn apart_at_the_start(word: &str, of: &str) -> usize {
    let length = word.chars().count();
    let begins =
        (length.saturating_sub(1)..=length + 1).map(|count| of.chars().take(count).collect::<String>());
    begins.map(|begin| strsim::damerau_levenshtein(word, &begin)).min().unwrap_or(usize::MAX)
}

/// Species as what was most likely meant.
fn offered(named: &[&Species]) -> Option<String> {
    const MOST: usize = 4;
    let written: Vec<String> = named.iter().map(|one| format!("`{}` ({})", one.id, one.name())).collect();
    match &written[..] {
        [] => None,
        [only] => Some(format!("did you mean {only}?")),
        several if several.len() <= MOST => Some(format!("did you mean one of {}?", several.join(", "))),
        many => {
            Some(format!("did you mean one of {} and {} more?", many[..MOST].join(", "), many.len() - MOST))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_misspelt_beginning_of_a_word_is_near_and_another_word_is_not() {
        assert_eq!(apart_at_the_start("burmuda", "bermudagrass"), 1);
        assert_eq!(apart_at_the_start("zoisia", "zoysiagrass"), 1);
        assert_eq!(apart_at_the_start("bermuda", "bermudagrass"), 0);
        assert!(apart_at_the_start("burmuda", "buffalograss") > 2);
        assert!(apart_at_the_start("burmuda", "b") > 2);
    }
}
