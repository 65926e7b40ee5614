//! A station's own days drive the soil-water balance, and show the droughts that means hide.

use std::fmt::Write as _;

use serde_json::Value;

use super::support::{Scratch, run_in};

/// Twelve invented years of days: 8 mm every fourth day, but in `dry_years` of them nothing falls
/// from May to September and the missing rain falls in the other years instead.
fn days(dry_years: usize) -> String {
    let lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let years = 2001..=2012;
    let share = years.clone().count() as f64 / (years.clone().count() - dry_years) as f64;
    let mut text = "date,attr,value,m,q,s\n".to_owned();
    for (position, year) in years.enumerate() {
        let mut day_of_year = 0;
        for (month, length) in (1..).zip(lengths) {
            let warm = (1.0 - (f64::from(month) - 7.0).abs() / 6.0).max(0.0);
            for day in 1..=length {
                let rain = match (day_of_year % 4, (5..=9).contains(&month), position < dry_years) {
                    (1.., ..) | (0, true, true) => 0.0,
                    (_, true, false) => 80.0 * share,
                    _ => 80.0,
                };
                let date = format!("{year}-{month:02}-{day:02}");
                for (attr, value) in
                    [("TMAX", 80.0 + 220.0 * warm), ("TMIN", -40.0 + 200.0 * warm), ("PRCP", rain)]
                {
                    writeln!(text, "{date},{attr},{},,,", value.round() as i32).unwrap();
                }
                day_of_year += 1;
            }
        }
    }
    text
}

/// The words on the weather of the balance, and the level of the water need of a species.
fn water(scratch: &Scratch, file: &str, species: &str) -> (String, f64) {
    let site = format!(
        "schema = 1\nname = \"Invented\"\npurpose = \"lawn\"\n[place]\nlatitude_deg = 38\nelevation_m = 100\n[climate]\nfile = \"{file}\"\n[light]\nexposure = \"full-sun\"\n[soil]\ntexture = \"loam\"\ndepth_cm = 60\n[ground]\ntree_roots = false\n[water]\nirrigation = \"none\"\n[wishes]\naccept_dormant = true\n"
    );
    let text = run_in(&scratch.0, &["recommend", "-", "--top", "1"], site.as_bytes());
    assert_eq!(text.code, 0, "{}", text.err);
    let json = run_in(&scratch.0, &["recommend", "-", "--format", "json"], site.as_bytes());
    let answer: Value = serde_json::from_str(&json.out).unwrap();
    let ranking = answer["ranking"].as_array().unwrap();
    let one = ranking.iter().find(|one| one["species"] == species).unwrap();
    let needs = one["needs"].as_array().unwrap();
    let level = needs.iter().find(|own| own["need"] == "water").unwrap()["level"].as_f64().unwrap();
    (text.out.split_whitespace().collect::<Vec<_>>().join(" "), level)
}

#[test]
fn droughts_that_the_means_hide_count_when_the_days_are_known() {
    let scratch = Scratch::new("daily-weather");
    std::fs::write(scratch.0.join("even.csv"), days(0)).unwrap();
    std::fs::write(scratch.0.join("uneven.csv"), days(4)).unwrap();
    let made = run_in(
        &scratch.0,
        &["climate", "read", "uneven.csv", "--format", "csv", "--output", "means.csv"],
        b"",
    );
    assert_eq!(made.code, 0, "{}", made.err);
    let (even_words, even) = water(&scratch, "even.csv", "lolium-perenne");
    let (_, uneven) = water(&scratch, "uneven.csv", "lolium-perenne");
    let (mean_words, means) = water(&scratch, "means.csv", "lolium-perenne");
    assert!(even_words.contains("the station's own days (12 years, 2001 to 2012)"), "{even_words}");
    assert!(mean_words.contains("over 10 years of weather made from the monthly figures"), "{mean_words}");
    // the same twelve means, and four summers of twelve without rain
    assert!(uneven > even + 0.5, "dry years {uneven}, even years {even}");
    assert!(uneven > means + 0.3, "dry years {uneven}, their means alone {means}");
}

#[test]
fn too_few_whole_years_fall_back_on_the_means_and_say_so() {
    let scratch = Scratch::new("daily-weather-short");
    let two_years: String = days(0)
        .lines()
        .filter(|line| line < &"2003" || line.starts_with('d'))
        .map(|line| format!("{line}\n"))
        .collect();
    std::fs::write(scratch.0.join("short.csv"), two_years).unwrap();
    let (words, _) = water(&scratch, "short.csv", "lolium-perenne");
    assert!(words.contains("the station's own days are too few (2 years, 2001 to 2002)"), "{words}");
}
