//! Facts of the light: what the file says of it, in whatever terms, to the daily light integral at
//! the turf and the class of shade.

use super::climate_facts::{GROWING_MONTH_C, solar};
use super::facts::Workbench;
use super::light::{
    Canopy, Exposure, OpenLight, ShadeClass, SunTiming, TurfLight, light_at_turf, mean_over_months,
    shade_class,
};
use super::solar::monthly_extraterrestrial;
use crate::engine::facts::Origin;
use crate::engine::value::Value;
use crate::units::quantity::{Degrees, Hours};

/// Enters the light at the turf.
pub fn derive(bench: &mut Workbench<'_>) {
    let open = open_light(bench);
    match stated(bench) {
        Some((exposure, how)) => enter(bench, open.as_ref(), exposure, &how),
        None => {
            let inputs = ["sun_hours", "exposure"];
            let hours: Vec<f64> = bench.plausible("sun_hours").iter().filter_map(Value::as_number).collect();
            let lights: Vec<TurfLight> = open
                .iter()
                .flat_map(|open| {
                    let exposures =
                        hours.iter().map(|hours| Exposure::SunHours(Hours(*hours), SunTiming::Unknown));
                    exposures.map(|exposure| light_at_turf(open, &exposure))
                })
                .collect();
            let means = lights
                .iter()
                .filter_map(|light| growing_mean(bench, &light.dli))
                .map(Value::Number)
                .collect();
            bench.leave_open("dli", means, &inputs);
            let months = lights.iter().map(|light| Value::Months(light.dli.into())).collect();
            bench.leave_open("dli_months", months, &inputs);
            let classes = lights
                .iter()
                .filter_map(|light| class_of(bench, light))
                .filter_map(|word| bench.named("shade", word.name()))
                .collect::<Vec<_>>();
            let classes = if classes.is_empty() { bench.plausible("shade").to_vec() } else { classes };
            bench.leave_open("shade", classes, &inputs);
        }
    }
}

fn open_light(bench: &Workbench<'_>) -> Option<OpenLight> {
    let (solar, _) = solar(bench)?;
    let latitude = Degrees(bench.number("latitude_deg")?);
    Some(OpenLight {
        latitude,
        solar_mj_m2_d: solar,
        extraterrestrial_mj_m2_d: monthly_extraterrestrial(latitude),
        mean_c: bench.months("tmean_c")?,
    })
}

/// The best statement in the file: a measurement before hours, hours before crowns, crowns before words.
fn stated(bench: &Workbench<'_>) -> Option<(Exposure, String)> {
    if let Some(dli) = bench.months("dli_measured") {
        return Some((Exposure::Measured(dli), "as measured".into()));
    }
    if let Some(hours) = bench.number("sun_hours") {
        return Some((Exposure::SunHours(Hours(hours), SunTiming::Unknown), "from the hours of sun".into()));
    }
    if let Some(cover) = bench.number("canopy_cover") {
        // not knowing the trees, the darker kind is taken
        let canopy = match bench.name_of("canopy") {
            Some("deciduous") => Canopy::Deciduous,
            _ => Canopy::Evergreen,
        };
        let kind = if canopy == Canopy::Deciduous { "deciduous" } else { "evergreen" };
        return Some((Exposure::Canopy(cover, canopy), format!("from {kind} crowns over the site")));
    }
    // the table says how many hours of sun a word means
    let position = bench.value("exposure")?.as_position()?;
    if position == 0 {
        return Some((Exposure::Open, "full sun taken as open sky".into()));
    }
    let table = bench.knowledge.table_named("exposure")?;
    let hours = table.number(position, "sun_hours")?;
    let how = format!("from the exposure in words, taken as {hours} hours of sun (table exposure)");
    Some((Exposure::SunHours(Hours(hours), SunTiming::Unknown), how))
}

fn enter(bench: &mut Workbench<'_>, open: Option<&OpenLight>, exposure: Exposure, how: &str) {
    let light = open.map(|open| light_at_turf(open, &exposure));
    match (&light, exposure) {
        (Some(light), _) => {
            let solar = solar(bench).map_or("", |(_, how)| how);
            let mut method = format!("{how}; {solar}");
            if !light.assumption.is_empty() {
                method = format!("{method}; {}", light.assumption);
            }
            bench.compute_months("dli_months", light.dli, &method);
            if let Some(mean) = growing_mean(bench, &light.dli) {
                bench.compute("dli", mean, &format!("mean of the growing months; {method}"));
            }
        }
        (None, Exposure::Measured(dli)) => {
            bench.compute_months("dli_months", dli, how);
            bench.compute("dli", dli.iter().sum::<f64>() / 12.0, "mean of the months; as measured");
        }
        (None, _) => {}
    }
    // a word of the file is not bettered by a share computed from it
    if let (Some(position), None) = (stated_word(bench), bench.number("sun_hours")) {
        let table = bench.knowledge.table_named("exposure");
        if let Some(class) = table.and_then(|table| table.value(position, "shade")).cloned() {
            bench.enter("shade", class, Origin::Computed(how.to_owned()));
        }
    }
    let class = match exposure {
        Exposure::SunHours(hours, _) if light.is_none() => Some(word_for_hours(hours)),
        _ => light.as_ref().and_then(|light| class_of(bench, light)),
    };
    if let Some(word) = class {
        bench.compute_name("shade", word.name(), Origin::Computed(how.to_owned()));
    }
}

/// Position of the word for light, where nothing better is known.
fn stated_word(bench: &Workbench<'_>) -> Option<usize> {
    if bench.value("dli_measured").is_some() || bench.value("canopy_cover").is_some() {
        return None;
    }
    bench.value("exposure")?.as_position()
}

/// Mean over the months of growth, or over all where the temperatures are unknown or none grows.
fn growing_mean(bench: &Workbench<'_>, months: &[f64; 12]) -> Option<f64> {
    let mean_c = bench.months("tmean_c")?;
    mean_over_months(months, |month| mean_c[month] >= GROWING_MONTH_C)
        .or_else(|| mean_over_months(months, |_| true))
}

/// Class by the share of open light over the growing months.
fn class_of(bench: &Workbench<'_>, light: &TurfLight) -> Option<ShadeClass> {
    let (at_turf, open) = (growing_mean(bench, &light.dli)?, growing_mean(bench, &light.open_dli)?);
    shade_class(at_turf / open)
}

/// Class by hours of sun alone: six hours are full sun, four part shade, two shade (common practice).
fn word_for_hours(hours: Hours) -> ShadeClass {
    match hours.0 {
        h if h >= 6.0 => ShadeClass::FullSun,
        h if h >= 4.0 => ShadeClass::PartShade,
        h if h >= 2.0 => ShadeClass::Shade,
        _ => ShadeClass::DenseShade,
    }
}
