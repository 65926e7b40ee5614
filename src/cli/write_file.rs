//! Files that commands write: whole or not at all.

use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

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

/// Writes several files. Every text first goes whole into a file beside its own, under a name that
/// nobody can guess, and only when all of them stand do they take their places, one by one: a fault
/// before leaves all as it was.
pub fn write_all(files: &[(PathBuf, String)]) -> Result<(), Findings> {
    let mut ready: Vec<(NamedTempFile, PathBuf)> = Vec::new();
    for (path, text) in files {
        // a link stays a link
        let target = std::fs::canonicalize(path).unwrap_or_else(|_| path.clone());
        // what is no file, such as a terminal, cannot be replaced
        if std::fs::metadata(&target).is_ok_and(|data| !data.is_file() && !data.is_dir()) {
            std::fs::write(&target, text).map_err(|error| unwritable(path, &error))?;
        } else {
            let beside = prepare(&target, text).map_err(|error| unwritable(path, &error))?;
            ready.push((beside, target));
        }
    }
    // those that do not come to their place are taken away with their handles
    for (beside, target) in ready {
        beside.persist(&target).map_err(|error| unwritable(&target, &error.error))?;
        sync_folder(&target);
    }
    Ok(())
}

/// Makes the folders above a file.
pub fn make_folders(path: &Path) -> std::io::Result<()> {
    path.parent().map_or(Ok(()), std::fs::create_dir_all)
}

/// The text in a file beside the target, with the rights of the file that it will replace, or those of
/// any new file.
fn prepare(target: &Path, text: &str) -> std::io::Result<NamedTempFile> {
    if target.is_dir() {
        return Err(ErrorKind::IsADirectory.into());
    }
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    let rights = new_file_rights();
    let mut file = match &rights {
        Some(rights) => builder.permissions(rights.clone()).tempfile_in(folder)?,
        None => builder.tempfile_in(folder)?,
    };
    file.write_all(text.as_bytes())?;
    if let Ok(old) = std::fs::metadata(target) {
        if old.permissions().readonly() {
            return Err(ErrorKind::PermissionDenied.into());
        }
        file.as_file().set_permissions(old.permissions())?;
    }
    file.as_file().sync_all()?;
    Ok(file)
}

/// Rights of a new file before the mask of the process; `None` where there are none.
#[cfg(unix)]
fn new_file_rights() -> Option<std::fs::Permissions> {
    use std::os::unix::fs::PermissionsExt;
    Some(std::fs::Permissions::from_mode(0o666))
}

#[cfg(not(unix))]
fn new_file_rights() -> Option<std::fs::Permissions> {
    None
}

/// Makes the new name last, where folders can be synced; the text itself was synced before.
fn sync_folder(target: &Path) {
    if let Some(folder) = target.parent().and_then(|folder| std::fs::File::open(folder).ok()) {
        let _ = folder.sync_all();
    }
}

/// The finding that a file cannot be written.
pub fn unwritable(path: &Path, error: &std::io::Error) -> Findings {
    let words = match error.kind() {
        ErrorKind::NotFound => "the folder does not exist".to_owned(),
        ErrorKind::PermissionDenied => "may not be written".to_owned(),
        ErrorKind::IsADirectory => "is a folder, not a file".to_owned(),
        ErrorKind::NotADirectory | ErrorKind::AlreadyExists => {
            "a file stands where a folder is needed".to_owned()
        }
        _ => error.to_string(),
    };
    vec![Finding::bare("unwritable", format!("{}: {words}", path.display()))]
}
