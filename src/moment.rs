//! When something happened, and how surely that is known. A leaf, open to all rooms.
//!
//! Takes what a camera or a keeper wrote and the tank's time zone; gives a [`Moment`]. Never asks the clock, and never
//! takes a file's own time by itself: only [`Moment::of_file`], which a face calls when the keeper asked for it.

use jiff::fmt::temporal::Pieces;
use jiff::tz::{Offset, TimeZone};
use jiff::{SignedDuration, Span, SpanRelativeTo, Timestamp, civil};

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

    /// The certainty of a stable text form.
    pub fn parse(s: &str) -> Option<Self> {
        [Self::Sure, Self::Unsure].into_iter().find(|x| x.as_str() == s)
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

impl Moment {
    /// A file's own time, for when the keeper asked for it. Never sure: copying a file may change it.
    pub fn of_file(instant: Timestamp, zone: Option<&TimeZone>) -> Self {
        let offset = zone.map_or(Offset::UTC, |z| z.to_offset(instant));
        Self { instant, offset, source: TimeSource::File, certainty: Certainty::Unsure }
    }

    /// Date and time as the keeper's own clock showed them.
    pub fn local(&self) -> civil::DateTime {
        self.offset.to_datetime(self.instant)
    }

    /// The form of RFC 3339, with the keeper's offset: `2026-03-29T14:05:00+02:00`.
    pub fn rfc3339(&self) -> String {
        self.instant.display_with_offset(self.offset).to_string()
    }
}

/// Date and time as a camera wrote them, before anybody knows the zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CameraTime {
    /// Local date and time.
    pub local: civil::DateTime,
    /// Offset from UTC, where the camera wrote one.
    pub offset: Option<Offset>,
}

impl CameraTime {
    /// The instant of the shot.
    ///
    /// `zone` is the tank's, `clock_offset` what must be added to the camera's clock to make it right (zero if it is).
    /// With an offset of its own the camera settles the instant, and the zone only says how the keeper's clock stood;
    /// without one the tank's zone settles it, and a local time that stands twice or not at all there is unsure (taken as
    /// the earlier of two, or as if the clock had not yet been changed). A mended clock is unsure, too.
    pub fn resolve(&self, zone: Option<&TimeZone>, clock_offset: SignedDuration) -> Result<Moment, MomentError> {
        let outside = || MomentError::OutOfRange { time: self.local.to_string() };
        let mended = !clock_offset.is_zero();
        let local = self.local.checked_add(clock_offset).map_err(|_| outside())?;
        let Some(own) = self.offset else {
            let zone = zone.ok_or_else(|| MomentError::NoZone { time: self.local.to_string() })?;
            return in_zone(local, zone, TimeSource::TankZone, mended);
        };
        let instant = own.to_timestamp(local).map_err(|_| outside())?;
        Ok(Moment {
            instant,
            offset: zone.map_or(own, |z| z.to_offset(instant)),
            source: TimeSource::ExifOffset,
            certainty: if mended { Certainty::Unsure } else { Certainty::Sure },
        })
    }
}

/// A local time in a zone.
fn in_zone(local: civil::DateTime, zone: &TimeZone, source: TimeSource, mended: bool) -> Result<Moment, MomentError> {
    let either = zone.to_ambiguous_timestamp(local);
    let unsure = mended || either.is_ambiguous();
    let instant = either.compatible().map_err(|_| MomentError::OutOfRange { time: local.to_string() })?;
    let certainty = if unsure { Certainty::Unsure } else { Certainty::Sure };
    Ok(Moment { instant, offset: zone.to_offset(instant), source, certainty })
}

/// A time as the keeper gives it: RFC 3339 with an offset (`2026-03-29T14:05:00+02:00`, `2026-03-29T12:05Z`), or date and
/// time in the tank's zone (`2026-03-29 14:05`). A date alone is no time.
pub fn parse_time(text: &str, zone: Option<&TimeZone>) -> Result<Moment, MomentError> {
    let no_time = || MomentError::NotATime { text: text.into() };
    let pieces = Pieces::parse(text.trim()).map_err(|_| no_time())?;
    let time = pieces.time().filter(|_| pieces.time_zone_annotation().is_none()).ok_or_else(no_time)?;
    let local = pieces.date().to_datetime(time);
    let Some(offset) = pieces.to_numeric_offset() else {
        let zone = zone.ok_or_else(|| MomentError::NoZone { time: local.to_string() })?;
        return in_zone(local, zone, TimeSource::Keeper, false);
    };
    let instant = offset.to_timestamp(local).map_err(|_| MomentError::OutOfRange { time: text.into() })?;
    let offset = zone.map_or(offset, |z| z.to_offset(instant));
    Ok(Moment { instant, offset, source: TimeSource::Keeper, certainty: Certainty::Sure })
}

/// What must be added to a camera's clock, with its sign: `+1h`, `-7m`, `+1h 30m`, `-00:07`, `+01:00:30`, `+3d`.
/// Days are of 24 hours. At most 40 years (clocks that have lost their date begin again at some old year).
pub fn parse_clock_offset(text: &str) -> Result<SignedDuration, MomentError> {
    let no_offset = || MomentError::NotAClockOffset { text: text.into() };
    let mut letters = text.trim().chars();
    let sign = match letters.next() {
        Some('+') => 1,
        Some('-' | '\u{2212}') => -1,
        _ => return Err(no_offset()),
    };
    let rest = letters.as_str().trim();
    let size = if rest.contains(':') { clock(rest) } else { units(rest) }.ok_or_else(no_offset)?;
    if size > SignedDuration::from_hours(40 * 366 * 24) { Err(no_offset()) } else { Ok(size * sign) }
}

/// `HH:MM` or `HH:MM:SS`.
fn clock(text: &str) -> Option<SignedDuration> {
    let parts: Vec<&str> = text.split(':').collect();
    let number = |s: &str| Some(s).filter(|s| (1..=2).contains(&s.len())).and_then(|s| s.parse::<u8>().ok());
    let [h, m, s] = match parts[..] {
        [h, m] => [number(h)?, number(m)?, 0],
        [h, m, s] => [number(h)?, number(m)?, number(s)?],
        _ => return None,
    };
    (m < 60 && s < 60).then(|| SignedDuration::from_secs(i64::from(h) * 3600 + i64::from(m) * 60 + i64::from(s)))
}

/// Numbers with units, days to seconds.
fn units(text: &str) -> Option<SignedDuration> {
    if !text.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let span: Span = text.parse().ok()?;
    span.to_duration(SpanRelativeTo::days_are_24_hours()).ok().filter(|d| !d.is_negative())
}

/// A time that cannot be placed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum MomentError {
    /// A local time, and nobody says where.
    #[error("{time} is a local time, and neither it nor the tank says in which time zone")]
    NoZone { time: String },
    /// Further away than any calendar.
    #[error("{time} lies outside the calendar")]
    OutOfRange { time: String },
    /// Not a date with a time.
    #[error("'{text}' is not a date with a time of day")]
    NotATime { text: String },
    /// Not a clock offset.
    #[error("'{text}' does not say by how much the camera's clock is wrong")]
    NotAClockOffset { text: String },
}

impl MomentError {
    /// The stable text form, such as `time-no-zone`.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NoZone { .. } => "time-no-zone",
            Self::OutOfRange { .. } => "time-out-of-range",
            Self::NotATime { .. } => "time-not-a-time",
            Self::NotAClockOffset { .. } => "time-not-a-clock-offset",
        }
    }

    /// What the keeper can do about it: one sentence.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::NoZone { .. } => {
                "Set the tank's time zone, or give the time with its offset, such as 2026-03-29T14:05+02:00."
            }
            Self::OutOfRange { .. } => "Check the year of the camera's clock, or give the time with --at.",
            Self::NotATime { .. } => "Write it as 2026-03-29 14:05 in the tank's time, or as 2026-03-29T14:05+02:00.",
            Self::NotAClockOffset { .. } => {
                "Write what must be added to the camera's clock, with its sign: +1h or -00:07."
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn berlin() -> TimeZone {
        TimeZone::get("Europe/Berlin").unwrap()
    }

    fn camera(local: &str, offset: Option<i8>) -> CameraTime {
        CameraTime { local: local.parse().unwrap(), offset: offset.map(Offset::constant) }
    }

    const NONE: SignedDuration = SignedDuration::ZERO;

    #[test]
    fn a_camera_with_an_offset_needs_no_zone() {
        let m = camera("2024-03-31T02:30:00", Some(2)).resolve(None, NONE).unwrap();
        assert_eq!(m.rfc3339(), "2024-03-31T02:30:00+02:00");
        assert_eq!((m.source, m.certainty), (TimeSource::ExifOffset, Certainty::Sure));
        // A phone that travelled: the same instant, on the tank's clock.
        let m = camera("2024-07-01T12:00:00", Some(9)).resolve(Some(&berlin()), NONE).unwrap();
        assert_eq!(m.rfc3339(), "2024-07-01T05:00:00+02:00");
        assert_eq!(m.local().to_string(), "2024-07-01T05:00:00");
    }

    #[test]
    fn without_an_offset_the_tanks_zone_settles_it() {
        let at = |local| camera(local, None).resolve(Some(&berlin()), NONE).unwrap();
        let m = at("2024-01-15T08:00:00");
        assert_eq!((m.rfc3339().as_str(), m.source), ("2024-01-15T08:00:00+01:00", TimeSource::TankZone));
        assert_eq!(m.certainty, Certainty::Sure);
        // 2026-03-29: 02:00 became 03:00. The time does not exist; taken as if the clock had not yet been changed.
        let gap = at("2026-03-29T02:30:00");
        assert_eq!((gap.rfc3339().as_str(), gap.certainty), ("2026-03-29T03:30:00+02:00", Certainty::Unsure));
        // 2026-10-25: 03:00 became 02:00. The time stands twice; the earlier is taken.
        let fold = at("2026-10-25T02:30:00");
        assert_eq!((fold.rfc3339().as_str(), fold.certainty), ("2026-10-25T02:30:00+02:00", Certainty::Unsure));
        assert_eq!(camera("2024-01-15T08:00:00", None).resolve(None, NONE).unwrap_err().code(), "time-no-zone");
    }

    #[test]
    fn a_wrong_clock_is_mended_before_the_zone() {
        let hour = parse_clock_offset("+1h").unwrap();
        // The phone still showed winter time an hour into summer time.
        let m = camera("2026-03-29T02:30:00", None).resolve(Some(&berlin()), hour).unwrap();
        assert_eq!((m.rfc3339().as_str(), m.certainty), ("2026-03-29T03:30:00+02:00", Certainty::Unsure));
        let m = camera("2026-05-01T10:00:00", Some(2)).resolve(None, -hour).unwrap();
        assert_eq!((m.rfc3339().as_str(), m.certainty), ("2026-05-01T09:00:00+02:00", Certainty::Unsure));
        let end = camera("9999-12-31T23:30:00", None).resolve(Some(&berlin()), hour).unwrap_err();
        assert_eq!(end.code(), "time-out-of-range");
    }

    #[test]
    fn times_as_keepers_write_them() {
        let zone = berlin();
        let at = |text| parse_time(text, Some(&zone)).map(|m| m.rfc3339());
        assert_eq!(at("2026-03-28 14:05").unwrap(), "2026-03-28T14:05:00+01:00");
        assert_eq!(at(" 2026-03-29T14:05:30 ").unwrap(), "2026-03-29T14:05:30+02:00");
        assert_eq!(at("2026-03-29T12:05Z").unwrap(), "2026-03-29T14:05:00+02:00");
        assert_eq!(at("2026-03-29T14:05:00-05:00").unwrap(), "2026-03-29T21:05:00+02:00");
        for bad in [
            "2026-03-29",
            "yesterday",
            "",
            "29.03.2026 14:05",
            "2026-02-30 10:00",
            "2026-03-29T14:05+02:00[Europe/Berlin]",
        ] {
            assert_eq!(at(bad).unwrap_err().code(), "time-not-a-time", "{bad}");
        }
        assert_eq!(parse_time("2026-03-29 14:05", None).unwrap_err().code(), "time-no-zone");
        assert_eq!(parse_time("2026-03-29T14:05+05:45", None).unwrap().rfc3339(), "2026-03-29T14:05:00+05:45");
        assert_eq!(parse_time("2026-10-25 02:30", Some(&zone)).unwrap().certainty, Certainty::Unsure);
        assert_eq!(parse_time("2026-10-25 02:30+01:00", Some(&zone)).unwrap().certainty, Certainty::Sure);
    }

    #[test]
    fn clock_offsets_need_their_sign() {
        let seconds = |text| parse_clock_offset(text).map(|d| d.as_secs());
        assert_eq!(seconds("+1h"), Ok(3600));
        assert_eq!(seconds("-00:07"), Ok(-420));
        assert_eq!(seconds("-7m"), Ok(-420));
        assert_eq!(seconds("+1h 30m"), Ok(5400));
        assert_eq!(seconds("+1h30m"), Ok(5400));
        assert_eq!(seconds("+01:00:30"), Ok(3630));
        assert_eq!(seconds("+3d"), Ok(259_200));
        assert_eq!(seconds("\u{2212}90s"), Ok(-90));
        for bad in [
            "1h", "", "+", "+1", "--1h", "+-1h", "+1:2:3:4", "+00:75", "+1 month", "+ago", "+1h ago", "+100y",
            "+999999d",
        ] {
            assert_eq!(parse_clock_offset(bad).map_err(|e| e.code()), Err("time-not-a-clock-offset"), "{bad}");
        }
    }

    #[test]
    fn a_files_own_time_is_never_sure() {
        let m = Moment::of_file("2026-01-02T03:04:05Z".parse().unwrap(), Some(&berlin()));
        assert_eq!((m.rfc3339().as_str(), m.certainty), ("2026-01-02T04:04:05+01:00", Certainty::Unsure));
    }

    #[test]
    fn text_forms_come_back() {
        for s in [TimeSource::ExifOffset, TimeSource::TankZone, TimeSource::Keeper, TimeSource::File] {
            assert_eq!(TimeSource::parse(s.as_str()), Some(s));
        }
        for c in [Certainty::Sure, Certainty::Unsure] {
            assert_eq!(Certainty::parse(c.as_str()), Some(c));
        }
        assert_eq!(Certainty::parse("perhaps"), None);
    }
}
