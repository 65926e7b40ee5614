//! `swardwright interview [SITE]`

use std::collections::HashMap;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use super::common::{KnowledgeOptions, Printed, read_site};
use super::write_file::{refuse_same, write_or_give};
use swardwright::diag::{Finding, Findings, Severity, nearest, read_text, render_all};
use swardwright::{Candidate, Interview, Next, Question};

/// An answers file larger than this is refused.
const LARGEST: u64 = 1 << 20;
/// What stands for "don't know", "back" and "stop" at the terminal.
const DONT_KNOW: &str = "?";
/// The same in words, as answers are told.
const UNKNOWN: &str = "don't know";
const BACK: &str = "back";
const STOP: &str = "stop";

/// Arguments of `interview`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright interview --output site.toml
  swardwright interview scenarios/homeowner-few-facts/site.toml
  swardwright interview --answers answers.txt --output site.toml

An answers file has a line `key = answer`, for example `soil.ph = 7.2`, for any question, by its key in a
site file with SI units; twelve months are set apart by commas. What it does not name is answered with
\"don't know\", which may be written too. What it answers without being asked is told at the end and written into the site file all
the same.")]
pub struct Args {
    /// Site file to begin with; without one, with nothing
    site: Option<String>,
    /// Take the answers from this file instead of the terminal
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    /// Write the site file that comes of it here
    #[arg(long, value_name = "FILE")]
    output: Option<PathBuf>,
    #[command(flatten)]
    knowledge: KnowledgeOptions,
}

/// Runs the command.
pub fn run(args: &Args) -> Result<Printed, Findings> {
    let (knowledge, _) = args.knowledge.load()?;
    let begun = args.site.as_deref().map(read_site).transpose()?;
    let path = args.site.clone().unwrap_or_else(|| "the answers".to_owned());
    let mut interview = Interview::new(begun.as_ref().map(|source| &*source.text), &path, knowledge)?;
    if let (Some(output), Some(answers)) = (&args.output, &args.answers) {
        refuse_same(output, answers)?;
    }
    let mut text = match &args.answers {
        Some(file) => {
            let answers = answers(file, &interview.keys())?;
            by_file(&mut interview, &answers)?
        }
        None if std::io::stdin().is_terminal() => by_terminal(&mut interview)?,
        None => {
            let message = "an interview needs a terminal, or a file of answers";
            let help = "name one with `--answers FILE`";
            return Err(vec![Finding::bare("no-terminal", message).help(help)]);
        }
    };
    let written = interview.site_file();
    match &args.output {
        Some(output) => text.push_str(&write_or_give(written, Some(output))?),
        None => text.push_str(&format!("\n{written}")),
    }
    Ok(text.into())
}

/// An answer, and where it stands.
struct Answer {
    text: String,
    place: String,
}

/// The answers by key; every key is one of a site file and is answered once.
fn answers(file: &Path, keys: &[String]) -> Result<HashMap<String, Answer>, Findings> {
    let text = read_text(file, LARGEST)?;
    let mut answers: HashMap<String, Answer> = HashMap::new();
    let mut faults = Findings::new();
    for (at, line) in text.lines().enumerate() {
        let place = format!("{}:{}:{}", file.display(), at + 1, 1 + line.len() - line.trim_start().len());
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let Some((key, answer)) = line.split_once('=') else {
            let message = format!("{place}: `{line}` is no answer");
            faults.push(Finding::bare("bad-answer", message).help("write `key = answer`"));
            continue;
        };
        let key = key.trim();
        if !keys.iter().any(|own| own == key) {
            let near = nearest(key, keys.iter().map(String::as_str));
            let help = near
                .map_or("see `knowledge schema site`".to_owned(), |near| format!("did you mean `{near}`?"));
            let message = format!("{place}: no question has the key `{key}`");
            faults.push(Finding::bare("bad-answer", message).help(help));
            continue;
        }
        let answer = Answer { text: answer.trim().trim_matches('"').to_owned(), place: place.clone() };
        if let Some(before) = answers.insert(key.to_owned(), answer) {
            let message = format!("{place}: `{key}` is answered already, at {}", before.place);
            faults.push(Finding::bare("bad-answer", message).help("keep one of the two"));
        }
    }
    if faults.is_empty() { Ok(answers) } else { Err(faults) }
}

/// Asks a file; what it does not know is answered so.
fn by_file(interview: &mut Interview<'_>, answers: &HashMap<String, Answer>) -> Result<String, Findings> {
    refuse_wrong(interview, answers)?;
    let mut told = String::new();
    loop {
        match interview.next()? {
            Next::Ask(question) => {
                let given = answers.get(&question.key).filter(|answer| !is_unknown(&answer.text));
                let answer = given.map(|answer| answer.text.as_str());
                let before = first_choice(interview)?;
                let taken = interview.answer(question.fact, answer);
                taken.map_err(|faults| at_the_answer(faults, &question.key, given))?;
                let change = changed(&before, &first_choice(interview)?);
                let number = interview.answered();
                let said = answer.unwrap_or(UNKNOWN);
                let may_be =
                    if question.choices.is_empty() { question.help } else { question.choices.join(", ") };
                told.push_str(&format!(
                    "{number}. {} [{}: {may_be}]\n   {said}\n   {change}\n",
                    question.words, question.key
                ));
            }
            end => return Ok(told + &ending(interview, &end)? + &unasked(interview, answers)?),
        }
    }
}

/// All wrong answers at once, before the first question: whoever mends the file need not run it for each.
fn refuse_wrong(interview: &Interview<'_>, answers: &HashMap<String, Answer>) -> Result<(), Findings> {
    let mut said = said(interview, answers);
    said.retain(|(fact, ..)| !interview.states(*fact));
    interview.could_take(&texts(&said)).map_err(|wrong| at_the_answers(wrong, &said))
}

/// What a file says, in the order of the facts.
fn said<'a>(
    interview: &Interview<'_>,
    answers: &'a HashMap<String, Answer>,
) -> Vec<(usize, &'a str, &'a Answer)> {
    let mut said: Vec<(usize, &str, &Answer)> = answers
        .iter()
        .filter_map(|(key, answer)| Some((interview.fact(key)?, key.as_str(), answer)))
        .filter(|(.., answer)| !is_unknown(&answer.text))
        .collect();
    said.sort_by_key(|(fact, ..)| *fact);
    said
}

fn texts<'a>(said: &[(usize, &str, &'a Answer)]) -> Vec<(usize, &'a str)> {
    said.iter().map(|(fact, _, answer)| (*fact, answer.text.as_str())).collect()
}

/// Faults of answers, each told at its own line.
fn at_the_answers(wrong: Vec<(usize, Findings)>, said: &[(usize, &str, &Answer)]) -> Findings {
    let at = |(fact, faults): (usize, Findings)| {
        let own = said.iter().find(|(own, ..)| *own == fact);
        own.map_or_else(Findings::new, |(_, key, answer)| at_the_answer(faults, key, Some(answer)))
    };
    wrong.into_iter().flat_map(at).collect()
}

/// Whether an answer says that nobody knows.
fn is_unknown(text: &str) -> bool {
    text == DONT_KNOW
        || [UNKNOWN, "dont know", "unknown"].contains(&text.to_lowercase().replace('’', "'").as_str())
}

/// Takes the answers that were not asked for, and tells them; those to what the site file states already are
/// told and left.
fn unasked(interview: &mut Interview<'_>, answers: &HashMap<String, Answer>) -> Result<String, Findings> {
    let said = said(interview, answers).into_iter().filter(|(fact, ..)| !interview.was_asked(*fact));
    let (stated, unasked): (Vec<_>, Vec<_>) = said.partition(|(fact, ..)| interview.states(*fact));
    let words = |said: &[(usize, &str, &Answer)]| {
        let words: Vec<String> =
            said.iter().map(|(_, key, answer)| format!("{key} = {}", answer.text)).collect();
        words.join("; ")
    };
    let mut told = String::new();
    if !unasked.is_empty() {
        let before = first_choice(interview)?;
        interview.take_unasked(&texts(&unasked)).map_err(|wrong| at_the_answers(wrong, &unasked))?;
        let after = first_choice(interview)?;
        let turns = match before == after {
            true => "",
            false => " What is likely to be said was found to turn nothing; this lies beyond it.",
        };
        told.push_str(&format!(
            "Answered without being asked, and written into the site file all the same: {}.{turns}\n   {}\n",
            words(&unasked),
            changed(&before, &after)
        ));
    }
    if !stated.is_empty() {
        told.push_str(&format!("Not taken, since the site file states it already: {}.\n", words(&stated)));
    }
    Ok(told)
}

/// Faults of an answer, told at its own line and not at that of the site file that it would make.
fn at_the_answer(mut faults: Findings, key: &str, answer: Option<&Answer>) -> Findings {
    faults.retain(|fault| fault.severity == Severity::Error);
    for fault in &mut faults {
        if let Some(answer) = answer {
            fault.message = format!("{}: `{key} = {}`: {}", answer.place, answer.text, fault.message);
        }
        fault.place = None;
    }
    faults
}

/// Asks at the terminal.
fn by_terminal(interview: &mut Interview<'_>) -> Result<String, Findings> {
    let failed = |error: inquire::InquireError| vec![Finding::bare("no-terminal", error.to_string())];
    println_out(&format!(
        "\"{DONT_KNOW}\" for don't know, \"{BACK}\" to take the last answer back, \"{STOP}\" to end."
    ));
    loop {
        let question = match interview.next()? {
            Next::Ask(question) => question,
            end => return ending(interview, &end),
        };
        let answer = match ask(&question) {
            Ok(answer) => answer,
            Err(inquire::InquireError::OperationCanceled | inquire::InquireError::OperationInterrupted) => {
                STOP.to_owned()
            }
            Err(error) => return Err(failed(error)),
        };
        let before = first_choice(interview)?;
        match answer.trim() {
            STOP => return ending(interview, &Next::Exhausted),
            BACK => {
                interview.back();
                continue;
            }
            text if text.is_empty() || is_unknown(text) => interview.answer(question.fact, None)?,
            text => {
                if let Err(findings) = interview.answer(question.fact, Some(text)) {
                    println_out(&render_all(&at_the_answer(findings, &question.key, None), false));
                    continue;
                }
            }
        }
        println_out(&format!("  {}", changed(&before, &first_choice(interview)?)));
    }
}

fn ask(question: &Question) -> Result<String, inquire::InquireError> {
    let choices = question.choices.clone();
    let help = if choices.is_empty() { question.help.clone() } else { choices.join(", ") };
    let prompt = inquire::Text::new(&question.words).with_help_message(&help);
    let suggest = move |typed: &str| {
        let typed = typed.to_lowercase();
        let fits = |choice: &&String| choice.to_lowercase().starts_with(&typed);
        Ok::<_, inquire::CustomUserError>(choices.iter().filter(fits).cloned().collect::<Vec<_>>())
    };
    prompt.with_autocomplete(suggest).prompt()
}

/// Name and class of the first choice.
fn first_choice(interview: &Interview<'_>) -> Result<String, Findings> {
    let assessment = interview.assess()?;
    let first = assessment.candidates.first().filter(|first| !first.standing.class.is_refused());
    Ok(first.map_or("nothing suited".to_owned(), named))
}

fn named(one: &Candidate<'_>) -> String {
    format!("{}, {} {:.0}", one.species.name(), one.standing.label(), one.standing.index)
}

fn changed(before: &str, after: &str) -> String {
    if before == after {
        format!("first choice: {after}")
    } else {
        format!("first choice: {after} (was {before})")
    }
}

fn ending(interview: &Interview<'_>, end: &Next) -> Result<String, Findings> {
    let count = interview.answered();
    let (first, why) = match end {
        Next::Settled(id) => {
            let assessment = interview.assess()?;
            let listed = &assessment.candidates[0];
            let first = match assessment.candidate(id) {
                Some(own) if own.species.id == listed.species.id => named(own),
                Some(own) => {
                    format!("{}, level with {}, which stands before it now", named(own), named(listed))
                }
                None => id.clone(),
            };
            (first, "no answer that is left could change it, as far as draws of plausible answers tell")
        }
        _ => (first_choice(interview)?, "what is not known could still change it"),
    };
    let climate = if interview.knows_climate(&interview.assess()?) {
        String::new()
    } else {
        let why = if interview.nothing_near() {
            "no place of the gazetteer is near enough"
        } else if interview.has_position() {
            "its [climate] gives no temperatures by month"
        } else {
            "the site is not placed by latitude and longitude"
        };
        format!(
            "The climate is not known, since {why}: until the site file names a station file or twelve months \
             under [climate], this choice means little.\n"
        )
    };
    let questions = if count == 1 { "question" } else { "questions" };
    Ok(format!("\nAfter {count} {questions} the first choice is {first}; {why}.\n{climate}"))
}

/// A line of the dialogue.
fn println_out(text: &str) {
    use std::io::Write;
    let _ = writeln!(std::io::stdout().lock(), "{}", text.trim_end());
}
