//! Properties of the engine over random rule sets.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::facts::{Values, View};
use super::formula::{Compute, ComputedFact};
use super::plausible::Plausible;
use super::positions::Positions;
use super::run::{Outcome, run_pair};
use super::trace::{Detail, Step, replay, replay_facts, trace};
use super::value::{Slot, Space, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::rule::Effect;
use crate::knowledge::text::KnowledgeText;

const VOCABULARY: &str = r#"
[choice.kind]
names = ["plant", "moss", "fern"]
[site.a]
meaning = "a"
type = "number"
unit = "1"
range = [0, 10]
key = "soil.a"
[site.b]
meaning = "b"
type = "number"
unit = "1"
range = [0, 10]
key = "soil.b"
[site.f]
meaning = "f"
type = "flag"
key = "soil.f"
[site.unread]
meaning = "read by no rule"
type = "number"
unit = "1"
key = "soil.unread"
[species.kind]
meaning = "kind"
type = "choice"
of = "kind"
[species.x]
meaning = "x"
type = "number"
unit = "1"
range = [0, 10]
merge = "weighted-median"
[species.g]
meaning = "g"
type = "flag"
merge = "any"
[fit.p]
meaning = "p"
type = "flag"
from = "rules"
merge = "any"
[fit.q]
meaning = "q"
type = "flag"
from = "rules"
merge = "any"
[fit.s]
meaning = "s"
type = "number"
unit = "1"
from = "rules"
merge = "worst"
better = "low"
[fit.t]
meaning = "t"
type = "number"
unit = "1"
from = "rules"
merge = "sum"
[fit.u]
meaning = "u"
type = "set"
of = "kind"
from = "rules"
merge = "collect"
[fit.c]
meaning = "c, in a circle with d"
type = "flag"
from = "rules"
merge = "any"
[fit.d]
meaning = "d, in a circle with c"
type = "flag"
from = "rules"
merge = "any"
"#;
const NEEDS: &str = "[one]\ntitle = \"one\"\nkind = \"need\"\nexclude = true\nkey_for = []\n[two]\ntitle = \"two\"\nkind = \"need\"\nexclude = true\nkey_for = []\n";
const EDITION: &str =
    "version = \"0.1.0\"\n[[changelog]]\nversion = \"0.1.0\"\ndate = \"2026-11-25\"\nwhat = \"test\"\n";
const SOURCES: &str = "[common-practice]\ntitle = \"Common practice\"\nkind = \"practice\"\n";

/// Conditions on what is given.
const GIVEN: [&str; 9] = [
    "site.a > 3",
    "site.b < 5 and site.f",
    "not species.g",
    "known(species.x)",
    "species.x >= site.a",
    "site.a + site.b > 9",
    "not (site.f or species.g)",
    "site.b in_between",
    "if site.f then site.a > 5 else site.b > 5",
];
/// Conditions on what other rules derive; each stratum may read those before it.
const ON_P: [&str; 4] = ["fit.p", "fit.p and site.a > 2", "not fit.p", "known(fit.p) and fit.p"];
const ON_Q: [&str; 9] = [
    "fit.t > 6",
    "'moss' in fit.u",
    "fit.c and not fit.q",
    "fit.q",
    "fit.p or fit.q",
    "not fit.q and site.f",
    "fit.s > 4",
    "known(fit.s)",
    "known(fit.s) and fit.s > 4",
];
const LEVELS: [&str; 4] =
    ["grade(site.a, none = 0, excluding = 10)", "severe", "max(slight, site.b / 3)", "min(5, species.x)"];

/// One random rule: its effect and condition.
#[derive(Clone, Debug)]
struct Sketch {
    effect: usize,
    condition: usize,
    level: usize,
}

fn sketches() -> impl Strategy<Value = Vec<Sketch>> {
    let one = (0usize..10, 0usize..40, 0usize..LEVELS.len()).prop_map(|(effect, condition, level)| Sketch {
        effect,
        condition,
        level,
    });
    prop::collection::vec(one, 1..14)
}

impl Sketch {
    fn text(&self, id: &str) -> String {
        let pick = |lists: &[&[&'static str]]| {
            let all: Vec<&str> = lists.iter().flat_map(|list| list.iter().copied()).collect();
            all[self.condition % all.len()].replace("site.b in_between", "site.b > 2 and site.b < 8")
        };
        let level = LEVELS[self.level];
        let (when, then) = match self.effect {
            0 => (pick(&[&GIVEN]), "then.derive = { fact = \"fit.p\", value = \"true\" }".to_owned()),
            1 => (pick(&[&GIVEN, &ON_P]), "then.derive = { fact = \"fit.q\", value = \"true\" }".to_owned()),
            2 => {
                (pick(&[&GIVEN, &ON_P]), format!("then.derive = {{ fact = \"fit.s\", value = \"{level}\" }}"))
            }
            3 => (
                pick(&[&GIVEN, &ON_P, &ON_Q]),
                format!("then.rate = {{ need = \"one\", level = \"{level}\" }}"),
            ),
            4 => (
                pick(&[&GIVEN, &ON_P, &ON_Q, &["need.one >= 2", "need.one < 1 or fit.q"]]),
                format!("then.rate = {{ need = \"two\", level = \"{level}\" }}"),
            ),
            6 => (pick(&[&GIVEN]), "then.derive = { fact = \"fit.t\", value = \"site.b / 2\" }".to_owned()),
            7 => (
                pick(&[&GIVEN]),
                format!(
                    "then.derive = {{ fact = \"fit.u\", value = \"['{}']\" }}",
                    ["moss", "fern"][self.level % 2]
                ),
            ),
            8 => (
                format!("fit.d or ({})", pick(&[&GIVEN])),
                "then.derive = { fact = \"fit.c\", value = \"true\" }".to_owned(),
            ),
            9 => (
                format!("fit.c and ({})", pick(&[&GIVEN])),
                "then.derive = { fact = \"fit.d\", value = \"true\" }".to_owned(),
            ),
            _ => (pick(&[&GIVEN, &ON_Q]), "then.credit = { need = \"two\" }".to_owned()),
        };
        format!(
            "id = \"{id}\"\ntitle = \"t\"\nwhy = \"w\"\nsources = [{{ key = \"common-practice\" }}]\nwhen = \"{when}\"\n{then}\nbecause = \"b\"\n[[fires]]\ngiven = {{ \"site.a\" = 1 }}\n[[stays_silent]]\ngiven = {{ \"site.a\" = 1 }}\n"
        )
    }
}

/// A knowledge base of these rules, under these ids.
fn base(rules: &[Sketch], ids: &[String]) -> Knowledge {
    let files: Vec<(String, String)> = rules
        .iter()
        .zip(ids)
        .map(|(rule, id)| (format!("rules/topic/{id}.toml"), rule.text(id)))
        .chain(
            [
                ("vocabulary.toml", VOCABULARY),
                ("needs.toml", NEEDS),
                ("edition.toml", EDITION),
                ("sources/s.toml", SOURCES),
            ]
            .map(|(path, text)| (path.to_owned(), text.to_owned())),
        )
        .collect();
    let pairs = files.iter().map(|(path, text)| (path.as_str(), text.as_str()));
    match Knowledge::load(&KnowledgeText::from_pairs("test", pairs)) {
        Ok((knowledge, _)) => knowledge,
        Err(findings) => panic!("{}", crate::diag::render_all(&findings, false)),
    }
}

fn ids(count: usize) -> Vec<String> {
    (0..count).map(|at| format!("r{at:02}")).collect()
}

/// Nothing may be supposed.
struct Nothing;

impl Plausible for Nothing {
    fn values(&self, _: Slot) -> Vec<Value> {
        Vec::new()
    }
}

impl Compute for Nothing {
    fn compute(&self, _: &str, _: &View<'_>, _: &dyn Plausible) -> Vec<ComputedFact> {
        Vec::new()
    }
}

/// Values of the declared facts of the site and the species; `None` is unknown.
#[derive(Clone, Debug)]
struct Known {
    site: Values,
    species: Values,
}

fn known() -> impl Strategy<Value = Known> {
    let number = || prop::option::weighted(0.8, (0u8..=20).prop_map(|n| Value::Number(f64::from(n) / 2.0)));
    let flag = || prop::option::weighted(0.8, any::<bool>().prop_map(Value::Flag));
    (number(), number(), flag(), number(), flag()).prop_map(|(a, b, f, x, g)| Known {
        site: vec![a, b, f, None],
        species: vec![Some(Value::Choice(0)), x, g],
    })
}

fn run(knowledge: &Knowledge, known: &Known) -> Outcome {
    run_pair(knowledge, &known.site, &known.species, Values::new(), &Nothing, &Nothing)
}

/// What an outcome says, free of positions and order: levels, derived facts, and the rules that
/// spoke or stayed open, by what they are.
fn said(knowledge: &Knowledge, outcome: &Outcome, names: &BTreeMap<String, usize>) -> String {
    let name = |rule: usize| names[&knowledge.rules[rule].id];
    let mut spoken: Vec<usize> = outcome.spoken.iter().map(|(rule, _)| name(*rule)).collect();
    spoken.sort_unstable();
    let needs: Vec<(u64, Vec<usize>, Vec<usize>)> = outcome
        .needs
        .iter()
        .map(|need| {
            let mut rated: Vec<usize> = need.contributions.iter().map(|one| name(one.rule)).collect();
            let mut open: Vec<usize> = need.open.iter().map(|one| name(one.rule)).collect();
            rated.sort_unstable();
            open.sort_unstable();
            ((need.level * 1e9) as u64, rated, open)
        })
        .collect();
    format!("{:?} {needs:?} {spoken:?}", outcome.fit)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Rules are run in the order of their ids within a stratum; other ids, another order.
    #[test]
    fn firing_order_does_not_matter(rules in sketches(), known in known(), seed in any::<u64>()) {
        let plain = ids(rules.len());
        let mut shuffled = plain.clone();
        let mut state = seed;
        for at in (1..shuffled.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            shuffled.swap(at, (state >> 33) as usize % (at + 1));
        }
        let named = |ids: &[String]| ids.iter().cloned().zip(0..).collect::<BTreeMap<String, usize>>();
        let (first, second) = (base(&rules, &plain), base(&rules, &shuffled));
        let one = said(&first, &run(&first, &known), &named(&plain));
        let other = said(&second, &run(&second, &known), &named(&shuffled));
        prop_assert_eq!(one, other);
    }

    #[test]
    fn an_unrelated_fact_changes_nothing(rules in sketches(), known in known(), number in 0.0f64..10.0) {
        let knowledge = base(&rules, &ids(rules.len()));
        let mut with = known.clone();
        with.site[3] = Some(Value::Number(number));
        prop_assert_eq!(run(&knowledge, &known), run(&knowledge, &with));
    }

    #[test]
    fn an_unrelated_rule_changes_nothing(rules in sketches(), known in known()) {
        let names = ids(rules.len());
        let knowledge = base(&rules, &names);
        let mut more = rules.clone();
        more.push(Sketch { effect: 5, condition: 0, level: 0 });
        let larger = base(&more, &ids(more.len()));
        let (small, large) = (run(&knowledge, &known), run(&larger, &known));
        prop_assert_eq!(&small.fit, &large.fit);
        prop_assert_eq!(levels(&small), levels(&large));
    }

    #[test]
    fn the_trace_replayed_gives_the_levels(rules in sketches(), known in known()) {
        let knowledge = base(&rules, &ids(rules.len()));
        let outcome = run(&knowledge, &known);
        let needs: Values = outcome.needs.iter().map(|need| need.settled().map(Value::Number)).collect();
        let view = View { site: &known.site, species: &known.species, fit: &outcome.fit, needs: &needs, awaited: &outcome.awaited, awaited_of_site: &Positions::default() };
        let steps = trace(&knowledge, &outcome, &view, &|_| None, Detail::Full);
        prop_assert_eq!(replay(&steps, 2), levels(&outcome));
        for (slot, again, told) in replay_facts(&steps, &knowledge) {
            prop_assert_eq!(again, Some(told.clone()), "{:?}", slot);
            prop_assert_eq!(outcome.fit[slot.index].as_ref(), Some(&told), "{:?}", slot);
        }
        for (at, step) in steps.steps.iter().enumerate() {
            let earlier: &[usize] = match step {
                Step::Applied { premises, .. } => premises,
                Step::Merged { from, .. } => from,
                _ => &[],
            };
            prop_assert!(earlier.iter().all(|id| *id < at), "a step rests only on earlier ones");
        }
    }

    /// What was decided while a fact was unknown stays decided when it becomes known.
    #[test]
    fn knowing_more_never_turns_a_decision(rules in sketches(), known in known(), which in 0usize..3, number in 0u8..=20, flag in any::<bool>()) {
        // `known(x)` asks for knowledge itself, so rules that ask it are left out here
        let rules: Vec<Sketch> = rules.into_iter().filter(|rule| !rule.text("x").contains("known(")).collect();
        prop_assume!(!rules.is_empty());
        let knowledge = base(&rules, &ids(rules.len()));
        let mut before = known;
        before.site[which] = None;
        let mut after = before.clone();
        after.site[which] = Some(if which == 2 { Value::Flag(flag) } else { Value::Number(f64::from(number) / 2.0) });
        let (less, more) = (run(&knowledge, &before), run(&knowledge, &after));
        // rules that read other rules may turn with them: a need that reads only what is given may not
        let given_only = |rule: usize| knowledge.rules[rule].reads().iter().all(|slot| slot.space <= Space::Species);
        for (before, after) in less.needs.iter().zip(&more.needs) {
            for one in before.contributions.iter().filter(|one| given_only(one.rule)) {
                prop_assert!(after.contributions.contains(one), "{:?} was taken back", one);
            }
        }
    }

    /// Strata: whatever a rule read when it ran is what stands at the end, so that judging every
    /// rule anew on the final facts gives the same contributions.
    #[test]
    fn rules_read_only_final_facts(rules in sketches(), known in known()) {
        let knowledge = base(&rules, &ids(rules.len()));
        let outcome = run(&knowledge, &known);
        let needs: Values = outcome.needs.iter().map(|need| need.settled().map(Value::Number)).collect();
        let view = View { site: &known.site, species: &known.species, fit: &outcome.fit, needs: &needs, awaited: &outcome.awaited, awaited_of_site: &Positions::default() };
        for (index, rule) in knowledge.rules.iter().enumerate() {
            let fires = rule.when.as_ref().is_none_or(|when| when.expr.truth(&view) == Some(true));
            for (at, effect) in rule.effects.iter().enumerate() {
                let Effect::Rate { need, level, .. } = effect else { continue };
                let again = level.expr.number(&view).filter(|_| fires).map(|level| level.clamp(0.0, 5.0));
                let given = outcome.needs[*need].contributions.iter().find(|one| (one.rule, one.effect) == (index, at));
                prop_assert_eq!(given.map(|one| one.level), again, "{}", rule.id);
            }
        }
    }

    /// An unknown fact fires nothing, and hides nothing: what a rule does under each plausible value
    /// lies within the bounds that it is left open with.
    #[test]
    fn an_unknown_is_left_open_within_its_bounds(rules in sketches(), known in known(), which in 0usize..3) {
        // of what is given, `known(x)` asks for knowledge itself; of what is derived it waits like any other reader.
        let told = |rule: &Sketch| !rule.text("x").contains("known(species");
        let rules: Vec<Sketch> = rules.into_iter().filter(told).collect();
        prop_assume!(!rules.is_empty());
        let knowledge = base(&rules, &ids(rules.len()));
        // every other fact is known: what cannot be supposed at all is another matter
        let mut before = known;
        let stand_in = [Value::Number(5.0), Value::Number(5.0), Value::Flag(false)];
        before.site.iter_mut().zip(stand_in).for_each(|(fact, value)| _ = fact.get_or_insert(value));
        before.species[1].get_or_insert(Value::Number(5.0));
        before.species[2].get_or_insert(Value::Flag(false));
        before.site[which] = None;
        let suppose = Suppose(which);
        let open = run_pair(&knowledge, &before.site, &before.species, Values::new(), &suppose, &Nothing);
        for value in suppose.all() {
            let mut after = before.clone();
            after.site[which] = Some(value);
            let closed = run_pair(&knowledge, &after.site, &after.species, Values::new(), &suppose, &Nothing);
            for (left, told) in open.needs.iter().zip(&closed.needs) {
                for one in &told.contributions {
                    let same = left.contributions.iter().any(|own| own == one);
                    let within = left.open.iter().any(|own| {
                        (own.rule, own.effect) == (one.rule, one.effect)
                            && own.best <= one.level + 1e-9
                            && one.level <= own.worst + 1e-9
                    });
                    prop_assert!(same || within, "{} gives {} and was {:?}", knowledge.rules[one.rule].id, one.level, left);
                }
                for one in &left.contributions {
                    prop_assert!(told.contributions.contains(one), "{:?} fired on an unknown", one);
                }
            }
        }
    }

    /// A circle with one `not`, `known` or sum on its way round is refused, and every rule of it named.
    #[test]
    fn a_circle_that_may_not_end_is_refused(length in 1usize..3, broken in 0usize..3, kind in 0usize..2) {
        let facts = ["fit.p", "fit.q", "fit.p"];
        let broken = broken % length;
        let rule = |at: usize| {
            let (reads, writes) = (facts[at], if length == 1 { facts[at] } else { facts[at + 1] });
            let when = match (at == broken, kind) {
                (false, _) => reads.to_owned(),
                (true, 0) => format!("not {reads}"),
                (true, _) => format!("(if {reads} then 1 else 0) + site.a > 1"),
            };
            let text = Sketch { effect: 0, condition: 0, level: 0 }.text(&format!("r{at}"));
            (format!("rules/t/r{at}.toml"), text.replace("site.a > 3", &when).replace("fit.p\", value", &format!("{writes}\", value")))
        };
        let mut files: Vec<(String, String)> = (0..length).map(rule).collect();
        files.extend(
            [("vocabulary.toml", VOCABULARY), ("needs.toml", NEEDS), ("edition.toml", EDITION), ("sources/s.toml", SOURCES)]
                .map(|(path, text)| (path.to_owned(), text.to_owned())),
        );
        let pairs = files.iter().map(|(path, text)| (path.as_str(), text.as_str()));
        let findings = match Knowledge::load(&KnowledgeText::from_pairs("test", pairs)) {
            Ok(_) => return Err(TestCaseError::fail(format!("let through: {files:?}"))),
            Err(findings) => findings,
        };
        let circle: Vec<_> = findings.iter().filter(|finding| finding.code == "cyclic-rules").collect();
        prop_assert_eq!(circle.len(), 1, "{:?}", findings);
        for (at, fact) in facts.iter().enumerate().take(length) {
            prop_assert!(circle[0].message.contains(&format!("r{at} reads {fact} and writes")), "{}", circle[0].message);
        }
    }
}

/// A few values may be supposed of one fact of the site.
struct Suppose(usize);

impl Suppose {
    fn all(&self) -> Vec<Value> {
        match self.0 {
            2 => vec![Value::Flag(false), Value::Flag(true)],
            _ => [0.0, 2.5, 4.0, 7.0, 10.0].map(Value::Number).to_vec(),
        }
    }
}

impl Plausible for Suppose {
    fn values(&self, slot: Slot) -> Vec<Value> {
        if slot.space == Space::Site && slot.index == self.0 { self.all() } else { Vec::new() }
    }
}

fn levels(outcome: &Outcome) -> Vec<f64> {
    outcome.needs.iter().map(|need| need.level).collect()
}

/// A need rated on a fact that may come to nothing is not settled, as it is not once that fact has come to
/// nothing; a rule that reads the need waits with it.
#[test]
fn what_may_come_to_nothing_settles_no_need() {
    let sketch = |effect, condition| Sketch { effect, condition, level: 0 };
    // fit.t rises where neither flag holds; one is rated where fit.t > 6; two where one is below 1, or fit.q
    let knowledge = base(&[sketch(6, 24), sketch(3, 13), sketch(4, 23)], &ids(3));
    let site =
        |f: Option<bool>| vec![Some(Value::Number(5.0)), Some(Value::Number(5.0)), f.map(Value::Flag), None];
    let species = vec![Some(Value::Choice(0)), Some(Value::Number(5.0)), Some(Value::Flag(false))];
    for f in [None, Some(true), Some(false)] {
        let outcome = run_pair(&knowledge, &site(f), &species, Values::new(), &Suppose(2), &Nothing);
        let settled = outcome.needs.iter().map(|need| need.settled().is_some()).collect::<Vec<_>>();
        assert_eq!(settled, [f == Some(false); 2], "{f:?}");
    }
}

#[test]
fn a_circle_of_flags_reaches_its_fixpoint() {
    let rule = |id: &str, when: &str, fact: &str| {
        let text = Sketch { effect: 0, condition: 0, level: 0 }.text(id);
        text.replace("site.a > 3", when).replace("fit.p\", value", &format!("{fact}\", value"))
    };
    let files = [
        ("rules/t/p-from-q.toml", rule("p-from-q", "fit.q or site.f", "fit.p")),
        ("rules/t/q-from-p.toml", rule("q-from-p", "fit.p and site.a > 3", "fit.q")),
        ("vocabulary.toml", VOCABULARY.to_owned()),
        ("needs.toml", NEEDS.to_owned()),
        ("edition.toml", EDITION.to_owned()),
        ("sources/s.toml", SOURCES.to_owned()),
    ];
    let pairs = files.iter().map(|(path, text)| (*path, text.as_str()));
    let (knowledge, _) = Knowledge::load(&KnowledgeText::from_pairs("test", pairs)).unwrap();
    let site = |f| vec![Some(Value::Number(5.0)), None, Some(Value::Flag(f)), None];
    for flag in [true, false] {
        let known = Known { site: site(flag), species: vec![Some(Value::Choice(0)), None, None] };
        let outcome = run(&knowledge, &known);
        assert_eq!(outcome.fit[..2], [Some(Value::Flag(flag)), Some(Value::Flag(flag))]);
    }
}
