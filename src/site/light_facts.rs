//! Facts of the light: what the file says of it, in whatever terms, to the daily light integral at
//! the turf and the class of shade.

use super::climate_facts::{GROWING_MONTH_C, solar, sun_ratio};
use super::facts::Workbench;
use super::light::{
    Canopy, Exposure, OpenLight, PAR_SHARE_ERROR, ShadeClass, SunTiming, TurfLight, estimated_light_error,
    light_at_turf, mean_over_months, shade_class,
};
use super::solar::monthly_extraterrestrial;
use crate::engine::facts::Origin;
use crate::engine::value::Value;
use crate::units::quantity::{Degrees, Hours};

/// Enters the light at the turf.
pub fn derive(bench: &mut Workbench<'_>) {
    let open = open_light(bench);
    take_hours(bench);
    match stated(bench) {
        Stated::Known(exposure, how) => enter(bench, open.as_ref(), exposure, &how),
        Stated::TreesUnknown(cover) => either_kind_of_tree(bench, open.as_ref(), cover),
        Stated::Nothing => {
            let hours = bench.plausible("sun_hours").iter().filter_map(Value::as_number);
            let exposures: Vec<Exposure> =
                hours.map(|hours| Exposure::SunHours(Hours(hours), SunTiming::Unknown)).collect();
            leave_open(bench, open.as_ref(), &exposures, &["sun_hours", "exposure"]);
            let hours = bench.plausible("sun_hours").to_vec();
            bench.leave_open("sun_hours_taken", hours, &["sun_hours", "exposure"]);
        }
    }
}

/// Leaves the light open over what the exposure may be.
fn leave_open(bench: &mut Workbench<'_>, open: Option<&OpenLight>, exposures: &[Exposure], inputs: &[&str]) {
    let lights: Vec<TurfLight> =
        open.iter().flat_map(|open| exposures.iter().map(|exposure| light_at_turf(open, exposure))).collect();
    let means =
        lights.iter().filter_map(|light| growing_mean(bench, &light.dli)).map(Value::Number).collect();
    bench.leave_open("dli", means, inputs);
    let months = lights.iter().map(|light| Value::Months(light.dli.into())).collect();
    bench.leave_open("dli_months", months, inputs);
    let classes = lights
        .iter()
        .filter_map(|light| class_of(bench, light))
        .filter_map(|word| bench.named("shade", word.name()))
        .collect::<Vec<_>>();
    let classes = if classes.is_empty() { bench.plausible("shade").to_vec() } else { classes };
    bench.leave_open("shade", classes, inputs);
}

/// Crowns of trees that nobody named: the light and its class wait for the kind, even where both kinds fall in
/// one class, so that the one is never known without the other and what rates by light is tried with both.
fn either_kind_of_tree(bench: &mut Workbench<'_>, open: Option<&OpenLight>, cover: f64) {
    let kinds = [Canopy::Deciduous, Canopy::Evergreen].map(|kind| Exposure::Canopy(cover, kind));
    leave_open(bench, open, &kinds, &["canopy"]);
}

fn open_light(bench: &Workbench<'_>) -> Option<OpenLight> {
    let solar = solar(bench)?.months;
    let latitude = Degrees(bench.number("latitude_deg")?);
    Some(OpenLight {
        latitude,
        solar_mj_m2_d: solar,
        extraterrestrial_mj_m2_d: monthly_extraterrestrial(latitude),
        mean_c: bench.months("tmean_c")?,
        sun_ratio: slope_sun(bench),
    })
}

/// Radiation on the slope over that on the level; what was measured at the turf has the slope in it,
/// and is held against the level.
fn slope_sun(bench: &Workbench<'_>) -> [f64; 12] {
    if bench.value("dli_measured").is_some() {
        return [1.0; 12];
    }
    sun_ratio(bench).unwrap_or([1.0; 12])
}

/// What the file says of the light.
enum Stated {
    /// Enough for a figure, with how it is said.
    Known(Exposure, String),
    /// Cover of crowns (0 to 1), without the kind of the trees.
    TreesUnknown(f64),
    Nothing,
}

/// The best statement in the file: a measurement before hours, hours before a raised horizon, that
/// before crowns, crowns before words.
fn stated(bench: &Workbench<'_>) -> Stated {
    if let Some(dli) = bench.months("dli_measured") {
        return Stated::Known(Exposure::Measured(dli), "as measured".into());
    }
    if let Some(hours) = bench.number("sun_hours") {
        let exposure = Exposure::SunHours(Hours(hours), SunTiming::Unknown);
        return Stated::Known(exposure, "from the hours of sun".into());
    }
    if let Some(height) = bench.number("horizon_deg") {
        let how = "from the height of what stands round the site".to_owned();
        return Stated::Known(Exposure::Horizon(Degrees(height)), how);
    }
    if let Some(cover) = bench.number("canopy_cover") {
        if cover <= 0.0 {
            return Stated::Known(Exposure::Open, "from an open sky, as no crowns cover it".into());
        }
        let (canopy, kind) = match bench.name_of("canopy") {
            Some("deciduous") => (Canopy::Deciduous, "deciduous"),
            Some(_) => (Canopy::Evergreen, "evergreen"),
            None => return Stated::TreesUnknown(cover),
        };
        return Stated::Known(Exposure::Canopy(cover, canopy), format!("from {kind} crowns over the site"));
    }
    stated_in_words(bench).map_or(Stated::Nothing, |(exposure, how)| Stated::Known(exposure, how))
}

/// Enters the hours of sun that plants are held against: those of the file, or those that its word is
/// taken for, so that a word and its hours are rated by the same rule. The word for full sun is the open
/// sky, which has no number of hours.
fn take_hours(bench: &mut Workbench<'_>) {
    if let Some(hours) = bench.number("sun_hours") {
        bench.compute("sun_hours_taken", hours, "as stated");
        return;
    }
    let Some(word) = stated_word(bench).filter(|word| *word > 0) else { return };
    let table = bench.knowledge.table_named("exposure");
    if let Some(hours) = table.and_then(|table| table.number(word, "sun_hours")) {
        bench.compute("sun_hours_taken", hours, "from the exposure in words (table exposure)");
    }
}

/// The table says how many hours of sun a word means.
fn stated_in_words(bench: &Workbench<'_>) -> Option<(Exposure, String)> {
    let position = bench.value("exposure")?.as_position()?;
    if position == 0 {
        return Some((Exposure::Open, "from full sun, taken as open sky".into()));
    }
    let table = bench.knowledge.table_named("exposure")?;
    let hours = table.number(position, "sun_hours")?;
    let how = format!("from the exposure in words, taken as {hours} hours of sun (table exposure)");
    Some((Exposure::SunHours(Hours(hours), SunTiming::Unknown), how))
}

fn enter(bench: &mut Workbench<'_>, open: Option<&OpenLight>, exposure: Exposure, how: &str) {
    let light = open.map(|open| light_at_turf(open, &exposure));
    match (&light, exposure) {
        // a measurement rests on no radiation
        (_, Exposure::Measured(dli)) => {
            bench.compute_months("dli_months", dli, how);
            let (mean, of) = match growing_mean(bench, &dli) {
                Some(mean) => (mean, "growing months"),
                None => (dli.iter().sum::<f64>() / 12.0, "months"),
            };
            bench.compute("dli", mean, &format!("mean of the {of}; {how}"));
        }
        (Some(light), _) => {
            let solar = solar(bench);
            let estimated = solar.as_ref().is_some_and(|solar| solar.estimated);
            let mut method = format!("{how}; {}", solar.map(|solar| solar.words).unwrap_or_default());
            if !light.assumption.is_empty() {
                method = format!("{method}; {}", light.assumption);
            }
            let error = if estimated { estimated_light_error() } else { PAR_SHARE_ERROR };
            method.push_str(&format!("; the light of the open sky errs by some {:.0} %", error * 100.0));
            let mean = growing_mean(bench, &light.dli);
            if let Some(mean) = mean {
                bench.errs_by("dli", error * mean);
            }
            if estimated {
                // one text for both, so that a report says it once
                let origin = Origin::Estimated(method);
                bench.enter("dli_months", Value::Months(light.dli.into()), origin.clone());
                if let Some(mean) = mean {
                    bench.enter("dli", Value::Number(mean), origin);
                }
            } else {
                bench.compute_months("dli_months", light.dli, &method);
                if let Some(mean) = mean {
                    bench.compute("dli", mean, &format!("mean of the growing months; {method}"));
                }
            }
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
        let origin = match (&exposure, solar(bench)) {
            (Exposure::Measured(_), Some(solar)) => {
                let words =
                    format!("from the light measured, as a share of that of the open sky; {}", solar.words);
                if solar.estimated { Origin::Estimated(words) } else { Origin::Computed(words) }
            }
            _ => Origin::Computed(how.to_owned()),
        };
        bench.compute_name("shade", word.name(), origin);
    }
}

/// Position of the word for light, where nothing better is known.
fn stated_word(bench: &Workbench<'_>) -> Option<usize> {
    let better = ["dli_measured", "canopy_cover", "horizon_deg"];
    if better.iter().any(|name| bench.value(name).is_some()) {
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
