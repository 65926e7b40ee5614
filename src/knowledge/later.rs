//! Parts of the knowledge that most answers have no use for: read when they are first asked for, or
//! left where they stand in the program.

use std::borrow::Cow;
use std::fmt;
use std::ops::Deref;
use std::sync::OnceLock;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize, Serializer, ser::Error};

use crate::document::Words;

/// Reads text that may be absent, without a copy.
pub fn maybe_words<'de: 'static, D: Deserializer<'de>>(from: D) -> Result<Option<Words>, D::Error> {
    Ok(Option::<&'de str>::deserialize(from)?.map(Cow::Borrowed))
}

/// A value, or the stored form of one.
///
/// The stored form is written by the build script with the same types that read it, so that reading it
/// cannot fail; if it did, the value would be the empty one.
#[derive(Default)]
pub struct Later<T> {
    stored: &'static [u8],
    value: OnceLock<T>,
}

impl<T> From<T> for Later<T> {
    fn from(value: T) -> Self {
        Self { stored: &[], value: OnceLock::from(value) }
    }
}

impl<T: DeserializeOwned + Default> Later<T> {
    /// The value itself.
    pub fn into_inner(self) -> T {
        let _ = &*self;
        self.value.into_inner().unwrap_or_default()
    }
}

impl<T: DeserializeOwned + Default> Deref for Later<T> {
    type Target = T;

    fn deref(&self) -> &T {
        self.value.get_or_init(|| postcard::from_bytes(self.stored).unwrap_or_default())
    }
}

impl<'a, T: DeserializeOwned> IntoIterator for &'a Later<Vec<T>> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<T: Clone> Clone for Later<T> {
    fn clone(&self) -> Self {
        Self { stored: self.stored, value: self.value.clone() }
    }
}

impl<T: DeserializeOwned + Default + fmt::Debug> fmt::Debug for Later<T> {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        (**self).fmt(to)
    }
}

/// What stands there, or nothing.
impl<T: DeserializeOwned + fmt::Display> fmt::Display for Later<Option<T>> {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.as_ref().map_or(Ok(()), |value| value.fmt(to))
    }
}

impl<T: DeserializeOwned + Default + Serialize> Serialize for Later<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let stored = postcard::to_allocvec(&**self).map_err(S::Error::custom)?;
        to.serialize_bytes(&stored)
    }
}

impl<'de: 'static, T> Deserialize<'de> for Later<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let stored = <&'de [u8]>::deserialize(from)?;
        Ok(Self { stored, value: OnceLock::new() })
    }
}
