//! The days that drive a site's soil-water balance: those of a station's record where the climate
//! file has them, else days made from the monthly figures.

use super::climate::DailyRecord;
use super::daily_weather::DailyWeather;
use super::evapotranspiration::hargreaves_samani;
use super::facts::{SiteFacts, Workbench};
use super::file::SiteFile;
use super::rain_pattern::{DAYS, DEFAULT_SEED};
use super::solar::{DAYS_IN_MONTH, Monthly, extraterrestrial_radiation};
use super::water_balance::KeptRuns;
use crate::knowledge::Knowledge;
use crate::units::quantity::{Celsius, Degrees};

/// Years of weather made from monthly figures.
const YEARS_MADE: usize = 10;
/// Years of weather made from rain that is only supposed.
const YEARS_SUPPOSED: usize = 5;
/// Fewest whole years of record that the balance runs on.
const FEWEST_YEARS: usize = 3;
/// Fewest years that tell of a drought of one year in ten.
const YEARS_THAT_TELL: usize = 10;

/// Daily weather of a site and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteWeather {
    /// Demand and rain of every day; where the rain of the site is not known, the days of each year
    /// of rain that is plausible.
    pub days: Vec<DailyWeather>,
    /// Years, method and seed, for the answer.
    pub words: String,
    /// Runs of the balance over these days.
    pub kept: KeptRuns,
}

impl SiteWeather {
    fn new(days: Vec<DailyWeather>, words: String) -> Self {
        Self { days, words, kept: KeptRuns::default() }
    }
}

/// The weather of a site; without ET0 of the twelve months there is none.
pub fn site_weather(site: &SiteFile, facts: &SiteFacts, knowledge: &Knowledge) -> Option<SiteWeather> {
    let bench = Workbench::new(knowledge, facts.clone());
    let mm = |months: [f64; 12]| months.map(|metres| metres * 1000.0);
    let et0_mm = mm(bench.months("et0_mm")?);
    let et0_mm_day = std::array::from_fn(|month| et0_mm[month] / f64::from(DAYS_IN_MONTH[month]));
    let Some(rain_mm) = bench.months("precip_mm").map(mm) else {
        let plausible = bench.plausible("precip_mm").iter().filter_map(|rain| rain.as_months().copied());
        return supposed(&et0_mm_day, plausible.map(mm));
    };
    let file = site.from_climate.as_ref();
    let own = |name| bench.position(name).is_some_and(|at| !file.is_some_and(|f| f.filled.contains(&at)));
    let own_rain = own("precip_mm");
    if let Some(record) = file.and_then(|file| file.daily.as_ref())
        && record.years.len() >= FEWEST_YEARS
        && let Some(latitude) = bench.number("latitude_deg")
        && let Some(days) = recorded(record, Degrees(latitude), &et0_mm, own_rain.then_some(&rain_mm))
    {
        return Some(SiteWeather::new(vec![days], recorded_words(record, own_rain)));
    }
    // a station's days with rain say nothing of rain that is not the station's
    let wet_days = bench.months("wet_days").filter(|_| own("wet_days") || !own_rain);
    let days = DailyWeather::from_normals(&et0_mm_day, &rain_mm, wet_days.as_ref(), YEARS_MADE, DEFAULT_SEED)
        .ok()?;
    let words = made_words(file.and_then(|file| file.daily.as_ref()), wet_days.is_some());
    Some(SiteWeather::new(vec![days], words))
}

/// Days of years of rain that are only supposed; `None` where nothing may be supposed.
fn supposed(et0_mm_day: &Monthly, rains_mm: impl Iterator<Item = Monthly>) -> Option<SiteWeather> {
    let made = |rain_mm: Monthly| {
        DailyWeather::from_normals(et0_mm_day, &rain_mm, None, YEARS_SUPPOSED, DEFAULT_SEED).ok()
    };
    let days: Vec<_> = rains_mm.map(made).collect::<Option<_>>()?;
    let words = format!(
        "daily soil-water balance (FAO-56 chapter 8) over {YEARS_SUPPOSED} years of each rain that is tried, the rain of the site not being known"
    );
    (!days.is_empty()).then(|| SiteWeather::new(days, words))
}

fn made_words(record: Option<&DailyRecord>, wet_days_known: bool) -> String {
    let mut words = format!(
        "daily soil-water balance (FAO-56 chapter 8) over {YEARS_MADE} years of weather made from the monthly figures by a seeded pattern of rain (seed {DEFAULT_SEED}); the drought of the worst single years is understated"
    );
    if wet_days_known {
        words.push_str("; on as many days with rain as are stated");
    }
    if let Some(record) = record {
        words.push_str(&format!("; the station's own days are too few ({})", record.words()));
    }
    words
}

fn recorded_words(record: &DailyRecord, own_rain: bool) -> String {
    let mut words = format!(
        "daily soil-water balance (FAO-56 chapter 8) over the station's own days ({}); demand of each day by Hargreaves-Samani, brought to the ET0 of the months",
        record.words()
    );
    if own_rain {
        words.push_str("; rain brought to the months of the site file");
    }
    if record.rain_taken_as_dry > 0 {
        words.push_str(&format!("; {} days without a report of rain count as dry", record.rain_taken_as_dry));
    }
    if record.years.len() < YEARS_THAT_TELL {
        words.push_str("; so few years tell little of a drought of one year in ten");
    }
    words
}

/// The record's days, their demand brought month by month to the site's mean ET0 and, where the
/// site file states rain of its own, their rain to that.
fn recorded(
    record: &DailyRecord,
    latitude: Degrees,
    et0_mm: &Monthly,
    rain_mm: Option<&Monthly>,
) -> Option<DailyWeather> {
    let outer: Vec<_> = (1..=365).map(|day| extraterrestrial_radiation(latitude, day)).collect();
    let temperatures = record.tmax_c.iter().zip(&record.tmin_c);
    let mut et0: Vec<f64> = temperatures
        .enumerate()
        .map(|(day, (high, low))| {
            hargreaves_samani(Celsius(*high), Celsius(*low), outer[day % DAYS]).0.max(0.0)
        })
        .collect();
    bring_to(&mut et0, et0_mm);
    let mut rain = record.rain_mm.clone();
    if let Some(rain_mm) = rain_mm {
        bring_to(&mut rain, rain_mm);
    }
    DailyWeather::from_records(et0, rain).ok()
}

/// Scales days so that the mean of each month over the years is the one wanted. A month of nothing
/// but zeros is spread evenly.
fn bring_to(days: &mut [f64], months: &Monthly) {
    let years = days.len() / DAYS;
    let mut start = 0;
    for (wanted, length) in months.iter().zip(DAYS_IN_MONTH) {
        let length = usize::from(length);
        let of_month = |year: usize| year * DAYS + start..year * DAYS + start + length;
        let total: f64 = (0..years).flat_map(|year| days[of_month(year)].iter()).sum();
        let wanted = wanted * years as f64;
        for year in 0..years {
            for value in &mut days[of_month(year)] {
                *value = if total > 0.0 { *value * wanted / total } else { wanted / (years * length) as f64 };
            }
        }
        start += length;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two invented years: the second is dry in July.
    fn record() -> DailyRecord {
        let mut rain_mm = vec![2.0; 2 * DAYS];
        rain_mm[DAYS + 181..DAYS + 212].fill(0.0);
        DailyRecord {
            years: vec![2001, 2002],
            left_out: 1,
            tmax_c: vec![25.0; 2 * DAYS],
            tmin_c: vec![12.0; 2 * DAYS],
            rain_mm,
            temperatures_filled: 0,
            rain_taken_as_dry: 3,
        }
    }

    #[test]
    fn recorded_days_keep_the_sites_months_and_their_own_droughts() {
        let et0 = [50.0, 60.0, 90.0, 120.0, 140.0, 150.0, 155.0, 140.0, 110.0, 80.0, 60.0, 50.0];
        let days = recorded(&record(), Degrees(40.0), &et0, None).unwrap();
        assert_eq!(days.years(), 2);
        for year in 0..2 {
            let july: f64 = days.et0_of_year(year)[181..212].iter().sum();
            assert!((july - 155.0).abs() < 1e-9, "{july}");
        }
        assert_eq!(days.rain_mm()[DAYS + 181..DAYS + 212], [0.0; 31]);
        assert_eq!(days.rain_mm()[0], 2.0);
        // rain of the site file: 31 mm a July on the mean, all of it in the first year
        let days = recorded(&record(), Degrees(40.0), &et0, Some(&[31.0; 12])).unwrap();
        assert!((days.rain_mm()[181] - 2.0).abs() < 1e-9);
        assert!((days.rain_mm()[0] - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_words_name_the_years_and_what_was_supposed() {
        let words = recorded_words(&record(), true);
        for part in
            ["2 years, 2001 to 2002 without 1 of too many gaps", "3 days", "site file", "so few years"]
        {
            assert!(words.contains(part), "{words}");
        }
        let made = made_words(None, false);
        assert!(made.contains(&format!("seed {DEFAULT_SEED}")) && made.contains("10 years"), "{made}");
        assert!(made_words(Some(&record()), false).contains("too few (2 years"));
        assert!(!made.contains("as are stated") && made_words(None, true).contains("as are stated"));
    }
}
