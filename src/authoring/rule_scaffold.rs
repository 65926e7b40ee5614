//! The scaffold of a rule file. Its end lists all that a rule may read.

use super::scaffold::{UNFILLED, comment};
use crate::engine::expression::LEVELS;
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Gravity, Stage};
use crate::knowledge::vocabulary::{Declaration, From, Kind};
use crate::units::{Unit, UnitSystem};

/// The text below the line that names the schema.
pub fn text(knowledge: &Knowledge, id: &str) -> String {
    let mut text = String::from("#\n");
    comment(
        &mut text,
        "",
        "A rule of the knowledge base. Replace each \"?\"; the comments may go when you are done. DEVELOPERS.md, section \"Adding a rule\", has a whole example and the rule language.",
    );
    let mut field = |words: &str, lines: &str| {
        text.push('\n');
        comment(&mut text, "", words);
        text.push_str(lines);
        text.push('\n');
    };
    field("the file carries the same name", &format!("id = \"{id}\""));
    field("what it compares with what", &format!("title = \"{UNFILLED}\""));
    field("why that matters, in plain words", &format!("why = \"{UNFILLED}\""));
    field(
        "where it comes from, one or more: key of a publication in sources/ and the place in it; { key = \"common-practice\" } for what the trade takes for granted",
        &format!("sources = [{{ key = \"{UNFILLED}\", at = \"{UNFILLED}\" }}]"),
    );
    field(
        "condition, such as \"site.drainage = 'poor' and species.wear <= 'low'\"; it never fires on what is unknown. Delete the line if the rule always speaks",
        &format!("when = \"{UNFILLED}\""),
    );
    field(&effect_words(), &format!("then.rate = {{ need = \"{UNFILLED}\", level = \"{UNFILLED}\" }}"));
    text.push_str(&effect_examples());
    text.push_str(&need_list(knowledge));
    let mut field = |words: &str, lines: &str| {
        text.push('\n');
        comment(&mut text, "", words);
        text.push_str(lines);
        text.push('\n');
    };
    field(
        "what it says: goes on from the name of the species, a verb first, no capital, no full stop; {…} holds a name or an expression, written with its unit, such as \"gets {site.dli} of light\"",
        &format!("because = \"{UNFILLED}\""),
    );
    field(
        "a case in which it fires, with full names in quotes: given = { \"site.dli\" = 8 }. What is not given is unknown. `level` is the level that must come of it, by name or number; leave it out for an effect without a level; a rule with derive says `value`",
        &format!("[[fires]]\ngiven = {{ \"{UNFILLED}\" = \"{UNFILLED}\" }}\nlevel = \"{UNFILLED}\""),
    );
    field(
        "a case in which it does not fire",
        &format!("[[stays_silent]]\ngiven = {{ \"{UNFILLED}\" = \"{UNFILLED}\" }}"),
    );
    text.push_str(&readable(knowledge));
    text
}

fn effect_words() -> String {
    let levels: Vec<String> = LEVELS.iter().map(|(name, level)| format!("{name} {level}")).collect();
    format!(
        "what follows; `rate` gives a need a level from 0 to 5 ({}), often by grade(…), which runs straight between its anchors, the comfortable part included: level = \"grade(site.dli / species.dli_min, none = 1.5, severe = 0.7)\"",
        levels.join(", ")
    )
}

/// The other effects, commented out.
fn effect_examples() -> String {
    let gravities: Vec<&str> = Gravity::NAMES.iter().map(|(name, _)| *name).collect();
    let stages: Vec<&str> = Stage::NAMES.iter().map(|(name, _)| *name).collect();
    let mut text = String::new();
    let mut example = |words: &str, line: &str| {
        comment(&mut text, "  ", words);
        text.push_str(&format!("# {line}\n"));
    };
    example(
        "or, beside it or in its place: a need set to a fixed level, by name",
        "then.limit = { need = \"light\", level = \"severe\" }",
    );
    example("a refusal, never averaged away", "then.exclude = { need = \"hazard\" }");
    example("a reason for the species: text only, moves no rank", "then.credit = { need = \"water\" }");
    example(
        &format!("a caution; severity is one of: {}", gravities.join(", ")),
        "then.caution = { severity = \"care\", defer_to = \"the product label\" }",
    );
    example(
        &format!("a task; stage is one of: {}", stages.join(", ")),
        "then.task = { stage = \"establish\", what = \"water every day for two weeks\" }",
    );
    example(
        "a fact that the vocabulary declares with from = \"rules\"",
        "then.derive = { fact = \"fit.native_here\", value = \"true\" }",
    );
    text
}

fn need_list(knowledge: &Knowledge) -> String {
    let mut text = String::from("#\n# needs:\n");
    for need in &knowledge.needs.all {
        let may = if need.may_exclude { "; a rule may refuse on it" } else { "" };
        text.push_str(&format!("#   {:<16} {}{may}\n", need.id, need.title));
    }
    text
}

/// Every name that the rule may read, with what it is.
fn readable(knowledge: &Knowledge) -> String {
    let vocabulary = &knowledge.vocabulary;
    let mut text =
        String::from("\n# ------------------------------------------------------------------------\n");
    comment(
        &mut text,
        "",
        "What a rule may read; delete from here down when you are done. Text with a unit stands bare in expressions (30 degC, 1.5 in), steps and names in single quotes.",
    );
    let sections = [
        ("the site", &vocabulary.site),
        ("the species", &vocabulary.species),
        ("the species at the site", &vocabulary.fit),
    ];
    for (title, declarations) in sections {
        text.push_str(&format!("#\n# {title}\n"));
        for one in declarations {
            let from = match one.from {
                From::File => "",
                From::Computed => " (computed)",
                From::Rules => " (from rules)",
            };
            comment(&mut text, "  ", &format!("{}{from}: {}", one.id, short(knowledge, one)));
        }
    }
    text.push_str("#\n# and need.NAME, the level that another need has reached\n");
    text
}

/// Meaning, and in brackets unit with allowed range, or steps and names.
fn short(knowledge: &Knowledge, one: &Declaration) -> String {
    let names = |list, between: &str| knowledge.vocabulary.list(list).names.join(between);
    let number = |unit: &'static Unit| match one.allowed {
        Some((low, high)) => UnitSystem::Si.write_range(low, high, unit),
        None if unit.name == "1" => "number".to_owned(),
        None => unit.name.to_owned(),
    };
    let form = match one.kind {
        Kind::Number(unit) => number(unit),
        Kind::Range(unit) => format!("range, {}", number(unit)),
        Kind::Months(unit) => format!("12 months, {}", number(unit)),
        Kind::Flag => "true or false".to_owned(),
        Kind::Scale(list) => names(list, " < "),
        Kind::Choice(list) => names(list, ", "),
        Kind::Set(list) => format!("set of {}", names(list, ", ")),
        Kind::Text => "text".to_owned(),
        Kind::Texts => "texts".to_owned(),
    };
    format!("{} [{form}]", one.meaning)
}
