//! Rows to CSV, and numbers as a spreadsheet reads them back.

/// Rows as CSV, the header first.
pub fn csv_text(rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        // memory does not fail, and every row of a table has as many cells
        let _ = writer.write_record(row);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// A number with what a conversion adds at its end taken off; an open end is empty.
pub fn csv_number(number: f64) -> String {
    if !number.is_finite() {
        return String::new();
    }
    let text = format!("{number:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
