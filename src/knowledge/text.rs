//! Where the text of a knowledge base comes from: inside the program, or a folder.

use std::borrow::Cow;
use std::path::Path;
use std::sync::Arc;

use crate::diag::{Finding, Findings, Source};
use crate::embedded::{DIGEST, FILES, STORED};

/// A file of a knowledge base.
#[derive(Clone, Debug)]
pub struct KnowledgeFile {
    /// Path below the folder, with `/` between the parts.
    pub path: String,
    /// Its text.
    pub source: Arc<Source>,
}

/// The files of a knowledge base, sorted by path.
#[derive(Clone, Debug)]
pub struct KnowledgeText {
    /// Where they come from, for messages.
    pub origin: String,
    /// The files.
    pub files: Vec<KnowledgeFile>,
    /// Files that could not be read, with their paths below the folder.
    pub(super) unreadable: Vec<(String, Finding)>,
    /// Folders laid over these files.
    pub(super) overlays: Vec<OverlayText>,
    /// What the program has ready of them.
    pub(super) ready: Option<Ready>,
}

/// What the build script made of the built-in files.
#[derive(Clone, Debug)]
pub(super) struct Ready {
    /// Their trees, encoded.
    pub trees: Vec<&'static [u8]>,
    /// Their digest.
    pub digest: &'static str,
    /// The whole base, read and checked; empty where there were findings.
    pub stored: &'static [u8],
}

/// The files of an overlay, sorted by path.
#[derive(Clone, Debug)]
pub struct OverlayText {
    /// Where they come from, for messages.
    pub origin: String,
    /// The files.
    pub files: Vec<KnowledgeFile>,
    /// Files that could not be read, with their paths below the folder.
    pub(super) unreadable: Vec<(String, Finding)>,
}

/// Files of a knowledge base larger than this are refused.
const LARGEST: u64 = 4 << 20;

impl KnowledgeText {
    /// The knowledge inside the program.
    pub fn embedded() -> Self {
        let pairs = FILES.iter().map(|(path, text, _)| (*path, Cow::Borrowed(*text)));
        let mut text = Self::from_texts("the built-in knowledge", pairs);
        // the list stands in the order of the paths, as the files do
        if FILES.iter().all(|(_, _, tree)| !tree.is_empty()) {
            let trees = FILES.iter().map(|(_, _, tree)| *tree).collect();
            text.ready = Some(Ready { trees, digest: DIGEST, stored: STORED });
        }
        text
    }

    /// Files given as pairs of path and text.
    pub fn from_pairs<'a>(origin: &str, pairs: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        Self::from_texts(origin, pairs.into_iter().map(|(path, text)| (path, Cow::Owned(text.to_owned()))))
    }

    fn from_texts<'a>(origin: &str, pairs: impl IntoIterator<Item = (&'a str, Cow<'static, str>)>) -> Self {
        let files = pairs
            .into_iter()
            .map(|(path, text)| {
                let shown = format!("knowledge/{path}");
                let source = Arc::new(Source { path: shown, text });
                KnowledgeFile { path: path.to_owned(), source }
            })
            .collect();
        Self { origin: origin.to_owned(), files, unreadable: Vec::new(), overlays: Vec::new(), ready: None }
            .sorted()
    }

    /// Every `.toml` file below a folder.
    pub fn from_folder(folder: &Path) -> Result<Self, Findings> {
        let mut unreadable = Vec::new();
        let mut files = Vec::new();
        collect(folder, "", &mut files, &mut unreadable);
        if files.is_empty() && unreadable.is_empty() {
            let message = format!("{}: no .toml file stands in this folder", folder.display());
            return Err(vec![Finding::bare("no-knowledge", message)]);
        }
        if files.is_empty() {
            return Err(unreadable.into_iter().map(|(_, finding)| finding).collect());
        }
        // one file that cannot be read does not hide what is wrong with the others
        let origin = folder.display().to_string();
        Ok(Self { origin, files, unreadable, overlays: Vec::new(), ready: None }.sorted())
    }

    /// The same with a folder laid over it.
    ///
    /// # Errors
    /// The folder cannot be read, or holds no `.toml` file.
    pub fn with_overlay(mut self, folder: &Path) -> Result<Self, Findings> {
        let Self { origin, files, unreadable, .. } = Self::from_folder(folder)?;
        self.overlays.push(OverlayText { origin, files, unreadable });
        Ok(self)
    }

    /// The same without what is laid over it.
    pub(super) fn without_overlays(&self) -> Self {
        Self { overlays: Vec::new(), ..self.clone() }
    }

    /// The same with another text in the file that messages call `path`.
    pub fn with_text(mut self, path: &str, text: String) -> Self {
        if let Some(file) = self.files.iter_mut().find(|file| file.source.path == path) {
            file.source = Arc::new(Source { path: path.to_owned(), text: text.into() });
            // what the program has ready is of the old text
            self.ready = None;
        }
        self
    }

    /// The files of the base, then those of each overlay.
    pub fn all_files(&self) -> impl Iterator<Item = &KnowledgeFile> {
        self.files.iter().chain(self.overlays.iter().flat_map(|overlay| &overlay.files))
    }

    fn sorted(mut self) -> Self {
        self.files.sort_by(|a, b| a.path.cmp(&b.path));
        self
    }
}

fn collect(
    folder: &Path,
    prefix: &str,
    files: &mut Vec<KnowledgeFile>,
    findings: &mut Vec<(String, Finding)>,
) {
    let unreadable = |path: &Path, error: &std::io::Error| {
        let words = match error.kind() {
            std::io::ErrorKind::NotFound => "there is no such folder".to_owned(),
            std::io::ErrorKind::NotADirectory => "is a file, not a folder of knowledge".to_owned(),
            std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
            _ => error.to_string(),
        };
        Finding::bare("unreadable", format!("{}: {words}", path.display()))
    };
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => return findings.push((prefix.to_owned(), unreadable(folder, &error))),
    };
    for entry in entries.flatten() {
        let (path, name) = (entry.path(), entry.file_name().to_string_lossy().into_owned());
        if name.starts_with('.') {
            continue;
        }
        let below = if prefix.is_empty() { name.clone() } else { format!("{prefix}/{name}") };
        if path.is_dir() {
            // deep folders hold no knowledge, and a loop of links must end
            if below.matches('/').count() < 4 {
                collect(&path, &below, files, findings);
            }
            continue;
        }
        if let Some(stem) = almost_toml(&name) {
            let message = format!("{}: is not read, since its name does not end in `.toml`", path.display());
            let finding = Finding::bare("file-ending", message).help(format!("rename it to `{stem}.toml`"));
            findings.push((below, finding));
            continue;
        }
        if !name.ends_with(".toml") {
            continue;
        }
        match read_file(&path) {
            Ok(text) => {
                let source = Arc::new(Source { path: path.display().to_string(), text: text.into() });
                files.push(KnowledgeFile { path: below, source });
            }
            Err(faults) => findings.extend(faults.into_iter().map(|fault| (below.clone(), fault))),
        }
    }
}

/// The name without its ending, of a file that somebody meant to be read: `a.TOML`, and the `a.toml.txt` of an editor
/// that hides endings. What else stands in a folder (notes, tables, an editor's copies) is left alone.
fn almost_toml(name: &str) -> Option<&str> {
    let lower = name.to_ascii_lowercase();
    let end = [".toml.txt", ".toml"].into_iter().find(|end| lower.ends_with(end))?;
    (!name.ends_with(".toml")).then(|| &name[..name.len() - end.len()])
}

fn read_file(path: &Path) -> Result<String, Findings> {
    crate::diag::read_text(path, LARGEST)
}

#[cfg(test)]
mod tests {
    use super::almost_toml;

    #[test]
    fn a_name_that_was_meant_to_end_in_toml_is_known() {
        assert_eq!(almost_toml("exampla-repens.toml.txt"), Some("exampla-repens"));
        assert_eq!(almost_toml("exampla-repens.TOML"), Some("exampla-repens"));
        for other in
            ["exampla-repens.toml", "exampla-repens.toml~", "notes.txt", "wear.csv", "exampla.toml.orig"]
        {
            assert_eq!(almost_toml(other), None, "{other}");
        }
    }
}
