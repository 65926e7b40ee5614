//! What may be supposed of facts that are not known.

use super::positions::Positions;
use super::value::{Slot, Value};

/// Values to try for an unknown fact.
pub trait Plausible {
    /// The values; empty where nothing may be supposed.
    fn values(&self, slot: Slot) -> Vec<Value>;

    /// Whether the fact may come out as nothing at all.
    fn may_be_nothing(&self, _slot: Slot) -> bool {
        false
    }

    /// Computed facts of the site that are not known, and may still be.
    fn awaited(&self) -> Positions {
        Positions::default()
    }

    /// The facts that an unknown derived fact waits for; by default itself.
    fn roots(&self, slot: Slot) -> Vec<Slot> {
        vec![slot]
    }
}
