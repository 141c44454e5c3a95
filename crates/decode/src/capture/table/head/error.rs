//! What can be wrong with a head.

/// Why a table's head is refused, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, column {column}: {fault}")]
pub struct HeadError {
    /// Line, from 1.
    pub line: usize,
    /// Column, in bytes from 1.
    pub column: usize,
    /// What is wrong and what to do.
    pub fault: HeadFault,
}

/// What is wrong with a head.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum HeadFault {
    /// No line at all, or an empty one.
    #[error("the table is empty; its first line must name the columns")]
    Empty,
    /// Not text.
    #[error("this is not UTF-8 text; write encoding = \"windows-1252\" if it is from such a program")]
    Encoding,
    /// Two bytes a character.
    #[error("this is UTF-16 text; save the file as UTF-8 (`iconv -f UTF-16 -t UTF-8`)")]
    Utf16,
    /// One column.
    #[error("only one column: neither a comma nor a semicolon nor a tabulator separates this line")]
    OneColumn,
    /// Too many.
    #[error("{0} columns; at most 65535 are possible")]
    TooMany(usize),
    /// A column without a name.
    #[error("the column has no name; give it one with names = {{ NUMBER = \"NAME\" }}")]
    NoName,
    /// One name twice.
    #[error("column `{name}` is there twice, first at column {first}; rename one: names = {{ NUMBER = \"NAME\" }}")]
    Duplicate {
        /// Name.
        name: String,
        /// Where the first begins.
        first: usize,
    },
    /// A declared name for a column that is not there.
    #[error("names has a column {number}, this line has {columns}")]
    NoSuchColumn {
        /// The declared number.
        number: usize,
        /// Columns.
        columns: usize,
    },
    /// A declared column that is not there.
    #[error("no column is called `{name}`; there are: {known}")]
    NoColumn {
        /// The name.
        name: String,
        /// Those there are.
        known: String,
    },
    /// A declared line that is not there.
    #[error("the file (or its first 400 lines) has no line {0}; check header_line")]
    NoSuchLine(usize),
    /// No line begins as declared.
    #[error("none of the first 400 lines begins with `{0}`; check header_begins")]
    NoLineBegins(String),
    /// The file ends before its units.
    #[error(
        "the table ends where the line beneath the names should state the units (or write headers as `name [unit]`)"
    )]
    NoUnits,
    /// Data where units should be.
    #[error(
        "`{0}` is data where units are expected: the line beneath the names must state them, or the headers as \
         `name [unit]`; write units = \"nowhere\" if the file says none"
    )]
    DataForUnits(String),
    /// Another number of units than columns.
    #[error("{found} units for {expected} columns; leave a cell empty where there is none")]
    UnitCount {
        /// Columns.
        expected: usize,
        /// Units.
        found: usize,
    },
    /// A time unit that is none.
    #[error(
        "`{0}` is no unit for the time column: h, min, s, ms, us, ns, or RFC 3339 (also UTC, or nothing) for dates; \
         write time_format if it is written otherwise"
    )]
    TimeUnit(String),
    /// The file and the user say different things.
    #[error("the file says that the time is in `{0}`, time_format says otherwise")]
    TimeContradiction(String),
    /// Date and time of day apart, and nothing says how they are written.
    #[error("date and time stand apart: write time_format = \"DD.MM.YYYY hh:mm:ss\", as they are, joined by a blank")]
    TwoColumns,
    /// Local time.
    #[error("these times have no zone: write zone = \"+01:00\", what their clock was ahead of UTC")]
    NoZone,
    /// A zone that nothing needs.
    #[error("zone is for times without one; leave it out")]
    ZoneForNothing,
    /// A start that nothing needs.
    #[error("start is for times that count from it; leave it out")]
    StartForNothing,
    /// Times of no day.
    #[error("these times have no date: write start = \"2026-03-01T08:00:00Z\", or start_line")]
    NoStart,
    /// The line that should state the start is not there.
    #[error("no line before the table begins with `{0}`; check start_line")]
    NoStartLine(String),
    /// It states none.
    #[error("`{0}` is no start: expected 2026-03-01T08:00:00Z, the same without zone, or what start_format says")]
    NoStartThere(String),
    /// A word that the encoding cannot write.
    #[error("the word `{0}` cannot stand in a file of this encoding")]
    Word(String),
    /// The first row does not fit.
    #[error("{0}")]
    FirstRow(String),
    /// Decimal commas that nobody declared.
    #[error("`{0}` has a comma: write decimal = \"comma\", or thousands = \"comma\"")]
    Comma(String),
}
