//! Which species somebody meant who wrote a name that none has.

use super::species::Species;
use crate::diag::{Finding, join_names, nearest};

/// The finding for a species that is not in the base.
pub fn unknown_species(name: &str, species: &[Species]) -> Finding {
    let near_id = || {
        let near = nearest(name, species.iter().map(|one| one.id.as_str()))?;
        Some(format!("did you mean `{near}`?"))
    };
    let near_name = || {
        let near = nearest(name, species.iter().flat_map(|one| one.common.iter().map(String::as_str)))?;
        let found = species.iter().find(|one| one.common.iter().any(|own| own == near))?;
        Some(format!("did you mean `{}` ({near})?", found.id))
    };
    let help = species_with_word(name, species)
        .or_else(near_id)
        .or_else(near_name)
        .or_else(|| species_near_word(name, species))
        .unwrap_or_else(|| format!("species are {}", join_names(species.iter().map(|one| one.id.as_str()))));
    Finding::bare("unknown-species", format!("no species is called `{name}`")).help(help)
}

/// The species in whose names something stands as whole words, as a help.
pub fn species_with_word(words: &str, species: &[Species]) -> Option<String> {
    offered(&species.iter().filter(|one| one.has_words(words)).collect::<Vec<_>>())
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
