//! Files that commands write: whole or not at all.

use std::io::Write;
use std::path::{Path, PathBuf};

use swardwright::diag::{Finding, Findings};

/// Refuses an output that is the same file as an input, by whatever name or link.
pub fn refuse_same(output: &Path, input: &Path) -> Result<(), Findings> {
    // a file that is not there yet is no other file
    if same_file::is_same_file(output, input).unwrap_or(false) {
        let message =
            format!("{}: is {}, which the answer would overwrite", output.display(), input.display());
        let help = "name another file to write to";
        return Err(vec![Finding::bare("unwritable", message).help(help)]);
    }
    Ok(())
}

/// Writes a text to a file, where one is named; else gives it back to be printed.
pub fn write_or_give(text: String, output: Option<&Path>) -> Result<String, Findings> {
    let Some(path) = output else { return Ok(text) };
    write_all(&[(path.to_owned(), text)])?;
    Ok(String::new())
}

/// Writes several files. Every text first goes whole into a file beside its own, and only when all
/// of them stand do they take their places, one by one: a fault before leaves all as it was.
pub fn write_all(files: &[(PathBuf, String)]) -> Result<(), Findings> {
    let mut ready: Vec<(PathBuf, PathBuf)> = Vec::new();
    let mut done = Ok(());
    for (path, text) in files {
        // a link stays a link
        let target = std::fs::canonicalize(path).unwrap_or_else(|_| path.clone());
        // what is no file, such as a terminal, cannot be replaced
        if std::fs::metadata(&target).is_ok_and(|data| !data.is_file() && !data.is_dir()) {
            done = std::fs::write(&target, text).map_err(|error| unwritable(path, &error));
        } else {
            let beside = beside(&target);
            done = prepare(&target, &beside, text).map_err(|error| unwritable(path, &error));
            ready.push((beside, target));
        }
        if done.is_err() {
            break;
        }
    }
    for (beside, target) in &ready {
        if done.is_ok() {
            done = std::fs::rename(beside, target).map_err(|error| unwritable(target, &error));
        }
        if done.is_err() {
            let _ = std::fs::remove_file(beside);
        }
    }
    done
}

/// A name in the same folder that nobody else uses.
fn beside(target: &Path) -> PathBuf {
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    target.with_file_name(format!(".{name}.{}.new", std::process::id()))
}

fn prepare(target: &Path, beside: &Path, text: &str) -> std::io::Result<()> {
    if target.is_dir() {
        return Err(std::io::ErrorKind::IsADirectory.into());
    }
    let mut file = std::fs::File::create(beside)?;
    file.write_all(text.as_bytes())?;
    if let Ok(old) = std::fs::metadata(target) {
        if old.permissions().readonly() {
            return Err(std::io::ErrorKind::PermissionDenied.into());
        }
        file.set_permissions(old.permissions())?;
    }
    file.sync_all()
}

fn unwritable(path: &Path, error: &std::io::Error) -> Findings {
    let words = match error.kind() {
        std::io::ErrorKind::NotFound => "the folder does not exist".to_owned(),
        std::io::ErrorKind::PermissionDenied => "may not be written".to_owned(),
        std::io::ErrorKind::IsADirectory => "is a folder, not a file".to_owned(),
        _ => error.to_string(),
    };
    vec![Finding::bare("unwritable", format!("{}: {words}", path.display()))]
}
