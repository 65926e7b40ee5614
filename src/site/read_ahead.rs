//! The climate file of a site, read while the knowledge is still loading: neither needs the other.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::climate::{ClimateTable, FileUnits, ReadError, ReadOptions, read_climate};
use super::climate_file::{beside, open};
use crate::diag::{Findings, Source};
use crate::document::parse;

/// A climate file that was read before the site file that names it.
#[derive(Debug)]
pub struct ReadAhead {
    path: PathBuf,
    units: Option<FileUnits>,
    read: Result<ClimateTable, ReadError>,
}

impl ReadAhead {
    /// Reads it where a site file names one. What is wrong with the site file, or with the name, is told when
    /// the site is read.
    #[must_use]
    pub fn of(source: &Arc<Source>) -> Option<Self> {
        let table = parse(source, &mut Findings::new())?;
        let climate = table.get("climate")?.node.as_table()?;
        let path = beside(&source.path, climate.get("file")?.node.as_text()?);
        let units = match climate.get("file_units") {
            Some(stated) => Some(FileUnits::named(stated.node.as_text()?)?),
            None => None,
        };
        let read = read_climate(open(&path).ok()?, &ReadOptions { units, years: None });
        Some(Self { path, units, read })
    }

    /// What was read, if it is that file in those units.
    pub(super) fn of_file(
        self,
        path: &Path,
        units: Option<FileUnits>,
    ) -> Option<Result<ClimateTable, ReadError>> {
        (self.path == path && self.units == units).then_some(self.read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A site file beside which there is no such climate file, or which is none, is left to the reader of sites.
    #[test]
    fn only_what_can_be_read_is_read_ahead() {
        let folder = tempfile::tempdir().unwrap();
        let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/climate/ghcn-daily.dly");
        std::fs::copy(fixture, folder.path().join("days.dly")).unwrap();
        let site = |climate: &str| {
            let path = folder.path().join("site.toml").display().to_string();
            Arc::new(Source { path, text: format!("schema = 1\n[climate]\n{climate}\n").into() })
        };
        let ahead = ReadAhead::of(&site("file = \"days.dly\"")).unwrap();
        let path = folder.path().join("days.dly");
        let direct = super::super::climate_file::read_climate_file(&path, &ReadOptions::default()).unwrap();
        assert_eq!(ahead.of_file(&path, None).unwrap().unwrap(), direct);
        let ahead = ReadAhead::of(&site("file = \"days.dly\"")).unwrap();
        assert!(ahead.of_file(&path, Some(FileUnits::Us)).is_none(), "it was not read in those units");
        for climate in [
            "near = true",
            "file = 3",
            "file = \"none.dly\"",
            "file = \"days.dly\"\nfile_units = 1",
            "file =",
        ] {
            assert!(ReadAhead::of(&site(climate)).is_none(), "{climate}");
        }
    }
}
