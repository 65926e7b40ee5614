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
    let mut code = String::from("static EMBEDDED: &[(&str, &str)] = &[\n");
    for (below, path) in &files {
        let text = fs::read_to_string(path)?;
        // a file with a fault goes in as it is: the program then parses all of them and reports it
        let (table, errors) = toml::de::DeTable::parse_recoverable(&text);
        let (tree, too_deep) = document::convert::convert(table.get_ref());
        if errors.is_empty() && too_deep.is_none() {
            trees.push((below.as_str(), tree));
        }
        let _ = writeln!(code, "    ({below:?}, include_str!({path:?})),");
    }
    code.push_str("];\n");
    let whole = trees.len() == files.len();
    let digest = digest::digest(trees.iter().map(|(path, tree)| (*path, tree)));
    let tables: Vec<&document::Table> = trees.iter().map(|(_, tree)| tree).collect();
    let bytes = if whole { postcard::to_allocvec(&tables).map_err(io::Error::other)? } else { Vec::new() };
    fs::write(out.join("trees.bin"), bytes)?;
    let _ = writeln!(
        code,
        "static EMBEDDED_TREES: &[u8] = include_bytes!(concat!(env!(\"OUT_DIR\"), \"/trees.bin\"));"
    );
    let _ = writeln!(code, "static EMBEDDED_DIGEST: &str = {digest:?};");
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
