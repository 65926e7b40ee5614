//! What helps people write the files: JSON Schemas by which editors complete and check while
//! somebody types, and scaffolds with every field explained. Both are made from the vocabulary, the
//! needs and the format of rules, so that they never say anything else than `knowledge check`.

mod field;
mod id;
mod overlay_head;
mod property_schema;
mod rule_scaffold;
mod rule_schema;
mod scaffold;
mod schema;
mod site_schema;
mod source_scaffold;
mod sources_schema;
mod species_scaffold;
mod species_schema;
mod stamp;
mod values_scaffold;
mod values_schema;

pub use scaffold::{Scaffold, ScaffoldKind, UNFILLED, scaffold};
pub use schema::{SchemaKind, schema_text};
pub use stamp::{stamp, without_digest_conflicts};
