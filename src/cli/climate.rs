//! `swardwright climate read|check FILE`

use std::path::{Path, PathBuf};

use clap::{Subcommand, ValueEnum};

use super::common::{Outcome, Printed};
use super::write_file::{refuse_same, write_or_give};
use swardwright::diag::{Finding, Findings};
use swardwright::formulas::climate::{ClimateTable, FileUnits, ReadOptions};
use swardwright::report::{climate_check, climate_csv, climate_et0, climate_toml, days_not_kept};

/// Arguments of `climate`.
#[derive(clap::Args)]
pub struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Subcommand)]
enum Action {
    /// Reads a station or typical-year file and prints its monthly normals
    ///
    /// Examples: swardwright climate read station.csv;
    /// swardwright climate read station.dly --years 1991-2020 --format csv --output normals.csv;
    /// swardwright climate read wide.csv --units us; swardwright climate read year.epw --et0
    Read {
        #[command(flatten)]
        file: FileOptions,
        /// How the normals are written
        #[arg(long, value_enum, default_value_t = Format::Toml)]
        format: Format,
        /// Print reference evapotranspiration of each month with its inputs, as CSV, in their place
        #[arg(long, conflicts_with = "format")]
        et0: bool,
        /// Write to this file, whole or not at all; nothing is printed then
        #[arg(long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Reports gaps, impossible values and days, flags, years and completeness
    ///
    /// Exit code 1 tells a fault; notes are only worth a look.
    ///
    /// Example: swardwright climate check station.dly
    Check {
        #[command(flatten)]
        file: FileOptions,
    },
}

#[derive(clap::Args)]
struct FileOptions {
    /// Climate file: NOAA monthly normals, monthly summaries, GHCN-Daily (CSV or .dly), EPW, TMY3, or
    /// a plain table with a column `month`
    file: PathBuf,
    /// Units of a daily table or monthly summaries that do not state them
    #[arg(long, value_enum)]
    units: Option<Units>,
    /// Years to take from daily values or monthly summaries, as FIRST-LAST; else the latest thirty
    #[arg(long, value_parser = years)]
    years: Option<(i32, i32)>,
}

#[derive(Clone, Copy, ValueEnum)]
enum Format {
    /// Sections [place] and [climate] of a site file
    Toml,
    /// A plain table that a site file can name
    Csv,
}

#[derive(Clone, Copy, ValueEnum)]
enum Units {
    /// degC and mm
    Si,
    /// degF and inches
    Us,
    /// tenths of degC and of mm
    Tenths,
}

fn years(text: &str) -> Result<(i32, i32), String> {
    let parts =
        text.split_once('-').and_then(|(first, last)| Some((first.parse().ok()?, last.parse().ok()?)));
    match parts {
        Some((first, last)) if first <= last => Ok((first, last)),
        _ => Err("two years, the first not after the last, such as 1991-2020".to_owned()),
    }
}

/// Runs the command.
pub fn run(args: Args) -> Outcome {
    let done = match args.action {
        Action::Read { file, format, et0, output } => kept(&file, output.as_deref()).and_then(|table| {
            let text = match format {
                _ if et0 => climate_et0(&table).map_err(|words| {
                    let message = format!("{}: {words}", file.file.display());
                    vec![Finding::bare("climate-incomplete", message)]
                })?,
                Format::Toml => climate_toml(&table),
                Format::Csv => climate_csv(&table),
            };
            let warnings = match format {
                // a table has no place for a remark
                Format::Csv if !et0 => days_not_kept(&table)
                    .into_iter()
                    .map(|words| {
                        let message = format!("{}: {words}", file.file.display());
                        Finding::bare("climate-remarks", message).as_warning()
                    })
                    .collect(),
                _ => Findings::new(),
            };
            write_or_give(text, output.as_deref()).map(|text| Outcome::Answered(Printed { text, warnings }))
        }),
        Action::Check { file } => read(&file).map(|table| {
            let (text, faulty) = climate_check(&file.file.display().to_string(), &table);
            if faulty {
                Outcome::Faults { findings: Findings::new(), text }
            } else {
                Outcome::Answered(Printed::from(text))
            }
        }),
    };
    done.unwrap_or_else(Outcome::Refused)
}

/// Reads the file, unless the answer would be written over it.
fn kept(file: &FileOptions, output: Option<&Path>) -> Result<ClimateTable, Findings> {
    output.map_or(Ok(()), |path| refuse_same(path, &file.file))?;
    read(file)
}

fn read(options: &FileOptions) -> Result<ClimateTable, Findings> {
    let units = options.units.map(|units| match units {
        Units::Si => FileUnits::Metric,
        Units::Us => FileUnits::Us,
        Units::Tenths => FileUnits::Tenths,
    });
    let reading = ReadOptions { units, years: options.years };
    swardwright::read_climate_file(Path::new(&options.file), &reading)
}
