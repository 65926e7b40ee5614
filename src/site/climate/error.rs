//! What can be wrong with a climate file, with the place in it.

use std::fmt;

/// A fault that stops the reading.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadError {
    /// Line from 1.
    pub line: u64,
    /// Column from 1, in characters.
    pub column: Option<usize>,
    /// Name of the field or element, where there is one.
    pub field: Option<String>,
    /// What is wrong.
    pub fault: Fault,
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// The system could not read on.
    Io(String),
    /// Nothing in the file.
    Empty,
    /// No format that is known here.
    UnknownFormat,
    /// A relative of a known format that has no monthly normals in it.
    WrongKind(&'static str),
    /// A packed file, by how it is packed.
    Packed(&'static str),
    /// Text of another encoding.
    OtherText(&'static str),
    /// A byte that is not UTF-8.
    NotUtf8(u8),
    /// A byte 0, which no text has.
    NotText,
    /// A line without end.
    LineTooLong,
    /// A quotation mark without its partner.
    OpenQuote,
    /// A line with too few fields: cut off, or another table.
    TooFewFields {
        /// Fields found.
        found: usize,
        /// Fields of the header.
        wanted: usize,
    },
    /// A line with more fields than its header: of another table.
    TooManyFields {
        /// Fields found.
        found: usize,
        /// Fields of the header.
        wanted: usize,
    },
    /// A line of fixed width that ends too soon.
    CutLine {
        /// Characters found.
        found: usize,
        /// Characters that every line has.
        wanted: usize,
    },
    /// Columns that are not parted by commas: by what they are.
    PartedBy(&'static str),
    /// A header with nothing under it.
    HeaderOnly,
    /// Nothing that could be read.
    NoFigures,
    /// A column that the format must have.
    NoColumn(&'static str),
    /// A column that a table of twelve months does not have.
    UnknownColumn {
        /// Its name.
        name: String,
        /// The nearest right name.
        near: Option<&'static str>,
    },
    /// Text where a number should be.
    NotANumber(String),
    /// Text where a date should be.
    NotADate(String),
    /// A number that no place on earth has, after conversion.
    OutOfRange {
        /// As it stands in the file.
        value: String,
        /// Lowest value taken, with unit.
        low: &'static str,
        /// Highest value taken, with unit.
        high: &'static str,
    },
    /// More rain than the hours that it fell in can bring.
    RainOfAnHour {
        /// As it stands in the file.
        value: String,
        /// The rain that it means, mm.
        mm: f64,
        /// Hours that it covers.
        hours: u8,
    },
    /// Years or units asked for that the format cannot honour.
    NotForFormat {
        /// What was asked for: `years` or `units`.
        asked: &'static str,
        /// Name of the format.
        format: &'static str,
        /// Why it cannot.
        why: &'static str,
    },
    /// Years asked for that all lie before or after those of the file.
    OtherYears {
        /// First and last year asked for.
        asked: (i32, i32),
        /// First and last year of the file.
        recorded: (i32, i32),
    },
    /// The same month, day or hour again.
    Duplicate(String),
    /// A second station in a file of one.
    SecondStation(String),
    /// Values of no stated unit.
    UnitsNotStated,
    /// A decimal number, as it stands in the file, where GHCN-Daily has whole tenths.
    DecimalAmongTenths(String),
    /// A year that stops before its end.
    Incomplete {
        /// Hours found.
        hours: u32,
        /// First missing hour.
        first_missing: String,
    },
}

impl ReadError {
    /// A fault of a line.
    pub(super) const fn at(line: u64, column: Option<usize>, fault: Fault) -> Self {
        Self { line, column, field: None, fault }
    }

    /// The same with the name of a field.
    pub(super) fn in_field(mut self, name: &str) -> Self {
        self.field = Some(name.to_owned());
        self
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "line {}", self.line)?;
            if let Some(column) = self.column {
                write!(f, ", column {column}")?;
            }
            if let Some(field) = &self.field {
                write!(f, " ({field})")?;
            }
            write!(f, ": ")?;
        }
        write!(f, "{}", self.fault)
    }
}

impl std::error::Error for ReadError {}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io(text) => write!(f, "cannot be read: {text}"),
            Self::Empty => write!(f, "the file is empty"),
            Self::UnknownFormat => write!(
                f,
                "no known climate format: wanted are NOAA monthly normals, NOAA monthly summaries, \
                 GHCN-Daily (.dly or CSV), EPW, TMY3, or a plain table with a column `month`, each with \
                 its header first"
            ),
            Self::WrongKind(what) => write!(f, "{what}"),
            Self::Packed(how) => write!(f, "the file is {how}: unpack it first"),
            Self::OtherText(which) => write!(f, "the file is {which} text: save it as UTF-8"),
            Self::NotUtf8(byte) => write!(f, "byte 0x{byte:02X} is not UTF-8 text"),
            Self::NotText => {
                write!(f, "a byte 0x00, which no text has: the file is damaged, or none of text")
            }
            Self::LineTooLong => write!(f, "the line is longer than a climate file has"),
            Self::OpenQuote => write!(f, "a quotation mark is not closed, or not where its field ends"),
            Self::TooFewFields { found, wanted } => {
                let fields = if *found == 1 { "field" } else { "fields" };
                write!(f, "{found} {fields} where {wanted} are wanted: the line is cut off")
            }
            Self::TooManyFields { found, wanted } => {
                write!(f, "{found} fields where {wanted} are wanted: the line is of another table")
            }
            Self::CutLine { found, wanted } => {
                write!(f, "{found} characters where a line has {wanted} or more: the line is cut off")
            }
            Self::PartedBy(between) => write!(
                f,
                "the columns are parted by {between}: commas are wanted, with a point in decimals \
                 (`month,tmax_c` and `1,12.5`)"
            ),
            Self::HeaderOnly => write!(
                f,
                "the file ends after its header: the rows of the months (or days) that belong under it are missing"
            ),
            Self::NoFigures => write!(f, "no figure of the weather could be read from the file"),
            Self::NoColumn(name) => write!(f, "the column `{name}` is missing"),
            Self::UnknownColumn { name, near } => {
                write!(f, "no column of a table of twelve months is called `{name}`")?;
                near.map_or(Ok(()), |near| write!(f, "; did you mean `{near}`?"))
            }
            Self::NotANumber(text) => write!(f, "`{text}` is not a number"),
            Self::NotADate(text) => write!(f, "`{text}` is not a date"),
            Self::OutOfRange { value, low, high } => {
                write!(f, "`{value}` is outside {low} to {high}: wrong units or a damaged value")
            }
            Self::RainOfAnHour { value, mm, hours } => {
                let span = if *hours == 1 { "one hour".to_owned() } else { format!("{hours} hours") };
                write!(f, "`{value}` is {mm} mm of rain in {span}: wrong units or a damaged value")
            }
            Self::NotForFormat { asked, format, why } => {
                write!(f, "{asked} cannot be chosen for this format, {format}: {why}")
            }
            Self::OtherYears { asked, recorded } => {
                let span = |(first, last): &(i32, i32)| match first == last {
                    true => first.to_string(),
                    false => format!("{first} to {last}"),
                };
                let (asked, recorded) = (span(asked), span(recorded));
                write!(f, "nothing of {asked}: the file has {recorded}")
            }
            Self::Duplicate(what) => write!(f, "{what} comes a second time"),
            Self::SecondStation(id) => {
                write!(f, "a second station, `{id}`: a file of one station is wanted")
            }
            Self::UnitsNotStated => {
                write!(f, "this layout does not say its units: state them (si, us or tenths)")
            }
            Self::DecimalAmongTenths(text) => write!(
                f,
                "`{text}` is a decimal number where GHCN-Daily has whole tenths: state the units (si or us)"
            ),
            Self::Incomplete { hours, first_missing } => {
                write!(f, "{hours} of 8760 hours; the first one missing is {first_missing}")
            }
        }
    }
}
