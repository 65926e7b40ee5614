//! What bears on a rule: the rules and formulas that must have run before it, and the facts of the
//! site that all of them read. A fact outside the cone of a rule cannot change what it says.

use std::collections::BTreeMap;

use super::formula::Formula;
use super::positions::Positions;
use super::value::{Slot, Space};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Effect, Rule};

/// What bears on one rule, or on a need.
#[derive(Clone, Debug, Default)]
pub struct Cone {
    /// Rules, and formulas counted on after them, itself among them.
    pub members: Positions,
    /// Facts of the site that they read.
    pub site: Positions,
}

impl Cone {
    fn add_all(&mut self, other: &Self) {
        self.members.add_all(&other.members);
        self.site.add_all(&other.site);
    }
}

/// The cones of all rules and needs of a knowledge base.
pub struct Cones {
    /// By rule.
    pub rules: Vec<Cone>,
    /// By need.
    pub needs: Vec<Cone>,
}

impl Cones {
    /// Follows what each rule reads back to the site.
    pub fn new(knowledge: &Knowledge) -> Self {
        let nodes: Vec<Node> = knowledge
            .rules
            .iter()
            .map(Node::of_rule)
            .chain(knowledge.formulas.iter().map(Node::of_formula))
            .collect();
        let mut writers: BTreeMap<Slot, Vec<usize>> = BTreeMap::new();
        for (index, node) in nodes.iter().enumerate() {
            node.writes.iter().for_each(|slot| writers.entry(*slot).or_default().push(index));
        }
        let rules: Vec<Cone> =
            (0..knowledge.rules.len()).map(|index| cone(index, &nodes, &writers)).collect();
        let need = |index: usize| {
            let mut whole = Cone::default();
            let slot = Slot { space: Space::Need, index };
            for rule in writers.get(&slot).into_iter().flatten().filter_map(|member| rules.get(*member)) {
                whole.add_all(rule);
            }
            whole
        };
        let needs = (0..knowledge.needs.all.len()).map(need).collect();
        Self { rules, needs }
    }
}

/// A rule or formula by what it reads and writes.
struct Node {
    reads: Vec<Slot>,
    writes: Vec<Slot>,
}

impl Node {
    fn of_rule(rule: &Rule) -> Self {
        Self { reads: rule.reads(), writes: rule.effects.iter().filter_map(Effect::writes).collect() }
    }

    fn of_formula(formula: &Formula) -> Self {
        let reads = formula.reads.iter().chain(&formula.of_site).copied().collect();
        Self { reads, writes: formula.writes.clone() }
    }
}

fn cone(start: usize, nodes: &[Node], writers: &BTreeMap<Slot, Vec<usize>>) -> Cone {
    let mut cone = Cone::default();
    let mut waiting = vec![start];
    while let Some(index) = waiting.pop() {
        if cone.members.has(index) {
            continue;
        }
        cone.members.add(index);
        for slot in &nodes[index].reads {
            if slot.space == Space::Site {
                cone.site.add(slot.index);
            }
            waiting.extend(writers.get(slot).into_iter().flatten());
        }
    }
    cone
}
