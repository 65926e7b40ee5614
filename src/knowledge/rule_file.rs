//! `rules/<topic>/<id>.toml` to [`Rule`].

use std::sync::{Arc, OnceLock};

use super::citation::read_citations;
use super::names::Names;
use super::rule::{Effect, Rule, Template};
use super::rule_cases::read_cases;
use super::rule_effects::read_effects;
use super::rule_expression::{parse_node, report};
use super::rule_figures::{Figure, side_by_side};
use super::rule_words::{read_template, refuse_sentence};
use super::sources::Sources;
use crate::diag::{Finding, Findings, Source};
use crate::document::{Table, TableReader};
use crate::engine::expression::{Ast, Type, Typed, check, check_as, check_flag};
use crate::engine::value::Space;

/// Reads one rule file.
pub fn read(
    source: &Arc<Source>,
    table: &Table,
    topic: &str,
    names: &Names<'_>,
    sources: &Sources,
    findings: &mut Findings,
) -> Option<Rule> {
    let before = findings.len();
    let mut file = TableReader::of_file(source, table, "a rule");
    let id_node = file.required("id", findings);
    let title = file.required_text("title", findings).unwrap_or_default().to_owned();
    let why = file.required_text("why", findings).unwrap_or_default().to_owned();
    let citations = read_citations(&mut file, sources, findings);
    let when_node = file.node("when");
    let when = when_node.and_then(|node| {
        let ast = parse_node(source, "when", node, findings)?;
        let checked = check_flag(&ast, names);
        let expr = report(source, node, checked, findings)?;
        Some((ast, Typed { expr, ty: Type::Flag, unit: None }))
    });
    let before_effects = findings.len();
    let effects = read_effects(source, &mut file, names, findings);
    // a case is not held against effects of which some could not be read
    let read_whole: &[Effect] = if findings.len() > before_effects { &[] } else { &effects };
    let (observed, needed) = read_figures(source, &mut file, names, findings);
    let because = match file.required("because", findings) {
        Some(node) => {
            refuse_sentence(source, node, findings);
            read_template(source, "because", node, names, findings)
        }
        None => Template::default(),
    };
    let cases = read_cases(source, &mut file, names, read_whole, findings);
    let place = id_node.map_or_else(|| file.own_place(), |node| file.place(node.span));
    file.finish(findings);
    let id = super::file_id(source, id_node, &place, findings)?;
    if findings.len() > before {
        return None;
    }
    let (written, when) = when.unzip();
    let mut rule = Rule {
        id,
        topic: topic.to_owned(),
        title,
        why,
        citations,
        written: written.into(),
        when,
        effects,
        observed,
        needed,
        figures: OnceLock::new(),
        because: because.into(),
        cases: cases.into(),
        site_only: false,
        place,
    };
    rule.site_only = is_of_site_alone(&rule);
    refuse_site_from_species(&rule, names, findings)?;
    Some(rule)
}

/// What is observed, and what it is held against.
fn read_figures(
    source: &Arc<Source>,
    file: &mut TableReader<'_>,
    names: &Names<'_>,
    findings: &mut Findings,
) -> (Option<Figure>, Option<Figure>) {
    let observed_node = file.node("observed");
    let observed = observed_node.and_then(|node| {
        let ast = parse_node(source, "observed", node, findings)?;
        Some(figure(report(source, node, check(&ast, names), findings)?, &ast))
    });
    let needed = file.node("needed").and_then(|node| {
        let Some(observed) = &observed else {
            if observed_node.is_none() {
                let message = "`needed` stands without `observed`, which it would be held against";
                let place = file.place(node.span);
                findings.push(Finding::error("missing-key", &place, message));
            }
            return None;
        };
        let ast = parse_node(source, "needed", node, findings)?;
        let typed = match check(&ast, names) {
            Ok(typed) if side_by_side(observed.typed.ty, typed.ty) => Ok(typed),
            // quoted text takes its meaning from what is observed, and anything else is refused
            _ => check_as(&ast, observed.typed.ty, names),
        };
        Some(figure(report(source, node, typed, findings)?, &ast))
    });
    (observed, needed)
}

/// Whether a rule reads and says what is of the site, whatever is planted.
fn is_of_site_alone(rule: &Rule) -> bool {
    let speaks_of_site = rule.effects.iter().all(|effect| match effect {
        Effect::Derive { slot, .. } => slot.space == Space::Site,
        Effect::Caution { .. } | Effect::Task { .. } => true,
        _ => false,
    });
    speaks_of_site && rule.reads().iter().all(|slot| slot.space == Space::Site)
}

/// Refuses a rule that derives a fact of the site from something else.
fn refuse_site_from_species(rule: &Rule, names: &Names<'_>, findings: &mut Findings) -> Option<()> {
    let derives_site =
        |effect: &Effect| matches!(effect, Effect::Derive { slot, .. } if slot.space == Space::Site);
    if rule.site_only || !rule.effects.iter().any(derives_site) {
        return Some(());
    }
    let message = "a rule that derives a fact of the site may read only facts of the site";
    let others = rule.reads().into_iter().filter(|slot| slot.space != Space::Site);
    let others: Vec<String> = others.map(|slot| format!("`{}`", names.name_of(slot))).collect();
    let help = format!("it reads {}; derive a fact under `fit.` instead", others.join(", "));
    findings.push(Finding::error("derives-site-from-species", &rule.place, message).help(help));
    None
}

fn figure(typed: Typed, ast: &Ast) -> Figure {
    Figure { typed, written: ast.to_string() }
}
