//! Needs that no rule rates: every species would meet them, whatever the site.

use super::Knowledge;
use crate::diag::{Finding, Findings};

/// A finding for each need that no rule brings to a level or refuses a species on.
pub fn unrated_needs(knowledge: &Knowledge) -> Findings {
    let effects = || knowledge.rules.iter().flat_map(|rule| &rule.effects);
    let unrated = knowledge.needs.all.iter().enumerate();
    let unrated = unrated.filter(|(at, _)| effects().all(|effect| effect.rated_need() != Some(*at)));
    unrated
        .map(|(_, need)| {
            let message = format!("no rule rates the need `{}`", need.id);
            let help = "write a rule with `then.rate`, `then.limit` or `then.exclude` on it, or take it out: \
                        until then every species meets it everywhere";
            Finding::error("unrated-need", &need.place, message).help(help)
        })
        .collect()
}
