//! How long whole processes of the release build take: `cargo bench`. Prints medians, and each as a
//! ratio to what loading the knowledge base alone takes, since a ratio says the same on any machine.

#![expect(clippy::print_stdout, reason = "a benchmark says what it found")]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Runs of each command; an odd number has a middle one.
const RUNS: usize = 21;

fn main() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let site = |name: &str, text: String| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("an invented site");
        path
    };
    for years in [30, 120] {
        let station = invented_station(years);
        std::fs::write(folder.path().join(format!("{years}.dly")), station).expect("an invented station");
    }
    let near = site(
        "near.toml",
        "schema = 1\n[place]\nlatitude_deg = 33\nlongitude_deg = -97\n[climate]\nnear = true\n".into(),
    );
    let months = site("months.toml", invented_site(MONTHS));
    let capped =
        invented_site(MONTHS).replace("irrigation = \"none\"", "irrigation = \"full\"\nseason_cap_mm = 300");
    let capped = site("capped.toml", capped);
    let station =
        |years: u32| site(&format!("{years}.toml"), invented_site(&format!("file = \"{years}.dly\"")));
    let (thirty, century) = (station(30), station(120));
    let mut timed: Vec<(String, Duration)> =
        vec![("loading alone".into(), of(&["knowledge", "show", "buffalograss"]))];
    for (name, path) in [("few facts, nearest place", &near), ("months", &months), ("season's cap", &capped)]
    {
        timed.push((name.into(), of(&["recommend", text(path), "--samples", "0"])));
        timed.push((format!("{name}, 40 samples"), of(&["recommend", text(path)])));
    }
    for (name, path) in [("station of 30 years", &thirty), ("station of 120 years", &century)] {
        timed.push((name.into(), of(&["recommend", text(path), "--samples", "0"])));
        timed.push((format!("{name}, 40 samples"), of(&["recommend", text(path)])));
    }
    timed.push(("every reason (--all)".into(), of(&["recommend", text(&months), "--all", "--samples", "0"])));
    timed.push(("explain".into(), of(&["explain", text(&months), "buffalograss"])));
    timed.push(("1000 samples".into(), of(&["recommend", text(&months), "--samples", "1000"])));
    timed.push(("knowledge check".into(), of(&["knowledge", "check", "--knowledge", "knowledge"])));
    let properties = [
        ("30 areas, no limit", invented_property(30, "")),
        ("30 areas, kinds, water and neighbours", invented_property(30, LIMITS)),
        ("30 areas, every limit at once", with_valves(&invented_property(30, EVERY_LIMIT))),
    ];
    for (name, property) in properties {
        let path = site("property.toml", property);
        timed.push((name.into(), of(&["property", text(&path)])));
    }
    for (name, path) in scenarios() {
        timed.push((format!("scenario {name}"), of(&["recommend", text(&path), "--samples", "0"])));
    }
    print!("{}", table(&timed));
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a path of plain letters")
}

/// The median of the whole process, from start to exit, what it prints being thrown away.
fn of(arguments: &[&str]) -> Duration {
    let run = || {
        let begun = Instant::now();
        let status = Command::new(env!("CARGO_BIN_EXE_swardwright"))
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .expect("the program starts");
        assert!(status.success(), "{arguments:?} failed: there is nothing to time");
        begun.elapsed()
    };
    run();
    let mut taken: Vec<Duration> = std::iter::repeat_with(run).take(RUNS).collect();
    taken.sort();
    taken[RUNS / 2]
}

fn table(timed: &[(String, Duration)]) -> String {
    let widest = timed.iter().map(|(name, _)| name.chars().count()).max().unwrap_or_default();
    let base = timed.first().map_or(1.0, |(_, taken)| taken.as_secs_f64());
    let mut table = format!("{:widest$}  median of {RUNS}  to loading\n", "");
    for (name, taken) in timed {
        let seconds = taken.as_secs_f64();
        let _ = writeln!(table, "{name:widest$}  {:9.1} ms  {:10.1}", seconds * 1000.0, seconds / base);
    }
    table
}

fn scenarios() -> Vec<(String, PathBuf)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let entries = std::fs::read_dir(folder).expect("the scenarios").flatten();
    let mut sites: Vec<(String, PathBuf)> = entries
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), entry.path().join("site.toml")))
        .filter(|(_, site)| site.is_file())
        .collect();
    sites.sort();
    sites
}

const MONTHS: &str = "tmax_c = [7, 8, 13, 17, 22, 28, 32, 30, 26, 19, 12, 7]
tmin_c = [-8, -8, -3, 1, 6, 11, 15, 14, 9, 2, -4, -9]
precip_mm = [11, 11, 30, 45, 58, 42, 50, 42, 28, 25, 18, 11]
extreme_min_c = -24";

/// An invented lawn in the climate given.
fn invented_site(climate: &str) -> String {
    format!(
        "schema = 1\nname = \"An invented lawn\"\npurpose = \"lawn\"\n[place]\nregion = \"US-CO\"\n\
         latitude_deg = 40.1\nlongitude_deg = -104.9\nelevation_m = 1580\n[climate]\n{climate}\n[light]\n\
         exposure = \"full-sun\"\n[soil]\ntexture = \"clay loam\"\ndepth_cm = 45\nph = 7.0\n[water]\n\
         irrigation = \"none\"\n[use]\nwear = \"light\"\n[upkeep]\nlevel = \"low\"\n"
    )
}

/// Limits that keep the first choices of the areas apart from what may be planted.
const LIMITS: &str = "[limits]\nkinds = 4\nmawa = true\nland_use = \"residential\"\nwater_m3_yr = 1900\n";

/// The same with nitrogen, for a property on shared valves.
const EVERY_LIMIT: &str = "[limits]\nkinds = 4\nmawa = true\nland_use = \"residential\"\nwater_m3_yr = 1900\n\
                           nitrogen_kg_yr = 30\n";

/// Every three areas on a valve of their own.
fn with_valves(property: &str) -> String {
    let mut area = 0;
    let lines = property.lines().map(|line| {
        if line != "[[area]]" {
            return format!("{line}\n");
        }
        area += 1;
        format!("{line}\nhydrozone = \"valve {}\"\n", (area - 1) / 3)
    });
    lines.collect()
}

/// An invented property: areas of several purposes in light and shade, each beside the one before.
fn invented_property(areas: usize, limits: &str) -> String {
    const PURPOSES: [&str; 5] = ["lawn", "park", "lawn-substitute", "slope-cover", "shade-cover"];
    const LIGHTS: [&str; 3] = ["full-sun", "part-shade", "shade"];
    let mut text = invented_site(MONTHS).replace("irrigation = \"none\"", "irrigation = \"full\"");
    for at in 0..areas {
        let (purpose, light) = (PURPOSES[at % PURPOSES.len()], LIGHTS[at % LIGHTS.len()]);
        let size = 40 + at * 37 % 190;
        let _ = write!(text, "[[area]]\nname = \"area {at}\"\narea_m2 = {size}\npurpose = \"{purpose}\"\n");
        if let (Some(before), false) = (at.checked_sub(1), limits.is_empty()) {
            let how = if at.is_multiple_of(2) { "edged" } else { "beside" };
            let _ = writeln!(text, "{how} = [\"area {before}\"]");
        }
        let _ = write!(text, "[area.light]\nexposure = \"{light}\"\n");
    }
    text + limits
}

/// An invented station in fixed width: a warm and a cold season, and rain by a plain pattern.
fn invented_station(years: u32) -> String {
    let mut text = String::new();
    for year in 2024 - years..2024 {
        for month in 1..=12_u32 {
            let season = f64::from(month).mul_add(std::f64::consts::TAU / 12.0, -0.6).cos();
            for element in ["TMAX", "TMIN", "PRCP"] {
                let _ = write!(text, "ZZ000000001{year}{month:02}{element}");
                for day in 1..=31_u32 {
                    let swing = f64::from((year * 7 + month * 13 + day * 29) % 11) - 5.0;
                    let value = match element {
                        "TMAX" => 210.0 - 120.0 * season + 8.0 * swing,
                        "TMIN" => 60.0 - 120.0 * season + 8.0 * swing,
                        _ => f64::from(u32::from((year + month * 3 + day * 5).is_multiple_of(7)) * 60),
                    };
                    let exists = day <= days_of(year, month);
                    let _ = write!(text, "{:5.0}   ", if exists { value } else { -9999.0 });
                }
                text.push('\n');
            }
        }
    }
    text
}

fn days_of(year: u32, month: u32) -> u32 {
    match month {
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}
