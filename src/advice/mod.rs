//! Advice: what the log shows about a tank, and what to do. Stage of the cycle, danger, what counts as evidence, next test.
//!
//! Takes a [`Book`]: one tank's facts, readings and events as bounded numbers, made once from the log ([`Book::of`]), and the time.
//! Gives statements; each names its rule ([`Rule`], with its source), the readings it rests on and how old they are.
//! Promises: a reading in doubt may alarm, never reassure; a proof or all-clear needs upper bounds below the tests' first
//! standards; 'above' is one-sided and makes no trend; unknown animals count as present; old readings are never calm, past the
//! time of the next test the answer is 'unknown since'; pH and temperature nobody measured go in as ranges.
//! Never: asks the clock, says that a tank is free of danger (it says what was shown, and when), changes the log.
//!
//! The thresholds stand in [`rules`]; where two rules meet, the one that warns wins.

pub mod rules;

mod balance;
mod book;
mod caution;
mod change;
mod danger;
mod doubt;
mod due;
mod evidence;
pub mod forecast;
mod fresh;
mod from_log;
mod kind;
mod moved;
mod next;
mod nitrite;
pub mod plan;
mod proof;
mod review;
mod stage;
mod stall;
mod statement;
mod summary;
mod today;
mod trend;
mod trouble;

pub use book::{Animals, Book, Facts, Happened, Happening, Kind, Measured, Shown, Timing, Water, Whose};
pub use change::{Outlook, outlook, towards};
pub use danger::{Danger, Hazard, Level, Line};
pub use due::{Due, due};
pub use evidence::Weight;

pub use forecast::{Finish, Forecast, When, Why, forecast};
pub use fresh::{Fresh, fresh, resting_on};
pub use from_log::TestFacts;
pub use moved::{moved, moved_by};
pub use next::Next;
pub use review::{Review, review, worst_first};
pub use rules::Rule;
pub use stage::{Stage, StageShown};
pub use stall::Stall;
pub use statement::{Basis, Statement, age};
pub use summary::{summary, tank_words};
pub use trend::{Bad, Guide, Point, Subject, Trend, other_trends, trends};
pub use trouble::first_help;
