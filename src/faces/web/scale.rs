//! A rule with a value on it: the kit's standards as ticks, as far apart as they are in steps; the 95 % interval as a bar, the value
//! as a line across it; 'not detected' as an open bar up to the limit; beyond an end as an arrow. Black on white says all of it.

use crate::faces::markup::escape;
use crate::water::{Amount, significant};
use std::fmt::Write;

const WIDTH: f64 = 320.0;
const HEIGHT: f64 = 62.0;
/// The rule's line, the bar's middle.
const LINE: f64 = 36.0;
const BAR: f64 = 20.0;
/// Half the height of a bar.
const HALF: f64 = 7.0;
/// Width of a figure of 11 pixels, at most.
const FIGURE: f64 = 6.6;

/// Where amounts stand.
struct Rule<'s> {
    standards: &'s [f64],
    step: f64,
    left: f64,
}

impl Rule<'_> {
    /// The place of an amount; past the ends at most half a step beyond.
    fn x(&self, v: f64) -> f64 {
        let s = self.standards;
        let i = s.partition_point(|x| *x <= v).clamp(1, s.len() - 1);
        let (low, high) = (s[i - 1], s[i]);
        let steps = (i - 1) as f64 + (v - low) / (high - low);
        self.left + self.step * steps.clamp(-0.5, s.len() as f64 - 0.5)
    }

    fn end(&self) -> f64 {
        self.left + self.step * (self.standards.len() as f64 - 0.5)
    }
}

/// Draws it; none for a scale of fewer than two standards. `standards` are in the amount's unit, ascending, each once.
pub(super) fn drawn(amount: &Amount, standards: &[f64]) -> Option<String> {
    if standards.len() < 2 {
        return None;
    }
    // Half a step free before the first standard where less than it can be said, else a figure's room.
    let n = standards.len() as f64;
    let before = if standards[0] > 0.0 { 0.55 } else { 0.0 };
    let room = 12.0;
    let step = (WIDTH - 2.0 * room) / (n - 0.5 + before);
    let rule = Rule { standards, step, left: room + step * before };
    let mut svg = format!(
        "<svg class=\"scale\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{}\" fill=\"none\" \
         stroke=\"currentColor\" stroke-width=\"1\" font-size=\"11\" text-anchor=\"middle\">",
        escape(&words(amount, standards))
    );
    let start = rule.left - step * before;
    let _ = write!(svg, "<path d=\"M{start:.1} {LINE}H{:.1}\"/>", rule.end());
    ticks(&mut svg, &rule);
    match amount {
        Amount::Measured { value, interval95: i } => {
            let (low, high, at) = (rule.x(i.lower()), rule.x(i.upper()), rule.x(value.value));
            bar(&mut svg, low, high.max(low + 2.0), "");
            let _ = write!(svg, "<path stroke-width=\"4\" d=\"M{at:.1} {:.1}V{LINE}\"/>", BAR - HALF - 4.0);
        }
        Amount::NotDetected { below } => {
            let limit = rule.x(below.value);
            bar(&mut svg, rule.left, limit, " stroke-dasharray=\"3 2\"");
            let _ = write!(svg, "<path stroke-width=\"2\" d=\"M{limit:.1} {:.1}V{LINE}\"/>", BAR - HALF - 4.0);
        }
        Amount::Above { limit } => arrow(&mut svg, rule.x(limit.value).min(rule.end() - 10.0), rule.end()),
        Amount::Below { limit } => arrow(&mut svg, rule.x(limit.value).max(start + 10.0), start),
    }
    svg.push_str("</svg>");
    Some(svg)
}

/// Ticks at the standards, and as many of their figures as there is room for.
fn ticks(svg: &mut String, rule: &Rule<'_>) {
    let mut free = f64::NEG_INFINITY;
    for v in rule.standards {
        let x = rule.x(*v);
        let _ = write!(svg, "<path d=\"M{x:.1} {LINE}v6\"/>");
        let text = significant(*v, 3);
        let half = text.chars().count() as f64 * FIGURE / 2.0;
        if x - half >= free {
            let _ = write!(svg, "<text x=\"{x:.1}\" y=\"56\" stroke=\"none\" fill=\"currentColor\">{text}</text>");
            free = x + half + FIGURE / 2.0;
        }
    }
}

fn bar(svg: &mut String, from: f64, to: f64, more: &str) {
    let _ = write!(
        svg,
        "<rect x=\"{from:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"currentColor\" fill-opacity=\"0.14\" \
         stroke-width=\"1.5\"{more}/>",
        BAR - HALF,
        (to - from).max(0.0),
        2.0 * HALF
    );
}

fn arrow(svg: &mut String, from: f64, to: f64) {
    let back = if to > from { -6.0 } else { 6.0 };
    let _ = write!(
        svg,
        "<path stroke-width=\"2\" d=\"M{from:.1} {:.1}V{LINE}M{from:.1} {BAR}H{to:.1}l{back} -5m{} 5l{back} 5\"/>",
        BAR - HALF - 4.0,
        -back
    );
}

/// For those who do not see it.
fn words(amount: &Amount, standards: &[f64]) -> String {
    let all: Vec<String> = standards.iter().map(|v| significant(*v, 3)).collect();
    format!("{amount}, on a scale with standards at {}", all.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::{Interval, Quantity, Species, Unit};

    fn q(v: f64) -> Quantity {
        Quantity::new(v, Unit::mg_l(Species::AmmoniaN))
    }

    #[test]
    fn amounts_stand_between_their_standards() {
        let standards = [0.0, 0.2, 0.6, 1.2, 2.5, 5.0];
        let rule = Rule { standards: &standards, step: 50.0, left: 10.0 };
        for (v, x) in [(0.0, 10.0), (0.1, 35.0), (0.2, 60.0), (0.4, 85.0), (5.0, 260.0), (6.0, 280.0), (99.0, 285.0)] {
            assert!((rule.x(v) - x).abs() < 1e-9, "{v} stands at {}, not {x}", rule.x(v));
        }
    }

    #[test]
    fn every_kind_of_amount_is_drawn_within_the_picture() {
        let standards = [0.0, 0.2, 0.6, 1.2, 2.5, 5.0];
        let measured = Amount::measured(q(0.24), Interval::new(0.16, 0.31).unwrap()).unwrap();
        // Half a step is left beyond the last: 296 pixels for 5.5 steps.
        let svg = drawn(&measured, &standards).unwrap();
        let x = |v: f64| 12.0 + 296.0 / 5.5 * v;
        assert!(svg.contains(&format!("<rect x=\"{:.1}\"", x(0.8))), "0.16 is 0.8 of the first step: {svg}");
        assert!(svg.contains(&format!("M{:.1} 9.0V36", x(1.1))), "0.24 is a tenth into the second: {svg}");
        assert!(svg.contains("0.24 mg/L NH3-N (0.16 to 0.31), on a scale with standards at 0, 0.2, 0.6, 1.2, 2.5, 5"));
        let none = drawn(&Amount::not_detected(q(0.1)).unwrap(), &standards).unwrap();
        assert!(
            none.contains("<rect x=\"12.0\"") && none.contains(&format!("width=\"{:.1}\"", x(0.5) - 12.0)),
            "{none}"
        );
        for (amount, d) in [(Amount::above(q(5.0)).unwrap(), "H308.0l-6"), (Amount::below(q(0.2)).unwrap(), "H12.0l6")]
        {
            let svg = drawn(&amount, &standards).unwrap();
            assert!(svg.contains(d), "{svg}");
        }
        assert_eq!(drawn(&measured, &[0.0]), None);
    }
}
