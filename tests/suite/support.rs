//! What the suites share: running the program, folders, blessing.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;

use swardwright::diag::Source;
use swardwright::report::Shown;
use swardwright::{Knowledge, KnowledgeText};

/// An answer with every candidate and every reason.
pub const EVERYTHING: Shown = Shown { top: 1000, all: true };

/// How a run of the program ended.
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

/// The root of the repository.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Commands that draw samples unless told otherwise.
const SAMPLING: [&str; 3] = ["recommend", "explain", "compare"];

/// Runs the program in a folder, without colour, with this standard input; without samples where the arguments
/// do not ask for them, since they take most of the time of a run.
pub fn run_in(folder: &Path, args: &[&str], input: &[u8]) -> Run {
    let draws = args.first().is_some_and(|command| SAMPLING.contains(command));
    let asked = args.iter().any(|arg| arg.starts_with("--samples"));
    let none: &[&str] = if draws && !asked { &["--samples", "0"] } else { &[] };
    run_as_typed(folder, &[args, none].concat(), input)
}

/// The same with the arguments as they are.
pub fn run_as_typed(folder: &Path, args: &[&str], input: &[u8]) -> Run {
    run_command(Command::new(env!("CARGO_BIN_EXE_swardwright")).env("NO_COLOR", "1"), folder, args, input)
}

/// The same without a word about colour.
pub fn run_plain(folder: &Path, args: &[&str], input: &[u8]) -> Run {
    run_command(Command::new(env!("CARGO_BIN_EXE_swardwright")).env_remove("NO_COLOR"), folder, args, input)
}

fn run_command(command: &mut Command, folder: &Path, args: &[&str], input: &[u8]) -> Run {
    let mut child = command
        .args(args)
        .current_dir(folder)
        .env_remove("COLUMNS")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // a program that refuses early closes the pipe, and that is no fault of the test
    let _ = child.stdin.take().unwrap().write_all(input);
    let output = child.wait_with_output().unwrap();
    Run {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Runs the program at the root of the repository.
pub fn run(args: &[&str]) -> Run {
    run_in(&root(), args, b"")
}

/// A fresh folder below the build folder, removed when dropped.
pub struct Scratch(pub PathBuf);

impl Scratch {
    pub fn new(name: &str) -> Self {
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Copies a folder with all that is in it.
pub fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().flatten() {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy_folder(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// The names of the folders in a folder, sorted.
pub fn folders(path: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(path)
        .unwrap()
        .flatten()
        .filter(|entry| entry.path().is_dir())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// The `.toml` files of a folder, sorted.
pub fn toml_files(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .collect();
    paths.sort();
    paths
}

/// A report without version and digest, which change with every edition and say nothing about the answer.
pub fn edition_masked(report: &str) -> String {
    let mask = |line| if str::starts_with(line, "knowledge ") { "knowledge (masked)" } else { line };
    report.lines().flat_map(|line| [mask(line), "\n"]).collect()
}

/// Compares with a golden file, or rewrites it when `SWARDWRIGHT_BLESS` is set; the difference if any.
pub fn golden(path: &Path, actual: &str) -> Option<String> {
    if std::env::var_os("SWARDWRIGHT_BLESS").is_some() {
        std::fs::write(path, actual).unwrap();
        return None;
    }
    let expected = std::fs::read_to_string(path).unwrap_or_default();
    if expected == actual {
        return None;
    }
    let at = expected.lines().zip(actual.lines()).position(|(a, b)| a != b);
    let at = at.unwrap_or_else(|| expected.lines().count().min(actual.lines().count()));
    let line = |text: &str| text.lines().nth(at).unwrap_or("<end>").to_owned();
    Some(format!(
        "{}:{}\n  expected: {}\n  actual:   {}",
        path.display(),
        at + 1,
        line(&expected),
        line(actual)
    ))
}

/// The built-in knowledge.
pub fn knowledge() -> Knowledge {
    Knowledge::load(&KnowledgeText::embedded()).map_err(|findings| format!("{findings:?}")).unwrap().0
}

/// A text as the library takes it.
pub fn source(path: &str, text: &str) -> Arc<Source> {
    Arc::new(Source { path: path.to_owned(), text: text.to_owned().into() })
}

/// Words of a reason that tell where something stands in an answer. The suite prints that; written down it is
/// wrong as soon as another value moves, and hides the cause.
pub fn place_or_points(reason: &str) -> Option<String> {
    const ORDINALS: [&str; 9] =
        ["second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"];
    let words: Vec<&str> =
        reason.split_whitespace().map(|word| word.trim_matches(|c: char| !c.is_alphanumeric())).collect();
    let tells = |pair: &&[&str]| match pair {
        ["place", number] => number.starts_with(|c: char| c.is_ascii_digit()),
        [_, "points" | "places"] | ["just", "behind"] => true,
        ["stand" | "stands" | "and", ordinal] => ORDINALS.contains(ordinal),
        _ => false,
    };
    words.windows(2).find(tells).map(|pair| pair.join(" "))
}
