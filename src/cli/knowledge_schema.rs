//! `swardwright knowledge schema …`

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::common::{KnowledgeOptions, Printed};
use super::write_file::{make_folders, unwritable, write_all};
use swardwright::diag::Findings;
use swardwright::{Knowledge, SchemaKind, schema_text};

/// Arguments of `knowledge schema`.
#[derive(clap::Args)]
pub struct Args {
    /// Which kind of file
    kind: FileKind,
    /// File to write it to; by default it is printed
    #[arg(long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Also list the species and sources there are, for completion; others stay allowed
    #[arg(long)]
    names: bool,
}

#[derive(Clone, Copy, ValueEnum)]
enum FileKind {
    /// A site file
    Site,
    /// A property file
    Property,
    /// A species file
    Species,
    /// A rule file
    Rule,
    /// A file of sources
    #[value(alias = "source")]
    Sources,
    /// Changed values of a species, in an overlay
    Values,
    /// The head of an overlay
    Overlay,
}

/// Runs the command.
pub fn run(args: &Args, options: &KnowledgeOptions) -> Result<Printed, Findings> {
    let kind = match args.kind {
        FileKind::Site => SchemaKind::Site,
        FileKind::Property => SchemaKind::Property,
        FileKind::Species => SchemaKind::Species,
        FileKind::Rule => SchemaKind::Rule,
        FileKind::Sources => SchemaKind::Sources,
        FileKind::Values => SchemaKind::Values,
        FileKind::Overlay => SchemaKind::Overlay,
    };
    let text = options.text()?;
    // a file that is still being filled in keeps no schema back
    let sound = || Knowledge::load_what_is_sound(&text);
    let knowledge = Knowledge::load(&text).map_or_else(|_| sound(), |(knowledge, _)| Ok(knowledge))?;
    let Some(path) = &args.output else { return Ok(schema_text(&knowledge, kind, args.names).into()) };
    write_schema(&knowledge, kind, args.names, path)?;
    let file = path.display();
    let words = format!(
        "wrote {file}\n  first line of a file that it is for: #:schema PATH, from that file to this one\n"
    );
    Ok(words.into())
}

/// Writes a schema, in place of one that is there, with the folders above it.
pub fn write_schema(
    knowledge: &Knowledge,
    kind: SchemaKind,
    names: bool,
    path: &Path,
) -> Result<(), Findings> {
    let text = schema_text(knowledge, kind, names);
    make_folders(path).map_err(|error| unwritable(path, &error))?;
    write_all(&[(path.to_owned(), text)])
}
