//! The order in which rules run: a rule runs only after every rule that writes what it reads.
//!
//! Rules that read each other in a circle are let through when each only passes on flags or levels
//! (then going round until nothing changes must end); `not`, `known`, arithmetic and sums on the
//! way round are refused with the circle printed.

use std::collections::BTreeMap;

use super::expression::{Expr, Typed};
use super::formula::Formula;
use super::value::{Slot, Space};
use crate::diag::{Finding, Findings};
use crate::knowledge::names::Names;
use crate::knowledge::rule::{Effect, Rule};
use crate::knowledge::vocabulary::Merge;

/// Rules that run together; more than one, or one that reads itself, goes round to a fixpoint.
#[derive(Clone, Debug, PartialEq)]
pub struct Stratum {
    /// Positions of the rules; behind the last rule, those of the formulas.
    pub rules: Vec<usize>,
    /// Whether it must go round.
    pub recursive: bool,
}

/// The order of all rules.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strata {
    /// Rules about the site alone.
    pub site: Vec<Stratum>,
    /// Rules about a species at the site.
    pub pair: Vec<Stratum>,
}

/// Finds the order; circles that may not end are reported.
pub fn stratify(rules: &[Rule], formulas: &[Formula], names: &Names<'_>, findings: &mut Findings) -> Strata {
    let mut writers: BTreeMap<Slot, Vec<usize>> = BTreeMap::new();
    let written_by_rules = rules.iter().map(|rule| rule.effects.iter().filter_map(Effect::writes).collect());
    let written: Vec<Vec<Slot>> =
        written_by_rules.chain(formulas.iter().map(|formula| formula.writes.clone())).collect();
    for (index, slots) in written.iter().enumerate() {
        for slot in slots {
            writers.entry(*slot).or_default().push(index);
        }
    }
    // before[i]: the rules and formulas that must have run when i runs
    let before: Vec<Vec<usize>> = rules
        .iter()
        .map(Rule::reads)
        .chain(formulas.iter().map(|formula| formula.reads.clone()))
        .map(|reads| {
            let mut earlier: Vec<usize> =
                reads.iter().filter_map(|slot| writers.get(slot)).flatten().copied().collect();
            earlier.sort_unstable();
            earlier.dedup();
            earlier
        })
        .collect();
    let mut strata = Strata::default();
    for mut members in components(&before) {
        members.sort_unstable();
        let recursive = members.len() > 1 || before[members[0]].contains(&members[0]);
        if recursive {
            check_circle(&members, rules, formulas, names, findings);
        }
        let site = members.iter().all(|member| rules.get(*member).is_some_and(|rule| rule.site_only));
        let list = if site { &mut strata.site } else { &mut strata.pair };
        list.push(Stratum { rules: members, recursive });
    }
    strata
}

/// Strongly connected components, each after all that it depends on (Tarjan 1972, with a stack of
/// its own so that a long chain of rules cannot exhaust the program's).
fn components(before: &[Vec<usize>]) -> Vec<Vec<usize>> {
    const UNSEEN: usize = usize::MAX;
    let count = before.len();
    let (mut order, mut low) = (vec![UNSEEN; count], vec![0; count]);
    let mut on_stack = vec![false; count];
    let (mut stack, mut found, mut next) = (Vec::new(), Vec::new(), 0);
    for root in 0..count {
        if order[root] != UNSEEN {
            continue;
        }
        let mut work = vec![(root, 0)];
        while let Some(&mut (node, ref mut edge)) = work.last_mut() {
            if *edge == 0 {
                order[node] = next;
                low[node] = next;
                next += 1;
                stack.push(node);
                on_stack[node] = true;
            }
            if let Some(&target) = before[node].get(*edge) {
                *edge += 1;
                if order[target] == UNSEEN {
                    work.push((target, 0));
                } else if on_stack[target] {
                    low[node] = low[node].min(order[target]);
                }
                continue;
            }
            work.pop();
            if let Some(&(parent, _)) = work.last() {
                low[parent] = low[parent].min(low[node]);
            }
            if low[node] == order[node] {
                let mut members = Vec::new();
                while let Some(member) = stack.pop() {
                    on_stack[member] = false;
                    members.push(member);
                    if member == node {
                        break;
                    }
                }
                found.push(members);
            }
        }
    }
    found
}

fn check_circle(
    members: &[usize],
    rules: &[Rule],
    formulas: &[Formula],
    names: &Names<'_>,
    findings: &mut Findings,
) {
    let formula = members.iter().filter_map(|member| formulas.get(member.checked_sub(rules.len())?)).next();
    let members: Vec<usize> = members.iter().copied().filter(|member| *member < rules.len()).collect();
    let written: Vec<Slot> =
        members.iter().flat_map(|member| rules[*member].effects.iter().filter_map(Effect::writes)).collect();
    let Some(first) = members.first().map(|member| &rules[*member]) else { return };
    if let Some(formula) = formula {
        let message = format!("rules feed the computation `{}` with what they read from it", formula.id);
        findings.push(Finding::error("cyclic-rules", &first.place, message));
        return;
    }
    let plain_merges = written.iter().all(|slot| match names.vocabulary.declaration(*slot) {
        Some(declaration) => {
            matches!(declaration.merge, Merge::Any | Merge::Worst | Merge::Best | Merge::Union)
        }
        None => slot.space == Space::Need,
    });
    let passes_on = |rule: &Rule| {
        let condition = rule.when.as_ref().is_none_or(|when| only_joins(&when.expr, &written));
        let values = rule.effects.iter().all(|effect| match effect {
            Effect::Derive { value, .. } | Effect::Rate { level: value, .. } => only_passes(value, &written),
            _ => true,
        });
        condition && values
    };
    if plain_merges && members.iter().all(|member| passes_on(&rules[*member])) {
        return;
    }
    let mut circle: Vec<String> = members
        .iter()
        .flat_map(|member| {
            let rule = &rules[*member];
            let read: Vec<String> = rule
                .reads()
                .iter()
                .filter(|slot| written.contains(slot))
                .map(|slot| names.name_of(*slot))
                .collect();
            rule.effects.iter().filter_map(Effect::writes).map(move |slot| {
                format!("{} reads {} and writes {}", rule.id, read.join(", "), names.name_of(slot))
            })
        })
        .collect();
    circle.dedup();
    let message = format!("rules wait for one another in a circle: {}", circle.join("; "));
    let finding = Finding::error("cyclic-rules", &first.place, message)
        .help("a circle may only pass on flags by `and` and `or`; break it where it says `not`, `known` or computes");
    let finding = members[1..]
        .iter()
        .fold(finding, |finding, member| finding.also(&rules[*member].place, "in the circle"));
    findings.push(finding);
}

/// Whether the slots are read only as flags joined by `and` and `or`.
fn only_joins(expr: &Expr, slots: &[Slot]) -> bool {
    match expr {
        Expr::All(parts) | Expr::Any(parts) => parts.iter().all(|part| only_joins(part, slots)),
        Expr::Fact(_) => true,
        other => reads_none(other, slots),
    }
}

/// Whether the slots are read only to be passed on, or as the greatest or smallest of several.
fn only_passes(value: &Typed, slots: &[Slot]) -> bool {
    fn passes(expr: &Expr, slots: &[Slot]) -> bool {
        match expr {
            Expr::Fact(_) => true,
            Expr::Extreme(_, parts) | Expr::All(parts) | Expr::Any(parts) => {
                parts.iter().all(|part| passes(part, slots))
            }
            other => reads_none(other, slots),
        }
    }
    passes(&value.expr, slots)
}

fn reads_none(expr: &Expr, slots: &[Slot]) -> bool {
    let mut none = true;
    expr.visit_slots(&mut |slot, _| none &= !slots.contains(&slot));
    none
}
