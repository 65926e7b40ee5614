//! NREL TMY3: a line for the station, a line of column names with units, then one line an hour.
//!
//! Hours run from 01:00 to 24:00 of the date. Missing is -9900. Months come from different years.

use std::io::BufRead;

use super::epw::value;
use super::error::{Fault, ReadError};
use super::hourly::{Hour, Hours, hours_covered};
use super::impossible::Impossible;
use super::normals::{ClimateTable, Format, ReadOptions, Station};
use super::text::{Field, Header, Lines, Row, Splitter};
use super::tmy3_rain::RainOfFile;

/// Column of rain; its heading is not always true, see [`super::tmy3_rain`].
const RAIN: &str = "Lprecip depth (mm)";
/// Values at or below this are codes for missing.
const MISSING: f64 = -9000.0;

fn station(row: &Row<'_>, impossible: &mut Impossible) -> Result<Station, ReadError> {
    row.whole(7)?;
    let text = |i: usize| Some(row.get(i).text).filter(|t| !t.is_empty()).map(str::to_owned);
    Ok(Station {
        id: text(0),
        name: text(1),
        latitude_deg: impossible.spare(row.get(4).latitude("latitude"))?,
        longitude_deg: impossible.spare(row.get(5).longitude("longitude"))?,
        elevation_m: row.get(6).number().map_err(|e| e.in_field("elevation"))?,
    })
}

/// Month, day and hour from `MM/DD/YYYY` and `HH:MM`.
fn time_of(date: &Field<'_>, clock: &Field<'_>) -> Result<(u8, u8, u8), ReadError> {
    let mut parts = date.text.split('/');
    let month = parts.next().and_then(|m| m.parse().ok());
    let day = parts.next().and_then(|d| d.parse().ok());
    let (Some(month), Some(day)) = (month, day) else {
        return Err(date.error(Fault::NotADate(date.text.to_owned())));
    };
    let hour = clock.text.split(':').next().and_then(|h| h.parse().ok());
    let Some(hour) = hour else {
        return Err(clock.error(Fault::NotADate(clock.text.to_owned())));
    };
    Ok((month, day, hour))
}

/// Reads a typical year.
pub(super) fn read<R: BufRead>(
    lines: &mut Lines<R>,
    _options: &ReadOptions,
) -> Result<ClimateTable, ReadError> {
    let mut table = ClimateTable::empty(Format::Tmy3);
    let mut splitter = Splitter::default();
    if let Some((number, line)) = lines.next()? {
        table.station = station(&splitter.split(line, number)?, &mut table.impossible)?;
    }
    let header = Header::read(lines)?;
    let (date, clock) = (header.need("Date (MM/DD/YYYY)")?, header.need("Time (HH:MM)")?);
    let radiation = (0.0, 1500.0, "0", "1500 Wh/m2");
    let columns = [
        (header.need("Dry-bulb (C)")?, "Dry-bulb (C)", (-90.0, 60.0, "-90", "60 degC")),
        (header.need("RHum (%)")?, "RHum (%)", (0.0, 110.0, "0", "110 %")),
        (header.need("ETR (W/m^2)")?, "ETR (W/m^2)", radiation),
        (header.need("GHI (W/m^2)")?, "GHI (W/m^2)", radiation),
        (header.need("Wspd (m/s)")?, "Wspd (m/s)", (0.0, 60.0, "0", "60 m/s")),
    ];
    let rain = header.find(RAIN)?;
    let rain_hours = header.find("Lprecip quantity (hr)")?;
    let mut rain_of_file = RainOfFile::default();
    let mut hours = Hours::new();
    let mut last_line = header.line();
    while let Some((number, line)) = lines.next()? {
        last_line = number;
        let row = splitter.split(line, number)?;
        row.fits(header.len())?;
        let read = |index: usize, name: &str, range| {
            let field = row.get(index);
            match field.number() {
                Ok(Some(n)) if n <= MISSING => Ok(None),
                _ => value(&field, name, |_| false, range),
            }
        };
        let [temperature_c, humidity_pct, extraterrestrial_wh, global_wh, wind_m_s] = {
            let mut found = [None; 5];
            for (slot, (index, name, range)) in found.iter_mut().zip(columns) {
                *slot = table.impossible.spare(read(index, name, range))?;
            }
            found
        };
        let rain_mm = match rain {
            Some(index) => {
                let figure = read(index, RAIN, (0.0, f64::INFINITY, "0", "100 mm an hour"));
                let figure = table.impossible.spare(figure)?;
                let hours = rain_hours.map_or(1, |index| hours_covered(&row.get(index)));
                figure.map_or(Ok(()), |own| rain_of_file.take(&row.get(index), RAIN, own, hours))?;
                // a total of several hours would count twice beside those of its hours
                figure.filter(|_| hours == 1)
            }
            None => None,
        };
        let hour = Hour { temperature_c, humidity_pct, extraterrestrial_wh, global_wh, wind_m_s, rain_mm };
        let date = row.get(date);
        hours.add(time_of(&date, &row.get(clock))?, &hour, &date)?;
    }
    hours.finish(&mut table, last_line, rain_of_file.unit()?)?;
    Ok(table)
}
