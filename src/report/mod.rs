//! Answers as text and JSON. Reports compute nothing: they write what the explanation says.

mod check;
mod climate_details;
mod climate_remarks;
mod climate_text;
mod compare_text;
mod coverage_table;
mod csv_text;
mod diff_text;
mod entries_text;
mod explain_text;
mod header;
mod json;
mod layout;
mod month_table;
mod recommend_text;
mod selection;
mod show_species;
mod show_text;
mod trait_table;
mod what_if_text;

pub use check::{check_json, check_text, findings_json, strict_text};
pub use climate_remarks::Remarks as ClimateRemarks;
pub use climate_text::{climate_check, climate_csv, climate_et0, climate_toml, days_not_kept};
pub use compare_text::compare_text;
pub use coverage_table::{coverage_csv, coverage_text};
pub use diff_text::{answer_changes_text, diff_text};
pub use entries_text::{entries_csv, import_text};
pub use explain_text::{ExplainOptions, explain_text};
pub use json::recommend_json;
pub use layout::Look;
pub use recommend_text::{Shown, recommend_text};
pub use selection::Selection;
pub use show_text::show_text;
pub use trait_table::{trait_csv, trait_text};
pub use what_if_text::{change_text, turns_text};
