//! Climate normals as a fragment of a site file and as a plain table, and what a check finds.

use std::fmt::Write;

use super::climate_details::details;
use super::climate_remarks::Remarks;
use crate::site::climate::check::check;
use crate::site::climate::normals::complete;
use crate::site::climate::{ClimateTable, ExtremeMinimum, MonthValue, Series};
use crate::site::et0_bias::expectation;
use crate::site::et0_monthly::{Choice, Et0Inputs, monthly_et0};
use crate::site::solar::Monthly;
use crate::units::format_number;
use crate::units::quantity::{Degrees, Metres};

/// The series that are written, with the keys of a site file; the wind is at the table's height.
fn series(table: &ClimateTable) -> [(&'static str, &Series); 7] {
    [
        ("tmax_c", &table.tmax_c),
        ("tmin_c", &table.tmin_c),
        ("precip_mm", &table.precip_mm),
        ("wet_days", &table.wet_days),
        ("solar_mj_m2_d", &table.solar_mj_m2_d),
        ("wind_m_s", &table.wind_m_s),
        ("rh_pct", &table.rh_pct),
    ]
}

/// Sections `[place]` and `[climate]` for a site file; what is incomplete stands as a remark.
pub fn climate_toml(table: &ClimateTable) -> String {
    let mut text = format!("# {}\n", table.format.name());
    if let Some(name) = table.station.words() {
        let _ = writeln!(text, "# station {name}");
    }
    if let Some((first, last)) = table.period {
        let _ = writeln!(text, "# years {first} to {last}");
    }
    for note in &table.notes {
        let _ = writeln!(text, "# {note}");
    }
    let remarks = Remarks::of(table);
    for (word, list) in [("fault", &remarks.faults), ("note", &remarks.notes)] {
        for words in list {
            let _ = writeln!(text, "# {word}: {words}");
        }
    }
    if let Some(words) = days_not_kept(table) {
        let _ = writeln!(text, "# {words}");
    }
    let place: String = position(table).iter().map(|(key, value)| format!("{key} = {value}\n")).collect();
    if !place.is_empty() {
        let _ = write!(text, "[place]\n{place}\n");
    }
    text.push_str("[climate]\n");
    for (key, series) in series(table) {
        let known = series.iter().flatten().count();
        let years: Vec<u16> = series.iter().flatten().filter_map(|month| month.years).collect();
        let years = match (years.iter().min(), years.iter().max()) {
            (Some(least), Some(most)) if least < most => format!("   # {least} to {most} years a month"),
            (Some(only), _) => format!("   # {only} year{}", if *only == 1 { "" } else { "s" }),
            _ => String::new(),
        };
        match known {
            0 => {}
            12 => {
                let numbers: Vec<String> =
                    series.iter().flatten().map(|month| rounded(month.value)).collect();
                let height = table.wind_height_m.filter(|height| key == "wind_m_s" && *height != 2.0);
                if let (Some(height), Some(wind)) = (height, table.wind_2m()) {
                    let wind = wind.map(rounded).join(", ");
                    let _ = writeln!(
                        text,
                        "{key} = [{wind}]   # brought from {height} m to 2 m above the ground (FAO-56 eq 47)"
                    );
                } else {
                    let _ = writeln!(text, "{key} = [{}]{years}", numbers.join(", "));
                }
            }
            _ => {
                let _ = writeln!(text, "# {key}: only {known} of 12 months are known");
            }
        }
    }
    if let Some(extreme) = table.extreme_min {
        let _ = writeln!(
            text,
            "{}extreme_min_c = {}{}",
            unless_usable(&extreme),
            rounded(extreme.mean_c),
            over_years(&extreme)
        );
    }
    text
}

/// What is lost of a station's own days where twelve months are written, in one line; `None` where
/// the file has no whole year of days.
#[must_use]
pub fn days_not_kept(table: &ClimateTable) -> Option<String> {
    let record = table.daily.as_ref()?;
    Some(format!(
        "the station's own days ({}) are not kept in this table: name the station's file itself for a soil-water balance on them, and for frosts and hot days counted in them",
        record.words()
    ))
}

/// Position and height, under the keys of a site file.
fn position(table: &ClimateTable) -> Vec<(&'static str, f64)> {
    let station = &table.station;
    let known = [
        ("latitude_deg", station.latitude_deg),
        ("longitude_deg", station.longitude_deg),
        ("elevation_m", station.elevation_m),
    ];
    known.into_iter().filter_map(|(key, value)| Some((key, value?))).collect()
}

/// A mean of too few years is written as a remark only.
fn unless_usable(extreme: &ExtremeMinimum) -> &'static str {
    if extreme.is_usable() { "" } else { "# too few years: " }
}

fn over_years(extreme: &ExtremeMinimum) -> String {
    match extreme.years {
        0 => String::new(),
        1 => "   # of one year".to_owned(),
        years => format!("   # mean of {years} years"),
    }
}

/// A plain table of twelve months; an unknown value is an empty cell. Wind is brought to 2 m. What
/// holds for the whole table stands on every row.
pub fn climate_csv(table: &ClimateTable) -> String {
    let at_2m =
        table.wind_2m().map(|months| months.map(|value| Some(MonthValue { value, years: None, flag: None })));
    let at_2m = at_2m.unwrap_or([None; 12]);
    let columns: Vec<(&str, &Series)> = series(table)
        .into_iter()
        .map(|(name, series)| (name, if name == "wind_m_s" { &at_2m } else { series }))
        .filter(|(_, series)| series.iter().any(Option::is_some))
        .collect();
    let mut names: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
    let mut constant: Vec<String> = Vec::new();
    for (key, value) in position(table) {
        names.push(key);
        constant.push(value.to_string());
    }
    if let Some(extreme) = table.extreme_min {
        names.push("extreme_min_c");
        constant.push(rounded(extreme.mean_c));
        if extreme.years > 0 {
            names.push("extreme_min_years");
            constant.push(extreme.years.to_string());
        }
    }
    if let Some(words) = table.station.words() {
        names.push("station");
        constant.push(quoted(&words));
    }
    if let Some((first, last)) = table.period {
        names.push("period");
        constant.push(format!("{first}-{last}"));
    }
    let constant: String = constant.iter().map(|cell| format!(",{cell}")).collect();
    let mut text = format!("month,{}\n", names.join(","));
    for month in 0..12 {
        let cells: Vec<String> = columns
            .iter()
            .map(|(_, series)| series[month].map_or_else(String::new, |own| rounded(own.value)))
            .collect();
        let _ = writeln!(text, "{},{}{constant}", month + 1, cells.join(","));
    }
    text
}

/// A cell of words: quoted where a comma or a mark stands in it.
fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n']) { format!("\"{}\"", text.replace('"', "'")) } else { text.to_owned() }
}

/// Reference evapotranspiration month by month as a table, with every input that it was reached from;
/// an empty cell is an input that was estimated, as the method says.
///
/// # Errors
///
/// Plain words where a figure that no method can do without is missing or impossible.
pub fn climate_et0(table: &ClimateTable) -> Result<String, String> {
    let normals = table.normals().map_err(|missing| missing.to_string())?;
    let latitude =
        table.station.latitude_deg.ok_or("the latitude is not known: the file does not state it")?;
    let elevation = table.station.elevation_m.unwrap_or(0.0);
    let mut inputs = Et0Inputs::new(Degrees(latitude), Metres(elevation), normals.tmax_c, normals.tmin_c);
    inputs.solar_mj_m2_d = normals.solar_mj_m2_d;
    inputs.wind_2m_m_s = table.wind_2m();
    inputs.rh_pct = normals.rh_pct;
    inputs.precip_mm = normals.precip_mm;
    let et0 = monthly_et0(&inputs, Choice::ByData).map_err(|error| error.to_string())?;
    let mut method = et0.method.describe();
    if table.station.elevation_m.is_none() {
        method.push_str("; height above sea level taken as 0 m");
    }
    if let Some(words) = expectation(&et0.method, et0.aridity) {
        method.push_str(&format!("; {words}"));
    }
    let method = quoted(&method);
    let mut text = String::from(
        "month,latitude_deg,elevation_m,tmax_c,tmin_c,solar_mj_m2_d,wind_2m_m_s,rh_pct,precip_mm,ra_mj_m2_d,ra_in_file_mj_m2_d,rs_used_mj_m2_d,et0_mm_d,et0_mm_month,method\n",
    );
    for month in 0..12 {
        let figure =
            |series: Option<Monthly>| series.map_or_else(String::new, |own| format!("{:.4}", own[month]));
        let cells = [
            (month + 1).to_string(),
            latitude.to_string(),
            elevation.to_string(),
            figure(Some(inputs.tmax_c)),
            figure(Some(inputs.tmin_c)),
            figure(inputs.solar_mj_m2_d),
            figure(inputs.wind_2m_m_s),
            figure(inputs.rh_pct),
            figure(inputs.precip_mm),
            figure(Some(et0.extraterrestrial_mj_m2_d)),
            figure(complete(&table.extraterrestrial_mj_m2_d)),
            figure(Some(et0.solar_mj_m2_d)),
            figure(Some(et0.mm_day)),
            figure(Some(et0.mm_month)),
            method.clone(),
        ];
        let _ = writeln!(text, "{}", cells.join(","));
    }
    Ok(text)
}

/// What a check finds, and whether any of it is a fault.
pub fn climate_check(path: &str, table: &ClimateTable) -> (String, bool) {
    let mut text = format!("{path}: {}\n", table.format.name());
    if let Some(name) = table.station.words() {
        let _ = writeln!(text, "  station {name}");
    }
    if let Some((first, last)) = table.period {
        let _ = writeln!(text, "  years {first} to {last}");
    }
    for (key, series) in series(table) {
        let known = series.iter().flatten().count();
        let years: Vec<u16> = series.iter().flatten().filter_map(|month| month.years).collect();
        let behind = match (years.iter().min(), years.iter().max()) {
            (Some(least), Some(most)) if least < most => format!(", {least} to {most} years behind a month"),
            (Some(only), _) => format!(", {only} year{}", if *only == 1 { "" } else { "s" }),
            _ => String::new(),
        };
        let _ = writeln!(text, "  {key}: {known} of 12 months{behind}");
    }
    if let Some(extreme) = table.extreme_min {
        let lowest = format_number(extreme.lowest_c);
        let years = match extreme.years {
            0 => "years not stated".to_owned(),
            1 => "of one year".to_owned(),
            // a table of normals holds the mean alone
            years if extreme.lowest_c >= extreme.mean_c => format!("mean of {years} years"),
            years => format!("mean of {years} years, lowest {lowest}"),
        };
        let few = if extreme.is_usable() { "" } else { "; too few years to be taken for a site" };
        let _ = writeln!(text, "  extreme_min_c: {}, {years}{few}", rounded(extreme.mean_c));
    }
    for note in &table.notes {
        let _ = writeln!(text, "  note: {note}");
    }
    for error in &table.impossible.first {
        let _ = writeln!(text, "  fault: {error}");
    }
    if table.impossible.more() > 0 {
        let _ = writeln!(text, "  fault: {} more values that cannot be", table.impossible.more());
    }
    let mut faulty = details(&mut text, table) || table.impossible.count > 0;
    for finding in check(table) {
        faulty |= finding.is_fault();
        let word = if finding.is_fault() { "fault" } else { "note" };
        let _ = writeln!(text, "  {word}: {finding}");
    }
    (text, faulty)
}

/// Two decimals are more than any normal carries.
fn rounded(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}
