//! What commands share: loading the knowledge, printing, exit codes.

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use swardwright::diag::{Findings, render_all};
use swardwright::{Knowledge, KnowledgeText};

/// How a command ended.
pub enum Outcome {
    /// It answered with this text.
    Answered(String),
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

/// Options of every command that uses the knowledge base.
#[derive(clap::Args)]
pub struct KnowledgeOptions {
    /// Use the knowledge in this folder in place of the built-in one
    #[arg(long, value_name = "DIR", global = true)]
    pub knowledge: Option<PathBuf>,
}

impl KnowledgeOptions {
    /// Loads and checks the knowledge.
    pub fn load(&self) -> Result<(Knowledge, Findings), Findings> {
        Knowledge::load(&self.text()?)
    }

    fn text(&self) -> Result<KnowledgeText, Findings> {
        match &self.knowledge {
            Some(folder) => KnowledgeText::from_folder(Path::new(folder)),
            None => Ok(KnowledgeText::embedded()),
        }
    }
}

/// Prints what a command has to say and turns its end into an exit code.
pub fn finish(outcome: Outcome) -> ExitCode {
    match outcome {
        Outcome::Answered(text) => {
            write_out(&text);
            ExitCode::SUCCESS
        }
        Outcome::Faults { findings, text } => {
            write_out(&text);
            write_findings(&findings);
            ExitCode::from(1)
        }
        Outcome::Refused(findings) => {
            write_findings(&findings);
            ExitCode::from(2)
        }
    }
}

/// Whether colour is wanted on the error stream.
fn coloured() -> bool {
    std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
}

fn write_findings(findings: &Findings) {
    let text = render_all(findings, coloured());
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

/// A reader that closes the pipe early is no fault.
fn write_out(text: &str) {
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}
