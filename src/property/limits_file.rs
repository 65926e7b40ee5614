//! The `[limits]` of a property file.

use crate::diag::{Finding, Findings, Place};
use crate::document::TableReader;
use crate::units::factors::{FT2_M2, GALLON_L, INCH_M, POUND_KG};
use crate::units::format_number;

/// Cubic metres in a US gallon.
pub const M3_PER_GALLON: f64 = GALLON_L / 1000.0;

/// What must not be passed.
#[derive(Clone, Debug, Default)]
pub struct Limits {
    /// The most kinds in all.
    pub kinds: Option<usize>,
    /// The most water a year, m3, as the meter counts it.
    pub water_m3: Option<(f64, Place)>,
    /// The allowance of the landscape ordinance, by the use of the land.
    pub allowance: Option<(LandUse, Place)>,
    /// Whether the file says if the allowance is asked for.
    pub says_mawa: bool,
    /// Reference evapotranspiration by the ordinance's own table, inches a year.
    pub eto_in: Option<f64>,
    /// The most nitrogen a year, kg.
    pub nitrogen_kg: Option<(f64, Place)>,
    /// The most hours of upkeep a year.
    pub hours: Option<(f64, Place)>,
    /// What one person mows in an hour, m2, where the file says it.
    pub mowing_m2_h: Option<f64>,
    /// Whether seed may drift from an area into its neighbours.
    pub seed_drift: bool,
}

/// Uses of land that the ordinance tells apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LandUse {
    /// Homes.
    Residential,
    /// All else.
    Other,
}

/// Square metres that one person may mow in an hour: the ends lie well beyond scythe and wide-area mower.
pub(crate) const MOWING_M2_H: [f64; 2] = [20.0, 200_000.0];
/// What one person mows in an hour, with the square metres in the unit of each.
pub(crate) const MOWING_KEYS: [(&str, f64); 2] = [("mowing_m2_h", 1.0), ("mowing_ft2_h", FT2_M2)];

/// Inches of reference evapotranspiration that a year may have: the ends lie well beyond any place on earth.
pub(crate) const ETO_IN: [f64; 2] = [5.0, 150.0];

/// Reads the limits, where there are any.
pub fn read_limits(file: &mut TableReader<'_>, findings: &mut Findings) -> Limits {
    let mut limits = Limits::default();
    let Some(mut table) = file.table("limits", "the limits", findings) else { return limits };
    limits.kinds = kinds(&mut table, findings);
    limits.water_m3 = amount(&mut table, [("water_m3_yr", 1.0), ("water_gal_yr", M3_PER_GALLON)], findings);
    limits.nitrogen_kg =
        amount(&mut table, [("nitrogen_kg_yr", 1.0), ("nitrogen_lb_yr", POUND_KG)], findings);
    read_allowance(&mut table, &mut limits, findings);
    limits.seed_drift = table.flag("seed_drift", findings).unwrap_or(false);
    read_hours(&mut table, &mut limits, findings);
    table.finish(findings);
    limits
}

/// Hours of upkeep, and what only they ask for.
fn read_hours(table: &mut TableReader<'_>, limits: &mut Limits, findings: &mut Findings) {
    limits.hours = positive(table, "hours_yr", findings);
    let mowing = amount(table, MOWING_KEYS, findings);
    let Some((rate, place)) = mowing else { return };
    let key = MOWING_KEYS.iter().find(|(key, _)| table.node(key).is_some()).map_or("", |(key, _)| *key);
    if table.node("hours_yr").is_none() {
        let message = format!("`{key}` does nothing without a limit on hours");
        let help = "add `hours_yr`, the most hours of upkeep a year, or take it out";
        findings.push(Finding::error("without-hours", &place, message).help(help));
    }
    let [least, most] = MOWING_M2_H;
    if (least..=most).contains(&rate) {
        limits.mowing_m2_h = Some(rate);
        return;
    }
    let message = format!(
        "`{key}` comes to {} m2, and one person mows {least} to {most} m2 in an hour",
        format_number(rate)
    );
    let help =
        "write what one person mows in an hour, all turns counted; without it the table `mowing-use` says it";
    findings.push(Finding::error("out-of-range", &place, message).help(help));
}

/// The allowance of the landscape ordinance, and what only it asks for.
fn read_allowance(table: &mut TableReader<'_>, limits: &mut Limits, findings: &mut Findings) {
    let asked = table.flag("mawa", findings).unwrap_or(false);
    let mawa = table.node("mawa").map(|node| table.place(node.span));
    let uses = [("residential", LandUse::Residential), ("non-residential", LandUse::Other)];
    let land_use = table.one_of("land_use", &uses, findings);
    limits.says_mawa = mawa.is_some();
    match (mawa.filter(|_| asked), land_use) {
        (Some(place), Some(land_use)) => limits.allowance = Some((land_use, place)),
        (Some(place), None) if table.node("land_use").is_none() => {
            let message = "`mawa` needs the use of the land, since the allowance differs by it";
            let help = "add `land_use = \"residential\"` or `land_use = \"non-residential\"`";
            findings.push(Finding::error("missing-key", &place, message).help(help));
        }
        _ => {}
    }
    limits.eto_in = eto_in(table, findings);
    if !limits.says_mawa {
        for key in ["land_use", "eto_in_yr"] {
            let entry = table.entry(key);
            findings.extend(entry.map(|entry| without_mawa(key, &table.place(entry.key_span))));
        }
    }
}

/// The finding for a key that only the allowance asks for, where nothing is said of that.
pub fn without_mawa(key: &str, place: &Place) -> Finding {
    let message = format!("`{key}` does nothing without the allowance of the landscape ordinance");
    Finding::error("without-mawa", place, message)
        .help("add `mawa = true` to [limits], or `mawa = false` where it is not to be kept")
}

/// Reference evapotranspiration of the ordinance's table, inches a year.
fn eto_in(table: &mut TableReader<'_>, findings: &mut Findings) -> Option<f64> {
    let number = table.number("eto_in_yr", findings)?;
    let [least, most] = ETO_IN;
    if (least..=most).contains(&number) {
        return Some(number);
    }
    let place = table.node("eto_in_yr").map_or_else(|| table.own_place(), |node| table.place(node.span));
    let message =
        format!("`eto_in_yr` is {number}, and a year's reference evapotranspiration is {least} to {most} in");
    let inches = number / 1000.0 / INCH_M;
    let help = if (least..=most).contains(&inches) {
        format!("write it in inches: {number} mm are {} in", format_number(inches))
    } else {
        "write the inches of the whole year, as the ordinance's table has them".to_owned()
    };
    findings.push(Finding::error("out-of-range", &place, message).help(help));
    None
}

fn kinds(table: &mut TableReader<'_>, findings: &mut Findings) -> Option<usize> {
    let number = table.number("kinds", findings)?;
    if number >= 1.0 && number.fract() == 0.0 {
        // more than there are areas is as good as no limit
        return Some(number.min(1e6) as usize);
    }
    let place = table.node("kinds").map_or_else(|| table.own_place(), |node| table.place(node.span));
    let message = format!("`kinds` is {number}, and must be a whole number from 1");
    let help = "leave it out for as many kinds as there are areas";
    findings.push(Finding::error("out-of-range", &place, message).help(help));
    None
}

/// A figure under one of two keys, the second in another unit.
fn amount<'a>(
    table: &mut TableReader<'a>,
    keys: [(&'a str, f64); 2],
    findings: &mut Findings,
) -> Option<(f64, Place)> {
    let [one, other] = keys
        .map(|(key, factor)| positive(table, key, findings).map(|(number, place)| (number * factor, place)));
    if let (Some((_, first)), Some((_, place))) = (&one, &other) {
        let message = format!("a limit is given twice, as `{}` and as `{}`", keys[0].0, keys[1].0);
        let finding = Finding::error("both-units", place, message).also(first, "first here");
        findings.push(finding.help("keep one of the two"));
    }
    one.or(other)
}

/// A number that is not negative, with its place.
fn positive<'a>(table: &mut TableReader<'a>, key: &'a str, findings: &mut Findings) -> Option<(f64, Place)> {
    let number = table.number(key, findings)?;
    let place = table.node(key).map_or_else(|| table.own_place(), |node| table.place(node.span));
    if number < 0.0 {
        let message = format!("`{key}` is {number}, and a limit cannot be negative");
        findings.push(
            Finding::error("out-of-range", &place, message).help("leave it out where there is no limit"),
        );
        return None;
    }
    Some((number, place))
}
