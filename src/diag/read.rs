//! Text files that people name: read whole, with plain words for what can go wrong.

use std::io::Read;
use std::path::Path;
use std::sync::Arc;

use super::finding::{Finding, Findings, Place, Source};

/// Reads a text file of at most `largest` bytes.
pub fn read_text(path: &Path, largest: u64) -> Result<String, Findings> {
    let shown = path.display().to_string();
    if path.is_dir() {
        return Err(vec![Finding::bare("unreadable", format!("{shown}: is a folder, not a file"))]);
    }
    let file = std::fs::File::open(path).map_err(|error| {
        let words = match error.kind() {
            std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
            std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
            _ => error.to_string(),
        };
        vec![Finding::bare("unreadable", format!("{shown}: {words}"))]
    })?;
    read_limited(file, &shown, largest)
}

/// Reads text of at most `largest` bytes from any reader; `shown` names it in messages.
pub fn read_limited(reader: impl Read, shown: &str, largest: u64) -> Result<String, Findings> {
    let mut bytes = Vec::new();
    reader
        .take(largest + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| vec![Finding::bare("unreadable", format!("{shown}: {error}"))])?;
    if bytes.len() as u64 > largest {
        let message = format!("{shown}: is larger than {} MB, which no such file needs", largest >> 20);
        return Err(vec![Finding::bare("too-large", message)]);
    }
    if is_utf16(&bytes) {
        let message = format!("{shown}: is UTF-16 text, which some editors and spreadsheets write");
        return Err(vec![Finding::bare("not-text", message).help("save the file as UTF-8 text")]);
    }
    // some editors put a byte order mark before the text; it belongs to no line
    if bytes.starts_with("\u{feff}".as_bytes()) {
        bytes.drain(.."\u{feff}".len());
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let byte = error.as_bytes()[at];
        let text = String::from_utf8_lossy(&error.as_bytes()[..at]).into_owned();
        let end = text.len();
        let source = Arc::new(Source { path: shown.to_owned(), text: text.into() });
        let place = Place { source, span: end..end };
        let message = format!("is not UTF-8 text: byte {at} is 0x{byte:02x}");
        let finding = Finding::bare("not-text", format!("{}: {message}", place.locate()));
        vec![finding.help("save the file as UTF-8 text")]
    })
}

/// Whether text stands in two bytes a letter: by its byte order mark, or by the zero beside each of the first two
/// letters.
fn is_utf16(bytes: &[u8]) -> bool {
    let marked = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    marked || matches!(bytes, [1..=0xff, 0, 1..=0xff, 0, ..] | [0, 1..=0xff, 0, 1..=0xff, ..])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_of_two_bytes_a_letter_is_told_as_such() {
        let told = |bytes: &[u8]| read_limited(bytes, "a.toml", 1 << 20).unwrap_err()[0].message.clone();
        let little: Vec<u8> = "id = 1".encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = "id = 1".encode_utf16().flat_map(u16::to_be_bytes).collect();
        let marked = [&[0xff, 0xfe][..], &little].concat();
        for bytes in [little, big, marked] {
            assert_eq!(told(&bytes), "a.toml: is UTF-16 text, which some editors and spreadsheets write");
        }
        assert_eq!(told(b"a = \"\xfc\""), "a.toml:1:6: is not UTF-8 text: byte 5 is 0xfc");
        assert_eq!(read_limited(&b"\xef\xbb\xbfid = 1"[..], "a.toml", 1 << 20).unwrap(), "id = 1");
    }
}
