//! Where numbers and times stand along an axis, and what is written there.

use crate::advice::{Bad, Shown, Trend};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

/// The scale of a trend.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scale {
    pub low: f64,
    pub high: f64,
    pub ticks: Vec<f64>,
    places: usize,
}

/// A limit so many times higher than all results would press them to the floor.
const FAR: f64 = 10.0;
/// Upper bounds reach past the picture where they lie so many times higher than all that is known.
const WIDE: f64 = 2.5;

impl Scale {
    /// From what a trend holds, with its mildest limit where that is not too far away.
    pub fn of(trend: &Trend) -> Self {
        if trend.from_zero { from_zero(trend) } else { bounded(trend) }
    }

    fn new(low: f64, high: f64, from_zero: bool) -> Self {
        let step = step((high - low) / 3.2);
        let low = if from_zero { 0.0 } else { (low / step + 1e-9).floor() * step };
        let count = ((high - low) / step - 1e-9).ceil().max(1.0);
        let places = (-step.log10().floor()).max(0.0) as usize;
        // A step of 2.5 needs a decimal more.
        let places = if (step * 10f64.powi(places as i32)).fract().abs() > 1e-6 { places + 1 } else { places };
        let ticks = (0..=count as usize).map(|i| low + i as f64 * step).collect();
        Self { low, high: low + count * step, ticks, places }
    }

    /// Where a value lies, 0 at the foot and 1 at the top; not clipped.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }

    /// A tick in words, all of a scale with as many decimals.
    pub fn label(&self, tick: f64) -> String {
        format!("{tick:.0$}", self.places)
    }
}

fn from_zero(trend: &Trend) -> Scale {
    let known = trend.points.iter().map(|p| match (p.shown, p.span.best) {
        (Shown::Above, _) => 1.3 * p.span.low,
        (_, Some(best)) => best,
        // Of a range nothing is known but its ends, and the upper one warns.
        (_, None) if p.span.high.is_finite() => p.span.high,
        (_, None) => p.span.low,
    });
    let known = known.filter(|v| v.is_finite()).fold(0.0, f64::max);
    let most = if known > 0.0 { WIDE * known } else { f64::MAX };
    let highs = trend.points.iter().map(|p| p.span.high).filter(|h| *h <= most);
    let top = 1.05 * highs.fold(known, f64::max);
    let limits = trend.guides.iter().filter(|g| g.bad == Bad::Above || g.value <= top).map(|g| 1.15 * g.value);
    let mildest = limits.fold(f64::MAX, f64::min);
    let high = if top <= 0.0 || mildest <= FAR * top { top.max(mildest.min(f64::MAX / 2.0)) } else { top };
    Scale::new(0.0, if high > 0.0 && high < f64::MAX / 4.0 { high } else { 1.0 }, true)
}

/// Of pH and temperature: what was seen, at least so wide, with the limits that are near.
fn bounded(trend: &Trend) -> Scale {
    const LEAST: f64 = 1.0;
    let ends = trend.points.iter().flat_map(|p| [Some(p.span.low), p.span.best, Some(p.span.high)]).flatten();
    let (mut low, mut high) =
        ends.filter(|v| v.is_finite()).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
    if low > high {
        (low, high) = (0.0, 1.0);
    }
    // Beyond the end of a scale there must be room for the open bar.
    let open = |s: Shown| trend.points.iter().any(|p| p.shown == s);
    if open(Shown::Above) {
        high += 0.3;
    }
    if open(Shown::Below) {
        low -= 0.3;
    }
    let width = (high - low).max(LEAST);
    let middle = f64::midpoint(low, high);
    (low, high) = (middle - 0.55 * width, middle + 0.55 * width);
    for g in &trend.guides {
        if (low - 0.6 * width..=high + 0.6 * width).contains(&g.value) {
            (low, high) = (low.min(g.value), high.max(g.value));
        }
    }
    Scale::new(low, high, false)
}

/// The round number nearest above: 1, 2, 2.5 or 5 times a power of ten.
fn step(rough: f64) -> f64 {
    let power = 10f64.powf(rough.log10().floor());
    let round = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().find(|m| m * power >= rough * (1.0 - 1e-9));
    round.unwrap_or(10.0) * power
}

/// A day at the tank: `3 Mar 2026`.
pub(super) fn day(zone: &TimeZone, at: Timestamp) -> String {
    zone.to_datetime(at).strftime("%-d %b %Y").to_string()
}

/// How far marks on the time axis are apart.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Pace {
    Hours(i8),
    Days(i64),
    Months(i16),
}

/// Finest first, with its length in days.
const PACES: [(Pace, f64); 13] = [
    (Pace::Hours(3), 0.125),
    (Pace::Hours(6), 0.25),
    (Pace::Hours(12), 0.5),
    (Pace::Days(1), 1.0),
    (Pace::Days(2), 2.0),
    (Pace::Days(7), 7.0),
    (Pace::Days(14), 14.0),
    (Pace::Months(1), 30.4),
    (Pace::Months(2), 60.9),
    (Pace::Months(3), 91.3),
    (Pace::Months(6), 182.6),
    (Pace::Months(12), 365.2),
    (Pace::Months(60), 1826.0),
];

/// Marks on the time axis, at most about `most`: round times at the tank with their words.
pub(super) fn times(zone: &TimeZone, (from, to): (Timestamp, Timestamp), most: f64) -> Vec<(Timestamp, String)> {
    let days = to.duration_since(from).as_secs_f64() / 86400.0;
    let pace = PACES.into_iter().find(|(_, length)| days / length <= most).map_or(Pace::Months(120), |p| p.0);
    let first = zone.to_datetime(from);
    let mut out = Vec::new();
    let mut at = start(first, pace);
    // Bounded, so that no odd zone can make it endless.
    for _ in 0..400 {
        let Ok(time) = zone.to_timestamp(at) else { break };
        if time > to {
            break;
        }
        if time >= from {
            out.push((time, words(at, pace)));
        }
        let Some(next) = after(at, pace) else { break };
        at = next;
    }
    out
}

fn start(first: DateTime, pace: Pace) -> DateTime {
    let date = first.date();
    match pace {
        Pace::Hours(_) | Pace::Days(1) => date.at(0, 0, 0, 0),
        // From a Monday, so that a week's marks stand on one weekday.
        Pace::Days(_) => {
            let back = i64::from(date.weekday().to_monday_zero_offset());
            date.checked_sub(jiff::Span::new().days(back)).unwrap_or(date).at(0, 0, 0, 0)
        }
        Pace::Months(n) => {
            let month = (i16::from(date.month()) - 1) / n.min(12) * n.min(12) + 1;
            let year = if n > 12 { date.year() / (n / 12) * (n / 12) } else { date.year() };
            Date::new(year, month as i8, 1).unwrap_or(date).at(0, 0, 0, 0)
        }
    }
}

fn after(at: DateTime, pace: Pace) -> Option<DateTime> {
    let span = match pace {
        Pace::Hours(n) => jiff::Span::new().hours(i64::from(n)),
        Pace::Days(n) => jiff::Span::new().days(n),
        Pace::Months(n) => jiff::Span::new().months(i64::from(n)),
    };
    at.checked_add(span).ok()
}

fn words(at: DateTime, pace: Pace) -> String {
    let form = match pace {
        Pace::Hours(_) if at.hour() != 0 => "%H:%M",
        Pace::Hours(_) | Pace::Days(_) => "%-d %b",
        Pace::Months(12..) => "%Y",
        Pace::Months(_) if at.month() == 1 => "%b %Y",
        Pace::Months(_) => "%b",
    };
    at.strftime(form).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_hold_the_range() {
        for (low, high, want) in [
            (0.0, 0.29, vec!["0.0", "0.1", "0.2", "0.3"]),
            (0.0, 46.0, vec!["0", "20", "40", "60"]),
            (6.4, 7.6, vec!["6.0", "6.5", "7.0", "7.5", "8.0"]),
            (0.0, 7.0, vec!["0.0", "2.5", "5.0", "7.5"]),
            (0.0, 0.036, vec!["0.00", "0.02", "0.04"]),
        ] {
            let s = Scale::new(low, high, low == 0.0);
            assert_eq!(s.ticks.iter().map(|t| s.label(*t)).collect::<Vec<_>>(), want, "{low} to {high}");
            assert!(s.low <= low && high <= s.high);
        }
    }

    #[test]
    fn times_are_round_at_the_tank() {
        let zone = TimeZone::get("Europe/Berlin").unwrap();
        let at = |t: &str| t.parse::<Timestamp>().unwrap();
        let words = |from: &str, to: &str| {
            times(&zone, (at(from), at(to)), 8.0).into_iter().map(|(t, w)| format!("{t} {w}")).collect::<Vec<_>>()
        };
        // Across the change to summer time midnight stays midnight.
        let spring = words("2026-03-27T12:00:00Z", "2026-03-31T12:00:00Z");
        let (noons, midnights): (Vec<_>, Vec<_>) = spring.iter().partition(|w| w.ends_with(" 12:00"));
        assert_eq!(
            midnights,
            [
                "2026-03-27T23:00:00Z 28 Mar",
                "2026-03-28T23:00:00Z 29 Mar",
                "2026-03-29T22:00:00Z 30 Mar",
                "2026-03-30T22:00:00Z 31 Mar"
            ]
        );
        assert!(noons.contains(&&"2026-03-28T11:00:00Z 12:00".to_string()), "{noons:?}");
        assert!(noons.contains(&&"2026-03-29T10:00:00Z 12:00".to_string()), "{noons:?}");
        let weeks = words("2026-01-01T00:00:00Z", "2026-02-10T00:00:00Z");
        assert_eq!(weeks[0], "2026-01-04T23:00:00Z 5 Jan");
        assert_eq!(weeks.len(), 6, "Mondays: {weeks:?}");
        let months = words("2025-10-20T00:00:00Z", "2026-05-10T00:00:00Z");
        assert!(months[0].ends_with(" Nov") && months[2].ends_with(" Jan 2026"), "{months:?}");
        assert_eq!(words("2026-03-01T00:00:00Z", "2026-03-01T20:00:00Z")[1], "2026-03-01T05:00:00Z 06:00");
        assert_eq!(
            words("2011-03-01T00:00:00Z", "2026-03-01T00:00:00Z"),
            ["2014-12-31T23:00:00Z 2015", "2019-12-31T23:00:00Z 2020", "2024-12-31T23:00:00Z 2025"]
        );
    }
}
