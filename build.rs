//! Puts the knowledge folder into the program: for every file its text, for messages, and its tree,
//! so that the program decodes it instead of parsing; and the digest over all of it.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

#[path = "src/document"]
mod document {
    #[path = "convert.rs"]
    pub mod convert;
    #[path = "tree.rs"]
    #[allow(dead_code)]
    pub mod tree;
    pub use tree::{Node, NodeKind, Table};
}
#[path = "src/knowledge/digest.rs"]
#[allow(dead_code)]
mod digest;

fn main() -> io::Result<()> {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=knowledge");
    println!("cargo::rerun-if-changed=src/document");
    println!("cargo::rerun-if-changed=src/knowledge/digest.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join("knowledge");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    let mut files = Vec::new();
    collect(&root, "", &mut files)?;
    files.sort();
    let mut trees = Vec::new();
    let mut code = String::from("/// Path, text and encoded tree of every file of the knowledge folder.\n");
    code.push_str("static EMBEDDED: &[(&str, &str, &[u8])] = &[\n");
    for (at, (below, path)) in files.iter().enumerate() {
        let text = fs::read_to_string(path)?;
        let (table, errors) = toml::de::DeTable::parse_recoverable(&text);
        let (tree, too_deep) = document::convert::convert(table.get_ref());
        // without a tree the program parses the files itself and reports their faults
        let sound = errors.is_empty() && too_deep.is_none();
        let bytes = if sound { postcard::to_allocvec(&tree).map_err(io::Error::other)? } else { Vec::new() };
        let tree_path = out.join(format!("tree-{at}.bin"));
        fs::write(&tree_path, bytes)?;
        let _ = writeln!(code, "    ({below:?}, include_str!({path:?}), include_bytes!({tree_path:?})),");
        trees.push((below.as_str(), tree));
    }
    code.push_str("];\n");
    let digest = digest::digest(trees.iter().map(|(path, tree)| (*path, tree)));
    let _ = writeln!(code, "/// Digest over the whole folder.\nstatic EMBEDDED_DIGEST: &str = {digest:?};");
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
