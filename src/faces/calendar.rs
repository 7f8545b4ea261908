//! Calendar files: iCalendar, RFC 5545.
//!
//! Takes entries with their times; gives the text of a file. Promises: lines end in CR LF and are folded at 75 octets between
//! characters; text is escaped; times are UTC, so no time zone needs to be described; an entry keeps its UID from one file to the
//! next, and a later file has the higher SEQUENCE, so that a calendar moves it instead of adding another. Entries are events, not
//! to-dos: calendars of phones show those. Never: asks the clock.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// An entry.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Unique in the world, and the same in the next file.
    pub uid: String,
    /// When it begins. What is past is put at the time of the file: a calendar reminds of nothing that was.
    pub at: Timestamp,
    /// One line.
    pub summary: String,
    /// More.
    pub description: String,
}

/// Minutes that an entry takes.
const MINUTES: u32 = 20;

/// The file, made at `now`.
///
/// ```
/// use tintline::faces::calendar::{Entry, calendar};
/// let now = "2026-03-01T18:00:00Z".parse().unwrap();
/// let entry = Entry { uid: "1@x".into(), at: now, summary: "Test pH, KH".into(), description: String::new() };
/// let file = calendar(&[entry], now);
/// assert!(file.contains("\r\nDTSTART:20260301T180000Z\r\nDURATION:PT20M\r\nSUMMARY:Test pH\\, KH\r\n"));
/// ```
pub fn calendar(entries: &[Entry], now: Timestamp) -> String {
    let mut out = String::new();
    let mut line = |name: &str, value: &str| fold(&format!("{name}:{value}"), &mut out);
    line("BEGIN", "VCALENDAR");
    line("VERSION", "2.0");
    line("PRODID", "-//tintline//due list//EN");
    line("CALSCALE", "GREGORIAN");
    for e in entries {
        line("BEGIN", "VEVENT");
        line("UID", &e.uid);
        line("DTSTAMP", &utc(now));
        // It must grow from file to file and fit 31 bits.
        line("SEQUENCE", &(now.as_second() / 60).max(0).to_string());
        line("DTSTART", &utc(e.at.max(now)));
        line("DURATION", &format!("PT{MINUTES}M"));
        line("SUMMARY", &text(&e.summary));
        if !e.description.is_empty() {
            line("DESCRIPTION", &text(&e.description));
        }
        line("TRANSP", "TRANSPARENT");
        line("BEGIN", "VALARM");
        line("ACTION", "DISPLAY");
        line("TRIGGER", "PT0S");
        line("DESCRIPTION", &text(&e.summary));
        line("END", "VALARM");
        line("END", "VEVENT");
    }
    line("END", "VCALENDAR");
    out
}

/// Form 2 of DATE-TIME, section 3.3.5.
fn utc(t: Timestamp) -> String {
    TimeZone::UTC.to_datetime(t).strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// TEXT, section 3.3.11. Control characters, which it has no form for, are left out.
fn text(plain: &str) -> String {
    let mut out = String::with_capacity(plain.len());
    for c in plain.chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// Content lines, section 3.1: at most 75 octets without the line break; a longer one goes on after CR LF and a space.
fn fold(line: &str, out: &mut String) {
    const OCTETS: usize = 75;
    let mut room = OCTETS;
    for c in line.chars() {
        if c.len_utf8() > room {
            out.push_str("\r\n ");
            room = OCTETS - 1;
        }
        out.push(c);
        room -= c.len_utf8();
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_folded_at_75_octets_between_characters() {
        // A line of exactly 75 octets stays whole; of the next only 74 fit beside the space.
        for (n, lines) in [(75, 1), (76, 2), (75 + 74, 2), (75 + 75, 3)] {
            let mut out = String::new();
            fold(&"x".repeat(n), &mut out);
            assert_eq!(out.matches("\r\n").count(), lines, "{n}");
        }
        let long = "µ→日本語,".repeat(40);
        let mut out = String::new();
        fold(&long, &mut out);
        assert!(out.ends_with("\r\n") && out.split("\r\n").all(|l| l.len() <= 75), "{out}");
        assert_eq!(out.replace("\r\n ", "").trim_end(), long);
    }

    #[test]
    fn text_is_escaped() {
        assert_eq!(text("a\\b; c, d\ne\r\tf\u{7}"), "a\\\\b\\; c\\, d\\nef");
    }

    #[test]
    fn what_is_past_is_put_at_the_time_of_the_file() {
        let (now, then) = ("2026-03-01T18:00:00Z".parse().unwrap(), "2026-02-01T18:00:00Z".parse().unwrap());
        let entry = Entry { uid: "1@x".into(), at: then, summary: "s".into(), description: String::new() };
        assert!(calendar(&[entry], now).contains("DTSTART:20260301T180000Z"));
    }
}
