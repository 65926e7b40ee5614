//! The scaffold of a rule file. Its end lists all that a rule may read.

use super::scaffold::{UNFILLED, comment};
use crate::engine::expression::LEVELS;
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Gravity, Stage, TASK_ORDER_UNSAID, TASK_ORDERS};
use crate::knowledge::vocabulary::{Declaration, From, Kind};
use crate::units::{Unit, UnitSystem};

/// The text below the line that names the schema.
pub fn text(knowledge: &Knowledge, id: &str, topic: &str) -> String {
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
    let (effect, others) = effect_of(topic);
    field(&format!("what follows: {}", effect.words), &effect.line);
    text.push_str(&effect_examples(&others));
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
    let level = if effect.has_level { format!("\nlevel = \"{UNFILLED}\"") } else { String::new() };
    field(
        "a case in which it fires, with full names in quotes: given = { \"site.dli\" = 8 }. What is not given is unknown. `level` is the level that must come of it, by name or number; leave it out for an effect without a level; a rule with derive says `value`",
        &format!("[[fires]]\ngiven = {{ \"{UNFILLED}\" = \"{UNFILLED}\" }}{level}"),
    );
    field(
        "a case in which it does not fire",
        &format!("[[stays_silent]]\ngiven = {{ \"{UNFILLED}\" = \"{UNFILLED}\" }}"),
    );
    text.push_str(&readable(knowledge));
    text
}

/// An effect that a rule may have.
struct EffectHelp {
    /// What it is.
    words: String,
    /// The line to fill in.
    line: String,
    /// The line filled in.
    example: &'static str,
    /// Whether its cases state a level.
    has_level: bool,
}

/// All effects; the first is that of most rules.
fn effects() -> Vec<EffectHelp> {
    let names = |names: Vec<&str>| names.join(", ");
    let gravities = names(Gravity::NAMES.iter().map(|(name, _)| *name).collect());
    let stages = names(Stage::NAMES.iter().map(|(name, _)| *name).collect());
    let [first, last] = TASK_ORDERS;
    let levels: Vec<String> = LEVELS.iter().map(|(name, level)| format!("{name} {level}")).collect();
    let effect = |words: String, key: &str, fields: &[&str], example, has_level| EffectHelp {
        words,
        line: format!(
            "then.{key} = {{ {} }}",
            fields.iter().map(|field| format!("{field} = \"{UNFILLED}\"")).collect::<Vec<_>>().join(", ")
        ),
        example,
        has_level,
    };
    vec![
        effect(
            format!(
                "a need rated from 0 to 5 ({}), often by grade(…), which runs straight between its anchors, the comfortable part included: level = \"grade(site.dli / species.dli_min, none = 1.5, severe = 0.7)\"",
                levels.join(", ")
            ),
            "rate",
            &["need", "level"],
            "then.rate = { need = \"light\", level = \"grade(site.dli / species.dli_min, none = 1.5, severe = 0.7)\" }",
            true,
        ),
        effect(
            "a need set to a fixed level, by name".to_owned(),
            "limit",
            &["need", "level"],
            "then.limit = { need = \"light\", level = \"severe\" }",
            true,
        ),
        effect(
            "a refusal, never averaged away".to_owned(),
            "exclude",
            &["need"],
            "then.exclude = { need = \"hazard\" }",
            true,
        ),
        effect(
            "a reason for the species: text only, moves no rank".to_owned(),
            "credit",
            &["need"],
            "then.credit = { need = \"water\" }",
            false,
        ),
        effect(
            format!("a caution; severity is one of: {gravities}; defer_to says whom to ask"),
            "caution",
            &["severity", "defer_to"],
            "then.caution = { severity = \"care\", defer_to = \"the product label\" }",
            false,
        ),
        effect(
            format!(
                "a task; stage is one of: {stages}; beside them order = {first} to {last} says where among the tasks of its stage it is told ({TASK_ORDER_UNSAID} where it does not)"
            ),
            "task",
            &["stage", "what"],
            "then.task = { stage = \"establish\", what = \"water every day for two weeks\" }",
            false,
        ),
        effect(
            "a fact that the vocabulary declares with from = \"rules\"".to_owned(),
            "derive",
            &["fact", "value"],
            "then.derive = { fact = \"fit.native_here\", value = \"true\" }",
            false,
        ),
    ]
}

/// The effect that rules of a topic mostly have, and the others.
fn effect_of(topic: &str) -> (EffectHelp, Vec<EffectHelp>) {
    let mut effects = effects();
    let wanted = match topic {
        "cautions" => "then.caution",
        "tasks" => "then.task",
        _ => "then.rate",
    };
    let at = effects.iter().position(|one| one.line.starts_with(wanted)).unwrap_or(0);
    (effects.remove(at), effects)
}

/// Other effects, commented out.
fn effect_examples(others: &[EffectHelp]) -> String {
    let mut text = String::from("#\n");
    comment(&mut text, "", "beside it or in its place a rule may have:");
    for other in others {
        comment(&mut text, "  ", &other.words);
        text.push_str(&format!("# {}\n", other.example));
    }
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
        Kind::Text => one.form.words().to_owned(),
        Kind::Texts => one.form.words_of_list().to_owned(),
    };
    format!("{} [{form}]", one.meaning)
}
