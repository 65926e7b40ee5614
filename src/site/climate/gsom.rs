//! NOAA Global Summary of the Month: one line a month, means over the years.
//!
//! Values are in degC and mm when the file was asked for in metric units; the columns do not say.
//! An empty value is missing (NOAA leaves a mean out when more than five days, or more than three in
//! a row, are missing). `EMNT` is the lowest temperature of the month, so that a year's lowest, and
//! the mean of those, come without daily data.

use std::collections::BTreeMap;
use std::io::BufRead;

use crate::units::quantity::{Celsius, Millimetres};

use super::error::{Fault, ReadError};
use super::normals::{
    ClimateTable, ExtremeMinimum, FileUnits, Format, MonthValue, Note, ReadOptions, Series,
};
use super::text::{Field, Header, Lines, Splitter};

/// Years taken where none are stated.
const YEARS_TAKEN: i32 = 30;
/// Months with an extreme that a year must have for its lowest to count.
const MONTHS_FOR_EXTREME: usize = 11;

/// TMAX, TMIN, PRCP, EMNT of a month.
type Month = [Option<f64>; 4];
const NAMES: [&str; 4] = ["TMAX", "TMIN", "PRCP", "EMNT"];

fn converted(field: &Field<'_>, name: &str, units: FileUnits) -> Result<Option<f64>, ReadError> {
    let Some(number) = field.number().map_err(|e| e.in_field(name))? else {
        return Ok(None);
    };
    let rain = name == "PRCP";
    let value = match units {
        FileUnits::Metric => number,
        FileUnits::Tenths => number / 10.0,
        FileUnits::Us if rain => Millimetres::from_inches(number).0,
        FileUnits::Us => Celsius::from_fahrenheit(number).0,
    };
    let range = if rain { (0.0, 10_000.0, "0", "10000 mm") } else { (-90.0, 60.0, "-90", "60 degC") };
    field.within(name, value, range).map(Some)
}

fn year_and_month(field: &Field<'_>) -> Result<(i32, usize), ReadError> {
    let parsed = field.text.split_once('-').and_then(|(year, month)| {
        let (year, month) = (year.parse::<i32>().ok()?, month.parse::<usize>().ok()?);
        ((1600..=2200).contains(&year) && (1..=12).contains(&month)).then_some((year, month - 1))
    });
    parsed.ok_or_else(|| field.error(Fault::NotADate(field.text.to_owned())).in_field("DATE"))
}

/// Reads the monthly summaries of one station.
pub(super) fn read<R: BufRead>(
    lines: &mut Lines<R>,
    options: &ReadOptions,
) -> Result<ClimateTable, ReadError> {
    let header = Header::read(lines)?;
    let date = header.need("DATE")?;
    let mut columns = [None; NAMES.len()];
    for (column, name) in columns.iter_mut().zip(NAMES) {
        *column = header.find(name)?;
    }
    let units = options.units.unwrap_or(FileUnits::Metric);
    let mut table = ClimateTable::empty(Format::Gsom);
    let mut years: BTreeMap<i32, [Option<Month>; 12]> = BTreeMap::new();
    let mut splitter = Splitter::default();
    while let Some((number, line)) = lines.next()? {
        let row = splitter.split(line, number)?;
        row.fits(header.len())?;
        super::detect::station_of(&row, &header, &mut table)?;
        let field = row.get(date);
        let (year, month) = year_and_month(&field)?;
        let mut values: Month = [None; 4];
        for ((value, column), name) in values.iter_mut().zip(columns).zip(NAMES) {
            if let Some(column) = column {
                *value = table.impossible.spare(converted(&row.get(column), name, units))?;
            }
        }
        let slot = &mut years.entry(year).or_default()[month];
        if slot.replace(values).is_some() {
            return Err(field.error(Fault::Duplicate(field.text.to_owned())));
        }
    }
    if options.units.is_none() {
        table.notes.push(Note::UnitsTaken(units));
    }
    summarise(&years, options, &mut table);
    Ok(table)
}

fn summarise(years: &BTreeMap<i32, [Option<Month>; 12]>, options: &ReadOptions, table: &mut ClimateTable) {
    // The latest years with temperature: a station may go on with rain alone for decades.
    let has_temperature =
        |months: &[Option<Month>; 12]| months.iter().flatten().any(|m| m[0].is_some() && m[1].is_some());
    let last = years.iter().rev().find(|(_, m)| has_temperature(m)).or(years.iter().next_back());
    let Some((last, first)) = last.map(|(y, _)| *y).zip(years.keys().next().copied()) else {
        return;
    };
    table.recorded = years.keys().next().copied().zip(years.keys().next_back().copied());
    let (first, last) = options.years.unwrap_or((first.max(last - YEARS_TAKEN + 1), last));
    table.period = Some((first, last));
    let mean = |which: usize| -> Series {
        std::array::from_fn(|month| {
            let (mut sum, mut count) = (0.0, 0_u16);
            for months in years.range(first..=last.max(first)).map(|(_, m)| m) {
                if let Some(value) = months[month].and_then(|m| m[which]) {
                    sum += value;
                    count += 1;
                }
            }
            (count > 0).then(|| MonthValue { value: sum / f64::from(count), years: Some(count), flag: None })
        })
    };
    table.tmax_c = mean(0);
    table.tmin_c = mean(1);
    table.precip_mm = mean(2);
    let (mut sum, mut count, mut lowest) = (0.0, 0_u16, f64::INFINITY);
    for months in years.range(first..=last.max(first)).map(|(_, m)| m) {
        let lows: Vec<f64> = months.iter().flatten().filter_map(|m| m[3]).collect();
        if lows.len() >= MONTHS_FOR_EXTREME {
            let year = lows.into_iter().fold(f64::INFINITY, f64::min);
            sum += year;
            count += 1;
            lowest = lowest.min(year);
        }
    }
    table.extreme_min = (count > 0).then(|| ExtremeMinimum {
        mean_c: sum / f64::from(count),
        lowest_c: lowest,
        years: count,
    });
    let fewest = table.tmin_c.iter().map(|v| v.and_then(|v| v.years).unwrap_or(0)).min();
    if let Some(fewest) = fewest.filter(|n| *n < 30) {
        table.notes.push(Note::ShortRecord(fewest));
    }
}
