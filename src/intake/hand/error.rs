//! What can be wrong with what a keeper types by hand.

use crate::finding::Finding;
use crate::log::Id;
use crate::log::happening::Unfit;
use crate::water::{EntryError, StateError};

/// Something typed that cannot be meant. Nothing was written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum HandError {
    /// Not one of the kinds.
    #[error("'{typed}' is no kind of event")]
    Kind { typed: String, known: Vec<String> },
    /// A number without a unit where several could be meant.
    #[error("'{typed}' does not say of what, or in which unit")]
    Bare { typed: String, kind: String, takes: &'static str },
    /// A number with a unit that the kind of event has no use for.
    #[error("'{typed}' does not go with '{kind}'")]
    Misplaced { typed: String, kind: String, takes: &'static str },
    /// Two numbers of one unit.
    #[error("'{first}' and '{second}' say the same thing twice")]
    TwoNumbers { first: String, second: String },
    /// Gallons come in two sizes.
    #[error("'{typed}' can be US gallons or imperial gallons")]
    Gallons { typed: String },
    /// Not a number with a unit.
    #[error("'{typed}' is no number that can be")]
    Number { typed: String, why: &'static str },
    /// A fact left out that the kind of event cannot do without.
    #[error("'{kind}' does not say {what}")]
    Missing { kind: String, what: &'static str, remedy: &'static str },
    /// More water than the tank holds.
    #[error("a change of {litres} L is more than the tank's {volume} L")]
    MoreThanTank { litres: f64, volume: f64 },
    /// Its time has not come.
    #[error("{at} is still to come; now it is {now}")]
    Future { at: String, now: String },
    /// The log has the same already.
    #[error("the log has the same already, {when}: {what}")]
    Twice { id: Id, what: String, when: String },
    /// A correction of something that is no event, or undone.
    #[error("the entry {id} is no event that stands")]
    NoEvent { id: Id },
    /// Not `WHAT=VALUE`.
    #[error("'{typed}' is no reading")]
    Reading { typed: String },
    /// One analyte, twice in one go.
    #[error("{what} is given twice")]
    ReadingTwice { what: String },
    /// A reading's value.
    #[error("{what}: {source}")]
    Value { what: String, source: Box<EntryError> },
    /// A temperature or salinity given beside the readings.
    #[error(transparent)]
    State(#[from] StateError),
    /// A happening that cannot be.
    #[error(transparent)]
    Unfit(#[from] Unfit),
}

impl HandError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Kind { .. } => "event-kind",
            Self::Bare { .. } => "event-number-bare",
            Self::Misplaced { .. } => "event-number-misplaced",
            Self::TwoNumbers { .. } => "event-number-twice",
            Self::Gallons { .. } => "volume-gallons",
            Self::Number { .. } => "event-number",
            Self::Missing { .. } => "event-incomplete",
            Self::MoreThanTank { .. } => "change-more-than-tank",
            Self::Future { .. } => "time-future",
            Self::Twice { .. } => "entry-twice",
            Self::NoEvent { .. } => "event-not-standing",
            Self::Reading { .. } => "reading-malformed",
            Self::ReadingTwice { .. } => "reading-twice",
            Self::Value { source, .. } => source.code(),
            Self::State(e) => e.code(),
            Self::Unfit(_) => "event-unfit",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Kind { known, .. } => format!("Write one of: {}.", known.join(", ")),
            Self::Bare { takes, .. } => format!("Write the unit after the number. It takes {takes}."),
            Self::Misplaced { takes, .. } => format!("Check the unit. It takes {takes}."),
            Self::TwoNumbers { .. } => "Leave one of them out, or log two events.".into(),
            Self::Gallons { .. } => "Write 'us gal' or 'uk gal', or the litres.".into(),
            Self::Number { .. } => "Check the number and its unit.".into(),
            Self::Missing { remedy, .. } => (*remedy).into(),
            Self::MoreThanTank { .. } => {
                "Check the number and its unit; several changes are several events. If the tank's volume is wrong, change that: \
                 tintline tank change."
                    .into()
            }
            Self::Future { .. } => "Give a time that has been, with --at, or log it when it has happened.".into(),
            Self::Twice { .. } => "If it happened again, say so with --again; else there is nothing to do.".into(),
            Self::NoEvent { .. } => "Copy the id from 'tintline event list'.".into(),
            Self::Reading { .. } => {
                "Write WHAT=VALUE with the unit after the number, such as 'nitrite=<0.25 mg/L NO2-' or 'pH=7.4'.".into()
            }
            Self::ReadingTwice { .. } => "Give each once, or log them with their own times.".into(),
            Self::Value { source, .. } if source.code() == "amount-bare-zero" => {
                "Name the test's lowest shade above none with --first-shade, or all shades with --shades, or write < and \
                 that shade, such as <0.25."
                    .into()
            }
            Self::Value { source, .. } if source.code() == "amount-trace" => {
                "Name the test's lowest shade above none with --first-shade, or write the value with its range.".into()
            }
            Self::Value { source, .. } if source.code() == "entry-no-temperature" => {
                "Give the water's temperature with --water-temp; with a meter that turns its reading to 25 °C, 25.".into()
            }
            Self::Value { source, .. } if source.code() == "entry-no-factor" => {
                "Say what one drop stands for with --drop, such as --drop '1 dKH', or one mL with --ml and --division.".into()
            }
            Self::Value { source, .. } => source.remedy(),
            Self::State(e) => e.remedy().into(),
            Self::Unfit(_) => "Check the number and its unit.".into(),
        }
    }
}

/// Something that was written, with what to know about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Its entry.
    pub id: Id,
    /// What is unsure about its time.
    pub finding: Option<Finding>,
}
