//! What a site's climate, light and position give, and what is told of how it was come by.

use std::fs;

use serde_json::Value;

use super::support::{Scratch, root, run_in};

/// An answer as JSON, and what stands on the error stream.
fn answer(scratch: &Scratch, site: &str) -> (Value, String) {
    let run = run_in(&scratch.0, &["recommend", "-", "--format", "json"], site.as_bytes());
    assert_eq!(run.code, 0, "{site}\n{}", run.err);
    (serde_json::from_str(&run.out).unwrap(), run.err)
}

fn find(answer: &Value, id: &str) -> Option<Value> {
    let facts = answer["site"]["facts"].as_array().unwrap();
    facts.iter().find(|fact| fact["id"] == format!("site.{id}")).cloned()
}

fn fact(answer: &Value, id: &str) -> Value {
    find(answer, id).unwrap_or_else(|| panic!("no fact {id}"))
}

fn number(answer: &Value, id: &str) -> f64 {
    fact(answer, id)["value"].as_f64().unwrap()
}

/// Origin and words of a fact.
fn origin(answer: &Value, id: &str) -> (String, String) {
    let fact = fact(answer, id);
    let text = |key: &str| fact[key].as_str().unwrap_or_default().to_owned();
    (text("origin"), text("method"))
}

fn assert_words(answer: &Value, id: &str, wanted_origin: &str, parts: &[&str]) {
    let (origin, words) = origin(answer, id);
    assert_eq!(origin, wanted_origin, "{id}: {words}");
    parts.iter().for_each(|part| assert!(words.contains(part), "{id}: {words}"));
}

/// An invented place at 40 degrees north: months of a temperate climate with summer rain.
const MONTHS: &str = "tmax_c = [2, 4, 10, 16, 22, 27, 29, 28, 24, 18, 10, 4]\n\
    tmin_c = [-8, -7, -2, 4, 9, 14, 17, 16, 11, 5, 0, -5]\n\
    precip_mm = [60, 55, 70, 80, 95, 100, 105, 95, 80, 70, 65, 60]\n";

fn site(place: &str, climate: &str, rest: &str) -> String {
    format!("schema = 1\npurpose = \"lawn\"\n[place]\n{place}\n[climate]\n{climate}\n{rest}\n")
}

/// Named directly, converted to a table, or pasted as a fragment: a station's normals give one answer.
#[test]
fn a_converted_table_gives_the_answer_of_the_file_itself() {
    let scratch = Scratch::new("climate-converted");
    let noaa = "noaa-monthly-1991-2020.csv";
    fs::copy(root().join("tests/fixtures/climate").join(noaa), scratch.0.join("station.csv")).unwrap();
    let converted = |format: &str| {
        let run = run_in(&scratch.0, &["climate", "read", "station.csv", "--format", format], b"");
        // a table has no place for the publisher's remark on its years
        let remark = "warning[climate-remarks]: station.csv: some normals rest on only 24 years";
        assert_eq!((run.code, run.err.starts_with(remark)), (0, format == "csv"), "{}", run.err);
        run.out
    };
    fs::write(scratch.0.join("table.csv"), converted("csv")).unwrap();
    let head = "schema = 1\npurpose = \"lawn\"\n";
    let water = "[water]\nirrigation = \"none\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 40\n";
    let named = |file: &str| answer(&scratch, &format!("{head}[climate]\nfile = \"{file}\"\n{water}")).0;
    let direct = named("station.csv");
    let pasted = answer(&scratch, &format!("{head}{}{water}", converted("toml"))).0;
    let days = fact(&direct, "wet_days")["value"].clone();
    assert_eq!(days.as_array().unwrap().len(), 12);
    let index = |answer: &Value| -> Vec<(String, f64)> {
        let ranking = answer["ranking"].as_array().unwrap().iter();
        let mut all: Vec<_> = ranking
            .map(|one| (one["species"].as_str().unwrap().to_owned(), one["index"].as_f64().unwrap()))
            .collect();
        all.sort_by(|a, b| a.0.cmp(&b.0));
        all
    };
    for other in [named("table.csv"), pasted] {
        assert_eq!(fact(&other, "wet_days")["value"], days);
        let (own, other) = (index(&direct), index(&other));
        assert_eq!(own.len(), other.len());
        for ((species, a), (same, b)) in own.iter().zip(&other) {
            assert_eq!(species, same);
            // figures are written to two decimals
            assert!((a - b).abs() < 0.3, "{species}: {a} and {b}");
        }
    }
    let text = run_in(
        &scratch.0,
        &["recommend", "-", "--width", "400"],
        format!("{head}[climate]\nfile = \"table.csv\"\n").as_bytes(),
    );
    assert!(text.out.contains("on as many days with rain as are stated"), "{}", text.out);
}

/// Days with rain of a station say nothing of the site's own rain.
#[test]
fn days_with_rain_belong_to_their_rain() {
    let scratch = Scratch::new("climate-wet-days");
    let words = |climate: &str| {
        let text = site("latitude_deg = 40", climate, "");
        run_in(&scratch.0, &["recommend", "-", "--width", "400"], text.as_bytes()).out
    };
    let known = "on as many days with rain as are stated";
    let days = "wet_days = [9, 9, 10, 10, 11, 10, 9, 8, 8, 8, 9, 9]\n";
    assert!(!words(MONTHS).contains(known));
    assert!(words(&format!("{MONTHS}{days}")).contains(known));
    let rows: String = (1..=12)
        .map(|m: i32| format!("{m},{},{},90,11\n", 29 - 3 * (m - 7).abs(), 16 - 3 * (m - 7).abs()))
        .collect();
    fs::write(scratch.0.join("t.csv"), format!("month,tmax_c,tmin_c,precip_mm,wet_days\n{rows}")).unwrap();
    assert!(words("file = \"t.csv\"\n").contains(known));
    let own_rain = "file = \"t.csv\"\nprecip_mm = [60, 55, 70, 80, 95, 100, 105, 95, 80, 70, 65, 60]\n";
    assert!(!words(own_rain).contains(known));
}

/// Invented days in a layout without units, as degF and inches: frost to the end of March and from
/// November, July of 32 degC; `turned` puts the summer into January.
fn daily_us(years: std::ops::RangeInclusive<i32>, turned: bool) -> String {
    let mut text = String::from("year,month,day,date,PRCP,SNOW,TMAX,TMIN\n");
    for year in years {
        for (month, days) in [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31].into_iter().enumerate() {
            let (tmax, tmin) = match if turned { (month + 6) % 12 } else { month } {
                0..=2 | 10.. => (41.0, 30.2),
                6 => (89.6, 64.4),
                _ => (68.0, 46.4),
            };
            for day in 1..=days {
                let rain = if day % 6 == 0 { 0.5 } else { 0.0 };
                let month = month + 1;
                text.push_str(&format!(
                    "{year},{month:02},{day:02},{year}-{month:02}-{day:02},{rain},0,{tmax},{tmin}\n"
                ));
            }
        }
    }
    text
}

/// A layout without units is named directly once `file_units` states them.
#[test]
fn a_site_file_states_the_units_of_its_climate_file() {
    let scratch = Scratch::new("climate-units");
    fs::write(scratch.0.join("wide.csv"), daily_us(2001..=2004, false)).unwrap();
    let file = "file = \"wide.csv\"\n";
    let refused = run_in(&scratch.0, &["recommend", "-"], site("latitude_deg = 40", file, "").as_bytes());
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("`file_units = \"us\"`"), "{}", refused.err);
    let us = answer(&scratch, &site("latitude_deg = 40", &format!("{file}file_units = \"us\""), "")).0;
    let july = fact(&us, "tmax_c")["value"][6].as_f64().unwrap();
    assert!((july - 32.0).abs() < 0.01, "{july}");
    assert!((fact(&us, "precip_mm")["value"][0].as_f64().unwrap() - 5.0 * 12.7).abs() < 0.01);
    // metric would be a July of 89.6 degC
    let si = site("latitude_deg = 40", &format!("{file}file_units = \"si\""), "");
    assert_eq!(run_in(&scratch.0, &["recommend", "-"], si.as_bytes()).code, 2);
    fs::write(scratch.0.join("t.csv"), "month,tmax_c,tmin_c\n").unwrap();
    let rows: String = (1..=12).map(|m: i32| format!("{m},{},{}\n", 30 - (m - 7).abs(), 10)).collect();
    fs::write(scratch.0.join("t.csv"), format!("month,tmax_c,tmin_c\n{rows}")).unwrap();
    // a table that states its units is given no others, which is told where they stand
    let stated = site("latitude_deg = 40", "file = \"t.csv\"\nfile_units = \"us\"", "");
    let refused = run_in(&scratch.0, &["recommend", "-"], stated.as_bytes());
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("units cannot be chosen for this format"), "{}", refused.err);
    assert!(refused.err.contains("<standard input>:7:14"), "{}", refused.err);
    assert!(refused.err.contains("leave `file_units` out"), "{}", refused.err);
    let schema = fs::read_to_string(root().join("schemas/site.schema.json")).unwrap();
    assert!(schema.contains("\"file_units\""), "an editor would mark `file_units` as unknown");
}

/// What a table of months cannot hold of a station's days is said where it is written.
#[test]
fn a_table_says_that_it_does_not_keep_the_days() {
    let scratch = Scratch::new("climate-days-lost");
    fs::write(scratch.0.join("wide.csv"), daily_us(2001..=2004, false)).unwrap();
    let read = |format: &str| {
        run_in(&scratch.0, &["climate", "read", "wide.csv", "--units", "us", "--format", format], b"")
    };
    let wanted = "the station's own days (4 years, 2001 to 2004) are not kept in this table";
    let (toml, csv) = (read("toml"), read("csv"));
    assert!(toml.out.contains(&format!("# {wanted}")), "{}", toml.out);
    assert_eq!(csv.code, 0);
    assert!(csv.err.contains(wanted), "{}", csv.err);
    fs::write(scratch.0.join("table.csv"), csv.out).unwrap();
    let again = run_in(&scratch.0, &["climate", "read", "table.csv", "--format", "csv"], b"");
    assert_eq!((again.code, again.err.as_str()), (0, ""));
}

/// With three whole years and more, hot days, frosts and degree days are counted, in both halves of
/// the earth; where the site states its own temperatures, they are estimated from those.
#[test]
fn hot_days_and_frosts_are_counted_in_the_days() {
    let scratch = Scratch::new("climate-counted");
    fs::write(scratch.0.join("north.csv"), daily_us(2001..=2004, false)).unwrap();
    fs::write(scratch.0.join("south.csv"), daily_us(2001..=2004, true)).unwrap();
    fs::write(scratch.0.join("short.csv"), daily_us(2001..=2002, false)).unwrap();
    let get = |place: &str, file: &str, more: &str| {
        answer(&scratch, &site(place, &format!("file = \"{file}\"\nfile_units = \"us\"\n{more}"), "")).0
    };
    for (place, file) in [("latitude_deg = 40", "north.csv"), ("latitude_deg = -40", "south.csv")] {
        let counted = get(place, file, "");
        for id in ["heat_days", "frost_free_days", "degree_days"] {
            assert_words(&counted, id, "computed", &["counted in the station's days, 2001 to 2004"]);
        }
        assert_eq!(number(&counted, "heat_days"), 31.0, "{file}");
        // April to October, or October to April (from the month before the turned March)
        let frost_free = if file == "north.csv" { 214.0 } else { 212.0 };
        assert_eq!(number(&counted, "frost_free_days"), frost_free, "{file}");
        let other = if file == "north.csv" { 183.0 } else { 181.0 };
        let degree_days = 31.0 * 20.0 + other * 9.0;
        assert!((number(&counted, "degree_days") - degree_days).abs() < 0.5, "{file}");
    }
    let short = get("latitude_deg = 40", "short.csv", "");
    assert_words(&short, "heat_days", "estimated", &["monthly mean maxima", "standard error 6 d"]);
    assert_words(&short, "frost_free_days", "estimated", &["standard error 14 d"]);
    let own = "tmax_c = [2, 4, 10, 16, 22, 27, 29, 28, 24, 18, 10, 4]\ntmin_c = [-8, -7, -2, 4, 9, 14, 17, 16, 11, 5, 0, -5]";
    let own = get("latitude_deg = 40", "north.csv", own);
    assert_words(&own, "heat_days", "estimated", &["monthly mean maxima"]);
}

/// The months of a species say how much rain the days of the balance have, where those are a station's:
/// here half of the years read are whole, and those have the more rain.
#[test]
fn the_months_tell_the_rain_of_the_balance() {
    let scratch = Scratch::new("climate-rain-of-days");
    let days = daily_us(2001..=2003, false);
    fs::write(scratch.0.join("wide.csv"), &days).unwrap();
    let months = |climate: &str| {
        let rest = "[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 40\n[water]\nirrigation = \"none\"";
        let text = site("latitude_deg = 40", climate, rest);
        let run = run_in(&scratch.0, &["explain", "-", "tall fescue", "--months"], text.as_bytes());
        assert_eq!(run.code, 0, "{}", run.err);
        run.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let own = months("file = \"wide.csv\"\nfile_units = \"us\"");
    // 59 days a year with 12.7 mm
    assert!(own.contains("the whole years that the balance runs on have 749 mm a year"), "{own}");
    assert!(!months(MONTHS).contains("the whole years that the balance runs on"));
}

/// North of the polar circle an answer is given as anywhere: the sun of its months is computed.
#[test]
fn a_lawn_north_of_the_polar_circle_is_answered() {
    let scratch = Scratch::new("climate-polar");
    let months = "tmax_c = [-1, -1, 1, 4, 9, 13, 16, 15, 10, 5, 2, 0]\n\
        tmin_c = [-6, -6, -5, -2, 2, 6, 9, 8, 5, 1, -3, -5]\n\
        precip_mm = [95, 88, 72, 64, 48, 59, 77, 82, 102, 131, 108, 106]\n";
    let (found, told) =
        answer(&scratch, &site("latitude_deg = 69.6", months, "[light]\nexposure = \"full-sun\""));
    let demand = number(&found, "et0_year_mm");
    assert!((250.0..600.0).contains(&demand), "{demand} {told}");
    assert!(number(&found, "dli") > 0.0);
}

/// The error of an estimated extreme minimum is that of places like the site's.
#[test]
fn an_estimated_minimum_says_where_it_was_fitted() {
    let scratch = Scratch::new("climate-fitted");
    let method = |place: &str| {
        let (found, _) = answer(&scratch, &site(place, MONTHS, ""));
        origin(&found, "extreme_min_c").1
    };
    for like in ["latitude_deg = 40\nlongitude_deg = -95", "region = \"US-KS\"\nlatitude_deg = 39"] {
        let words = method(like);
        assert!(words.contains("standard error 1.6 K") && !words.contains("fitted in"), "{like}: {words}");
    }
    for unlike in [
        "latitude_deg = 40",
        "latitude_deg = 47\nlongitude_deg = -122",
        "region = \"US-WA\"\nlatitude_deg = 47",
        "latitude_deg = 40\nlongitude_deg = -75\ncoast = true",
    ] {
        let words = method(unlike);
        let wanted = "standard error 2.9 K; fitted in the interior, east and south of the United States";
        assert!(words.contains(wanted), "{unlike}: {words}");
    }
}

/// Estimates are called so, with the error of their method.
#[test]
fn estimates_carry_their_error() {
    let scratch = Scratch::new("climate-errors");
    let get = |climate: &str, rest: &str| {
        answer(&scratch, &site("latitude_deg = 40", &format!("{MONTHS}{climate}"), rest)).0
    };
    let sun = "[light]\nsun_hours = 9";
    let plain = get("", sun);
    for id in ["et0_mm", "et0_year_mm"] {
        assert_words(&plain, id, "estimated", &["by Hargreaves-Samani", "some 12 %"]);
    }
    for id in ["dli", "dli_months"] {
        assert_words(&plain, id, "estimated", &["from the hours of sun", "eq 50"]);
    }
    for id in ["warm_growth_months", "cool_growth_months"] {
        assert_words(&plain, id, "computed", &["Celsius set, optima 20 and 31 °C"]);
    }
    let wind = "wind_m_s = [2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2]\n";
    let windy = get(wind, sun);
    assert_words(&windy, "et0_year_mm", "estimated", &["Penman-Monteith", "some 10 %", "eq 50 for inland"]);
    let all = "solar_mj_m2_d = [7, 10, 14, 18, 21, 23, 23, 20, 16, 12, 8, 6]\nrh_pct = [70, 68, 65, 62, 64, 66, 68, 70, 70, 68, 70, 72]\n";
    let whole = get(&format!("{wind}{all}"), sun);
    assert_words(&whole, "et0_year_mm", "computed", &["all inputs given"]);
    assert_words(&whole, "dli", "computed", &["solar radiation as given"]);
}

/// FAO-56 equation 50 with kRs 0.19 on a coast for 0.16 inland, told either way.
#[test]
fn a_coast_has_more_sun_for_its_range_of_temperature() {
    let scratch = Scratch::new("climate-coast");
    // a mild range, so that the limit of a clear sky is not met
    let months = "tmax_c = [10, 10, 12, 14, 17, 20, 22, 22, 20, 16, 13, 11]\ntmin_c = [4, 4, 5, 6, 9, 12, 14, 14, 12, 9, 6, 5]\nprecip_mm = [60, 55, 70, 80, 95, 100, 105, 95, 80, 70, 65, 60]\n";
    let get = |coast: &str| {
        let place = format!("latitude_deg = 40\n{coast}");
        answer(&scratch, &site(&place, months, "[light]\nexposure = \"full-sun\"")).0
    };
    let (unknown, inland, coast) = (get(""), get("coast = false"), get("coast = true"));
    let july = |answer: &Value| fact(answer, "dli_months")["value"][6].as_f64().unwrap();
    assert!((july(&coast) / july(&inland) - 0.19 / 0.16).abs() < 1e-3, "{} {}", july(&coast), july(&inland));
    assert_eq!(july(&unknown), july(&inland));
    assert_words(&coast, "dli", "estimated", &["for a coast (kRs 0.19)"]);
    assert_words(
        &unknown,
        "dli",
        "estimated",
        &["for inland (kRs 0.16), as the site file does not say `coast`"],
    );
    assert!(!origin(&inland, "dli").1.contains("does not say"));
}

/// Hours of sunshine give solar radiation by FAO-56 equation 35, for light and for the air's demand.
#[test]
fn hours_of_sunshine_give_radiation() {
    let scratch = Scratch::new("climate-sunshine");
    let hours = "sunshine_h = [4, 5, 6, 7, 8, 9, 10, 9, 7, 6, 4, 4]\nwind_m_s = [2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2]\nrh_pct = [70, 68, 65, 62, 64, 66, 68, 70, 70, 68, 70, 72]\n";
    let get = |more: &str| {
        let climate = format!("{MONTHS}{hours}{more}");
        answer(&scratch, &site("latitude_deg = 40", &climate, "[light]\nexposure = \"full-sun\"")).0
    };
    let by_sunshine = get("");
    // July at 40 N: Ra 40.6 MJ/m2/d and 14.6 h of daylight (means of the month), 2.0565 mol/MJ
    let july = fact(&by_sunshine, "dli_months")["value"][6].as_f64().unwrap();
    let wanted = 2.0565 * (0.25 + 0.5 * 10.0 / 14.6) * 40.6;
    assert!((july - wanted).abs() < 0.01 * wanted, "{july} for {wanted}");
    assert_words(&by_sunshine, "dli", "computed", &["hours of sunshine (FAO-56 eq 35)"]);
    assert_words(&by_sunshine, "et0_year_mm", "computed", &["hours of sunshine (FAO-56 eq 35)"]);
    let measured = get("solar_mj_m2_d = [7, 10, 14, 18, 21, 23, 23, 20, 16, 12, 8, 6]\n");
    assert_words(&measured, "dli", "computed", &["solar radiation as given"]);
}

/// The words about the nearest place tell what was lent, and nothing else.
#[test]
fn the_nearest_place_tells_what_it_lent() {
    let scratch = Scratch::new("climate-lent");
    let place = "latitude_deg = 32\nlongitude_deg = -106\nelevation_m = 1514";
    let told = |climate: &str| {
        let (answer, err) = answer(&scratch, &site(place, &format!("near = true\n{climate}"), ""));
        let err: Value = serde_json::from_str(&err).unwrap();
        (answer, err["findings"][0]["message"].as_str().unwrap().to_owned())
    };
    let temperatures = "tmax_c = [14, 17, 21, 26, 31, 35, 35, 34, 31, 26, 19, 14]\ntmin_c = [0, 2, 6, 10, 15, 20, 22, 21, 17, 11, 4, 0]\nextreme_min_c = -9\n";
    let rain = "precip_mm = [10, 10, 7, 6, 10, 20, 40, 45, 35, 18, 11, 18]\n";
    let (whole, words) = told("");
    assert!(words.starts_with("the climate is that of El Paso"), "{words}");
    assert!(words.contains("some degrees") && words.contains("rain may differ most in hills"), "{words}");
    assert_words(&whole, "tmax_c", "nearest place", &["2.1 K cooler for 320 m"]);
    let (_, of_rain) = origin(&whole, "precip_mm");
    assert!(!of_rain.contains("cooler") && of_rain.contains("rain may differ most in hills"), "{of_rain}");
    let (_, words) = told(temperatures);
    assert!(
        words.contains("precip_mm, solar_mj_m2_d, wind_m_s, rh_pct came from El Paso")
            && words.contains("rain may differ most in hills, and sheltered ground has less wind"),
        "{words}"
    );
    assert!(!words.contains("degrees") && !words.contains("cooler"), "{words}");
    let (_, words) = told(rain);
    assert!(words.contains("tmax_c, tmin_c") && !words.contains("precip_mm"), "{words}");
    assert!(words.contains("some degrees") && !words.contains("hills"), "{words}");
    let rest = "solar_mj_m2_d = [12, 15, 20, 25, 28, 29, 27, 25, 22, 18, 14, 11]\nwind_m_s = [3, 3, 4, 4, 4, 3, 3, 3, 3, 3, 3, 3]\nrh_pct = [50, 42, 35, 28, 28, 32, 45, 48, 48, 45, 45, 50]\nwet_days = [3, 3, 2, 2, 2, 3, 7, 7, 5, 4, 3, 3]\n";
    let (answer, words) = told(&format!("{temperatures}{rain}{rest}"));
    assert!(words.starts_with("`near = true` was not needed"), "{words}");
    assert!(!words.contains("differ") && !words.contains("El Paso"), "{words}");
    assert_eq!(fact(&answer, "tmax_c")["origin"], "given");
}

/// Crowns without the kind of the trees: the light lies between the two kinds, and the answer asks.
#[test]
fn crowns_of_unknown_trees_leave_the_light_open() {
    let scratch = Scratch::new("light-canopy");
    let get = |light: &str| {
        answer(&scratch, &site("latitude_deg = 40", MONTHS, &format!("[light]\ncanopy_cover = {light}"))).0
    };
    let unknown = get("0.6");
    assert!(find(&unknown, "dli").is_none(), "{}", fact(&unknown, "dli"));
    let open = |answer: &Value| answer["open"].to_string();
    assert!(open(&unknown).contains("site.canopy\""), "{}", open(&unknown));
    let known = get("0.6\ncanopy = \"evergreen\"");
    assert!(find(&known, "dli").is_some() && !open(&known).contains("site.canopy\""), "{}", open(&known));
    // no crowns at all shade alike, and nothing passes through them
    for none in ["0", "0\ncanopy = \"evergreen\""] {
        assert_words(
            &get(none),
            "dli",
            "estimated",
            &["from an open sky, as no crowns cover it; solar radiation"],
        );
        assert!(!origin(&get(none), "dli").1.contains("crowns let"), "{none}");
    }
}

/// Measured light is nobody's estimate.
#[test]
fn measured_light_rests_on_no_radiation() {
    let scratch = Scratch::new("light-measured");
    let light = "[light]\ndli = [10, 14, 18, 22, 24, 25, 25, 22, 18, 14, 10, 8]";
    let measured = answer(&scratch, &site("latitude_deg = 40", MONTHS, light)).0;
    for (id, words) in [("dli_months", "as measured"), ("dli", "mean of the growing months; as measured")] {
        assert_eq!(origin(&measured, id), ("computed".into(), words.into()), "{id}");
    }
    assert_words(&measured, "shade", "estimated", &["share of that of the open sky", "eq 50"]);
}

/// A year without rain is possible and unlikely.
#[test]
fn no_rain_at_all_is_told() {
    let scratch = Scratch::new("climate-dry");
    let months: String = MONTHS.lines().take(2).map(|line| format!("{line}\n")).collect();
    let dry = format!("{months}precip_mm = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]\n");
    let (_, err) = answer(&scratch, &site("latitude_deg = 40", &dry, ""));
    assert!(err.contains("precipitation is 0 in all months"), "{err}");
}

/// A lowest night far below what the months let expect is a slip; the months of the place let expect -22.0 degC.
#[test]
fn a_lowest_night_far_below_the_months_is_told() {
    let scratch = Scratch::new("climate-extreme-far");
    let told = |minimum: &str| {
        let climate = format!("{MONTHS}extreme_min_c = {minimum}\n");
        answer(&scratch, &site("latitude_deg = 40", &climate, "")).1
    };
    assert!(!told("-36").contains("let expect"));
    let words = told("-38");
    assert!(
        words.contains("-38.0 degC, is 16.0 K below the -22.0 degC that the mean minima let expect"),
        "{words}"
    );
}

/// A measured mean of the growing season stands for all months, and may pass a winter's clear sky.
#[test]
fn one_figure_of_measured_light_is_held_against_the_brightest_month() {
    let scratch = Scratch::new("light-one-figure");
    let get = |dli: &str| {
        let text = site("latitude_deg = 45", MONTHS, &format!("[light]\ndli = {dli}"));
        run_in(&scratch.0, &["recommend", "-"], text.as_bytes())
    };
    assert_eq!(get("40").code, 0, "{}", get("40").err);
    let above = get("70");
    assert_eq!(above.code, 2);
    assert!(above.err.contains("error[light-above-sky]"), "{}", above.err);
    let winter = get("[40, 20, 25, 30, 40, 40, 40, 35, 30, 20, 12, 9]");
    assert!(winter.err.contains("in month 1 at latitude 45"), "{}", winter.err);
}

/// A slope that faces the sun gets more of it and asks for more water, one turned away less; the side
/// counts by the hemisphere, and where nothing says which way the slope faces, it is asked for.
#[test]
fn a_slope_has_the_sun_and_the_demand_of_its_aspect() {
    let scratch = Scratch::new("climate-aspect");
    let get = |latitude: &str, ground: &str| {
        let rest = format!("[light]\nexposure = \"full-sun\"\n[ground]\n{ground}");
        answer(&scratch, &site(latitude, MONTHS, &rest)).0
    };
    let north40 = |ground: &str| get("latitude_deg = 40", ground);
    let level = north40("slope_pct = 0");
    let [south, north] = ["south", "north"].map(|to| north40(&format!("slope_pct = 50\naspect = \"{to}\"")));
    for id in ["et0_year_mm", "dli", "slope_sun_ratio"] {
        let [level, south, north] = [&level, &south, &north].map(|answer| number(answer, id));
        assert!(south > 1.01 * level && north < 0.97 * level, "{id}: {north} {level} {south}");
    }
    assert_eq!(number(&level, "slope_sun_ratio"), 100.0);
    assert_words(&south, "et0_year_mm", "estimated", &["with the sun that the slope gets"]);
    let shade = |answer: &Value| fact(answer, "shade")["value"].clone();
    assert_eq!(shade(&south), shade(&north), "an aspect is no shade");
    let asks = |answer: &Value| {
        let open = answer["open"].as_array().unwrap();
        open.iter().any(|one| one["fact"] == "site.aspect")
    };
    assert!(asks(&north40("slope_pct = 50")) && !asks(&south) && !asks(&level));
}

/// A raised horizon shades by its height, whatever stands there, and is said once.
#[test]
fn a_raised_horizon_gives_light_and_shade() {
    let scratch = Scratch::new("climate-horizon");
    let get =
        |light: &str| answer(&scratch, &site("latitude_deg = 40", MONTHS, &format!("[light]\n{light}"))).0;
    let open = get("exposure = \"full-sun\"");
    let mut last = number(&open, "dli") + 1e-9;
    for height in [0, 15, 30, 45, 60] {
        let answer = get(&format!("horizon_deg = {height}"));
        assert!(number(&answer, "dli") <= last, "{height}");
        last = number(&answer, "dli");
        assert_words(&answer, "dli", "estimated", &["what stands round the site", "cut off below"]);
    }
    let shade = |light: &str| fact(&get(light), "shade")["value"].as_str().unwrap().to_owned();
    assert_eq!(shade("horizon_deg = 10"), "full-sun");
    assert_eq!(shade("horizon_deg = 75"), "dense-shade");
}

/// Field capacity and wilting point stand in the answer, and what lies between them is the water held.
#[test]
fn the_two_ends_of_the_soils_water_are_facts() {
    let scratch = Scratch::new("climate-soil-ends");
    let loam = answer(&scratch, &site("latitude_deg = 40", MONTHS, "[soil]\ntexture = \"loam\"")).0;
    let [capacity, wilting] = ["field_capacity_pct", "wilting_point_pct"].map(|id| number(&loam, id));
    assert_eq!((capacity, wilting), (25.0, 12.0));
    assert!((number(&loam, "taw_mm_m") - 10.0 * (capacity - wilting)).abs() < 1e-9);
    assert_words(&loam, "field_capacity_pct", "computed", &["middle of the texture class"]);
}

/// The height counts in Penman-Monteith; Hargreaves-Samani takes none, and its origin tells of none.
#[test]
fn the_height_is_told_where_the_formula_takes_it() {
    let scratch = Scratch::new("climate-height");
    let method = |climate: &str| {
        let found = answer(&scratch, &site("latitude_deg = 40", climate, "")).0;
        origin(&found, "et0_year_mm").1
    };
    let words = method(MONTHS);
    assert!(words.contains("Hargreaves-Samani") && !words.contains("height above"), "{words}");
    let words = method(&format!("{MONTHS}solar_mj_m2_d = [7, 10, 14, 18, 21, 23, 23, 20, 16, 12, 8, 6]\n"));
    assert!(words.contains("Penman-Monteith"), "{words}");
    assert!(words.contains("height above sea level taken as 0 m"), "{words}");
}

/// All months alike may be true of a place on the equator: a remark, no fault.
#[test]
fn months_all_alike_are_remarked_and_taken() {
    let scratch = Scratch::new("climate-alike");
    let alike = |low: &str, high: &str| {
        format!("tmax_c = [{}]\ntmin_c = [{}]\n", [high; 12].join(", "), [low; 12].join(", "))
    };
    let (taken, err) = answer(&scratch, &site("latitude_deg = -1", &alike("20", "28"), ""));
    assert_eq!(number(&taken, "summer_max_c"), 28.0);
    assert!(err.contains("the same in all months") && err.contains("climate-remarks"), "{err}");
}

/// A coast changes the sun that is estimated: who does not say is asked.
#[test]
fn a_coast_is_asked_for_where_sun_is_estimated() {
    let scratch = Scratch::new("climate-coast-asked");
    let asks = |place: &str, climate: &str| {
        let (answer, _) = answer(&scratch, &site(place, &format!("{MONTHS}{climate}"), ""));
        answer["open"].as_array().unwrap().iter().any(|one| one["fact"] == "site.coast")
    };
    assert!(asks("latitude_deg = 40", ""));
    assert!(!asks("latitude_deg = 40\ncoast = false", ""));
    assert!(!asks("latitude_deg = 40", "solar_mj_m2_d = [7, 10, 14, 18, 21, 23, 23, 20, 16, 12, 8, 6]\n"));
}

/// The figures of the daily balance stand with each species, as text and for programs; the table
/// of months ends in the year.
#[test]
fn water_of_a_species_stands_in_both_answers() {
    let scratch = Scratch::new("climate-water-figures");
    let rest = "[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 40\n[water]\nirrigation = \"none\"";
    let text = site("latitude_deg = 40", MONTHS, rest);
    let (found, _) = answer(&scratch, &text);
    let first = &found["ranking"][0];
    let water = first["water"].as_object().unwrap();
    let keys = [
        "demand_pct_of_et0",
        "need_pct_of_et0",
        "need_met_driest_quarter_pct",
        "need_met_year_pct",
        "demand_met_pct",
        "demand_met_year_pct",
        "stress_days_per_year",
        "one_in_ten_years_wilting_run_days",
        "net_irrigation_green_mm_per_year",
        "net_irrigation_survival_mm_per_year",
    ];
    assert_eq!(water.len(), keys.len());
    keys.iter().for_each(|key| assert!(water[*key].is_number(), "{key}: {water:?}"));
    let species = first["species"].as_str().unwrap();
    let told = run_in(&scratch.0, &["explain", "-", species, "--months"], text.as_bytes());
    assert_eq!(told.code, 0, "{}", told.err);
    for label in [
        "crop coefficient, unstressed",
        "need for water",
        "need met, driest 3 months",
        "need met, whole year",
        "demand met, mean of both",
        "days short of water",
        "wilting run, 1 year in 10",
        "irrigation for green, net",
        "irrigation to live, net",
    ] {
        assert!(told.out.contains(&format!("  {label}")), "{label}\n{}", told.out);
    }
    let cells = |row: &str| -> Vec<f64> {
        let line = told.out.lines().find(|line| line.trim_start().starts_with(row)).unwrap_or_default();
        line.split_whitespace().skip(1).filter_map(|cell| cell.parse().ok()).collect()
    };
    let year = cells("Year ");
    // mean of the maxima by days, mean of the minima, and in the fourth column the year's rain
    assert!((year[0] - 16.2).abs() < 0.11 && (year[1] - 4.6).abs() < 0.11, "{year:?}\n{}", told.out);
    assert_eq!(year[3], 935.0, "{}", told.out);
    // of the demand of the year as much is met as the answer for programs says: demand and used stand in
    // columns six and seven, the share that is met in the ninth
    let met = water["demand_met_year_pct"].as_f64().unwrap();
    assert!((year[8] - met).abs() <= 0.5, "{met}: {year:?}");
    assert!((year[6] / year[5] * 100.0 - met).abs() < 1.0, "{met}: {year:?}");
    let short = found["ranking"].as_array().unwrap().iter().find(|one| one["detail"] == "short").unwrap();
    assert!(short["water"].get("demand_met_year_pct").is_none(), "{short}");
    // what is supposed of the run-off is told
    let words = told.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("no slope is stated"), "{}", told.out);
    // without a soil there is no balance: the figures wait, and say so
    let (open, _) = answer(&scratch, "schema = 1\npurpose = \"lawn\"\n");
    assert!(open["ranking"][0]["water"]["need_met_driest_quarter_pct"].is_null());
}

/// What a place lends errs by more the farther it lies, by height that is not known too, and a minimum
/// that was measured there is an estimate here.
#[test]
fn what_is_lent_errs_with_distance_and_height() {
    let scratch = Scratch::new("climate-lent-error");
    let get = |place: &str| answer(&scratch, &site(place, "near = true", "")).0;
    let error = |answer: &Value, id: &str| -> f64 {
        let (kind, words) = origin(answer, id);
        assert_eq!(kind, "estimated", "{id}: {words}");
        let after = words.split("standard error ").nth(1).unwrap_or_else(|| panic!("{words}"));
        after.split(' ').next().unwrap().parse().unwrap()
    };
    // El Paso (1194.2 m) has a measured minimum
    let measured = get("latitude_deg = 32\nlongitude_deg = -106\nelevation_m = 1194");
    assert_words(
        &measured,
        "extreme_min_c",
        "estimated",
        &["as lent by the nearest place, El Paso, TX, 41 km away"],
    );
    assert_words(&measured, "hardiness_zone", "estimated", &["USDA limits of 2023", "within its error of"]);
    let near = error(&measured, "extreme_min_c");
    // 0.051 K2 a kilometre
    assert!((near - (0.051_f64 * 41.0).sqrt()).abs() < 0.06, "{near}");
    let far = get("latitude_deg = 32.9\nlongitude_deg = -106\nelevation_m = 1194");
    let high = get("latitude_deg = 32\nlongitude_deg = -106\nelevation_m = 1514");
    let unknown = get("latitude_deg = 32\nlongitude_deg = -106");
    for other in [&far, &unknown] {
        assert!(error(other, "extreme_min_c") > near);
    }
    // height adds less than the last digit once the temperatures are brought to it
    assert!(error(&high, "extreme_min_c") >= near);
    assert_words(&unknown, "extreme_min_c", "estimated", &["to a site of unknown height"]);
    // an estimate from minima that are lent errs by both
    let lent = get("latitude_deg = 40.2\nlongitude_deg = -85.5\nelevation_m = 260");
    assert_words(&lent, "extreme_min_c", "estimated", &["from the monthly mean minima", "of it for"]);
    assert!(error(&lent, "extreme_min_c") > 1.8);
    let own = answer(&scratch, &site("latitude_deg = 40\nlongitude_deg = -95", MONTHS, "")).0;
    assert_eq!(error(&own, "extreme_min_c"), 1.6);
}

/// Light tells its error; a coast goes with the range of temperature that a place lends.
#[test]
fn light_tells_its_error_and_a_lent_range_its_coast() {
    let scratch = Scratch::new("climate-light-error");
    let sun = "[light]\nexposure = \"full-sun\"";
    let estimated = answer(&scratch, &site("latitude_deg = 40", MONTHS, sun)).0;
    assert_words(&estimated, "dli", "estimated", &["the light of the open sky errs by some 16 %"]);
    let solar = "solar_mj_m2_d = [7, 10, 14, 18, 21, 23, 23, 20, 16, 12, 8, 6]\n";
    let given = answer(&scratch, &site("latitude_deg = 40", &format!("{MONTHS}{solar}"), sun)).0;
    assert_words(&given, "dli", "computed", &["the light of the open sky errs by some 10 %"]);
    let boston = "latitude_deg = 42.3\nlongitude_deg = -71.1\nelevation_m = 60";
    let lent = answer(&scratch, &site(boston, "near = true", sun)).0;
    assert_eq!(fact(&lent, "coast")["value"], true);
    assert_words(&lent, "coast", "estimated", &["Boston", "the site file does not say"]);
    assert_words(&lent, "dli", "estimated", &["for a coast (kRs 0.19)"]);
    let inland = answer(&scratch, &site(&format!("{boston}\ncoast = false"), "near = true", sun)).0;
    assert_words(&inland, "dli", "estimated", &["for inland (kRs 0.16)"]);
    // a range of the site's own takes no coast of another place
    let own_range = format!("near = true\n{}", MONTHS.lines().take(2).collect::<Vec<_>>().join("\n"));
    let own = answer(&scratch, &site(boston, &own_range, sun)).0;
    assert!(find(&own, "coast").is_none());
}
