//! NOAA U.S. Climate Normals by month, of both editions.
//!
//! 1991-2020: degF and inches with decimals, three columns of flags to a value. 1981-2010: tenths of
//! degF and hundredths of an inch as whole numbers, one column of flags. Only the columns tell them
//! apart. Special values: the older edition writes codes from -9999 to -5555 into the value, the
//! newer one writes letters into the measurement flag (NOAA NCEI, 2020 normals calculation
//! methodology, table 3).

use std::io::BufRead;

use crate::units::quantity::{Celsius, Millimetres};

use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, Format, MonthValue, Note, ReadOptions, Series};
use super::text::{Field, Header, Lines, Row, Splitter};

/// A column of values with its flags.
struct Column {
    name: &'static str,
    value: usize,
    /// Measurement flag of the newer edition.
    measured: Option<usize>,
    /// Completeness flag.
    flag: Option<usize>,
    years: Option<usize>,
}

impl Column {
    /// The columns of a value; without the measurement flag a special value of the newer edition
    /// could not be told from a number, so it must be there.
    fn find(
        header: &Header,
        (name, measured): (&'static str, &'static str),
        newer: bool,
    ) -> Result<Option<Self>, ReadError> {
        let Some(value) = header.find(name)? else { return Ok(None) };
        let with = |prefix: &str| header.find(&format!("{prefix}_{name}"));
        Ok(Some(if newer {
            let measured = Some(header.need(measured)?);
            Self { name, value, measured, flag: with("comp_flag")?, years: with("years")? }
        } else {
            let flag = header.find(&format!("{name}_ATTRIBUTES"))?;
            Self { name, value, measured: None, flag, years: None }
        }))
    }
}

/// What a value stands for.
enum Value {
    Missing,
    /// Above zero, but rounded to it.
    RoundedToZero,
    Number(f64),
}

fn value_of(row: &Row<'_>, column: &Column, newer: bool) -> Result<Value, ReadError> {
    let field = row.get(column.value);
    let Some(number) = field.number().map_err(|e| e.in_field(column.name))? else {
        return Ok(Value::Missing);
    };
    if newer {
        let measured = column.measured.map_or("", |i| row.get(i).text);
        return Ok(match measured {
            "M" | "W" | "Y" => Value::Missing,
            "X" => Value::RoundedToZero,
            "Z" => Value::Number(0.0),
            _ if number <= -5555.0 => Value::Missing,
            _ => Value::Number(number),
        });
    }
    if field.text.contains('.') {
        // The older edition has whole numbers: decimals mean a file put together wrongly.
        let fault = Fault::WrongKind(
            "a decimal number where the 1981-2010 edition has whole tenths: the columns of one \
             edition with the values of another",
        );
        return Err(field.error(fault).in_field(column.name));
    }
    let code = |n: f64| (number - n).abs() < 0.5;
    Ok(if code(-7777.0) {
        Value::RoundedToZero
    } else if code(-5555.0) {
        Value::Number(0.0)
    } else if number <= -5555.0 {
        Value::Missing
    } else {
        Value::Number(number)
    })
}

/// Which quantity, for units and range.
#[derive(Clone, Copy)]
enum Kind {
    Temperature,
    Rain,
    Days,
}

fn converted(number: f64, kind: Kind, newer: bool, field: &Field<'_>, name: &str) -> Result<f64, ReadError> {
    let (value, low, high, from, to) = match kind {
        Kind::Temperature => {
            let f = if newer { number } else { number / 10.0 };
            (Celsius::from_fahrenheit(f).0, -60.0, 55.0, "-60", "55 degC")
        }
        Kind::Rain => {
            let inches = if newer { number } else { number / 100.0 };
            (Millimetres::from_inches(inches).0, 0.0, 3000.0, "0", "3000 mm")
        }
        Kind::Days => (if newer { number } else { number / 10.0 }, 0.0, 31.0, "0", "31 days"),
    };
    field.within(name, value, (low, high, from, to))
}

fn kind_of(name: &str) -> Kind {
    match name {
        "MLY-TMAX-NORMAL" | "MLY-TMIN-NORMAL" => Kind::Temperature,
        "MLY-PRCP-NORMAL" => Kind::Rain,
        _ => Kind::Days,
    }
}

fn series<'t>(table: &'t mut ClimateTable, name: &str) -> &'t mut Series {
    match name {
        "MLY-TMAX-NORMAL" => &mut table.tmax_c,
        "MLY-TMIN-NORMAL" => &mut table.tmin_c,
        "MLY-PRCP-NORMAL" => &mut table.precip_mm,
        _ => &mut table.wet_days,
    }
}

/// The values that are taken, each with its measurement flag of the newer edition.
const COLUMNS: [(&str, &str); 4] = [
    ("MLY-TMAX-NORMAL", "meas_flag_MLY-TMAX-NORMAL"),
    ("MLY-TMIN-NORMAL", "meas_flag_MLY-TMIN-NORMAL"),
    ("MLY-PRCP-NORMAL", "meas_flag_MLY-PRCP-NORMAL"),
    ("MLY-PRCP-AVGNDS-GE001HI", "meas_flag_MLY-PRCP-AVGNDS-GE001HI"),
];

/// Reads either edition.
pub(super) fn read<R: BufRead>(
    lines: &mut Lines<R>,
    format: Format,
    _options: &ReadOptions,
) -> Result<ClimateTable, ReadError> {
    let newer = format == Format::NoaaNormals1991;
    let header = Header::read(lines)?;
    let date = header.need("DATE")?;
    let mut columns = Vec::new();
    for names in COLUMNS {
        columns.extend(Column::find(&header, names, newer)?);
    }
    let mut table = ClimateTable::empty(format);
    table.period = Some(if newer { (1991, 2020) } else { (1981, 2010) });
    let mut seen = [false; 12];
    let (mut rounded, mut fewest) = (0, u16::MAX);
    let mut splitter = Splitter::default();
    while let Some((number, line)) = lines.next()? {
        let row = splitter.split(line, number)?;
        row.fits(header.len())?;
        super::detect::station_of(&row, &header, &mut table)?;
        let field = row.get(date);
        let month: usize = field.whole().map_err(|e| e.in_field("DATE"))?;
        let Some(place) = month.checked_sub(1).filter(|m| *m < 12) else {
            return Err(field.error(Fault::NotADate(field.text.to_owned())).in_field("DATE"));
        };
        if std::mem::replace(&mut seen[place], true) {
            return Err(field.error(Fault::Duplicate(format!("month {month}"))));
        }
        for column in &columns {
            let kind = kind_of(column.name);
            let number = match value_of(&row, column, newer)? {
                Value::Missing => continue,
                // a code of rain and of days; a temperature has no amount that is next to none
                Value::RoundedToZero if matches!(kind, Kind::Temperature) => continue,
                Value::RoundedToZero => {
                    rounded += 1;
                    0.0
                }
                Value::Number(number) => {
                    let read = converted(number, kind, newer, &row.get(column.value), column.name);
                    let Some(number) = table.impossible.spare(read.map(Some))? else { continue };
                    number
                }
            };
            let years = column.years.and_then(|i| row.get(i).text.parse::<u16>().ok());
            if let Some(years) = years.filter(|n| *n > 0) {
                fewest = fewest.min(years);
            }
            let flag = column.flag.and_then(|i| row.get(i).text.chars().next());
            series(&mut table, column.name)[place] = Some(MonthValue { value: number, years, flag });
        }
    }
    if fewest < 30 {
        table.notes.push(Note::PublisherYears(fewest));
    }
    if rounded > 0 {
        table.notes.push(Note::RoundedToZero(rounded));
    }
    Ok(table)
}
