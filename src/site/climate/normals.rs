//! The common form that every reader fills: twelve months of a place with their completeness.

use std::fmt;

use super::daily_record::DailyRecord;
use super::day_report::DayReport;
use super::impossible::Impossible;
use crate::site::evapotranspiration::wind_at_2m;
use crate::site::solar::Monthly;
use crate::units::quantity::{Metres, MetresPerSecond};

/// Format of a climate file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// NOAA U.S. Climate Normals by month, edition 1991-2020.
    NoaaNormals1991,
    /// NOAA U.S. Climate Normals by month, edition 1981-2010.
    NoaaNormals1981,
    /// NOAA Global Summary of the Month.
    Gsom,
    /// GHCN-Daily, fixed width.
    GhcnDly,
    /// GHCN-Daily as a table of any of its layouts.
    GhcnCsv,
    /// `EnergyPlus` weather.
    Epw,
    /// NREL typical meteorological year 3.
    Tmy3,
    /// A plain table of twelve months.
    MonthlyTable,
}

impl Format {
    /// Name for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::NoaaNormals1991 => "NOAA monthly normals 1991-2020",
            Self::NoaaNormals1981 => "NOAA monthly normals 1981-2010",
            Self::Gsom => "NOAA Global Summary of the Month",
            Self::GhcnDly => "GHCN-Daily (.dly)",
            Self::GhcnCsv => "GHCN-Daily (CSV)",
            Self::Epw => "EnergyPlus weather (EPW)",
            Self::Tmy3 => "NREL TMY3",
            Self::MonthlyTable => "plain table of months",
        }
    }
}

/// Units of a file that does not state them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileUnits {
    /// degC and mm.
    Metric,
    /// degF and inches.
    Us,
    /// Tenths of degC and of mm, as GHCN-Daily is distributed.
    Tenths,
}

impl FileUnits {
    /// By the name that a site file and `climate read --units` give them.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "si" => Some(Self::Metric),
            "us" => Some(Self::Us),
            "tenths" => Some(Self::Tenths),
            _ => None,
        }
    }
}

/// How to read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReadOptions {
    /// Units, for layouts that do not state them.
    pub units: Option<FileUnits>,
    /// First and last year to take; else the latest thirty years that the file has.
    pub years: Option<(i32, i32)>,
}

/// Where the figures were taken.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Station {
    /// Identifier of the network.
    pub id: Option<String>,
    /// Name.
    pub name: Option<String>,
    /// Latitude, degrees, north positive.
    pub latitude_deg: Option<f64>,
    /// Longitude, degrees, east positive.
    pub longitude_deg: Option<f64>,
    /// Height above sea level, m.
    pub elevation_m: Option<f64>,
}

impl Station {
    /// Name and identifier, as far as the file has them.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let some = |text: &Option<String>| text.clone().filter(|text| !text.is_empty());
        match (some(&self.name), some(&self.id)) {
            (Some(name), Some(id)) if name != id => Some(format!("{name} ({id})")),
            (name, id) => name.or(id),
        }
    }
}

/// A monthly value with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthValue {
    /// The value, in the unit of its series.
    pub value: f64,
    /// Years behind it, where known.
    pub years: Option<u16>,
    /// Completeness flag of the publisher.
    pub flag: Option<char>,
}

/// Twelve months, January first.
pub type Series = [Option<MonthValue>; 12];

/// Mean of the yearly lowest temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExtremeMinimum {
    /// Their mean, degC: what hardiness zones rest on.
    pub mean_c: f64,
    /// The lowest of all, degC.
    pub lowest_c: f64,
    /// Years that were complete enough (350 days, or 11 months of a monthly summary); 0 where a table
    /// does not state them.
    pub years: u16,
}

impl ExtremeMinimum {
    /// Years from which the mean is taken for a site; that of fewer errs more than the estimate from
    /// the monthly minima (yearly lowest temperatures scatter by some 3 to 4 K).
    pub const YEARS_WANTED: u16 = 5;

    /// Whether enough years stand behind the mean; where they are not stated it is taken at its word.
    #[must_use]
    pub const fn is_usable(&self) -> bool {
        self.years == 0 || self.years >= Self::YEARS_WANTED
    }
}

/// Something the user of the table should know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// The units were not in the file and taken so.
    UnitsTaken(FileUnits),
    /// Values that failed the publisher's checks were left out.
    QualityDropped(u32),
    /// Days with rain too small to measure, which count as 0 mm.
    Traces(u32),
    /// Days whose maximum lies below their minimum.
    ContradictoryDays(usize),
    /// Rain is missing, or 0 in all but a few hours, which means it was not recorded.
    RainNotRecorded,
    /// No rain in any month: likely not recorded, and left out.
    NoRainAtAll,
    /// Months from 1 of a typical year without a wet hour, left empty since the others are wet.
    MonthsWithoutRain(Vec<usize>),
    /// Rain stands in tenths of a millimetre under a heading of millimetres, and was divided by ten.
    RainInTenths,
    /// Rain in whole numbers that are neither millimetres nor their tenths for certain; left out.
    RainUnitUnclear,
    /// Rain of a typical year, which is no long-term mean.
    RainOfTypicalYear,
    /// The months come from different years; there are no true extremes.
    TypicalYear,
    /// Hours of a typical year without a temperature: their days and so their months have none.
    HoursWithoutTemperature {
        /// How many there are.
        count: u32,
        /// The first, as month, day and hour.
        first: String,
    },
    /// Something that the format has in every hour has too few values in every month.
    SeriesMissing(&'static str),
    /// Fewest years of temperature behind a month, where they are fewer than thirty.
    ShortRecord(u16),
    /// Values rest on fewer than thirty years by the publisher's own account.
    PublisherYears(u16),
    /// Values too small for the publisher's rounding, taken as 0.
    RoundedToZero(u32),
    /// The file ends within its last line, this one: what stands last there may have been cut off.
    LastLineOpen(u64),
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnitsTaken(units) => {
                let text = match units {
                    FileUnits::Metric => "degC and mm",
                    FileUnits::Us => "degF and inches",
                    FileUnits::Tenths => "tenths of degC and mm",
                };
                write!(f, "the file does not state its units; taken as {text}")
            }
            Self::QualityDropped(1) => write!(f, "1 value failed the publisher's checks and was left out"),
            Self::QualityDropped(n) => {
                write!(f, "{n} values failed the publisher's checks and were left out")
            }
            Self::Traces(1) => write!(f, "1 day with a trace of rain counts as 0 mm"),
            Self::Traces(n) => write!(f, "{n} days with a trace of rain count as 0 mm"),
            Self::ContradictoryDays(1) => write!(f, "1 day has a maximum below its minimum"),
            Self::ContradictoryDays(n) => write!(f, "{n} days have a maximum below their minimum"),
            Self::RainNotRecorded => write!(
                f,
                "rain was not recorded hour by hour (missing, totals of several hours, or fewer than \
                 10 wet hours in the year)"
            ),
            Self::NoRainAtAll => write!(
                f,
                "precipitation is 0 in all months: likely not recorded and left out; where it truly never rains \
                 state `precip_mm` in the site file"
            ),
            Self::MonthsWithoutRain(months) => {
                let list: Vec<String> = months.iter().map(ToString::to_string).collect();
                write!(
                    f,
                    "month {}: no rain in any hour, where the other months have rain: likely not recorded and left \
                     empty, so that the file gives no rain: state `precip_mm` of all months in the site file, 0 \
                     where one is truly dry",
                    list.join(", ")
                )
            }
            Self::RainInTenths => write!(
                f,
                "rain stands in tenths of a mm under a heading of mm (its steps are 0.01 in) and was \
                 divided by ten"
            ),
            Self::RainUnitUnclear => {
                write!(f, "rain was left out: its whole numbers may be mm, as the heading says, or tenths")
            }
            Self::RainOfTypicalYear => write!(f, "rain is that of one typical year, not a mean"),
            Self::HoursWithoutTemperature { count: 1, first } => {
                write!(f, "the hour {first} has no temperature, so that its month has none")
            }
            Self::HoursWithoutTemperature { count, first } => {
                write!(
                    f,
                    "{count} hours have no temperature, the first {first}, so that their months have none"
                )
            }
            Self::TypicalYear => {
                write!(f, "a typical year: months of different years, without true extremes")
            }
            Self::SeriesMissing(name) => write!(f, "{name}: no month has enough values"),
            Self::ShortRecord(0) => {
                write!(
                    f,
                    "some months have no year of temperature that is whole enough; thirty are customary"
                )
            }
            Self::ShortRecord(1) => write!(f, "only 1 year of temperature; thirty are customary"),
            Self::ShortRecord(n) => write!(f, "only {n} years of temperature; thirty are customary"),
            Self::PublisherYears(1) => write!(f, "some normals rest on only 1 year"),
            Self::PublisherYears(n) => write!(f, "some normals rest on only {n} years"),
            Self::RoundedToZero(1) => write!(f, "1 value above zero was rounded to 0"),
            Self::RoundedToZero(n) => write!(f, "{n} values above zero were rounded to 0"),
            Self::LastLineOpen(line) => write!(
                f,
                "the last line, {line}, has no line end: where the file was cut off, its last value is not whole"
            ),
        }
    }
}

/// Everything a reader found.
#[derive(Debug, Clone, PartialEq)]
pub struct ClimateTable {
    /// Format of the file.
    pub format: Format,
    /// The station.
    pub station: Station,
    /// First and last year used; `None` for a typical year.
    pub period: Option<(i32, i32)>,
    /// First and last year that the file has anything of; `None` where its figures are means already.
    pub recorded: Option<(i32, i32)>,
    /// Mean daily maximum of air temperature, degC.
    pub tmax_c: Series,
    /// Mean daily minimum of air temperature, degC.
    pub tmin_c: Series,
    /// Precipitation, mm a month.
    pub precip_mm: Series,
    /// Days with 0.25 mm of rain or more, a month.
    pub wet_days: Series,
    /// Days with a maximum above 30 degC, a month; only where counted from daily or hourly values.
    pub hot_days: Series,
    /// Solar radiation on the level, MJ m-2 d-1.
    pub solar_mj_m2_d: Series,
    /// Extraterrestrial radiation as the file carries it, MJ m-2 d-1.
    pub extraterrestrial_mj_m2_d: Series,
    /// Wind speed at `wind_height_m`, m/s.
    pub wind_m_s: Series,
    /// Height of the wind measurement, m, as usual for the format (the files do not state it).
    pub wind_height_m: Option<f64>,
    /// Mean relative humidity, %.
    pub rh_pct: Series,
    /// Mean annual extreme minimum.
    pub extreme_min: Option<ExtremeMinimum>,
    /// The days of whole years, where the file has days of a station.
    pub daily: Option<DailyRecord>,
    /// What the days of a station lack and what of them cannot be right.
    pub days: Option<DayReport>,
    /// Values that no place on earth has, left out; a table whose figures are used has none.
    pub impossible: Impossible,
    /// What to know about the figures.
    pub notes: Vec<Note>,
}

/// Twelve complete months, ready for the site's physics.
#[derive(Debug, Clone, PartialEq)]
pub struct Normals {
    /// Mean daily maximum, degC.
    pub tmax_c: Monthly,
    /// Mean daily minimum, degC.
    pub tmin_c: Monthly,
    /// Precipitation, mm a month.
    pub precip_mm: Option<Monthly>,
    /// Wet days a month.
    pub wet_days: Option<Monthly>,
    /// Days above 30 degC a month.
    pub hot_days: Option<Monthly>,
    /// Solar radiation, MJ m-2 d-1.
    pub solar_mj_m2_d: Option<Monthly>,
    /// Wind speed at the table's height, m/s.
    pub wind_m_s: Option<Monthly>,
    /// Relative humidity, %.
    pub rh_pct: Option<Monthly>,
}

/// A temperature series with months that have no value.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{series} has no value in month {}", months.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))]
pub struct MissingMonths {
    /// Name of the series.
    pub series: &'static str,
    /// Months from 1.
    pub months: Vec<usize>,
}

/// The twelve values of a series, if all are there.
#[must_use]
pub fn complete(series: &Series) -> Option<Monthly> {
    let mut months = [0.0; 12];
    for (slot, value) in months.iter_mut().zip(series) {
        *slot = (*value)?.value;
    }
    Some(months)
}

impl ClimateTable {
    /// A table with no figures yet.
    #[must_use]
    pub fn empty(format: Format) -> Self {
        Self {
            format,
            station: Station::default(),
            period: None,
            recorded: None,
            tmax_c: [None; 12],
            tmin_c: [None; 12],
            precip_mm: [None; 12],
            wet_days: [None; 12],
            hot_days: [None; 12],
            solar_mj_m2_d: [None; 12],
            extraterrestrial_mj_m2_d: [None; 12],
            wind_m_s: [None; 12],
            wind_height_m: None,
            rh_pct: [None; 12],
            extreme_min: None,
            daily: None,
            days: None,
            impossible: Impossible::default(),
            notes: Vec::new(),
        }
    }

    /// Whether no series has a value in any month.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        let series =
            [&self.tmax_c, &self.tmin_c, &self.precip_mm, &self.solar_mj_m2_d, &self.wind_m_s, &self.rh_pct];
        series.into_iter().flatten().all(Option::is_none)
    }

    /// Wind of all twelve months brought to 2 m above the ground (FAO-56 equation 47), m/s.
    #[must_use]
    pub fn wind_2m(&self) -> Option<Monthly> {
        let height = self.wind_height_m.unwrap_or(2.0);
        let at_2m =
            |speed| if height == 2.0 { speed } else { wind_at_2m(MetresPerSecond(speed), Metres(height)).0 };
        complete(&self.wind_m_s).map(|months| months.map(at_2m))
    }

    /// The twelve months, where both temperature series are complete; other series only whole.
    ///
    /// # Errors
    ///
    /// [`MissingMonths`] names the temperature series and the months without a value.
    pub fn normals(&self) -> Result<Normals, MissingMonths> {
        let need = |series: &Series, name| {
            complete(series).ok_or_else(|| MissingMonths {
                series: name,
                months: (1..=12).filter(|m| series[m - 1].is_none()).collect(),
            })
        };
        Ok(Normals {
            tmax_c: need(&self.tmax_c, "mean daily maximum")?,
            tmin_c: need(&self.tmin_c, "mean daily minimum")?,
            precip_mm: complete(&self.precip_mm),
            wet_days: complete(&self.wet_days),
            hot_days: complete(&self.hot_days),
            solar_mj_m2_d: complete(&self.solar_mj_m2_d),
            wind_m_s: complete(&self.wind_m_s),
            rh_pct: complete(&self.rh_pct),
        })
    }
}
