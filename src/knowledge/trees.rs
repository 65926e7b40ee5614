//! The trees of the files of a knowledge base.

use std::borrow::Cow;

use super::text::KnowledgeText;
use super::{digest, placeholder};
use crate::diag::Findings;
use crate::document::{Table, parse};

/// The trees of all files, those of the base first: parsed, or inside the program and decoded when
/// asked for.
pub struct Trees<'a> {
    encoded: &'a [&'static [u8]],
    parsed: Vec<Option<Table>>,
    /// Digest over the base.
    pub digest: String,
}

impl<'a> Trees<'a> {
    /// Parses what is not inside the program; faults of syntax are told.
    pub fn of(text: &'a KnowledgeText, findings: &mut Findings) -> Self {
        let (encoded, ready) = match &text.ready {
            Some(ready) => (ready.trees.as_slice(), Some(ready.digest)),
            None => (&[][..], None),
        };
        let to_parse = text.all_files().skip(encoded.len());
        let parsed: Vec<Option<Table>> = to_parse.map(|file| parse(&file.source, findings)).collect();
        let sound =
            || text.files.iter().zip(&parsed).filter_map(|(file, table)| Some((file, table.as_ref()?)));
        let digest = ready.map_or_else(
            || digest::digest(sound().map(|(file, table)| (file.path.as_str(), table))),
            str::to_owned,
        );
        Self { encoded, parsed, digest }
    }

    /// Whether the syntax of a file is sound.
    pub fn reads(&self, at: usize) -> bool {
        at < self.encoded.len() || self.parsed[at - self.encoded.len()].is_some()
    }

    /// Reports what scaffolds left open; the knowledge inside the program has nothing of it.
    pub fn report_unfilled(&self, text: &KnowledgeText, findings: &mut Findings) {
        for (file, table) in text.all_files().skip(self.encoded.len()).zip(&self.parsed) {
            if let Some(table) = table {
                placeholder::report(&file.source, table, findings);
            }
        }
    }

    /// The tree of a file; `None` where its syntax is faulty.
    pub fn tree(&self, at: usize) -> Option<Cow<'_, Table>> {
        match self.encoded.get(at) {
            // the build script wrote these bytes with the same types
            Some(bytes) => postcard::from_bytes(bytes).ok().map(Cow::Owned),
            None => self.parsed[at - self.encoded.len()].as_ref().map(Cow::Borrowed),
        }
    }
}
