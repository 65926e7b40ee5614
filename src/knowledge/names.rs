//! The names that an expression may use, what files are read against, and names declared with a fault.

use std::borrow::Cow;
use std::collections::HashSet;

use super::needs::Need;
use super::sources::Sources;
use super::tables::LookupTable;
use super::vocabulary::Vocabulary;
use crate::diag::{Findings, join_names, nearest};
use crate::engine::value::{Slot, Space};

/// What full names begin with.
const SPACES: [&str; 4] = ["site", "species", "fit", "need"];

/// Everything that an expression may name.
#[derive(Clone, Copy)]
pub struct Names<'a> {
    /// Facts and traits.
    pub vocabulary: &'a Vocabulary,
    /// Needs, whose levels later rules may read.
    pub needs: &'a [Need],
    /// Tables to look up in.
    pub tables: &'a [LookupTable],
}

impl<'a> Names<'a> {
    /// The slot of a full name.
    pub fn slot(&self, name: &str) -> Option<Slot> {
        match name.strip_prefix("need.") {
            Some(need) => {
                let index = self.needs.iter().position(|own| own.id == need)?;
                Some(Slot { space: Space::Need, index })
            }
            None => self.vocabulary.slot(name),
        }
    }

    /// The full name of a slot.
    pub fn name_of(&self, slot: Slot) -> String {
        match slot.space {
            Space::Need => {
                format!("need.{}", self.needs.get(slot.index).map_or("?", |need| need.id.as_str()))
            }
            _ => self.vocabulary.declaration(slot).map_or_else(|| "?".to_owned(), |d| d.id.clone()),
        }
    }

    /// All full names.
    fn all(&self) -> impl Iterator<Item = Cow<'a, str>> + use<'a> {
        let needs = self.needs.iter().map(|need| Cow::Owned(format!("need.{}", need.id)));
        self.vocabulary.ids().map(Cow::Borrowed).chain(needs)
    }

    /// What would mend a name that nothing has: the nearest one of its space, the same name of another
    /// space, quotes where it is a name of a list, and what else may have been meant.
    pub fn hint(&self, wrong: &str) -> String {
        let lower = wrong.to_lowercase();
        let whole = lower.strip_suffix(".low").or_else(|| lower.strip_suffix(".high")).unwrap_or(&lower);
        let end = &lower[whole.len()..];
        let (space, name) = whole.split_once('.').map_or(("", whole), |(space, name)| (space, name));
        let all: Vec<Cow<'_, str>> = self.all().collect();
        let parts = || all.iter().filter_map(|full| full.split_once('.'));
        let meant = |names: &[String]| match names {
            [] => None,
            names => {
                let quoted: Vec<String> = names.iter().map(|name| format!("`{name}{end}`")).collect();
                Some(format!("did you mean {}?", join_names(quoted.iter().map(String::as_str))))
            }
        };
        let called = |wanted: &str| -> Vec<String> {
            let own = parts().filter(|(_, own)| *own == wanted);
            own.map(|(space, own)| format!("{space}.{own}")).collect()
        };
        let near_in = |space: &str| {
            let near = nearest(name, parts().filter(|(own, _)| *own == space).map(|(_, own)| own))?;
            meant(&[format!("{space}.{near}")])
        };
        // names that share a word with the wrong one, in its space
        let sharing = || {
            let words = |text: &str| -> Vec<String> {
                text.split(|c: char| !c.is_alphanumeric())
                    .filter(|word| word.len() > 2)
                    .map(str::to_owned)
                    .collect()
            };
            let wanted = words(name);
            let own = parts().filter(|(own, _)| *own == space);
            let alike: Vec<String> = own
                .filter(|(_, own)| words(own).iter().any(|word| wanted.contains(word)))
                .map(|(space, own)| format!("{space}.{own}"))
                .collect();
            meant(&alike)
        };
        if SPACES.contains(&space) {
            return near_in(space).or_else(|| meant(&called(name))).or_else(sharing).unwrap_or_else(|| {
                format!("`swardwright knowledge new rule` lists all names of `{space}.`")
            });
        }
        if let Some(list) = self.vocabulary.lists.iter().find(|list| list.position(wrong).is_some()) {
            return format!("a name of a list stands in quotes: '{wrong}' (it is one of `{}`)", list.id);
        }
        if let Some(help) = meant(&called(name)) {
            return help;
        }
        let of_section =
            self.vocabulary.site.iter().filter(|fact| {
                fact.key.as_ref().is_some_and(|key| !space.is_empty() && key.section == space)
            });
        let of_section = join_names(of_section.map(|fact| fact.id.as_str()));
        if !of_section.is_empty() {
            return format!("rules read what a site file states under [{space}] as {of_section}");
        }
        let near = SPACES.into_iter().find_map(near_in);
        near.unwrap_or_else(|| {
            let text = if space.is_empty() { format!("text stands in single quotes: '{wrong}'; ") } else { String::new() };
            format!(
                "{text}names begin with `site.`, `species.`, `fit.` or `need.`; `swardwright knowledge new rule` \
                 lists all of them"
            )
        })
    }
}

/// What tables, climates and species are read against.
#[derive(Clone, Copy)]
pub struct Declared<'a> {
    /// Facts and traits.
    pub vocabulary: &'a Vocabulary,
    /// Publications.
    pub sources: &'a Sources,
}

/// Names whose declaration has a fault, so that nobody who uses them is blamed for it: names with
/// their family, such as `site.ph` or `sources.trial`, and whole families where a file of them cannot
/// be read.
#[derive(Clone, Debug, Default)]
pub struct Faulty(HashSet<String>);

impl Faulty {
    /// Notes a name, or a family.
    pub fn note(&mut self, name: impl Into<String>) {
        self.0.insert(name.into());
    }

    fn covers(&self, name: &str) -> bool {
        let family = name.split_once('.').map_or(name, |(family, _)| family);
        self.0.contains(name) || self.0.contains(family)
    }

    /// Drops the findings that only follow from a faulty declaration.
    pub fn drop_followers(&self, findings: &mut Findings) {
        findings.retain(|one| !one.undeclared.as_ref().is_some_and(|name| self.covers(name)));
    }
}
