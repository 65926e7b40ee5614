//! Values of facts, and the slots that they stand in.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// The four spaces that names in rules live in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Space {
    /// Facts of the site.
    Site,
    /// Traits of a species.
    Species,
    /// Facts of one species at one site.
    Fit,
    /// The level that a need has reached.
    Need,
}

impl Space {
    /// As rules write it before the point.
    pub fn prefix(self) -> &'static str {
        match self {
            Self::Site => "site",
            Self::Species => "species",
            Self::Fit => "fit",
            Self::Need => "need",
        }
    }
}

/// Where a value is kept: its space and its number in the vocabulary (or among the needs).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Slot {
    /// The space.
    pub space: Space,
    /// Position of the declaration.
    pub index: usize,
}

/// A value. Numbers are in the base of their unit's dimension.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Value {
    /// A number.
    Number(f64),
    /// Two ends; an open end is infinite.
    Range(f64, f64),
    /// Twelve numbers, January first.
    Months(Arc<[f64; 12]>),
    /// Twelve answers, January first (only inside expressions).
    Mask([bool; 12]),
    /// True or false.
    Flag(bool),
    /// A step of a scale, the least being 0.
    Step(u8),
    /// A name of a choice.
    Choice(u8),
    /// Names of a choice, one bit each.
    Set(u64),
    /// Free text.
    Text(Arc<str>),
    /// Several free texts.
    Texts(Arc<[Arc<str>]>),
}

impl Value {
    /// The number, if it is one.
    pub fn as_number(&self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(*number),
            _ => None,
        }
    }

    /// The two ends, if it is a range; an open end is infinite.
    pub fn as_range(&self) -> Option<(f64, f64)> {
        match self {
            Self::Range(low, high) => Some((*low, *high)),
            _ => None,
        }
    }

    /// The flag, if it is one.
    pub fn as_flag(&self) -> Option<bool> {
        match self {
            Self::Flag(flag) => Some(*flag),
            _ => None,
        }
    }

    /// The twelve numbers, if it is those.
    pub fn as_months(&self) -> Option<&[f64; 12]> {
        match self {
            Self::Months(months) => Some(months),
            _ => None,
        }
    }

    /// Position in its list, if it is a step or a choice.
    pub fn as_position(&self) -> Option<usize> {
        match self {
            Self::Step(position) | Self::Choice(position) => Some(usize::from(*position)),
            _ => None,
        }
    }
}
