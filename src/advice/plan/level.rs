//! What tank and tap have now: from the request, else from the log, else not known.

use super::super::book::{Book, Happened, Kind, Measured, Shown, hours};
use super::super::doubt;
use super::super::evidence::{Evidence, Weight, looks_none};
use super::super::from_log::canonical;
use super::super::rules::retest;
use super::error::PlanError;
use super::said::{Figure, Origin};
use crate::water::{Amount, Analyte, Known, Span};
use jiff::Timestamp;

/// Values given with a request, in the units of their kinds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Given(Vec<(Kind, Span)>);

impl Given {
    /// From amounts; of what no plan counts with, the name comes back.
    pub fn of(values: &[(Analyte, Amount)]) -> Result<Self, String> {
        let one = |(analyte, amount): &(Analyte, Amount)| {
            canonical(analyte, amount).map(|(kind, span, _)| (kind, span)).ok_or_else(|| analyte.to_string())
        };
        values.iter().map(one).collect::<Result<_, _>>().map(Self)
    }

    /// With one more.
    pub fn with(mut self, kind: Kind, span: Span) -> Self {
        self.0.push((kind, span));
        self
    }

    pub(super) fn get(&self, kind: Kind) -> Option<Span> {
        self.0.iter().find(|(k, _)| *k == kind).map(|(_, span)| *span)
    }
}

/// A number and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Level {
    pub(super) span: Span,
    pub(super) origin: Origin,
}

impl Level {
    pub(super) fn figure(&self, name: &'static str, unit: &'static str) -> Figure {
        Figure::new(name, self.span, unit, self.origin.clone())
    }
}

/// A book at a time.
pub(super) struct Look {
    pub(super) book: Book,
    pub(super) now: Timestamp,
}

impl Look {
    pub(super) fn at(book: &Book, now: Timestamp) -> Self {
        let mut book = book.until(now);
        doubt::mark_ph(&mut book);
        Self { book, now }
    }

    pub(super) fn litres(&self, given: Option<f64>) -> Result<Level, PlanError> {
        let (litres, origin) = match (given, self.book.facts.litres) {
            (Some(litres), _) => (litres, Origin::Given),
            (None, Some(litres)) => (litres, Origin::Stated),
            (None, None) => return Err(PlanError::Volume { tank: self.book.facts.name.clone() }),
        };
        Ok(Level { span: Span::exact(litres), origin })
    }

    /// What the tank has of something now. A result that shows none but is in doubt, or is too old, says nothing.
    pub(super) fn tank(&self, kind: Kind, given: &Given) -> Result<Level, PlanError> {
        if let Some(span) = given.get(kind) {
            return Ok(Level { span, origin: Origin::Given });
        }
        let evidence = Evidence::of(&self.book);
        let unknown = |why| PlanError::Level { kind, why };
        let r = evidence.of_kind(kind).next_back().ok_or_else(|| unknown("it was never tested"))?;
        if evidence.weight(r) < Weight::Full && (looks_none(r) || r.shown == Shown::Below) {
            return Err(unknown("the last result shows none, and is in doubt"));
        }
        if hours(r.at, self.now) > useful(kind) {
            return Err(unknown("the last result is too old"));
        }
        Ok(level(r))
    }

    /// The same after doses since the last test: none of them may be gone yet, or all.
    pub(super) fn ammonia_after_doses(&self, given: &Given) -> Result<Level, PlanError> {
        let mut level = self.tank(Kind::Ammonia, given)?;
        let Origin::Log { at, .. } = level.origin else { return Ok(level) };
        let since = self.book.events.iter().filter(|e| e.at > at);
        for e in since {
            match e.what {
                Happened::Dosed(Some(n)) => {
                    level.span = Span { low: 0.0, best: None, high: level.span.high + n };
                }
                Happened::Dosed(None) => return Err(PlanError::UnknownDose),
                _ => {}
            }
        }
        Ok(level)
    }

    /// What the tap, or whatever water changes are made with, has of it.
    pub(super) fn tap(&self, kind: Kind, given: &Given) -> Option<Level> {
        match given.get(kind) {
            Some(span) => Some(Level { span, origin: Origin::Given }),
            None => self.book.tap(kind).map(level),
        }
    }

    /// pH, temperature or salinity of the tank.
    pub(super) fn condition(&self, kind: Kind, given: &Given) -> Level {
        if let Some(span) = given.get(kind) {
            return Level { span, origin: Origin::Given };
        }
        let (conditions, with) = self.book.conditions(self.now);
        let known = match kind {
            Kind::Ph => conditions.ph,
            Kind::Temperature => conditions.temperature,
            _ => conditions.salinity,
        };
        let origin = match (with.iter().find(|m| m.kind == kind), known) {
            (Some(m), _) => Origin::Log { entry: m.entry.clone(), at: m.at },
            (None, Known::Given(_)) => Origin::Stated,
            (None, Known::Assumed(_)) => Origin::Assumed,
        };
        Level { span: known.span(), origin }
    }
}

fn level(r: &Measured) -> Level {
    Level { span: r.span, origin: Origin::Log { entry: r.entry.clone(), at: r.at } }
}

/// Hours for which a plan counts on a result.
fn useful(kind: Kind) -> f64 {
    match kind {
        Kind::Ammonia | Kind::Nitrite => retest::FISHLESS_EARLY,
        _ => retest::ESTABLISHED,
    }
}
