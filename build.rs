//! Puts the knowledge folder into the program: for every file its text, for messages, and its tree,
//! for overlays that are laid over it; the whole base as it is after reading and checking, so that the
//! program decodes it instead; and the digest over all of it.
//!
//! It reads the knowledge with the modules of the library itself; what those need besides stands below.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::{env, fs, io};

use knowledge::text::KnowledgeText;
use knowledge::{Knowledge, digest, stored};

#[allow(dead_code)]
#[path = "src/alike.rs"]
mod alike;
#[allow(clippy::wrong_self_convention, reason = "what the library exports is judged as a public name")]
#[path = "src/diag"]
mod diag {
    #[path = "finding.rs"]
    mod finding;
    #[path = "read.rs"]
    mod read;
    #[path = "suggest.rs"]
    mod suggest;
    pub use finding::{Finding, Findings, Place, Severity, Source};
    pub use read::read_text;
    pub use suggest::{join_names, nearest};
}
#[allow(dead_code, unused_imports)]
#[path = "src/document/mod.rs"]
mod document;
#[allow(dead_code, unused_imports)]
#[path = "src/engine/mod.rs"]
mod engine;
#[allow(dead_code, unused_imports)]
#[path = "src/knowledge/mod.rs"]
mod knowledge;
#[allow(dead_code, unused_imports)]
#[path = "src/rank/mod.rs"]
mod rank;
#[allow(dead_code, unused_imports)]
#[path = "src/units/mod.rs"]
mod units;
#[allow(dead_code)]
#[path = "src/site"]
mod site {
    #[path = "evapotranspiration.rs"]
    pub mod evapotranspiration;
    #[path = "solar.rs"]
    pub mod solar;
    /// The program finds its formulas by itself when it starts.
    pub const FORMULAS: &[crate::engine::formula::Declared] = &[];
}
/// Nothing is built in while the built-in knowledge is made.
mod embedded {
    pub static FILES: &[(&str, &str, &[u8])] = &[];
    pub static DIGEST: &str = "";
    pub static STORED: &[u8] = &[];
}

fn main() -> io::Result<()> {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=knowledge");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join("knowledge");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    let mut files = Vec::new();
    collect(&root, "", &mut files)?;
    files.sort();
    let mut trees = Vec::new();
    let mut texts = Vec::new();
    let mut code = String::from("/// Path, text and encoded tree of every file of the knowledge folder.\n");
    code.push_str("pub static FILES: &[(&str, &str, &[u8])] = &[\n");
    for (at, (below, path)) in files.iter().enumerate() {
        let text = fs::read_to_string(path)?;
        // without a tree the program parses the files itself and reports their faults
        let source = Arc::new(diag::Source { path: below.clone(), text: text.clone().into() });
        let tree = document::parse(&source, &mut Vec::new());
        let bytes = match &tree {
            Some(tree) => postcard::to_allocvec(tree).map_err(io::Error::other)?,
            None => Vec::new(),
        };
        let tree_path = out.join(format!("tree-{at}.bin"));
        fs::write(&tree_path, bytes)?;
        let _ = writeln!(code, "    ({below:?}, include_str!({path:?}), include_bytes!({tree_path:?})),");
        trees.push((below.as_str(), tree.unwrap_or_default()));
        texts.push((below.as_str(), text));
    }
    code.push_str("];\n");
    let digest = digest::digest(trees.iter().map(|(path, tree)| (*path, tree)));
    let _ = writeln!(code, "/// Digest over the whole folder.\npub static DIGEST: &str = {digest:?};");
    let text = KnowledgeText::from_pairs("", texts.iter().map(|(path, text)| (*path, text.as_str())));
    // with findings the program reads the files itself and tells them
    let sound = Knowledge::load(&text).ok().filter(|(_, findings)| findings.is_empty());
    let stored = sound.and_then(|(knowledge, _)| stored::store(&knowledge, &text)).unwrap_or_default();
    let stored_path = out.join("stored.bin");
    fs::write(&stored_path, stored)?;
    code.push_str("/// The base, read and checked; empty where there were findings.\n");
    let _ = writeln!(code, "pub static STORED: &[u8] = include_bytes!({stored_path:?});");
    fs::write(out.join("embedded.rs"), code)
}

fn collect(folder: &Path, prefix: &str, files: &mut Vec<(String, PathBuf)>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let below = if prefix.is_empty() { name.clone() } else { format!("{prefix}/{name}") };
        if path.is_dir() {
            collect(&path, &below, files)?;
        } else if name.ends_with(".toml") {
            files.push((below, path));
        }
    }
    Ok(())
}
