//! `swardwright knowledge schema …`

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::common::{KnowledgeOptions, Printed};
use super::knowledge_new::unwritable;
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
    let (knowledge, _) = options.load()?;
    let Some(path) = &args.output else { return Ok(schema_text(knowledge, kind, args.names).into()) };
    write_schema(knowledge, kind, args.names, path)?;
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
    let written = path.parent().map_or(Ok(()), std::fs::create_dir_all);
    written.and_then(|()| std::fs::write(path, text)).map_err(|error| vec![unwritable(path, &error)])
}
