//! The reasons for one candidate, read off its trace.

use super::grounds::grounds;
use super::overlays::{overlays_behind, overlays_of_open};
use super::sight::Sight;
use super::words::{Basis, Figured, awaited_names, bases, write_template};
use crate::assess::{Assessment, Candidate, matters};
use crate::engine::facts::View;
use crate::engine::trace::{Observation, Result, Step, Trace};
use crate::engine::value::Slot;
use crate::knowledge::rule::{Effect, Gravity, Rule, Stage};
use crate::knowledge::rule_figures::Figure;
use crate::rank::Level;
use crate::units::UnitSystem;

/// Level from which a reason speaks against a species. Below it a need is met with a slight lack at
/// most, which is no reason to choose otherwise.
pub const AGAINST_FROM: f64 = 1.5;

/// Levels less far apart than this print alike.
const VISIBLE: f64 = 0.05;

/// Which way a reason speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// For the species.
    For,
    /// Against it.
    Against,
    /// Neither: the need is met without being a strength.
    Neutral,
    /// It cannot be decided, and until it is, the need counts as worse than decided rules make it.
    Open,
}

impl Direction {
    /// As JSON and reports write it.
    pub fn name(self) -> &'static str {
        match self {
            Self::For => "for",
            Self::Against => "against",
            Self::Neutral => "neutral",
            Self::Open => "open",
        }
    }
}

/// A reason: a rule that moved a need or speaks for the species.
#[derive(Clone, Debug)]
pub struct Reason<'k> {
    /// The rule.
    pub rule: &'k Rule,
    /// Position of the need.
    pub need: usize,
    /// Which way it speaks.
    pub direction: Direction,
    /// The level that it gives, if it gives one; of an open one, the level that counts meanwhile.
    pub level: Option<f64>,
    /// The level that an open one may come to.
    pub at_worst: Option<f64>,
    /// Its words.
    pub text: String,
    /// What was observed.
    pub observed: Option<Figured>,
    /// What it was held against, of the same kind and unit.
    pub needed: Option<Figured>,
    /// The conditions with what was seen.
    pub conditions: Vec<Observation>,
    /// The traits that it rests on.
    pub bases: Vec<Basis>,
    /// Ids of the overlays that had a hand in it, by the rule, a trait or a fact of the site.
    pub overlays: Vec<String>,
}

/// A caution.
#[derive(Clone, Debug)]
pub struct Caution<'k> {
    /// The rule.
    pub rule: &'k Rule,
    /// How grave it is.
    pub gravity: Gravity,
    /// Its words.
    pub text: String,
    /// Whose word goes before ours.
    pub defer_to: &'k str,
    /// Ids of the overlays that had a hand in it.
    pub overlays: Vec<String>,
}

/// A task.
#[derive(Clone, Debug)]
pub struct Task<'k> {
    /// The rule.
    pub rule: &'k Rule,
    /// When it falls due.
    pub stage: Stage,
    /// Where among those of its stage it is told.
    order: u8,
    /// What to do.
    pub text: String,
    /// Ids of the overlays that had a hand in it.
    pub overlays: Vec<String>,
}

/// A rule that could not be decided.
#[derive(Clone, Debug)]
pub struct OpenReason<'k> {
    /// The rule.
    pub rule: &'k Rule,
    /// Position of the need that it might move, if any.
    pub need: Option<usize>,
    /// What it misses.
    pub missing: Vec<Slot>,
    /// Level if what is missing comes out best.
    pub best: f64,
    /// Level if what is missing comes out worst.
    pub worst: f64,
}

/// All that is to be said of one candidate, or of the site alone.
#[derive(Clone, Debug, Default)]
pub struct Explanation<'k> {
    /// Reasons, by need in the order of the needs, the worst level first.
    pub reasons: Vec<Reason<'k>>,
    /// Cautions, the gravest first.
    pub cautions: Vec<Caution<'k>>,
    /// Tasks, by stage.
    pub tasks: Vec<Task<'k>>,
    /// What is open.
    pub open: Vec<OpenReason<'k>>,
    /// Rules that stay silent, with their conditions.
    pub silent: Vec<(&'k Rule, Vec<Observation>)>,
}

/// Tasks as they fall due.
fn in_order(tasks: &mut [Task<'_>]) {
    let key = |task: &Task<'_>| (task.stage, task.order);
    tasks.sort_by(|a, b| key(a).cmp(&key(b)).then_with(|| a.rule.id.cmp(&b.rule.id)));
}

/// What is to be done for one candidate: what its site asks whatever is planted, and its own tasks, as they fall due.
pub fn plan<'k>(of_site: &Explanation<'k>, of_candidate: &Explanation<'k>) -> Vec<Task<'k>> {
    let mut tasks: Vec<Task<'k>> = of_site.tasks.iter().chain(&of_candidate.tasks).cloned().collect();
    in_order(&mut tasks);
    tasks
}

/// Reads the reasons off a trace. `candidate` is `None` for the site alone.
pub fn explain<'k>(
    assessment: &Assessment<'k>,
    candidate: Option<&Candidate<'k>>,
    trace: &Trace,
    units: UnitSystem,
) -> Explanation<'k> {
    let sight = Sight::of(assessment, candidate);
    let reader = Reader { assessment, candidate, view: sight.view(), units };
    let mut all = Explanation::default();
    trace.steps.iter().for_each(|step| reader.read(step, &mut all));
    in_the_order_told(&mut all);
    all
}

/// Each kind as [`Explanation`] has it, the rest by the ids of rules.
fn in_the_order_told(all: &mut Explanation<'_>) {
    all.reasons.sort_by(|a, b| {
        let level = |one: &Reason<'_>| one.level.unwrap_or(-1.0);
        let at_worst = |one: &Reason<'_>| one.at_worst.unwrap_or(-1.0);
        (a.need.cmp(&b.need))
            .then(level(b).total_cmp(&level(a)))
            .then(at_worst(b).total_cmp(&at_worst(a)))
            .then_with(|| a.rule.id.cmp(&b.rule.id))
    });
    all.cautions.sort_by(|a, b| b.gravity.cmp(&a.gravity).then_with(|| a.rule.id.cmp(&b.rule.id)));
    in_order(&mut all.tasks);
    all.open.sort_by(|a, b| a.need.cmp(&b.need).then_with(|| a.rule.id.cmp(&b.rule.id)));
}

/// Who reads a trace: of whom, and in which units.
struct Reader<'r, 'k> {
    assessment: &'r Assessment<'k>,
    candidate: Option<&'r Candidate<'k>>,
    view: View<'r>,
    units: UnitSystem,
}

impl<'k> Reader<'_, 'k> {
    fn read(&self, step: &Step, all: &mut Explanation<'k>) {
        let rules = &self.assessment.knowledge.rules;
        match step {
            Step::Applied { rule, effect, conditions, result, .. } => {
                let level = if let Result::Level(_, level) = result { Some(*level) } else { None };
                self.applied(&rules[*rule], *effect, level, conditions, all);
            }
            Step::Open { rule, effect, conditions, missing, best, worst } => {
                let rule = &rules[*rule];
                let need = rule.effects[*effect].rated_need();
                let (best, worst) = (*best, *worst);
                let open = OpenReason { rule, need, missing: missing.clone(), best, worst };
                all.reasons.extend(self.open_reason(&open, conditions));
                all.open.push(open);
            }
            Step::Silent { rule, conditions } => all.silent.push((&rules[*rule], conditions.clone())),
            Step::Given { .. } | Step::Merged { .. } => {}
        }
    }

    /// What one effect of a rule that applies says.
    fn applied(
        &self,
        rule: &'k Rule,
        effect: usize,
        level: Option<f64>,
        conditions: &[Observation],
        all: &mut Explanation<'k>,
    ) {
        let write = |template| write_template(template, &self.view, self.assessment.knowledge, self.units);
        let overlays = || overlays_behind(rule, self.candidate, self.assessment);
        match &rule.effects[effect] {
            Effect::Derive { .. } => {}
            Effect::Caution { gravity, defer_to } => {
                let (text, overlays) = (write(&rule.because), overlays());
                all.cautions.push(Caution { rule, gravity: *gravity, text, defer_to, overlays });
            }
            Effect::Task { stage, order, what } => {
                let (stage, order) = (*stage, *order);
                all.tasks.push(Task { rule, stage, order, text: write(what), overlays: overlays() });
            }
            Effect::Credit { need } => all.reasons.push(self.reason(rule, *need, level, conditions)),
            rated => {
                let reason = |need| self.reason(rule, need, level, conditions);
                all.reasons.extend(rated.rated_need().map(reason));
            }
        }
    }

    /// The reason in a rule that applies.
    fn reason(
        &self,
        rule: &'k Rule,
        need: usize,
        level: Option<f64>,
        conditions: &[Observation],
    ) -> Reason<'k> {
        let knowledge = self.assessment.knowledge;
        let figures = rule.figures(&knowledge.names());
        let figured = |figure: &Figure| Figured::of(figure, &self.view, knowledge);
        let observed = figures.observed.iter().find_map(figured);
        let needed = observed.as_ref().and(figures.needed.as_ref()).and_then(figured);
        let behind = grounds(rule, self.candidate, self.assessment);
        let bases = |one: &Candidate<'_>| bases(&behind, one.species, knowledge, self.units);
        Reason {
            rule,
            need,
            direction: match level {
                None => Direction::For,
                Some(level) if level >= AGAINST_FROM => Direction::Against,
                Some(_) => Direction::Neutral,
            },
            level,
            at_worst: None,
            text: write_template(&rule.because, &self.view, knowledge, self.units),
            observed,
            needed,
            conditions: conditions.to_vec(),
            bases: self.candidate.map(bases).unwrap_or_default(),
            overlays: overlays_behind(rule, self.candidate, self.assessment),
        }
    }

    /// The reason in an open rule: where it is for being open that the need decides the class, or that it
    /// counts as worse than decided rules make it.
    fn open_reason(&self, open: &OpenReason<'k>, conditions: &[Observation]) -> Option<Reason<'k>> {
        let (assessment, candidate) = (self.assessment, self.candidate?);
        let need = open.need?;
        let state = &candidate.needs[need];
        let decides = candidate.standing.deciding.contains(&need);
        let counts = if decides { state.used() } else { state.counted() };
        // what decided rules give already needs no other reason
        let beyond = if decides { 1e-9 } else { VISIBLE };
        let greatest = candidate.outcome.needs[need].open.iter().map(|one| one.worst).fold(0.0, f64::max);
        let alone = open.worst >= counts.value() - beyond;
        let reaches =
            alone || open.worst >= greatest || (decides && matters(state.level.value(), open.worst));
        let moves =
            counts.value() - state.level.value() > beyond && open.worst - state.level.value() > beyond;
        if !moves || !reaches {
            return None;
        }
        let named = |level: f64| Level::clamped(level).map_or("", |level| level.name().as_str());
        let (best, worst) = (named(open.best), named(open.worst));
        // a range within one step needs no two names
        let best = if best == worst { String::new() } else { format!("{best} at best, ") };
        let missing = awaited_names(assessment, open.missing.iter());
        // an open key need counts as the worst that it may come to, up to moderate
        let key = if counts > state.counted() { ", being a key need" } else { "" };
        let meanwhile = counts.name().as_str();
        let missing = if missing.is_empty() { "what is not known" } else { missing.as_str() };
        let counting = match alone || !key.is_empty() {
            true => format!("and counts as {meanwhile} until then{key}"),
            // several that are open may come together to more than any of them
            false => format!("and with what else is open the need counts as {meanwhile} until then"),
        };
        let text = format!("waits for {missing}: {best}{worst} at worst, {counting}");
        let behind = grounds(open.rule, Some(candidate), assessment);
        Some(Reason {
            rule: open.rule,
            need,
            direction: Direction::Open,
            level: Some(counts.value()),
            at_worst: Some(open.worst),
            text,
            observed: None,
            needed: None,
            conditions: conditions.to_vec(),
            bases: bases(&behind, candidate.species, assessment.knowledge, self.units),
            overlays: overlays_of_open(open.rule, need, candidate, assessment),
        })
    }
}
