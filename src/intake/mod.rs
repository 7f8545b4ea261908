//! Where readings and the log meet: the home folder, which tank, test and station a photo shows, when it was taken, the kept
//! originals, and read-and-log.
//!
//! Takes a photo file and what the keeper said about it; gives the reading, and what became of it in the log. Promises: a photo
//! read twice is one reading, whatever it is called; a reading in the log is replaced only when asked to be; a capture time is
//! never guessed (see [`When`]); nothing is logged from a photo that could not be opened. Never: asks the clock or the
//! environment (`now` and the root of the [`Home`] are given), judges a value.
//!
//! # Which vial is which
//! [`Named`] says it. Today it comes from what the keeper typed, or, for a photo read again, from the log; labels laid in the
//! bay and standing rules are to fill the same type.
//!
//! # By hand
//! Events and readings that a keeper types are understood here too: [`happening`], [`ByHand`]. What could mean two things, lies in
//! the future or is in the log already is asked back, not guessed.
//!
//! # The home folder
//! | place | what |
//! | --- | --- |
//! | `log.db` | the tank log |
//! | `kits/NAME/` | a kit's revisions, see [`crate::store::Revisions`] |
//! | `cards/NAME/` | an enrolled card's revisions |
//! | `photos/ID.EXT` | originals as they came, named by the photo's identity; they may hold the place where they were taken |

mod backup;
mod calibrate;
mod enter;
mod error;
mod hand;
mod home;
mod look;
mod naming;
mod photos;
mod shelf;
mod table;
mod when;

pub use backup::{BackedUp, BackupError, Restored, backup, restore};
pub use calibrate::{Added, PhotoStandards, add_standards};
pub use enter::{Apart, Noted, enter};
pub use error::{Fault, IntakeError};
pub use hand::{
    Beside, ByHand, Chart, Described, Entered, HandError, SAME_WITHIN, Said, Written, add_event, add_readings,
    add_tank, celsius, change_tank, happening, kind, litres, new_water,
};
pub use home::Home;
pub use look::{Bench, Look, Opened, look, open};
pub use naming::{Named, check_test_name, is_sample};
pub use photos::{Keep, Keeping};
pub use shelf::{CardInUse, Kept};
pub use table::{Column, DateOrder, Item, Mapping, Plan, Planned, Row, TableError, Wrong};
pub use when::{At, Capture, ClockOffset, When, zone};

/// What readings name as the program that made them.
pub const PROGRAM: &str = env!("CARGO_PKG_VERSION");
