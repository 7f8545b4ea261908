//! How good forecasts are, by day of the cycle.

use super::keeper::{Log, at};
use std::fmt::Write;
use tintline::advice::{When, forecast};
use tintline::numeric::robust::{median, quantile};
use tintline::numeric::stats::clopper_pearson;

/// Days on which every log that is not finished is asked: one question a log and row, so that a row's share is binomial.
pub const ASKED: [f64; 7] = [12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 41.0];
/// The rule of thumb: about three weeks (common practice).
pub const RULE: f64 = 21.0;

/// A forecast and what came.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    pub log: usize,
    pub day: f64,
    pub truth: f64,
    /// Begin, middle and end of the range in days of the log; infinite where an end was not given.
    pub range: Option<[f64; 3]>,
}

impl Asked {
    pub fn covered(&self) -> Option<bool> {
        // Days are whole: half a day either way is the same day.
        self.range.map(|r| r[0] - 0.5 <= self.truth && self.truth <= r[2] + 0.5)
    }

    pub fn error(&self) -> Option<f64> {
        self.range.map(|r| (r[1].min(self.day + 120.0) - self.truth).abs())
    }
}

/// All logs that finish, asked on a day.
pub fn ask(logs: &[Log], day: f64) -> Vec<Asked> {
    let of = |(i, log): (usize, &Log)| {
        let truth = log.finished.filter(|t| *t > day)?;
        let now = at(day + 0.02);
        let days = |t: jiff::Timestamp| day + t.duration_since(now).as_secs_f64() / 86_400.0;
        let far = |t: Option<jiff::Timestamp>| t.map_or(f64::INFINITY, days);
        let range = match forecast(&log.book, now, i as u64).finish.when {
            When::Range { early, middle, late } => Some([days(early), far(middle), far(late)]),
            _ => None,
        };
        Some(Asked { log: i, day, truth, range })
    };
    logs.iter().enumerate().filter_map(of).collect()
}

/// Error of the rule of thumb: three weeks, and once those are over, any day now.
pub fn rule(a: &Asked) -> f64 {
    (RULE.max(a.day + 1.0) - a.truth).abs()
}

/// Error without skill: the median of all other logs that are not finished on that day.
pub fn no_skill(a: &Asked, logs: &[Log]) -> f64 {
    let others = logs.iter().enumerate().filter(|(i, _)| *i != a.log).filter_map(|(_, l)| l.finished);
    let others: Vec<f64> = others.filter(|t| *t > a.day).collect();
    (median(&others).unwrap_or(RULE) - a.truth).abs()
}

/// A line: what it is, how many were asked and answered, coverage, width, errors.
pub fn line(out: &mut String, title: &str, asked: &[Asked], logs: &[Log]) {
    let given: Vec<&Asked> = asked.iter().filter(|a| a.range.is_some()).collect();
    let hits = given.iter().filter(|a| a.covered() == Some(true)).count();
    let band = clopper_pearson(hits as u64, given.len() as u64, 0.95);
    let errors: Vec<f64> = given.iter().filter_map(|a| a.error()).collect();
    let widths: Vec<f64> = given.iter().filter_map(|a| a.range.map(|r| r[2] - r[0])).collect();
    let rule: Vec<f64> = given.iter().map(|a| rule(a)).collect();
    let none: Vec<f64> = given.iter().map(|a| no_skill(a, logs)).collect();
    let q = |x: &[f64], p| quantile(x, p).unwrap_or(f64::NAN);
    let band = band.map_or(String::new(), |b| format!("{:.0} to {:.0}", 100.0 * b.low, 100.0 * b.high));
    let _ = writeln!(
        out,
        "{title:>8} | {:>5} | {:>5} | {:>4.0} % ({band}) | {:>5.1} | {:>4.1} / {:>4.1} | {:>4.1} / {:>4.1} | {:>4.1} / {:>4.1}",
        asked.len(),
        given.len(),
        100.0 * hits as f64 / given.len() as f64,
        q(&widths, 0.5),
        q(&errors, 0.5),
        q(&errors, 0.9),
        q(&rule, 0.5),
        q(&rule, 0.9),
        q(&none, 0.5),
        q(&none, 0.9),
    );
}

/// Heading of the lines.
pub const HEAD: &str = "     day | asked | dated | covered (95 %)     | width | error p50/p90 | three weeks | no skill";
