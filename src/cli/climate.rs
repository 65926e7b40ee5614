//! `swardwright climate read|check FILE`

use std::io::StdinLock;
use std::path::{Path, PathBuf};

use clap::{Subcommand, ValueEnum};

use super::common::{Outcome, Printed};
use super::write_file::{refuse_same, write_or_give};
use swardwright::diag::{Finding, Findings};
use swardwright::formulas::climate::{ClimateTable, FileUnits, ReadOptions};
use swardwright::report::{
    ClimateRemarks, climate_check, climate_csv, climate_et0, climate_toml, days_not_kept,
};
use swardwright::{
    STDIN_NAME, read_climate_file, read_climate_stream, survey_climate_file, survey_climate_stream,
};

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
    /// Exit code 1 tells that they stand there with faults.
    ///
    /// Examples: swardwright climate read station.csv;
    /// swardwright climate read station.dly --years 1991-2020 --format csv --output normals.csv;
    /// swardwright climate read wide.csv --units us; swardwright climate read year.epw --et0;
    /// swardwright climate read station.dly --et0 --latitude 30.3 --elevation 204
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
    /// a plain table with a column `month`; - for standard input
    file: PathBuf,
    /// Units of a daily table or monthly summaries that do not state them
    #[arg(long, value_enum)]
    units: Option<Units>,
    /// Years to take from daily values or monthly summaries, as FIRST-LAST; else the latest thirty
    #[arg(long, value_parser = years)]
    years: Option<(i32, i32)>,
    /// Latitude of the station in degrees, north positive, where the file does not state it (.dly)
    #[arg(long, value_name = "DEGREES", value_parser = latitude, allow_negative_numbers = true)]
    latitude: Option<f64>,
    /// Height of the station above sea level in metres, where the file does not state it
    #[arg(long, value_name = "METRES", value_parser = elevation, allow_negative_numbers = true)]
    elevation: Option<f64>,
}

impl FileOptions {
    fn is_stdin(&self) -> bool {
        self.file == Path::new("-")
    }

    /// What messages call it.
    fn shown(&self) -> &Path {
        if self.is_stdin() { Path::new(STDIN_NAME) } else { &self.file }
    }
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

fn latitude(text: &str) -> Result<f64, String> {
    within(text, -90.0, 90.0).ok_or_else(|| "degrees from -90 to 90, north positive, such as 30.3".to_owned())
}

fn elevation(text: &str) -> Result<f64, String> {
    within(text, -450.0, 6000.0).ok_or_else(|| "metres from -450 to 6000, such as 204".to_owned())
}

fn within(text: &str, low: f64, high: f64) -> Option<f64> {
    text.parse().ok().filter(|value| (low..=high).contains(value))
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
        Action::Read { file, format, et0, output } => read_kept(&file, output.as_deref()).and_then(|table| {
            let shown = file.shown().display().to_string();
            let text = match format {
                _ if et0 => climate_et0(&table).map_err(|words| {
                    let finding = Finding::bare("climate-incomplete", format!("{shown}: {words}"));
                    let help = table.station.latitude_deg.is_none().then(|| {
                        "state where the station lies: `--latitude DEGREES --elevation METRES`".to_owned()
                    });
                    vec![finding.maybe_help(help)]
                })?,
                Format::Toml => climate_toml(&table),
                Format::Csv => climate_csv(&table),
            };
            // what is worth a look stands in the TOML as a remark; a table has no place for it
            let has_remarks = matches!(format, Format::Toml) && !et0;
            let (faults, mut warnings) = remarks(&shown, &table, has_remarks);
            if !has_remarks && !et0 {
                let words = days_not_kept(&table);
                warnings.extend(words.map(|words| warning(format!("{shown}: {words}"))));
            }
            write_or_give(text, output.as_deref()).map(|text| match faults {
                Some(faults) => Outcome::Faults { findings: [vec![faults], warnings].concat(), text },
                None => Outcome::Answered(Printed { text, warnings }),
            })
        }),
        Action::Check { file } => read(&file, survey_climate_file, survey_climate_stream).map(|table| {
            let (text, faulty) = climate_check(&file.shown().display().to_string(), &table);
            if faulty {
                Outcome::Faults { findings: Findings::new(), text }
            } else {
                Outcome::Answered(Printed::from(text))
            }
        }),
    };
    done.unwrap_or_else(Outcome::Refused)
}

fn warning(message: String) -> Finding {
    Finding::bare("climate-remarks", message).as_warning()
}

/// What a check finds, in short: the faults, and as a warning what is worth a look where it is not written
/// with the figures.
fn remarks(shown: &str, table: &ClimateTable, notes_are_written: bool) -> (Option<Finding>, Findings) {
    let found = ClimateRemarks::of(table);
    let notes = table.notes.iter().map(ToString::to_string).chain(found.notes);
    let notes: Vec<String> = notes.filter(|_| !notes_are_written).collect();
    let named = if shown == STDIN_NAME { "-" } else { shown };
    let told = |words: &str, list: &[String]| {
        (!list.is_empty()).then(|| {
            Finding::bare("climate-remarks", format!("{shown}: {words}{}", list.join("; ")))
                .help(format!("`swardwright climate check {named}` tells all of them"))
        })
    };
    (told("faults: ", &found.faults), told("", &notes).map(Finding::as_warning).into_iter().collect())
}

/// Reads the file, unless the answer would be written over it.
fn read_kept(file: &FileOptions, output: Option<&Path>) -> Result<ClimateTable, Findings> {
    output.map_or(Ok(()), |path| refuse_same(path, &file.file))?;
    read(file, read_climate_file, read_climate_stream)
}

type ByName = fn(&Path, &ReadOptions) -> Result<ClimateTable, Findings>;
type ByStream = fn(&Path, StdinLock<'static>, &ReadOptions) -> Result<ClimateTable, Findings>;

fn read(options: &FileOptions, by_name: ByName, by_stream: ByStream) -> Result<ClimateTable, Findings> {
    let units = options.units.map(|units| match units {
        Units::Si => FileUnits::Metric,
        Units::Us => FileUnits::Us,
        Units::Tenths => FileUnits::Tenths,
    });
    let reading = ReadOptions { units, years: options.years };
    let mut table = match options.is_stdin() {
        true => by_stream(options.shown(), std::io::stdin().lock(), &reading)?,
        false => by_name(&options.file, &reading)?,
    };
    let station = &mut table.station;
    let mut faults = Findings::new();
    for (option, unit, stated, own) in [
        ("--latitude", "degrees", options.latitude, &mut station.latitude_deg),
        ("--elevation", "m", options.elevation, &mut station.elevation_m),
    ] {
        match (stated, *own) {
            (Some(stated), Some(own)) if (stated - own).abs() > 1e-9 => {
                let shown = options.shown().display();
                let message = format!("{shown}: the file states {own} {unit}, `{option}` says {stated}");
                faults.push(Finding::bare("position-twice", message).help(format!("leave `{option}` out")));
            }
            (Some(stated), _) => *own = Some(stated),
            (None, _) => {}
        }
    }
    if faults.is_empty() { Ok(table) } else { Err(faults) }
}
