//! `swardwright knowledge new …`

use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::common::{KnowledgeOptions, Printed};
use super::knowledge_schema::write_schema;
use super::write_file::{make_folders, unwritable};
use swardwright::diag::{Finding, Findings};
use swardwright::{Knowledge, KnowledgeText, ScaffoldKind, SchemaKind, id_meant, scaffold};

/// Arguments of `knowledge new`.
#[derive(clap::Args)]
pub struct Args {
    /// What to begin
    kind: NewKind,
    /// Its id: of a species the botanical name in lower case with hyphens
    id: String,
    /// Folder of the knowledge base or overlay to write into; by default that of --overlay or
    /// --knowledge, else `knowledge` where that is a knowledge base, else the current folder
    #[arg(long, value_name = "DIR")]
    output: Option<PathBuf>,
    /// Folder of rules that a new rule goes into; by default the one its first word points to
    #[arg(long, value_name = "NAME")]
    topic: Option<String>,
}

#[derive(Clone, Copy, PartialEq, ValueEnum)]
enum NewKind {
    /// A species with its traits
    Species,
    /// A rule with its cases
    Rule,
    /// A publication
    #[value(alias = "sources")]
    Source,
    /// Values of a species of the base that an overlay changes
    Values,
}

/// Where the knowledge of a working copy stands.
const USUAL: &str = "knowledge";
/// By this file a knowledge base is told from an overlay.
const BASE: &str = "vocabulary.toml";
/// By this file an overlay is told.
const OVERLAY: &str = "overlay.toml";

/// Runs the command.
pub fn run(args: &Args, options: &KnowledgeOptions) -> Result<Printed, Findings> {
    if args.topic.is_some() && args.kind != NewKind::Rule {
        let message = "`--topic` is for rules: nothing else stands in folders of topics";
        return Err(vec![Finding::bare("stray-topic", message).help("leave it out")]);
    }
    let kind = match args.kind {
        NewKind::Species => ScaffoldKind::Species,
        NewKind::Rule => ScaffoldKind::Rule { topic: args.topic.clone() },
        NewKind::Source => ScaffoldKind::Source,
        NewKind::Values => ScaffoldKind::Values,
    };
    let begins_overlay = begins_overlay(args, options);
    let (folder, options) = whereto(args, options);
    if args.kind == NewKind::Values && folder.join(BASE).is_file() {
        let message = format!("{}: values/ belongs to overlays, and this is a base", folder.display());
        let help = "edit the file of the species here, or name the folder of an overlay: `--overlay DIR`";
        return Err(vec![Finding::bare("values-in-base", message).help(help)]);
    }
    let text = options.text()?;
    let knowledge = Knowledge::load_what_is_sound(&text)?;

    let schemas = schema_folder(&folder);
    let made = scaffold(&knowledge, &text, &kind, &args.id, schemas)?;
    let path = tidy(&folder.join(&made.path));
    write_new(&path, &made.text)?;
    let mut printed = format!("wrote {}\n", path.display());
    if begins_overlay {
        let head = tidy(&folder.join(OVERLAY));
        let name = folder.file_name().unwrap_or_default().to_string_lossy();
        let made = scaffold(&knowledge, &text, &ScaffoldKind::Overlay, &overlay_id(&name), schemas)?;
        write_new(&head, &made.text)?;
        printed.push_str(&format!("wrote {}, which makes the folder an overlay\n", head.display()));
        if let Some(schema) = made.schema {
            printed.push_str(&ensure_schema(&knowledge, &tidy(&folder.join(schemas)), schema)?);
        }
    }
    if let Some(schema) = made.schema {
        printed.push_str(&ensure_schema(&knowledge, &tidy(&folder.join(schemas)), schema)?);
    }
    let mut next = made.next;
    let is_base = folder.join(BASE).is_file();
    if !is_base && !folder.join(OVERLAY).is_file() {
        let head = tidy(&folder.join(OVERLAY));
        next.push(format!(
            "make the folder an overlay: {} with id, title and version = \"1.0.0\"",
            head.display()
        ));
    }
    let option = if is_base { "--knowledge" } else { "--overlay" };
    next.push(format!("check: swardwright knowledge check {option} {}", as_argument(&folder)));
    for (at, line) in next.iter().enumerate() {
        printed.push_str(&format!("  {}. {line}\n", at + 1));
    }
    Ok(printed.into())
}

/// Whether the folder of `--overlay` is still to become one.
fn begins_overlay(args: &Args, options: &KnowledgeOptions) -> bool {
    let folder = options.overlay.last().filter(|_| args.output.is_none());
    folder.is_some_and(|folder| !folder.join(OVERLAY).exists() && !folder.join(BASE).is_file())
}

/// A folder as it is typed on a command line: in quotes where a blank would part it.
fn as_argument(folder: &Path) -> String {
    let shown = folder.display().to_string();
    if shown.contains(char::is_whitespace) { format!("\"{shown}\"") } else { shown }
}

/// The id of an overlay that is called as its folder.
fn overlay_id(folder: &str) -> String {
    let id = id_meant(folder);
    if id.is_empty() { "overlay".to_owned() } else { id }
}

/// The folder to write into, and the knowledge with what stands there already, so that nothing is
/// begun twice.
fn whereto(args: &Args, options: &KnowledgeOptions) -> (PathBuf, KnowledgeOptions) {
    let usual = Path::new(USUAL);
    let folder = (args.output.as_ref().or(options.overlay.last()).or(options.knowledge.as_ref()).cloned())
        .or_else(|| usual.join(BASE).is_file().then(|| usual.to_owned()))
        .unwrap_or_else(|| PathBuf::from("."));
    let mut knowledge = options.knowledge.clone();
    let mut overlay = options.overlay.clone();
    // an overlay that is only begun has nothing to be read yet
    overlay.retain(|own| {
        *own != folder || own.join(OVERLAY).exists() || KnowledgeText::from_folder(own).is_ok()
    });
    if knowledge.is_none() && folder.join(BASE).is_file() {
        knowledge = Some(folder.clone());
    } else if folder.join(OVERLAY).is_file() && !overlay.contains(&folder) {
        overlay.push(folder.clone());
    }
    (folder, KnowledgeOptions { knowledge, overlay })
}

/// How the folder of schemas is reached from the folder of knowledge: beside it where they are kept
/// there, as in the repository, else inside it.
fn schema_folder(folder: &Path) -> &'static str {
    let beside = folder.join("../schemas").join(SchemaKind::Species.file_name());
    if beside.is_file() { "../schemas" } else { "schemas" }
}

/// Writes the schema that the first line of the scaffold names, where it is not there.
fn ensure_schema(knowledge: &Knowledge, folder: &Path, schema: SchemaKind) -> Result<String, Findings> {
    let path = folder.join(schema.file_name());
    if path.exists() {
        return Ok(String::new());
    }
    write_schema(knowledge, schema, false, &path)?;
    Ok(format!("wrote {}, by which editors complete and check\n", path.display()))
}

/// Writes a file that must not be there yet, with the folders above it.
fn write_new(path: &Path, text: &str) -> Result<(), Findings> {
    let written = make_folders(path).and_then(|()| {
        let mut file = std::fs::OpenOptions::new().write(true).create_new(true).open(path)?;
        file.write_all(text.as_bytes())
    });
    written.map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists if path.is_file() => {
            let message = format!("{}: there is a file already", path.display());
            let help = "nothing was written; edit that file, or choose another id or --output";
            vec![Finding::bare("file-exists", message).help(help)]
        }
        _ => unwritable(path, &error),
    })
}

/// A path without `.` and without `x/..` in it, as a reader would write it.
fn tidy(path: &Path) -> PathBuf {
    use std::path::Component;
    let mut parts: Vec<Component<'_>> = Vec::new();
    for part in path.components() {
        match (part, parts.last()) {
            (Component::CurDir, _) => {}
            (Component::ParentDir, Some(Component::Normal(_))) => {
                parts.pop();
            }
            _ => parts.push(part),
        }
    }
    parts.into_iter().collect()
}
