//! Readers on invented files, on damaged ones, and on real ones where their folder is given.

use std::fmt::Write as _;

use super::check::{Finding, check};
use super::*;

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
}

pub(super) fn fixture(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/fixtures/climate/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn options(units: Option<FileUnits>) -> ReadOptions {
    ReadOptions { units, years: None }
}

fn read(bytes: &[u8]) -> Result<ClimateTable, ReadError> {
    read_climate_bytes(bytes, &ReadOptions::default())
}

fn message(bytes: &[u8]) -> String {
    read(bytes).unwrap_err().to_string()
}

/// A typical year of an invented place in the EPW layout.
pub(super) fn invented_epw() -> String {
    let mut text = String::from(
        "LOCATION,Invented Hill,ZZ,NUL,INVENTED,000000,35.00,-100.00,-6.0,500.0\r\n\
         DESIGN CONDITIONS,0\r\nTYPICAL/EXTREME PERIODS,0\r\nGROUND TEMPERATURES,0\r\n\
         HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\r\nCOMMENTS 1,invented\r\nCOMMENTS 2,invented\r\n\
         DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\r\n",
    );
    for_each_hour(|month, day, hour, t, sun| {
        let year = 1990 + month;
        let _ = write!(
            text,
            "{year},{month},{day},{hour},60,?9,{t:.1},5.0,55,95000,1,{etr},0,{sun},0,0,0,0,0,0,180,\
             3.0,0,0,9999,99999,9,999999999,0,0,0,88,0,999.0,99.0\r\n",
            etr = sun * 2
        );
    });
    text
}

/// The same in the TMY3 layout.
pub(super) fn invented_tmy3() -> String {
    let mut text = String::from(
        "000000,\"INVENTED, HILL\",ZZ,-6.0,35.000,-100.000,500\n\
         Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),GHI (W/m^2),Dry-bulb (C),RHum (%),Wspd (m/s),\
         Lprecip depth (mm)\n",
    );
    for_each_hour(|month, day, hour, t, sun| {
        let year = 1990 + month;
        let _ =
            writeln!(text, "{month:02}/{day:02}/{year},{hour:02}:00,{},{sun},{t:.1},55,3.0,-9900", sun * 2);
    });
    text
}

/// A plain table of months of an invented place.
pub(super) fn invented_months() -> String {
    let mut text = String::from("month,tmax_c,tmin_c,precip_mm,station\n");
    for month in 1..=12_i32 {
        let t = 28 - 4 * (month - 7).abs();
        let _ = writeln!(text, "{month},{t}.5,{},{}.25,Invented Hill", t - 10, 40 + month);
    }
    text
}

/// Every layout that is read, with the units that it must be told.
pub(super) fn layouts() -> Vec<(&'static str, Vec<u8>, ReadOptions)> {
    let us = options(Some(FileUnits::Us));
    vec![
        ("normals of 1991-2020", fixture("noaa-monthly-1991-2020.csv"), options(None)),
        ("normals of 1981-2010", fixture("noaa-monthly-1981-2010.csv"), options(None)),
        ("monthly summaries", fixture("gsom-monthly-summaries.csv"), options(None)),
        (".dly", fixture("ghcn-daily.dly"), options(None)),
        ("daily access", fixture("ghcn-access.csv"), options(None)),
        ("daily long", fixture("ghcn-long.csv"), options(None)),
        ("daily by year", fixture("ghcn-by-year.csv"), options(None)),
        ("daily wide", fixture("daily-wide-us.csv"), us),
        ("EPW", invented_epw().into_bytes(), options(None)),
        ("TMY3", invented_tmy3().into_bytes(), options(None)),
        ("plain months", invented_months().into_bytes(), options(None)),
    ]
}

/// A spreadsheet may bring the names of columns into other letters.
#[test]
fn names_of_columns_in_any_letters() {
    let mut tried = 0;
    for (name, bytes, options) in layouts() {
        let text = String::from_utf8(bytes).unwrap();
        let (header, rest) = text.split_once('\n').unwrap();
        // the plain table is read in any letters by itself, and those without names have none
        if !header.to_lowercase().split(',').any(|column| column.trim_matches('"') == "date") {
            continue;
        }
        let usual = read_climate_bytes(text.as_bytes(), &options).unwrap();
        for header in [header.to_lowercase(), header.to_uppercase()] {
            let other = read_climate_bytes(format!("{header}\n{rest}").as_bytes(), &options);
            assert_eq!(format!("{:?}", other.unwrap()), format!("{usual:?}"), "{name}: {header}");
        }
        tried += 1;
    }
    assert_eq!(tried, 6, "tables whose first line names a date");
}

fn for_each_hour(mut write: impl FnMut(usize, u16, u16, f64, u16)) {
    for (month, days) in (1_usize..).zip(crate::site::solar::DAYS_IN_MONTH) {
        for day in 1..=days {
            for hour in 1..=24_u16 {
                let season = [0.0, 2.0, 7.0, 13.0, 18.0, 23.0, 26.0, 25.0, 20.0, 13.0, 6.0, 1.0];
                let warm = (9..=18).contains(&hour);
                let t = season[month - 1] + if warm { 6.0 } else { -4.0 };
                write(month, day, hour, t, if warm { 300 } else { 0 });
            }
        }
    }
}

#[test]
fn both_editions_of_normals_give_the_same_place() {
    let newer = read(&fixture("noaa-monthly-1991-2020.csv")).unwrap();
    let older = read(&fixture("noaa-monthly-1981-2010.csv")).unwrap();
    assert_eq!(newer.format, Format::NoaaNormals1991);
    assert_eq!(older.format, Format::NoaaNormals1981);
    let (a, b) = (newer.normals().unwrap(), older.normals().unwrap());
    for month in 0..12 {
        near(a.tmax_c[month], b.tmax_c[month], 1e-9);
        near(a.tmin_c[month], b.tmin_c[month], 1e-9);
        near(a.wet_days.unwrap()[month], b.wet_days.unwrap()[month], 1e-9);
    }
    near(a.tmax_c[0], (41.3 - 32.0) / 1.8, 1e-9);
    near(a.precip_mm.unwrap()[6], 4.42 * 25.4, 1e-9);
    // August of the older file has the code for "above zero, rounds to zero".
    near(b.precip_mm.unwrap()[7], 0.0, 0.0);
    assert_eq!(older.notes, vec![Note::RoundedToZero(1)]);
    assert_eq!(newer.notes, vec![Note::PublisherYears(24)]);
    assert_eq!(newer.tmax_c[7].unwrap().flag, Some('R'));
    assert_eq!(newer.station.name.as_deref(), Some("INVENTED VALLEY, ZZ"));
    near(newer.station.elevation_m.unwrap(), 310.5, 0.0);
    assert!(check(&newer).iter().all(|f| !f.is_fault()), "{:?}", check(&newer));
}

#[test]
fn monthly_summaries() {
    let bytes = fixture("gsom-monthly-summaries.csv");
    let table = read(&bytes).unwrap();
    assert_eq!((table.format, table.period), (Format::Gsom, Some((2018, 2020))));
    assert_eq!(table.notes[0], Note::UnitsTaken(FileUnits::Metric));
    assert_eq!(table.tmax_c[4].unwrap().years, Some(2));
    // 2018 lacks two months of extremes; 2019 and 2020 count.
    let extreme = table.extreme_min.unwrap();
    assert_eq!(extreme.years, 2);
    near(extreme.mean_c, -16.2, 0.05);
    let bare_cr: Vec<u8> = bytes.iter().map(|b| if *b == b'\n' { b'\r' } else { *b }).collect();
    assert_eq!(read(&bare_cr).unwrap(), table);
    let chosen = ReadOptions { units: Some(FileUnits::Metric), years: Some((2019, 2019)) };
    let one = read_climate_bytes(&bytes, &chosen).unwrap();
    assert_eq!(one.tmin_c[0].unwrap().years, Some(1));
    // A metric file read as US units would freeze July: refused where a value leaves the earth.
    let us = read_climate_bytes(&bytes, &options(Some(FileUnits::Us))).unwrap();
    assert!(us.tmax_c[6].unwrap().value < 0.0);
}

#[test]
fn layouts_of_daily_data_agree() {
    let dly = read(&fixture("ghcn-daily.dly")).unwrap();
    let access = read(&fixture("ghcn-access.csv")).unwrap();
    let long = read(&fixture("ghcn-long.csv")).unwrap();
    let by_year = read(&fixture("ghcn-by-year.csv")).unwrap();
    let wide = read_climate_bytes(&fixture("daily-wide-us.csv"), &options(Some(FileUnits::Us))).unwrap();
    assert_eq!(dly.format, Format::GhcnDly);
    for other in [&access, &long, &by_year, &wide] {
        assert_eq!(other.format, Format::GhcnCsv);
        near(other.tmax_c[0].unwrap().value, dly.tmax_c[0].unwrap().value, 1e-6);
        near(other.tmin_c[3].unwrap().value, dly.tmin_c[3].unwrap().value, 1e-6);
        near(other.precip_mm[4].unwrap().value, dly.precip_mm[4].unwrap().value, 1e-6);
        near(other.wet_days[4].unwrap().value, dly.wet_days[4].unwrap().value, 1e-9);
        near(other.hot_days[6].unwrap().value, dly.hot_days[6].unwrap().value, 1e-9);
    }
    // Two values of March failed a check, seven days of July and eight of November are missing.
    assert!(dly.notes.contains(&Note::QualityDropped(2)), "{:?}", dly.notes);
    assert!(dly.notes.iter().any(|n| matches!(n, Note::Traces(_))));
    assert!(dly.tmax_c[2].is_some() && dly.tmin_c[6].is_none() && access.tmax_c[10].is_none());
    assert_eq!(dly.normals().unwrap_err().to_string(), "mean daily minimum has no value in month 7");
    // No year of July is whole: said without a count of years that are none.
    assert!(dly.notes.contains(&Note::ShortRecord(0)), "{:?}", dly.notes);
    let words = [Note::ShortRecord(0), Note::ShortRecord(1), Note::PublisherYears(1)].map(|n| n.to_string());
    assert!(words[0].starts_with("some months have no year of temperature"), "{words:?}");
    assert!(
        words[1..].iter().all(|text| text.contains("only 1 year") && !text.contains("years")),
        "{words:?}"
    );
    // A day of rain that failed its check may be missing; two days may not.
    assert!(long.precip_mm[7].is_some() && wide.precip_mm[11].is_none());
    assert_eq!(by_year.extreme_min.unwrap().years, 1);
    near(by_year.extreme_min.unwrap().mean_c, by_year.extreme_min.unwrap().lowest_c, 0.0);
    let days: Vec<Finding> = check(&by_year);
    assert!(days.contains(&Finding::FewYears { series: "mean daily minimum", years: 1 }));
}

#[test]
fn typical_years() {
    let epw = read(invented_epw().as_bytes()).unwrap();
    let tmy3 = read(invented_tmy3().as_bytes()).unwrap();
    assert_eq!((epw.format, tmy3.format), (Format::Epw, Format::Tmy3));
    assert_eq!(tmy3.station.name.as_deref(), Some("INVENTED, HILL"));
    for table in [&epw, &tmy3] {
        let normals = table.normals().unwrap();
        near(normals.tmax_c[6], 32.0, 1e-9);
        near(normals.tmin_c[6], 22.0, 1e-9);
        near(normals.solar_mj_m2_d.unwrap()[0], 10.0 * 300.0 * 0.0036, 1e-9);
        near(normals.wind_m_s.unwrap()[3], 3.0, 1e-9);
        near(normals.hot_days.unwrap()[6], 31.0, 0.0);
        assert!(normals.precip_mm.is_none() && table.extreme_min.is_none());
        assert_eq!(table.notes, vec![Note::TypicalYear, Note::RainNotRecorded]);
        near(table.station.latitude_deg.unwrap(), 35.0, 0.0);
        assert!(table.period.is_none() && check(table).is_empty(), "{:?}", check(table));
    }
}

#[test]
fn hours_in_any_order_and_cut_years() {
    let text = invented_epw();
    let mut lines: Vec<&str> = text.lines().collect();
    let cut = lines[..8 + 744].join("\r\n");
    assert_eq!(
        message(cut.as_bytes()),
        "line 752, column 1: 744 of 8760 hours; the first one missing is 02-01 01:00"
    );
    lines[8..].reverse();
    let whole = read(text.as_bytes()).unwrap();
    let shuffled = read(lines.join("\n").as_bytes()).unwrap();
    near(shuffled.tmax_c[2].unwrap().value, whole.tmax_c[2].unwrap().value, 1e-9);
    let twice = format!("{text}{}\n", lines[8]);
    assert!(message(twice.as_bytes()).contains("the hour 12-31 24:00 comes a second time"));
    // Rain of 0 in every hour was not recorded.
    let zeros = text.replace(",999.0,99.0", ",0.0,1.0");
    assert!(read(zeros.as_bytes()).unwrap().notes.contains(&Note::RainNotRecorded));
    let wet = text.replace(",999.0,99.0", ",0.1,1.0");
    let wet = read(wet.as_bytes()).unwrap();
    near(wet.precip_mm[0].unwrap().value, 74.4, 1e-6);
    assert!(wet.notes.contains(&Note::RainOfTypicalYear));
}

/// A temperature that is coded as missing takes its month with it, and is told with its hour; one that is
/// merely too high to be is a fault at its line, and no code.
#[test]
fn hours_without_a_temperature_are_told() {
    let text = invented_epw();
    let first = |value: &str| {
        let (before, hours) = text.split_once("?9,").unwrap();
        let (_, after) = hours.split_once(',').unwrap();
        read(format!("{before}?9,{value},{after}").as_bytes())
    };
    for code in ["99.9", "999"] {
        let table = first(code).unwrap();
        assert!(table.tmax_c[0].is_none() && table.tmax_c[1].is_some() && table.impossible.count == 0);
        let told: Vec<String> = table.notes.iter().map(ToString::to_string).collect();
        assert!(told.contains(&"the hour 01-01 01:00 has no temperature, so that its month has none".into()));
    }
    for value in ["100.5", "150", "99.8"] {
        let fault = first(value).unwrap_err().to_string();
        assert!(fault.starts_with("line 9, column") && fault.contains(value), "{fault}");
    }
}

#[test]
fn damaged_files_say_where() {
    assert_eq!(message(b""), "line 1, column 1: the file is empty");
    assert_eq!(message(b"\n \n\r\n"), "line 1, column 1: the file is empty");
    let parted = message(b"month;tmax_c;tmin_c\n1;12,5;3\n");
    assert!(parted.starts_with("line 1, column 6: the columns are parted by semicolons"), "{parted}");
    let parted = message(b"month\ttmax_c\ttmin_c\n1\t12.5\t3\n");
    assert!(parted.starts_with("line 1, column 6: the columns are parted by tabs"), "{parted}");
    assert!(message(b"a;b;c\n1;2;3\n").contains("no known climate format"));
    let bare = message(b"month,tmax_c,tmin_c\n");
    assert!(bare.starts_with("line 1, column 1: the file ends after its header"), "{bare}");
    let nul = message(b"month,tmax_c\n1,\x00 9\n");
    assert_eq!(nul, "line 2, column 3: a byte 0x00, which no text has: the file is damaged, or none of text");
    assert!(message(b"\nhello world\n").starts_with("line 2, column 1: no known climate format"));
    assert!(message(b"\x1f\x8b\x08\x00rest").contains("packed with gzip"));
    assert!(message(b"\xff\xfeL\0O\0").ends_with("the file is UTF-16 text: save it as UTF-8"));
    let mut bytes = fixture("gsom-monthly-summaries.csv");
    let at = bytes.windows(8).position(|w| w == b"INVENTED").unwrap();
    bytes[at] = 0xE9;
    assert_eq!(message(&bytes), "line 2, column 16: byte 0xE9 is not UTF-8 text");
    let text = String::from_utf8(fixture("gsom-monthly-summaries.csv")).unwrap();
    let damaged = text.replacen("\"2019-03\"", "\"2019-13\"", 1);
    assert_eq!(message(damaged.as_bytes()), "line 16, column 38 (DATE): `2019-13` is not a date");
    let doubled = text.replacen("\"2019-03\"", "\"2019-02\"", 1);
    assert_eq!(message(doubled.as_bytes()), "line 16, column 38: 2019-02 comes a second time");
    let cut = &text[..text.len() - 20];
    assert!(message(cut.as_bytes()).starts_with("line 37"), "{}", message(cut.as_bytes()));
    let second = text.replacen(
        "XX0000INV01\",\"INVENTED VALLEY, ZZ\",\"2020-12",
        "XX0000INV02\",\"INVENTED VALLEY, ZZ\",\"2020-12",
        1,
    );
    assert!(message(second.as_bytes()).contains("a second station, `XX0000INV02`"));
}

#[test]
fn damaged_values_say_where() {
    let text = String::from_utf8(fixture("noaa-monthly-1991-2020.csv")).unwrap();
    let bad = text.replacen("    41.3", "   4 1.3", 1);
    let expected = "line 2, column 93 (MLY-TMAX-NORMAL): `4 1.3` is not a number";
    assert_eq!(message(bad.as_bytes()), expected);
    // Tenths under the columns of the edition that has decimals: 413 degF.
    let tenths = text.replacen("    41.3", "     413", 1);
    assert_eq!(
        message(tenths.as_bytes()),
        "line 2, column 95 (MLY-TMAX-NORMAL): `413` is outside -60 to 55 degC: wrong units or a \
         damaged value"
    );
    let older = String::from_utf8(fixture("noaa-monthly-1981-2010.csv")).unwrap();
    let decimals = older.replacen("\"860\"", "\"86.0\"", 1);
    assert!(message(decimals.as_bytes()).contains("whole tenths"), "{}", message(decimals.as_bytes()));
    let neither = older.replace("_ATTRIBUTES", "_FLAGS");
    assert!(message(neither.as_bytes()).contains("fit neither edition"));
    let daily = older.replace("MLY-", "DLY-");
    assert!(message(daily.as_bytes()).contains("take the station's monthly file"));
    let dly = String::from_utf8(fixture("ghcn-daily.dly")).unwrap();
    let bad = dly.replacen("TMAX", "TMAX 12x4", 1);
    assert!(message(bad.as_bytes()).starts_with("line 1, column 23 (TMAX): `12x4` is not a number"));
    assert_eq!(read(&fixture("daily-wide-us.csv")).unwrap_err().fault, Fault::UnitsNotStated);
    let access = String::from_utf8(fixture("ghcn-access.csv")).unwrap();
    let metric = access.replacen(",310.5,\"INVENTED VALLEY, ZZ\",", ",310.5,\"INVENTED VALLEY, ZZ\",1.5", 1);
    assert!(
        message(metric.as_bytes()).ends_with("state the units (si or us)"),
        "{}",
        message(metric.as_bytes())
    );
    let open = access.replacen("\"INVENTED VALLEY, ZZ\"", "\"INVENTED VALLEY", 1);
    assert_eq!(
        message(open.as_bytes()),
        "line 2, column 65: a quotation mark is not closed, or not where its field ends"
    );
    let hot = access.replacen(",40.5,", ",40.5x,", 1);
    assert_eq!(message(hot.as_bytes()), "line 2, column 24 (LATITUDE): `40.5x` is not a number");
}

/// Of two columns of one name nobody can say which counts; where nothing reads them it does not matter.
#[test]
fn a_column_that_stands_twice_is_refused_where_it_comes_again() {
    for (file, name) in [
        ("noaa-monthly-1991-2020.csv", "MLY-TMAX-NORMAL"),
        ("noaa-monthly-1991-2020.csv", "meas_flag_MLY-TMIN-NORMAL"),
        ("noaa-monthly-1981-2010.csv", "MLY-PRCP-NORMAL_ATTRIBUTES"),
        ("noaa-monthly-1981-2010.csv", "DATE"),
        ("gsom-monthly-summaries.csv", "emnt"),
        ("ghcn-access.csv", "TMIN"),
        ("ghcn-access.csv", "TMAX_ATTRIBUTES"),
        ("ghcn-long.csv", "value"),
    ] {
        let text = String::from_utf8(fixture(file)).unwrap().replace('\r', "");
        let (header, rest) = text.split_once('\n').unwrap();
        let column = header.chars().count() + 2;
        let doubled = format!("{header},{name}\n{rest}");
        let expected = format!("line 1, column {column}: the column `{name}` comes a second time");
        assert_eq!(message(doubled.as_bytes()), expected, "{file}");
    }
    let text = String::from_utf8(fixture("ghcn-access.csv")).unwrap();
    let (header, rest) = text.split_once('\n').unwrap();
    let rows: String = rest.lines().map(|line| format!("{line},x,x\n")).collect();
    let remarked = read(format!("{header},remark,remark\n{rows}").as_bytes()).unwrap();
    assert_eq!(format!("{remarked:?}"), format!("{:?}", read(text.as_bytes()).unwrap()));
    // the place of the station is asked for with its first line
    let rows: String = rest.lines().map(|line| format!("{line},40.5\n")).collect();
    let placed = message(format!("{header},LATITUDE\n{rows}").as_bytes());
    assert!(placed.starts_with("line 1, column") && placed.contains("`LATITUDE` comes a second"), "{placed}");
}

/// Beyond the polar circle twilight brings a little light in months that the sun is computed to stay below the
/// horizon of.
#[test]
fn twilight_of_the_polar_night_is_not_above_the_sky() {
    let month = |value: f64| Some(MonthValue { value, years: None, flag: None });
    let mut table = read(&fixture("noaa-monthly-1991-2020.csv")).unwrap();
    table.station.latitude_deg = Some(69.65);
    let solar = [0.15, 1.8, 6.2, 12.5, 16.5, 17.8, 15.9, 11.2, 6.4, 2.4, 0.3, 0.02];
    let above = |table: &ClimateTable| -> Vec<usize> {
        let months = check(table).into_iter().filter_map(|one| match one {
            Finding::SolarAboveExtraterrestrial { month, .. } => Some(month),
            _ => None,
        });
        months.collect()
    };
    table.solar_mj_m2_d = solar.map(month);
    assert_eq!(above(&table), Vec::<usize>::new());
    // what stands in another unit is told all the same
    table.solar_mj_m2_d = solar.map(|mj| month(mj * 3.6));
    assert!(above(&table).contains(&6), "{:?}", above(&table));
}

/// Figures in another unit, which no single month shows: kWh for MJ, a fraction for percent, days with rain that
/// do not go with the rain.
#[test]
fn checks_find_figures_in_other_units() {
    let month = |value: f64| Some(MonthValue { value, years: None, flag: None });
    let mut table = read(&fixture("noaa-monthly-1991-2020.csv")).unwrap();
    table.station.latitude_deg = Some(40.5);
    let sound = check(&table);
    let solar = [7.5, 10.5, 14.5, 18.5, 21.5, 23.5, 23.0, 20.5, 16.5, 12.0, 8.0, 6.5];
    table.solar_mj_m2_d = solar.map(month);
    table.rh_pct = [60.0; 12].map(month);
    table.wet_days = [6.0; 12].map(month);
    table.precip_mm = [60.0; 12].map(month);
    let news = |table: &ClimateTable| -> Vec<Finding> {
        check(table).into_iter().filter(|one| !sound.contains(one) && one.is_fault()).collect()
    };
    assert_eq!(news(&table), []);
    table.solar_mj_m2_d = solar.map(|mj| month(mj / 3.6));
    assert!(matches!(news(&table)[..], [Finding::SolarBelowOvercast { share }] if share < 0.2));
    table.solar_mj_m2_d = [None; 12];
    table.rh_pct = [0.6; 12].map(month);
    assert_eq!(news(&table), [Finding::HumidityAsFraction]);
    table.rh_pct = [None; 12];
    table.wet_days[4] = month(0.1);
    assert_eq!(news(&table), [Finding::RainOfWetDay { month: 5, rain: 60.0, days: 0.1 }]);
}

#[test]
fn checks_find_contradictions() {
    let mut table = read(&fixture("noaa-monthly-1991-2020.csv")).unwrap();
    table.station.latitude_deg = Some(-40.5);
    assert!(check(&table).contains(&Finding::WrongHemisphere { latitude_deg: -40.5 }));
    table.station.elevation_m = Some(19_000.0);
    table.tmin_c[5] = table.tmax_c[5];
    table.precip_mm[1] = None;
    let found = check(&table);
    assert!(found.iter().any(|f| matches!(f, Finding::Elevation(_))));
    assert!(found.iter().any(|f| matches!(f, Finding::MaximumNotAbove { month: 6, .. })));
    assert!(found.contains(&Finding::Gap { series: "precipitation", months: vec![2] }));
}

/// Bytes at random, and real layouts with bytes at random in them, never panic.
#[test]
fn mutated_bytes_give_values_or_errors() {
    let mut random = crate::site::rain_pattern::SplitMix64::new(11);
    let mut draw = |n: usize| usize::try_from(random.next_bits() >> 33).unwrap() % n;
    for name in [
        "noaa-monthly-1991-2020.csv",
        "noaa-monthly-1981-2010.csv",
        "gsom-monthly-summaries.csv",
        "ghcn-daily.dly",
        "ghcn-access.csv",
        "ghcn-long.csv",
        "ghcn-by-year.csv",
        "daily-wide-us.csv",
    ] {
        let original = fixture(name);
        for _ in 0..150 {
            let mut bytes = original.clone();
            for _ in 0..=draw(6) {
                let at = draw(bytes.len().max(1)).min(bytes.len().saturating_sub(1));
                if bytes.is_empty() {
                    break;
                }
                match draw(4) {
                    0 => bytes[at] = u8::try_from(draw(256)).unwrap(),
                    1 => drop(bytes.remove(at)),
                    2 => bytes.truncate(at.max(1)),
                    _ => bytes.insert(at, b",\"\r\n-9\xC3.,"[draw(9)]),
                }
            }
            let _ = read_climate_bytes(&bytes, &options(Some(FileUnits::Us)));
            let _ = read(&bytes);
        }
    }
}

/// Real station files, where `SWARDWRIGHT_CLIMATE_DIR` names their folder: each of a known format
/// must read, each of another must be refused, none may panic.
#[test]
fn real_files() {
    let Some(folder) = std::env::var_os("SWARDWRIGHT_CLIMATE_DIR") else {
        println!("NOT READ: 26 real climate files by their readers (SWARDWRIGHT_CLIMATE_DIR is not set)");
        return;
    };
    let folder = std::path::PathBuf::from(folder);
    let raw = folder.join("raw");
    let folder = if raw.is_dir() { raw } else { folder };
    let mut entries: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    entries.sort();
    let (mut read_count, mut refused_count) = (0, 0);
    for path in entries {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let bytes = if name.ends_with(".gz") {
            let output = std::process::Command::new("gzip").arg("-dc").arg(&path).output().unwrap();
            output.stdout
        } else {
            std::fs::read(&path).unwrap()
        };
        let units = name.contains("us-units").then_some(FileUnits::Us);
        let result = read_climate_bytes(&bytes, &options(units));
        let known = ["noaa-normals-monthly", "noaa-gsom", "ghcn-daily", "epw", "tmy3"];
        let whole = known.iter().any(|k| name.starts_with(k)) && !name.contains("truncated");
        match result {
            Ok(table) => {
                assert!(whole, "{name} should have been refused");
                read_count += 1;
                known_figures(&name, &bytes, &table);
                let shown = table.normals().map(|n| (n.tmax_c[0], n.tmin_c[0], n.tmax_c[6]));
                println!("{name}: {} {:?} {shown:?}", table.format.name(), table.period);
                println!("    {:?} {:?}", table.extreme_min, table.notes);
                for finding in check(&table) {
                    println!("    {finding}");
                }
            }
            Err(error) => {
                assert!(!whole, "{name}: {error}");
                refused_count += 1;
                println!("{name}: refused: {error}");
            }
        }
    }
    println!("{read_count} real climate files read by their format, {refused_count} refused with a reason");
    assert!(read_count > 0);
}

/// Figures of real files that were worked out, or published, independently.
fn known_figures(name: &str, bytes: &[u8], table: &ClimateTable) {
    if name.contains("el-paso") {
        // Mean of the yearly lows 1991-2020 and January's mean minimum, worked out by others.
        let years = ReadOptions { units: None, years: Some((1991, 2020)) };
        let table = read_climate_bytes(bytes, &years).unwrap();
        near(table.extreme_min.unwrap().mean_c, -7.8, 0.05);
        near(table.tmin_c[0].unwrap().value, 0.9, 0.05);
    }
    if name.contains("greensboro") {
        near(table.tmin_c.iter().map(|v| v.unwrap().value).fold(99.0, f64::min), -4.3, 0.05);
        // the sum of the column, which holds tenths under a heading of mm
        near(table.precip_mm.iter().flatten().map(|v| v.value).sum(), 834.5, 0.01);
        // no wet hour in its February
        assert!(table.precip_mm[1].is_none() && table.notes.contains(&Note::MonthsWithoutRain(vec![2])));
    }
    if let Some(theirs) = normals::complete(&table.extraterrestrial_mj_m2_d) {
        let latitude = crate::units::quantity::Degrees(table.station.latitude_deg.unwrap());
        let ours = crate::site::solar::monthly_extraterrestrial(latitude);
        let shares: Vec<f64> = ours.iter().zip(theirs).map(|(a, b)| 100.0 * (a / b - 1.0)).collect();
        println!("    Ra by FAO-56 against the file's, %: {shares:.1?}");
        assert!(shares.iter().all(|s| s.abs() < 6.5), "{shares:?}");
    }
}
