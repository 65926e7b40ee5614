//! The cautions of a property.

use crate::explain::{Caution, Detail, explain, trace_candidate, trace_site};
use crate::property::Property;
use crate::units::UnitSystem;

/// The cautions of each area with what is chosen for it, those of its site first, and the position of the area.
pub fn cautions<'k>(
    property: &Property<'k>,
    choice: &[usize],
    units: UnitSystem,
) -> Vec<(Caution<'k>, usize)> {
    let of_area = |(at, option): (usize, &usize)| {
        let assessment = &property.assessments[at];
        let candidate = property.candidate(at, *option);
        let of_site = explain(assessment, None, &trace_site(assessment), units);
        let trace = trace_candidate(assessment, candidate, Detail::Brief);
        let of_choice = explain(assessment, Some(candidate), &trace, units);
        of_site.cautions.into_iter().chain(of_choice.cautions).map(move |caution| (caution, at))
    };
    choice.iter().enumerate().flat_map(of_area).collect()
}
