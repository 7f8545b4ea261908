//! The calendar file: RFC 5545 by its text, and read back by an independent parser.

use icalendar::{Calendar, CalendarDateTime, Component, DatePerhapsTime};
use jiff::Timestamp;
use proptest::prelude::*;
use tintline::faces::calendar::{Entry, calendar};

fn now() -> Timestamp {
    "2026-03-01T18:00:00Z".parse().unwrap()
}

fn entry(uid: &str, at: &str, summary: &str, description: &str) -> Entry {
    Entry { uid: uid.into(), at: at.parse().unwrap(), summary: summary.into(), description: description.into() }
}

/// What sections 3.1, 3.4, 3.6 and 3.6.1 ask of any file: line ends, length, the properties that must stand once.
fn sound(file: &str) {
    assert!(file.ends_with("END:VCALENDAR\r\n") && file.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n"));
    assert!(!file.replace("\r\n", "").contains(['\r', '\n']), "bare line ends");
    for line in file.split("\r\n") {
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
    }
    let lines: Vec<String> = file.replace("\r\n ", "").split("\r\n").map(str::to_string).collect();
    let mut open: Vec<&str> = Vec::new();
    let mut seen: Vec<&str> = Vec::new();
    for line in lines.iter().filter(|l| !l.is_empty()) {
        let (name, value) = line.split_once(':').unwrap_or_else(|| panic!("no value: {line}"));
        match name {
            "BEGIN" => {
                open.push(value);
                seen.clear();
            }
            "END" => {
                assert_eq!(open.pop(), Some(value));
                if value == "VEVENT" {
                    continue;
                }
                let must: &[&str] = match value {
                    "VALARM" => &["ACTION", "TRIGGER", "DESCRIPTION"],
                    _ => &[],
                };
                assert!(must.iter().all(|m| seen.contains(m)), "{value} has {seen:?}");
            }
            _ => {
                assert!(!seen.contains(&name), "{name} twice in {open:?}");
                assert!(name.chars().all(|c| c.is_ascii_uppercase() || c == '-'), "{name}");
                seen.push(name);
                if open.last() == Some(&"VEVENT") && name == "DURATION" {
                    assert!(["UID", "DTSTAMP", "DTSTART"].iter().all(|m| seen.contains(m)), "{seen:?}");
                }
            }
        }
    }
    assert!(open.is_empty());
}

#[test]
fn what_is_written_is_read_back() {
    let entries = [
        entry(
            "a-tests@tintline",
            "2026-03-02T07:30:00Z",
            "hall: Test ammonia, nitrite",
            "Because; of a \\ and\na line.",
        ),
        entry("a-tap@tintline", "2026-10-25T00:30:00Z", &"µg → mg; ".repeat(20), ""),
    ];
    let file = calendar(&entries, now());
    sound(&file);
    let read: Calendar = file.parse().unwrap();
    let events: Vec<_> = read.events().collect();
    assert_eq!(events.len(), 2);
    for (event, entry) in events.iter().zip(&entries) {
        assert_eq!(event.get_uid(), Some(entry.uid.as_str()));
        assert_eq!(event.get_summary(), Some(entry.summary.as_str()));
        assert_eq!(event.get_description().unwrap_or_default(), entry.description);
        let Some(DatePerhapsTime::DateTime(CalendarDateTime::Utc(at))) = event.get_start() else {
            panic!("{:?} is not in UTC", event.get_start())
        };
        assert_eq!(at.timestamp(), entry.at.as_second());
        assert_eq!(event.get_timestamp().unwrap().timestamp(), now().as_second());
        assert_eq!(event.property_value("DURATION"), Some("PT20M"));
    }
}

#[test]
fn a_later_file_moves_an_entry_and_replaces_the_earlier() {
    let at = |file: &str, name: &str| {
        let line = file.lines().find(|l| l.starts_with(name)).unwrap();
        line.trim_end().rsplit(':').next().unwrap().to_string()
    };
    let first = calendar(&[entry("a@t", "2026-03-02T07:30:00Z", "s", "")], now());
    let later = now() + jiff::SignedDuration::from_hours(1);
    let second = calendar(&[entry("a@t", "2026-03-09T07:30:00Z", "s", "")], later);
    assert_eq!(at(&first, "UID"), at(&second, "UID"));
    let sequence = |f: &str| at(f, "SEQUENCE").parse::<i32>().unwrap();
    assert_eq!(sequence(&second) - sequence(&first), 60);
    assert_eq!(at(&second, "DTSTART"), "20260309T073000Z");
}

#[test]
fn nothing_due_is_a_file_all_the_same() {
    let file = calendar(&[], now());
    sound(&file);
    assert_eq!(file.parse::<Calendar>().unwrap().events().count(), 0);
}

proptest! {
    /// Any words come back, whatever marks, commas and scripts are in them.
    #[test]
    fn any_words_come_back(summary in "[ -~äöüß€日本\\\\,;:\"]{1,200}", description in "[ -~\n,;\\\\]{0,300}") {
        // White space at the ends is the parser's own business.
        let (summary, description) = (summary.trim().to_string(), description.trim().to_string());
        prop_assume!(!summary.is_empty());
        let file = calendar(&[entry("a@t", "2026-03-02T07:30:00Z", &summary, &description)], now());
        sound(&file);
        let read: Calendar = file.parse().unwrap();
        let event = read.events().next().unwrap();
        prop_assert_eq!(event.get_summary().unwrap_or_default(), &summary);
        prop_assert_eq!(event.get_description().unwrap_or_default(), &description);
    }
}
