//! What a routine of water changes settles at.

use super::super::book::{Book, Happened, Kind, Measured, Shown, hours};
use super::super::evidence::{Evidence, Weight};
use super::super::rules::{NITRATE_FRESH, NITRATE_MARINE, Rule};
use super::super::statement::Statement;
use super::change::names;
use super::error::{PlanError, share};
use super::level::{Given, Look};
use super::said::{Figure, Origin, Said, bounds, formulas};
use crate::water::{Span, significant, steady_state};
use jiff::Timestamp;

/// So much every so many days.
#[derive(Debug, Clone, PartialEq)]
pub struct Routine {
    /// Of what the level is asked.
    pub kind: Kind,
    /// The share of the water each time, 0 to 1.
    pub share: f64,
    /// Days from one change to the next.
    pub every_days: f64,
    /// By how much it rises from one change to the next, in the unit of its kind; else from the log.
    pub rise: Option<f64>,
    /// What the new water has, where the log shall not be asked for the tap.
    pub new: Given,
}

/// Where it leads.
#[derive(Debug, Clone, PartialEq)]
pub struct RoutinePlan {
    /// Just before each change, in the unit of the kind.
    pub before: Span,
    /// Just after it.
    pub after: Span,
    /// Changes until nine tenths of the way are gone.
    pub changes: u32,
    /// The rest.
    pub said: Said,
}

/// What the routine settles at.
pub fn routine(book: &Book, request: &Routine, now: Timestamp) -> Result<RoutinePlan, PlanError> {
    let look = Look::at(book, now);
    let named = names(request.kind)?;
    let unit = named.unit;
    let f = share("water", request.share)?;
    if !(request.every_days.is_finite() && request.every_days > 0.0) {
        return Err(crate::water::StateError::NotPositive { what: "days", value: request.every_days }.into());
    }
    let mut said = Said {
        inputs: vec![
            Figure::given("share", f * 100.0, "% of the water"),
            Figure::given("every", request.every_days, "days"),
        ],
        formulas: vec![formulas::ROUTINE],
        ..Said::default()
    };
    let (rise, origin, from) = match request.rise {
        Some(rise) => (Span::exact(rise), Origin::Given, Vec::new()),
        None => {
            let (a, b) = rising(&look, request.kind).ok_or(PlanError::Rise { kind: request.kind })?;
            let per = request.every_days / (hours(a.at, b.at) / 24.0);
            // A fall is the error of two tests: nothing that a filter does takes nitrate out.
            let end = |x: f64| (x * per).max(0.0);
            let span = Span {
                low: end(b.span.low - a.span.high),
                best: Some(end(b.span.middle() - a.span.middle())),
                high: end(b.span.high - a.span.low),
            };
            (span, Origin::Log { entry: b.entry.clone(), at: b.at }, vec![a, b])
        }
    };
    said.inputs.push(Figure::new("rise", rise, unit, origin));
    let tap = look.tap(request.kind, &request.new);
    said.inputs.extend(tap.iter().map(|t| t.figure(named.new, unit)));
    if tap.is_none() {
        said.unknown(
            Rule::ChangeRule,
            format!(
                "What the new water has of {}: taken as none. Whatever it has comes on top of both figures.",
                request.kind.as_str()
            ),
        );
    }
    let new = tap.map_or(Span::exact(0.0), |t| t.span);
    let at = |rise: f64, new: f64| steady_state(rise, new, f);
    let ((low_before, low_after), (high_before, high_after)) = (at(rise.low, new.low)?, at(rise.high, new.high)?);
    let best = rise.best.map(|r| at(r, new.middle())).transpose()?;
    let before = Span { low: low_before, best: best.map(|b| b.0), high: high_before };
    let after = Span { low: low_after, best: best.map(|b| b.1), high: high_after };
    // (1 − f)ⁿ ≤ 0.1; all of the water at once is there at once.
    let changes = if f >= 0.9 { 1 } else { (0.1f64.ln() / (1.0 - f).ln()).ceil() as u32 };
    said.results = vec![
        Figure::out("before-each-change", before, unit),
        Figure::out("after-each-change", after, unit),
        Figure::out("changes-to-settle", Span::exact(f64::from(changes)), ""),
    ];
    let words = format!(
        "{} % every {} days leads to {} {unit} before each change and {} after it, nine tenths of the way after {changes} changes.",
        significant(f * 100.0, 3),
        significant(request.every_days, 3),
        bounds(&before),
        bounds(&after)
    );
    said.answer.push(Statement::new(Rule::ChangeRule, words).on_all(&from));
    if request.kind == Kind::Nitrate {
        let line = if look.book.facts.water == super::super::book::Water::Marine {
            NITRATE_MARINE[0]
        } else {
            NITRATE_FRESH[1]
        };
        if before.high > line {
            let words = format!(
                "That may pass the {line} mg/L that is usually kept below: change more, feed less, or plant more. The least share that \
                 holds it: {}.",
                least_share(rise.high, new.high, line)
            );
            said.answer(Rule::NitrateLevel, words);
        }
    }
    said.unknown(
        Rule::ChangeRule,
        "Plants, and a change in feeding or stock, move the rise: look again after a month.",
    );
    Ok(RoutinePlan { before, after, changes, said })
}

/// The share whose level before a change is the line: P/(line − new).
fn least_share(rise: f64, new: f64, line: f64) -> String {
    let f = rise / (line - new);
    if new < line && f <= 1.0 {
        format!("{} %", significant(f * 100.0, 2))
    } else {
        "none, with this new water and this rise".to_string()
    }
}

/// The newest two results in a row without a change of water between them, at least two days apart, none in doubt.
fn rising(look: &Look, kind: Kind) -> Option<(Measured, Measured)> {
    let evidence = Evidence::of(&look.book);
    let fit = |r: &&Measured| r.shown == Shown::Some && evidence.weight(r) == Weight::Full;
    let all: Vec<&Measured> = evidence.of_kind(kind).filter(fit).collect();
    let still = |a: &Measured, b: &Measured| {
        !look.book.between(a.at, b.at).any(|e| matches!(e.what, Happened::Changed(_) | Happened::Dosed(_)))
    };
    let pair = all.windows(2).rev().find(|p| hours(p[0].at, p[1].at) >= 48.0 && still(p[0], p[1]))?;
    Some((pair[0].clone(), pair[1].clone()))
}
