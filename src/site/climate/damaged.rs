//! Every layout, damaged in every way: each copy is read as the whole file is, or read with the gap
//! told, or refused with its line and column.

use super::check::check;
use super::tests::layouts;
use super::*;

/// What is done to a file. `Damage::apply` gets the lines of a header that stays where it is.
const DAMAGES: [&str; 10] = [
    "cut in its last line",
    "cut in its middle",
    "lines shuffled below the header",
    "all lines turned round",
    "a column that must be there renamed",
    "a column of values renamed",
    "a byte that is not UTF-8",
    "CR LF",
    "the header alone",
    "nothing left",
];

/// A layout: its name in `layouts`, the lines of its header, a name that must be there, a name of
/// values (each with what stands in its place after the damage), and what comes of each damage:
/// `same`, the place of the refusal as line:column (`file` for the file as a whole), or words of the
/// gap that is told.
struct Case {
    name: &'static str,
    header: usize,
    needed: (&'static str, &'static str),
    values: (&'static str, &'static str),
    outcomes: [&'static str; DAMAGES.len()],
}

const CASES: [Case; 11] = [
    Case {
        name: "normals of 1991-2020",
        header: 1,
        needed: ("meas_flag_MLY-TMIN-NORMAL", "flag_of_MLY-TMIN-NORMAL"),
        values: ("\"MLY-TMAX-NORMAL\"", "\"MLY-TMAX-NORMALS\""),
        outcomes: [
            "13:83",
            "mean daily minimum: no value in month 6, 7, 8, 9, 10, 11, 12",
            "same",
            "1:1",
            "1:1",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "13:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: "normals of 1981-2010",
        header: 1,
        needed: ("\"DATE\"", "\"MONTH\""),
        values: ("\"MLY-TMIN-NORMAL\"", "\"MLY-TMIN\""),
        outcomes: [
            "13:41",
            "mean daily minimum: no value in month 1, 2, 3, 4, 5, 6, 12",
            "same",
            "1:1",
            "1:1",
            "mean daily minimum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "13:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: "monthly summaries",
        header: 1,
        needed: ("\"DATE\"", "\"MONTH\""),
        values: ("\"TMAX\"", "\"MAXIMUM\""),
        outcomes: [
            "37:15",
            "only 1 year of temperature",
            "same",
            "1:1",
            "1:1",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "37:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: ".dly",
        header: 0,
        needed: ("XX0000INV01201912PRCP", "XX0000INV02201912PRCP"),
        values: ("TMAX", "TMXX"),
        outcomes: [
            "48:108",
            "mean daily maximum: no value in month 7, 8, 9, 10, 11, 12",
            "same",
            "same",
            "47:1",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "48:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: "daily access",
        header: 1,
        needed: ("PRCP_ATTRIBUTES", "PRCP_FLAGS"),
        values: (",TMAX,TMAX_ATTRIBUTES", ",TMXX,TMXX_ATTRIBUTES"),
        outcomes: [
            "366:37",
            "mean daily maximum: no value in month 7, 8, 9, 10, 11, 12",
            "same",
            "1:1",
            "1:1",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "366:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: "daily long",
        header: 1,
        needed: ("attr", "what"),
        values: ("TMAX", "TMXX"),
        outcomes: [
            "1461:10",
            "mean daily maximum: no value in month 7, 8, 9, 10, 11, 12",
            "same",
            "1:1",
            "1:1",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "1461:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: "daily by year",
        header: 0,
        needed: ("20191231,TMAX", "2019-12,TMAX"),
        values: ("TMAX", "TMXX"),
        outcomes: [
            "1095:14",
            "mean daily maximum: no value in month 7, 8, 9, 10, 11, 12",
            "same",
            "same",
            "1093:13",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "1095:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: "daily wide",
        header: 1,
        needed: ("year,month,day,date", "y,m,d,when"),
        values: ("TMAX", "TMXX"),
        outcomes: [
            "366:23",
            "mean daily maximum: no value in month 7, 8, 9, 10, 11, 12",
            "same",
            "1:1",
            "1:1",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "366:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
    Case {
        name: "EPW",
        header: 8,
        needed: ("DATA PERIODS", "PERIODS OF DATA"),
        values: (",5.0,55,", ",5.0,999,"),
        outcomes: [
            "8768:46",
            "4384:1",
            "same",
            "1:1",
            "8768:1",
            "relative humidity: no month has enough values",
            "8768:5",
            "same",
            "8:1",
            "1:1",
        ],
    },
    Case {
        name: "TMY3",
        header: 2,
        needed: ("RHum (%)", "Humidity (%)"),
        values: (",55,3.0,", ",-9900,3.0,"),
        outcomes: [
            "8762:16",
            "4381:1",
            "same",
            "1:1",
            "2:1",
            "relative humidity: no month has enough values",
            "8762:5",
            "same",
            "2:1",
            "1:1",
        ],
    },
    Case {
        name: "plain months",
        header: 1,
        needed: ("precip_mm", "percip_mm"),
        values: ("tmax_c", "solar_mj_m2_d"),
        outcomes: [
            "13:12",
            "mean daily minimum: no value in month 6, 7, 8, 9, 10, 11, 12",
            "same",
            "1:1",
            "1:21",
            "mean daily maximum: no value in month 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12",
            "13:5",
            "same",
            "1:1",
            "1:1",
        ],
    },
];

fn damage(case: &Case, text: &str, how: usize) -> Vec<u8> {
    let lines: Vec<&str> = text.lines().collect();
    let joined = |lines: &[&str]| format!("{}\n", lines.join("\n")).into_bytes();
    let last = lines[lines.len() - 1];
    let before_last = text.trim_end_matches(['\r', '\n']).len() - last.len();
    match how {
        0 => text.as_bytes()[..before_last + last.len() * 2 / 5].to_vec(),
        1 => joined(&lines[..lines.len() / 2]),
        2 => {
            let mut shuffled = lines.clone();
            let mut random = crate::site::rain_pattern::SplitMix64::new(5);
            for at in (case.header + 1..lines.len()).rev() {
                let span = u64::try_from(at - case.header + 1).unwrap();
                let other = case.header + usize::try_from(random.next_bits() % span).unwrap();
                shuffled.swap(at, other);
            }
            joined(&shuffled)
        }
        3 => joined(&lines.iter().rev().copied().collect::<Vec<_>>()),
        4 => text.replacen(case.needed.0, case.needed.1, 1).into_bytes(),
        5 => text.replace(case.values.0, case.values.1).into_bytes(),
        6 => {
            let mut bytes = text.as_bytes().to_vec();
            bytes[before_last + 4] = 0xE9;
            bytes
        }
        7 => text.replace("\r\n", "\n").replace('\n', "\r\n").into_bytes(),
        8 => joined(&lines[..case.header]),
        _ => Vec::new(),
    }
}

/// Whether two tables hold the same figures; sums in another order differ in their last bits.
fn same(a: &ClimateTable, b: &ClimateTable) -> bool {
    let series = |table: &ClimateTable| {
        [
            table.tmax_c,
            table.tmin_c,
            table.precip_mm,
            table.wet_days,
            table.hot_days,
            table.solar_mj_m2_d,
            table.wind_m_s,
            table.rh_pct,
        ]
    };
    let close = |a: &Option<MonthValue>, b: &Option<MonthValue>| match (a, b) {
        (Some(a), Some(b)) => (a.value - b.value).abs() < 1e-9 && a.years == b.years && a.flag == b.flag,
        (None, None) => true,
        _ => false,
    };
    let figures = series(a).iter().flatten().zip(series(b).iter().flatten()).all(|(a, b)| close(a, b));
    figures && a.notes == b.notes && a.station == b.station && a.period == b.period
}

/// What came of reading a damaged copy, in the words of `Case::outcomes`.
fn outcome(whole: &ClimateTable, bytes: &[u8], options: &ReadOptions) -> String {
    match read_climate_bytes(bytes, options) {
        Err(error) => match (error.line, error.column) {
            (line, Some(column)) => format!("{line}:{column}"),
            (line, None) => format!("{line} without a column: {error}"),
        },
        Ok(table) if same(&table, whole) => "same".to_owned(),
        Ok(table) => {
            let notes = table.notes.iter().map(ToString::to_string);
            notes.chain(check(&table).iter().map(ToString::to_string)).collect::<Vec<_>>().join("; ")
        }
    }
}

#[test]
fn every_layout_withstands_every_damage() {
    let layouts = layouts();
    let mut wrong = Vec::new();
    for (case, (name, bytes, options)) in CASES.iter().zip(&layouts) {
        assert_eq!(case.name, *name);
        let text = std::str::from_utf8(bytes).unwrap();
        let whole = read_climate_bytes(bytes, options).unwrap();
        for (how, damage_name) in DAMAGES.iter().enumerate() {
            let copy = damage(case, text, how);
            assert!(copy != *bytes || how == 7, "{name}, {damage_name}: nothing was damaged");
            let (wanted, found) = (case.outcomes[how], outcome(&whole, &copy, options));
            // words of a gap may be part of more; a place and `same` are exact
            let told = ["no value", "1 year", "no month"].iter().any(|words| wanted.contains(words));
            if !(found == wanted || told && found.contains(wanted)) {
                wrong.push(format!("{name}, {damage_name}: wanted {wanted}, found {found}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A file under the first line of another layout is never read as if it were of that layout.
#[test]
fn a_file_under_the_header_of_another_layout_is_refused_at_its_place() {
    let layouts = layouts();
    for (name, bytes, options) in &layouts {
        let text = std::str::from_utf8(bytes).unwrap();
        let body = text.split_once('\n').unwrap().1;
        for (other, bytes, _) in layouts.iter().filter(|(other, ..)| other != name) {
            let header = std::str::from_utf8(bytes).unwrap().split_once('\n').unwrap().0;
            let mixed = format!("{header}\n{body}");
            match read_climate_bytes(mixed.as_bytes(), options) {
                Ok(_) => panic!("{name} is read under the header of {other}"),
                Err(error) => {
                    assert!(error.line > 0 && error.column.is_some(), "{name} under {other}: {error}");
                }
            }
        }
    }
}
