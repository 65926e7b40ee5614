//! `swardwright interview [SITE]`

use std::collections::HashMap;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use super::common::{KnowledgeOptions, Printed, read_site};
use super::write_file::{refuse_same, write_or_give};
use swardwright::diag::{Finding, Findings, read_text, render_all};
use swardwright::{Interview, Next, Question};

/// An answers file larger than this is refused.
const LARGEST: u64 = 1 << 20;
/// What stands for "don't know", "back" and "stop" at the terminal.
const DONT_KNOW: &str = "?";
const BACK: &str = "back";
const STOP: &str = "stop";

/// Arguments of `interview`.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  swardwright interview --output site.toml
  swardwright interview scenarios/homeowner-few-facts/site.toml
  swardwright interview --answers answers.txt --output site.toml

An answers file has a line `key = answer` for each key of a site file, for example `soil.ph = 7.2`; what it
does not name is answered with \"don't know\".")]
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
        Some(file) => by_file(&mut interview, &answers(file)?)?,
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

/// The answers by key.
fn answers(file: &Path) -> Result<HashMap<String, String>, Findings> {
    let text = read_text(file, LARGEST)?;
    let mut answers = HashMap::new();
    for (at, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let Some((key, answer)) = line.split_once('=') else {
            let message = format!("{}:{}:1: `{line}` is no answer", file.display(), at + 1);
            return Err(vec![Finding::bare("bad-answer", message).help("write `key = answer`")]);
        };
        answers.insert(key.trim().to_owned(), answer.trim().trim_matches('"').to_owned());
    }
    Ok(answers)
}

/// Asks a file; what it does not know is answered so.
fn by_file(interview: &mut Interview<'_>, answers: &HashMap<String, String>) -> Result<String, Findings> {
    let mut told = String::new();
    loop {
        match interview.next()? {
            Next::Ask(question) => {
                let answer = answers.get(&question.key).map(String::as_str).filter(|text| *text != DONT_KNOW);
                let before = first_choice(interview)?;
                interview.answer(question.fact, answer)?;
                let change = changed(&before, &first_choice(interview)?);
                let number = interview.answered();
                let said = answer.unwrap_or("don't know");
                told.push_str(&format!(
                    "{number}. {} [{}]\n   {said}\n   {change}\n",
                    question.words, question.key
                ));
            }
            end => return Ok(told + &ending(interview, &end)?),
        }
    }
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
            "" | DONT_KNOW => interview.answer(question.fact, None)?,
            text => {
                if let Err(findings) = interview.answer(question.fact, Some(text)) {
                    println_out(&render_all(&findings, false));
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
    Ok(first.map_or("nothing suited".to_owned(), |first| {
        format!("{}, {} {:.0}", first.species.name(), first.standing.label(), first.standing.index)
    }))
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
            let first = interview.assess()?;
            let name = first.candidate(id).map_or(id.as_str(), |own| own.species.name());
            (
                name.to_owned(),
                "no answer that is left could change it, as far as draws of plausible answers tell",
            )
        }
        _ => (first_choice(interview)?, "what is not known could still change it"),
    };
    let climate = if interview.knows_climate(&interview.assess()?) {
        ""
    } else {
        "The climate is not known, since no place of the gazetteer is near enough: until the site file names a \
         station file or twelve months under [climate], this choice means little.\n"
    };
    Ok(format!("\nAfter {count} questions the first choice is {first}; {why}.\n{climate}"))
}

/// A line of the dialogue.
fn println_out(text: &str) {
    use std::io::Write;
    let _ = writeln!(std::io::stdout().lock(), "{}", text.trim_end());
}
