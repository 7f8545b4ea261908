//! Charts: what stands where, that nothing gets out of its place, what stays out.

mod drawn;
mod said;

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use tintline::advice::{Book, Facts, Happened, Happening, Kind, Measured, Shown, Water};
use tintline::faces::chart::Chart;
use tintline::water::Span;

const NOW: &str = "2026-03-31T12:00:00Z";

fn now() -> Timestamp {
    NOW.parse().unwrap()
}

/// Days before now.
fn ago(days: f64) -> Timestamp {
    now() - SignedDuration::from_secs_f64(days * 86400.0)
}

fn zone() -> TimeZone {
    TimeZone::get("Europe/Berlin").unwrap()
}

/// Nitrite: none, 0.5 (0.4 to 0.7), above 5, 0.3 in doubt; pH, and two events.
fn book() -> Book {
    let mut book = Book::new(Facts::new("shelf", Water::Fresh));
    let mut add = |entry: &str, days: f64, kind: Kind, span: Span, shown: Shown, words: &str| {
        let mut m = Measured::new(entry, ago(days), kind, span, shown);
        m.words = words.into();
        book.readings.push(m);
        book.readings.len() - 1
    };
    let known = |low, best, high| Span { low, best: Some(best), high };
    add("none", 30.0, Kind::Nitrite, Span::between(0.0, 0.2), Shown::None, "not detected (below 0.2 mg/L NO2-)");
    add("some", 20.0, Kind::Nitrite, known(0.4, 0.5, 0.7), Shown::Some, "0.5 mg/L NO2- (0.4 to 0.7)");
    add("over", 10.0, Kind::Nitrite, Span::between(5.0, f64::INFINITY), Shown::Above, "above 5 mg/L NO2-");
    let doubt = add("odd", 5.0, Kind::Nitrite, known(0.2, 0.3, 0.4), Shown::Some, "0.3 mg/L NO2- (0.2 to 0.4)");
    add("ph1", 30.0, Kind::Ph, known(7.0, 7.2, 7.4), Shown::Some, "pH 7.2 (7.0 to 7.4)");
    add("ph2", 5.0, Kind::Ph, known(6.8, 7.0, 7.2), Shown::Some, "pH 7.0 (6.8 to 7.2)");
    book.readings[doubt].doubtful = true;
    let mut event = |days, what, words: &str| {
        let entry = format!("e{days}");
        book.events.push(Happening { entry, at: ago(days), what, words: words.into() });
    };
    event(15.0, Happened::Changed(Some(0.3)), "water change 30 %: with Anna's <b>hose</b> & care");
    event(2.0, Happened::Other, "note: <script>alert(1)</script>");
    book
}

fn chart(notes: bool) -> Chart {
    let book = book();
    let trends = tintline::advice::trends(&book, now());
    Chart::new("shelf", zone(), (ago(31.0), now()), trends, &book.events, notes)
}
