//! Invented tanks with animals, asked when nitrate reaches its limit.
//!
//! Not the steady rise that is fitted: what animals make wanders from week to week, plants and a filter without oxygen take a share
//! of what is there, tests err by a factor of their own and are read in shades, and one change in ten is not logged.

use super::keeper::at;
use super::tank::{about, normal};
use fastrand::Rng;
use tintline::advice::forecast::Reached;
use tintline::advice::{Animals, Book, Facts, Happened, Happening, Kind, Measured, Shown, Water, forecast};
use tintline::numeric::robust::median;
use tintline::numeric::stats::clopper_pearson;
use tintline::water::Span;

/// mg/L, the limit in fresh water.
const LIMIT: f64 = 40.0;
/// Days of the log before it is asked.
const ASKED: u32 = 42;

/// One tank: its log, and the days from the question until the limit without another change; none within a year.
pub fn tank(seed: u64) -> (Book, Option<u32>) {
    let mut random = Rng::with_seed(seed);
    let facts = Facts { animals: Animals::Present, litres: Some(100.0), ..Facts::new("tank", Water::Fresh) };
    let mut book = Book::new(facts);
    let (mut there, mut daily) = (2.0 + 10.0 * random.f64(), 0.6 * about(&mut random, 0.5));
    let loss = 0.012 * random.f64();
    let (bias, every) = (about(&mut random, 0.1), 5 + random.u32(..5));
    let (share, changes) = (0.15 + 0.25 * random.f64(), 7 + random.u32(..15));
    for day in 0..ASKED {
        if day % every == 0 {
            let seen = there * bias * about(&mut random, 0.1) + 0.5 * normal(&mut random);
            let span = Span { low: 0.8 * seen, best: Some(seen), high: 1.2 * seen };
            let none = (Span::between(0.0, 2.5), Shown::None);
            let (span, shown) = if seen < 2.5 { none } else { (span, Shown::Some) };
            let entry = format!("r{day}");
            book.readings.push(Measured::new(&entry, at(f64::from(day)), Kind::Nitrate, span, shown));
        }
        if day % changes == changes - 1 {
            there *= 1.0 - share;
            if random.f64() > 0.1 {
                let (entry, what) = (format!("e{day}"), Happened::Changed(Some(share)));
                book.events.push(Happening { entry, at: at(f64::from(day) + 0.1), what, words: String::new() });
            }
        }
        let weekly = if day % 7 == 0 { about(&mut random, 0.12) } else { 1.0 };
        daily *= weekly;
        there += daily - loss * there;
    }
    let reached = (0..365).find(|day| {
        let weekly = if day % 7 == 0 { about(&mut random, 0.12) } else { 1.0 };
        daily *= weekly;
        there += daily - loss * there;
        there >= LIMIT
    });
    (book, reached.map(|day| day + 1))
}

/// What became of the answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Scored {
    pub given: u64,
    pub hits: u64,
    /// Days from the middle of the range to the truth, where both are known.
    pub errors: Vec<f64>,
}

/// So many tanks asked.
pub fn scored(count: u64, seed: u64) -> Scored {
    let (mut given, mut hits, mut errors) = (0, 0, Vec::new());
    for i in 0..count {
        let (book, truth) = tank(seed * 1_000_000 + i);
        let now = at(f64::from(ASKED));
        let days = |t: jiff::Timestamp| t.duration_since(now).as_secs_f64() / 86_400.0;
        // Not within a year is an answer, too.
        let (low, high) = match forecast(&book, now, i).nitrate.without_changes {
            Reached::Between(early, late) => (days(early), late.map_or(f64::INFINITY, days)),
            Reached::Not => (365.0, f64::INFINITY),
            Reached::Already | Reached::Unknown => continue,
        };
        given += 1;
        let truth = truth.map_or(f64::INFINITY, f64::from);
        hits += u64::from((low - 0.5 <= truth || low >= 365.0) && truth <= high + 0.5);
        if truth.is_finite() && high.is_finite() {
            errors.push((f64::midpoint(low, high) - truth).abs());
        }
    }
    Scored { given, hits, errors }
}

/// A line: how many were asked and answered, coverage of the range, error of its middle.
pub fn line(count: u64, seed: u64) -> String {
    let Scored { given, hits, errors } = scored(count, seed);
    let band = clopper_pearson(hits, given, 0.95);
    let band = band.map_or(String::new(), |b| format!("{:.0} to {:.0}", 100.0 * b.low, 100.0 * b.high));
    format!(
        "Nitrate at {LIMIT} mg/L without a change, asked on day {ASKED}: {given} of {count} answered, {:.0} % covered ({band}), error {:.1} days (median of {} with both ends)",
        100.0 * hits as f64 / given.max(1) as f64,
        median(&errors).unwrap_or(f64::NAN),
        errors.len()
    )
}
