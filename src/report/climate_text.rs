//! Climate normals as a fragment of a site file and as a plain table, and what a check finds.

use std::fmt::Write;

use crate::site::climate::check::check;
use crate::site::climate::{ClimateTable, Series};
use crate::units::format_number;

/// The series that are written, with the keys of a site file and the factor from the table's unit.
fn series(table: &ClimateTable) -> [(&'static str, &Series); 6] {
    [
        ("tmax_c", &table.tmax_c),
        ("tmin_c", &table.tmin_c),
        ("precip_mm", &table.precip_mm),
        ("solar_mj_m2_d", &table.solar_mj_m2_d),
        ("wind_m_s", &table.wind_m_s),
        ("rh_pct", &table.rh_pct),
    ]
}

/// Sections `[place]` and `[climate]` for a site file; what is incomplete stands as a remark.
pub fn climate_toml(table: &ClimateTable) -> String {
    let mut text = format!("# {}\n", table.format.name());
    let station = &table.station;
    if let Some(name) = station.name.as_ref().or(station.id.as_ref()) {
        let _ = writeln!(text, "# station {name}");
    }
    if let Some((first, last)) = table.period {
        let _ = writeln!(text, "# years {first} to {last}");
    }
    for note in &table.notes {
        let _ = writeln!(text, "# {note}");
    }
    text.push_str("[place]\n");
    for (key, value) in [
        ("latitude_deg", station.latitude_deg),
        ("longitude_deg", station.longitude_deg),
        ("elevation_m", station.elevation_m),
    ] {
        if let Some(value) = value {
            let _ = writeln!(text, "{key} = {value}");
        }
    }
    text.push_str("\n[climate]\n");
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
                if let Some(height) = height {
                    let _ = writeln!(
                        text,
                        "# wind at {height} m; a site file wants it at 2 m: {key} = [{}]",
                        numbers.join(", ")
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
        let _ =
            writeln!(text, "extreme_min_c = {}   # mean of {} years", rounded(extreme.mean_c), extreme.years);
    }
    text
}

/// A plain table of twelve months; an unknown value is an empty cell.
pub fn climate_csv(table: &ClimateTable) -> String {
    let columns: Vec<(&str, &Series)> =
        series(table).into_iter().filter(|(_, series)| series.iter().any(Option::is_some)).collect();
    let names: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
    let mut text = format!("month,{}\n", names.join(","));
    for month in 0..12 {
        let cells: Vec<String> = columns
            .iter()
            .map(|(_, series)| series[month].map_or_else(String::new, |own| rounded(own.value)))
            .collect();
        let _ = writeln!(text, "{},{}", month + 1, cells.join(","));
    }
    text
}

/// What a check finds, and whether any of it is a fault.
pub fn climate_check(path: &str, table: &ClimateTable) -> (String, bool) {
    let mut text = format!("{path}: {}\n", table.format.name());
    let station = &table.station;
    let name =
        [station.id.as_deref(), station.name.as_deref()].into_iter().flatten().collect::<Vec<_>>().join(" ");
    if !name.is_empty() {
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
        let _ = writeln!(
            text,
            "  extreme_min_c: {} over {} years, lowest {lowest}",
            rounded(extreme.mean_c),
            extreme.years
        );
    }
    for note in &table.notes {
        let _ = writeln!(text, "  note: {note}");
    }
    let mut faulty = false;
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
