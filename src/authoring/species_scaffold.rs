//! The scaffold of a species file: key traits first, the others by group and commented out.

use super::field::value_words;
use super::scaffold::{UNFILLED, comment};
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::{Declaration, Kind};

/// The text below the line that names the schema.
pub fn text(knowledge: &Knowledge, id: &str) -> String {
    let vocabulary = &knowledge.vocabulary;
    let mut text = String::from("#\n");
    for words in HEAD {
        let bare = words.trim_start();
        comment(&mut text, &words[..words.len() - bare.len()], bare);
    }
    let mut field = |words: &str, line: &str| {
        text.push('\n');
        comment(&mut text, "", words);
        text.push_str(line);
        text.push('\n');
    };
    field(
        "botanical name in lower case with hyphens; the file carries the same name",
        &format!("id = \"{id}\""),
    );
    field(
        "botanical name without authors: set it right where the id could not say it",
        &format!("botanical = \"{}\"", botanical(id)),
    );
    field("common names; the first is the one that is printed", &format!("common = [\"{UNFILLED}\"]"));
    field(
        "other names under which it is looked for, botanical ones of older books among them: take away the `# ` where there are any",
        &format!("# synonyms = [\"{UNFILLED}\"]"),
    );
    let kinds = vocabulary.list_named("kind", false).map(|list| vocabulary.list(list).names.join(", "));
    field(
        &format!("group of plants, one of: {}", kinds.unwrap_or_default()),
        &format!("kind = \"{UNFILLED}\""),
    );
    field("what it is, in one sentence", &format!("summary = \"{UNFILLED}\""));
    text.push_str("\n[traits]\n");

    let traits = || vocabulary.species.iter().filter(|one| one.is_entered());
    heading(&mut text, "KEY TRAITS: look for a publication of each; never from memory");
    for declaration in traits().filter(|one| one.key_trait) {
        entry_text(&mut text, knowledge, declaration, "", None);
    }
    let mut group: Option<&str> = None;
    for declaration in traits().filter(|one| !one.key_trait) {
        if group != Some(&declaration.group) {
            group = Some(&declaration.group);
            let words = if declaration.group.is_empty() { "other traits" } else { &declaration.group };
            heading(&mut text, &format!("{words}: take away the `# ` before those you have values for"));
        }
        entry_text(&mut text, knowledge, declaration, "# ", None);
    }
    text
}

const HEAD: [&str; 6] = [
    "A species of the knowledge base. Replace each \"?\"; delete the lines of traits that nobody has published, since an empty trait is better than a guessed one. The comments may go when you are done.",
    "A trait is a list of published values, one { … } for each publication; where they differ they are merged (papers, agencies and standards weigh most) and the spread is shown.",
    "  source: key of a publication in sources/, common-practice, or from-memory",
    "  at: page, table or section in it; left out for common-practice and from-memory",
    "  note: what a reader must know of this value; may be left out",
    "  low, high: beside `value` of a number: the ends that the source itself states; they may stand without `value`",
];

/// Genus and epithet as far as the id tells them; infraspecific names and hybrids need a look.
fn botanical(id: &str) -> String {
    let mut words = id.split('-');
    let genus = words.next().unwrap_or_default();
    let mut letters = genus.chars();
    let first = letters.next().map(|letter| letter.to_ascii_uppercase());
    let genus: String = first.into_iter().chain(letters).collect();
    words.fold(genus, |name, word| name + " " + word)
}

fn heading(text: &mut String, words: &str) {
    text.push_str("\n# ------------------------------------------------------------------------\n");
    comment(text, "", words);
}

/// A trait to fill in, explained; `mark` stands before its line, and `remark` is what is known of it.
pub fn entry_text(
    text: &mut String,
    knowledge: &Knowledge,
    declaration: &Declaration,
    mark: &str,
    remark: Option<&str>,
) {
    let name = declaration.id.trim_start_matches("species.");
    text.push('\n');
    comment(text, "", &format!("{name}: {}", declaration.meaning));
    comment(text, "  ", &form_words(knowledge, declaration));
    remark.into_iter().for_each(|words| comment(text, "  ", words));
    let value = match declaration.kind {
        Kind::Range(_) => format!("low = \"{UNFILLED}\", high = \"{UNFILLED}\""),
        Kind::Set(_) | Kind::Texts => format!("value = [\"{UNFILLED}\"]"),
        _ => format!("value = \"{UNFILLED}\""),
    };
    let entry = format!("{{ {value}, source = \"{UNFILLED}\", at = \"{UNFILLED}\" }}");
    text.push_str(&format!("{mark}{name} = [{entry}]\n"));
}

/// What the value may be, and which end is the favourable one.
fn form_words(knowledge: &Knowledge, declaration: &Declaration) -> String {
    let words = value_words(&knowledge.vocabulary, declaration, None);
    let words = match declaration.kind {
        Kind::Range(_) => {
            words.replacen("two numbers (the lower first)", "low and high, or one of them: numbers", 1)
        }
        _ => words,
    };
    match declaration.better_high {
        Some(true) => format!("{words}; higher is better"),
        Some(false) => format!("{words}; lower is better"),
        None => words,
    }
}
