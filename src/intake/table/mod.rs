//! A table of readings and events, as CSV from a spreadsheet, into the log: a mapping says what its columns are.
//!
//! [`Plan::of`] reads the whole table and writes nothing; [`Plan::write`] writes it in one transaction, without what the log has
//! already, so that a second import of the same table writes nothing. What a table leaves open is asked once, not guessed:
//! day and month the other way round, a time of day, the limit behind zeros.

mod dates;
mod error;
mod mapping;
mod plan;

pub use dates::DateOrder;
pub use error::TableError;
pub use mapping::{Column, Mapping};
pub use plan::{Item, Plan, Planned, Row, Wrong};
