//! The climate file that a site file names: its normals fill what the site file itself leaves out.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

use super::climate::check::{self, check};
use super::climate::normals::complete;
use super::climate::{
    ClimateTable, DailyRecord, Fault, Note, ReadError, ReadOptions, Series, Station, read_climate,
    survey_climate,
};
use super::file::SiteFile;
use super::nearest::{
    FARTHEST_KM, GREATEST_HEIGHT_M, LAPSE_K_PER_M, SAME_HEIGHT_M, TEMPERATURES, correction_words,
    distance_km, height_words,
};
use super::read_ahead::ReadAhead;
use crate::diag::{Finding, Findings, Place};
use crate::engine::facts::Origin;
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::units::UnitSystem;

/// A station farther from the site than this is worth a warning, km.
const STATION_FAR_KM: f64 = 100.0;
/// So is one with a greater difference of height, m: by then the air is some 2 K colder or warmer.
const STATION_FAR_M: f64 = 300.0;

/// Places this close across the equator share their seasons, such as they are, degrees of latitude.
const SAME_SIDE_DEG: f64 = 5.0;

/// What a climate file gave to a site.
#[derive(Clone, Debug)]
pub struct FromClimateFile {
    /// Positions of the facts that it filled.
    pub filled: Vec<usize>,
    /// The file, its station and its years, in words.
    pub words: String,
    /// Distance and height of the station against the site, where both are stated.
    pub stands: Option<String>,
    /// How temperatures were brought to the height of the site, and which facts those are.
    pub corrected: Option<(String, Vec<usize>)>,
    /// The days of the station's whole years, where the file has them, at the height of the site.
    pub daily: Option<DailyRecord>,
}

impl FromClimateFile {
    /// How a fact from the file was come by.
    #[must_use]
    pub fn origin_of(&self, index: usize) -> Origin {
        let mut words = self.words.clone();
        if let Some(stands) = &self.stands {
            words.push_str(&format!("; {stands}"));
        }
        if let Some((correction, temperatures)) = &self.corrected
            && temperatures.contains(&index)
        {
            words.push_str(&format!("; temperatures {correction}, 6.5 K/km of the standard atmosphere"));
        }
        Origin::Read(words)
    }
}

/// What messages call standard input.
pub const STDIN_NAME: &str = "<standard input>";

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
    let shown = path.display();
    let mut message = shown.to_string();
    if error.line > 0 {
        message.push_str(&format!(":{}", error.line));
        message.push_str(&error.column.map(|column| format!(":{column}")).unwrap_or_default());
    }
    message.push_str(": ");
    message.push_str(&error.field.as_ref().map(|field| format!("`{field}`: ")).unwrap_or_default());
    let named = shown.to_string();
    // a command to type names a file
    let shown = if named == STDIN_NAME { "FILE" } else { &named };
    let help = match &error.fault {
        Fault::UnitsNotStated | Fault::DecimalAmongTenths(_) => Some(format!(
            "under [climate] of a site file, `file_units = \"us\"` (degF and inches), \"si\" or \"tenths\" states them; or keep the result: `swardwright climate read {shown} --units us --format csv --output normals.csv`"
        )),
        Fault::Packed("packed with gzip") => Some(format!("unpack it first: `gunzip --keep {shown}`")),
        _ => None,
    };
    Finding::bare("climate-file", format!("{message}{}", error.fault)).maybe_help(help)
}

/// Reads a climate file by its path.
pub fn read_climate_file(path: &Path, options: &ReadOptions) -> Result<ClimateTable, Findings> {
    read_climate_stream(path, open(path)?, options)
}

/// Reads a climate file from a stream, under the name that findings give it.
pub fn read_climate_stream(
    name: &Path,
    source: impl BufRead,
    options: &ReadOptions,
) -> Result<ClimateTable, Findings> {
    read_climate(source, options).map_err(|error| vec![finding(name, &error)])
}

/// Reads a climate file by its path for a check: values that no place on earth has are gathered in the table.
pub fn survey_climate_file(path: &Path, options: &ReadOptions) -> Result<ClimateTable, Findings> {
    survey_climate_stream(path, open(path)?, options)
}

/// Reads a climate file for a check from a stream, under the name that findings give it.
pub fn survey_climate_stream(
    name: &Path,
    source: impl BufRead,
    options: &ReadOptions,
) -> Result<ClimateTable, Findings> {
    survey_climate(source, options).map_err(|error| vec![finding(name, &error)])
}

/// Fills what the site file leaves out from the climate file that it names, if it names one. The
/// name is taken from the folder of the site file.
pub fn fill(site: &mut SiteFile, knowledge: &Knowledge, ahead: Option<ReadAhead>, findings: &mut Findings) {
    let Some((name, place)) = site.climate_file.clone() else { return };
    let path = beside(&site.place.source.path, &name);
    let units = site.file_units.as_ref().map(|(units, _)| *units);
    let read = match ahead.and_then(|ahead| ahead.of_file(&path, units)) {
        Some(read) => read,
        None => match open(&path) {
            Ok(stream) => read_climate(stream, &ReadOptions { units, years: None }),
            Err(faults) => {
                let help = "a climate file is named from the folder of the site file";
                let here = |fault: Finding| Finding { place: Some(place.clone()), ..fault }.help(help);
                findings.extend(faults.into_iter().map(here));
                return;
            }
        },
    };
    let mut table = match read {
        Ok(table) => table,
        Err(error) => {
            // units that the file will not take are no fault of the file
            let units =
                site.file_units.as_ref().filter(|_| matches!(error.fault, Fault::NotForFormat { .. }));
            let fault = finding(&path, &error);
            findings.push(match units {
                Some((_, at)) => Finding { place: Some(at.clone()), ..fault }.help("leave `file_units` out"),
                None => Finding { place: Some(place), ..fault },
            });
            return;
        }
    };
    let shown = path.display().to_string();
    let mut remarks = judge(&table, &shown, &place, site, knowledge, findings);
    let station = Standing::of(site, knowledge, &table.station);
    if let Some(words) = station.too_far() {
        let help = format!(
            "within {FARTHEST_KM:.0} km and {GREATEST_HEIGHT_M:.0} m of height one would do; name a station nearer by, or give the twelve months; a sign of latitude or longitude may be wrong"
        );
        let message = format!("{shown}: {words}");
        findings.push(Finding::error("station-too-far", &place, message).help(help));
        return;
    }
    let warmer = station.warmer();
    bring_to_the_site(&mut table, warmer.unwrap_or(0.0));
    let filled = take(site, &table, knowledge, (&shown, &place), findings);
    let temperatures: Vec<usize> = TEMPERATURES
        .iter()
        .filter_map(|id| Some(knowledge.vocabulary.slot(id)?.index))
        .filter(|index| filled.contains(index))
        .collect();
    let corrected = warmer
        .zip(station.higher)
        .filter(|_| !temperatures.is_empty())
        .map(|(warmer, higher)| (correction_words(warmer, higher), temperatures));
    remarks.extend(station.far(corrected.as_ref().map(|(words, _)| words.as_str())));
    if !remarks.is_empty() {
        let message = format!("{shown}: {}", remarks.join("; "));
        findings.push(Finding::error("climate-remarks", &place, message).as_warning());
    }
    check_temperatures(site, knowledge, &filled, &place, findings);
    let words = words(&name, &table);
    let stands = station.words();
    site.from_climate = Some(FromClimateFile { filled, words, stands, corrected, daily: table.daily });
}

/// Brings all temperatures of a table, its days among them, to the height of the site; everything that
/// is worked out of them (frosts, degree days, the demand of each day) then is of that height.
fn bring_to_the_site(table: &mut ClimateTable, warmer: f64) {
    if warmer == 0.0 {
        return;
    }
    for month in table.tmax_c.iter_mut().chain(&mut table.tmin_c).flatten() {
        month.value += warmer;
    }
    if let Some(extreme) = &mut table.extreme_min {
        extreme.mean_c += warmer;
        extreme.lowest_c += warmer;
    }
    if let Some(record) = &mut table.daily {
        record.tmax_c.iter_mut().chain(&mut record.tmin_c).for_each(|day| *day += warmer);
    }
}

/// Whether the table may be used; what is only worth a word comes back.
fn judge(
    table: &ClimateTable,
    shown: &str,
    place: &Place,
    site: &SiteFile,
    knowledge: &Knowledge,
    findings: &mut Findings,
) -> Vec<String> {
    let given =
        |id: &str| knowledge.vocabulary.slot(id).is_some_and(|slot| site.values[slot.index].is_some());
    let unneeded = |series: &str| match series {
        "mean daily maximum" => given("site.tmax_c"),
        "mean daily minimum" => given("site.tmin_c"),
        "precipitation" => given("site.precip_mm"),
        _ => false,
    };
    let plain =
        |note: &&Note| !matches!(note, Note::QualityDropped(_) | Note::Traces(_) | Note::RoundedToZero(_));
    // whoever states the rain has answered it
    let open = |note: &&Note| {
        !matches!(note, Note::MonthsWithoutRain(_) | Note::NoRainAtAll) || !given("site.precip_mm")
    };
    let mut remarks: Vec<String> =
        table.notes.iter().filter(plain).filter(open).map(ToString::to_string).collect();
    for found in check(table) {
        match &found {
            check::Finding::Gap { series, .. } if unneeded(series) => {}
            // the notes tell it
            check::Finding::FewYears { .. } => {}
            check::Finding::Gap { series, months } if found.is_fault() => {
                let months: Vec<String> = months.iter().map(ToString::to_string).collect();
                let message = format!("{shown}: {series} has no value in month {}", months.join(", "));
                findings.push(Finding::error("climate-incomplete", place, message));
            }
            _ if found.is_fault() => {
                findings.push(Finding::error("climate-impossible", place, format!("{shown}: {found}")));
            }
            _ => remarks.push(found.to_string()),
        }
    }
    if let Some(extreme) = table.extreme_min.filter(|extreme| !extreme.is_usable()) {
        remarks.push(format!(
            "the lowest temperatures of {} year{} are too few for a mean annual extreme minimum",
            extreme.years,
            if extreme.years == 1 { "" } else { "s" }
        ));
    }
    remarks
}

/// How a station stands to the site.
struct Standing {
    /// Whether the site file states where the site is, and the climate file not where the station is.
    nowhere: bool,
    /// Latitudes of the site and of the station on two sides of the equator.
    across: Option<(f64, f64)>,
    /// Distance, km, where both positions are known.
    km: Option<f64>,
    /// How much higher the station lies than the site, m, where both heights are known.
    higher: Option<f64>,
}

impl Standing {
    /// Before the file fills anything, so that only what the site file itself states is compared.
    fn of(site: &SiteFile, knowledge: &Knowledge, station: &Station) -> Self {
        let given = |id: &str| site.values[knowledge.vocabulary.slot(id)?.index].as_ref()?.0.as_number();
        let latitudes = given("site.latitude_deg").zip(station.latitude_deg);
        let longitudes = given("site.longitude_deg").zip(station.longitude_deg);
        // without the longitudes the way along the meridian is the least that it can be
        let km = latitudes.map(|(own, other)| {
            let (own_east, other_east) = longitudes.unwrap_or((0.0, 0.0));
            distance_km((own, own_east), (other, other_east))
        });
        Self {
            nowhere: given("site.latitude_deg").is_some() && station.latitude_deg.is_none(),
            across: latitudes.filter(|(own, other)| own * other < 0.0 && (own - other).abs() > SAME_SIDE_DEG),
            km,
            higher: given("site.elevation_m").zip(station.elevation_m).map(|(own, station)| station - own),
        }
    }

    /// Why the station is of another climate; the limits are those of a place of the gazetteer.
    fn too_far(&self) -> Option<String> {
        if let Some((own, other)) = self.across {
            return Some(format!(
                "the station at latitude {other} and the site at {own} lie on two sides of the equator"
            ));
        }
        let far = self.km.is_some_and(|km| km > FARTHEST_KM);
        let high = self.higher.is_some_and(|higher| higher.abs() > GREATEST_HEIGHT_M);
        (far || high).then(|| format!("the station is not near enough: {}", self.words().unwrap_or_default()))
    }

    /// What temperatures of the station change by on the way to the height of the site, K.
    fn warmer(&self) -> Option<f64> {
        self.higher.filter(|higher| higher.abs() >= SAME_HEIGHT_M).map(|higher| higher * LAPSE_K_PER_M)
    }

    /// Distance and difference of height; nothing where neither is known to be missed.
    fn words(&self) -> Option<String> {
        if self.nowhere {
            let height = self.higher.map(|higher| format!(", {}", height_words(Some(higher))));
            return Some(format!(
                "the file does not say where the station stands, so how far away it is nobody checked{}",
                height.unwrap_or_default()
            ));
        }
        let km = self.km.map(|km| format!("{km:.0} km away"));
        let height = (km.is_some() || self.higher.is_some()).then(|| height_words(self.higher));
        let parts: Vec<String> = [km, height].into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    /// What is worth a warning of a station that will do.
    fn far(&self, correction: Option<&str>) -> Option<String> {
        let far = self.km.is_some_and(|km| km > STATION_FAR_KM);
        let high = self.higher.is_some_and(|higher| higher.abs() > STATION_FAR_M);
        if !far && !high {
            return None;
        }
        let taken = correction.map(|words| format!(", its temperatures taken {words}")).unwrap_or_default();
        Some(format!(
            "the station lies {}{taken}: local ground may differ by some degrees, and rain may differ most in hills",
            self.words().unwrap_or_default()
        ))
    }
}

pub(super) fn beside(site_path: &str, name: &str) -> PathBuf {
    match Path::new(site_path).parent() {
        Some(folder) if Path::new(name).is_relative() => folder.join(name),
        _ => PathBuf::from(name),
    }
}

/// Name, station and years.
fn words(name: &str, table: &ClimateTable) -> String {
    let mut words = format!("from {name} ({})", table.format.name());
    if let Some(station) = table.station.words() {
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

enum Figure {
    Number(f64),
    Months([f64; 12]),
}

/// What a table gives, under the facts of a site and in their units.
fn figures(table: &ClimateTable) -> impl Iterator<Item = (&'static str, Figure)> {
    let months = |id, series: &Series| Some((id, Figure::Months(complete(series)?)));
    let number = |id, value: Option<f64>| Some((id, Figure::Number(value?)));
    let extreme = table.extreme_min.filter(|extreme| extreme.is_usable());
    [
        months("site.tmax_c", &table.tmax_c),
        months("site.tmin_c", &table.tmin_c),
        months("site.precip_mm", &table.precip_mm),
        months("site.wet_days", &table.wet_days),
        months("site.solar_mj_m2_d", &table.solar_mj_m2_d),
        table.wind_2m().map(|wind| ("site.wind_m_s", Figure::Months(wind))),
        months("site.rh_pct", &table.rh_pct),
        number("site.extreme_min_c", extreme.map(|extreme| extreme.mean_c)),
        number("site.latitude_deg", table.station.latitude_deg),
        number("site.longitude_deg", table.station.longitude_deg),
        number("site.elevation_m", table.station.elevation_m),
    ]
    .into_iter()
    .flatten()
}

/// Enters the figures, in the bases of their units, where the site file gives none, and holds them
/// against the limits of the vocabulary.
fn take(
    site: &mut SiteFile,
    table: &ClimateTable,
    knowledge: &Knowledge,
    (shown, place): (&str, &Place),
    findings: &mut Findings,
) -> Vec<usize> {
    let mut filled = Vec::new();
    for (id, figure) in figures(table) {
        let Some(slot) = knowledge.vocabulary.slot(id) else { continue };
        let declaration = &knowledge.vocabulary.site[slot.index];
        let Some(unit) = declaration.kind.unit().filter(|_| site.values[slot.index].is_none()) else {
            continue;
        };
        let value = match figure {
            Figure::Number(number) => Value::Number(unit.to_base(number)),
            Figure::Months(months) => Value::Months(months.map(|month| unit.to_base(month)).into()),
        };
        let numbers =
            value.as_months().map_or_else(|| value.as_number().into_iter().collect(), |m| m.to_vec());
        if let Some((low, high)) = declaration.allowed
            && let Some(odd) = numbers.iter().find(|own| !(low - 1e-9..=high + 1e-9).contains(*own))
        {
            let write = |base| UnitSystem::Si.write(base, unit);
            let allowed = UnitSystem::Si.write_range(low, high, unit);
            let message =
                format!("{shown}: {} is {}, outside the allowed {allowed}", declaration.meaning, write(*odd));
            findings.push(Finding::error("out-of-range", place, message));
            continue;
        }
        site.values[slot.index] = Some((value, place.clone()));
        filled.push(slot.index);
    }
    filled
}

/// The maxima of the site file over minima that were filled in, or the other way round.
pub(super) fn check_temperatures(
    site: &SiteFile,
    knowledge: &Knowledge,
    filled: &[usize],
    place: &Place,
    findings: &mut Findings,
) {
    let months = |id: &str| {
        let index = knowledge.vocabulary.slot(id)?.index;
        Some((index, site.values[index].as_ref()?.0.as_months()?))
    };
    if let (Some((high_at, high)), Some((low_at, low))) = (months("site.tmax_c"), months("site.tmin_c"))
        && filled.contains(&high_at) != filled.contains(&low_at)
        && let Some(month) = (0..12).find(|month| high[*month] < low[*month])
    {
        let message = format!(
            "in month {} the mean maximum is below the mean minimum: one of them is given, the other was filled in from here",
            month + 1
        );
        findings.push(Finding::error("maximum-below-minimum", place, message));
    }
}
