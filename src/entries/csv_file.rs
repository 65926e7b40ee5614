//! A CSV text to records whose cells know where they stand.

use std::ops::Range;
use std::sync::Arc;

use csv_core::{ReadFieldResult, ReaderBuilder};

use crate::diag::{Finding, Findings, Place, Source};

/// A cell.
#[derive(Clone, Debug)]
pub struct Cell {
    /// What it says, without quotes.
    pub text: String,
    /// Where it stands, with quotes.
    pub span: Range<usize>,
}

/// A line of cells.
#[derive(Clone, Debug, Default)]
pub struct Record {
    /// The cells.
    pub cells: Vec<Cell>,
}

impl Record {
    /// Where it stands.
    pub fn span(&self) -> Range<usize> {
        match (self.cells.first(), self.cells.last()) {
            (Some(first), Some(last)) => first.span.start..last.span.end,
            _ => 0..0,
        }
    }

    /// Takes out empty cells behind so many, which spreadsheets write where something stood once.
    pub fn drop_blank_end(&mut self, columns: usize) {
        while self.cells.len() > columns && self.cells.last().is_some_and(|cell| cell.text.trim().is_empty())
        {
            self.cells.pop();
        }
    }

    /// Whether all cells are empty.
    pub fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.text.trim().is_empty())
    }
}

/// What stands between the cells, and where the header begins. Spreadsheets that are set for a comma before decimals
/// write semicolons, some with a line `sep=;` above; no name of a column holds either.
fn layout(text: &str) -> (u8, usize) {
    let first = text.lines().next().unwrap_or_default();
    if let Some([sign @ (b',' | b';' | b'\t')]) = first.strip_prefix("sep=").map(str::as_bytes) {
        return (*sign, (first.len() + 1).min(text.len()));
    }
    let header = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let sign = [b',', b';', b'\t'].into_iter().find(|sign| header.as_bytes().contains(sign));
    (sign.unwrap_or(b','), 0)
}

/// All records, the header first. Lines without a character are passed over.
pub fn records(source: &Arc<Source>, findings: &mut Findings) -> Vec<Record> {
    let bytes = source.text.as_bytes();
    let (sign, begin) = layout(&source.text);
    let mut reader = ReaderBuilder::new().delimiter(sign).build();
    let mut room = vec![0; 4096];
    let (mut records, mut record) = (Vec::new(), Record::default());
    let (mut at, mut start, mut cell) = (begin, begin, Vec::new());
    loop {
        let (result, read, written) = reader.read_field(&bytes[at..], &mut room);
        cell.extend_from_slice(&room[..written]);
        at += read;
        match result {
            ReadFieldResult::InputEmpty | ReadFieldResult::OutputFull => {}
            ReadFieldResult::Field { record_end } => {
                let span = place_of(bytes, sign, start..at, record.cells.is_empty());
                let raw = &source.text[span.clone()];
                if raw.starts_with('"') && (raw.len() == 1 || !raw.ends_with('"')) {
                    let place = Place { source: source.clone(), span: span.start..span.start + 1 };
                    let message = "the quote that opens here does not close at the end of its cell";
                    let help = "write a quote inside a quoted cell twice: \"a \"\"word\"\" in quotes\"";
                    findings.push(Finding::error("csv-quote", &place, message).help(help));
                }
                // both ends of a cell are ASCII, so the text between them is whole
                let text = String::from_utf8_lossy(&std::mem::take(&mut cell)).into_owned();
                record.cells.push(Cell { text, span });
                start = at;
                if record_end {
                    records.push(std::mem::take(&mut record));
                }
            }
            ReadFieldResult::End => return records,
        }
    }
}

/// What was read for a cell, without the marks around it and the blank lines before it.
fn place_of(bytes: &[u8], sign: u8, read: Range<usize>, first: bool) -> Range<usize> {
    let Range { mut start, mut end } = read;
    let breaks = |byte: u8| byte == b'\n' || byte == b'\r';
    while first && start < end && breaks(bytes[start]) {
        start += 1;
    }
    let has_line_end = end > start && breaks(bytes[end - 1]);
    while end > start && breaks(bytes[end - 1]) {
        end -= 1;
    }
    if !has_line_end && end > start && bytes[end - 1] == sign {
        end -= 1;
    }
    start..end
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Vec<Vec<(String, String)>>, Findings) {
        let source = Arc::new(Source { path: "t.csv".into(), text: text.to_owned().into() });
        let mut findings = Findings::new();
        let records = records(&source, &mut findings);
        let place = |span: &Range<usize>| {
            let place = Place { source: source.clone(), span: span.clone() };
            place.locate().trim_start_matches("t.csv:").to_owned()
        };
        let cells = |record: &Record| {
            record.cells.iter().map(|cell| (cell.text.clone(), place(&cell.span))).collect()
        };
        (records.iter().map(cells).collect(), findings)
    }

    #[test]
    fn cells_know_their_line_and_column() {
        let text = "a,\"b \"\"q\"\" ü\",\r\n\r\n\"two\nlines\",x,\n,,end";
        let (records, findings) = read(text);
        let owned = |cells: &[(&str, &str)]| -> Vec<(String, String)> {
            cells.iter().map(|(text, at)| ((*text).to_owned(), (*at).to_owned())).collect()
        };
        assert!(findings.is_empty(), "{findings:?}");
        assert_eq!(records.len(), 3, "{records:?}");
        assert_eq!(records[0], owned(&[("a", "1:1"), ("b \"q\" ü", "1:3"), ("", "1:15")]));
        assert_eq!(records[1], owned(&[("two\nlines", "3:1"), ("x", "4:8"), ("", "4:10")]));
        assert_eq!(records[2], owned(&[("", "5:1"), ("", "5:2"), ("end", "5:3")]));
    }

    #[test]
    fn cells_may_be_set_apart_by_semicolons_or_tabs() {
        let texts = |text: &str| -> Vec<Vec<String>> {
            let (records, findings) = read(text);
            assert!(findings.is_empty(), "{findings:?}");
            records.into_iter().map(|record| record.into_iter().map(|(text, _)| text).collect()).collect()
        };
        let wanted = [["species", "value"], ["a", "x; y, z"]];
        assert_eq!(texts("species;value\na;\"x; y, z\"\n"), wanted);
        assert_eq!(texts("sep=;\r\nspecies;value\r\na;\"x; y, z\"\r\n"), wanted);
        assert_eq!(texts("\nspecies\tvalue\na\tx; y, z\n"), wanted);
        let (records, _) = read("sep=;\r\nspecies;value\r\na;\"x\"\r\n");
        assert_eq!(records[1][1], ("x".to_owned(), "3:3".to_owned()));
    }

    #[test]
    fn a_quote_that_does_not_close_is_told_at_its_place() {
        let (_, findings) = read("a,b\nx,\"open\ny,z\n");
        assert_eq!(findings.len(), 1);
        assert_eq!(findings[0].place.as_ref().map(Place::locate), Some("t.csv:2:3".to_owned()));
        assert_eq!(read("").0.len(), 0);
    }
}
