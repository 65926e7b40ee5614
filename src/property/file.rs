//! The property file: what all areas share, as a site file says it, the areas, and the limits.
//!
//! Each `[[area]]` may hold any section of a site file. What it says goes before what is shared, key by
//! key, and before other ways of saying the same, so that shared hours of sun give way to an area's canopy.

use std::sync::Arc;

use super::limits_file::{Limits, read_limits, without_mawa};
use super::overlaid::overlaid;
use crate::diag::{Finding, Findings, Place, Severity, Source, join_names, nearest};
use crate::document::{Entry, Node, NodeKind, Span, Table, TableReader, parse};
use crate::knowledge::Knowledge;
use crate::site::file::{self as site_file, SiteFile};

/// A checked property file.
#[derive(Clone, Debug)]
pub struct PropertyFile {
    /// Name of the property.
    pub name: String,
    /// The areas in the order of the file.
    pub areas: Vec<Area>,
    /// Those side by side, each pair once, the earlier area first.
    pub pairs: Vec<Neighbours>,
    /// Names of the hydrozones, in the order in which they come up.
    pub zones: Vec<String>,
    /// What must not be passed.
    pub limits: Limits,
}

/// One area.
#[derive(Clone, Debug)]
pub struct Area {
    /// Its name.
    pub name: String,
    /// What is known of it.
    pub site: SiteFile,
    /// Its size, m2.
    pub area_m2: f64,
    /// Position of its hydrozone.
    pub zone: Option<usize>,
    /// How it is watered, where that is said of it or of its hydrozone.
    pub system: Option<System>,
    /// Whether the ordinance takes it for a special landscape area.
    pub special: bool,
}

/// How water is put on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    /// Overhead spray.
    Spray,
    /// Drip.
    Drip,
}

/// Two areas side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Neighbours {
    /// The earlier area.
    pub a: usize,
    /// The later.
    pub b: usize,
    /// Whether an edge between them stops runners.
    pub edged: bool,
}

impl PropertyFile {
    /// The same without some areas; `None` where that leaves none.
    pub fn without(&self, areas: &[usize]) -> Option<Self> {
        let kept: Vec<usize> = (0..self.areas.len()).filter(|at| !areas.contains(at)).collect();
        let now_at = |area: usize| kept.iter().position(|at| *at == area);
        let neighbours =
            |pair: &Neighbours| Some(Neighbours { a: now_at(pair.a)?, b: now_at(pair.b)?, ..*pair });
        (!kept.is_empty()).then(|| Self {
            areas: kept.iter().map(|at| self.areas[*at].clone()).collect(),
            pairs: self.pairs.iter().filter_map(neighbours).collect(),
            ..self.clone()
        })
    }
}

/// What an area says besides the sections of a site file.
const OWN_KEYS: [&str; 8] =
    ["name", "area_m2", "area_ft2", "beside", "edged", "hydrozone", "system", "special_landscape"];
/// More areas than this are refused, so that an answer takes seconds and not hours.
pub(crate) const MOST_AREAS: usize = 100;
/// Keys of the size of an area.
pub(crate) const SIZES: [&str; 2] = ["area_m2", "area_ft2"];

/// Reads a property file.
pub fn read(source: &Arc<Source>, knowledge: &Knowledge) -> Result<(PropertyFile, Findings), Findings> {
    let mut findings = Findings::new();
    let Some(table) = parse(source, &mut findings) else { return Err(findings) };
    if table.is_empty() {
        let message = format!("{}: says nothing about a property", source.path);
        let help =
            "write at least `schema = 1`, what the areas share, and an `[[area]]` with `name` and `area_m2`";
        return Err(vec![Finding::bare("empty-property", message).help(help)]);
    }
    let property = Reading { source, knowledge }.property(&table, &mut findings);
    // what is shared is read with every area
    let mut told: Findings = Findings::new();
    findings.into_iter().for_each(|finding| {
        if !told.contains(&finding) {
            told.push(finding);
        }
    });
    let refused = told.iter().any(|finding| finding.severity == Severity::Error);
    if refused { Err(told) } else { Ok((property, told)) }
}

/// An area as far as it can be read by itself.
struct Draft<'a> {
    name: Option<(String, Place)>,
    entries: Vec<&'a Entry>,
    size: Option<&'a Entry>,
    beside: Vec<(&'a str, Place)>,
    edged: Vec<(&'a str, Place)>,
    zone: Option<String>,
    system: Option<(System, Place)>,
    /// Where it is called a special landscape area.
    special: Option<Place>,
    place: Place,
}

impl Draft<'_> {
    fn system(&self) -> Option<System> {
        self.system.as_ref().map(|(system, _)| *system)
    }

    fn shares_valve(&self, other: &Self) -> bool {
        self.zone.is_some() && self.zone == other.zone
    }
}

struct Reading<'k, 's> {
    source: &'s Arc<Source>,
    knowledge: &'k Knowledge,
}

impl Reading<'_, '_> {
    fn property(&self, table: &Table, findings: &mut Findings) -> PropertyFile {
        let mut file = TableReader::of_file(self.source, table, "a property file");
        site_file::check_schema(&mut file, "a property file", "properties", findings);
        let name = file.text("name", findings).unwrap_or_default().trim().to_owned();
        let limits = read_limits(&mut file, findings);
        let drafts: Vec<Draft<'_>> = self.areas(&mut file, findings);
        let shared = self.shared(table, findings);
        let names: Vec<&str> =
            drafts.iter().map(|one| one.name.as_ref().map_or("", |(name, _)| name.as_str())).collect();
        check_names(&drafts, findings);
        check_zones(&drafts, findings);
        if !limits.says_mawa {
            let special = drafts.iter().filter_map(|draft| draft.special.as_ref());
            findings.extend(special.map(|place| without_mawa("special_landscape", place)));
        }
        let pairs = pairs(&drafts, &names, findings);
        let mut zones: Vec<String> = Vec::new();
        let areas = drafts
            .iter()
            .map(|draft| {
                let zone = draft.zone.as_ref().map(|name| {
                    zones.iter().position(|own| own == name).unwrap_or_else(|| {
                        zones.push(name.clone());
                        zones.len() - 1
                    })
                });
                // a valve has one system, whichever of its areas tells it
                let system = drafts.iter().filter(|one| one.shares_valve(draft)).find_map(Draft::system);
                Area { zone, system: draft.system().or(system), ..self.area(draft, &shared, findings) }
            })
            .collect();
        PropertyFile { name, areas, pairs, zones, limits }
    }

    /// What all areas share: the entries of a site file at the top level.
    fn shared<'t>(&self, table: &'t Table, findings: &mut Findings) -> Vec<&'t Entry> {
        let own = ["schema", "name", "area", "limits"];
        let others = table.entries.iter().filter(|entry| !own.contains(&&*entry.key));
        let kept: Vec<&Entry> =
            others.filter(|entry| self.is_of_site(entry, &own, "a property file", findings)).collect();
        if let Some(ground) =
            kept.iter().find(|entry| entry.key == "ground").and_then(|one| one.node.as_table())
        {
            for size in SIZES.iter().filter_map(|key| ground.get(key)) {
                let place = self.place(size.key_span);
                let message = format!("`{}` is said for all areas at once", size.key);
                let help = "write it into each `[[area]]`, below its `name`";
                findings.push(Finding::error("shared-size", &place, message).help(help));
            }
        }
        kept
    }

    /// Whether an entry is one of a site file; if not, it is told.
    fn is_of_site(&self, entry: &Entry, own: &[&str], what: &str, findings: &mut Findings) -> bool {
        let declarations = &self.knowledge.vocabulary.site;
        let sections = site_file::sections(declarations);
        let listed = site_file::NOT_FACTS.into_iter().filter(|key| !["schema", "name"].contains(key));
        let known: Vec<&str> = sections.into_iter().chain(listed).chain(["purpose"]).collect();
        if known.contains(&&*entry.key) || site_file::find_key(declarations, &entry.key).is_some() {
            return true;
        }
        let names = || own.iter().copied().chain(known.iter().copied());
        let help = match nearest(&entry.key, names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("{what} takes {}", join_names(names())),
        };
        let message = format!("unknown key `{}` in {what}", entry.key);
        findings.push(Finding::error("unknown-key", &self.place(entry.key_span), message).help(help));
        false
    }

    fn areas<'a>(&self, file: &mut TableReader<'a>, findings: &mut Findings) -> Vec<Draft<'a>> {
        let stands = file.node("area").is_some();
        let mut readers = file.tables("area", "an area", findings);
        if readers.is_empty()
            && (!stands || file.list("area", &mut Findings::new()).is_some_and(<[_]>::is_empty))
        {
            let finding = Finding::error("no-areas", &file.own_place(), "a property has no `[[area]]`");
            findings
                .push(finding.help("begin each area with a line `[[area]]`, then its `name` and `area_m2`"));
        }
        if let Some(beyond) = readers.get(MOST_AREAS) {
            let message =
                format!("a property of {} areas; at most {MOST_AREAS} are answered at once", readers.len());
            let finding = Finding::error("too-many-areas", &beyond.own_place(), message);
            findings
                .push(finding.help("put areas alike together, or give a file for each part of the property"));
            return Vec::new();
        }
        readers.iter_mut().map(|reader| self.draft(reader, findings)).collect()
    }

    fn draft<'a>(&self, reader: &mut TableReader<'a>, findings: &mut Findings) -> Draft<'a> {
        let place = reader.own_place();
        let name = reader.required_text("name", findings).map(|name| name.trim().to_owned());
        let name = name.zip(reader.node("name").map(|node| reader.place(node.span)));
        let mut named = |key: &'a str| -> Vec<(&'a str, Place)> {
            let texts = reader.texts(key, findings).unwrap_or_default();
            texts.into_iter().map(|(text, node)| (text, reader.place(node.span))).collect()
        };
        let (beside, edged) = (named("beside"), named("edged"));
        let zone = reader.text("hydrozone", findings).map(|zone| zone.trim().to_owned());
        let systems = [("spray", System::Spray), ("drip", System::Drip)];
        let system = reader.one_of("system", &systems, findings);
        let system = system.zip(reader.node("system").map(|node| reader.place(node.span)));
        let is_special = reader.flag("special_landscape", findings).unwrap_or(false);
        let special = reader.entry("special_landscape").filter(|_| is_special);
        let special = special.map(|entry| reader.place(entry.key_span));
        let all: Vec<&Entry> = reader.all().map(|(_, entry)| entry).collect();
        let size = all.iter().copied().find(|entry| SIZES.contains(&&*entry.key));
        let in_ground = all.iter().any(|entry| {
            let ground = entry.node.as_table().filter(|_| entry.key == "ground");
            ground.is_some_and(|ground| SIZES.iter().any(|key| ground.get(key).is_some()))
        });
        match all.iter().filter(|entry| SIZES.contains(&&*entry.key)).nth(1) {
            Some(second) => {
                let message = "the size of an area is given twice";
                let finding = Finding::error("both-units", &self.place(second.key_span), message);
                findings.push(finding.help("keep one of `area_m2` and `area_ft2`"));
            }
            None if size.is_none() && !in_ground => {
                let message = "an area has no `area_m2`";
                let help = "add a line `area_m2 = …`, or `area_ft2 = …`";
                findings.push(Finding::error("missing-key", &place, message).help(help));
            }
            None => {}
        }
        let others = all.into_iter().filter(|entry| !OWN_KEYS.contains(&&*entry.key));
        let entries = others.filter(|entry| self.is_of_site(entry, &OWN_KEYS, "an area", findings)).collect();
        Draft { name, entries, size, beside, edged, zone, system, special, place }
    }

    fn area(&self, draft: &Draft<'_>, shared: &[&Entry], findings: &mut Findings) -> Area {
        let mut table = overlaid(shared, &draft.entries, self.knowledge);
        let word = |key: &'static str, kind: NodeKind| {
            let span = Span::new(&draft.place.span);
            Entry { key: key.into(), key_span: span, node: Node { span, kind } }
        };
        table.entries.push(word("schema", NodeKind::Integer(site_file::SCHEMA)));
        let name = draft.name.as_ref().map(|(name, _)| name.clone()).unwrap_or_default();
        if let Some(size) = draft.size {
            put_size(&mut table, size, word("ground", NodeKind::Table(Table::default())));
        }
        let mut site =
            site_file::read_tree(self.source, &table, self.knowledge, draft.place.clone(), findings);
        site.name = name.clone();
        let slot = self.knowledge.vocabulary.slot("site.area_m2");
        let size = slot.and_then(|slot| site.values.get(slot.index)?.as_ref()?.0.as_number());
        let (area_m2, special) = (size.unwrap_or(1.0), draft.special.is_some());
        Area { name, site, area_m2, zone: None, system: None, special }
    }

    fn place(&self, span: Span) -> Place {
        Place { source: self.source.clone(), span: span.range() }
    }
}

/// The size of an area stands in the ground of its site.
fn put_size(table: &mut Table, size: &Entry, ground: Entry) {
    let at = table.entries.iter().position(|entry| entry.key == "ground").unwrap_or_else(|| {
        table.entries.push(ground);
        table.entries.len() - 1
    });
    if let NodeKind::Table(ground) = &mut table.entries[at].node.kind {
        ground.entries.push(size.clone());
    }
}

/// Names set areas apart.
fn check_names(drafts: &[Draft<'_>], findings: &mut Findings) {
    let named: Vec<&(String, Place)> = drafts.iter().filter_map(|draft| draft.name.as_ref()).collect();
    for (at, (name, place)) in named.iter().enumerate() {
        if let Some((_, first)) = named[..at].iter().find(|(own, _)| own == name) {
            let message = format!("two areas are called `{name}`");
            let finding = Finding::error("duplicate-area", place, message).also(first, "first here");
            findings.push(finding.help("`beside` and the report go by names: give each its own"));
        }
    }
}

/// What the areas of a hydrozone have in common, since they share a valve.
fn check_zones(drafts: &[Draft<'_>], findings: &mut Findings) {
    for (at, draft) in drafts.iter().enumerate() {
        let beside = |one: &&Draft<'_>| one.shares_valve(draft);
        let name = draft.zone.as_deref().unwrap_or_default();
        let told = drafts[..at].iter().filter(beside).find_map(|one| one.system.as_ref());
        if let (Some((system, place)), Some((first, first_place))) = (&draft.system, told)
            && system != first
        {
            let message = format!("hydrozone `{name}` is watered by two systems");
            let finding =
                Finding::error("two-systems", place, message).also(first_place, "the first is here");
            findings
                .push(finding.help("what one valve waters has one system: give this area another hydrozone"));
        }
        let other = drafts.iter().filter(beside).any(|one| one.special.is_none());
        if let (Some(place), true) = (&draft.special, other) {
            let message = format!("hydrozone `{name}` holds a special landscape area beside others");
            let help =
                "give special landscape areas a hydrozone of their own: the ordinance reckons them apart";
            findings.push(Finding::error("special-among-others", place, message).help(help));
        }
    }
}

/// The pairs of neighbours; it is enough that one of the two names the other.
fn pairs(drafts: &[Draft<'_>], names: &[&str], findings: &mut Findings) -> Vec<Neighbours> {
    let mut pairs: Vec<Neighbours> = Vec::new();
    for (own, draft) in drafts.iter().enumerate() {
        for (key, list) in [("beside", &draft.beside), ("edged", &draft.edged)] {
            for (name, place) in list {
                let Some(other) = names.iter().position(|one| one == &name.trim()) else {
                    let known =
                        || names.iter().copied().filter(|name| !name.is_empty() && *name != names[own]);
                    let help = match nearest(name, known()) {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => format!("the other areas are {}", join_names(known())),
                    };
                    let message = format!("no area is called `{name}`");
                    findings.push(Finding::error("unknown-area", place, message).help(help));
                    continue;
                };
                if other == own {
                    let message = format!("`{name}` cannot be {key} itself");
                    findings.push(Finding::error("beside-itself", place, message).help("name another area"));
                    continue;
                }
                let edged = key == "edged";
                let (a, b) = (own.min(other), own.max(other));
                match pairs.iter().find(|pair| (pair.a, pair.b) == (a, b)) {
                    Some(pair) if pair.edged == edged => {}
                    Some(_) => {
                        let message =
                            format!("`{}` and `{name}` are said to be beside and edged", names[own]);
                        let finding = Finding::error("beside-and-edged", place, message);
                        findings
                            .push(finding.help("keep `edged` where an edge stops runners, else `beside`"));
                    }
                    None => pairs.push(Neighbours { a, b, edged }),
                }
            }
        }
    }
    pairs.sort_by_key(|pair| (pair.a, pair.b));
    pairs
}
