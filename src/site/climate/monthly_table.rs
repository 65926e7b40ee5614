//! A plain table of twelve months, as `climate read --format csv` writes it and as anybody can type
//! it: a header with `month` and any of the columns of [`COLUMNS`], then twelve rows in any order.

use std::io::BufRead;

use crate::units::quantity::{Celsius, MetresPerSecond, Millimetres};

use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, Format, MonthValue, Series};
use super::text::{Header, Lines, Splitter};

/// Which series a column fills.
#[derive(Clone, Copy, PartialEq)]
enum Quantity {
    Maximum,
    Minimum,
    Rain,
    Solar,
    Wind,
    Humidity,
}

/// One column: its name, its series, how to bring it to SI, and what no month on earth passes.
struct Column {
    name: &'static str,
    quantity: Quantity,
    to_si: fn(f64) -> f64,
    range: (f64, f64),
    range_words: (&'static str, &'static str),
}

const fn column(
    name: &'static str,
    quantity: Quantity,
    to_si: fn(f64) -> f64,
    range: (f64, f64),
    range_words: (&'static str, &'static str),
) -> Column {
    Column { name, quantity, to_si, range, range_words }
}

const TEMPERATURE: (f64, f64) = (-60.0, 60.0);
const TEMPERATURE_WORDS: (&str, &str) = ("-60", "60 degC");
const RAIN: (f64, f64) = (0.0, 3000.0);
const RAIN_WORDS: (&str, &str) = ("0", "3000 mm");
const WIND: (f64, f64) = (0.0, 40.0);
const WIND_WORDS: (&str, &str) = ("0", "40 m/s");

static COLUMNS: [Column; 10] = [
    column("tmax_c", Quantity::Maximum, |c| c, TEMPERATURE, TEMPERATURE_WORDS),
    column("tmax_f", Quantity::Maximum, |f| Celsius::from_fahrenheit(f).0, TEMPERATURE, TEMPERATURE_WORDS),
    column("tmin_c", Quantity::Minimum, |c| c, TEMPERATURE, TEMPERATURE_WORDS),
    column("tmin_f", Quantity::Minimum, |f| Celsius::from_fahrenheit(f).0, TEMPERATURE, TEMPERATURE_WORDS),
    column("precip_mm", Quantity::Rain, |mm| mm, RAIN, RAIN_WORDS),
    column("precip_in", Quantity::Rain, |inches| Millimetres::from_inches(inches).0, RAIN, RAIN_WORDS),
    column("solar_mj_m2_d", Quantity::Solar, |mj| mj, (0.0, 45.0), ("0", "45 MJ/m2/d")),
    column("wind_m_s", Quantity::Wind, |speed| speed, WIND, WIND_WORDS),
    column("wind_mph", Quantity::Wind, |mph| MetresPerSecond::from_mph(mph).0, WIND, WIND_WORDS),
    column("rh_pct", Quantity::Humidity, |share| share, (0.0, 100.0), ("0", "100 %")),
];

/// Whether a header is that of such a table.
pub(super) fn is_header(names: &[String]) -> bool {
    let has = |name: &str| names.iter().any(|own| own == name);
    has("month") && COLUMNS.iter().any(|column| has(column.name))
}

/// Reads the table. Wind counts as measured at 2 m, as a site file's does.
pub(super) fn read<R: BufRead>(lines: &mut Lines<R>) -> Result<ClimateTable, ReadError> {
    let mut table = ClimateTable::empty(Format::MonthlyTable);
    table.wind_height_m = Some(2.0);
    let header = Header::read(lines)?;
    let month_at = header.need("month")?;
    let found: Vec<(usize, &Column)> =
        COLUMNS.iter().filter_map(|column| Some((header.find(column.name)?, column))).collect();
    let mut splitter = Splitter::default();
    let mut seen = [false; 12];
    while let Some((number, line)) = lines.next()? {
        if line.trim().is_empty() {
            continue;
        }
        let row = splitter.split(line, number)?;
        row.whole(header.len())?;
        let month: usize = row.get(month_at).whole().map_err(|error: ReadError| error.in_field("month"))?;
        if !(1..=12).contains(&month) {
            let fault = Fault::OutOfRange { value: month.to_string(), low: "1", high: "12" };
            return Err(row.get(month_at).error(fault).in_field("month"));
        }
        if std::mem::replace(&mut seen[month - 1], true) {
            return Err(row.get(month_at).error(Fault::Duplicate(format!("month {month}"))));
        }
        for (at, column) in &found {
            let field = row.get(*at);
            let Some(number) = field.number().map_err(|error| error.in_field(column.name))? else { continue };
            let value = (column.to_si)(number);
            if !(column.range.0..=column.range.1).contains(&value) {
                let (low, high) = column.range_words;
                let fault = Fault::OutOfRange { value: field.text.to_owned(), low, high };
                return Err(field.error(fault).in_field(column.name));
            }
            series(&mut table, column.quantity)[month - 1] =
                Some(MonthValue { value, years: None, flag: None });
        }
    }
    Ok(table)
}

fn series(table: &mut ClimateTable, quantity: Quantity) -> &mut Series {
    match quantity {
        Quantity::Maximum => &mut table.tmax_c,
        Quantity::Minimum => &mut table.tmin_c,
        Quantity::Rain => &mut table.precip_mm,
        Quantity::Solar => &mut table.solar_mj_m2_d,
        Quantity::Wind => &mut table.wind_m_s,
        Quantity::Humidity => &mut table.rh_pct,
    }
}

#[cfg(test)]
mod tests {
    use super::super::{ReadOptions, read_climate_bytes};
    use super::*;

    fn table(extra: &str) -> String {
        let rows: String =
            (1..=12).map(|month| format!("{month},{},{},1.0\n", 50 + month, 30 + month)).collect();
        format!("month,tmax_f,tmin_f,precip_in\n{rows}{extra}")
    }

    #[test]
    fn twelve_rows_in_us_units_come_out_in_si() {
        let read = read_climate_bytes(table("").as_bytes(), &ReadOptions::default()).unwrap();
        assert_eq!(read.format, Format::MonthlyTable);
        let normals = read.normals().unwrap();
        assert!((normals.tmax_c[0] - (51.0 - 32.0) / 1.8).abs() < 1e-9);
        assert!((normals.precip_mm.unwrap()[11] - 25.4).abs() < 1e-9);
    }

    #[test]
    fn a_month_twice_a_wild_figure_and_a_short_row_are_refused_at_their_place() {
        let options = ReadOptions::default();
        let twice = read_climate_bytes(table("3,40,30,1\n").as_bytes(), &options).unwrap_err();
        assert_eq!((twice.line, twice.column), (14, Some(1)));
        let wild = read_climate_bytes(b"month,tmax_c\n1,99\n", &options).unwrap_err();
        assert_eq!((wild.line, wild.column), (2, Some(3)));
        let short = read_climate_bytes(b"month,tmax_c,tmin_c\n1,9\n", &options).unwrap_err();
        assert_eq!(short.line, 2);
    }
}
