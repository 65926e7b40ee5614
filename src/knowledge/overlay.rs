//! Overlays: folders that add to a knowledge base, replace files of it, change values of its species
//! or withdraw what does not hold for a county or a firm.
//!
//! An overlay is laid out as the base. `overlay.toml` names it and says what it replaces and
//! withdraws, by the path of the file without `.toml`; a file of the base is never replaced by
//! accident, and two overlays never touch the same thing.

use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

use super::digest;
use super::edition::{Version, read_version};
use super::text::{KnowledgeFile, KnowledgeText};
use super::trees::Trees;
use crate::diag::{Finding, Findings, Place, Source, nearest};
use crate::document::TableReader;

/// Folders of a base; an overlay may fill them too, beside `values/`.
pub const FOLDERS: [&str; 5] = ["sources", "tables", "climates", "species", "rules"];
/// The file that every overlay has.
pub const HEAD: &str = "overlay.toml";
/// The folder of changed values.
pub const VALUES: &str = "values";

/// An overlay that is in force.
#[derive(Clone, Debug)]
pub struct Overlay {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its version.
    pub version: Version,
    /// Digest over its canonical content.
    pub digest: String,
    /// Paths of the files of the base that it withdraws.
    pub withdraws: Vec<String>,
    /// Paths of the files of the base in whose place it puts its own.
    pub replaces: Vec<String>,
    /// Its files, so that a place can be told to lie in it.
    files: Vec<Arc<Source>>,
}

impl Overlay {
    /// Whether a place lies in a file of this overlay.
    pub fn holds(&self, place: &Place) -> bool {
        self.holds_file(&place.source)
    }

    /// Whether a file is one of this overlay.
    pub(super) fn holds_file(&self, source: &Arc<Source>) -> bool {
        self.files.iter().any(|file| Arc::ptr_eq(file, source))
    }

    /// Id, version and the beginning of the digest, as answers name it.
    pub fn label(&self) -> String {
        format!("{} {} {}", self.id, self.version, &self.digest[..8])
    }
}

/// Which files are in force, and what overlays there are.
pub struct Layers {
    /// For each file of [`KnowledgeText::all_files`], whether it is read.
    pub in_force: Vec<bool>,
    /// Paths of files of overlays that stand in the base too and are not let into their place: what
    /// such a file declares is missing from what is read.
    pub kept_out: Vec<String>,
    /// The overlays, in the order in which they were given.
    pub overlays: Vec<Overlay>,
}

/// What was touched, by which overlay and where it says so.
type Touched = HashMap<String, (usize, Place)>;

/// Lays the overlays over the base.
pub(super) fn lay(text: &KnowledgeText, trees: &Trees<'_>, findings: &mut Findings) -> Layers {
    let files: Vec<&KnowledgeFile> = text.all_files().collect();
    let base: HashMap<&str, usize> =
        text.files.iter().enumerate().map(|(at, file)| (stem(&file.path), at)).collect();
    let mut layers = Layers { in_force: vec![true; files.len()], kept_out: Vec::new(), overlays: Vec::new() };
    let mut touched = Touched::new();
    let mut first = text.files.len();
    for (number, overlay) in text.overlays.iter().enumerate() {
        let own: Vec<usize> = (first..first + overlay.files.len()).collect();
        first += overlay.files.len();
        findings.extend(overlay.unreadable.iter().map(|(_, finding)| finding.clone()));
        let head = own.iter().copied().find(|at| files[*at].path == HEAD);
        let Some(head) = head else {
            let message = format!("{}: there is no `{HEAD}`", overlay.origin);
            let help = "an overlay needs one with `id`, `title` and `version = \"1.0.0\"`";
            findings.push(Finding::bare("missing-file", message).help(help));
            own.iter().for_each(|at| layers.in_force[*at] = false);
            continue;
        };
        let Some(table) = trees.tree(head) else { continue };
        let mut reader = TableReader::of_file(&files[head].source, &table, "an overlay");
        let id = reader.required_text("id", findings).unwrap_or_default().to_owned();
        let title = reader.required_text("title", findings).unwrap_or_default().to_owned();
        let version = read_version(&mut reader, findings);
        let mut named = |key: &'static str, findings: &mut Findings| -> Vec<(String, Place)> {
            let texts = reader.texts(key, findings).unwrap_or_default();
            texts.into_iter().map(|(path, node)| (path.to_owned(), reader.place(node.span))).collect()
        };
        let replaces = named("replaces", findings);
        let withdraws = named("withdraws", findings);
        reader.finish(findings);
        if let Some(twin) = layers.overlays.iter().find(|one| one.id == id) {
            let message = format!("two overlays are called `{}`", twin.id);
            let finding = Finding::error("duplicate-id", &start_of(files[head]), message);
            let head_of_twin = twin.files.iter().find(|file| Path::new(&file.path).ends_with(HEAD));
            match head_of_twin {
                Some(first) if first.path != files[head].source.path => {
                    let help = "give one of them another `id`: answers name overlays by it";
                    findings.push(finding.also(&start_of_source(first), "so is this one").help(help));
                }
                // the same folder twice: all else that is told of it would be this slip again
                _ => {
                    findings.push(finding.help("name the folder once"));
                    own.iter().for_each(|at| layers.in_force[*at] = false);
                    continue;
                }
            }
        }
        let mut layer = Layer { files: &files, base: &base, number, own: &own, touched: &mut touched };
        layer.replace(&replaces, &mut layers.in_force, findings);
        layer.withdraw(&withdraws, &mut layers.in_force, findings);
        layer.add(&replaces, &mut layers, findings);
        let sound = own.iter().filter_map(|at| Some((files[*at].path.as_str(), trees.tree(*at)?)));
        let sound: Vec<_> = sound.collect();
        layers.overlays.push(Overlay {
            id,
            title,
            version,
            digest: digest::digest(sound.iter().map(|(path, table)| (*path, &**table))),
            withdraws: withdraws.into_iter().map(|(path, _)| path).collect(),
            replaces: replaces.into_iter().map(|(path, _)| path).collect(),
            files: own.iter().map(|at| files[*at].source.clone()).collect(),
        });
    }
    refuse_values_of_the_replaced(&files, &mut layers, &touched, findings);
    layers
}

/// Values of a species that another overlay replaces or withdraws would be lost without a word.
fn refuse_values_of_the_replaced(
    files: &[&KnowledgeFile],
    layers: &mut Layers,
    touched: &Touched,
    findings: &mut Findings,
) {
    for (at, file) in files.iter().enumerate() {
        let Some(species) = file.path.strip_prefix("values/") else { continue };
        let overlay = layers.overlays.iter().position(|one| one.holds_file(&file.source));
        let path = format!("species/{}", stem(species));
        if let Some((other, first)) = touched.get(&path).filter(|(other, _)| Some(*other) != overlay) {
            let message = format!(
                "values of a species that the overlay `{}` touches as a whole",
                layers.overlays[*other].id
            );
            let help = "leave one of them out, or settle it in one of them";
            let place = start_of(file);
            findings
                .push(Finding::error("overlay-conflict", &place, message).help(help).also(first, "there"));
            layers.in_force[at] = false;
        }
    }
}

/// One overlay while it is laid over the base.
struct Layer<'a> {
    files: &'a [&'a KnowledgeFile],
    base: &'a HashMap<&'a str, usize>,
    number: usize,
    own: &'a [usize],
    touched: &'a mut Touched,
}

impl Layer<'_> {
    /// Takes files out of force that this overlay replaces.
    fn replace(&mut self, replaces: &[(String, Place)], in_force: &mut [bool], findings: &mut Findings) {
        for (path, place) in replaces {
            let Some(at) = self.of_base(path, place, "to replace", findings) else { continue };
            if !self.own.iter().any(|own| stem(&self.files[*own].path) == path) {
                let message = format!("the overlay has no file `{path}.toml` to put in its place");
                let help = "write the file, or list the path under `withdraws`";
                findings.push(Finding::error("nothing-in-its-place", place, message).help(help));
                continue;
            }
            in_force[at] = false;
        }
    }

    /// Takes files out of force that do not hold here.
    fn withdraw(&mut self, withdraws: &[(String, Place)], in_force: &mut [bool], findings: &mut Findings) {
        for (path, place) in withdraws {
            let Some(at) = self.of_base(path, place, "to withdraw", findings) else { continue };
            self.touch(path, place.clone(), findings);
            in_force[at] = false;
        }
    }

    /// Holds the overlay's own files against the base and the other overlays.
    fn add(&mut self, replaces: &[(String, Place)], layers: &mut Layers, findings: &mut Findings) {
        for at in self.own {
            let file = self.files[*at];
            let path = stem(&file.path);
            if file.path == HEAD {
                continue;
            }
            let place = start_of(file);
            let folder = file.path.split('/').next().unwrap_or_default();
            if folder == file.path || (!FOLDERS.contains(&folder) && folder != VALUES) {
                let message = format!("an overlay may not hold `{}`", file.path);
                let help = "overlays hold overlay.toml, values/, sources/, tables/, climates/, species/ and rules/<topic>/; facts and needs are declared in the base";
                findings.push(Finding::error("stray-file", &place, message).help(help));
                continue;
            }
            if let Some(base) = self.base.get(path)
                && !replaces.iter().any(|(own, _)| own == path)
            {
                let message = format!("`{path}` stands in the base already");
                let help = format!(
                    "to put this file in its place write `replaces = [\"{path}\"]` in {HEAD}; to change single values of a species write them into values/"
                );
                let first = start_of(self.files[*base]);
                let fault = Finding::error("in-base", &place, message).help(help);
                findings.push(fault.also(&first, "the base's"));
                // one fault is enough: what stands in both would be blamed for standing twice, and the base
                // for what it lacks without its own
                layers.in_force[*at] = false;
                layers.kept_out.push(file.path.clone());
                continue;
            }
            // each source has a key of its own, and the loader refuses one that stands twice
            if folder != "sources" && folder != VALUES {
                self.touch(path, place, findings);
            }
        }
    }

    /// The file of the base that a path names.
    fn of_base(&self, path: &str, place: &Place, what: &str, findings: &mut Findings) -> Option<usize> {
        let found = self.base.get(path).copied().filter(|_| path.contains('/'));
        if found.is_none() {
            let near = self.nearest_of_base(path);
            let help = near.map_or_else(
                || {
                    "name the file by its path without `.toml`, such as \"rules/water/water-cover\""
                        .to_owned()
                },
                |near| format!("did you mean `{near}`?"),
            );
            let message = format!("the base has no `{path}` {what}");
            findings.push(Finding::error("not-in-base", place, message).help(help));
        }
        found
    }

    /// The file of the base that a wrong path was meant for, also where its folder is left out or another.
    fn nearest_of_base(&self, wrong: &str) -> Option<&str> {
        let paths = || self.base.keys().copied().filter(|path| path.contains('/'));
        let called = |wanted: &str| paths().filter(|path| name(path) == wanted).min();
        let wanted = name(stem(wrong));
        called(wanted)
            .or_else(|| nearest(wrong, paths()))
            .or_else(|| called(nearest(wanted, paths().map(name))?))
    }

    fn touch(&mut self, path: &str, place: Place, findings: &mut Findings) {
        claim(self.touched, self.number, path, place, findings);
    }
}

/// Notes that an overlay touches something, and refuses what another one touches too.
fn claim(touched: &mut Touched, overlay: usize, what: &str, place: Place, findings: &mut Findings) {
    match touched.get(what) {
        Some((other, first)) if *other != overlay => {
            let message = format!("two overlays touch `{what}`");
            let help = "leave one of them out, or settle it in one of them";
            findings.push(
                Finding::error("overlay-conflict", &place, message).help(help).also(first, "here first"),
            );
        }
        Some(_) => {}
        None => {
            touched.insert(what.to_owned(), (overlay, place));
        }
    }
}

/// Refuses values that two overlays change, and values of a species that another one replaces.
#[derive(Default)]
pub struct Claims(Touched);

impl Claims {
    /// Notes that an overlay changes something; `what` is `species` or `species.trait`.
    pub fn claim(&mut self, overlay: usize, what: &str, place: Place, findings: &mut Findings) {
        claim(&mut self.0, overlay, what, place, findings);
    }
}

/// A path without its ending.
pub fn stem(path: &str) -> &str {
    path.strip_suffix(".toml").unwrap_or(path)
}

/// What stands behind the folders of a path.
fn name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or_default()
}

/// The beginning of a file.
fn start_of(file: &KnowledgeFile) -> Place {
    start_of_source(&file.source)
}

fn start_of_source(source: &Arc<Source>) -> Place {
    let end = source.text.find('\n').unwrap_or(source.text.len());
    Place { source: source.clone(), span: 0..end }
}
