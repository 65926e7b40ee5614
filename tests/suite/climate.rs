//! Climate files through the program: read, written, checked, named in a site file.

use std::fs;

use super::support::{Scratch, copy_folder, folders, root, run, run_in};

fn fixtures() -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(root().join("tests/fixtures/climate"))
        .unwrap()
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| !name.ends_with(".md"))
        .collect();
    names.sort();
    names
}

#[test]
fn every_fixture_is_read_or_refused_with_its_line() {
    let mut read = 0;
    for name in fixtures() {
        let path = format!("tests/fixtures/climate/{name}");
        let run = run(&["climate", "read", &path]);
        match run.code {
            // figures with faults are printed too
            0 | 1 => {
                read += 1;
                assert!(run.out.contains("[climate]"), "{name}: {}", run.out);
            }
            2 => assert!(run.err.contains("error[climate-file]"), "{name}: {}", run.err),
            code => panic!("{name}: exit {code}"),
        }
    }
    assert!(read >= 6, "only {read} fixtures are read");
}

/// What `climate read --format csv` writes is a climate file that a site file can name, and the
/// answer is that of the figures typed into the site file.
#[test]
fn written_normals_serve_a_site_file() {
    let scratch = Scratch::new("climate-round-trip");
    let source = root().join("tests/fixtures/climate/noaa-monthly-1991-2020.csv");
    let csv = run(&["climate", "read", source.to_str().unwrap(), "--format", "csv"]);
    assert_eq!(csv.code, 0, "{}", csv.err);
    fs::write(scratch.0.join("normals.csv"), &csv.out).unwrap();
    let again = run_in(&scratch.0, &["climate", "read", "normals.csv", "--format", "csv"], b"");
    assert_eq!(csv.out, again.out);
    let column = |name: &str| {
        let mut lines = csv.out.lines();
        let at = lines.next().unwrap().split(',').position(|own| own == name).unwrap();
        let cells: Vec<&str> = lines.map(|line| line.split(',').nth(at).unwrap()).collect();
        format!("{name} = [{}]\n", cells.join(", "))
    };
    let head = "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 40\nelevation_m = 310.5\nlongitude_deg = -80\n[climate]\nextreme_min_c = -20\n";
    let named = format!("{head}file = \"normals.csv\"\n");
    let columns = ["tmax_c", "tmin_c", "precip_mm", "wet_days"].map(column).concat();
    let typed = format!("{head}{columns}");
    fs::write(scratch.0.join("named.toml"), named).unwrap();
    fs::write(scratch.0.join("typed.toml"), typed).unwrap();
    let order = |file: &str| {
        let run = run_in(&scratch.0, &["recommend", file, "--format", "json"], b"");
        assert_eq!(run.code, 0, "{}", run.err);
        let answer: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        answer["ranking"].clone()
    };
    assert_eq!(order("named.toml"), order("typed.toml"));
}

#[test]
fn faulty_climate_files_are_refused_at_their_line() {
    let scratch = Scratch::new("climate-faults");
    let good = fs::read_to_string(root().join("tests/fixtures/climate/noaa-monthly-1991-2020.csv")).unwrap();
    let half = &good[..good.len() / 2];
    for (name, bytes, wanted) in [
        ("empty.csv", Vec::new(), "the file is empty"),
        ("letters.csv", b"month,tmax_c\n1,warm\n".to_vec(), "letters.csv:2:3"),
        ("latin1.csv", b"month,tmax_c\n1,\xfc\n".to_vec(), "latin1.csv:2"),
        ("cut.csv", half.as_bytes().to_vec(), "cut.csv:"),
        ("other.csv", b"a,b,c\n1,2,3\n".to_vec(), "no known climate format"),
        ("other.xml", b"<?xml version=\"1.0\"?>\n".to_vec(), "no known climate format"),
    ] {
        fs::write(scratch.0.join(name), bytes).unwrap();
        let run = run_in(&scratch.0, &["climate", "check", name], b"");
        assert_ne!(run.code, 0, "{name}: {}", run.out);
        assert!(format!("{}{}", run.err, run.out).contains(wanted), "{name}: {}{}", run.err, run.out);
    }
    let crlf = good.replace('\n', "\r\n");
    fs::write(scratch.0.join("crlf.csv"), crlf).unwrap();
    let unix =
        run(&["climate", "read", "tests/fixtures/climate/noaa-monthly-1991-2020.csv", "--format", "csv"]);
    let windows = run_in(&scratch.0, &["climate", "read", "crlf.csv", "--format", "csv"], b"");
    assert_eq!(unix.out, windows.out, "line ends change nothing");
}

/// A typical year of an invented place in the EPW layout: one mild day all year, wind at 10 m.
fn invented_epw() -> String {
    let mut text = String::from(
        "LOCATION,Invented Hill,ZZ,NUL,INVENTED,000000,35.00,-100.00,-6.0,500.0\n\
         DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n\
         HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,invented\nCOMMENTS 2,invented\n\
         DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n",
    );
    for (month, days) in [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31].into_iter().enumerate() {
        let summer = 10.0 - 10.0 * (month as f64 / 12.0 * std::f64::consts::TAU).cos();
        for (day, hour) in (1..=days).flat_map(|day| (1..=24).map(move |hour| (day, hour))) {
            let sun = if (8..=17).contains(&hour) { 300 } else { 0 };
            let t = summer + if sun > 0 { 12.0 } else { 2.0 };
            text.push_str(&format!(
                "2001,{},{day},{hour},60,?9,{t:.1},5.0,55,95000,1,{},0,{sun},0,0,0,0,0,0,180,4.0,0,0,9999,99999,9,999999999,0,0,0,88,0,999.0,99.0\n",
                month + 1,
                sun * 2
            ));
        }
    }
    text
}

/// Wind measured at 10 m is written at 2 m, and named in a site file it stays so.
#[test]
fn wind_is_brought_to_two_metres_once() {
    let scratch = Scratch::new("climate-wind");
    fs::write(scratch.0.join("year.epw"), invented_epw()).unwrap();
    // FAO-56 equation 47: 4.87 / ln(67.8 * 10 - 5.42) = 0.748
    let csv = run_in(&scratch.0, &["climate", "read", "year.epw", "--format", "csv"], b"");
    assert!(csv.out.lines().nth(1).unwrap().contains(",2.99,"), "{}{}", csv.out, csv.err);
    let toml = run_in(&scratch.0, &["climate", "read", "year.epw"], b"");
    assert!(toml.out.contains("wind_m_s = [2.99, "), "{}", toml.out);
    fs::write(scratch.0.join("normals.csv"), &csv.out).unwrap();
    let facts = |file: &str| {
        let site = format!("schema = 1\npurpose = \"lawn\"\n[climate]\nfile = \"{file}\"\n");
        let run = run_in(&scratch.0, &["recommend", "-", "--format", "json"], site.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        let answer: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        let fact = |id: &str| {
            let facts = answer["site"]["facts"].as_array().unwrap();
            facts.iter().find(|fact| fact["id"] == id).cloned().unwrap()
        };
        let et0 = fact("site.et0_year_mm")["value"].as_f64().unwrap();
        (et0, fact("site.wind_m_s")["value"][6].as_f64().unwrap(), fact("site.elevation_m"))
    };
    let (direct, by_table) = (facts("year.epw"), facts("normals.csv"));
    assert!((direct.0 - by_table.0).abs() < 0.005 * direct.0, "{direct:?} {by_table:?}");
    assert!((direct.1 - 2.992).abs() < 0.01 && (by_table.1 - 2.99).abs() < 0.01, "{direct:?} {by_table:?}");
    assert_eq!(by_table.2["value"], 500.0);
    assert!(by_table.2["method"].as_str().unwrap().contains("normals.csv"), "{}", by_table.2);
}

/// The table of evapotranspiration carries every input, and its year is that of the site's answer.
#[test]
fn evapotranspiration_is_printed_with_its_inputs() {
    let scratch = Scratch::new("climate-et0");
    fs::write(scratch.0.join("year.epw"), invented_epw()).unwrap();
    let run = run_in(&scratch.0, &["climate", "read", "year.epw", "--et0", "--output", "et0.csv"], b"");
    assert_eq!((run.code, run.out.as_str()), (0, ""), "{}", run.err);
    let text = fs::read_to_string(scratch.0.join("et0.csv")).unwrap();
    assert_eq!(text.lines().count(), 13);
    assert!(text.lines().skip(1).all(|line| line.contains("FAO-56 Penman-Monteith (eq 6)")), "{text}");
    fs::write(scratch.0.join("bare.csv"), "month,tmax_c,tmin_c\n1,9,1\n").unwrap();
    let refused = run_in(&scratch.0, &["climate", "read", "bare.csv", "--et0"], b"");
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("mean daily maximum has no value in month 2, 3"), "{}", refused.err);
}

/// Where wind and humidity are not known the figure of a dry place says which way it errs, and how far.
#[test]
fn evapotranspiration_without_wind_and_humidity_says_which_way_it_errs() {
    let scratch = Scratch::new("climate-et0-sign");
    let method = |rain: &str| {
        let site = format!(
            "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 33\nelevation_m = 300\n[climate]\ntmax_c = [19, 21, 25, 30, 35, 40, 41, 40, 37, 31, 24, 19]\ntmin_c = [7, 9, 12, 15, 20, 25, 28, 28, 25, 18, 11, 7]\nprecip_mm = {rain}\n"
        );
        let run = run_in(&scratch.0, &["recommend", "-", "--format", "json"], site.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        let answer: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        let facts = answer["site"]["facts"].as_array().unwrap();
        let fact = facts.iter().find(|fact| fact["id"] == "site.et0_year_mm").unwrap();
        fact["method"].as_str().unwrap().to_owned()
    };
    let arid = method("[20, 20, 20, 5, 5, 0, 20, 20, 15, 15, 15, 20]");
    assert!(arid.contains("the year's total is likely 16 to 37 % low in arid country"), "{arid}");
    let humid = method("[100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100]");
    assert!(humid.contains("errs by some 12 %") && !humid.contains("low"), "{humid}");
}

/// A `.dly` file holds no position: what is missing is asked for by the name of its option.
#[test]
fn a_position_that_the_file_leaves_out_is_stated_by_option() {
    let scratch = Scratch::new("climate-position");
    let days: String = (1..=12)
        .flat_map(|month| {
            [("TMAX", 200), ("TMIN", 80), ("PRCP", 20)].map(|(element, value)| {
                let lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
                let value = value + if element == "PRCP" { 0 } else { 10 * (6 - (month - 7_i32).abs()) };
                let days: String = (1..=31)
                    .map(|day| {
                        let known = day <= lengths[(month - 1) as usize];
                        format!("{:>5}   ", if known { value } else { -9999 })
                    })
                    .collect();
                format!("USW000000012019{month:02}{element}{days}\n")
            })
        })
        .collect();
    fs::write(scratch.0.join("station.dly"), days).unwrap();
    let run = |more: &[&str]| {
        run_in(&scratch.0, &[&["climate", "read", "station.dly", "--et0"], more].concat(), b"")
    };
    let bare = run(&[]);
    assert_eq!(bare.code, 2);
    assert!(bare.err.contains("the latitude is not known"), "{}", bare.err);
    assert!(bare.err.contains("`--latitude DEGREES --elevation METRES`"), "{}", bare.err);
    let stated = run(&["--latitude", "30.3", "--elevation", "204"]);
    assert_eq!(stated.code, 0, "{}", stated.err);
    assert!(stated.out.lines().nth(1).unwrap().starts_with("1,30.3,204,"), "{}", stated.out);
    assert!(!stated.out.contains("taken as 0 m"), "{}", stated.out);
    let south = run(&["--latitude", "-30.3"]);
    // the table is printed, with a fault of the station
    assert_eq!(south.code, 1, "{}", south.err);
    assert!(south.out.contains("height above sea level taken as 0 m"), "{}", south.out);
    assert!(south.err.contains("the warm season does not fit latitude -30.30"), "{}", south.err);
    let nowhere = run(&["--latitude", "130"]);
    assert_eq!(nowhere.code, 2);
    assert!(nowhere.err.contains("degrees from -90 to 90"), "{}", nowhere.err);
    let normals = root().join("tests/fixtures/climate/noaa-monthly-1991-2020.csv");
    let twice = run_in(&scratch.0, &["climate", "read", normals.to_str().unwrap(), "--latitude", "12"], b"");
    assert_eq!(twice.code, 2);
    assert!(twice.err.contains("`--latitude` says 12") && twice.err.contains("leave"), "{}", twice.err);
}

/// Who only reads a file hears what a check would find: in the TOML, and on stderr whatever is written.
#[test]
fn reading_tells_what_a_check_finds() {
    let scratch = Scratch::new("climate-remarks");
    let mut text = String::from("date,attr,value,a,b,c,d\n");
    for day in 1..=28 {
        let low = if day == 9 { 300 } else { 50 };
        text.push_str(&format!("201902{day:02},TMAX,200,,,X,2400\n201902{day:02},TMIN,{low},,,X,2400\n"));
    }
    fs::write(scratch.0.join("station.csv"), text).unwrap();
    let toml = run_in(&scratch.0, &["climate", "read", "station.csv"], b"");
    // the figures stand there, and are not fit for use
    assert_eq!(toml.code, 1, "{}", toml.err);
    let day = "1 day cannot be: line 18, 2019-02-09: maximum 20 degC is below minimum 30";
    assert!(toml.out.contains(&format!("# fault: {day}")), "{}", toml.out);
    assert!(toml.out.contains("# fault: mean daily maximum: no value in month 1, 3, 4"), "{}", toml.out);
    let csv = run_in(&scratch.0, &["climate", "read", "station.csv", "--format", "csv"], b"");
    assert!(!csv.out.contains("fault"), "{}", csv.out);
    for err in [&toml.err, &csv.err] {
        assert!(err.contains("station.csv: faults: ") && err.contains(day), "{err}");
        assert!(err.contains("`swardwright climate check station.csv` tells all of them"), "{err}");
    }
    let note = "the file does not state its units; taken as tenths of degC and mm";
    assert!(toml.out.contains(&format!("# {note}")) && !toml.err.contains(note), "{}", toml.err);
    assert!(csv.err.contains(note), "{}", csv.err);
}

/// What must be said about a file before its figures may be used is said with the way out.
#[test]
fn packed_files_and_unstated_units_come_with_help() {
    let scratch = Scratch::new("climate-help");
    fs::write(scratch.0.join("year.epw.gz"), [0x1f, 0x8b, 8, 0, 0, 0, 0, 0]).unwrap();
    let packed = run_in(&scratch.0, &["climate", "read", "year.epw.gz"], b"");
    assert_eq!(packed.code, 2);
    assert!(packed.err.contains("unpack it first: `gunzip --keep year.epw.gz`"), "{}", packed.err);
    let wide = run(&["climate", "read", "tests/fixtures/climate/daily-wide-us.csv"]);
    assert_eq!(wide.code, 2);
    assert!(wide.err.contains("--units us --format csv"), "{}", wide.err);
    let stated = run(&["climate", "read", "tests/fixtures/climate/daily-wide-us.csv", "--units", "us"]);
    assert_ne!(stated.code, 2, "{}", stated.err);
    // decimals in a layout of whole tenths are of other units, which are named as the option has them
    let decimals = "date,attr,value,a,b,c,d\n20190201,TMAX,20.5,,,X,2400\n20190202,TMAX,21.5,,,X,2400\n";
    fs::write(scratch.0.join("decimals.csv"), decimals).unwrap();
    let mixed = run_in(&scratch.0, &["climate", "read", "decimals.csv"], b"");
    assert_eq!(mixed.code, 2);
    assert!(
        mixed.err.contains("`20.5` is a decimal number where GHCN-Daily has whole tenths"),
        "{}",
        mixed.err
    );
    assert!(mixed.err.contains("state the units (si or us)"), "{}", mixed.err);
    assert!(mixed.err.contains("decimals.csv --units us --format csv"), "{}", mixed.err);
}

/// A station far from the site, or of few years, is used with a word about it.
#[test]
fn a_far_station_is_told() {
    let scratch = Scratch::new("climate-far");
    let rows: String = (1..=12)
        .map(|month: i32| {
            format!("{month},{},{},40,-90,700\n", 28 - 3 * (month - 7).abs(), 15 - 3 * (month - 7).abs())
        })
        .collect();
    let table = format!("month,tmax_c,tmin_c,latitude_deg,longitude_deg,elevation_m\n{rows}");
    fs::write(scratch.0.join("normals.csv"), table).unwrap();
    let site = "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 42\nlongitude_deg = -90\nelevation_m = 200\n[climate]\nfile = \"normals.csv\"\n";
    let run = run_in(&scratch.0, &["recommend", "-"], site.as_bytes());
    assert_eq!(run.code, 0, "{}", run.err);
    let wanted = "the station lies 222 km away, 500 m higher, its temperatures taken 3.2 K warmer for 500 m";
    assert!(run.err.contains(wanted), "{}", run.err);
    // and in the answer, at the height of the site
    let json = run_in(&scratch.0, &["recommend", "-", "--format", "json"], site.as_bytes());
    let answer: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    let facts = answer["site"]["facts"].as_array().unwrap();
    let tmax = facts.iter().find(|fact| fact["id"] == "site.tmax_c").unwrap();
    assert!((tmax["value"][6].as_f64().unwrap() - 31.25).abs() < 0.01, "{tmax}");
    let told = "222 km away, 500 m higher; temperatures 3.2 K warmer for 500 m, 6.5 K/km of the standard";
    assert!(tmax["method"].as_str().unwrap().contains(told), "{tmax}");
    let high = site.replace("elevation_m = 200", "elevation_m = 20");
    let refused = run_in(&scratch.0, &["recommend", "-"], high.as_bytes());
    assert_eq!(refused.code, 2, "{}", refused.err);
    let wanted = "the station is not near enough: 222 km away, 680 m higher";
    assert!(refused.err.contains(wanted), "{}", refused.err);
    // one that does not say where it stands is taken, and that is told
    let nowhere = rows.replace(",40,-90,700", "");
    fs::write(scratch.0.join("normals.csv"), format!("month,tmax_c,tmin_c\n{nowhere}")).unwrap();
    let run = run_in(&scratch.0, &["recommend", "-", "--width", "400"], site.as_bytes());
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("the file does not say where the station stands"), "{}", run.out);
}

/// The nearest place lends what the site file leaves out, says how far it is, and is refused when it
/// is too far or too high; a place that will do goes before a closer one that will not.
#[test]
fn the_nearest_place_lends_its_climate() {
    let scratch = Scratch::new("climate-near");
    let site = |place: &str, climate: &str| {
        format!("schema = 1\npurpose = \"lawn\"\n[place]\n{place}\n[climate]\nnear = true\n{climate}")
    };
    let near = |text: String, args: &[&str]| run_in(&scratch.0, args, text.as_bytes());
    let el_paso = "latitude_deg = 32\nlongitude_deg = -106\nelevation_m = 1100";
    let json = near(site(el_paso, "extreme_min_c = -9\n"), &["recommend", "-", "--format", "json"]);
    assert_eq!(json.code, 0, "{}", json.err);
    let warned: serde_json::Value = serde_json::from_str(&json.err).unwrap();
    assert_eq!(warned["findings"][0]["code"], "nearest-place");
    let words = warned["findings"][0]["message"].as_str().unwrap();
    let lent = "of the climate, tmax_c, tmin_c, precip_mm, solar_mj_m2_d, wind_m_s, rh_pct came from El Paso, TX, 41 km away, 94 m higher";
    assert!(words.starts_with(lent), "{words}");
    let answer: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    let facts = answer["site"]["facts"].as_array().unwrap();
    let fact = |id: &str| facts.iter().find(|fact| fact["id"] == id).unwrap();
    assert_eq!(fact("site.tmax_c")["origin"], "nearest place");
    let words = fact("site.tmax_c")["method"].as_str().unwrap();
    let wanted = "El Paso, TX, 41 km away, 94 m higher; temperatures 0.6 K warmer for 94 m, 6.5 K/km of the standard atmosphere (1991-2020; sun, wind and humidity of a typical year; noaa-gsom";
    assert!(words.starts_with(wanted), "{words}");
    assert_eq!(fact("site.extreme_min_c")["origin"], "given");
    // wind and humidity come with the place, and are said to; with them the equation is whole
    let wind = fact("site.wind_m_s")["method"].as_str().unwrap();
    assert!(wind.ends_with("as at the place, brought from 10 m to 2 m (FAO-56 eq 47)"), "{wind}");
    let humidity = fact("site.rh_pct")["method"].as_str().unwrap();
    assert!(humidity.ends_with("; as at the place"), "{humidity}");
    let demand = fact("site.et0_year_mm");
    assert_eq!(demand["origin"], "computed", "{demand}");
    let method = demand["method"].as_str().unwrap();
    let wanted = "sun, wind, humidity as at the nearest place, El Paso, TX, 41 km away";
    assert!(method.contains("(eq 6), all inputs given") && method.contains(wanted), "{method}");
    let text = near(site(el_paso, ""), &["recommend", "-", "--width", "400"]);
    assert!(text.out.contains("nearest place El Paso, TX, 41 km away, 94 m higher"), "{}", text.out);
    let high = "latitude_deg = 32\nlongitude_deg = -106\nelevation_m = 1900";
    let refused = near(site(high, ""), &["recommend", "-"]);
    assert_eq!(refused.code, 2, "{}", refused.out);
    assert!(refused.err.contains("error[no-place-near]"), "{}", refused.err);
    // the best fit is not the one at the least distance: both are named
    let pass = "latitude_deg = 33.4\nlongitude_deg = -111.9\nelevation_m = 2900";
    let refused = near(site(pass, ""), &["recommend", "-", "--width", "400"]);
    let words = refused.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("the nearest is Phoenix, AZ, ")
            && words.contains(" m lower, the best fit by distance and height "),
        "{words}"
    );
    // Phoenix is 10 km away and too low
    let slope = "latitude_deg = 33.4\nlongitude_deg = -111.9\nelevation_m = 1200";
    let prescott = near(site(slope, ""), &["recommend", "-"]);
    assert_eq!(prescott.code, 0, "{}", prescott.err);
    assert!(prescott.err.contains("Prescott, AZ, 147 km away, 337 m higher"), "{}", prescott.err);
    // a knowledge folder of one's own may hold a place whose rain is not known
    copy_folder(&root().join("knowledge"), &scratch.0.join("knowledge"));
    let place = scratch.0.join("knowledge/climates/prescott-az.toml");
    let text = fs::read_to_string(&place).unwrap().replace("precip_mm", "# precip_mm");
    fs::write(&place, text).unwrap();
    let higher = slope.replace("1200", "1500");
    let dry = near(site(&higher, ""), &["recommend", "-", "--knowledge", "knowledge"]);
    assert_eq!(dry.code, 0, "{}", dry.err);
    assert!(dry.err.contains("Prescott, AZ") && dry.err.contains("so give `precip_mm`"), "{}", dry.err);
}

/// The temperatures of the nearest place are brought to the height of the site, 6.5 K/km, the coldest
/// of the year too; rain is not. Without a height the place's own stands for it, as an estimate.
#[test]
fn the_nearest_place_is_brought_to_the_height_of_the_site() {
    let scratch = Scratch::new("climate-height");
    let facts = |height: &str| {
        let place = format!("latitude_deg = 32\nlongitude_deg = -106\n{height}");
        let site = format!("schema = 1\npurpose = \"lawn\"\n[place]\n{place}\n[climate]\nnear = true\n");
        let run = run_in(&scratch.0, &["recommend", "-", "--format", "json"], site.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        (serde_json::from_str::<serde_json::Value>(&run.out).unwrap(), run.err)
    };
    let fact = |answer: &serde_json::Value, id: &str| {
        let facts = answer["site"]["facts"].as_array().unwrap();
        facts.iter().find(|fact| fact["id"] == id).cloned().unwrap()
    };
    let number = |answer: &serde_json::Value, id: &str| {
        let value = fact(answer, id)["value"].clone();
        value.as_f64().or_else(|| value[6].as_f64()).unwrap()
    };
    // El Paso lies at 1194.2 m
    let (level, level_err) = facts("elevation_m = 1194");
    let (high, high_err) = facts("elevation_m = 1514");
    assert!(!level_err.contains("warmer") && !level_err.contains("cooler"), "{level_err}");
    let wanted = "El Paso, TX, 41 km away, 320 m lower, its temperatures taken 2.1 K cooler for 320 m";
    assert!(high_err.contains(wanted), "{high_err}");
    for id in ["site.tmax_c", "site.tmin_c", "site.extreme_min_c"] {
        let fall = number(&level, id) - number(&high, id);
        assert!((fall - 0.0065 * 319.8).abs() < 1e-6, "{id} falls by {fall}");
    }
    assert_eq!(fact(&level, "site.precip_mm")["value"], fact(&high, "site.precip_mm")["value"]);

    let (open, open_err) = facts("");
    assert!(open_err.contains("the site's height is not stated"), "{open_err}");
    assert!(open_err.contains("its 1194 m above sea level stand for the site's"), "{open_err}");
    let height = fact(&open, "site.elevation_m");
    assert_eq!((height["origin"].as_str(), height["value"].as_f64()), (Some("estimated"), Some(1194.2)));
    assert!(height["method"].as_str().unwrap().contains("as that of El Paso, TX"), "{height}");
    for id in ["site.tmax_c", "site.tmin_c", "site.extreme_min_c", "site.et0_year_mm"] {
        assert!((number(&open, id) - number(&level, id)).abs() < 0.01, "{id}");
    }
    let method = fact(&open, "site.et0_year_mm")["method"].as_str().unwrap().to_owned();
    assert!(method.contains("height above sea level as that of El Paso, TX"), "{method}");
}

/// What is written is whole or nothing, and never the station file itself, by whatever name.
#[test]
fn the_station_file_is_not_written_over() {
    let scratch = Scratch::new("climate-output");
    let station = fs::read(root().join("tests/fixtures/climate/noaa-monthly-1991-2020.csv")).unwrap();
    fs::write(scratch.0.join("station.csv"), &station).unwrap();
    fs::create_dir(scratch.0.join("sub")).unwrap();
    let mut names = vec!["station.csv", "./station.csv", "sub/../station.csv"];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("station.csv", scratch.0.join("link.csv")).unwrap();
        fs::hard_link(scratch.0.join("station.csv"), scratch.0.join("hard.csv")).unwrap();
        names.extend(["link.csv", "hard.csv"]);
    }
    for name in names {
        let run = run_in(&scratch.0, &["climate", "read", "station.csv", "--output", name], b"");
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{name}");
        assert!(
            run.err.contains("error[unwritable]") && run.err.contains("overwrite"),
            "{name}: {}",
            run.err
        );
        assert_eq!(fs::read(scratch.0.join("station.csv")).unwrap(), station, "{name}");
    }
    let written =
        run_in(&scratch.0, &["climate", "read", "station.csv", "--output", "sub/normals.toml"], b"");
    assert_eq!((written.code, written.out.as_str()), (0, ""), "{}", written.err);
    let left: Vec<_> =
        fs::read_dir(scratch.0.join("sub")).unwrap().flatten().map(|e| e.file_name()).collect();
    assert_eq!(left, ["normals.toml"], "nothing temporary is left");
    let refused = run_in(&scratch.0, &["climate", "read", "none.csv", "--output", "sub/normals.toml"], b"");
    assert_eq!(refused.code, 2);
    assert!(fs::read_to_string(scratch.0.join("sub/normals.toml")).unwrap().contains("[climate]"));
}

/// Years and units that a format cannot honour are refused, not passed over.
#[test]
fn choices_that_a_format_cannot_honour_are_refused() {
    let scratch = Scratch::new("climate-choices");
    fs::write(scratch.0.join("year.epw"), invented_epw()).unwrap();
    let normals = root().join("tests/fixtures/climate/noaa-monthly-1981-2010.csv");
    let normals = normals.to_str().unwrap();
    let dly = root().join("tests/fixtures/climate/ghcn-daily.dly");
    for (file, choice, words) in [
        (normals, ["--years", "1991-2000"], "years cannot be chosen for this format"),
        (normals, ["--units", "us"], "units cannot be chosen for this format"),
        ("year.epw", ["--years", "1991-2000"], "its months are each of a different year"),
        ("year.epw", ["--units", "us"], "units cannot be chosen for this format, EnergyPlus weather (EPW)"),
        (dly.to_str().unwrap(), ["--units", "us"], "it has units of its own"),
        (dly.to_str().unwrap(), ["--years", "1700-1750"], "nothing of 1700 to 1750: the file has 2019"),
    ] {
        for command in ["read", "check"] {
            let run = run_in(&scratch.0, &["climate", command, file, choice[0], choice[1]], b"");
            assert_eq!((run.code, run.out.as_str()), (2, ""), "{file} {choice:?}");
            assert!(run.err.contains(words), "{file} {choice:?}: {}", run.err);
        }
    }
}

/// A check looks at the days: what cannot be is a fault, what is missing or hard to believe a note.
#[test]
fn a_check_tells_of_days_flags_and_completeness() {
    let check = |name: &str| run(&["climate", "check", &format!("tests/fixtures/climate/{name}")]);
    let dly = check("ghcn-daily.dly");
    for words in [
        "note: quality flag ",
        " left out (",
        "note: measurement flag T on ",
        "(a trace, too little to measure)",
        "  days 2019-01-01 to 2019-12-31",
        "note: TMAX: ",
        "note: no year is whole enough for a balance by days; left out for too many missing days: 2019",
    ] {
        assert!(dly.out.contains(words), "{words}: {}", dly.out);
    }
    let normals = check("noaa-monthly-1991-2020.csv");
    assert_eq!(normals.code, 0, "{}", normals.out);
    let wanted =
        "note: tmin_c: completeness R in 6 months (10 years or more, gaps filled from neighbouring stations)";
    assert!(normals.out.contains(wanted), "{}", normals.out);

    let scratch = Scratch::new("climate-days");
    let days = |middle: &str| {
        let mut text = String::from("date,TMAX,TMIN,PRCP\n");
        for year in 2001..=2003 {
            for (month, length) in (1..).zip([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) {
                for day in 1..=length {
                    let t = 5 + 20 - 4 * (month - 7_i32).abs() + day % 5;
                    let usual = format!("{t},{},1", t - 10);
                    let own = if (year, month, day) == (2002, 6, 15) { middle } else { &usual };
                    text.push_str(&format!("{year}-{month:02}-{day:02},{own}\n"));
                }
            }
        }
        fs::write(scratch.0.join("days.csv"), text).unwrap();
        run_in(&scratch.0, &["climate", "check", "days.csv", "--units", "si"], b"")
    };
    let (good, contrary, odd) = (days("21,11,1"), days("11,21,1"), days("45,11,600"));
    assert_eq!((good.code, contrary.code, odd.code), (0, 1, 0), "{}{}{}", good.out, contrary.out, odd.out);
    assert!(!good.out.contains("2002-06-15"), "{}", good.out);
    let wanted = "fault: line 532, 2002-06-15: maximum 11 degC is below minimum 21";
    assert!(contrary.out.contains(wanted), "{}", contrary.out);
    assert!(odd.out.contains("note: line 532, 2002-06-15: TMAX 45 degC is "), "{}", odd.out);
    assert!(odd.out.contains("note: line 532, 2002-06-15: 600 mm of rain in a day"), "{}", odd.out);
    assert!(good.out.contains("the balance by days takes 2001 to 2003\n"), "{}", good.out);
    let short =
        run_in(&scratch.0, &["climate", "check", "days.csv", "--units", "si", "--years", "2000-2002"], b"");
    assert!(short.out.contains("note: TMIN: no day in 2000\n"), "{}", short.out);
}

/// Real station files, where the folder is named; else the skip is told.
#[test]
fn real_station_files() {
    let Some(folder) = std::env::var_os("SWARDWRIGHT_CLIMATE_DIR") else {
        println!("NOT READ: 26 real station files by command (SWARDWRIGHT_CLIMATE_DIR is not set)");
        return;
    };
    let folder = std::path::PathBuf::from(folder);
    let folder = if folders(&folder).contains(&"raw".to_owned()) { folder.join("raw") } else { folder };
    let (mut read, mut refused) = (0, 0);
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path().to_string_lossy().into_owned();
        let run = run(&["climate", "check", &path]);
        match run.code {
            0 | 1 => read += 1,
            2 => refused += 1,
            code => panic!("{path}: exit {code}"),
        }
    }
    println!("{read} real station files read by command, {refused} refused with a reason");
    assert!(read > 0);
}

/// A check tells what no place on earth has, with month, value, limit and reason, and what looks like
/// another unit.
#[test]
fn a_check_tells_of_figures_beyond_the_earth() {
    let scratch = Scratch::new("climate-beyond");
    let check = |rows: &dyn Fn(i32) -> String| {
        let body: String = (1..=12).map(|month| format!("{month},{}\n", rows(month))).collect();
        fs::write(scratch.0.join("t.csv"), format!("month,tmax_c,tmin_c,precip_mm\n{body}")).unwrap();
        run_in(&scratch.0, &["climate", "check", "t.csv"], b"")
    };
    let mild = |month: i32| 28 - 4 * (month - 7).abs();
    let usual = check(&|month| format!("{},{},80", mild(month), mild(month) - 11));
    assert_eq!(usual.code, 0, "{}", usual.out);
    assert!(!usual.out.contains("above") && !usual.out.contains("below"), "{}", usual.out);
    let hot = check(&|month| format!("{},{},80", mild(month) + 26, mild(month) + 10));
    assert_eq!(hot.code, 1);
    let wanted = "fault: month 6, 7, 8: mean daily maximum up to 54.0 degC is above 48 degC: no place on earth has such a month";
    assert!(hot.out.contains(wanted), "{}", hot.out);
    assert!(hot.out.contains("fault: month 7: mean daily minimum 38.0 degC is above 36 degC"), "{}", hot.out);
    let inches = check(&|month| format!("{},{},3.2", mild(month), mild(month) - 11));
    assert_eq!(inches.code, 0);
    assert!(inches.out.contains("note: year: precipitation 38.4 mm is below 80 mm"), "{}", inches.out);
    let wet = check(&|month| format!("{},{},800", mild(month), mild(month) - 11));
    assert!(wet.out.contains("note: year: precipitation 9600.0 mm is above 4000 mm"), "{}", wet.out);
    let text = fs::read_to_string(scratch.0.join("t.csv")).unwrap();
    let warm = text.replace("precip_mm\n", "precip_mm,extreme_min_c\n").replace(",800\n", ",800,6\n");
    fs::write(scratch.0.join("warm.csv"), warm).unwrap();
    let warm = run_in(&scratch.0, &["climate", "check", "warm.csv"], b"");
    assert_eq!(warm.code, 1);
    assert!(warm.out.contains("fault: the mean annual extreme minimum, 6.0 degC, is above"), "{}", warm.out);
}

/// A check goes on after values that cannot be: it tells the first twenty with their places and counts the
/// rest, where a reading for use stops at the first.
#[test]
fn a_check_tells_of_all_values_that_cannot_be() {
    let scratch = Scratch::new("climate-impossible");
    let days = |wrong: usize| {
        let mut text = String::from("date,attr,value,a,b,c,d\n");
        for day in 1..=28 {
            let (high, rain) = if day <= wrong { (999, -50) } else { (200, 10) };
            text.push_str(&format!(
                "201902{day:02},TMAX,{high},,,X,2400\n201902{day:02},PRCP,{rain},,,X,2400\n"
            ));
        }
        fs::write(scratch.0.join("days.csv"), text).unwrap();
    };
    days(2);
    let check = |name: &str| run_in(&scratch.0, &["climate", "check", name], b"");
    let few = check("days.csv");
    assert_eq!(few.code, 1, "{}", few.err);
    for wanted in [
        "fault: line 2, column 15 (TMAX): `999` is outside -90 to 60 degC",
        "fault: line 3, column 15 (PRCP): `-50` is outside 0 to 2000 mm",
        "fault: line 5, column 15 (PRCP): `-50` is outside 0 to 2000 mm",
        "fault: mean daily minimum: no value in month 1, 2, 3",
    ] {
        assert!(few.out.contains(wanted), "{wanted}: {}", few.out);
    }
    let read = run_in(&scratch.0, &["climate", "read", "days.csv"], b"");
    assert_eq!(read.code, 2, "{}", read.out);
    assert!(read.err.contains("days.csv:2:15: `TMAX`: `999` is outside"), "{}", read.err);
    days(15);
    let many = check("days.csv").out;
    assert_eq!(many.lines().filter(|line| line.contains("is outside")).count(), 20, "{many}");
    assert!(many.contains("fault: 10 more values that cannot be"), "{many}");

    // in a table of months too, and in the hours of a typical year; its latitude has a place
    fs::write(scratch.0.join("t.csv"), "month,tmax_c,tmin_c\n1,99,1\n2,9,-120\n").unwrap();
    let table = check("t.csv").out;
    assert!(
        table.contains("line 2, column 3 (tmax_c)") && table.contains("line 3, column 5 (tmin_c)"),
        "{table}"
    );
    let epw = invented_epw();
    let line = epw.lines().next().unwrap();
    let cells: Vec<&str> = line.split(',').collect();
    let north = [&cells[..6], &["132.17"], &cells[7..]].concat().join(",");
    fs::write(scratch.0.join("year.epw"), epw.replace(line, &north)).unwrap();
    let latitude = "(latitude): `132.17` is outside -90 to 90 degrees";
    assert!(check("year.epw").out.contains("fault: line 1, column "), "{}", check("year.epw").out);
    assert!(check("year.epw").out.contains(latitude), "{}", check("year.epw").out);
    let read = run_in(&scratch.0, &["climate", "read", "year.epw"], b"");
    assert_eq!(read.code, 2, "an impossible latitude is not written: {}", read.out);
}

/// Rain of 0 in all months of a climate file was not recorded, and is left out; in a site file it is taken
/// at its word, and the way out is told.
#[test]
fn a_year_without_rain_is_left_out_of_a_file_and_told_of_a_site() {
    let scratch = Scratch::new("climate-no-rain");
    let rows: String = (1..=12).map(|m: i32| format!("{m},{},{},0\n", 30 - (m - 7).abs(), 10)).collect();
    fs::write(scratch.0.join("t.csv"), format!("month,tmax_c,tmin_c,precip_mm\n{rows}")).unwrap();
    let toml = run_in(&scratch.0, &["climate", "read", "t.csv"], b"");
    assert!(
        toml.out.contains("# precipitation is 0 in all months: likely not recorded and left out"),
        "{}",
        toml.out
    );
    assert!(!toml.out.contains("precip_mm = "), "{}", toml.out);
    let recommend = |climate: &str| {
        let text =
            format!("schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 30\n[climate]\n{climate}\n");
        let run = run_in(&scratch.0, &["recommend", "-", "--format", "json"], text.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        let answer: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        let facts = answer["site"]["facts"].as_array().unwrap();
        (facts.iter().any(|fact| fact["id"] == "site.precip_mm"), run.err)
    };
    let (known, told) = recommend("file = \"t.csv\"");
    assert!(!known && told.contains("likely not recorded and left out"), "{told}");
    let stated = "precip_mm = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]";
    let (known, told) = recommend(&format!("file = \"t.csv\"\n{stated}"));
    assert!(known && !told.contains("likely not recorded"), "{told}");
    assert!(told.contains("taken as a place where it never rains"), "{told}");
    assert!(told.contains("leave `precip_mm` out where the rain was not recorded"), "{told}");
}

/// A month without a wet hour in a typical year that has rain in the others is told and left empty.
#[test]
fn a_month_of_hours_without_rain_is_left_empty() {
    let scratch = Scratch::new("climate-dry-month");
    let year = invented_epw().lines().fold(String::new(), |text, line| {
        // a shower in the eighth hour of every day but those of February
        let cells: Vec<&str> = line.split(',').collect();
        let wet = cells[0] == "2001" && cells[3] == "8" && cells[1] != "2";
        let line = line.replace(",0,999.0,99.0", if wet { ",0,3.0,1.0" } else { ",0,0.0,1.0" });
        text + &line + "\n"
    });
    fs::write(scratch.0.join("year.epw"), year).unwrap();
    let run = run_in(&scratch.0, &["climate", "check", "year.epw"], b"");
    assert_eq!(run.code, 0, "{}", run.out);
    let told =
        "month 2: no rain in any hour, where the other months have rain: likely not recorded and left empty";
    for wanted in
        ["precip_mm: 11 of 12 months", &format!("note: {told}"), "precipitation: no value in month 2"]
    {
        assert!(run.out.contains(wanted), "{wanted}: {}", run.out);
    }
    assert!(!run.out.contains("month 3: no rain"), "{}", run.out);

    let toml = run_in(&scratch.0, &["climate", "read", "year.epw"], b"");
    assert!(
        toml.out.contains(told) && toml.out.contains("# precip_mm: only 11 of 12 months"),
        "{}",
        toml.out
    );
    assert!(!toml.out.lines().any(|line| line.starts_with("precip_mm")), "{}", toml.out);
    // the eleven others stay in the table of months, where a figure can be written into the gap
    let table = run_in(&scratch.0, &["climate", "read", "year.epw", "--format", "csv"], b"");
    let column = table.out.lines().next().unwrap().split(',').position(|name| name == "precip_mm").unwrap();
    let cell = |month: usize| table.out.lines().nth(month).unwrap().split(',').nth(column).unwrap();
    assert_eq!((cell(1), cell(2), cell(3)), ("93", "", "93"), "{}", table.out);

    // a site that names it learns what to do, and its rain stays open until it is stated
    let site = "schema = 1\nname = \"invented\"\npurpose = \"lawn\"\n[place]\nregion = \"US-TX\"\n[climate]\nfile = \"year.epw\"\n";
    let recommend = |text: &str| {
        fs::write(scratch.0.join("site.toml"), text).unwrap();
        let run = run_in(&scratch.0, &["recommend", "site.toml", "--format", "json"], b"");
        assert_eq!(run.code, 0, "{}", run.err);
        let answer: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        let facts = answer["open"].as_array().unwrap().iter();
        let is_open = facts.filter(|fact| fact["fact"] == "site.precip_mm").count() == 1;
        (run.err, is_open)
    };
    let (told_to, is_open) = recommend(site);
    let advice = "state `precip_mm` of all months in the site file, 0 where one is truly dry";
    assert!(is_open && told_to.contains(told) && told_to.contains(advice), "{told_to}");
    let stated = format!("{site}precip_mm = [93, 0, 93, 90, 93, 90, 93, 93, 90, 93, 90, 93]\n");
    let (told_to, is_open) = recommend(&stated);
    assert!(!is_open && !told_to.contains(told), "{told_to}");
}

/// A station file of 100 MB is read as a stream: the program never holds more than half of it. The rows are wide,
/// as those of the daily access files are, and of years enough.
#[cfg(target_os = "linux")]
#[test]
fn a_station_file_of_a_hundred_megabytes_is_read_in_fifty() {
    use std::io::Write;
    use std::process::{Command, Stdio};

    let mut child = Command::new(env!("CARGO_BIN_EXE_swardwright"))
        .args(["climate", "read", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    // what the program prints waits in its pipe, which it fits
    let names: String = (0..360).map(|at| format!(",WT{at:03},WT{at:03}_ATTRIBUTES")).collect();
    let empty = ",,\",,Z\"".repeat(360);
    let mut sent = 0;
    let mut send = |text: String| {
        sent += text.len();
        stdin.write_all(text.as_bytes()).unwrap();
    };
    send(format!("STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,PRCP,TMAX,TMIN{names}\n"));
    for year in 1900..2020 {
        for month in 1..=12 {
            for day in 1..=28 {
                let (tmax, tmin) = (100 + 15 * (6 - i32::abs(month - 7)), 10 * (6 - i32::abs(month - 7)));
                let place = "40.5,-80.25,310.5,\"INVENTED VALLEY, ZZ\"";
                send(format!(
                    "XX0000INV01,{year}-{month:02}-{day:02},{place},{},{tmax},{tmin}{empty}\n",
                    day % 3 * 40
                ));
            }
        }
    }
    let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap();
    drop(stdin);
    let end = child.wait_with_output().unwrap();
    let most = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap();
    let most_kb: usize = most.trim().trim_end_matches(" kB").parse().unwrap();
    println!("{} MB read in {} MB of memory", sent / 1_000_000, most_kb / 1000);
    assert!(sent > 100_000_000, "{sent}");
    assert!(most_kb < 50_000, "{most_kb} kB for {sent} bytes");
    assert!(end.status.success(), "{}", String::from_utf8_lossy(&end.stderr));
    assert!(String::from_utf8_lossy(&end.stdout).contains("tmax_c"));
}
