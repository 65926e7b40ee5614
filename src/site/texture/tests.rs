//! Texture classes against the written limits, and stored water against FAO-56.

use super::*;

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
}

/// Classes computed with a public texture library on the limits of the Soil Survey Manual; the
/// last, on a corner, goes by the written limits, where that library says sandy clay loam.
#[test]
fn texture_triangle() {
    for (sand, silt, clay, class) in [
        (92.0, 5.0, 3.0, "sand"),
        (82.0, 12.0, 6.0, "loamy sand"),
        (85.0, 10.0, 5.0, "loamy sand"),
        (65.0, 25.0, 10.0, "sandy loam"),
        (70.0, 20.0, 10.0, "sandy loam"),
        (40.0, 40.0, 20.0, "loam"),
        (50.0, 30.0, 20.0, "loam"),
        (20.0, 65.0, 15.0, "silt loam"),
        (8.0, 87.0, 5.0, "silt"),
        (10.0, 80.0, 10.0, "silt"),
        (60.0, 15.0, 25.0, "sandy clay loam"),
        (33.0, 33.0, 34.0, "clay loam"),
        (10.0, 55.0, 35.0, "silty clay loam"),
        (52.0, 6.0, 42.0, "sandy clay"),
        (6.0, 47.0, 47.0, "silty clay"),
        (20.0, 20.0, 60.0, "clay"),
        (45.0, 28.0, 27.0, "clay loam"),
    ] {
        let found = Texture::from_fractions(sand, silt, clay).unwrap();
        assert_eq!(found.name(), class, "{sand} {silt} {clay}");
    }
}

/// The written rule of each class, as tabulated from the Soil Survey Manual.
fn satisfies(t: Texture, sand: f64, silt: f64, clay: f64) -> bool {
    match t {
        Texture::Sand => silt + 1.5 * clay < 15.0,
        Texture::LoamySand => silt + 1.5 * clay >= 15.0 && silt + 2.0 * clay < 30.0,
        Texture::SandyLoam => {
            silt + 2.0 * clay >= 30.0
                && (((7.0..20.0).contains(&clay) && sand > 52.0)
                    || (clay < 7.0 && silt < 50.0 && sand > 43.0))
        }
        Texture::Loam => (7.0..27.0).contains(&clay) && (28.0..50.0).contains(&silt) && sand <= 52.0,
        Texture::SiltLoam => {
            (silt >= 50.0 && (12.0..27.0).contains(&clay)) || ((50.0..80.0).contains(&silt) && clay < 12.0)
        }
        Texture::Silt => silt >= 80.0 && clay < 12.0,
        Texture::SandyClayLoam => (20.0..35.0).contains(&clay) && silt < 28.0 && sand > 45.0,
        Texture::ClayLoam => (27.0..40.0).contains(&clay) && sand > 20.0 && sand <= 45.0,
        Texture::SiltyClayLoam => (27.0..40.0).contains(&clay) && sand <= 20.0,
        Texture::SandyClay => clay >= 35.0 && sand > 45.0,
        Texture::SiltyClay => clay >= 40.0 && silt >= 40.0,
        Texture::Clay => clay >= 40.0 && sand <= 45.0 && silt < 40.0,
    }
}

#[test]
fn every_whole_percent_of_the_triangle_satisfies_the_written_rule_of_its_class() {
    let mut seen = std::collections::HashSet::new();
    for sand in 0_u8..=100 {
        for silt in 0..=(100 - sand) {
            let clay = 100 - sand - silt;
            let (a, b, c) = (f64::from(sand), f64::from(silt), f64::from(clay));
            let class = Texture::from_fractions(a, b, c).unwrap();
            assert!(satisfies(class, a, b, c), "{sand} {silt} {clay}: {}", class.name());
            seen.insert(class);
        }
    }
    assert_eq!(seen.len(), 12);
}

#[test]
fn sums_and_ranges_are_checked() {
    assert!(Texture::from_fractions(40.0, 40.0, 19.0).is_ok());
    assert!(Texture::from_fractions(40.0, 40.0, 21.0).is_ok());
    assert_eq!(Texture::from_fractions(40.0, 40.0, 10.0), Err(TextureError::Sum { sum: 90.0 }));
    assert!(Texture::from_fractions(-1.0, 81.0, 20.0).is_err());
    assert!(Texture::from_fractions(f64::NAN, 50.0, 50.0).is_err());
}

#[test]
fn names_round_trip() {
    for t in Texture::ALL {
        assert_eq!(Texture::from_name(t.name()), Some(t));
    }
    assert_eq!(Texture::from_name(" Silty-Clay loam "), Some(Texture::SiltyClayLoam));
    assert_eq!(Texture::from_name("peat"), None);
}

/// FAO-56 example 36, from memory, arithmetic redone: what three soils hold for roots of three depths, in m
/// and mm. What of it is readily available is the work of the daily balance.
#[test]
fn fao56_example_36_total_available_water() {
    for (fc, wp, total_mm) in [
        (0.15, 0.06, [(0.4, 36.0), (0.8, 72.0), (1.2, 108.0)]),
        (0.32, 0.15, [(0.4, 68.0), (0.8, 136.0), (1.2, 204.0)]),
        (0.35, 0.23, [(0.4, 48.0), (0.8, 96.0), (1.2, 144.0)]),
    ] {
        let contents =
            WaterContents { field_capacity: fc, wilting_point: wp, source: WaterSource::Fao56Table19 };
        for (roots_m, total) in total_mm {
            near(1000.0 * contents.available() * roots_m, total, 1e-9);
        }
    }
}

/// The ranges of FAO-56 Table 19, read in the data of the R package CropWaterBalance 0.2.0, which
/// transcribes the paper: what a class is taken to
/// hold is the middle of its range.
#[test]
fn fao56_table_19_middles() {
    for (class, capacity, wilting) in [
        (Texture::Sand, (0.07, 0.17), (0.02, 0.07)),
        (Texture::LoamySand, (0.11, 0.19), (0.03, 0.10)),
        (Texture::SandyLoam, (0.18, 0.28), (0.06, 0.16)),
        (Texture::Loam, (0.20, 0.30), (0.07, 0.17)),
        (Texture::SiltLoam, (0.22, 0.36), (0.09, 0.21)),
        (Texture::Silt, (0.28, 0.36), (0.12, 0.22)),
        (Texture::SiltyClayLoam, (0.30, 0.37), (0.17, 0.24)),
        (Texture::SiltyClay, (0.30, 0.42), (0.17, 0.29)),
        (Texture::Clay, (0.32, 0.40), (0.20, 0.24)),
    ] {
        let contents = class.water_contents();
        near(contents.field_capacity, f64::midpoint(capacity.0, capacity.1), 1e-9);
        near(contents.wilting_point, f64::midpoint(wilting.0, wilting.1), 1e-9);
    }
}

/// Computed from the footnote of FAO-56 Table 22.
#[test]
fn depletion_fraction_for_the_days_demand() {
    for (p, etc, adjusted) in [(0.4, 3.0, 0.48), (0.4, 5.0, 0.4), (0.4, 7.0, 0.32), (0.5, 8.0, 0.38)] {
        near(depletion_fraction(p, MillimetresPerDay(etc)), adjusted, 1e-9);
    }
    near(depletion_fraction(0.5, MillimetresPerDay(30.0)), 0.1, 0.0);
}
