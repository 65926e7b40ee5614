//! The climate file that a site file names: its normals fill what the site file itself leaves out.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

use super::climate::{ClimateTable, ReadError, ReadOptions, read_climate};
use super::evapotranspiration::wind_at_2m;
use super::file::SiteFile;
use super::solar::Monthly;
use crate::diag::{Finding, Findings, Place};
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::units::factors::DAY_S;
use crate::units::quantity::{Metres, MetresPerSecond};

/// What a climate file gave to a site.
#[derive(Clone, Debug)]
pub struct FromClimateFile {
    /// Positions of the facts that it filled.
    pub filled: Vec<usize>,
    /// The file, its station and its years, in words.
    pub words: String,
}

/// Opens a climate file as a stream.
pub fn open(path: &Path) -> Result<impl BufRead, Findings> {
    let shown = path.display();
    let refuse = |words: &str| Err(vec![Finding::bare("unreadable", format!("{shown}: {words}"))]);
    if path.is_dir() {
        return refuse("is a folder, not a file");
    }
    match File::open(path) {
        Ok(file) => Ok(BufReader::with_capacity(1 << 16, file)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => refuse("there is no such file"),
        Err(error) => refuse(&error.to_string()),
    }
}

/// A fault of a climate file, with `file:line:column` before it.
fn finding(path: &Path, error: &ReadError) -> Finding {
    let mut message = path.display().to_string();
    if error.line > 0 {
        message.push_str(&format!(":{}", error.line));
        message.push_str(&error.column.map(|column| format!(":{column}")).unwrap_or_default());
    }
    message.push_str(": ");
    message.push_str(&error.field.as_ref().map(|field| format!("`{field}`: ")).unwrap_or_default());
    Finding::bare("climate-file", format!("{message}{}", error.fault))
}

/// Reads a climate file by its path.
pub fn read_climate_file(path: &Path, options: &ReadOptions) -> Result<ClimateTable, Findings> {
    read_climate(open(path)?, options).map_err(|error| vec![finding(path, &error)])
}

/// Fills what the site file leaves out from the climate file that it names, if it names one. The
/// name is taken from the folder of the site file.
pub fn fill(site: &mut SiteFile, knowledge: &Knowledge) -> Result<(), Findings> {
    let Some((name, place)) = site.climate_file.clone() else { return Ok(()) };
    let path = beside(&site.place.source.path, &name);
    let help = "a climate file is named from the folder of the site file";
    let named_here = |findings: Findings| -> Findings {
        let here = |finding: Finding| Finding { place: Some(place.clone()), ..finding }.help(help);
        findings.into_iter().map(here).collect()
    };
    let stream = open(&path).map_err(named_here)?;
    let table = read_climate(stream, &ReadOptions::default())
        .map_err(|error| vec![Finding { place: Some(place.clone()), ..finding(&path, &error) }])?;
    if let Err(missing) = table.normals() {
        let message = format!("{}: {missing}", path.display());
        return Err(vec![Finding::error("climate-incomplete", &place, message)]);
    }
    let filled = take(site, &table, knowledge, &place);
    site.from_climate = Some(FromClimateFile { filled, words: words(&name, &table) });
    Ok(())
}

fn beside(site_path: &str, name: &str) -> PathBuf {
    match Path::new(site_path).parent() {
        Some(folder) if Path::new(name).is_relative() => folder.join(name),
        _ => PathBuf::from(name),
    }
}

/// Name, station and years.
fn words(name: &str, table: &ClimateTable) -> String {
    let mut words = format!("from {name} ({})", table.format.name());
    if let Some(station) = table.station.name.as_ref().or(table.station.id.as_ref()) {
        words.push_str(&format!(", station {station}"));
    }
    if let Some((first, last)) = table.period {
        words.push_str(&format!(", {first} to {last}"));
    }
    for note in &table.notes {
        words.push_str(&format!("; {note}"));
    }
    words
}

/// Enters the figures, in the bases of their units, where the site file gives none.
fn take(site: &mut SiteFile, table: &ClimateTable, knowledge: &Knowledge, place: &Place) -> Vec<usize> {
    let Ok(normals) = table.normals() else { return Vec::new() };
    let months = |series: Option<Monthly>, scale: f64| {
        series.map(|series| Value::Months(series.map(|v| v * scale).into()))
    };
    let height = Metres(table.wind_height_m.unwrap_or(2.0));
    let wind =
        normals.wind_m_s.map(|series| series.map(|speed| wind_at_2m(MetresPerSecond(speed), height).0));
    let figures = [
        ("site.tmax_c", months(Some(normals.tmax_c), 1.0)),
        ("site.tmin_c", months(Some(normals.tmin_c), 1.0)),
        ("site.precip_mm", months(normals.precip_mm, 0.001)),
        ("site.solar_mj_m2_d", months(normals.solar_mj_m2_d, 1.0)),
        ("site.wind_m_s", months(wind, DAY_S)),
        ("site.rh_pct", months(normals.rh_pct, 0.01)),
        ("site.extreme_min_c", table.extreme_min.map(|extreme| Value::Number(extreme.mean_c))),
        ("site.latitude_deg", table.station.latitude_deg.map(Value::Number)),
        ("site.longitude_deg", table.station.longitude_deg.map(Value::Number)),
        ("site.elevation_m", table.station.elevation_m.map(Value::Number)),
    ];
    let mut filled = Vec::new();
    for (id, value) in figures {
        let (Some(slot), Some(value)) = (knowledge.vocabulary.slot(id), value) else { continue };
        if site.values[slot.index].is_none() {
            site.values[slot.index] = Some((value, place.clone()));
            filled.push(slot.index);
        }
    }
    filled
}
