//! Findings about what somebody wrote: values with a code, a place and a help, and one renderer.

mod finding;
mod printable;
mod read;
mod render;
mod suggest;

pub use finding::{Finding, Findings, Place, Severity, Source};
pub use printable::printable;
pub use read::{read_limited, read_text};
pub use render::{render_all, render_json};
pub use suggest::{join_names, nearest};
