//! Puts the knowledge folder into the program: a list of paths and texts.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join("knowledge");
    let mut files = Vec::new();
    collect(&root, "", &mut files)?;
    files.sort();
    let mut code = String::from("/// Path and text of every file of the knowledge folder.\n");
    code.push_str("static EMBEDDED: &[(&str, &str)] = &[\n");
    for (below, path) in &files {
        let _ = writeln!(code, "    ({below:?}, include_str!({path:?})),");
    }
    code.push_str("];\n");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    fs::write(out.join("embedded.rs"), code)?;
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=knowledge");
    Ok(())
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
