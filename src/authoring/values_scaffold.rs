//! The scaffold of `values/*.toml` of an overlay: every trait with what the base has of it.

use super::scaffold::{UNFILLED, comment};
use super::species_scaffold::entry_text;
use crate::knowledge::Knowledge;
use crate::knowledge::species::Species;
use crate::units::UnitSystem;

/// The text below the line that names the schema.
pub fn text(knowledge: &Knowledge, species: &Species) -> String {
    let mut text = String::from("#\n");
    comment(
        &mut text,
        "",
        &format!(
            "Values of {} that an overlay changes: take away the `# ` before the traits that you have values for, and replace each \"{UNFILLED}\". The comments and the traits that stay as they are may go when you are done.",
            species.name()
        ),
    );
    text.push_str(&format!("\nid = \"{}\"\n\n", species.id));
    comment(&mut text, "", "traits whose values in the base do not hold here, by name");
    text.push_str(&format!("# withdraw = [\"{UNFILLED}\"]\n\n"));
    comment(
        &mut text,
        "",
        "Values laid beside those of the base; all are merged, each with the weight of its kind of source. Those that take the place of the base's stand under a line [replace] instead, in the same form.",
    );
    text.push_str("[add]\n");
    let vocabulary = &knowledge.vocabulary;
    for (declaration, own) in
        vocabulary.species.iter().zip(&species.traits).filter(|(one, _)| one.is_entered())
    {
        let base = match own {
            Some(own) if own.estimated.is_none() => {
                format!("in the base: {}", vocabulary.write(&own.value, declaration.kind, UnitSystem::Si))
            }
            _ => "not in the base".to_owned(),
        };
        entry_text(&mut text, knowledge, declaration, "# ", Some(&base));
    }
    text
}
