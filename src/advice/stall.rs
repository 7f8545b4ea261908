//! A cycle that stands still, and the causes to go through in order.

use super::book::{Book, Happened, Kind, Measured, Shown, hours};
use super::doubt::number;
use super::evidence::{Evidence, shows_some};
use super::rules::{MOST_AMMONIA, MOST_NITRITE, Rule, STALL_DAYS};
use super::stage::Stage;
use super::statement::Statement;
use crate::water::bicarbonate_g;
use jiff::{SignedDuration, Timestamp};

/// Nothing changes any more.
#[derive(Debug, Clone, PartialEq)]
pub struct Stall {
    /// Days over which the results agree.
    pub days: f64,
    /// What to look at, in order: first what the log shows, then what it does not know.
    pub causes: Vec<Statement>,
}

/// The stall at `now`, while a cycle is under way.
pub(super) fn stall(book: &Book, evidence: &Evidence<'_>, stage: Stage, now: Timestamp) -> Option<Stall> {
    let kind = match stage {
        Stage::AmmoniaWaiting | Stage::AmmoniaUsed => Kind::Ammonia,
        Stage::NitriteHump | Stage::NitriteClearing => Kind::Nitrite,
        _ => return None,
    };
    let of: Vec<&Measured> = evidence.of_kind(kind).collect();
    let flat = flat(&of)?;
    let (first, last) = (flat.first()?, flat.last()?);
    let days = hours(first.at, last.at) / 24.0;
    // While nitrite rises, ammonia is being used however flat it looks.
    let rises = kind == Kind::Ammonia && {
        let nitrite: Vec<&Measured> = evidence.of_kind(Kind::Nitrite).filter(|r| r.at >= first.at).collect();
        nitrite.first().zip(nitrite.last()).is_some_and(|(a, b)| b.span.low > a.span.high)
    };
    let dosed = book.between(first.at, last.at).any(|e| matches!(e.what, Happened::Dosed(_)) && e.at > first.at);
    let old = hours(last.at, now) > 7.0 * 24.0;
    if days < STALL_DAYS || !shows_some(last) || rises || (dosed && kind == Kind::Ammonia) || old {
        return None;
    }
    let mut causes = vec![said(kind, days).on(*first).on(*last)];
    causes.extend(self::causes(book, evidence, now));
    Some(Stall { days, causes })
}

fn said(kind: Kind, days: f64) -> Statement {
    let usual = match kind {
        Kind::Nitrite => " One to two weeks of high nitrite are usual; longer is worth a look.",
        _ => " A new filter without media from another tank may take that long, longer in cool water.",
    };
    let words = format!("No change of {} in {days:.0} days.{usual} Look at these in order.", kind.as_str());
    Statement::new(Rule::StallRule, words)
}

/// The longest run at the end over which all bounds overlap; one odd reading among five is passed over. Results above the
/// scale belong to no run.
fn flat<'b>(of: &[&'b Measured]) -> Option<Vec<&'b Measured>> {
    let (mut low, mut high) = (0.0, f64::INFINITY);
    let (mut run, mut odd) = (Vec::new(), 0);
    for r in of.iter().rev() {
        if r.shown == Shown::Above {
            break;
        }
        let (l, h) = (r.span.low.max(low), r.span.high.min(high));
        if l <= h {
            (low, high) = (l, h);
            run.push(*r);
        } else {
            odd += 1;
            if odd * 5 > run.len() {
                break;
            }
        }
    }
    run.reverse();
    (run.len() >= 3).then_some(run)
}

fn causes(book: &Book, evidence: &Evidence<'_>, now: Timestamp) -> Vec<Statement> {
    let last = |kind| evidence.of_kind(kind).next_back();
    let mut out = Vec::new();
    let mut ask = Vec::new();
    let say = |words: String, r: &Measured| Statement::new(Rule::StallRule, words).on(r);
    match (last(Kind::Ph), last(Kind::Alkalinity)) {
        (ph, kh) if ph.is_some_and(|r| r.span.middle() < 6.5) || kh.is_some_and(|r| r.span.middle() < 2.0) => {
            let per = bicarbonate_g(1.0, 100.0).unwrap_or(3.0);
            let fix = if book.animals(now) == super::book::Animals::None {
                format!(
                    "raise alkalinity with {} g sodium hydrogen carbonate per 100 L and degree, or change water.",
                    number(per)
                )
            } else {
                "with animals in the tank do not raise pH or alkalinity while ammonia shows; change water in small steps."
                    .to_string()
            };
            let r = kh.filter(|r| r.span.middle() < 2.0).or(ph);
            out.extend(r.map(|r| say(format!("pH or alkalinity is low ({}): {fix}", r.words), r)));
        }
        (None, _) => ask.push("pH"),
        (_, None) => ask.push("alkalinity"),
        _ => {}
    }
    match last(Kind::Temperature) {
        Some(t) if t.span.middle() < 18.0 => {
            out.push(say(format!("The water is cool ({}): nitrifiers grow slowly below 18 °C.", t.words), t));
        }
        None if book.facts.temperature.is_none() => ask.push("temperature"),
        _ => {}
    }
    for (kind, most) in [(Kind::Ammonia, MOST_AMMONIA), (Kind::Nitrite, MOST_NITRITE)] {
        if let Some(r) = last(kind).filter(|r| r.span.middle() > most) {
            out.push(say(format!("So much {} slows the filter: change half of the water.", kind.as_str()), r));
        }
    }
    if !ask.is_empty() {
        out.push(Statement::new(Rule::StallRule, format!("Not measured: {}. Test first.", ask.join(", "))));
    }
    let recent = |hit: fn(&Happened) -> bool| {
        book.between(now - SignedDuration::from_hours(30 * 24), now).rfind(move |e| hit(&e.what))
    };
    if let Some(e) = recent(|w| matches!(w, Happened::Changed(_) | Happened::ToppedUp)) {
        let words = "New water with chlorine or chloramine kills nitrifiers: was it treated?";
        out.push(Statement::new(Rule::StallRule, words).on(e));
    }
    if let Some(e) = recent(|w| matches!(w, Happened::Medicine)) {
        out.push(Statement::new(Rule::StallRule, "Some medicines harm the filter.").on(e));
    }
    out.extend(evidence.statements.iter().filter(|s| s.rule != Rule::OutOfTime).cloned());
    if !book.events.iter().any(|e| matches!(e.what, Happened::Dosed(_) | Happened::Fed(_))) {
        out.push(Statement::new(Rule::StallRule, "No dose of ammonia is logged at all."));
    }
    out.push(Statement::new(
        Rule::StallRule,
        "Check the test itself: expired reagent, a skipped bottle, the waiting time.",
    ));
    out
}
