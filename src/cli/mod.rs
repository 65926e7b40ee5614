//! The command line: one file a command, each with `Args` and `run`.

mod change;
mod climate;
mod common;
mod compare;
mod expected;
mod explain;
mod interview;
mod knowledge;
mod knowledge_check;
mod knowledge_diff;
mod knowledge_new;
mod knowledge_schema;
mod knowledge_table;
mod property;
mod recommend;
mod site_files;
mod write_file;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Which turf or ground cover will persist on a site, and why.
#[derive(Parser)]
#[command(name = "swardwright", version, about, long_about = None, after_help = EXAMPLES, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

const EXAMPLES: &str = "\
Examples:
  swardwright recommend scenarios/hot-dry-lawn/site.toml
  swardwright explain scenarios/hot-dry-lawn/site.toml bouteloua-dactyloides
  swardwright knowledge show cynodon-dactylon

Exit code: 0 answered, 1 a check found faults or no choice keeps the limits of a property, 2 the input was refused.";

#[derive(Subcommand)]
enum Command {
    /// Ranks what will persist on a site, with every reason and caution
    Recommend(recommend::Args),
    /// Tells why one species stands where it stands
    Explain(explain::Args),
    /// Asks what is most worth knowing of a site, one question at a time, and writes the site file
    Interview(interview::Args),
    /// Tells what would bring a species up, and what would bring the first choice down
    Change(change::Args),
    /// Sets species side by side, and tells what decides between them
    Compare(compare::Args),
    /// Chooses for every area of a property under limits that they share
    Property(property::Args),
    /// Reads or checks climate files
    Climate(climate::Args),
    /// Checks or shows the knowledge base
    Knowledge(knowledge::Args),
}

/// Reads the arguments, runs the command, tells how it ended.
pub fn run() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            let _ = error.print();
            return if error.use_stderr() { ExitCode::from(2) } else { ExitCode::SUCCESS };
        }
    };
    let text = common::Format::Text;
    let (outcome, format) = match cli.command {
        Command::Recommend(args) => (recommend::run(&args).into(), args.format),
        Command::Explain(args) => (explain::run(&args).into(), text),
        Command::Interview(args) => (interview::run(&args).into(), text),
        Command::Change(args) => (change::run(&args).into(), text),
        Command::Compare(args) => (compare::run(&args).into(), text),
        Command::Property(args) => (property::run(&args), args.format),
        Command::Climate(args) => (climate::run(args), text),
        Command::Knowledge(args) => (knowledge::run(&args), args.format()),
    };
    common::finish(outcome, format)
}
