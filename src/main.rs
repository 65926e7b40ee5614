//! The program: arguments and exit code, nothing else.

mod cli;

fn main() -> std::process::ExitCode {
    cli::run()
}
