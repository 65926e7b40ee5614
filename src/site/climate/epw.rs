//! `EnergyPlus` weather: eight header lines, then one line an hour.
//!
//! Fields from 1: 1-4 year, month, day, hour ending; 7 dry bulb; 9 relative humidity; 11
//! extraterrestrial and 14 global horizontal radiation, Wh/m2; 22 wind; 34 liquid precipitation, mm,
//! and 35 the hours that it covers: totals of several hours would count twice beside those of their
//! hours, so they are none of the hour.
//! Codes for missing: 99.9 or 999 (7), 999 (9, 22, 34), 9999 (11, 14). The year is that of the
//! month chosen into the typical year, no calendar.

use std::io::BufRead;

use super::error::ReadError;
use super::hourly::{Hour, Hours, RainUnit, hours_covered, refuse_flood};
use super::impossible::Impossible;
use super::normals::{ClimateTable, Format, ReadOptions, Station};
use super::text::{Field, Lines, Row, Splitter};

/// Header lines after which the hours begin.
const LAST_HEADER: &str = "DATA PERIODS";
/// Fields up to the wind, which every line must have.
const FIELDS: usize = 22;

/// A value, `None` where it is a code for missing.
pub(super) fn value(
    field: &Field<'_>,
    name: &str,
    is_missing: impl Fn(f64) -> bool,
    range: (f64, f64, &'static str, &'static str),
) -> Result<Option<f64>, ReadError> {
    let number = field.number().map_err(|e| e.in_field(name))?;
    number.filter(|n| !is_missing(*n)).map(|n| field.within(name, n, range)).transpose()
}

fn station(row: &Row<'_>, impossible: &mut Impossible) -> Result<Station, ReadError> {
    let text = |i: usize| Some(row.get(i).text).filter(|t| !t.is_empty()).map(str::to_owned);
    row.whole(10)?;
    Ok(Station {
        id: text(5),
        name: text(1),
        latitude_deg: impossible.spare(row.get(6).latitude("latitude"))?,
        longitude_deg: impossible.spare(row.get(7).longitude("longitude"))?,
        elevation_m: row.get(9).number().map_err(|e| e.in_field("elevation"))?,
    })
}

fn hour_of(row: &Row<'_>, impossible: &mut Impossible) -> Result<Hour, ReadError> {
    let radiation = (0.0, 1500.0, "0", "1500 Wh/m2");
    // a temperature that is merely too high is no code, and would be lost without a word
    let no_temperature = |n: f64| n == 99.9 || n == 999.0;
    let temperature = value(&row.get(6), "dry bulb", no_temperature, (-90.0, 60.0, "-90", "60 degC"));
    let temperature_c = impossible.spare(temperature)?;
    let mut read = |at, name, missing_from: f64, range| {
        impossible.spare(value(&row.get(at), name, |n| n >= missing_from, range))
    };
    Ok(Hour {
        temperature_c,
        humidity_pct: read(8, "relative humidity", 999.0, (0.0, 110.0, "0", "110 %"))?,
        extraterrestrial_wh: read(10, "extraterrestrial", 9999.0, radiation)?,
        global_wh: read(13, "global radiation", 9999.0, radiation)?,
        wind_m_s: read(21, "wind", 999.0, (0.0, 60.0, "0", "60 m/s"))?,
        rain_mm: impossible.spare(rain_of(row))?,
    })
}

fn rain_of(row: &Row<'_>) -> Result<Option<f64>, ReadError> {
    let (field, name) = (row.get(33), "precipitation");
    // the code for missing is beyond any day's rain
    let rain = value(&field, name, |n| n >= 999.0, (0.0, 999.0, "0", "999 mm"))?;
    let hours = hours_covered(&row.get(34));
    rain.map_or(Ok(()), |mm| refuse_flood(&field, name, mm, hours))?;
    Ok(rain.filter(|_| hours == 1))
}

/// Reads a typical year.
pub(super) fn read<R: BufRead>(
    lines: &mut Lines<R>,
    _options: &ReadOptions,
) -> Result<ClimateTable, ReadError> {
    let mut table = ClimateTable::empty(Format::Epw);
    let mut hours = Hours::new();
    let mut splitter = Splitter::default();
    let mut in_header = true;
    let mut fields = None;
    let mut last_line = 0;
    while let Some((number, line)) = lines.next()? {
        last_line = number;
        if in_header {
            if line.starts_with("LOCATION") {
                table.station = station(&splitter.split(line, number)?, &mut table.impossible)?;
            }
            in_header = !line.starts_with(LAST_HEADER);
            continue;
        }
        let row = splitter.split(line, number)?;
        // the first hour says how many fields the file has
        row.whole(*fields.get_or_insert(row.len().max(FIELDS)))?;
        let time = (
            row.get(1).whole().map_err(|e| e.in_field("month"))?,
            row.get(2).whole().map_err(|e| e.in_field("day"))?,
            row.get(3).whole().map_err(|e| e.in_field("hour"))?,
        );
        hours.add(time, &hour_of(&row, &mut table.impossible)?, &row.get(1))?;
    }
    hours.finish(&mut table, last_line, RainUnit::Millimetres)?;
    Ok(table)
}
