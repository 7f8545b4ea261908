//! What to do today, and why.

use super::book::{Animals, Book, Happened, Kind, Measured, Shown, Whose, hours};
use super::caution::{NewWater, new_water};
use super::change::towards;
use super::danger::{Danger, Hazard, Level, Line};
use super::doubt::number;
use super::evidence::{Evidence, looks_none, shows_some};
use super::rules::*;
use super::stage::{Stage, StageShown};
use super::statement::Statement;
use crate::water::{after_change, significant};
use jiff::Timestamp;

pub(super) fn today(
    book: &Book,
    evidence: &Evidence<'_>,
    stage: &StageShown,
    danger: &Danger,
    now: Timestamp,
) -> Vec<Statement> {
    let mut out = Vec::new();
    for line in &danger.lines {
        match line.hazard {
            Hazard::FreeAmmonia => out.extend(ammonia(book, evidence, line)),
            Hazard::Nitrite => out.extend(nitrite(book, evidence, line)),
            Hazard::Nitrate => out.extend(nitrate(book, evidence, line)),
            _ => {}
        }
    }
    if danger.untested || danger.unknown_since.is_some() {
        out.push(Statement::new(Rule::OldReading, "Test ammonia and nitrite: what they are now is not known."));
    }
    out.extend(dilute(evidence));
    out.extend(ammonia_dose(book, evidence, stage, now));
    if out.is_empty() {
        let words = "Nothing beyond the usual care: the routine water change, and the next test in its time.";
        out.push(Statement::new(Rule::RetestRule, words));
    }
    out
}

/// What the tap holds of it: none where the tap's test shows none or was never made; the second says whether it was tested.
fn tap(book: &Book, kind: Kind) -> (f64, bool) {
    match book.tap(kind) {
        Some(r) if looks_none(r) => (0.0, true),
        Some(r) => (r.span.middle(), true),
        None => (0.0, false),
    }
}

const MATCHED: &str = "Treat the new water with conditioner, within 2 °C of the tank and of about the same pH.";

fn ammonia(book: &Book, evidence: &Evidence<'_>, line: &Line) -> Option<Statement> {
    let r = evidence.of_kind(Kind::Ammonia).next_back()?;
    let free = line.span?;
    let say = |words: String| Some(Statement::new(Rule::ChangeRule, words).on(r));
    match line.act_as() {
        Level::None => None,
        Level::Caution => say(
            "Ammonia: test again with a fresh vial and a longer look, feed little, check that the filter runs; a change of a tenth \
             to a quarter of the water does no harm where its pH is not higher."
                .to_string(),
        ),
        worse if new_water(book, r) == NewWater::Raises => say(format!(
            "Ammonia ({}): the tap's pH is so much higher that a large change would raise free ammonia. Change a tenth of the water \
             at a time, hours apart, with a conditioner that binds ammonia, as its label says; feed nothing, keep the surface \
             moving. {MATCHED}",
            worse.as_str()
        )),
        worse if new_water(book, r) == NewWater::Unknown => say(format!(
            "Ammonia ({}): measure the pH of tank and tap first, before a large change: in an acid tank, new water of higher pH \
             makes ammonia worse. Where they cannot be measured now, change a quarter of the water at most, and again after some \
             hours; feed nothing, keep the surface moving. {MATCHED}",
            worse.as_str()
        )),
        _ if r.span.is_open() => say(format!("Ammonia is above its scale: change half of the water now. {MATCHED}")),
        worse => {
            let share = free.middle() / r.span.middle().max(1e-9);
            let (new, known) = tap(book, Kind::Ammonia);
            let target = FREE_AMMONIA[0] / share;
            let steps = match towards(r.span.middle(), new, target) {
                Ok(steps) => steps,
                Err(e) => return say(format!("Ammonia: {e}. {} Feed nothing, give air, ask for other source water.", e.remedy())),
            };
            let first = steps.first().copied().unwrap_or(0.5);
            let left = after_change(r.span.middle(), new, first).ok()? * share;
            let unknown = if known { "" } else { " The tap's own ammonia is not logged; taken as none." };
            let may = if line.level < Level::Danger { " It may be as bad as that, so act as if it were, and test now." } else { "" };
            say(format!(
                "Ammonia ({}): change {:.0} % of the water now, which leaves {} mg/L free NH3-N at the same pH; {} in all to come \
                 below {}. Feed nothing, keep the surface moving. {MATCHED}{unknown}{may}",
                worse.as_str(),
                first * 100.0,
                significant(left, 2),
                times(steps.len()),
                FREE_AMMONIA[0]
            ))
        }
    }
}

fn times(n: usize) -> String {
    match n {
        0 | 1 => "one change".to_string(),
        n => format!("{n} changes"),
    }
}

fn nitrite(book: &Book, evidence: &Evidence<'_>, line: &Line) -> Option<Statement> {
    let r = evidence.of_kind(Kind::Nitrite).next_back()?;
    let target = if book.facts.water == super::book::Water::Marine { NITRITE_MARINE[0] } else { NITRITE_FRESH[0] };
    let say = |words: String| Some(Statement::new(Rule::ChangeRule, words).on(r));
    match line.act_as() {
        Level::None => None,
        Level::Caution => say("Nitrite: test again tomorrow, feed little, change a quarter of the water.".to_string()),
        _ => {
            let ammonium = evidence.of_kind(Kind::Ammonia).next_back().filter(|a| !looks_none(a));
            if ammonium.is_some_and(|a| new_water(book, a) == NewWater::Raises) {
                return say(format!(
                    "Nitrite ({}): change a tenth of the water at a time, hours apart, for ammonia shows too and the tap's pH is \
                     higher; feed nothing, give air. {MATCHED}",
                    line.act_as().as_str()
                ));
            }
            let (new, _) = tap(book, Kind::Nitrite);
            let steps = towards(r.span.middle().max(r.span.low), new, target);
            let n = steps.as_ref().map_or(1, Vec::len);
            let first = steps.ok().and_then(|s| s.first().copied()).unwrap_or(0.5);
            say(format!(
                "Nitrite ({}): change {:.0} % of the water now, {} in all to come below {target} mg/L; feed nothing, give air. {MATCHED}",
                line.act_as().as_str(),
                first * 100.0,
                times(n)
            ))
        }
    }
}

fn nitrate(book: &Book, evidence: &Evidence<'_>, line: &Line) -> Option<Statement> {
    if line.level == Level::None {
        return None;
    }
    let r = evidence.of_kind(Kind::Nitrate).next_back()?;
    let target =
        if book.facts.water == super::book::Water::Marine { NITRATE_MARINE[0] } else { NITRATE_FRESH[1] * 0.75 };
    Some(nitrate_towards(r, book, target))
}

/// Nitrate to a target, or why no change reaches it.
fn nitrate_towards(r: &Measured, book: &Book, target: f64) -> Statement {
    let (new, known) = tap(book, Kind::Nitrate);
    let words = match towards(r.span.middle(), new, target) {
        Ok(steps) => {
            let shares: Vec<String> = steps.iter().map(|s| format!("{:.0} %", s * 100.0)).collect();
            let unknown = if known { "" } else { " The tap's own nitrate is not logged: test it." };
            format!(
                "Nitrate: to come to {} mg/L change {}, on different days.{unknown}",
                number(target),
                shares.join(", then ")
            )
        }
        Err(_) => format!(
            "Nitrate: no water change can reach {} mg/L, the tap itself has {}; the best is that, half of the water now makes {}. \
             Other source water, plants and less food help.",
            number(target),
            number(new),
            number(after_change(r.span.middle(), new, 0.5).unwrap_or(new))
        ),
    };
    Statement::new(Rule::ChangeRule, words).on(r).on_all(book.tap(Kind::Nitrate).filter(|t| t.whose == Whose::Tap))
}

/// A result above the scale that nothing newer replaces: how to dilute.
fn dilute(evidence: &Evidence<'_>) -> Vec<Statement> {
    let mut out = Vec::new();
    for kind in [Kind::Ammonia, Kind::Nitrite, Kind::Nitrate] {
        let mut back = evidence.of_kind(kind).rev();
        let Some(r) = back.next().filter(|r| r.shown == Shown::Above) else { continue };
        let twice = if back.next().is_some_and(|b| b.shown == Shown::Above) {
            " Two results above the scale show no trend."
        } else {
            ""
        };
        let words = format!(
            "{} is above its scale ({}): mix 1 part of tank water with 4 parts of de-ionised water (1+4), test that, and log it as \
             diluted 1+4; it counts times 5.{twice}",
            super::doubt::word(kind),
            r.words
        );
        out.push(Statement::new(Rule::AboveScale, words).on(r));
    }
    out
}

/// To dose ammonia or not, and why.
fn ammonia_dose(book: &Book, evidence: &Evidence<'_>, stage: &StageShown, now: Timestamp) -> Option<Statement> {
    let last = |kind| evidence.of_kind(kind).next_back();
    let (ammonia, nitrite) = (last(Kind::Ammonia), last(Kind::Nitrite));
    let say = |words: String| Some(Statement::new(Rule::DoseRule, words).on_all(ammonia).on_all(nitrite));
    match book.animals(now) {
        Animals::None => {}
        _ if stage.stage == Stage::Cycled => return None,
        Animals::Present => return say("Dose no ammonia: animals are in the tank.".to_string()),
        Animals::Unknown => {
            let doing = book.events.iter().any(|e| matches!(e.what, Happened::Dosed(_)));
            let words = "Dose no ammonia: nobody said that no animals are in the tank, so they count as present.";
            return if doing || stage.stage < Stage::ProofOnce { say(words.to_string()) } else { None };
        }
    }
    let fresh = book.events.iter().rfind(|e| matches!(e.what, Happened::Dosed(_)) && hours(e.at, now) < PROOF_HOURS.0);
    if let Some(e) = fresh {
        let words = "Dose nothing today: the last dose is less than 20 hours old. Test ammonia an hour after a dose, to see that it \
                     arrived.";
        return Some(Statement::new(Rule::DoseRule, words).on(e));
    }
    let (Some(a), Some(n)) = (ammonia, nitrite) else {
        return say("Test ammonia and nitrite before dosing.".to_string());
    };
    if n.shown == Shown::Above || n.span.high > MOST_NITRITE {
        return say(format!("Dose no ammonia until nitrite is known to be below {MOST_NITRITE} mg/L."));
    }
    if shows_some(a) || a.span.middle() >= FIRST_STANDARD.0 {
        let over = if a.span.middle() > MOST_AMMONIA {
            " It is above 5 mg/L N, which slows the filter: change half of the water."
        } else {
            ""
        };
        return say(format!("Do not add ammonia: the last dose still shows. Wait.{over}"));
    }
    let dose = format!("{START_DOSE} mg/L N");
    match stage.stage {
        Stage::NotStarted | Stage::AmmoniaWaiting => {
            say(format!("Dose ammonia to {dose}, at most {MOST_AMMONIA}; test an hour later that it arrived."))
        }
        Stage::ProofOnce => {
            say(format!("Dose {dose} again and test in 24 hours; then a large water change before animals come."))
        }
        Stage::Cycled => {
            let words = format!(
                "Until animals come, dose 1 to {dose} every two to three days. Before they come: change water until nitrate is \
                 below 20 to 40 mg/L or at the tap's level, match temperature and pH, test again, begin with few and feed little."
            );
            Some(Statement::new(Rule::KeepAlive, words).on(a).on(n))
        }
        Stage::CannotTell => None,
        _ => say(format!(
            "Dose ammonia to {dose}: ammonia shows none, and nitrite is below {MOST_NITRITE} mg/L. Test in 24 hours."
        )),
    }
}
