//! How often each rule fires and stays silent, on sites and in its own cases.

use comfy_table::CellAlignment;

use super::csv_text::csv_text;
use super::layout::{Look, keep_whole, table_text};
use crate::alike::each_once;
use crate::assess::RuleUse;
use crate::knowledge::Knowledge;
use crate::knowledge::rule::{Expectation, Rule};

/// What the rules did on the sites.
#[derive(Clone, Debug)]
pub struct SiteUse {
    /// Number of sites.
    pub sites: usize,
    /// The rules, in their order.
    pub rules: Vec<RuleUse>,
}

struct Line<'a> {
    rule: &'a Rule,
    does: String,
    used: Option<RuleUse>,
    /// Cases in which it fires, and in which it stays silent.
    cases: [usize; 2],
}

impl Line<'_> {
    /// A rule that says the same everywhere.
    fn mark(&self) -> &'static str {
        match self.used {
            Some(used) if used.pairs() == 0 => "",
            Some(RuleUse { fires: 0, open: 0, .. }) => "never",
            Some(RuleUse { fires: 0, .. }) => "never decided",
            Some(RuleUse { open: 0, silent: 0, .. }) => "always",
            _ => "",
        }
    }
}

/// By topic, then by id.
fn lines<'a>(knowledge: &'a Knowledge, on_sites: Option<&SiteUse>) -> Vec<Line<'a>> {
    let line = |(at, rule): (usize, &'a Rule)| {
        let does = each_once(rule.effects.iter().map(|effect| effect.name()));
        let silent = rule.cases.iter().filter(|case| case.expects == Expectation::Silent).count();
        Line {
            rule,
            does: does.join(", "),
            used: on_sites.and_then(|all| all.rules.get(at)).copied(),
            cases: [rule.cases.len() - silent, silent],
        }
    };
    let mut lines: Vec<Line<'_>> = knowledge.rules.iter().enumerate().map(line).collect();
    lines.sort_by(|a, b| (&a.rule.topic, &a.rule.id).cmp(&(&b.rule.topic, &b.rule.id)));
    lines
}

/// A table for people; without sites the cases alone.
pub fn rules_text(knowledge: &Knowledge, on_sites: Option<&SiteUse>, look: &Look) -> String {
    let lines = lines(knowledge, on_sites);
    let mut text = look.heading(&match on_sites {
        Some(all) => format!(
            "{} rules over {} pairs of a species with one of {} sites",
            lines.len(),
            all.rules.first().map_or(0, RuleUse::pairs),
            all.sites
        ),
        None => format!("{} rules in their own cases; `--sites DIR` counts on sites too", lines.len()),
    });
    text.push_str(&look.paragraph(0, "cases: in which it fires + in which it stays silent"));
    text.push('\n');
    let mut table = look.wrapping_table();
    // a narrow screen has room for what it does or for how often
    let middle: &[&str] = if on_sites.is_some() { &["fires", "open", "silent"] } else { &["does"] };
    let heads: Vec<&str> = ["rule"].iter().chain(middle).chain(&["cases", ""]).copied().collect();
    let figures = if on_sites.is_some() { 1..heads.len() - 1 } else { 2..heads.len() - 1 };
    table.set_header(heads);
    let mut topic = "";
    for line in &lines {
        if topic != line.rule.topic {
            topic = &line.rule.topic;
            table.add_row([topic]);
        }
        let [fires, silent] = line.cases;
        let mut row = vec![format!("  {}", line.rule.id)];
        row.extend(on_sites.is_none().then(|| line.does.clone()));
        row.extend(
            line.used.iter().flat_map(|used| [used.fires, used.open, used.silent]).map(|n| n.to_string()),
        );
        row.extend([format!("{fires}+{silent}"), line.mark().to_owned()]);
        table.add_row(row);
    }
    for column in figures {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    keep_whole(&mut table, 0);
    text.push_str(&table_text(&table));
    if on_sites.is_some() {
        text.push('\n');
        for (mark, words) in [
            ("never", "Never fire on these sites"),
            ("never decided", "Never fire, though some pairs are open"),
            ("always", "Fire for every species on every site"),
        ] {
            let named: Vec<&str> =
                lines.iter().filter(|line| line.mark() == mark).map(|line| line.rule.id.as_str()).collect();
            let names = if named.is_empty() { "none".to_owned() } else { named.join(", ") };
            text.push_str(&look.paragraph(0, &format!("{words} ({}): {names}", named.len())));
        }
    }
    text
}

/// One row a rule; without sites their columns are empty.
pub fn rules_csv(knowledge: &Knowledge, on_sites: Option<&SiteUse>) -> String {
    let head =
        ["topic", "rule", "does", "sites", "fires", "open", "silent", "case_fires", "case_silent", "mark"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for line in lines(knowledge, on_sites) {
        let sites = on_sites.map(|all| all.sites.to_string()).unwrap_or_default();
        let mut row = vec![line.rule.topic.clone(), line.rule.id.clone(), line.does.clone(), sites];
        match line.used {
            Some(used) => row.extend([used.fires, used.open, used.silent].map(|count| count.to_string())),
            None => row.extend(["", "", ""].map(str::to_owned)),
        }
        row.extend(line.cases.map(|count| count.to_string()));
        row.push(line.mark().to_owned());
        rows.push(row);
    }
    csv_text(rows)
}
