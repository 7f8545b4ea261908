//! When a photo was taken, from what the camera and the keeper say.

use super::IntakeError;
use crate::finding::{Code, Finding};
use crate::moment::{CameraTime, Certainty, Moment, TimeSource};
use jiff::civil::{DateTime, Time};
use jiff::fmt::temporal::Pieces;
use jiff::tz::{Offset, TimeZone};
use jiff::{SignedDuration, Timestamp, ToSpan};

/// A time as the keeper gives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum At {
    /// This moment.
    Now,
    /// The last time it was that late at the tank.
    Time(Time),
    /// Date and time at the tank.
    Local(DateTime),
    /// Date and time with the offset from UTC.
    Exact(Timestamp, Offset),
}

impl At {
    /// `now`, `18:30`, `2026-03-01 18:30`, or RFC 3339.
    pub fn parse(typed: &str) -> Result<Self, IntakeError> {
        let text = typed.trim();
        let wrong = || IntakeError::At { typed: typed.to_string() };
        if text.eq_ignore_ascii_case("now") {
            return Ok(Self::Now);
        }
        if let Ok(pieces) = Pieces::parse(text) {
            // A zone in brackets would be a second word on what the tank's zone says already.
            let time = pieces.time().filter(|_| pieces.time_zone_annotation().is_none()).ok_or_else(wrong)?;
            let local = pieces.date().to_datetime(time);
            return match pieces.to_numeric_offset() {
                Some(offset) => Ok(Self::Exact(offset.to_timestamp(local).map_err(|_| wrong())?, offset)),
                None => Ok(Self::Local(local)),
            };
        }
        text.parse().map(Self::Time).map_err(|_| wrong())
    }

    /// The instant, at a tank in `zone`.
    pub fn moment(self, zone: &TimeZone, now: Timestamp) -> Moment {
        let source = TimeSource::Keeper;
        let at = |instant| Moment { instant, offset: zone.to_offset(instant), source, certainty: Certainty::Sure };
        match self {
            Self::Now => at(now),
            Self::Exact(instant, offset) => Moment { instant, offset, source, certainty: Certainty::Sure },
            Self::Local(local) => in_zone(local, zone, source).0,
            Self::Time(time) => {
                let today = zone.to_datetime(now).date();
                let of = |date: jiff::civil::Date| in_zone(date.to_datetime(time), zone, source).0;
                match of(today) {
                    m if m.instant <= now => m,
                    m => today.checked_sub(1.day()).map_or(m, of),
                }
            }
        }
    }
}

/// What to add to a phone's clock that goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockOffset(SignedDuration);

impl ClockOffset {
    /// `1h`, `-25m`, `-1d 2h`, `+00:30:00`.
    pub fn parse(typed: &str) -> Result<Self, IntakeError> {
        let wrong = || IntakeError::ClockOffset { typed: typed.to_string() };
        let text = typed.trim();
        let (minus, text) = match text.strip_prefix(['-', '−']) {
            Some(rest) => (true, rest),
            None => (false, text.strip_prefix('+').unwrap_or(text)),
        };
        let span: jiff::Span = text.parse().map_err(|_| wrong())?;
        // Months have no one length; days are of 24 hours here, because a clock is off by an amount, not by a calendar.
        let duration = span.to_duration(jiff::SpanRelativeTo::days_are_24_hours()).map_err(|_| wrong())?;
        if duration.is_negative() || text.starts_with(['-', '+']) {
            return Err(wrong());
        }
        Ok(Self(if minus { -duration } else { duration }))
    }
}

/// What the keeper says about the time of a photo. The default says nothing: then the camera must.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct When {
    /// The time itself; it overrules the camera.
    pub at: Option<At>,
    /// What to add to the camera's time.
    pub clock: Option<ClockOffset>,
    /// Whether the file's own time may serve where the camera wrote none.
    pub file_time: bool,
}

/// When a photo was taken, and what is unsure about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Capture {
    /// The time.
    pub moment: Moment,
    /// Why it is unsure, where a keeper may want to set it right.
    pub finding: Option<Finding>,
}

impl When {
    /// The time of a photo: the keeper's word, else the camera's, else, if allowed, the file's. None if nobody says.
    pub fn capture(
        &self,
        camera: Option<&CameraTime>,
        file: Option<Timestamp>,
        zone: &TimeZone,
        now: Timestamp,
    ) -> Option<Capture> {
        if let Some(at) = self.at {
            return Some(Capture { moment: at.moment(zone, now), finding: None });
        }
        let (moment, finding) = match camera {
            Some(taken) => self.camera(taken, zone),
            None => {
                let instant = file.filter(|_| self.file_time)?;
                let (offset, source) = (zone.to_offset(instant), TimeSource::File);
                (Moment { instant, offset, source, certainty: Certainty::Unsure }, None)
            }
        };
        // A minute's grace: two clocks never agree.
        if moment.instant.duration_since(now) > SignedDuration::from_mins(1) {
            let sentence = format!("By its time, {}, the photo is still to be taken.", local(&moment));
            let finding = Some(Finding::note(Code::TimeUnsure, sentence));
            return Some(Capture { moment: Moment { certainty: Certainty::Unsure, ..moment }, finding });
        }
        Some(Capture { moment, finding })
    }

    fn camera(&self, taken: &CameraTime, zone: &TimeZone) -> (Moment, Option<Finding>) {
        // The clock is mended first: a local time that stands twice may not do so an hour later.
        let mended = self.clock.and_then(|c| taken.local.checked_add(c.0).ok());
        let local = mended.unwrap_or(taken.local);
        let exact = taken.offset.and_then(|offset| Some((offset.to_timestamp(local).ok()?, offset)));
        let (mut moment, finding) = match exact {
            Some((instant, offset)) => {
                (Moment { instant, offset, source: TimeSource::ExifOffset, certainty: Certainty::Sure }, None)
            }
            None => in_zone(local, zone, TimeSource::TankZone),
        };
        if mended.is_some() {
            moment.certainty = Certainty::Unsure;
        }
        (moment, finding)
    }
}

/// A tank's time zone. One that this machine's database lacks counts as UTC.
pub fn zone(name: &str) -> TimeZone {
    TimeZone::get(name).unwrap_or(TimeZone::UTC)
}

/// A local time in a zone. One that stands twice (clocks put back) is taken as the earlier, one that does not exist (clocks put
/// forward) as that much later.
fn in_zone(local: DateTime, zone: &TimeZone, source: TimeSource) -> (Moment, Option<Finding>) {
    let ambiguous = zone.to_ambiguous_timestamp(local);
    let unsure = ambiguous.is_ambiguous();
    // Only the last hours of the year 9999 have no instant.
    let instant = ambiguous.compatible().unwrap_or(Timestamp::MAX);
    let certainty = if unsure { Certainty::Unsure } else { Certainty::Sure };
    let finding = unsure.then(|| {
        let sentence = format!("The clocks were changed at {local}, so the time is sure to the hour only.");
        Finding::note(Code::TimeUnsure, sentence)
    });
    (Moment { instant, offset: zone.to_offset(instant), source, certainty }, finding)
}

fn local(m: &Moment) -> String {
    m.offset.to_datetime(m.instant).strftime("%Y-%m-%d %H:%M").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn berlin() -> TimeZone {
        TimeZone::get("Europe/Berlin").unwrap()
    }

    fn now() -> Timestamp {
        "2026-11-20T10:00:00Z".parse().unwrap()
    }

    fn camera(local: &str, offset: Option<i8>) -> CameraTime {
        CameraTime { local: local.parse().unwrap(), offset: offset.map(Offset::constant) }
    }

    /// Instant, offset in hours, source, certainty, whether there is a finding.
    fn of(when: When, taken: Option<CameraTime>) -> Option<(String, i32, TimeSource, Certainty, bool)> {
        let file = "2026-11-19T08:00:00Z".parse().ok();
        let c = when.capture(taken.as_ref(), file, &berlin(), now())?;
        let m = c.moment;
        Some((m.instant.to_string(), m.offset.seconds() / 3600, m.source, m.certainty, c.finding.is_some()))
    }

    fn at(typed: &str) -> String {
        At::parse(typed).unwrap().moment(&berlin(), now()).instant.to_string()
    }

    #[test]
    fn the_camera_is_believed_in_its_own_offset_or_the_tanks() {
        use {Certainty::*, TimeSource::*};
        let silent = When::default();
        let got = of(silent, Some(camera("2026-07-01T12:00:00", Some(9))));
        assert_eq!(got, Some(("2026-07-01T03:00:00Z".into(), 9, ExifOffset, Sure, false)));
        let got = of(silent, Some(camera("2026-07-01T12:00:00", None)));
        assert_eq!(got, Some(("2026-07-01T10:00:00Z".into(), 2, TankZone, Sure, false)));
        assert_eq!(of(silent, None), None, "the file's own time is not taken without a word");
        let got = of(When { file_time: true, ..silent }, None);
        assert_eq!(got, Some(("2026-11-19T08:00:00Z".into(), 1, File, Unsure, false)));
    }

    #[test]
    fn a_clock_change_leaves_the_time_unsure() {
        use {Certainty::*, TimeSource::*};
        // Clocks in Berlin: forward 2026-03-29 02:00 → 03:00, back 2026-10-25 03:00 → 02:00 (IANA time zone database).
        let gap = of(When::default(), Some(camera("2026-03-29T02:30:00", None)));
        assert_eq!(gap, Some(("2026-03-29T01:30:00Z".into(), 2, TankZone, Unsure, true)));
        let fold = of(When::default(), Some(camera("2026-10-25T02:30:00", None)));
        assert_eq!(fold, Some(("2026-10-25T00:30:00Z".into(), 2, TankZone, Unsure, true)));
        // With the offset written there is nothing to guess.
        let known = of(When::default(), Some(camera("2026-10-25T02:30:00", Some(1))));
        assert_eq!(known, Some(("2026-10-25T01:30:00Z".into(), 1, ExifOffset, Sure, false)));
    }

    #[test]
    fn a_wrong_clock_is_mended_before_the_zone_is_asked() {
        use {Certainty::*, TimeSource::*};
        let clock = |typed: &str| When { clock: Some(ClockOffset::parse(typed).unwrap()), ..When::default() };
        let got = of(clock("1h"), Some(camera("2026-03-29T02:30:00", None)));
        assert_eq!(got, Some(("2026-03-29T01:30:00Z".into(), 2, TankZone, Unsure, false)));
        let got = of(clock("-1d 2h"), Some(camera("2026-07-02T12:00:00", Some(0))));
        assert_eq!(got, Some(("2026-07-01T10:00:00Z".into(), 0, ExifOffset, Unsure, false)));
        for typed in ["", "h", "1 month", "--1h", "-+1h", "soon", "5"] {
            assert_eq!(ClockOffset::parse(typed).unwrap_err().code(), "clock-offset-malformed", "{typed}");
        }
        assert_eq!(ClockOffset::parse("+00:30:00").unwrap(), ClockOffset::parse("30m").unwrap());
    }

    #[test]
    fn a_photo_still_to_be_taken_is_unsure() {
        let got = of(When::default(), Some(camera("2026-11-20T11:30:00", None))).unwrap();
        assert_eq!((got.3, got.4), (Certainty::Unsure, true));
        let got = of(When::default(), Some(camera("2026-11-20T11:00:40", None))).unwrap();
        assert_eq!((got.3, got.4), (Certainty::Sure, false), "two clocks never agree to the second");
    }

    #[test]
    fn the_keeper_overrules_the_camera() {
        let when = When { at: Some(At::parse("2026-11-18 18:30").unwrap()), ..When::default() };
        let got = of(when, Some(camera("2020-01-01T00:00:00", Some(0))));
        assert_eq!(got, Some(("2026-11-18T17:30:00Z".into(), 1, TimeSource::Keeper, Certainty::Sure, false)));
        assert_eq!(at("now"), "2026-11-20T10:00:00Z");
        // It is 11:00 in Berlin: 10:59 was today, 11:01 yesterday.
        assert_eq!((at("10:59"), at("11:01")), ("2026-11-20T09:59:00Z".into(), "2026-11-19T10:01:00Z".into()));
        assert_eq!(at("2026-11-18T18:30+05:30"), "2026-11-18T13:00:00Z");
        assert_eq!(at("2026-11-18T18:30:15Z"), "2026-11-18T18:30:15Z");
        for typed in ["", "yesterday", "2026-11-18", "25:00", "2026-02-30 10:00", "2026-11-18 18:30[Asia/Tokyo]"] {
            assert_eq!(At::parse(typed).unwrap_err().code(), "time-malformed", "{typed}");
        }
    }
}
