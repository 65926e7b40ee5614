//! Folders of site files.

use std::path::{Path, PathBuf};

use swardwright::diag::{Finding, Findings};

/// The site files below a folder, in order: those that state `schema`; a file stands for itself.
pub fn site_files(folder: &Path) -> Result<Vec<PathBuf>, Findings> {
    if folder.is_file() {
        return Ok(vec![folder.to_owned()]);
    }
    if !folder.is_dir() {
        let message = format!("{}: there is no such folder", folder.display());
        return Err(vec![Finding::bare("unreadable", message)]);
    }
    let mut files = Vec::new();
    collect(folder, &mut files, 4);
    files.sort();
    if files.is_empty() {
        let message = format!("{}: no site file stands in this folder", folder.display());
        let help = "a site file is a .toml file with `schema = 1`";
        return Err(vec![Finding::bare("no-sites", message).help(help)]);
    }
    Ok(files)
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>, depth: usize) {
    for path in std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()) {
        if path.is_dir() && depth > 0 {
            collect(&path, files, depth - 1);
        } else if path.extension().is_some_and(|end| end == "toml") {
            let text = std::fs::read_to_string(&path).unwrap_or_default();
            if text.lines().any(|line| line.trim_start().starts_with("schema")) {
                files.push(path);
            }
        }
    }
}
