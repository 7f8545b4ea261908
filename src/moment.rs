//! When something happened, and how surely that is known. A leaf, open to all rooms.

use jiff::{Timestamp, civil, tz::Offset};

/// Where a time came from, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TimeSource {
    /// The camera wrote date, time and offset from UTC.
    ExifOffset,
    /// The camera wrote date and time; the offset is the tank's time zone.
    TankZone,
    /// The keeper said so.
    Keeper,
    /// The file's own time, taken only when the keeper asked for it.
    File,
}

impl TimeSource {
    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::ExifOffset => "exif-offset",
            Self::TankZone => "tank-zone",
            Self::Keeper => "keeper",
            Self::File => "file",
        }
    }

    /// The source of a stable text form.
    pub fn parse(s: &str) -> Option<Self> {
        [Self::ExifOffset, Self::TankZone, Self::Keeper, Self::File].into_iter().find(|x| x.as_str() == s)
    }
}

/// Whether the instant is certain or one of several.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Certainty {
    /// The instant is known.
    Sure,
    /// The local time stands twice or not at all in its zone (clock change), or the clock was mended by hand.
    Unsure,
}

impl Certainty {
    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Sure => "sure",
            Self::Unsure => "unsure",
        }
    }
}

/// An instant with the offset its keeper lived by, its source and certainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The instant.
    pub instant: Timestamp,
    /// Offset from UTC at the tank.
    pub offset: Offset,
    /// Where it came from.
    pub source: TimeSource,
    /// How surely it is known.
    pub certainty: Certainty,
}

/// Date and time as a camera wrote them, before anybody knows the zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CameraTime {
    /// Local date and time.
    pub local: civil::DateTime,
    /// Offset from UTC, where the camera wrote one.
    pub offset: Option<Offset>,
}
