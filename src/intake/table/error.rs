//! What a table or its mapping leaves open.

use crate::intake::HandError;

/// Why a table cannot be understood. Nothing was written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TableError {
    /// Not CSV.
    #[error("the table cannot be read: {cause}")]
    Malformed { cause: String },
    /// The table has no line below its header.
    #[error("the table has no rows")]
    Empty,
    /// The mapping names a column that is not there.
    #[error("the table has no column '{name}'; it has {}", known.join(", "))]
    NoColumn { name: String, known: Vec<String> },
    /// Two columns of one name.
    #[error("the table has several columns '{name}'")]
    ColumnTwice { name: String },
    /// The mapping names no column for readings or events.
    #[error("it was not said what the table's columns are; they are {}", known.join(", "))]
    NoMapping { known: Vec<String> },
    /// A mapping that cannot be read.
    #[error("'{typed}' does not say what a column is")]
    Mapping { typed: String },
    /// A file of the mapping.
    #[error("the mapping cannot be read: {cause}")]
    MappingFile { cause: String },
    /// 3/4/2026.
    #[error("'{typed}' can be day/month or month/day, and no other date of the table settles it")]
    DateOrder { typed: String },
    /// 13/4/2026 and 4/13/2026.
    #[error("'{one}' is day/month and '{other}' is month/day")]
    DateMixed { one: String, other: String },
    /// Dates without a time of day.
    #[error("'{typed}' has no time of day")]
    NoClock { typed: String },
    /// A column with zeros whose limit is not known.
    #[error("the column '{column}' has zeros, and a test shows only that there is less than it can see")]
    Zeros { column: String },
    /// What a column is.
    #[error("the column '{column}': {source}")]
    Column { column: String, source: Box<HandError> },
    /// Rows that cannot be written.
    #[error("{rows} of the table's rows cannot be understood")]
    WrongRows { rows: usize },
}

impl TableError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Malformed { .. } => "table-malformed",
            Self::Empty => "table-empty",
            Self::NoColumn { .. } => "table-no-column",
            Self::ColumnTwice { .. } => "table-column-twice",
            Self::NoMapping { .. } => "table-no-mapping",
            Self::Mapping { .. } => "table-mapping",
            Self::MappingFile { .. } => "table-mapping-file",
            Self::DateOrder { .. } => "table-date-order",
            Self::DateMixed { .. } => "table-date-mixed",
            Self::NoClock { .. } => "table-no-clock",
            Self::Zeros { .. } => "table-zeros",
            Self::Column { source, .. } => source.code(),
            Self::WrongRows { .. } => "table-wrong-rows",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Malformed { .. } => "Save it as CSV in UTF-8, with one line of column names.".into(),
            Self::Empty => "Give a table with a header line and at least one row.".into(),
            Self::NoColumn { .. } => "Write the name as the table's first line has it.".into(),
            Self::ColumnTwice { .. } => "Rename one of them in the table's first line.".into(),
            Self::NoMapping { .. } => {
                "Say it with --column, such as --column 'NO2=nitrite mg/L NO2-' --column 'Change=water-change %'.".into()
            }
            Self::Mapping { .. } => {
                "Write COLUMN=WHAT UNIT, such as 'NO2=nitrite mg/L NO2-', 'pH=pH', 'Fed=feeding g', 'Remarks=note'.".into()
            }
            Self::MappingFile { .. } => "Correct the file, or give the columns with --column.".into(),
            Self::DateOrder { .. } => "Say which with --date-order day-month or --date-order month-day.".into(),
            Self::DateMixed { .. } => "Correct the dates in the table; 2026-04-13 cannot be mistaken.".into(),
            Self::NoClock { .. } => {
                "Give a time of day for such rows with --clock, such as --clock 18:00, or its column with --clock-column.".into()
            }
            Self::Zeros { column } => format!(
                "Name the test's lowest shade above none: --first-shade '{column}=0.25' with that number in place of 0.25."
            ),
            Self::Column { source, .. } => source.remedy(),
            Self::WrongRows { .. } => {
                "Correct them in the table, or leave them out with --skip-wrong; nothing was written.".into()
            }
        }
    }
}
