//! A summary to paste for somebody who helps: no names, no paths, no place.

use super::book::{Animals, Book, Happening, Kind, Measured, Water, Whose};
use super::review::Review;
use super::statement::age;
use crate::water::{Span, Species, significant};

/// Plain text: tank, volume, stage, danger, last readings with limits and age in both bases, tap, events, tests in doubt.
pub fn summary(book: &Book, review: &Review) -> String {
    let book = &book.until(review.now);
    let now = review.now;
    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(&text);
        out.push('\n');
    };
    line(format!("Tank: {}", tank_words(book, now)));
    let tested = review.stage.as_of.map_or(String::new(), |t| format!(", last tested {} ago", age(t, now)));
    line(format!("Stage of the cycle: {}{tested}", review.stage.words()));
    line(format!("Danger: {} {}", review.danger.act_as().symbol(), review.danger.words()));
    for l in &review.danger.lines {
        line(format!("  {} {}", l.act_as().symbol(), l.statement.words));
    }
    for (whose, title) in [(Whose::Tank, "Last readings"), (Whose::Tap, "Tap water")] {
        let of: Vec<&Measured> =
            Kind::ALL.iter().filter_map(|k| book.readings.iter().rfind(|r| r.kind == *k && r.whose == whose)).collect();
        line(format!("{title}:{}", if of.is_empty() { " none logged" } else { "" }));
        for r in of {
            line(format!("  {} {}, {} ago", r.kind.as_str(), both(r), age(r.at, now)));
        }
    }
    let events: Vec<&Happening> = book.events.iter().rev().take(8).collect();
    line(format!("Last events:{}", if events.is_empty() { " none logged" } else { "" }));
    for e in events {
        line(format!("  {}, {} ago", e.plain_words(), age(e.at, now)));
    }
    for d in &review.doubts {
        line(format!("In doubt: {}", d.words));
    }
    line("Colour tests read with tintline: estimates with their ranges, no proof.".to_string());
    out
}

/// Water, volume, plants and animals in words, without its name.
pub fn tank_words(book: &Book, now: jiff::Timestamp) -> String {
    let f = &book.facts;
    let water = match f.water {
        Water::Fresh => "fresh water",
        Water::Brackish => "brackish water",
        Water::Marine => "sea water",
    };
    let volume = f.litres.map_or("volume not logged".to_string(), |l| format!("{} L", significant(l, 3)));
    let plants = match f.planted {
        Some(true) => ", planted",
        Some(false) => ", no plants",
        None => "",
    };
    let animals = match book.animals(now) {
        Animals::Present => "animals in it",
        Animals::None => "no animals",
        Animals::Unknown => "animals not logged",
    };
    format!("{water}, {volume}{plants}, {animals}")
}

/// The amount in the words of the log, and on the other basis.
fn both(r: &Measured) -> String {
    let n = Species::AmmoniaN.molar_mass();
    // mg/L of the book's unit as N and as the whole.
    let (as_n, whole, name) = match r.kind {
        Kind::Ammonia => (1.0, Species::Ammonia.molar_mass() / n, "as NH3"),
        Kind::Nitrite => (n / Species::Nitrite.molar_mass(), 1.0, "as the ion"),
        Kind::Nitrate => (n / Species::Nitrate.molar_mass(), 1.0, "as the ion"),
        _ => return r.words.clone(),
    };
    let other = if r.words.contains("-N") { (whole, name) } else { (as_n, "as N") };
    format!("{} [{} mg/L {}]", r.words, short(&r.span.times(other.0)), other.1)
}

fn short(s: &Span) -> String {
    let n = |x: f64| significant(x, 2);
    match s.best {
        _ if s.is_open() => format!(">{}", n(s.low)),
        Some(b) if s.low == s.high => n(b),
        Some(b) => format!("{} ({} to {})", n(b), n(s.low), n(s.high)),
        None => format!("<{}", n(s.high)),
    }
}
