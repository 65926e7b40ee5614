//! Hourly values of one typical year, gathered by day and month.

use crate::site::solar::{DAYS_IN_MONTH, first_day_of_month};

use super::error::{Fault, ReadError};
use super::normals::{ClimateTable, MonthValue, Note, Series};
use super::text::Field;

/// Height at which typical-year files usually give the wind, m (the files do not state it).
pub(super) const WIND_HEIGHT_M: f64 = 10.0;
/// Megajoules in a watt hour.
const MJ_PER_WH: f64 = 0.0036;
/// Maximum above which a day counts as hot, degC.
const HOT_C: f64 = 30.0;
/// Wet hours below which a year's rain counts as not recorded: deserts have some tens.
pub(super) const FEWEST_WET_HOURS: u32 = 10;
/// Rain of the wet months on the mean from which a month without a wet hour was not recorded, mm.
const WET_ENOUGH_MM: f64 = 20.0;
/// Rain of one hour above which the figure cannot be one, mm.
pub(super) const MOST_RAIN_MM: f64 = 100.0;

#[derive(Debug, Clone, Copy)]
struct Day {
    /// One bit an hour.
    hours: u32,
    highest: f64,
    lowest: f64,
    temperatures: u32,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    total: f64,
    count: u32,
}

impl Sum {
    fn add(&mut self, value: Option<f64>) {
        if let Some(value) = value {
            self.total += value;
            self.count += 1;
        }
    }
}

/// One hour as a file gives it; `None` where missing.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Hour {
    pub temperature_c: Option<f64>,
    pub humidity_pct: Option<f64>,
    pub extraterrestrial_wh: Option<f64>,
    pub global_wh: Option<f64>,
    pub wind_m_s: Option<f64>,
    pub rain_mm: Option<f64>,
}

/// A year of hours.
pub(super) struct Hours {
    days: Vec<Day>,
    humidity: [Sum; 12],
    extraterrestrial: [Sum; 12],
    global: [Sum; 12],
    wind: [Sum; 12],
    rain: [Sum; 12],
    wet_hours: u32,
    found: u32,
    /// Hours without a temperature, and the first of them.
    no_temperature: (u32, Option<String>),
}

impl Hours {
    pub(super) fn new() -> Self {
        let day = Day { hours: 0, highest: f64::NEG_INFINITY, lowest: f64::INFINITY, temperatures: 0 };
        Self {
            days: vec![day; 365],
            humidity: [Sum::default(); 12],
            extraterrestrial: [Sum::default(); 12],
            global: [Sum::default(); 12],
            wind: [Sum::default(); 12],
            rain: [Sum::default(); 12],
            wet_hours: 0,
            found: 0,
            no_temperature: (0, None),
        }
    }

    /// Adds the hour that ends at `hour` (1 to 24) of a day; 29 February is passed over. `place` is
    /// where the time stands.
    pub(super) fn add(
        &mut self,
        (month, day, hour): (u8, u8, u8),
        values: &Hour,
        place: &Field<'_>,
    ) -> Result<(), ReadError> {
        let stated = || format!("{month:02}-{day:02} {hour:02}:00");
        let known = (1..=12).contains(&month)
            && (1..=24).contains(&hour)
            && day >= 1
            && u16::from(day) <= DAYS_IN_MONTH[usize::from(month - 1)] + u16::from(month == 2);
        if !known {
            return Err(place.error(Fault::NotADate(stated())));
        }
        if (month, day) == (2, 29) {
            return Ok(());
        }
        let m = usize::from(month - 1);
        let index = usize::from(first_day_of_month(m)) + usize::from(day) - 2;
        let of_day = &mut self.days[index];
        let bit = 1_u32 << (hour - 1);
        if of_day.hours & bit != 0 {
            return Err(place.error(Fault::Duplicate(format!("the hour {}", stated()))));
        }
        of_day.hours |= bit;
        self.found += 1;
        if let Some(t) = values.temperature_c {
            of_day.highest = of_day.highest.max(t);
            of_day.lowest = of_day.lowest.min(t);
            of_day.temperatures += 1;
        } else {
            self.no_temperature.0 += 1;
            self.no_temperature.1.get_or_insert_with(stated);
        }
        self.humidity[m].add(values.humidity_pct);
        self.extraterrestrial[m].add(values.extraterrestrial_wh);
        self.global[m].add(values.global_wh);
        self.wind[m].add(values.wind_m_s);
        self.rain[m].add(values.rain_mm);
        self.wet_hours += u32::from(values.rain_mm.is_some_and(|mm| mm > 0.0));
        Ok(())
    }

    /// Refuses a year with hours missing, at the last line of the file, else writes the months into a
    /// table; `unit` is what the file's figures of rain are in.
    pub(super) fn finish(
        self,
        table: &mut ClimateTable,
        last_line: u64,
        unit: RainUnit,
    ) -> Result<(), ReadError> {
        if let Some(fault) = self.gap() {
            return Err(ReadError::at(last_line, Some(1), fault));
        }
        table.notes.push(Note::TypicalYear);
        if let (count, Some(first)) = &self.no_temperature {
            table.notes.push(Note::HoursWithoutTemperature { count: *count, first: first.clone() });
        }
        let (mut highest, mut lowest, mut hot) = ([None; 12], [None; 12], [None; 12]);
        let mut start = 0;
        for (m, length) in DAYS_IN_MONTH.iter().enumerate() {
            let end = start + usize::from(*length);
            let days = &self.days[start..end];
            if days.iter().all(|d| d.temperatures == 24) {
                let n = f64::from(*length);
                highest[m] = month_value(days.iter().map(|d| d.highest).sum::<f64>() / n);
                lowest[m] = month_value(days.iter().map(|d| d.lowest).sum::<f64>() / n);
                let count = days.iter().fold(0_u16, |c, d| c + u16::from(d.highest > HOT_C));
                hot[m] = month_value(f64::from(count));
            }
            start = end;
        }
        table.tmax_c = highest;
        table.tmin_c = lowest;
        table.hot_days = hot;
        table.rh_pct = means(&self.humidity, 1.0);
        table.wind_m_s = means(&self.wind, 1.0);
        table.wind_height_m = table.wind_m_s.iter().any(Option::is_some).then_some(WIND_HEIGHT_M);
        table.solar_mj_m2_d = means(&self.global, 24.0 * MJ_PER_WH);
        table.extraterrestrial_mj_m2_d = means(&self.extraterrestrial, 24.0 * MJ_PER_WH);
        self.rain(table, unit);
        for (name, series) in [
            ("relative humidity", &table.rh_pct),
            ("wind", &table.wind_m_s),
            ("solar radiation", &table.solar_mj_m2_d),
        ] {
            if series.iter().all(Option::is_none) {
                table.notes.push(Note::SeriesMissing(name));
            }
        }
        Ok(())
    }

    fn gap(&self) -> Option<Fault> {
        let index = self.days.iter().position(|d| d.hours.count_ones() < 24)?;
        let (mut month, mut day) = (0, index);
        while day >= usize::from(DAYS_IN_MONTH[month]) {
            day -= usize::from(DAYS_IN_MONTH[month]);
            month += 1;
        }
        let hour = self.days[index].hours.trailing_ones() + 1;
        Some(Fault::Incomplete {
            hours: self.found,
            first_missing: format!("{:02}-{:02} {hour:02}:00", month + 1, day + 1),
        })
    }

    /// Rain counts only where every hour has a value of its own, enough of them wet; a month without any
    /// beside wet ones stays empty.
    fn rain(&self, table: &mut ClimateTable, unit: RainUnit) {
        let whole = self.rain.iter().zip(DAYS_IN_MONTH).all(|(s, d)| s.count == u32::from(d) * 24);
        if !whole || self.wet_hours < FEWEST_WET_HOURS {
            table.notes.push(Note::RainNotRecorded);
            return;
        }
        let share = match unit {
            RainUnit::Millimetres => 1.0,
            RainUnit::Tenths => {
                table.notes.push(Note::RainInTenths);
                0.1
            }
            RainUnit::Unclear => {
                table.notes.push(Note::RainUnitUnclear);
                return;
            }
        };
        let mm = self.rain.map(|sum| sum.total * share);
        let doubted = dry_beside_wet(&mm);
        table.precip_mm = std::array::from_fn(|m| month_value(mm[m]).filter(|_| !doubted.contains(&(m + 1))));
        table.notes.push(Note::RainOfTypicalYear);
        if !doubted.is_empty() {
            table.notes.push(Note::MonthsWithoutRain(doubted));
        }
    }
}

/// What the figures of rain in a file are in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RainUnit {
    /// Millimetres, as the format says.
    Millimetres,
    /// Tenths of a millimetre, against the heading.
    Tenths,
    /// Neither can be made out.
    Unclear,
}

/// Refuses more rain than an hour can bring. `hours` are those that the figure covers, which the
/// formats state beside it; `mm` is what stands in `field`, brought to mm.
pub(super) fn refuse_flood(field: &Field<'_>, name: &str, mm: f64, hours: u8) -> Result<(), ReadError> {
    if mm <= MOST_RAIN_MM * f64::from(hours) {
        return Ok(());
    }
    let fault = Fault::RainOfAnHour { value: field.text.to_owned(), mm, hours };
    Err(field.error(fault).in_field(name))
}

/// Hours that a figure of rain covers; one where the file does not say, or says nonsense.
pub(super) fn hours_covered(field: &Field<'_>) -> u8 {
    let stated = field.number().ok().flatten().filter(|hours| (1.0..=24.0).contains(hours));
    // within 1 to 24 by the filter
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    stated.map_or(1, |hours| hours.round() as u8)
}

fn month_value(value: f64) -> Option<MonthValue> {
    Some(MonthValue { value, years: Some(1), flag: None })
}

/// Months from 1 without a wet hour in a year whose wet months are wet enough to doubt it; a desert has
/// such months and is dry in the others too.
fn dry_beside_wet(mm: &[f64; 12]) -> Vec<usize> {
    let (total, wet) = mm.iter().filter(|mm| **mm > 0.0).fold((0.0, 0.0), |(t, n), mm| (t + mm, n + 1.0));
    let is_wet_elsewhere = total >= WET_ENOUGH_MM * f64::max(wet, 1.0);
    (1..=12).filter(|month| is_wet_elsewhere && mm[month - 1] == 0.0).collect()
}

/// Monthly means times a factor; a month with more than a twentieth of its hours missing has none.
fn means(sums: &[Sum; 12], factor: f64) -> Series {
    std::array::from_fn(|m| {
        let hours = u32::from(DAYS_IN_MONTH[m]) * 24;
        let enough = sums[m].count * 20 >= hours * 19;
        if enough { month_value(sums[m].total / f64::from(sums[m].count) * factor) } else { None }
    })
}
