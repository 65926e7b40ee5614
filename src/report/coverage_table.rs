//! How far each trait is known, by what stands behind its values and by group of plants.

use std::collections::HashSet;

use comfy_table::CellAlignment;

use super::csv_text::{csv_number, csv_text};
use super::layout::{Look, table_text};
use super::selection::{Selection, short};
use crate::engine::value::{Slot, Space};
use crate::knowledge::Knowledge;
use crate::knowledge::backing::Coverage;
use crate::knowledge::rule::Rule;
use crate::knowledge::strict::share;

/// The counts of one trait: over all chosen species, and for each group.
struct Line<'a> {
    name: &'a str,
    key: bool,
    all: Coverage,
    groups: Vec<Coverage>,
}

struct Counted<'a> {
    /// Positions and names of the groups that have a species.
    groups: Vec<(u8, &'a str)>,
    lines: Vec<Line<'a>>,
}

fn count<'a>(knowledge: &'a Knowledge, selection: &Selection) -> Counted<'a> {
    let species: Vec<_> = selection.species.iter().map(|at| &knowledge.species[*at]).collect();
    let mut kinds: Vec<u8> = species.iter().map(|one| one.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let groups: Vec<(u8, &str)> = kinds.into_iter().map(|kind| (kind, knowledge.kind_name(kind))).collect();
    let line = |index: usize| {
        let declaration = &knowledge.vocabulary.species[index];
        let mut line = Line {
            name: short(declaration),
            key: declaration.key_trait,
            all: Coverage::default(),
            groups: vec![Coverage::default(); groups.len()],
        };
        for one in &species {
            let value = one.traits[index].as_ref();
            line.all.count(value);
            if let Some(at) = groups.iter().position(|(kind, _)| *kind == one.kind) {
                line.groups[at].count(value);
            }
        }
        line
    };
    Counted { lines: selection.traits.iter().map(|index| line(*index)).collect(), groups }
}

impl Counted<'_> {
    /// The sum over all traits, as a line of its own.
    fn total(&self) -> Line<'static> {
        let mut total = Line {
            name: "all of these",
            key: false,
            all: Coverage::default(),
            groups: vec![Coverage::default(); self.groups.len()],
        };
        for line in &self.lines {
            total.all.add(&line.all);
            total.groups.iter_mut().zip(&line.groups).for_each(|(sum, one)| sum.add(one));
        }
        total
    }
}

/// Two tables for people: by what stands behind the values, and the share sourced by group.
pub fn coverage_text(knowledge: &Knowledge, selection: &Selection, look: &Look) -> String {
    let counted = count(knowledge, selection);
    let total = counted.total();
    let lines: Vec<&Line<'_>> = counted.lines.iter().chain([&total]).collect();
    let marked = |line: &Line<'_>| format!("{}{}", line.name, if line.key { " *" } else { "" });
    let percent = |count: usize, all: usize| match share(count, all) {
        share if count > 0 && share < 0.5 => "<1".to_owned(),
        share => format!("{share:.0}"),
    };
    let mut text = look.heading(&format!(
        "Share of {} species, in percent: in a source (of these, on trade pages alone), from common practice, \
         from memory, absent",
        selection.species.len()
    ));
    let mut table = look.wrapping_table();
    table.set_header(["trait", "sourced", "trade", "practice", "memory", "absent"]);
    for line in &lines {
        let Coverage { trade, practice, memory, absent, .. } = line.all;
        let counts = [line.all.sourced(), trade, practice, memory, absent];
        let cells = counts.map(|count| percent(count, line.all.all()));
        table.add_row([marked(line)].into_iter().chain(cells));
    }
    text.push_str(&right(table, 5));
    text.push('\n');
    text.push_str(&look.heading("Share in a source, in percent, by group of plants"));
    let mut table = look.wrapping_table();
    let heads = counted.groups.iter().map(|(_, name)| name.replace('-', " "));
    table.set_header(["trait".to_owned()].into_iter().chain(heads));
    for line in &lines {
        let cells = line.groups.iter().map(|group| percent(group.sourced(), group.all()));
        table.add_row([marked(line)].into_iter().chain(cells));
    }
    text.push_str(&right(table, counted.groups.len()));
    text.push('\n');
    let words = "* key trait: never from memory. Absent traits that the vocabulary marks for it are estimated \
                 in answers, and marked there; not every trait makes sense for every group.";
    text.push_str(&look.paragraph(0, words));
    let unread = unread(knowledge, selection);
    if !unread.is_empty() {
        let words = format!(
            "Read by no condition and no level of a rule, so that no class and no order rests on them: {}.",
            unread.join(", ")
        );
        text.push_str(&look.paragraph(0, &words));
    }
    text
}

/// The chosen traits that neither a rule nor a formula reads.
fn unread<'a>(knowledge: &'a Knowledge, selection: &Selection) -> Vec<&'a str> {
    let of_rules = knowledge.rules.iter().flat_map(Rule::reads);
    let of_formulas = knowledge.formulas.iter().flat_map(|formula| formula.reads.iter().copied());
    let read: HashSet<Slot> = of_rules.chain(of_formulas).collect();
    let unread = |index: &&usize| !read.contains(&Slot { space: Space::Species, index: **index });
    let unread = selection.traits.iter().filter(unread);
    unread.map(|index| short(&knowledge.vocabulary.species[*index])).collect()
}

fn right(mut table: comfy_table::Table, figures: usize) -> String {
    for column in 1..=figures {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table_text(&table)
}

/// One row a trait and group, and one for all groups, as counts with the share sourced.
pub fn coverage_csv(knowledge: &Knowledge, selection: &Selection) -> String {
    let counted = count(knowledge, selection);
    let head = [
        "trait",
        "key",
        "kind",
        "species",
        "published",
        "trade_alone",
        "practice",
        "memory",
        "absent",
        "sourced_pct",
    ];
    let row = |line: &Line<'_>, kind: &str, counts: &Coverage| {
        let Coverage { published, trade, practice, memory, absent } = *counts;
        let mut row = vec![line.name.to_owned(), line.key.to_string(), kind.to_owned()];
        row.extend([counts.all(), published, trade, practice, memory, absent].map(|count| count.to_string()));
        row.push(csv_number((share(counts.sourced(), counts.all()) * 10.0).round() / 10.0));
        row
    };
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for line in &counted.lines {
        rows.push(row(line, "all", &line.all));
        let groups = counted.groups.iter().zip(&line.groups);
        rows.extend(groups.map(|((_, kind), counts)| row(line, kind, counts)));
    }
    csv_text(rows)
}
