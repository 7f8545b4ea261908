//! Each test's results over time, with the limits they are judged by: what a chart shows.

use super::book::{Book, Kind, Measured, Shown, Water, Whose};
use super::danger::{Level, bounds};
use super::doubt;
use super::evidence::{Evidence, Weight};
use super::rules::*;
use crate::log::{Reading, Target};
use crate::water::{Amount, Analyte, Span, free_ammonia};
use jiff::Timestamp;

/// What a trend is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Subject {
    /// A test's results.
    Measured(Kind),
    /// Free ammonia, computed from total ammonia with pH, temperature and salinity at the time.
    FreeAmmonia,
    /// Something no rule judges.
    Other(String),
}

/// A result.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Its entry in the log.
    pub entry: String,
    /// When the water was drawn.
    pub at: Timestamp,
    /// Bounds, in the trend's unit.
    pub span: Span,
    /// Its form.
    pub shown: Shown,
    /// Whether it may alarm only, or was read outside its time.
    pub doubtful: bool,
    /// In the words of the log; computed values have their bounds.
    pub words: String,
}

/// Which side of a limit is bad.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bad {
    Above,
    Below,
}

/// A limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guide {
    /// In the trend's unit.
    pub value: f64,
    /// Which side is bad.
    pub bad: Bad,
    /// How bad.
    pub level: Level,
    /// The rule, with its source.
    pub rule: Rule,
}

/// Results of one kind, oldest first, with the limits for this water.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    pub subject: Subject,
    /// Unit of all its numbers, with the basis; empty for pH.
    pub unit: String,
    /// Whether zero means none.
    pub from_zero: bool,
    pub points: Vec<Point>,
    /// Mildest first.
    pub guides: Vec<Guide>,
}

impl Subject {
    /// Name for people.
    pub fn words(&self) -> &str {
        match self {
            Self::Measured(Kind::Ammonia) => "ammonia, total",
            Self::Measured(kind) => kind.as_str(),
            Self::FreeAmmonia => "ammonia, free",
            Self::Other(name) => name,
        }
    }

    /// Stable text form: the analyte, or `free-ammonia`.
    pub fn code(&self) -> &str {
        match self {
            Self::Measured(kind) => kind.as_str(),
            Self::FreeAmmonia => "free-ammonia",
            Self::Other(name) => name,
        }
    }
}

impl Guide {
    /// In words: `caution from 0.25`, `caution below 6.5`.
    pub fn words(&self) -> String {
        let side = if self.bad == Bad::Above { "from" } else { "below" };
        format!("{} {side} {}", self.level.as_str(), crate::water::significant(self.value, 3))
    }
}

/// The trends of a tank's water up to `now`, of everything that was ever measured; entries later than `now` are left out.
pub fn trends(book: &Book, now: Timestamp) -> Vec<Trend> {
    let mut book = book.until(now);
    doubt::mark_ph(&mut book);
    let evidence = Evidence::of(&book);
    let point = |r: &Measured, span: Span, words: String| Point {
        entry: r.entry.clone(),
        at: r.at,
        span,
        shown: r.shown,
        doubtful: evidence.weight(r) < Weight::Full,
        words,
    };
    let mut out = Vec::new();
    for kind in Kind::ALL {
        let of_kind = || book.readings.iter().filter(move |r| r.kind == kind && r.whose == Whose::Tank);
        let points: Vec<Point> = of_kind().map(|r| point(r, r.span, r.words.clone())).collect();
        if points.is_empty() {
            continue;
        }
        let subject = Subject::Measured(kind);
        let guides = guides(&subject, book.facts.water);
        out.push(Trend { subject, unit: kind.unit().into(), from_zero: kind.has_zero(), points, guides });
        if kind == Kind::Ammonia {
            // Bound or free, below the limit of total ammonia there is no more of it.
            let free = of_kind().filter_map(|r| {
                let free = free_ammonia(&r.span, &book.conditions(r.at).0).ok()?;
                Some(point(r, free, bounds(&free, kind.unit())))
            });
            let (points, subject) = (free.collect::<Vec<_>>(), Subject::FreeAmmonia);
            let guides = self::guides(&subject, book.facts.water);
            out.push(Trend { subject, unit: kind.unit().into(), from_zero: true, points, guides });
        }
    }
    out
}

/// Trends of what no rule judges, phosphate say, from readings of all kinds: those of tank water.
pub fn other_trends(readings: &[Reading], now: Timestamp) -> Vec<Trend> {
    let mut out: Vec<Trend> = Vec::new();
    for r in readings.iter().filter(|r| matches!(r.sample.target, Target::Tank(_)) && r.sample.at().instant <= now) {
        let name = match &r.test.analyte {
            a if Kind::of(a).is_some() => continue,
            Analyte::Other(name) => name.clone(),
            a => a.as_str().to_string(),
        };
        let Some(amount) = &r.canonical else { continue };
        let (unit, shown) = match amount {
            Amount::Measured { value, .. } => (&value.unit, Shown::Some),
            Amount::NotDetected { below } => (&below.unit, Shown::None),
            Amount::Above { limit } => (&limit.unit, Shown::Above),
            Amount::Below { limit } => (&limit.unit, Shown::Below),
        };
        let point = Point {
            entry: r.id.short(),
            at: r.sample.at().instant,
            span: Span::of(amount),
            shown,
            doubtful: r.is_doubtful(),
            words: r.amount.as_ref().map(Amount::to_string).unwrap_or_default(),
        };
        // Of one substance counted in two ways there are two trends: nothing leads from one to the other.
        match out.iter_mut().find(|t| t.subject.words() == name && t.unit == unit.to_string()) {
            Some(trend) => trend.points.push(point),
            None => out.push(Trend {
                subject: Subject::Other(name),
                unit: unit.to_string(),
                from_zero: unit.has_zero(),
                points: vec![point],
                guides: Vec::new(),
            }),
        }
    }
    out.iter_mut().for_each(|t| t.points.sort_by_key(|p| p.at));
    out.sort_by(|a, b| a.subject.words().cmp(b.subject.words()));
    out
}

fn guides(subject: &Subject, water: Water) -> Vec<Guide> {
    let sea = water == Water::Marine;
    let above = |values: &[f64], from: Level, rule| -> Vec<Guide> {
        let levels = Level::ALL.into_iter().skip_while(|l| *l < from);
        values.iter().zip(levels).map(|(v, level)| Guide { value: *v, bad: Bad::Above, level, rule }).collect()
    };
    let caution = |value, bad, rule| Guide { value, bad, level: Level::Caution, rule };
    match subject {
        Subject::FreeAmmonia => above(&FREE_AMMONIA, Level::Caution, Rule::FreeAmmonia),
        Subject::Measured(Kind::Nitrite) => {
            above(if sea { &NITRITE_MARINE } else { &NITRITE_FRESH }, Level::Caution, Rule::NitriteLevel)
        }
        // Its first line is for notice only, and nothing of it is urgent: see the judgement of danger.
        Subject::Measured(Kind::Nitrate) => {
            above(if sea { &NITRATE_MARINE[1..] } else { &NITRATE_FRESH[1..] }, Level::Caution, Rule::NitrateLevel)
        }
        Subject::Measured(Kind::Ph) => {
            let (low, high) = usual_ph(water);
            vec![caution(low, Bad::Below, Rule::PhRange), caution(high, Bad::Above, Rule::PhRange)]
        }
        Subject::Measured(Kind::Alkalinity) => vec![caution(LOW_ALKALINITY, Bad::Below, Rule::AlkalinityLow)],
        _ => Vec::new(),
    }
}
