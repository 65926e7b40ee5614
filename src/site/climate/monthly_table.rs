//! A plain table of twelve months, as `climate read --format csv` writes it and as anybody can type
//! it: a header with `month` and any of the columns of [`COLUMNS`], then twelve rows in any order.
//! Columns of the station ([`STATION`], `station`, `period`) hold one value for the whole table, on
//! every row or only on some.

use std::io::BufRead;

use crate::diag::nearest;
use crate::units::factors::FOOT_M;
use crate::units::quantity::{Celsius, MetresPerSecond, Millimetres};

use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, ExtremeMinimum, Format, MonthValue, Series};
use super::text::{Field, Header, Lines, Row, Splitter};

/// Which series a column fills.
#[derive(Clone, Copy, PartialEq)]
enum Quantity {
    Maximum,
    Minimum,
    Rain,
    WetDays,
    Solar,
    Wind,
    Humidity,
    Latitude,
    Longitude,
    Elevation,
    ExtremeMinimum,
    ExtremeYears,
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

static COLUMNS: [Column; 11] = [
    column("tmax_c", Quantity::Maximum, |c| c, TEMPERATURE, TEMPERATURE_WORDS),
    column("tmax_f", Quantity::Maximum, |f| Celsius::from_fahrenheit(f).0, TEMPERATURE, TEMPERATURE_WORDS),
    column("tmin_c", Quantity::Minimum, |c| c, TEMPERATURE, TEMPERATURE_WORDS),
    column("tmin_f", Quantity::Minimum, |f| Celsius::from_fahrenheit(f).0, TEMPERATURE, TEMPERATURE_WORDS),
    column("precip_mm", Quantity::Rain, |mm| mm, RAIN, RAIN_WORDS),
    column("precip_in", Quantity::Rain, |inches| Millimetres::from_inches(inches).0, RAIN, RAIN_WORDS),
    column("wet_days", Quantity::WetDays, |days| days, (0.0, 31.0), ("0", "31 days")),
    column("solar_mj_m2_d", Quantity::Solar, |mj| mj, (0.0, 45.0), ("0", "45 MJ/m2/d")),
    column("wind_m_s", Quantity::Wind, |speed| speed, WIND, WIND_WORDS),
    column("wind_mph", Quantity::Wind, |mph| MetresPerSecond::from_mph(mph).0, WIND, WIND_WORDS),
    column("rh_pct", Quantity::Humidity, |share| share, (0.0, 100.0), ("0", "100 %")),
];

/// Columns of the station, with one value for the whole table.
static STATION: [Column; 7] = [
    column("latitude_deg", Quantity::Latitude, |deg| deg, (-90.0, 90.0), ("-90", "90 degrees")),
    column("longitude_deg", Quantity::Longitude, |deg| deg, (-180.0, 180.0), ("-180", "180 degrees")),
    column("elevation_m", Quantity::Elevation, |m| m, (-450.0, 6000.0), ("-450", "6000 m")),
    column("elevation_ft", Quantity::Elevation, |ft| ft * FOOT_M, (-450.0, 6000.0), ("-450", "6000 m")),
    column("extreme_min_c", Quantity::ExtremeMinimum, |c| c, (-90.0, 40.0), ("-90", "40 degC")),
    column(
        "extreme_min_f",
        Quantity::ExtremeMinimum,
        |f| Celsius::from_fahrenheit(f).0,
        (-90.0, 40.0),
        ("-90", "40 degC"),
    ),
    column("extreme_min_years", Quantity::ExtremeYears, |n| n, (1.0, 500.0), ("1", "500 years")),
];
/// Columns of words: the station's name, and the first and last year.
const WORDS: [&str; 2] = ["station", "period"];

/// Whether a header is that of such a table, and not of one by days.
pub(super) fn is_header(names: &[String]) -> bool {
    let has = |name: &str| names.iter().any(|own| own.eq_ignore_ascii_case(name));
    // a bare TMAX in capitals is the name of other tables
    let bare = |name: &str| names.iter().any(|own| own == name);
    let climate = |column: &Column| has(column.name) || column.name.strip_suffix("_c").is_some_and(bare);
    has("month") && !has("day") && COLUMNS.iter().any(climate)
}

/// Reads the table. Wind counts as measured at 2 m, as a site file's does.
pub(super) fn read<R: BufRead>(lines: &mut Lines<R>) -> Result<ClimateTable, ReadError> {
    let mut table = ClimateTable::empty(Format::MonthlyTable);
    table.wind_height_m = Some(2.0);
    let header = Header::read(lines)?.in_small_letters();
    let month_at = header.need("month")?;
    let found = columns_of(&header, &COLUMNS)?;
    let of_station = columns_of(&header, &STATION)?;
    refuse_strangers(&header)?;
    let mut station = [None; STATION.len()];
    let (mut name, mut period) = (None, None);
    let mut splitter = Splitter::default();
    let mut seen = [false; 12];
    while let Some((number, line)) = lines.next()? {
        if line.trim().is_empty() {
            continue;
        }
        let row = splitter.split(line, number)?;
        row.fits(header.len())?;
        let month: usize = row.get(month_at).whole().map_err(|error: ReadError| error.in_field("month"))?;
        if !(1..=12).contains(&month) {
            let fault = Fault::OutOfRange { value: month.to_string(), low: "1", high: "12" };
            return Err(row.get(month_at).error(fault).in_field("month"));
        }
        if std::mem::replace(&mut seen[month - 1], true) {
            return Err(row.get(month_at).error(Fault::Duplicate(format!("month {month}"))));
        }
        for (at, column) in &found {
            let value = table.impossible.spare(column.value(&row.get(*at)))?;
            if let (Some(value), Some(series)) = (value, series(&mut table, column.quantity)) {
                series[month - 1] = Some(MonthValue { value, years: None, flag: None });
            }
        }
        for (at, column) in &of_station {
            let field = row.get(*at);
            if let Some(value) = table.impossible.spare(column.value(&field))? {
                keep_one(
                    &mut station[column.quantity as usize - Quantity::Latitude as usize],
                    value,
                    &field,
                )?;
            }
        }
        if let Some(field) = words(&header, &row, "station")? {
            keep_one(&mut name, field.text.to_owned(), &field)?;
        }
        if let Some(field) = words(&header, &row, "period")? {
            let years = parse_years(field.text);
            let fault = || field.error(Fault::NotADate(field.text.to_owned())).in_field("period");
            keep_one(&mut period, years.ok_or_else(fault)?, &field)?;
        }
    }
    let [latitude, longitude, elevation, minimum, years, ..] = station;
    table.station.latitude_deg = latitude;
    table.station.longitude_deg = longitude;
    table.station.elevation_m = elevation;
    table.station.name = name;
    table.period = period;
    table.extreme_min = minimum.map(|mean_c| {
        let years = years.map_or(0, |years: f64| years as u16);
        ExtremeMinimum { mean_c, lowest_c: mean_c, years }
    });
    Ok(table)
}

impl Column {
    /// The value of a cell, checked; `None` where it is empty.
    fn value(&self, field: &Field<'_>) -> Result<Option<f64>, ReadError> {
        let Some(number) = field.number().map_err(|error| error.in_field(self.name))? else {
            return Ok(None);
        };
        let ((low, high), (from, to)) = (self.range, self.range_words);
        field.within(self.name, (self.to_si)(number), (low, high, from, to)).map(Some)
    }
}

/// The columns that a header has; the same quantity in two units is refused.
fn columns_of(header: &Header, all: &'static [Column]) -> Result<Vec<(usize, &'static Column)>, ReadError> {
    let mut found: Vec<(usize, &Column)> = Vec::new();
    for column in all {
        let Some(at) = header.find(column.name)? else { continue };
        if found.iter().any(|(_, other)| other.quantity == column.quantity) {
            let fault = Fault::WrongKind("the quantity stands in two columns, in two units");
            return Err(header.error(at, fault).in_field(column.name));
        }
        found.push((at, column));
    }
    Ok(found)
}

/// A misspelt column would be lost without a word, so every column must be a known one.
fn refuse_strangers(header: &Header) -> Result<(), ReadError> {
    let known = || COLUMNS.iter().chain(&STATION).map(|column| column.name).chain(WORDS).chain(["month"]);
    for (at, name) in header.names().iter().enumerate() {
        if !known().any(|own| own == name) {
            let near = nearest(name, known()).and_then(|near| known().find(|own| *own == near));
            return Err(header.error(at, Fault::UnknownColumn { name: name.clone(), near }));
        }
        header.find(name)?;
    }
    Ok(())
}

fn words<'a>(header: &Header, row: &Row<'a>, name: &str) -> Result<Option<Field<'a>>, ReadError> {
    let field = header.find(name)?.map(|at| row.get(at));
    Ok(field.filter(|field| !field.text.is_empty()))
}

/// Keeps a value of the station; another one on a later row is refused.
fn keep_one<T: PartialEq>(kept: &mut Option<T>, value: T, field: &Field<'_>) -> Result<(), ReadError> {
    if kept.as_ref().is_some_and(|known| *known != value) {
        let fault = Fault::WrongKind("is not what an earlier row says; a table is of one place");
        return Err(field.error(fault));
    }
    *kept = Some(value);
    Ok(())
}

fn parse_years(text: &str) -> Option<(i32, i32)> {
    let (first, last) = text.split_once('-')?;
    let years = (first.trim().parse().ok()?, last.trim().parse().ok()?);
    (1600 <= years.0 && years.0 <= years.1).then_some(years)
}

fn series(table: &mut ClimateTable, quantity: Quantity) -> Option<&mut Series> {
    Some(match quantity {
        Quantity::Maximum => &mut table.tmax_c,
        Quantity::Minimum => &mut table.tmin_c,
        Quantity::Rain => &mut table.precip_mm,
        Quantity::WetDays => &mut table.wet_days,
        Quantity::Solar => &mut table.solar_mj_m2_d,
        Quantity::Wind => &mut table.wind_m_s,
        Quantity::Humidity => &mut table.rh_pct,
        _ => return None,
    })
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
    fn the_station_is_read_from_any_row() {
        let rows: String = (2..=12).map(|month| format!("{month},9,1,,,\n")).collect();
        let text = format!(
            "month,tmax_c,tmin_c,latitude_deg,elevation_ft,period\n1,9,1,41.5,1000,1991-2020\n{rows}"
        );
        let read = read_climate_bytes(text.as_bytes(), &ReadOptions::default()).unwrap();
        assert_eq!(read.station.latitude_deg, Some(41.5));
        assert!((read.station.elevation_m.unwrap() - 304.8).abs() < 1e-9);
        assert_eq!(read.period, Some((1991, 2020)));
    }

    #[test]
    fn a_month_twice_a_wild_figure_and_a_short_row_are_refused_at_their_place() {
        let options = ReadOptions::default();
        let twice = read_climate_bytes(table("3,40,30,1\n").as_bytes(), &options).unwrap_err();
        assert_eq!((twice.line, twice.column), (14, Some(1)));
        let wild = read_climate_bytes(b"month,tmax_c\n1,99\n", &options).unwrap_err();
        assert_eq!((wild.line, wild.column), (2, Some(3)));
        let typo = read_climate_bytes(b"month,tmax_c,percip_mm\n1,9,3\n", &options).unwrap_err();
        assert_eq!((typo.line, typo.column), (1, Some(14)));
        assert!(typo.to_string().ends_with("did you mean `precip_mm`?"), "{typo}");
        let both = read_climate_bytes(b"month,tmax_c,tmax_f\n1,9,3\n", &options).unwrap_err();
        assert_eq!((both.line, both.column), (1, Some(14)));
        let again = read_climate_bytes(b"month,tmax_c,TMAX_C\n1,9,3\n", &options).unwrap_err();
        assert_eq!((again.line, again.column), (1, Some(14)));
        assert_eq!(again.fault, Fault::Duplicate("the column `tmax_c`".to_owned()));
        let two = read_climate_bytes(b"month,tmax_c,station\n1,9,A\n2,9,B\n", &options).unwrap_err();
        assert_eq!((two.line, two.column), (3, Some(5)));
        let short = read_climate_bytes(b"month,tmax_c,tmin_c\n1,9\n", &options).unwrap_err();
        assert_eq!(short.line, 2);
    }
}
