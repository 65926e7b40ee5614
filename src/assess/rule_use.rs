//! How often each rule speaks over many pairs of a site and a species.

use std::collections::BTreeSet;

use super::Assessment;
use crate::engine::run::Outcome;

/// What became of one rule over pairs of a site and a species.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RuleUse {
    /// Pairs in which it fires, be it for the site alone.
    pub fires: usize,
    /// Pairs in which it cannot be decided and might fire.
    pub open: usize,
    /// Pairs in which it stays silent.
    pub silent: usize,
}

impl RuleUse {
    /// All pairs.
    pub fn pairs(&self) -> usize {
        self.fires + self.open + self.silent
    }
}

/// Adds what the rules said at one site to the counts, which stand in the order of the rules.
pub fn count_rules(assessment: &Assessment<'_>, counts: &mut [RuleUse]) {
    let (at_site, open_at_site) = (fired(&assessment.site_outcome), open(&assessment.site_outcome));
    for candidate in &assessment.candidates {
        let fired = &fired(&candidate.outcome) | &at_site;
        let open = &open(&candidate.outcome) | &open_at_site;
        for (rule, count) in counts.iter_mut().enumerate() {
            match (fired.contains(&rule), open.contains(&rule)) {
                (true, _) => count.fires += 1,
                (false, true) => count.open += 1,
                (false, false) => count.silent += 1,
            }
        }
    }
}

fn fired(outcome: &Outcome) -> BTreeSet<usize> {
    let rated = outcome.needs.iter().flat_map(|need| &need.contributions).map(|one| one.rule);
    let spoken = outcome.spoken.iter().map(|(rule, _)| *rule);
    let derived = outcome.derived.iter().map(|(rule, _, _)| *rule);
    rated.chain(spoken).chain(derived).collect()
}

fn open(outcome: &Outcome) -> BTreeSet<usize> {
    let rated = outcome.needs.iter().flat_map(|need| &need.open);
    rated.chain(&outcome.unspoken).map(|point| point.rule).collect()
}
