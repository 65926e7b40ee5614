//! Climate files through the program: read, written, checked, named in a site file.

use std::fs;

use super::support::{Scratch, folders, root, run, run_in};

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
            0 => {
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
    let head = "schema = 1\npurpose = \"lawn\"\n[place]\nlatitude_deg = 40\nelevation_m = 100\nlongitude_deg = -80\n[climate]\nextreme_min_c = -20\n";
    let named = format!("{head}file = \"normals.csv\"\n");
    let typed = format!("{head}{}{}{}", column("tmax_c"), column("tmin_c"), column("precip_mm"));
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

/// Real station files, where the folder is named; else the skip is told.
#[test]
fn real_station_files() {
    let Some(folder) = std::env::var_os("SWARDWRIGHT_CLIMATE_DIR") else {
        println!("SKIPPED: SWARDWRIGHT_CLIMATE_DIR is not set; no real station file was read");
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
    println!("{read} real station files read, {refused} refused with a reason");
    assert!(read > 0);
}
