//! Single entries of traits as rows of a CSV: written out, read back, compared, and entered again
//! into the files of species without touching what did not change.

mod change;
mod csv_file;
mod edit;
mod import;
mod row;
mod written;

pub use change::EntryChange;
pub use edit::lines_end_as_in;
pub use import::{Import, import_entries};
pub use row::{COLUMNS, KEYS, Row};
pub use written::entry_rows;
