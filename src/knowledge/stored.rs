//! The built-in knowledge in the form in which the program carries it: checked when the program is
//! built and written down as it then is, so that a start decodes it and neither parses nor checks.
//!
//! A place is stored as the number of its file and a span, a publication as its number, since many
//! values share each. What can be found anew for little is left out: the names of the vocabulary, the
//! formulas of the program and the order of the rules.

use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use super::Knowledge;
use super::sources::Publication;
use super::text::KnowledgeText;
use crate::diag::Source;

thread_local! {
    /// The numbers of paths and of keys, while knowledge is written.
    static NUMBERS: RefCell<HashMap<String, usize>> = RefCell::default();
}
/// The files that numbers stand for. There is one stored knowledge in a program, parts of it are read
/// long after the rest, and wherever it is read the numbers mean the same.
static FILES: OnceLock<Vec<Arc<Source>>> = OnceLock::new();
/// The publications that numbers stand for.
static PUBLICATIONS: OnceLock<Vec<Arc<Publication>>> = OnceLock::new();

/// The stored form of knowledge that was read from a text without overlays.
#[allow(dead_code, reason = "the build script writes it, the program only reads it")]
pub fn store(knowledge: &Knowledge, text: &KnowledgeText) -> Option<Vec<u8>> {
    let paths = text.files.iter().map(|file| file.source.path.clone()).zip(0..);
    NUMBERS.set(paths.chain(knowledge.sources.keys().cloned().zip(0..)).collect());
    let stored = postcard::to_allocvec(knowledge).ok();
    NUMBERS.take();
    stored
}

/// The knowledge from its stored form and the files that it was read from.
pub fn restore(stored: &'static [u8], text: &KnowledgeText) -> Option<Knowledge> {
    FILES.get_or_init(|| text.files.iter().map(|file| file.source.clone()).collect());
    let mut knowledge: Knowledge = postcard::from_bytes(stored).ok()?;
    knowledge.vocabulary.index();
    knowledge.put_in_order(&mut Vec::new());
    Some(knowledge)
}

fn number_of(name: &str) -> usize {
    NUMBERS.with_borrow(|numbers| numbers.get(name).copied().unwrap_or(usize::MAX))
}

/// A place as the number of its file and its span.
pub mod place {
    use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

    use super::{FILES, number_of};
    use crate::diag::Place;

    /// Writes it.
    pub fn serialize<S: Serializer>(place: &Place, to: S) -> Result<S::Ok, S::Error> {
        (number_of(&place.source.path), place.span.start, place.span.end).serialize(to)
    }

    /// Reads it.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Place, D::Error> {
        let (file, start, end) = <(usize, usize, usize)>::deserialize(from)?;
        let source = FILES.get().and_then(|files| files.get(file)).cloned();
        Ok(Place { source: source.ok_or_else(|| D::Error::custom("no such file"))?, span: start..end })
    }
}

/// A publication that is cited, as its number.
pub mod publication {
    use std::sync::Arc;

    use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

    use super::{PUBLICATIONS, number_of};
    use crate::knowledge::sources::Publication;

    /// Writes it.
    pub fn serialize<S: Serializer>(publication: &Publication, to: S) -> Result<S::Ok, S::Error> {
        number_of(&publication.key).serialize(to)
    }

    /// Reads it.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Arc<Publication>, D::Error> {
        let at = usize::deserialize(from)?;
        let publication = PUBLICATIONS.get().and_then(|all| all.get(at)).cloned();
        publication.ok_or_else(|| D::Error::custom("no such publication"))
    }
}

/// All publications, which others are then read as the numbers of.
pub mod sources {
    use serde::{Deserialize, Deserializer, Serializer};

    use super::PUBLICATIONS;
    use crate::knowledge::sources::{Publication, Sources};

    /// Writes them.
    pub fn serialize<S: Serializer>(sources: &Sources, to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(sources.values().map(|one| &**one))
    }

    /// Reads them.
    pub fn deserialize<'de: 'static, D: Deserializer<'de>>(from: D) -> Result<Sources, D::Error> {
        let all: Vec<Publication> = Vec::deserialize(from)?;
        let all = PUBLICATIONS.get_or_init(|| all.into_iter().map(std::sync::Arc::new).collect());
        Ok(all.iter().map(|one| (one.key.clone(), one.clone())).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::embedded::STORED;

    /// What was stored when the program was built is what reading and checking every file gives.
    #[test]
    fn the_stored_knowledge_is_what_its_files_say() {
        assert!(!STORED.is_empty(), "the built-in knowledge has findings, so that each start reads it anew");
        let text = KnowledgeText::from_pairs(
            "files",
            crate::embedded::FILES.iter().map(|(path, text, _)| (*path, *text)),
        );
        let (read, findings) = Knowledge::load(&text).map_err(|faults| format!("{faults:?}")).unwrap();
        assert_eq!(findings, Vec::new());
        assert!(store(&read, &text).unwrap() == STORED, "reading the files gives another knowledge");
        let restored = restore(STORED, &text).unwrap();
        assert!(store(&restored, &text).unwrap() == STORED, "what is restored is stored otherwise");
        assert_eq!(restored.strata, read.strata);
        assert_eq!(restored.formulas, read.formulas);
        assert_eq!(restored.digest, read.digest);
        assert!(read.vocabulary.ids().all(|id| restored.vocabulary.slot(id) == read.vocabulary.slot(id)));
    }
}
