//! Finds out the format of a climate file from its first lines and reads it.

use std::io::BufRead;

use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, FileUnits, Format, Note, ReadOptions, Station, complete};
use super::text::{Header, Lines, Row, Splitter};
use super::{epw, ghcn_csv, ghcn_dly, gsom, monthly_table, noaa_normals, tmy3};

/// Reads a climate file of any known format, as a stream.
///
/// # Errors
///
/// [`ReadError`] with line, column and the offending text; also of the first value that no place on earth
/// has.
pub fn read_climate<R: BufRead>(source: R, options: &ReadOptions) -> Result<ClimateTable, ReadError> {
    let table = survey_climate(source, options)?;
    match table.impossible.first.first() {
        Some(first) => Err(first.clone()),
        None => Ok(table),
    }
}

/// As [`read_climate`], but values that no place on earth has are left out and gathered in the table, for a
/// check that tells of all of them.
///
/// # Errors
///
/// [`ReadError`] where there is nothing to read on from.
pub fn survey_climate<R: BufRead>(source: R, options: &ReadOptions) -> Result<ClimateTable, ReadError> {
    let mut lines = Lines::new(source);
    let first = lines.peek(2)?;
    let format = detect(&first)?;
    if let [(number, line)] = first.as_slice()
        && has_header(format, line)
    {
        return Err(ReadError::at(*number, Some(1), Fault::HeaderOnly));
    }
    honour(format, options).map_err(|fault| ReadError::at(first[0].0, Some(1), fault))?;
    let mut table = match format {
        Format::NoaaNormals1991 | Format::NoaaNormals1981 => noaa_normals::read(&mut lines, format, options),
        Format::Gsom => gsom::read(&mut lines, options),
        Format::GhcnDly => ghcn_dly::read(&mut lines, options),
        Format::GhcnCsv => ghcn_csv::read(&mut lines, options),
        Format::Epw => epw::read(&mut lines, options),
        Format::Tmy3 => tmy3::read(&mut lines, options),
        Format::MonthlyTable => monthly_table::read(&mut lines),
    }?;
    // A header over lines of another table may leave nothing that can be read. Years that the user chose may
    // hold nothing too: the gaps of the table tell it, but not that the file has other years.
    if options.years.is_none() && table.is_blank() && table.impossible.count == 0 {
        return Err(ReadError::at(first[0].0, Some(1), Fault::NoFigures));
    }
    if let (Some(asked), Some(recorded)) = (options.years, table.recorded)
        && (asked.1 < recorded.0 || asked.0 > recorded.1)
    {
        return Err(ReadError::at(0, None, Fault::OtherYears { asked, recorded }));
    }
    // tables of the publisher end with a line end; a number that is cut off is still a number
    if let (Some(line), Format::Gsom | Format::GhcnCsv) = (lines.open_line(), format) {
        table.notes.push(Note::LastLineOpen(line));
    }
    if complete(&table.precip_mm).is_some_and(|rain| rain.iter().all(|month| *month == 0.0)) {
        (table.precip_mm, table.wet_days) = ([None; 12], [None; 12]);
        table.notes.push(Note::NoRainAtAll);
    }
    // GHCN marks an unknown height with -999.9.
    table.station.elevation_m = table.station.elevation_m.filter(|z| *z > -900.0);
    Ok(table)
}

/// [`read_climate`] over bytes in memory.
///
/// # Errors
///
/// As [`read_climate`].
pub fn read_climate_bytes(bytes: &[u8], options: &ReadOptions) -> Result<ClimateTable, ReadError> {
    read_climate(bytes, options)
}

/// Refuses what a format cannot honour: passed over in silence it would look as if it were done.
/// Units that are those of the format are no contradiction.
fn honour(format: Format, options: &ReadOptions) -> Result<(), Fault> {
    let means = "its figures are means already";
    let typical = "its months are each of a different year";
    let (years, own_units) = match format {
        Format::Gsom | Format::GhcnCsv => return Ok(()),
        Format::GhcnDly => (None, Some(FileUnits::Tenths)),
        Format::NoaaNormals1991 => (Some(means), Some(FileUnits::Us)),
        Format::NoaaNormals1981 | Format::MonthlyTable => (Some(means), None),
        Format::Epw | Format::Tmy3 => (Some(typical), Some(FileUnits::Metric)),
    };
    let refused = |asked, why| Err(Fault::NotForFormat { asked, format: format.name(), why });
    match (years, options.units) {
        (Some(why), _) if options.years.is_some() => refused("years", why),
        (_, Some(units)) if own_units != Some(units) => {
            refused("units", "it has units of its own, by its definition or its headings")
        }
        _ => Ok(()),
    }
}

fn detect(first: &[(u64, String)]) -> Result<Format, ReadError> {
    let found = detect_parted(first);
    let Some((number, line)) = first.first().filter(|_| found.is_err()) else { return found };
    // a table that would be known if its columns were parted by commas
    for (mark, between) in [(';', "semicolons"), ('\t', "tabs")] {
        if let Some(at) = line.chars().position(|letter| letter == mark)
            && !line.contains(',')
        {
            let parted: Vec<_> =
                first.iter().map(|(number, line)| (*number, line.replace(mark, ","))).collect();
            match detect_parted(&parted) {
                Ok(_) => return Err(ReadError::at(*number, Some(at + 1), Fault::PartedBy(between))),
                Err(error) if matches!(error.fault, Fault::WrongKind(_)) => return Err(error),
                Err(_) => {}
            }
        }
    }
    found
}

fn detect_parted(first: &[(u64, String)]) -> Result<Format, ReadError> {
    let Some((number, line)) = first.first() else {
        return Err(ReadError::at(1, Some(1), Fault::Empty));
    };
    if line.starts_with("LOCATION,") {
        return Ok(Format::Epw);
    }
    if first.get(1).is_some_and(|(_, second)| second.starts_with("Date (MM/DD/YYYY),")) {
        return Ok(Format::Tmy3);
    }
    if ghcn_csv::by_year_layout(line) {
        return Ok(Format::GhcnCsv);
    }
    if looks_like_dly(line) {
        return Ok(Format::GhcnDly);
    }
    by_columns(line, *number)
}

/// Whether the first line of a format names its columns.
fn has_header(format: Format, line: &str) -> bool {
    match format {
        Format::Epw | Format::GhcnDly | Format::Tmy3 => false,
        Format::GhcnCsv => !ghcn_csv::by_year_layout(line),
        Format::NoaaNormals1991 | Format::NoaaNormals1981 | Format::Gsom | Format::MonthlyTable => true,
    }
}

fn looks_like_dly(line: &str) -> bool {
    let bytes = line.as_bytes();
    bytes.len() >= 26
        && bytes[..11].iter().all(u8::is_ascii_alphanumeric)
        && bytes[11..17].iter().all(u8::is_ascii_digit)
        && bytes[17..21].iter().all(u8::is_ascii_alphanumeric)
        && !line.contains(',')
}

fn by_columns(line: &str, number: u64) -> Result<Format, ReadError> {
    let at_start = |fault| Err(ReadError::at(number, Some(1), fault));
    if line.trim_start().starts_with(['<', '{', '*']) {
        // markup and titled files: their marks are not those of a table
        return at_start(Fault::UnknownFormat);
    }
    let mut splitter = Splitter::default();
    let names = splitter.split(line, number)?.texts();
    if monthly_table::is_header(&names) {
        return Ok(Format::MonthlyTable);
    }
    // spreadsheets at times bring the publisher's names into other letters
    let names: Vec<String> = names.iter().map(|name| name.to_ascii_uppercase()).collect();
    let has = |name: &str| names.iter().any(|n| n == name);
    let any = |test: &dyn Fn(&str) -> bool| names.iter().any(|n| test(n));
    if any(&|n| n.starts_with("MLY-")) {
        let newer = has("MONTH") || any(&|n| n.starts_with("COMP_FLAG_"));
        let older = any(&|n| n.starts_with("MLY-") && n.ends_with("_ATTRIBUTES"));
        return match (newer, older) {
            (true, false) => Ok(Format::NoaaNormals1991),
            (false, true) => Ok(Format::NoaaNormals1981),
            _ => at_start(Fault::WrongKind(
                "monthly normals whose columns fit neither edition, 1981-2010 (..._ATTRIBUTES) \
                 nor 1991-2020 (comp_flag_...), so that their units are not known",
            )),
        };
    }
    let other_normals = any(&|n| ["DLY-", "ANN-", "DJF-", "HLY-"].iter().any(|p| n.starts_with(p)));
    if other_normals {
        return at_start(Fault::WrongKind(
            "normals, but not those by month: take the station's monthly file",
        ));
    }
    let elements = has("TMAX") || has("TMIN") || has("PRCP");
    let summary = ["EMNT", "EMXT", "EMXP", "HDSD", "CDSD", "DP01", "DT32", "DX90"];
    if has("STATION") && has("DATE") && elements {
        let monthly = summary.iter().any(|name| has(name));
        return Ok(if monthly { Format::Gsom } else { Format::GhcnCsv });
    }
    let long = (has("VALUE") || has("DATA_VALUE")) && has("DATE");
    let wide = elements && (has("DATE") || has("YEAR"));
    if long || wide { Ok(Format::GhcnCsv) } else { at_start(Fault::UnknownFormat) }
}

/// Takes the station from a line of a NOAA table, and refuses a second one.
pub(super) fn station_of(row: &Row<'_>, header: &Header, table: &mut ClimateTable) -> Result<(), ReadError> {
    let Some(column) = header.find("STATION")? else {
        return Ok(());
    };
    let id = row.get(column);
    match &table.station.id {
        Some(known) if known == id.text => return Ok(()),
        Some(_) => return Err(id.error(Fault::SecondStation(id.text.to_owned()))),
        None => {}
    }
    let field = |name: &str| header.find(name).map(|at| at.map(|index| row.get(index)));
    let latitude = field("LATITUDE")?.map_or(Ok(None), |own| own.latitude("LATITUDE"));
    let longitude = field("LONGITUDE")?.map_or(Ok(None), |own| own.longitude("LONGITUDE"));
    let elevation = field("ELEVATION")?.map_or(Ok(None), |own| own.number());
    table.station = Station {
        id: Some(id.text.to_owned()),
        name: field("NAME")?.map(|name| name.text.to_owned()),
        latitude_deg: table.impossible.spare(latitude)?,
        longitude_deg: table.impossible.spare(longitude)?,
        elevation_m: elevation.map_err(|error| error.in_field("ELEVATION"))?,
    };
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::read_climate_bytes;
    use super::super::tests::layouts;
    use super::*;

    /// What a layout cannot honour is refused at its first line, what it can changes what is read.
    #[test]
    fn years_and_units_are_honoured_or_refused() {
        let with_choice = ["monthly summaries", "daily access", "daily long", "daily by year", "daily wide"];
        for (name, bytes, usual) in layouts() {
            let years = read_climate_bytes(&bytes, &ReadOptions { years: Some((1990, 2030)), ..usual });
            let units = [FileUnits::Metric, FileUnits::Us, FileUnits::Tenths]
                .map(|units| read_climate_bytes(&bytes, &ReadOptions { units: Some(units), years: None }));
            let unfit = |error: &ReadError| matches!(error.fault, Fault::NotForFormat { .. });
            let refused = units.iter().filter(|read| read.as_ref().is_err_and(unfit)).count();
            if name == ".dly" || with_choice.contains(&name) {
                assert_eq!(years.unwrap().period, Some((1990, 2030)), "{name}");
                assert_eq!(refused, if name == ".dly" { 2 } else { 0 }, "{name}");
            } else {
                let error = years.unwrap_err();
                assert!(unfit(&error) && (error.line, error.column) == (1, Some(1)), "{name}: {error}");
                assert!(refused >= 2, "{name}");
            }
        }
    }
}
