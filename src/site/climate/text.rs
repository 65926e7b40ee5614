//! Lines and fields of a text file, read as a stream with their places.

use std::collections::{HashSet, VecDeque};
use std::io::BufRead;

use super::error::{Fault, ReadError};

/// Longest line taken, bytes; the widest format known has about 60 000.
const LONGEST_LINE: usize = 1 << 20;

/// Lines of a stream, ended by LF, CR LF or a bare CR; blank lines are skipped.
pub(super) struct Lines<R> {
    source: R,
    buffer: Vec<u8>,
    number: u64,
    after_cr: bool,
    /// The line last read had no end, since the file ended there.
    open: bool,
    ahead: VecDeque<(u64, String)>,
    current: String,
}

impl<R: BufRead> Lines<R> {
    pub(super) fn new(source: R) -> Self {
        Self {
            source,
            buffer: Vec::new(),
            number: 0,
            after_cr: false,
            open: false,
            ahead: VecDeque::new(),
            current: String::new(),
        }
    }

    /// The next line that is not blank, with its number from 1.
    pub(super) fn next(&mut self) -> Result<Option<(u64, &str)>, ReadError> {
        if let Some((number, line)) = self.ahead.pop_front() {
            self.current = line;
            return Ok(Some((number, &self.current)));
        }
        while self.fill()? {
            let text = decode(&self.buffer, self.number)?;
            if text.chars().any(|c| !c.is_whitespace() && c != '\u{1a}') {
                // Decoded again: a borrow cannot leave the loop and stay in it.
                return decode(&self.buffer, self.number).map(|text| Some((self.number, text)));
            }
            self.open = false;
        }
        Ok(None)
    }

    /// The number of the last line, where the file ends within it; known when all lines are read.
    pub(super) fn open_line(&self) -> Option<u64> {
        self.open.then_some(self.number)
    }

    /// Copies of the next lines with their numbers, up to `count`, which stay to be read.
    pub(super) fn peek(&mut self, count: usize) -> Result<Vec<(u64, String)>, ReadError> {
        let mut found: Vec<(u64, String)> = Vec::new();
        while found.len() < count {
            match self.next()? {
                Some((number, line)) => found.push((number, line.to_owned())),
                None => break,
            }
        }
        for line in found.iter().rev() {
            self.ahead.push_front(line.clone());
        }
        Ok(found)
    }

    /// Reads one line into the buffer; false at the end.
    fn fill(&mut self) -> Result<bool, ReadError> {
        self.buffer.clear();
        let mut any = false;
        loop {
            let chunk = match self.source.fill_buf() {
                Ok(chunk) => chunk,
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
                Err(error) => {
                    return Err(ReadError::at(self.number + 1, None, Fault::Io(error.to_string())));
                }
            };
            if chunk.is_empty() {
                self.number += u64::from(any);
                self.open |= any;
                return Ok(any);
            }
            if self.after_cr {
                self.after_cr = false;
                if chunk[0] == b'\n' {
                    self.source.consume(1);
                    continue;
                }
            }
            any = true;
            let end = memchr::memchr2(b'\n', b'\r', chunk);
            let taken = end.unwrap_or(chunk.len());
            self.buffer.extend_from_slice(&chunk[..taken]);
            let ended = end.map(|at| chunk[at] == b'\r');
            self.source.consume(taken + usize::from(ended.is_some()));
            if self.buffer.len() > LONGEST_LINE {
                return Err(ReadError::at(self.number + 1, Some(1), Fault::LineTooLong));
            }
            if let Some(cr) = ended {
                self.after_cr = cr;
                self.number += 1;
                return Ok(true);
            }
        }
    }
}

fn decode(bytes: &[u8], number: u64) -> Result<&str, ReadError> {
    let bytes = if number == 1 { bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes) } else { bytes };
    if number == 1 {
        let fault = match bytes {
            [0x1F, 0x8B, ..] => Some(Fault::Packed("packed with gzip")),
            [b'P', b'K', 3, 4, ..] => Some(Fault::Packed("packed with zip")),
            [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => Some(Fault::OtherText("UTF-16")),
            _ => None,
        };
        if let Some(fault) = fault {
            return Err(ReadError::at(1, Some(1), fault));
        }
    }
    // text has no such byte, and where it stands in a field that nobody reads the damage would pass
    if let Some(at) = memchr::memchr(0, bytes) {
        let before = String::from_utf8_lossy(&bytes[..at]).chars().count();
        return Err(ReadError::at(number, Some(before + 1), Fault::NotText));
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let before = std::str::from_utf8(&bytes[..at]).map_or(at, |text| text.chars().count());
        let byte = bytes.get(at).copied().unwrap_or(0);
        ReadError::at(number, Some(before + 1), Fault::NotUtf8(byte))
    })
}

/// A text without the blanks about it. Nearly every field is plain ASCII, which is quicker to tell.
fn trimmed(text: &str) -> &str {
    let inner = text.trim_ascii();
    let plain = |byte: Option<&u8>| byte.is_none_or(u8::is_ascii_graphic);
    let bytes = inner.as_bytes();
    if plain(bytes.first()) && plain(bytes.last()) { inner } else { inner.trim() }
}

/// One field of a line.
#[derive(Clone, Copy)]
pub(super) struct Field<'a> {
    /// Content without quotation marks, trimmed.
    pub text: &'a str,
    line: &'a str,
    number: u64,
    at: usize,
}

impl<'a> Field<'a> {
    /// A piece of a line, by byte range; empty where the line is shorter or the range cuts a
    /// character.
    pub(super) fn slice(line: &'a str, number: u64, from: usize, to: usize) -> Self {
        let end = to.min(line.len());
        let piece = line.get(from.min(end)..end).unwrap_or("");
        let text = trimmed(piece);
        let at = from + text.as_ptr().addr() - piece.as_ptr().addr();
        Self { text, line, number, at }
    }

    /// An error at the start of this field.
    pub(super) fn error(&self, fault: Fault) -> ReadError {
        ReadError::at(self.number, Some(self.column()), fault)
    }

    /// The line that it stands in, from 1.
    pub(super) const fn line_number(&self) -> u64 {
        self.number
    }

    /// Its column, from 1, in characters.
    fn column(&self) -> usize {
        self.line.get(..self.at).map_or(self.at, |text| text.chars().count()) + 1
    }

    /// Its number; `None` where empty.
    pub(super) fn number(&self) -> Result<Option<f64>, ReadError> {
        if self.text.is_empty() {
            return Ok(None);
        }
        match self.text.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(Some(value)),
            _ => Err(self.error(Fault::NotANumber(self.text.to_owned()))),
        }
    }

    /// Refuses a value that no place on earth has: one outside a range, whose ends stand in words too.
    pub(super) fn within(
        &self,
        name: &str,
        value: f64,
        (low, high, from, to): (f64, f64, &'static str, &'static str),
    ) -> Result<f64, ReadError> {
        if (low..=high).contains(&value) {
            return Ok(value);
        }
        let fault = Fault::OutOfRange { value: self.text.to_owned(), low: from, high: to };
        Err(self.error(fault).in_field(name))
    }

    /// Its number as a latitude or longitude, which reach as far from zero as `most`; `None` where empty.
    fn degrees(&self, name: &str, most: f64, words: [&'static str; 2]) -> Result<Option<f64>, ReadError> {
        let number = self.number().map_err(|error| error.in_field(name))?;
        number.map(|number| self.within(name, number, (-most, most, words[0], words[1]))).transpose()
    }

    /// Its number as a latitude; `None` where empty.
    pub(super) fn latitude(&self, name: &str) -> Result<Option<f64>, ReadError> {
        self.degrees(name, 90.0, ["-90", "90 degrees"])
    }

    /// Its number as a longitude; `None` where empty.
    pub(super) fn longitude(&self, name: &str) -> Result<Option<f64>, ReadError> {
        self.degrees(name, 180.0, ["-180", "180 degrees"])
    }

    /// Its whole number.
    pub(super) fn whole<T: std::str::FromStr>(&self) -> Result<T, ReadError> {
        self.text.parse::<T>().map_err(|_| self.error(Fault::NotANumber(self.text.to_owned())))
    }
}

/// Splits lines at commas outside quotation marks, keeping the places for the next line.
#[derive(Default)]
pub(super) struct Splitter {
    ranges: Vec<(usize, usize)>,
}

impl Splitter {
    /// Splits a line; the row borrows from it.
    pub(super) fn split<'a>(&'a mut self, line: &'a str, number: u64) -> Result<Row<'a>, ReadError> {
        self.ranges.clear();
        let bytes = line.as_bytes();
        let mut at = 0;
        loop {
            let start = at + bytes[at..].iter().take_while(|b| **b == b' ' || **b == b'\t').count();
            if bytes.get(start) == Some(&b'"') {
                let open = start + 1;
                let mut close = open;
                loop {
                    match bytes[close..].iter().position(|b| *b == b'"') {
                        None => {
                            let column = line.get(..start).map_or(0, |t| t.chars().count()) + 1;
                            return Err(ReadError::at(number, Some(column), Fault::OpenQuote));
                        }
                        // A doubled mark stands for one mark inside the field.
                        Some(n) if bytes.get(close + n + 1) == Some(&b'"') => close += n + 2,
                        Some(n) => {
                            close += n;
                            break;
                        }
                    }
                }
                self.ranges.push((open, close));
                let rest = &bytes[close + 1..];
                let blanks = rest.iter().take_while(|b| **b == b' ' || **b == b'\t').count();
                if rest.get(blanks).is_some_and(|b| *b != b',') {
                    let column = line.get(..start).map_or(0, |t| t.chars().count()) + 1;
                    return Err(ReadError::at(number, Some(column), Fault::OpenQuote));
                }
                at = close + 1 + blanks;
            } else {
                let stop = |b: &u8| *b == b',' || *b == b'"';
                let end = bytes[at..].iter().position(stop).map_or(bytes.len(), |n| at + n);
                if bytes.get(end) == Some(&b'"') {
                    let column = line.get(..end).map_or(0, |t| t.chars().count()) + 1;
                    return Err(ReadError::at(number, Some(column), Fault::OpenQuote));
                }
                self.ranges.push((at, end));
                at = end;
            }
            if at >= bytes.len() {
                return Ok(Row { line, number, ranges: &self.ranges });
            }
            at += 1;
        }
    }
}

/// Fields of a line.
pub(super) struct Row<'a> {
    line: &'a str,
    pub number: u64,
    ranges: &'a [(usize, usize)],
}

impl<'a> Row<'a> {
    pub(super) fn len(&self) -> usize {
        self.ranges.len()
    }

    /// The field at a position; empty beyond the last.
    pub(super) fn get(&self, index: usize) -> Field<'a> {
        let (from, to) = self.ranges.get(index).copied().unwrap_or((self.line.len(), self.line.len()));
        Field::slice(self.line, self.number, from, to)
    }

    /// Refuses a line that has fewer fields than it must, at its end.
    pub(super) fn whole(&self, wanted: usize) -> Result<(), ReadError> {
        if self.len() < wanted {
            let fault = Fault::TooFewFields { found: self.len(), wanted };
            return Err(ReadError::at(self.number, Some(self.line.chars().count() + 1), fault));
        }
        Ok(())
    }

    /// Refuses a line with fewer fields than the header, or with more: its values would stand under
    /// other names. Empty fields at the end are commas that some programs leave.
    pub(super) fn fits(&self, wanted: usize) -> Result<(), ReadError> {
        self.whole(wanted)?;
        let extra = (wanted..self.len()).map(|at| self.get(at)).find(|field| !field.text.is_empty());
        match extra {
            Some(field) => Err(field.error(Fault::TooManyFields { found: self.len(), wanted })),
            None => Ok(()),
        }
    }

    pub(super) fn texts(&self) -> Vec<String> {
        (0..self.len()).map(|i| self.get(i).text.to_owned()).collect()
    }
}

/// Names of the columns of a table.
pub(super) struct Header {
    names: Vec<String>,
    /// Column in which each name starts, from 1.
    columns: Vec<usize>,
    /// Positions of names that stand further left too.
    again: Vec<usize>,
    line: u64,
}

impl Header {
    /// Reads the first line as a header.
    pub(super) fn read<R: BufRead>(lines: &mut Lines<R>) -> Result<Self, ReadError> {
        let Some((number, line)) = lines.next()? else {
            return Err(ReadError::at(1, Some(1), Fault::Empty));
        };
        let mut splitter = Splitter::default();
        let row = splitter.split(line, number)?;
        let columns = (0..row.len()).map(|at| row.get(at).column()).collect();
        let names = row.texts();
        let mut seen = HashSet::new();
        let again = (0..names.len()).filter(|at| !seen.insert(names[*at].to_ascii_lowercase())).collect();
        Ok(Self { names, columns, again, line: number })
    }

    /// The same for a table whose names may be written in any letters.
    pub(super) fn in_small_letters(mut self) -> Self {
        self.names.iter_mut().for_each(|name| name.make_ascii_lowercase());
        self
    }

    pub(super) fn len(&self) -> usize {
        self.names.len()
    }

    /// The line in which they stand.
    pub(super) const fn line(&self) -> u64 {
        self.line
    }

    /// Names in their order.
    pub(super) fn names(&self) -> &[String] {
        &self.names
    }

    /// An error at the name of a column.
    pub(super) fn error(&self, at: usize, fault: Fault) -> ReadError {
        ReadError::at(self.line, self.columns.get(at).copied(), fault)
    }

    /// Position of a column by its name, whatever letters a spreadsheet made of it. One that stands there twice
    /// is refused: nobody can say which of the two counts. Others, which nobody asks for, may.
    pub(super) fn find(&self, name: &str) -> Result<Option<usize>, ReadError> {
        let is_it = |own: &String| own.eq_ignore_ascii_case(name);
        match self.again.iter().find(|at| is_it(&self.names[**at])) {
            Some(at) => {
                let what = format!("the column `{}`", self.names[*at]);
                Err(self.error(*at, Fault::Duplicate(what)))
            }
            None => Ok(self.names.iter().position(is_it)),
        }
    }

    /// Position of the column that has the first of these names that any has.
    pub(super) fn find_any(&self, names: &[&str]) -> Result<Option<usize>, ReadError> {
        for name in names {
            if let Some(at) = self.find(name)? {
                return Ok(Some(at));
            }
        }
        Ok(None)
    }

    /// Position of a column that must be there.
    pub(super) fn need(&self, name: &'static str) -> Result<usize, ReadError> {
        self.find(name)?.ok_or_else(|| self.missing(name))
    }

    /// What to say of a column that is not there, at the start of the header.
    pub(super) const fn missing(&self, name: &'static str) -> ReadError {
        ReadError::at(self.line, Some(1), Fault::NoColumn(name))
    }
}
