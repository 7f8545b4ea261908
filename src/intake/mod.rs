//! Where readings and the log meet: the home folder, which tank, test and station a photo shows, when it was taken, the kept
//! originals, and read-and-log.
//!
//! Takes a photo file and what the keeper said about it; gives the reading, and what became of it in the log. Promises: a photo
//! read twice is one reading, whatever it is called; a reading in the log is replaced only when asked to be; a capture time is
//! never guessed (see [`When`]); nothing is logged from a photo that could not be opened. Never: asks the clock or the
//! environment (`now` and the root of the [`Home`] are given), judges a value.
//!
//! # Which vial is which
//! [`Named`] says it: from labels laid on the card ([`Told`]), from what the keeper typed, which must not contradict them, or,
//! for a photo read again, from the log. Where labels name no test and nothing was typed, a table beside the photos
//! ([`Sidecar`]) or a standing rule ([`Rules`]) says it; else nobody does, and the photo is set aside. Samples of one photo may
//! be of several tanks.
//!
//! # By hand
//! Events and readings that a keeper types are understood here too: [`happening`], [`ByHand`]. What could mean two things, lies in
//! the future or is in the log already is asked back, not guessed.
//!
//! # The home folder
//! | place | what |
//! | --- | --- |
//! | `log.db` | the tank log |
//! | `rules.toml` | the keeper's standing [`Rules`] |
//! | `kits/NAME/` | a kit's revisions, see [`crate::store::Revisions`] |
//! | `cards/NAME/` | an enrolled card's revisions |
//! | `incoming/` | photos that came by the page and were not looked at yet, see [`Incoming`] |
//! | `photos/ID.EXT` | originals as they came, named by the photo's identity; they may hold the place where they were taken |

mod adopt;
mod arrived;
mod backup;
mod calibrate;
mod clear;
mod control;
mod crop;
mod enrol;
mod enter;
mod error;
mod folder;
mod hand;
mod home;
mod incoming;
mod kitfacts;
mod label_error;
mod labelled;
mod ledger;
mod look;
mod matrix;
mod named;
mod naming;
mod photos;
mod places;
mod remeasure;
mod rules;
mod sayings;
mod series;
mod setup;
mod shades;
mod shelf;
mod shots;
mod showing;
mod sidecar;
mod standards;
mod sticker;
mod table;
mod timer;
mod when;

pub use adopt::{Carried, CarriedTest, adopt};
pub use arrived::{LastShown, by_eye, check_by_eye, last_shown};
pub use backup::{BackedUp, BackupError, Restored, backup, restore};
pub use calibrate::{Added, PhotoStandards, add_standards, kit_by_labels, try_standards};
pub use clear::{ClearError, clear_at};
pub use control::{Control, ControlDue, ControlOf, control, controls};
pub use crop::{Crop, SIDE as CROP_SIDE, crops, may_crop};
pub use enrol::{EnrolAsked, EnrolSeen, enrol, try_enrol};
pub use enter::{Apart, Noted, enter, sample_of};
pub use error::{Fault, IntakeError};
pub use folder::{Candidate, Found, by_time, photos_in};
pub use hand::{
    Beside, ByHand, Chart, Described, Entered, HandError, SAME_WITHIN, Said, Written, add_event, add_readings,
    add_tank, asked, celsius, change_tank, correct, happening, is_trouble, kind, litres, new_water, start_tests, takes,
    tests_meant,
};
pub use home::Home;
pub use incoming::{Arriving, Incoming, KeptPhoto, MOST_WAITING, PhotoKey, Sent};
pub use kitfacts::KitFacts;
pub use label_error::LabelError;
pub use labelled::{Stand, Told};
pub use ledger::{Known, Late, Ledger};
pub use look::{Bench, Look, Opened, Raw, look, open};
pub use named::{Named, Water};
pub use naming::{asks, check_test_name, is_sample, new_test};
pub use photos::{Keep, Keeping, Originals};
pub use places::{
    KitPlace, KitPlaces, Place, PlaceError, Placed, Places, Seen, Stood, forget_place, name_light, name_place,
    place_name,
};
pub use remeasure::{Left, Remeasured, remeasure};
pub use rules::{RuleError, Rules, Saying};
pub use sayings::Sayings;
pub use series::{SeriesAsked, add_series};
pub use setup::{Next, Setup};
pub use shades::{Step, add_shades, next_steps, try_shades};
pub use shelf::{CardInUse, Kept};
pub use shots::{Shot, shots};
pub use showing::{By, Given, LabelSeen, Ready, Showing};
pub use sidecar::{SIDECAR, Sidecar};
pub use standards::{Made, StandardsAsked, StandardsFor, standards_for};
pub use sticker::{Wanted, standard};
pub use table::{Column, DateOrder, Item, Mapping, Plan, Planned, Row, TableError, Wrong};
pub use timer::{Timer, timers};
pub use when::{At, Capture, ClockOffset, When, zone};

/// What readings name as the program that made them.
pub const PROGRAM: &str = env!("CARGO_PKG_VERSION");
