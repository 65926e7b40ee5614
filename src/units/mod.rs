//! Quantities and units. Every conversion of the program is made here.
//!
//! [`unit`] holds the closed list of units that site files, species files and rules may write;
//! [`quantity`] holds newtypes for quantities that the formulas might confuse;
//! [`factors`] holds the conversion factors that both use.

mod as_printed;
pub mod factors;
mod meant;
pub mod quantity;
pub mod system;
pub mod unit;

pub use as_printed::{two_numbers, with_plain_minus};
pub use meant::{answered_unit, unknown_unit_help};
pub use system::{UnitSystem, format_number};
pub use unit::{Dimension, Unit};
