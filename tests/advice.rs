//! Advice on books written by hand: situations, simulated cycles, what counts as evidence, plans.

mod any;
mod due;
mod evidence;
mod late;
mod plans;
mod scenarios;
mod simulated;

use jiff::{SignedDuration, Timestamp};
use tintline::advice::*;
use tintline::water::Span;

/// Hours after the beginning of the story.
fn at(h: f64) -> Timestamp {
    "2026-03-01T18:00:00Z".parse::<Timestamp>().unwrap() + SignedDuration::from_secs_f64(h * 3600.0)
}

/// A book being written.
struct Story {
    book: Book,
}

impl Story {
    fn new(water: Water, animals: Animals) -> Self {
        let facts = Facts { animals, litres: Some(100.0), planted: Some(false), ..Facts::new("tank", water) };
        Self { book: Book::new(facts) }
    }

    fn established(mut self) -> Self {
        self.book.facts.established = Some(at(-10_000.0));
        self
    }

    fn entry(&self) -> String {
        format!("e{}", self.book.readings.len() + self.book.events.len())
    }

    fn push(&mut self, mut m: Measured) -> &mut Measured {
        let unit = match m.kind {
            Kind::Ammonia => "mg/L NH3-N",
            Kind::Nitrite => "mg/L NO2-",
            Kind::Nitrate => "mg/L NO3-",
            _ => "",
        };
        m.words = match m.span.is_open() {
            true => format!("above {} {unit}", m.span.low),
            false => format!("{} to {} {unit}", m.span.low, m.span.high),
        };
        self.book.readings.push(m);
        self.book.readings.last_mut().unwrap()
    }

    /// A value known well, or for 0 nothing seen below half the first standard.
    fn read(&mut self, h: f64, kind: Kind, value: f64) -> &mut Measured {
        let (span, shown) = if value == 0.0 {
            (Span::between(0.0, kind.first_standard() / 2.0), Shown::None)
        } else {
            (Span::exact(value), Shown::Some)
        };
        self.push(Measured::new(&self.entry(), at(h), kind, span, shown))
    }

    fn range(&mut self, h: f64, kind: Kind, low: f64, high: f64) -> &mut Measured {
        self.push(Measured::new(&self.entry(), at(h), kind, Span::between(low, high), Shown::Some))
    }

    fn above(&mut self, h: f64, kind: Kind, limit: f64) -> &mut Measured {
        self.push(Measured::new(&self.entry(), at(h), kind, Span::between(limit, f64::INFINITY), Shown::Above))
    }

    fn tap(&mut self, kind: Kind, value: f64) {
        self.read(-1.0, kind, value).whose = Whose::Tap;
    }

    fn happens(&mut self, h: f64, what: Happened) {
        let words = format!("{what:?}");
        self.book.events.push(Happening { entry: self.entry(), at: at(h), what, words });
    }

    fn review(&self, h: f64) -> Review {
        review(&self.book, at(h))
    }
}

/// All that a review says.
fn said(r: &Review) -> String {
    let stall = r.stage.stall.iter().flat_map(|s| &s.causes);
    let lines = r.danger.lines.iter().map(|l| &l.statement);
    let all = r.trouble.iter().chain(lines).chain(&r.stage.statements).chain(stall).chain(&r.today);
    let all = all.chain([&r.next.statement]).chain(&r.doubts).chain(&r.cautions);
    all.map(|s| s.words.as_str()).collect::<Vec<_>>().join("\n")
}

fn has(r: &Review, words: &str) {
    assert!(said(r).contains(words), "no '{words}' in:\n{}", said(r));
}

fn has_not(r: &Review, words: &str) {
    assert!(!said(r).contains(words), "'{words}' in:\n{}", said(r));
}

fn free(r: &Review) -> Span {
    r.danger.line(Hazard::FreeAmmonia).unwrap().span.unwrap()
}

fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got / want - 1.0).abs() <= tolerance, "{got} for {want}");
}
