//! Exports: JSON, which holds the whole log and can be imported without loss, and CSV, a table of readings.
//!
//! # JSON, schema 2
//! One object: `format` (`tintline-log`), `schema` (2), `entries`, a list in the order in which they were written, one a line.
//! Each entry has `entry` (`tank`, `test`, `photo`, `sample`, `reading`, `event`, `label` (since schema 2), `revision`), `id`, `recorded` and the
//! columns of its table in the log's `schema/`, with `limit` for `bound` and one object for the four columns of a time: `utc`
//! (RFC 3339), `offset_seconds`, `source` and `certainty`. A field that is not known is null. Nothing is left out: undone and superseded entries are there.
//!
//! # CSV, schema 2
//! UTF-8, comma, one line a sample (with the whole history, a reading), a header line. Empty means not known or not applicable. No number is ever 0 in the place
//! of 'not detected': `value` is empty then, `status` says so and `limit` says below what.
//!
//! | column | meaning |
//! | --- | --- |
//! | schema | 2 |
//! | id | the reading's entry |
//! | standing | `current`, `superseded`, `undone` |
//! | tank, target, label | the tank's name; `tank`, `tap`, `standard`, `other`; which standard or water |
//! | at, at_source, at_certainty | best known time of the water, local with offset (RFC 3339); `exif-offset`, `tank-zone`, `keeper`, `file`; `sure`, `unsure` |
//! | recorded | when it was written, UTC |
//! | kit, test, analyte | names |
//! | status | `measured`, `not-detected`, `above`, `below`, `refused` |
//! | value, lower, upper | only for `measured`: the value and its 95 % interval, in `unit`, dilution counted in |
//! | limit | for `not-detected`, `above`, `below`: below or above what, in `unit` |
//! | detection_limit | below this the test cannot tell some from none, in `unit` |
//! | unit | with its basis, such as `mg/L NO3-` |
//! | entered | the number as it was entered |
//! | canonical_value, canonical_lower, canonical_upper, canonical_limit, canonical_unit | the same in the unit in which this analyte is compared |
//! | dilution_added | parts of pure water to one part of tank water |
//! | refusal, findings | codes, separated by spaces |
//! | doubt | `yes` where a finding casts doubt on the value |
//! | lab_l, lab_a, lab_b, off_curve | CIELAB (D65, card's own space); distance from the curve in standard deviations |
//! | place, station, photo | lamp or window; where it stood; hash of the photo |
//! | kit_revision, card_revision, program | what it was read with |
//! | sample, origin | the sample's entry; `photo`, `hand`, `correction` |
//! | photos | entries of all readings of a sample of several photos, separated by spaces |
//! | instead_of | for a correction: the amount that the photo, or the hand, gave before |

pub(in crate::log) mod cell;
pub(in crate::log) mod rows;

mod csv;
mod import;
mod json;

pub use import::Imported;

/// The schema of the JSON export. It grows when a field is added or changes its meaning.
pub const EXPORT_SCHEMA: i64 = 2;

/// The schema of the CSV export. Since 2 a line is a sample, and the last two columns are there.
const CSV_SCHEMA: i64 = 2;

const FORMAT: &str = "tintline-log";
