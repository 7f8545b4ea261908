//! A known standard read again from time to time: is the test still under control?
//!
//! Shewhart's chart for single values with the middle given, after ISO 7870-2:2013 (from memory: limits at two and three standard
//! deviations; runs and trends of seven). What is charted is the difference of the reading to the standard's own value, in
//! standards of the kit, so that checks at several concentrations stand on one chart. A photo cannot see that a reagent is dead, a
//! standard that is known to hold some does.

use jiff::ToSpan;
use jiff::civil::Date;

/// One check: a standard read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Checked {
    /// Read minus said, in standards of the kit.
    pub steps: f64,
    /// Standard deviation that the calibration gives such a reading, in standards.
    pub sd: f64,
    /// Whether its colour was not on the test's scale at all.
    pub off: bool,
}

/// What speaks against chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Beyond the action limit, three standard deviations; or not on the scale.
    Action,
    /// Two of three in a row beyond the same warning limit.
    Warnings,
    /// Seven in a row on one side.
    Run,
    /// Seven in a row rising, or falling.
    Trend,
}

impl Rule {
    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Action => "action-limit",
            Self::Warnings => "two-warnings",
            Self::Run => "run",
            Self::Trend => "trend",
        }
    }

    /// In words.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Action => "it lies beyond the action limit",
            Self::Warnings => "two of three in a row lie beyond the same warning limit",
            Self::Run => "seven in a row lie on one side",
            Self::Trend => "seven in a row go one way",
        }
    }
}

/// One check on its chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    pub checked: Checked,
    /// Standard deviation its limits are multiples of, in standards.
    pub sigma: f64,
    /// Whether it lies beyond a warning limit.
    pub warning: bool,
    /// What it, with those before it, breaks.
    pub broken: Vec<Rule>,
}

impl Point {
    /// In standard deviations.
    pub fn z(&self) -> f64 {
        self.checked.steps / self.sigma
    }
}

/// Two standard deviations: warned. Three: acted upon.
pub const WARNING: f64 = 2.0;
pub const ACTION: f64 = 3.0;
/// So many in a row on one side, or going one way.
const RUN: usize = 7;
/// From so many checks on that broke no rule their own spread takes the place of the calibration's (common practice: 20 to 25).
const ENOUGH: usize = 20;
/// Mean range of two normal values in standard deviations (d₂ for n = 2, tables of control charts, ISO 7870-2; 2/√π).
const D2: f64 = std::f64::consts::FRAC_2_SQRT_PI;
/// A reading's own deviation is not believed to be smaller than this, in standards.
const LEAST: f64 = 0.02;

/// The chart of checks in the order in which they were made.
pub fn chart(checks: &[Checked]) -> Vec<Point> {
    let mut out: Vec<Point> = Vec::new();
    for checked in checks {
        let sigma = learnt(&out).unwrap_or(checked.sd).max(LEAST);
        out.push(Point { checked: *checked, sigma, warning: false, broken: Vec::new() });
        let broken = broken(&out);
        if let Some(last) = out.last_mut() {
            last.warning = checked.off || last.z().abs() > WARNING;
            last.broken = broken;
        }
    }
    out
}

/// Whether a test is under control after its last check; one that was never checked is.
pub fn under_control(chart: &[Point]) -> bool {
    chart.last().is_none_or(|p| p.broken.is_empty())
}

/// Standard deviation from the moving range of the checks that broke no rule, where there are enough.
fn learnt(before: &[Point]) -> Option<f64> {
    let good: Vec<f64> = before.iter().filter(|p| p.broken.is_empty()).map(|p| p.checked.steps).collect();
    if good.len() < ENOUGH {
        return None;
    }
    let ranges = good.windows(2).map(|w| (w[1] - w[0]).abs());
    Some(ranges.sum::<f64>() / (good.len() - 1) as f64 / D2)
}

/// What the last point breaks.
fn broken(points: &[Point]) -> Vec<Rule> {
    let mut out = Vec::new();
    let Some(last) = points.last() else { return out };
    if last.checked.off || last.z().abs() > ACTION {
        out.push(Rule::Action);
    }
    let recent = |n: usize| points.len().checked_sub(n).map(|from| &points[from..]);
    let beyond = |p: &Point, side: f64| p.z() * side > WARNING;
    let side = last.z().signum();
    let warned = points.iter().rev().take(3).filter(|p| beyond(p, side)).count();
    if beyond(last, side) && warned >= 2 {
        out.push(Rule::Warnings);
    }
    if recent(RUN).is_some_and(|r| r.iter().all(|p| p.z() * side > 0.0)) {
        out.push(Rule::Run);
    }
    let goes = |r: &[Point]| {
        let mut ways = r.windows(2).map(|w| w[1].checked.steps - w[0].checked.steps);
        ways.clone().all(|d| d > 0.0) || ways.all(|d| d < 0.0)
    };
    if recent(RUN).is_some_and(goes) {
        out.push(Rule::Trend);
    }
    out
}

/// When a test's standard is to be read again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    /// The day; in the past where it is overdue.
    pub on: Date,
    pub why: Why,
}

/// Why it is due then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The last check was off.
    Off,
    /// A bottle was opened after the last check.
    Bottle,
    /// A month after the last check, or after the calibration where there was none (common practice).
    Month,
}

impl Why {
    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Bottle => "new-bottle",
            Self::Month => "month",
        }
    }

    /// In a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::Off => "The last control check was off: check again, or calibrate anew.",
            Self::Bottle => "A bottle was opened after the last known standard.",
            Self::Month => "No known standard for a month, or ever: a dead reagent shows a perfect zero.",
        }
    }
}

/// When the next check is due. `last` is the last check and whether the test was under control by it; `calibrated` the day of the
/// newest standard and `opened` of the bottle in use, as far as they are known; with neither it is due today.
pub fn due(last: Option<(Date, bool)>, calibrated: Option<Date>, opened: Option<Date>, today: Date) -> Due {
    let month = |d: Date| Due { on: d.checked_add(1.month()).unwrap_or(d), why: Why::Month };
    let since = |known: Date| opened.filter(|o| *o > known && *o <= today);
    match last {
        Some((day, false)) => Due { on: day, why: Why::Off },
        Some((day, true)) => since(day).map_or(month(day), |on| Due { on, why: Why::Bottle }),
        None => match (calibrated, opened) {
            (Some(day), _) => since(day).map_or(month(day), |on| Due { on, why: Why::Bottle }),
            (None, Some(day)) => month(day),
            (None, None) => Due { on: today, why: Why::Month },
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn charted(steps: &[f64]) -> Vec<Point> {
        chart(&steps.iter().map(|s| Checked { steps: *s, sd: 0.1, off: false }).collect::<Vec<_>>())
    }

    fn last(steps: &[f64]) -> Vec<Rule> {
        charted(steps).last().unwrap().broken.clone()
    }

    #[test]
    fn limits_lie_at_two_and_three_deviations() {
        let points = charted(&[0.0, 0.19, 0.21, 0.0, -0.29, 0.0, 0.0, -0.31]);
        assert_eq!(
            points.iter().map(|p| p.warning).collect::<Vec<_>>(),
            [false, false, true, false, true, false, false, true]
        );
        assert!(points[..7].iter().all(|p| p.broken.is_empty()), "one warning alone is none: {points:?}");
        assert_eq!(points[7].broken, [Rule::Action]);
        assert!(!under_control(&points) && under_control(&points[..7]) && under_control(&[]));
        let off = chart(&[Checked { steps: 0.0, sd: 0.1, off: true }]);
        assert_eq!(off[0].broken, [Rule::Action]);
    }

    #[test]
    fn runs_are_seen_at_their_last_point() {
        assert_eq!(last(&[0.25, 0.0, 0.22]), [Rule::Warnings]);
        assert_eq!(last(&[0.25, 0.0, -0.22]), []);
        assert_eq!(last(&[0.25, 0.22, 0.0]), [], "back within the limits");
        assert_eq!(last(&[0.1, 0.02, 0.1, 0.05, 0.1, 0.01, 0.1]), [Rule::Run]);
        assert_eq!(last(&[0.1, 0.02, 0.1, 0.05, 0.1, 0.01]), []);
        assert_eq!(last(&[-0.15, -0.1, -0.05, 0.0, 0.05, 0.1, 0.15]), [Rule::Trend]);
        assert_eq!(last(&[-0.15, -0.1, -0.05, 0.0, 0.05, 0.05, 0.15]), []);
    }

    #[test]
    fn twenty_good_checks_set_their_own_limits() {
        let alternating: Vec<f64> = (0..20).map(|i| if i % 2 == 0 { 0.02 } else { -0.02 }).collect();
        let points = charted(&[&alternating[..], &[0.09, -0.12]].concat());
        assert_eq!(points[19].sigma, 0.1);
        // Each moving range is 0.04; 0.04 / d₂.
        assert!((points[20].sigma - 0.035_449).abs() < 1e-6, "{}", points[20].sigma);
        assert!(points[20].warning && points[20].broken.is_empty());
        assert_eq!(points[21].broken, [Rule::Action]);
    }

    #[test]
    fn a_check_is_due_a_month_on_or_at_once() {
        let (day, today) = (date(2026, 1, 31), date(2026, 2, 10));
        let month = Due { on: date(2026, 2, 28), why: Why::Month };
        assert_eq!(due(Some((day, true)), None, None, today), month);
        assert_eq!(due(None, Some(day), None, today), month);
        assert_eq!(due(None, None, Some(day), today), month);
        assert_eq!(due(Some((day, false)), None, None, today), Due { on: day, why: Why::Off });
        let opened = Some(date(2026, 2, 3));
        assert_eq!(due(Some((day, true)), None, opened, today), Due { on: date(2026, 2, 3), why: Why::Bottle });
        assert_eq!(due(Some((today, true)), None, opened, today).why, Why::Month);
        assert_eq!(due(None, None, None, today), Due { on: today, why: Why::Month });
    }
}
