//! Climate files: monthly normals from station and typical-year files.
//!
//! [`read_climate`] finds out the format by content and reads the file as a stream, whatever its
//! size. Codes for missing values never become numbers; faults are values with line and column.

pub mod check;
mod daily;
pub mod daily_record;
pub mod day_report;
mod detect;
mod epw;
mod error;
pub mod flags;
mod ghcn_csv;
mod ghcn_dly;
mod gsom;
mod hourly;
pub mod impossible;
pub mod limits;
mod monthly_table;
mod noaa_normals;
pub mod normals;
mod text;
mod tmy3;
mod tmy3_rain;

#[cfg(test)]
mod damaged;
#[cfg(test)]
mod tests;

pub use daily::{Date, Element};
pub use daily_record::DailyRecord;
pub use detect::{read_climate, read_climate_bytes, survey_climate};
pub use error::{Fault, ReadError};
pub use normals::{
    ClimateTable, ExtremeMinimum, FileUnits, Format, MonthValue, Normals, Note, ReadOptions, Series, Station,
};
