//! What commands share: loading the knowledge, printing, exit codes.

use std::io::{IsTerminal, Write};
use std::mem::ManuallyDrop;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use swardwright::diag::{Finding, Findings, Source, read_limited, read_text, render_all};
use swardwright::report::{Look, findings_json};
use swardwright::{
    Assessment, FEWEST_FOR_TIES, Knowledge, KnowledgeText, ReadAhead, STDIN_NAME, UnitSystem, assess_ahead,
};

/// What a command prints.
pub struct Printed {
    /// The answer.
    pub text: String,
    /// What is worth a word about the input.
    pub warnings: Findings,
}

impl From<String> for Printed {
    fn from(text: String) -> Self {
        Self { text, warnings: Findings::new() }
    }
}

/// How a command ended.
pub enum Outcome {
    /// It answered.
    Answered(Printed),
    /// A check found faults.
    Faults {
        /// What was found.
        findings: Findings,
        /// What is printed besides.
        text: String,
    },
    /// The input was refused.
    Refused(Findings),
}

impl From<Result<Printed, Findings>> for Outcome {
    fn from(answer: Result<Printed, Findings>) -> Self {
        match answer {
            Ok(printed) => Self::Answered(printed),
            Err(findings) => Self::Refused(findings),
        }
    }
}

/// How answers and findings are written.
#[derive(Clone, Copy, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// For people
    #[default]
    Text,
    /// For programs, by the contracts in schemas/; faults and warnings are written as JSON too
    Json,
}

/// Options of every command that uses the knowledge base.
#[derive(clap::Args)]
pub struct KnowledgeOptions {
    /// Use the knowledge in this folder in place of the built-in one
    #[arg(long, value_name = "DIR", global = true)]
    pub knowledge: Option<PathBuf>,
    /// Lay the folder of an overlay over the knowledge; may be given several times
    #[arg(long, value_name = "DIR", global = true)]
    pub overlay: Vec<PathBuf>,
}

impl KnowledgeOptions {
    /// Loads and checks the knowledge. It lives as long as the program: taking it apart at the end
    /// would only cost time.
    pub fn load(&self) -> Result<(&'static Knowledge, Findings), Findings> {
        let (knowledge, findings) = Knowledge::load(&self.text()?)?;
        Ok((Box::leak(Box::new(knowledge)), findings))
    }

    /// The text of the knowledge, before it is read.
    pub fn text(&self) -> Result<KnowledgeText, Findings> {
        let base = match &self.knowledge {
            Some(folder) => base_text(folder)?,
            None => KnowledgeText::embedded(),
        };
        self.overlay.iter().try_fold(base, |text, folder| text.with_overlay(folder))
    }
}

/// The text of a whole base in a folder; an overlay is none.
pub fn base_text(folder: &Path) -> Result<KnowledgeText, Findings> {
    if folder.join("overlay.toml").is_file() && !folder.join("vocabulary.toml").exists() {
        let message =
            format!("{}: this is an overlay, and a whole knowledge base is wanted here", folder.display());
        let help = format!("lay it over a base: `--overlay {}`", folder.display());
        return Err(vec![Finding::bare("overlay-as-base", message).help(help)]);
    }
    KnowledgeText::from_folder(folder)
}

/// Options of every command that prints an answer for people.
#[derive(clap::Args)]
pub struct AnswerOptions {
    /// Units of the answer; by default those that the site file is written in
    #[arg(long, value_enum)]
    units: Option<Units>,
    /// Width of the text in columns; by default that of the terminal, else 80
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=400))]
    width: Option<u16>,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Units {
    /// Metric
    Si,
    /// US customary
    Us,
}

/// Samples drawn where nothing else is asked for: as few as tell who shares a place.
const SAMPLES: u32 = FEWEST_FOR_TIES as u32;

/// How many samples are drawn, for every command that names places.
#[derive(clap::Args)]
pub struct SampleOptions {
    /// Draw so many samples of traits and site inside their stated spreads, which tell how firm the order is
    /// and, from 40 on, who shares a place; 0 for none, the fastest
    #[arg(long, value_name = "N", default_value_t = SAMPLES, value_parser = clap::value_parser!(u32).range(0..=100_000))]
    samples: u32,
}

impl SampleOptions {
    /// Draws them.
    pub fn draw(&self, assessment: &mut Assessment<'_>) {
        assessment.draw_samples(usize::try_from(self.samples).unwrap_or(usize::MAX));
    }
}

/// Widest text by itself: longer lines are hard to read.
const WIDEST: u16 = 110;

impl AnswerOptions {
    /// How the report is to look.
    pub fn look(&self, assessment: &Assessment<'_>) -> Look {
        self.look_in(assessment.units())
    }

    /// How a text without a site is to look.
    pub fn look_in(&self, default: UnitSystem) -> Look {
        let terminal = terminal_size::terminal_size().map(|(width, _)| width.0);
        let width = self.width.or(terminal.map(|width| width.min(WIDEST))).unwrap_or(80).max(40);
        let units = match self.units {
            Some(Units::Si) => UnitSystem::Si,
            Some(Units::Us) => UnitSystem::Us,
            None => default,
        };
        let coloured = std::io::stdout().is_terminal() && !no_colour();
        Look { width: usize::from(width), coloured, units }
    }
}

/// Reads the site file that an argument names and assesses it. The answer, like the knowledge, is not
/// taken apart at the end.
pub fn assess_file(
    argument: &str,
    options: &KnowledgeOptions,
) -> Result<(ManuallyDrop<Assessment<'static>>, Findings), Findings> {
    let source = read_site(argument)?;
    let (ahead, loaded) = std::thread::scope(|scope| {
        let ahead = scope.spawn(|| ReadAhead::of(&source));
        let loaded = options.load();
        // what went wrong there will again where the site is read
        (ahead.join().ok().flatten(), loaded)
    });
    let (assessment, findings) = assess_ahead(&source, loaded?.0, ahead)?;
    Ok((ManuallyDrop::new(assessment), findings))
}

/// A site file larger than this is refused.
const LARGEST_SITE: u64 = 2 << 20;

/// Reads the site file that an argument names.
pub fn read_site(argument: &str) -> Result<Arc<Source>, Findings> {
    let (path, text) = if argument == "-" {
        let shown = STDIN_NAME;
        (shown.to_owned(), read_limited(std::io::stdin().lock(), shown, LARGEST_SITE))
    } else {
        (argument.to_owned(), read_text(Path::new(argument), LARGEST_SITE))
    };
    match text {
        Ok(text) => Ok(Arc::new(Source { path, text: text.into() })),
        Err(findings) => Err(findings),
    }
}

/// Prints what a command has to say and turns its end into an exit code.
pub fn finish(outcome: Outcome, format: Format) -> ExitCode {
    match outcome {
        Outcome::Answered(printed) => {
            let written = write_out(&printed.text);
            write_findings(&printed.warnings, format);
            written.map_or(ExitCode::SUCCESS, |fault| lost(&fault, format))
        }
        Outcome::Faults { findings, text } => {
            let written = write_out(&text);
            write_findings(&findings, format);
            written.map_or(ExitCode::from(1), |fault| lost(&fault, format))
        }
        Outcome::Refused(findings) => {
            write_findings(&findings, format);
            ExitCode::from(2)
        }
    }
}

/// Whether colour is wanted on the error stream.
fn coloured() -> bool {
    std::io::stderr().is_terminal() && !no_colour()
}

/// Whether the reader asked for no colour (NO_COLOR set to anything).
fn no_colour() -> bool {
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}

/// For programs the error stream holds one document, or nothing.
fn write_findings(findings: &Findings, format: Format) {
    let text = match format {
        Format::Text => render_all(findings, coloured()),
        Format::Json if findings.is_empty() => String::new(),
        Format::Json => format!("{:#}\n", findings_json(findings)),
    };
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

/// Writes an answer; what stood in the way, where that is a fault. A reader that closes the pipe early
/// is none.
fn write_out(text: &str) -> Option<std::io::Error> {
    let mut out = std::io::stdout().lock();
    let fault = out.write_all(text.as_bytes()).and_then(|()| out.flush()).err()?;
    (fault.kind() != std::io::ErrorKind::BrokenPipe).then_some(fault)
}

/// An answer that could not be written is no answer.
fn lost(fault: &std::io::Error, format: Format) -> ExitCode {
    let message = format!("the answer could not be written: {fault}");
    write_findings(&vec![Finding::bare("answer-not-written", message)], format);
    ExitCode::from(2)
}
