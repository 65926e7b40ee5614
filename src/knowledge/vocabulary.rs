//! The vocabulary: every fact and trait that a file may name, with its type, unit and limits.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};

use super::counted::Counted;
use super::lever::Lever;
use super::text_form::TextForm;
use crate::engine::value::{Slot, Space, Value};
use crate::units::{Dimension, Unit, UnitSystem, format_number};

/// A list of names: the steps of a scale, in order, or the names of a choice.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct NameList {
    /// Name of the list.
    pub id: String,
    /// Its names.
    pub names: Vec<String>,
    /// Whether the order means something.
    pub ordered: bool,
}

impl NameList {
    /// Every position, in order.
    pub fn positions(&self) -> impl Iterator<Item = u8> {
        (0..=u8::MAX).take(self.names.len())
    }

    /// Position of a name.
    pub fn position(&self, name: &str) -> Option<u8> {
        self.names.iter().position(|own| own == name).and_then(|at| u8::try_from(at).ok())
    }
}

/// Position of a list in the vocabulary.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ListId(pub usize);

/// The type of a fact.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Kind {
    /// A number in a unit.
    Number(&'static Unit),
    /// Two ends in a unit.
    Range(&'static Unit),
    /// Twelve numbers in a unit.
    Months(&'static Unit),
    /// True or false.
    Flag,
    /// A step of a scale.
    Scale(ListId),
    /// A name of a choice.
    Choice(ListId),
    /// Several names of a choice.
    Set(ListId),
    /// Free text.
    Text,
    /// Several free texts.
    Texts,
}

impl Kind {
    /// The unit, of a type that has one.
    pub fn unit(self) -> Option<&'static Unit> {
        match self {
            Self::Number(unit) | Self::Range(unit) | Self::Months(unit) => Some(unit),
            _ => None,
        }
    }

    /// The dimension of its numbers.
    pub fn dimension(self) -> Dimension {
        self.unit().map_or(Dimension::NONE, |unit| unit.dimension)
    }
}

/// Who gives a fact its value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum From {
    /// The site file (or, for a trait, the species file).
    File,
    /// The program, by a formula.
    Computed,
    /// Rules.
    Rules,
}

/// How two values of one fact are brought together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Merge {
    /// The value in the middle when each counts with the weight of its kind of source.
    WeightedMedian,
    /// From the lowest low to the highest high.
    Widest,
    /// All names of all values.
    Union,
    /// True as soon as one is true.
    Any,
    /// The least favourable.
    Worst,
    /// The most favourable.
    Best,
    /// The sum.
    Sum,
    /// They must be the same; otherwise the fact stays unknown and the conflict is reported.
    MustAgree,
}

impl Merge {
    /// The merges with the names that files use.
    pub const NAMES: &'static [(&'static str, Self)] = &[
        ("weighted-median", Self::WeightedMedian),
        ("widest", Self::Widest),
        ("union", Self::Union),
        ("collect", Self::Union),
        ("any", Self::Any),
        ("worst", Self::Worst),
        ("best", Self::Best),
        ("sum", Self::Sum),
        ("must-agree", Self::MustAgree),
    ];
}

/// What it takes the client to change a fact.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Change {
    /// Only a change of mind.
    None,
    /// Little work.
    Cheap,
    /// Much work or money.
    Costly,
    /// Cannot be changed.
    Impossible,
}

impl Change {
    /// The efforts with the names that files use.
    pub const NAMES: &'static [(&'static str, Self)] = &[
        ("none", Self::None),
        ("cheap", Self::Cheap),
        ("costly", Self::Costly),
        ("impossible", Self::Impossible),
    ];
}

/// A key of the site file: section (empty for the top level), key, and the unit of its number.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SiteKey {
    /// Section, or empty.
    pub section: String,
    /// Key in the section.
    pub key: String,
    /// Unit that a bare number under this key is in.
    pub unit: Option<&'static Unit>,
}

impl SiteKey {
    /// `section.key`.
    pub fn path(&self) -> String {
        if self.section.is_empty() { self.key.clone() } else { format!("{}.{}", self.section, self.key) }
    }
}

/// The declaration of one fact or trait.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Declaration {
    /// Full name, for example `site.ph`.
    pub id: String,
    /// Its space.
    pub space: Space,
    /// One line on what it means.
    pub meaning: String,
    /// What reports call it, where the name itself does not read well.
    pub own_label: Option<String>,
    /// Its type.
    pub kind: Kind,
    /// Smallest and largest number allowed, in the base of the unit.
    pub allowed: Option<(f64, f64)>,
    /// Values to try when it is unknown.
    pub plausible: Vec<Value>,
    /// Values that an interview supposes may be said, of what need not be said.
    pub drawn: Vec<Value>,
    /// What it takes to change it.
    pub change: Change,
    /// How far the client can change it; `None` where nothing can be proposed.
    pub lever: Option<Lever>,
    /// Where the site file keeps it.
    pub key: Option<SiteKey>,
    /// Where the site file keeps it in US units.
    pub us_key: Option<SiteKey>,
    /// Who gives it its value.
    pub from: From,
    /// Tables that the program looks up in to compute it.
    pub tables: Vec<String>,
    /// How several values meet.
    pub merge: Merge,
    /// Whether a higher value is the favourable end; `None` where neither is.
    pub better_high: Option<bool>,
    /// Whether a missing trait takes the cautious quartile of its group.
    pub estimate: bool,
    /// Whether the trait must be sourced.
    pub key_trait: bool,
    /// Heading under which it is listed; empty where the vocabulary names none.
    pub group: String,
    /// How a client is asked for it.
    pub ask: String,
    /// Whether one number may stand for all twelve months.
    pub one_for_all: bool,
    /// Whether a number is whole in its unit.
    pub whole: bool,
    /// What a text must look like.
    pub form: TextForm,
    /// What a trait is counted from, where nobody enters it.
    pub counted: Option<Counted>,
}

impl Declaration {
    /// Whether species files state it: all traits but the group and what is counted.
    pub fn is_entered(&self) -> bool {
        self.counted.is_none() && self.id != "species.kind"
    }

    /// What reports call it.
    pub fn label(&self) -> String {
        let name = self.id.split_once('.').map_or(self.id.as_str(), |(_, name)| name);
        self.own_label.clone().unwrap_or_else(|| name.replace('_', " "))
    }

    /// The next number that can be stated and that answers print as it is, at or above a number or at or below it,
    /// or so many steps beyond; `None` where it has no unit.
    pub fn next_stated(&self, units: UnitSystem, base: f64, upward: bool, steps: u8) -> Option<f64> {
        let unit = self.kind.unit()?;
        if !self.whole {
            return Some(units.round_beyond(base, upward, steps, unit));
        }
        let number = unit.express(base);
        // what halving leaves is no reason to go a whole one further
        let whole = if upward {
            (number - 1e-6).ceil() + f64::from(steps)
        } else {
            (number + 1e-6).floor() - f64::from(steps)
        };
        Some(unit.to_base(whole))
    }

    /// A declaration that says nothing beyond its type.
    pub fn bare(id: &str, space: Space, kind: Kind) -> Self {
        Self {
            id: id.to_owned(),
            space,
            meaning: String::new(),
            own_label: None,
            kind,
            allowed: None,
            plausible: Vec::new(),
            drawn: Vec::new(),
            change: Change::Impossible,
            lever: None,
            key: None,
            us_key: None,
            from: From::File,
            tables: Vec::new(),
            merge: Merge::MustAgree,
            better_high: None,
            estimate: false,
            key_trait: false,
            group: String::new(),
            ask: String::new(),
            one_for_all: false,
            whole: false,
            form: TextForm::Any,
            counted: None,
        }
    }
}

/// The vocabulary.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Vocabulary {
    /// Scales and choices.
    pub lists: Vec<NameList>,
    /// Facts of the site, in the order of the file.
    pub site: Vec<Declaration>,
    /// Traits of species.
    pub species: Vec<Declaration>,
    /// Facts of a species at a site.
    pub fit: Vec<Declaration>,
    #[serde(skip)]
    pub(super) by_id: HashMap<String, Slot>,
}

impl Vocabulary {
    /// The declarations of a space; needs are not declared here.
    pub fn declarations(&self, space: Space) -> &[Declaration] {
        match space {
            Space::Site => &self.site,
            Space::Species => &self.species,
            Space::Fit => &self.fit,
            Space::Need => &[],
        }
    }

    /// The declaration that a slot belongs to.
    pub fn declaration(&self, slot: Slot) -> Option<&Declaration> {
        self.declarations(slot.space).get(slot.index)
    }

    /// The slot of a full name such as `site.ph`.
    pub fn slot(&self, id: &str) -> Option<Slot> {
        self.by_id.get(id).copied()
    }

    /// Finds the names anew, as whoever fills the lists of declarations must.
    pub(super) fn index(&mut self) {
        let all = [&self.site, &self.species, &self.fit].into_iter().flat_map(|list| list.iter().enumerate());
        let slot = |(index, one): (usize, &Declaration)| (one.id.clone(), Slot { space: one.space, index });
        self.by_id = all.map(slot).collect();
    }

    /// Every full name.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        [&self.site, &self.species, &self.fit]
            .into_iter()
            .flatten()
            .map(|declaration| declaration.id.as_str())
    }

    /// A list by its position.
    pub fn list(&self, id: ListId) -> &NameList {
        &self.lists[id.0]
    }

    /// A list by its name.
    pub fn list_named(&self, name: &str, ordered: bool) -> Option<ListId> {
        self.lists.iter().position(|list| list.id == name && list.ordered == ordered).map(ListId)
    }

    /// A value as a sentence tells it, with no more digits than a reader can use.
    pub fn tell(&self, value: &Value, kind: Kind, units: UnitSystem) -> String {
        match (value, kind.unit()) {
            (Value::Number(number), Some(unit)) => units.tell(*number, unit),
            (Value::Range(low, high), Some(unit)) => units.tell_range(*low, *high, unit),
            _ => self.write(value, kind, units),
        }
    }

    /// A value as it stands, to about three digits.
    pub fn write(&self, value: &Value, kind: Kind, units: UnitSystem) -> String {
        let named = |list: ListId, at: u8| {
            self.list(list).names.get(usize::from(at)).map_or("?", String::as_str).replace('-', " ")
        };
        match (value, kind) {
            (Value::Set(0), Kind::Set(_)) => "none".to_owned(),
            (Value::Texts(texts), _) if texts.is_empty() => "none".to_owned(),
            (Value::Number(number), _) => match kind.unit() {
                Some(unit) => units.write(*number, unit),
                None => format_number(*number),
            },
            (Value::Range(low, high), _) => match kind.unit() {
                Some(unit) => units.write_range(*low, *high, unit),
                None => format!("{} to {}", format_number(*low), format_number(*high)),
            },
            (Value::Months(months), _) => {
                let unit = kind.unit().map(|unit| units.unit(unit));
                let number = |value: &f64| format_number(unit.map_or(*value, |unit| unit.express(*value)));
                let numbers: Vec<String> = months.iter().map(number).collect();
                format!("{} {}", numbers.join(" "), unit.map_or("", |unit| unit.symbol)).trim_end().to_owned()
            }
            (Value::Flag(flag), _) => if *flag { "yes" } else { "no" }.to_owned(),
            (Value::Step(at), Kind::Scale(list)) | (Value::Choice(at), Kind::Choice(list)) => {
                named(list, *at)
            }
            (Value::Set(bits), Kind::Set(list)) => {
                let names = (0..64u8).filter(|at| bits >> at & 1 == 1).map(|at| named(list, at));
                names.collect::<Vec<_>>().join(", ")
            }
            (Value::Text(text), _) => text.to_string(),
            (Value::Texts(texts), _) => texts.join(", "),
            (Value::Mask(_) | Value::Step(_) | Value::Choice(_) | Value::Set(_), _) => String::new(),
        }
    }
}
