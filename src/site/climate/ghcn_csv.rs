//! GHCN-Daily as comma-separated tables, in the layouts met in practice:
//!
//! - *access*: one line a day, `STATION,DATE,LATITUDE,...,PRCP,PRCP_ATTRIBUTES,...`; a value's
//!   attributes are one field, itself a comma list of measurement, quality and source flag;
//! - *long*: one line a value, `date,attr,value,m,q,s,...`;
//! - *by year*: as long, without header and with the station first;
//! - *wide*: one line a day, `year,month,day` or `date`, then `PRCP`, `TMAX`, `TMIN`.
//!
//! NOAA distributes tenths of degC and mm; its ordering service also gives metric and US units under
//! the same names. So the access, long and by-year layouts are tenths unless stated otherwise, and
//! a wide table must have its units stated.

use std::io::BufRead;

use crate::units::quantity::{Celsius, Millimetres};

use super::daily::{Date, Days, Element};
use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, FileUnits, Format, Note, ReadOptions};
use super::text::{Field, Header, Lines, Row, Splitter};

/// Names of the column of values in the long layout.
const VALUE: [&str; 2] = ["value", "DATA_VALUE"];

/// The flags of a value.
struct Flags<'a> {
    measurement: &'a str,
    quality: &'a str,
}

/// Reads the days of one station from any of the layouts.
pub(super) fn read<R: BufRead>(
    lines: &mut Lines<R>,
    options: &ReadOptions,
) -> Result<ClimateTable, ReadError> {
    let mut table = ClimateTable::empty(Format::GhcnCsv);
    let mut days = Days::default();
    let first = lines.peek(1)?;
    let head = first.first().map_or("", |(_, line)| line.as_str());
    if by_year_layout(head) {
        read_values(lines, options, &mut table, &mut days, None)?;
    } else {
        let header = Header::read(lines)?;
        if header.find_any(&VALUE)?.is_some() {
            read_values(lines, options, &mut table, &mut days, Some(&header))?;
        } else {
            read_rows(lines, options, &mut table, &mut days, &header)?;
        }
    }
    days.finish(&mut table, options);
    Ok(table)
}

/// Whether a line is one of the by-year layout: station, date of eight digits, element, number.
pub(super) fn by_year_layout(line: &str) -> bool {
    let mut fields = line.split(',');
    let (station, date, element) = (fields.next(), fields.next(), fields.next());
    station.is_some_and(|s| s.len() == 11 && s.bytes().all(|b| b.is_ascii_alphanumeric()))
        && date.is_some_and(|d| d.len() == 8 && d.bytes().all(|b| b.is_ascii_digit()))
        && element.is_some_and(|e| e.len() == 4)
}

fn convert(number: f64, element: Element, units: FileUnits) -> f64 {
    match (units, element) {
        (FileUnits::Tenths, _) => number / 10.0,
        (FileUnits::Metric, _) => number,
        (FileUnits::Us, Element::Precip) => Millimetres::from_inches(number).0,
        (FileUnits::Us, _) => Celsius::from_fahrenheit(number).0,
    }
}

fn add(
    days: &mut Days,
    element: Element,
    date: Date,
    field: &Field<'_>,
    flags: &Flags<'_>,
    units: FileUnits,
) -> Result<(), ReadError> {
    if matches!(field.text, "" | "NA" | "-9999") {
        return Ok(());
    }
    let Some(number) = field.number().map_err(|e| e.in_field(element.code()))? else {
        return Ok(());
    };
    if units == FileUnits::Tenths && field.text.contains('.') {
        let fault = Fault::DecimalAmongTenths(field.text.to_owned());
        return Err(field.error(fault).in_field(element.code()));
    }
    if !days.flags.keep(date.year, element, flags.measurement, flags.quality) {
        return Ok(());
    }
    days.add(element, date, convert(number, element, units), field.line_number(), || *field)
}

/// Layouts with one value a line.
fn read_values<R: BufRead>(
    lines: &mut Lines<R>,
    options: &ReadOptions,
    table: &mut ClimateTable,
    days: &mut Days,
    header: Option<&Header>,
) -> Result<(), ReadError> {
    let units = options.units.unwrap_or(FileUnits::Tenths);
    if options.units.is_none() {
        table.notes.push(Note::UnitsTaken(units));
    }
    // Positions: station, date, element, value; the flags follow the value.
    let (station, date, element, value) = match header {
        None => (Some(0), 1, 2, 3),
        Some(header) => {
            let wanted = |names: &[&str], name| {
                header.find_any(names).and_then(|at| at.ok_or_else(|| header.missing(name)))
            };
            (
                header.find_any(&["station", "id"])?,
                header.need("date")?,
                wanted(&["attr", "element", "datatype"], "element")?,
                wanted(&VALUE, "value")?,
            )
        }
    };
    // without a header, the first line says how many fields there are
    let mut wanted = header.map(Header::len);
    let mut splitter = Splitter::default();
    while let Some((number, line)) = lines.next()? {
        let row = splitter.split(line, number)?;
        row.fits(*wanted.get_or_insert(row.len().max(4)))?;
        if let Some(station) = station {
            same_station(&row.get(station), table)?;
        }
        let Some(element) = Element::from_code(row.get(element).text) else {
            continue;
        };
        let date = Date::parse(&row.get(date))?;
        let flags = Flags { measurement: row.get(value + 1).text, quality: row.get(value + 2).text };
        add(days, element, date, &row.get(value), &flags, units)?;
    }
    Ok(())
}

fn same_station(field: &Field<'_>, table: &mut ClimateTable) -> Result<(), ReadError> {
    match &table.station.id {
        None => table.station.id = Some(field.text.to_owned()),
        Some(id) if id != field.text => {
            return Err(field.error(Fault::SecondStation(field.text.to_owned())));
        }
        Some(_) => {}
    }
    Ok(())
}

/// Name of the column that holds the flags of a value.
const fn attributes(element: Element) -> &'static str {
    match element {
        Element::Tmax => "TMAX_ATTRIBUTES",
        Element::Tmin => "TMIN_ATTRIBUTES",
        Element::Precip => "PRCP_ATTRIBUTES",
    }
}

/// Where the date of a line stands.
enum DateColumns {
    One(usize),
    Three(usize, usize, usize),
}

impl DateColumns {
    fn find(header: &Header) -> Result<Self, ReadError> {
        if let Some(date) = header.find("DATE")? {
            return Ok(Self::One(date));
        }
        Ok(Self::Three(header.need("year")?, header.need("month")?, header.need("day")?))
    }

    fn read(&self, row: &Row<'_>) -> Result<Date, ReadError> {
        match *self {
            Self::One(date) => Date::parse(&row.get(date)),
            Self::Three(year, month, day) => {
                let (y, m, d) = (row.get(year), row.get(month), row.get(day));
                Date::new(y.whole()?, m.whole()?, d.whole()?)
                    .ok_or_else(|| y.error(Fault::NotADate(format!("{}-{}-{}", y.text, m.text, d.text))))
            }
        }
    }
}

/// Layouts with one day a line.
fn read_rows<R: BufRead>(
    lines: &mut Lines<R>,
    options: &ReadOptions,
    table: &mut ClimateTable,
    days: &mut Days,
    header: &Header,
) -> Result<(), ReadError> {
    let date = DateColumns::find(header)?;
    let access = header.find("STATION")?.is_some();
    let units = match options.units {
        Some(units) => units,
        None if access => {
            table.notes.push(Note::UnitsTaken(FileUnits::Tenths));
            FileUnits::Tenths
        }
        None => return Err(header.error(0, Fault::UnitsNotStated)),
    };
    let mut columns: Vec<(Element, usize, Option<usize>)> = Vec::new();
    for element in [Element::Tmax, Element::Tmin, Element::Precip] {
        if let Some(value) = header.find(element.code())? {
            columns.push((element, value, header.find(attributes(element))?));
        }
    }
    if columns.is_empty() {
        return Err(header.missing("TMAX"));
    }
    // a value without its flags cannot be told from one that failed its check
    let bare = columns.iter().find(|(_, _, flags)| flags.is_none());
    if let Some((element, _, _)) = bare.filter(|_| columns.iter().any(|(_, _, flags)| flags.is_some())) {
        return Err(header.missing(attributes(*element)));
    }
    let mut splitter = Splitter::default();
    while let Some((number, line)) = lines.next()? {
        let row = splitter.split(line, number)?;
        row.fits(header.len())?;
        super::detect::station_of(&row, header, table)?;
        let date = date.read(&row)?;
        for (element, value, attributes) in &columns {
            let list = attributes.map_or("", |i| row.get(i).text);
            let mut flags = list.split(',').map(str::trim);
            let flags =
                Flags { measurement: flags.next().unwrap_or(""), quality: flags.next().unwrap_or("") };
            add(days, *element, date, &row.get(*value), &flags, units)?;
        }
    }
    Ok(())
}
