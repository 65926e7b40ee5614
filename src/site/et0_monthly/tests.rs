//! Monthly ET0 against published figures, and the choice of method.

use super::*;
use crate::site::evapotranspiration::{pressure, psychrometric_constant, saturation_slope};
use crate::site::outside::Outside;

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not within {tolerance} of {b}");
}

/// Cabinda, from FAO-56 figure 18 (p. 69), as held in the R package SPEI 1.8.1: monthly
/// figures of a place whose ET0 the paper prints. Solar radiation, wind and humidity are its
/// own.
fn cabinda() -> (Et0Inputs, Monthly) {
    let tmax = [29.6, 30.3, 30.6, 30.2, 28.6, 26.5, 25.1, 25.3, 26.5, 28.0, 28.7, 29.1];
    let tmin = [22.8, 22.7, 23.0, 23.0, 22.0, 19.2, 17.6, 18.6, 20.5, 22.5, 23.0, 23.0];
    let mut inputs = Et0Inputs::new(Degrees(-5.33), Metres(20.0), tmax, tmin);
    inputs.solar_mj_m2_d = Some([15.7, 16.9, 17.4, 16.4, 13.5, 12.2, 12.3, 12.4, 12.4, 12.9, 14.4, 15.2]);
    inputs.wind_2m_m_s =
        Some([0.903, 0.799, 0.903, 0.799, 0.799, 0.799, 0.903, 0.903, 1.204, 1.505, 1.203, 1.100]);
    inputs.rh_pct = Some([81.0, 82.0, 80.0, 82.0, 84.0, 81.0, 78.0, 78.0, 78.0, 79.0, 80.0, 82.0]);
    let printed = [105.4, 103.6, 117.8, 105.0, 89.9, 78.0, 80.6, 80.6, 84.0, 96.1, 99.0, 105.4];
    (inputs, printed)
}

#[test]
fn fao56_figure_18_cabinda() {
    let (inputs, printed) = cabinda();
    let et0 = monthly_et0(&inputs, Choice::ByData).unwrap();
    assert_eq!(et0.method, Method::PenmanMonteith(Estimates::default()));
    let days = DAYS_IN_MONTH.map(f64::from);
    for month in 0..12 {
        // The paper prints mm a day to one digit and does not say how it took soil heat and
        // the day of the month: 0.15 mm/d.
        let theirs = printed[month] / days[month];
        let ours = et0.mm_day[month];
        assert!((ours - theirs).abs() <= 0.15, "month {}: {ours} for {theirs}", month + 1);
    }
    let year: f64 = printed.iter().sum();
    // 2.6 % below: the printed vapour pressures are not known, only the relative humidity.
    near(et0.year_mm() / year, 1.0, 0.03);
}

#[test]
fn method_follows_what_is_known() {
    let (full, _) = cabinda();
    let bare = Et0Inputs::new(full.latitude, full.elevation, full.tmax_c, full.tmin_c);
    let by_temperature = monthly_et0(&bare, Choice::ByData).unwrap();
    assert_eq!(by_temperature.method, Method::HargreavesSamani);
    let mut wind_only = bare.clone();
    wind_only.wind_2m_m_s = full.wind_2m_m_s;
    wind_only.precip_mm = Some([5.0; 12]);
    let method = monthly_et0(&wind_only, Choice::ByData).unwrap().method;
    let expected = Estimates { solar: true, wind: false, humidity: true, dry_climate: true };
    assert_eq!(method, Method::PenmanMonteith(expected));
    assert_eq!(
        method.describe(),
        "FAO-56 Penman-Monteith (eq 6); estimated: solar radiation from temperature (eq 50), \
         dew point from the minimum less 2 K, dry climate (eq 48)"
    );
    let forced = monthly_et0(&bare, Choice::PenmanMonteith).unwrap();
    assert!(matches!(forced.method, Method::PenmanMonteith(e) if e.solar && e.wind));
}

/// In still air and at saturation equation 6 is its radiation term alone.
#[test]
fn saturated_still_air_leaves_the_radiation_term() {
    let mut inputs = Et0Inputs::new(Degrees(0.0), Metres(0.0), [25.0; 12], [25.0; 12]);
    inputs.solar_mj_m2_d = Some([18.0; 12]);
    inputs.rh_pct = Some([100.0; 12]);
    inputs.wind_2m_m_s = Some([0.0; 12]);
    let et0 = monthly_et0(&inputs, Choice::ByData).unwrap();
    let slope = saturation_slope(Celsius(25.0));
    let gamma = psychrometric_constant(pressure(Metres(0.0)));
    let rso = 0.75 * et0.extraterrestrial_mj_m2_d[0];
    let rs = MegajoulesPerSquareMetreDay(18.0);
    let t = Celsius(25.0);
    let ea = actual_from_rh_mean(t, t, Percent(100.0));
    let rn = net_shortwave(rs).0 - net_longwave(t, t, ea, rs, MegajoulesPerSquareMetreDay(rso)).0;
    near(et0.mm_day[0], 0.408 * slope * rn / (slope + gamma), 1e-9);
}

#[test]
fn impossible_figures_are_named() {
    let (good, _) = cabinda();
    let mut bad = good.clone();
    bad.tmax_c[4] = 212.0;
    let error = monthly_et0(&bad, Choice::ByData).unwrap_err();
    assert_eq!(error.to_string(), "tmax_c 212 is outside -60 to 55 in month 5");
    let mut bad = good.clone();
    bad.tmin_c[0] = 30.0;
    let error = monthly_et0(&bad, Choice::ByData).unwrap_err();
    assert_eq!(error.to_string(), "month 1: tmax_c 29.6 is below tmin_c 30");
    let mut bad = good.clone();
    bad.latitude = Degrees(f64::NAN);
    assert!(monthly_et0(&bad, Choice::ByData).is_err());
}

/// The study behind [`Method::relative_error`], where the table of published figures is found: yearly ET0
/// from temperature, rain and place alone, against that of seven places.
#[test]
fn yearly_et0_from_temperature_alone() {
    let Some(table) = Outside::read("../references/et0-monthly.csv", "monthly ET0 of 7 places") else {
        return;
    };
    let (mut plain, mut combined) = (Vec::new(), Vec::new());
    for place in table.places() {
        let months = |name: &str| place.months(name);
        let (Some(tmax), Some(tmin), Some(printed)) =
            (months("tmax_c"), months("tmin_c"), months("et0_mm_month"))
        else {
            continue;
        };
        let latitude = Degrees(place.number("latitude_deg"));
        let mut inputs = Et0Inputs::new(latitude, Metres(place.number("elevation_m")), tmax, tmin);
        inputs.precip_mm = months("precip_mm");
        let off = |choice| {
            let et0 = monthly_et0(&inputs, choice).unwrap();
            et0.year_mm() / printed.iter().sum::<f64>() - 1.0
        };
        let (own, other) = (off(Choice::HargreavesSamani), off(Choice::PenmanMonteith));
        println!(
            "{}: Hargreaves-Samani {:+.0} %, Penman-Monteith from temperature {:+.0} %",
            place.text("place"),
            100.0 * own,
            100.0 * other
        );
        plain.push(own);
        combined.push(other);
    }
    let rms = |errors: &[f64]| (errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64).sqrt();
    println!(
        "{} places: root mean square {:.1} % and {:.1} %",
        plain.len(),
        100.0 * rms(&plain),
        100.0 * rms(&combined)
    );
    assert_eq!(plain.len(), 7);
    near(rms(&plain), Method::HargreavesSamani.relative_error().unwrap(), 5e-3);
    let estimates = Estimates { solar: true, ..Estimates::default() };
    near(rms(&combined), Method::PenmanMonteith(estimates).relative_error().unwrap(), 5e-3);
}
