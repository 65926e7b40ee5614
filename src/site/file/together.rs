//! What a site file says that is each allowed and cannot hold together.

use std::sync::Arc;

use super::SiteFile;
use crate::diag::{Finding, Findings, Place, Source};
use crate::document::Table;
use crate::engine::value::Value;
use crate::knowledge::Knowledge;
use crate::knowledge::vocabulary::Declaration;
use crate::units::format_number;

/// The keys of a site file with their places.
pub(super) struct FileKeys<'a> {
    pub(super) source: &'a Arc<Source>,
    pub(super) table: &'a Table,
    pub(super) declarations: &'a [Declaration],
}

impl FileKeys<'_> {
    /// The key under which the file states a fact, and its place.
    fn of(&self, id: &str) -> Option<(&str, Place)> {
        let declaration = self.declarations.iter().find(|one| one.id == id)?;
        [&declaration.key, &declaration.us_key].into_iter().flatten().find_map(|key| {
            let section = match key.section.as_str() {
                "" => self.table,
                section => self.table.get(section)?.node.as_table()?,
            };
            let span = section.get(&key.key)?.key_span.range();
            Some((key.key.as_str(), Place { source: self.source.clone(), span }))
        })
    }
}

/// Facts that each say all of the light, those that say it best first.
pub const LIGHT: [&str; 5] =
    ["site.dli_measured", "site.sun_hours", "site.horizon_deg", "site.canopy_cover", "site.exposure"];

/// Shares of the soil that make it whole together; they say its texture, as the name of a class does.
pub const FRACTIONS: [&str; 3] = ["site.sand_pct", "site.silt_pct", "site.clay_pct"];

/// The light is said once: two statements would contradict each other, and one go unheard.
pub(super) fn check_light(keys: &FileKeys<'_>, findings: &mut Findings) {
    let mut said: Vec<(&str, Place)> = LIGHT.iter().filter_map(|id| keys.of(id)).collect();
    said.sort_by_key(|(_, place)| place.span.start);
    if let Some(((first, first_place), others)) = said.split_first() {
        for (other, place) in others {
            let message = format!("the light is given twice, as `{first}` and as `{other}`");
            let help = "keep one: a measured `dli` says most, then `sun_hours`, `horizon_deg`, `canopy_cover` and `exposure`";
            let finding = Finding::error("light-twice", place, message).also(first_place, "first here");
            findings.push(finding.help(help));
        }
    }
    let kind = keys.of("site.canopy").filter(|_| keys.of("site.canopy_cover").is_none());
    if let Some((_, place)) = kind {
        let message = "`canopy` says what kind of trees, not how much they shade";
        let help = match said.first() {
            Some((other, _)) => format!("leave it out, since `{other}` says the light"),
            None => "add `canopy_cover`, a fraction of the sky".to_owned(),
        };
        findings.push(Finding::error("canopy-without-cover", &place, message).help(help));
    }
}

/// Values that are each allowed and cannot hold together.
pub(super) fn check_together(knowledge: &Knowledge, site: &SiteFile, findings: &mut Findings) {
    let get = |id: &str| {
        let slot = knowledge.vocabulary.slot(id)?;
        site.values.get(slot.index)?.as_ref()
    };
    if let (Some((Value::Months(high), place)), Some((Value::Months(low), other))) =
        (get("site.tmax_c"), get("site.tmin_c"))
        && let Some(month) = (0..12).find(|month| high[*month] < low[*month])
    {
        let message = format!("in month {} the mean maximum is below the mean minimum", month + 1);
        findings.push(Finding::error("maximum-below-minimum", place, message).also(other, "the minima"));
    }
    let parts: Vec<(f64, &Place)> = FRACTIONS
        .iter()
        .filter_map(|id| get(id).and_then(|(value, place)| Some((value.as_number()?, place))))
        .collect();
    if !parts.is_empty() {
        let sum = parts.iter().map(|(part, _)| part * 100.0).sum::<f64>();
        if parts.len() < FRACTIONS.len() {
            let message = "sand, silt and clay must be given all three";
            findings.push(
                Finding::error("texture-incomplete", parts[0].1, message)
                    .help("or name the class: texture = \"clay loam\""),
            );
        } else if (sum - 100.0).abs() > 1.0 {
            let message = format!("sand, silt and clay add up to {} %, not 100 %", format_number(sum));
            let help = ((sum - 1.0).abs() < 0.02).then(|| "write percent: 40, not 0.4".to_owned());
            findings.push(Finding::error("texture-sum", parts[0].1, message).maybe_help(help));
        }
        if let Some((_, place)) = get("site.texture") {
            let message = "the texture is given twice, as a class and as fractions";
            findings.push(
                Finding::error("texture-twice", place, message)
                    .also(parts[0].1, "and here")
                    .help("keep one of the two"),
            );
        }
    }
}
