//! The unit of rain in TMY3 files.
//!
//! The column is headed `Lprecip depth (mm)`, yet files were given out whose figures are tenths of a
//! millimetre: whole numbers in steps of 0.01 in (2.54 tenths, rounded: 3, 5, 8, 10, 13, 15, 18 ...).
//! Taken at its word, such a file has ten times its rain. No field tells which of the two a file is,
//! so the steps must.

use super::error::ReadError;
use super::hourly::{MOST_RAIN_MM, RainUnit, refuse_flood};
use super::text::Field;

/// A hundredth of an inch in tenths of a millimetre.
const STEP_TENTHS: f64 = 2.54;
/// Share of the wet hours that must fall on the steps: by chance it would be two fifths, and a few
/// hours of real files come from another gauge.
const ON_STEPS: f64 = 0.9;

/// Gathers what the wet hours of a file say of their unit.
#[derive(Default)]
pub(super) struct RainOfFile {
    wet: u32,
    on_steps: u32,
    decimals: bool,
    /// First hour that is too wet if the figures are mm.
    flood_in_mm: Option<ReadError>,
}

impl RainOfFile {
    /// Takes a figure that covers `hours`; refuses one that is too much even in tenths.
    pub(super) fn take(
        &mut self,
        field: &Field<'_>,
        name: &str,
        figure: f64,
        hours: u8,
    ) -> Result<(), ReadError> {
        if figure > MOST_RAIN_MM && self.flood_in_mm.is_none() {
            self.flood_in_mm = refuse_flood(field, name, figure, hours).err();
        }
        if figure > 0.0 {
            self.wet += 1;
            let step = (figure / STEP_TENTHS).round().max(1.0);
            self.on_steps += u32::from((step * STEP_TENTHS).round() == figure);
            self.decimals |= figure.fract() != 0.0;
        }
        refuse_flood(field, name, figure / 10.0, hours)
    }

    /// The unit.
    ///
    /// # Errors
    ///
    /// Where the figures are not tenths, the first hour with more mm than an hour can bring.
    pub(super) fn unit(self) -> Result<RainUnit, ReadError> {
        if !self.decimals && f64::from(self.on_steps) >= ON_STEPS * f64::from(self.wet) {
            return Ok(RainUnit::Tenths);
        }
        match self.flood_in_mm {
            Some(error) => Err(error),
            None if self.decimals => Ok(RainUnit::Millimetres),
            None => Ok(RainUnit::Unclear),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{invented_epw, invented_tmy3};
    use super::super::{ClimateTable, Note, ReadError, ReadOptions, read_climate_bytes};

    fn read(text: &str) -> Result<ClimateTable, ReadError> {
        read_climate_bytes(text.as_bytes(), &ReadOptions::default())
    }

    /// The invented year with these figures of rain on its first hours and zeros on the others.
    fn with_rain(figures: &[&str]) -> String {
        let mut figures = figures.iter();
        let hour = |line: &str| match line.strip_suffix(",-9900") {
            Some(rest) => format!("{rest},{}\n", figures.next().unwrap_or(&"0")),
            None => format!("{line}\n"),
        };
        invented_tmy3().lines().map(hour).collect()
    }

    fn january(table: &ClimateTable) -> Option<f64> {
        table.precip_mm[0].map(|month| month.value)
    }

    #[test]
    fn steps_of_a_hundredth_of_an_inch_are_tenths_of_a_millimetre() {
        let steps = ["3", "5", "8", "10", "13", "15", "18", "20", "25", "500"];
        let table = read(&with_rain(&steps)).unwrap();
        assert!((january(&table).unwrap() - 61.7).abs() < 1e-9);
        assert!(table.notes.contains(&Note::RainInTenths) && table.notes.contains(&Note::RainOfTypicalYear));
        // one hour of another gauge in ten does not hide the steps, two do
        let mut stray = steps;
        stray[3] = "6";
        assert!(read(&with_rain(&stray)).unwrap().notes.contains(&Note::RainInTenths));
    }

    #[test]
    fn decimals_are_the_millimetres_of_the_heading() {
        let table = read(&with_rain(&["0.3", "0.5", "0.8", "1", "1.3", "3", "5", "8", "10", "13"])).unwrap();
        assert!((january(&table).unwrap() - 42.9).abs() < 1e-9);
        assert!(!table.notes.contains(&Note::RainInTenths));
    }

    #[test]
    fn whole_numbers_off_the_steps_are_left_out() {
        let table = read(&with_rain(&["1", "2", "3", "4", "5", "6", "7", "9", "11", "12"])).unwrap();
        assert_eq!(january(&table), None);
        assert!(table.notes.contains(&Note::RainUnitUnclear), "{:?}", table.notes);
    }

    #[test]
    fn a_few_wet_hours_are_no_record_of_rain() {
        let nine = ["3", "5", "8", "10", "13", "15", "18", "20", "25"];
        let table = read(&with_rain(&nine)).unwrap();
        assert_eq!((january(&table), table.notes.last()), (None, Some(&Note::RainNotRecorded)));
        let dry = invented_epw().replace(",999.0,99.0", ",0.0,1.0");
        let one = read(&dry.replacen(",0.0,1.0", ",12.0,1.0", 1)).unwrap();
        assert_eq!((january(&one), one.notes.last()), (None, Some(&Note::RainNotRecorded)));
        let ten = read(&dry.replacen(",0.0,1.0", ",12.0,1.0", 10)).unwrap();
        assert!((january(&ten).unwrap() - 120.0).abs() < 1e-9);
    }

    /// The invented year with this figure in the eighth hour of the days that are chosen.
    fn with_showers(figure: &str, is_wet: impl Fn(&str) -> bool) -> String {
        let hour = |line: &str| match line.strip_suffix(",-9900") {
            Some(rest) if rest.contains(",08:00,") && is_wet(rest) => format!("{rest},{figure}\n"),
            Some(rest) => format!("{rest},0\n"),
            None => format!("{line}\n"),
        };
        invented_tmy3().lines().map(hour).collect()
    }

    #[test]
    fn a_dry_month_beside_wet_ones_is_empty_and_in_a_desert_dry() {
        let wet = read(&with_showers("51", |line| !line.starts_with("02/"))).unwrap();
        assert_eq!((1..=12).filter(|m| wet.precip_mm[m - 1].is_none()).collect::<Vec<_>>(), [2]);
        assert!((january(&wet).unwrap() - 31.0 * 5.1).abs() < 1e-9);
        assert_eq!(wet.notes.last(), Some(&Note::MonthsWithoutRain(vec![2])));
        assert!(wet.normals().unwrap().precip_mm.is_none());
        let desert =
            read(&with_showers("51", |line| !line.starts_with("02/") && line[3..].starts_with("01/")));
        let desert = desert.unwrap();
        assert_eq!(desert.precip_mm[1].map(|month| month.value), Some(0.0));
        assert!(!desert.notes.iter().any(|note| matches!(note, Note::MonthsWithoutRain(_))));
    }

    #[test]
    fn more_rain_than_an_hour_can_bring_is_refused_at_its_place() {
        let dry = invented_epw().replace(",999.0,99.0", ",0.0,1.0");
        let error = read(&dry.replacen(",0.0,1.0", ",100.5,1.0", 1)).unwrap_err();
        assert_eq!((error.line, error.field.as_deref()), (9, Some("precipitation")));
        assert!(error.column.is_some_and(|column| column > 90), "{error}");
        assert!(error.to_string().contains("`100.5` is 100.5 mm of rain in one hour"), "{error}");
        // the total of a day may be more; it is no figure of the hour
        let total = read(&dry.replacen(",0.0,1.0", ",150.0,24.0", 1)).unwrap();
        assert!(total.notes.contains(&Note::RainNotRecorded));

        let steps = ["3", "5", "8", "10", "13", "15", "18", "20", "25", "1001"];
        let error = read(&with_rain(&steps)).unwrap_err();
        assert_eq!(error.line, 12);
        assert!(error.to_string().contains("`1001` is 100.1 mm of rain in one hour"), "{error}");
        let error = read(&with_rain(&["0.3", "101"])).unwrap_err();
        assert_eq!(error.line, 4);
        assert!(error.to_string().contains("`101` is 101 mm of rain in one hour"), "{error}");
    }
}
