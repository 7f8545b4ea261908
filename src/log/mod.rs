//! The tank log: an SQLite file in which nothing is ever changed or deleted.
//!
//! Takes tanks, samples, readings and events; gives back those that stand, or all that ever stood. Promises: a write is
//! there as a whole or not at all, and on the disk when it is reported; a change is an entry of its own with its reason, and
//! can be undone; 'not detected' has a limit and no value, here and in every export; a photo read twice is one reading; a
//! file of a later version is refused and left as it is; an older one is brought up to date. Never: asks the clock (every
//! write takes `now`), keeps pixels, judges a value.
//!
//! # How it is kept
//! `schema/` holds the form of the file, step by step. Each row has an id that is unique over all logs and a line in the journal
//! (`entry`), whose order is the order of writing. A reading that replaces another has the same *root*; of those the newest
//! correction by the keeper stands, else the newest that is not undone. The views `reading_now` and `sample_now` say what
//! stands, so that a plain SQLite shell shows the same as the program.
//!
//! # Times
//! Kept to the nanosecond, in UTC with the offset beside it. A sample knows when its water was drawn, when the reagent went
//! in, when it was photographed and when it was entered, each with its source and certainty.

pub mod export;
pub mod happening;

mod amounts;
mod append;
mod error;
mod event;
mod history;
mod id;
mod inhabitants;
mod label;
mod logged;
mod new;
mod open;
mod query;
mod reading_row;
mod revise;
mod samples;
mod schema;
mod start;
mod store;
mod tank;
mod unwritten;

pub use amounts::LoggedFinding;
pub use append::Writer;
pub use error::LogError;
pub use event::{Event, NewEvent};
pub use export::Imported;
pub use happening::Happening;
pub use history::{Change, Line};
pub use id::Id;
pub use inhabitants::Inhabitants;
pub use label::{Label, Names};
pub use logged::{Origin, Reading, Sample, Standing, Status};
pub use new::{Added, How, NewPhoto, NewReading, NewSample, Shown, Target, TestKey, Whose};
pub use open::Log;
pub use query::{Filter, Outline, Show};
pub use revise::{Turned, Undo, Undone};
pub use samples::WINDOW_MINUTES;
pub use schema::KNOWN as SCHEMA;
pub use start::{ReadingTime, Start};
pub use tank::{NewTank, Tank, WaterKind};
