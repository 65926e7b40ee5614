//! An edited CSV of entries held against a base: every row is read as the loader reads a species file,
//! what changed is found, the files are rewritten in memory and the whole base is checked again.

use std::ops::Range;
use std::path::PathBuf;
use std::sync::Arc;

use indexmap::IndexMap;

use super::change::{EntryChange, changes};
use super::csv_file::{Cell, Record, records};
use super::edit::{TraitEdit, rewrite};
use super::row::{BETWEEN, COLUMNS, EMPTY_LIST, KEYS, Row, as_flag};
use super::written::{rows_of, tree};
use crate::diag::{Finding, Findings, Place, Source, join_names, nearest};
use crate::document::{Entry, Node, NodeKind, Span, Table};
use crate::knowledge::Knowledge;
use crate::knowledge::names::Declared;
use crate::knowledge::species::{
    Evidence, Trait, read_evidence, refuse_repeated, trait_named, unknown_species, unknown_trait,
};
use crate::knowledge::text::KnowledgeText;
use crate::knowledge::vocabulary::{Declaration, Kind};

/// What an edited CSV changes.
#[derive(Debug)]
pub struct Import {
    /// Changes, trait by trait, in the order of the CSV.
    pub changes: Vec<TraitChange>,
    /// The files to write with their new text, in the order of the species.
    pub files: Vec<(PathBuf, String)>,
    /// The base as it will be.
    pub knowledge: Knowledge,
    /// How many entries the CSV has.
    pub rows: usize,
}

/// The changes of one trait of one species.
#[derive(Debug)]
pub struct TraitChange {
    /// Id of the species.
    pub species: String,
    /// Position of the trait in the vocabulary.
    pub index: usize,
    /// Name of the trait.
    pub trait_name: String,
    /// Its entries that change.
    pub entries: Vec<EntryChange>,
}

/// Reads a CSV in the layout of [`COLUMNS`] and finds what it changes in a base read from a folder.
///
/// The rows of a species and trait stand for all its entries: one that is missing is taken out, one
/// that is new is added. A species and trait without any row stays as it is; a single row that says
/// nothing beyond both takes the trait out. Nothing is written.
///
/// # Errors
/// Every fault of every row at its cell, or what the loader says against the base as it would be.
pub fn import_entries(
    csv: &Arc<Source>,
    text: &KnowledgeText,
    knowledge: &Knowledge,
) -> Result<Import, Findings> {
    let mut findings = Findings::new();
    let groups = read_groups(csv, knowledge, &mut findings);
    if !findings.is_empty() {
        // rows are checked trait by trait, and read from the top
        findings.sort_by_key(|finding| finding.place.as_ref().map(|place| place.span.start));
        return Err(findings);
    }
    let rows = groups.values().map(Vec::len).sum();
    let mut changed: Vec<TraitChange> = Vec::new();
    for ((at, index), rows) in &groups {
        let species = &knowledge.species[*at];
        let name = knowledge.vocabulary.species[*index].id.trim_start_matches("species.");
        let old = tree(species).map(|file| rows_of(species, &file, name)).unwrap_or_default();
        let withdrawn = matches!(&rows[..], [only] if only.is_empty());
        let entries = changes(&old, if withdrawn { &[] } else { rows });
        if !entries.is_empty() {
            let (species, trait_name) = (species.id.clone(), name.to_owned());
            changed.push(TraitChange { species, index: *index, trait_name, entries });
        }
    }
    let mut new_text = text.clone();
    let mut files = Vec::new();
    for species in &knowledge.species {
        let own = changed.iter().filter(|change| change.species == species.id);
        let edits: Vec<TraitEdit<'_>> = own
            .map(|change| TraitEdit {
                name: &change.trait_name,
                kind: knowledge.vocabulary.species[change.index].kind,
                changes: &change.entries,
            })
            .collect();
        if edits.is_empty() {
            continue;
        }
        let source = &species.place.source;
        let edited = rewrite(source, &edits)?;
        files.push((PathBuf::from(&source.path), edited.clone()));
        new_text = new_text.with_text(&source.path, edited);
    }
    let (after, _) = Knowledge::load(&new_text)?;
    Ok(Import { changes: changed, files, knowledge: after, rows })
}

/// Rows by species and trait, in the order of the CSV.
type Groups = IndexMap<(usize, usize), Vec<Row>>;

fn read_groups(csv: &Arc<Source>, knowledge: &Knowledge, findings: &mut Findings) -> Groups {
    let mut groups = Groups::new();
    let records = records(csv, findings);
    let mut records = records.iter();
    let mut header = records.next().cloned().unwrap_or_default();
    header.drop_blank_end(0);
    let Some(columns) = read_header(csv, &header, findings) else { return groups };
    let mut all: Vec<Record> = records.filter(|record| !record.is_blank()).cloned().collect();
    all.iter_mut().for_each(|record| record.drop_blank_end(columns.len()));
    // whether a row is the only one of its trait is known at the end
    let mut places: IndexMap<(usize, usize), Vec<CsvRow<'_>>> = IndexMap::new();
    for record in &all {
        if record.cells.len() != columns.len() {
            let message = format!(
                "this row has {} cells, and the header has {} columns",
                record.cells.len(),
                columns.len()
            );
            let help = "a text with a comma or a quote stands in quotes: \"one, two\"";
            findings.push(Finding::error("csv-cells", &place(csv, record.span()), message).help(help));
            continue;
        }
        let row = CsvRow { csv, record, columns: &columns };
        if let Some(whose) = row.whose(knowledge, findings) {
            places.entry(whose).or_default().push(row);
        }
    }
    for ((at, index), rows) in places {
        let species = &knowledge.species[at];
        let declaration = &knowledge.vocabulary.species[index];
        let name = declaration.id.trim_start_matches("species.");
        let withdrawn = matches!(&rows[..], [only] if only.row().is_empty());
        let mut evidence = Vec::new();
        for row in &rows {
            if !withdrawn {
                evidence.extend(row.check(Some(&species.id), name, declaration, knowledge, findings));
            }
            groups.entry((at, index)).or_default().push(row.row());
        }
        refuse_repeated(name, &evidence, findings);
    }
    groups
}

/// The column of each cell, as its position in [`COLUMNS`].
fn read_header(csv: &Arc<Source>, header: &Record, findings: &mut Findings) -> Option<Vec<usize>> {
    let before = findings.len();
    let mut columns: Vec<usize> = Vec::new();
    for cell in &header.cells {
        let name = cell.text.trim().to_lowercase();
        let here = place(csv, cell.span.clone());
        match COLUMNS.iter().position(|own| *own == name) {
            Some(at) if columns.contains(&at) => {
                findings.push(Finding::error("csv-column", &here, format!("column `{name}` stands twice")));
            }
            Some(at) => columns.push(at),
            None if name.contains(';') || name.contains('\t') => {
                let message = "the columns are not all set apart by the same sign";
                let help = "save the file as CSV with a comma, or a semicolon, between all cells";
                findings.push(Finding::error("csv-column", &here, message).help(help));
                return None;
            }
            None => {
                let help = match nearest(&name, COLUMNS) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("columns are {}", join_names(COLUMNS)),
                };
                let message = format!("no column is called `{name}`");
                findings.push(Finding::error("csv-column", &here, message).help(help));
            }
        }
    }
    let missing = COLUMNS.iter().enumerate().find(|(at, _)| !columns.contains(at));
    // a misspelt column is missing too, and told already
    if let (Some((_, name)), true) = (missing, findings.len() == before) {
        let message = format!("there is no column `{name}`");
        let help = format!(
            "the first line names the columns: {}; `knowledge table --entries` writes them",
            COLUMNS.join(",")
        );
        findings.push(Finding::error("csv-column", &place(csv, header.span()), message).help(help));
    }
    (findings.len() == before).then_some(columns)
}

fn place(csv: &Arc<Source>, span: Range<usize>) -> Place {
    Place { source: csv.clone(), span }
}

/// A row with its places.
struct CsvRow<'a> {
    csv: &'a Arc<Source>,
    record: &'a Record,
    columns: &'a [usize],
}

impl<'a> CsvRow<'a> {
    fn cell(&self, name: &str) -> Option<&'a Cell> {
        let column = COLUMNS.iter().position(|own| *own == name)?;
        let at = self.columns.iter().position(|own| *own == column)?;
        self.record.cells.get(at)
    }

    fn text(&self, name: &str) -> &'a str {
        self.cell(name).map_or("", |cell| cell.text.trim())
    }

    fn place(&self, name: &str) -> Place {
        let span = self.cell(name).map_or_else(|| self.record.span(), |cell| cell.span.clone());
        place(self.csv, span)
    }

    fn row(&self) -> Row {
        Row { cells: KEYS.map(|key| self.text(key).replace("\r\n", "\n")) }
    }

    /// Positions of its species and its trait.
    fn whose(&self, knowledge: &Knowledge, findings: &mut Findings) -> Option<(usize, usize)> {
        let (id, name) = (self.text("species"), self.text("trait"));
        let species = knowledge.species.iter().position(|one| one.id == id);
        if species.is_none() {
            let mut finding = unknown_species(id, knowledge);
            finding.place = Some(self.place("species"));
            let near = finding.help.take().unwrap_or_default();
            let joint = if near.ends_with('?') { " A" } else { "; a" };
            finding.help = Some(format!(
                "{near}{joint} new species needs its file first: `swardwright knowledge new species ID`"
            ));
            findings.push(finding);
        }
        let index = trait_named(name, &knowledge.vocabulary);
        if index.is_none() {
            findings.push(unknown_trait(name, &self.place("trait"), &knowledge.vocabulary));
        }
        Some((species?, index?))
    }

    /// Reads it as the loader would read the entry in a species file, with faults at the cells.
    fn check(
        &self,
        species: Option<&str>,
        name: &str,
        declaration: &Declaration,
        knowledge: &Knowledge,
        findings: &mut Findings,
    ) -> Option<Evidence> {
        let entries = KEYS.into_iter().filter_map(|key| {
            let cell = self.cell(key).filter(|cell| !cell.text.trim().is_empty())?;
            let span = Span::new(&cell.span);
            let node = match key {
                "value" | "low" | "high" => value_node(cell, declaration.kind),
                _ => Node { span, kind: NodeKind::Text(cell.text.trim().to_owned().into()) },
            };
            Some(Entry { key: key.into(), key_span: span, node })
        });
        let table = Table { entries: entries.collect() };
        let item = Node { span: Span::new(&self.record.span()), kind: NodeKind::Table(table) };
        let declared = Declared { vocabulary: &knowledge.vocabulary, sources: &knowledge.sources };
        let whose = Trait { source: self.csv, name, species, declared };
        let before = findings.len();
        let read = read_evidence(whose, &item, declaration, findings);
        debug_assert!(read.is_some() || findings.len() > before, "a row is refused without a word");
        read
    }
}

/// What a cell holds, as the type of its trait writes it.
fn value_node(cell: &Cell, kind: Kind) -> Node {
    let text = cell.text.trim();
    let number = |text: &str| match (text.parse::<i64>(), text.parse::<f64>()) {
        (Ok(whole), _) => Some(NodeKind::Integer(whole)),
        (_, Ok(number)) if number.is_finite() => Some(NodeKind::Float(number)),
        (_, Ok(_)) if text.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => {
            Some(NodeKind::Huge)
        }
        _ => None,
    };
    let as_text = |text: &str| NodeKind::Text(text.to_owned().into());
    let kind = match kind {
        Kind::Number(_) | Kind::Range(_) => number(text).unwrap_or_else(|| as_text(text)),
        Kind::Flag => as_flag(text).map_or_else(|| as_text(text), NodeKind::Flag),
        Kind::Set(_) | Kind::Texts if text == EMPTY_LIST => NodeKind::List(Vec::new()),
        Kind::Set(_) | Kind::Texts | Kind::Months(_) => {
            let months = matches!(kind, Kind::Months(_));
            let items = parts(cell).map(|(part, span)| {
                let kind = if months { number(part) } else { None }.unwrap_or_else(|| as_text(part));
                Node { span: Span::new(&span), kind }
            });
            NodeKind::List(items.collect())
        }
        Kind::Scale(_) | Kind::Choice(_) | Kind::Text => as_text(text),
    };
    Node { span: Span::new(&cell.span), kind }
}

/// The names in a cell, each with its place.
fn parts(cell: &Cell) -> impl Iterator<Item = (&str, Range<usize>)> {
    // a cell in quotes starts behind the quote
    let shift = cell.span.start + usize::from(cell.span.len() > cell.text.len());
    let mut at = 0;
    cell.text.split(BETWEEN).map(move |part| {
        let start = at + part.len() - part.trim_start().len();
        at += part.len() + BETWEEN.len_utf8();
        let part = part.trim();
        (part, shift + start..shift + start + part.len())
    })
}
