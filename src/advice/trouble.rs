//! A fish in trouble: what to do before any test. Works with an empty log.

use super::book::{Book, Happened, hours};
use super::rules::Rule;
use super::statement::{Statement, age};
use jiff::Timestamp;

/// Days for which a symptom is shown as going on, unless it was logged as over.
const GOES_ON: f64 = 3.0;

/// First help, where a symptom was logged and is not over. Clean readings never end it.
pub(super) fn trouble(book: &Book, now: Timestamp) -> Vec<Statement> {
    let last = book.events.iter().rfind(|e| matches!(e.what, Happened::Symptom | Happened::SymptomOver));
    let Some(e) = last.filter(|e| e.what == Happened::Symptom) else { return refused(book) };
    let days = hours(e.at, now) / 24.0;
    if days > 14.0 {
        return refused(book);
    }
    let say = |words: &str| Statement::new(Rule::FirstHelp, words).on(e);
    if days > GOES_ON {
        let words = format!(
            "A symptom was logged {} ago, and not that it is over. If it goes on, log it again.",
            age(e.at, now)
        );
        return vec![say(&words)];
    }
    let mut out: Vec<Statement> = first_help().into_iter().map(|s| s.on(e)).collect();
    out.extend(refused(book));
    out
}

/// What to do at once when a fish looks or behaves wrong, before any test. Needs no log.
pub fn first_help() -> Vec<Statement> {
    [
        "Air first: an air stone, or the outlet turned so that it breaks the surface. Most sudden troubles are want of oxygen.",
        "Stop feeding today.",
        "Look: heater and thermometer, filter running, CO2 off, anything new or dead in the tank, sprays or paint in the room.",
        "Test ammonia, nitrite and pH, and measure the temperature. Do not wait for it before giving air.",
        "Change a quarter of the water, treated with conditioner, within 2 °C of the tank and of about the same pH; again after an \
         hour if it helps. Where ammonia shows, new water of higher pH makes it worse: then change less and more often.",
        "Give no medicine and no salt on a guess: ask an aquatic vet, and show the log.",
        "Clean test results do not end this: oxygen, CO2, chlorine, medicines and disease were not measured.",
    ]
    .into_iter()
    .map(|words| Statement::new(Rule::FirstHelp, words))
    .collect()
}

/// A photo that could not be read, newer than any reading of its kind.
fn refused(book: &Book) -> Vec<Statement> {
    let Some((at, kind)) = book.refused.last() else { return Vec::new() };
    if book.of_kind(*kind).any(|r| r.at >= *at) {
        return Vec::new();
    }
    let words = format!(
        "The last photo of {} could not be read. Unknown does not mean harmless: feed little, keep the surface moving, and test \
         again.",
        kind.as_str()
    );
    vec![Statement::new(Rule::FirstHelp, words)]
}
