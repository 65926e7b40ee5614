//! GHCN-Daily in fixed width: a line of 269 characters for each element and month.
//!
//! Station 1-11, year 12-15, month 16-17, element 18-21, then for each of 31 days a value (5),
//! measurement, quality and source flag. Values are tenths of degC and of mm; -9999 is missing; a
//! quality flag means that the value failed a check.

use std::io::BufRead;

use super::daily::{Date, Days, Element};
use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, Format, ReadOptions};
use super::text::{Field, Lines};
use crate::site::solar::days_of;

/// First byte of the days.
const DAYS_START: usize = 21;
/// Bytes of a day.
const DAY_WIDTH: usize = 8;
const MISSING: i32 = -9999;
/// Characters of a line up to its 31st value; days that do not exist have the code for missing, and
/// only the blanks of the last flags may be cut by an editor.
const WHOLE_LINE: usize = DAYS_START + 31 * DAY_WIDTH - 3;

/// Reads the days of one station.
pub(super) fn read<R: BufRead>(
    lines: &mut Lines<R>,
    options: &ReadOptions,
) -> Result<ClimateTable, ReadError> {
    let mut table = ClimateTable::empty(Format::GhcnDly);
    let mut days = Days::default();
    while let Some((number, line)) = lines.next()? {
        read_line(line, number, &mut table, &mut days)?;
    }
    days.finish(&mut table, options);
    Ok(table)
}

fn read_line(line: &str, number: u64, table: &mut ClimateTable, days: &mut Days) -> Result<(), ReadError> {
    let field = |from, to| Field::slice(line, number, from, to);
    let station = field(0, 11);
    match &table.station.id {
        None => table.station.id = Some(station.text.to_owned()),
        Some(id) if id != station.text => {
            return Err(station.error(Fault::SecondStation(station.text.to_owned())));
        }
        Some(_) => {}
    }
    let year: i32 = field(11, 15).whole().map_err(|e| e.in_field("year"))?;
    let month: u8 = field(15, 17).whole().map_err(|e| e.in_field("month"))?;
    if Date::new(year, month, 1).is_none() {
        let date = field(11, 17);
        return Err(date.error(Fault::NotADate(date.text.to_owned())));
    }
    // a value cut in its middle would be another number
    if line.len() < WHOLE_LINE {
        let end = line.chars().count() + 1;
        let fault = Fault::CutLine { found: line.len(), wanted: WHOLE_LINE };
        return Err(ReadError::at(number, Some(end), fault));
    }
    let Some(element) = Element::from_code(field(17, DAYS_START).text) else {
        return Ok(());
    };
    for day in 1..=31_u8 {
        let start = DAYS_START + usize::from(day - 1) * DAY_WIDTH;
        let value = || field(start, start + 5);
        let tenths = match line.as_bytes().get(start..start + 5).and_then(usual) {
            Some(tenths) => tenths,
            None if value().text.is_empty() => continue,
            None => value().whole().map_err(|e| e.in_field(element.code()))?,
        };
        if tenths == MISSING {
            continue;
        }
        if day > days_of(year, month) {
            let fault = Fault::NotADate(format!("{year:04}-{month:02}-{day:02}"));
            return Err(value().error(fault).in_field(element.code()));
        }
        let flagged = line.get(start + 5..start + 7).is_none_or(|flags| flags != "  ");
        let flag = |at| field(start + at, start + at + 1).text;
        if flagged && !days.flags.keep(year, element, flag(5), flag(6)) {
            continue;
        }
        days.add(element, Date { year, month, day }, f64::from(tenths) / 10.0, number, value)?;
    }
    Ok(())
}

/// A number in its usual form, blanks before it; all else goes the longer way, which tells what is wrong.
fn usual(bytes: &[u8]) -> Option<i32> {
    let number = bytes.trim_ascii_start();
    let digits = number.strip_prefix(b"-").unwrap_or(number);
    let add = |sum: i32, digit: &u8| digit.is_ascii_digit().then(|| sum * 10 + i32::from(digit - b'0'));
    let size = digits.iter().try_fold(0, add).filter(|_| !digits.is_empty())?;
    Some(if digits.len() < number.len() { -size } else { size })
}
