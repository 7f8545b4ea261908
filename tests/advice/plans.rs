//! Plans on books written by hand.

mod carrying;
mod changing;
mod dosing;

use super::{Story, at, near};
use tintline::advice::plan::{Given, PlanError, Said};

/// All that is said.
fn said(s: &Said) -> String {
    s.answer.iter().chain(&s.unknown).chain(&s.cautions).map(|s| s.words.as_str()).collect::<Vec<_>>().join("\n")
}

fn has(s: &Said, words: &str) {
    assert!(said(s).contains(words), "no '{words}' in:\n{}", said(s));
}

fn has_not(s: &Said, words: &str) {
    assert!(!said(s).contains(words), "'{words}' in:\n{}", said(s));
}

/// Every sentence has a rule with a source, every number a unit unless it is a pH or a count; formulas have sources.
fn sound(s: &Said) {
    assert!(!s.answer.is_empty() && !s.inputs.is_empty() && !s.formulas.is_empty());
    for statement in s.answer.iter().chain(&s.unknown).chain(&s.cautions) {
        assert!(!statement.rule.source().is_empty());
        assert!(statement.words.ends_with('.') && !statement.words.contains("NaN"), "{}", statement.words);
    }
    for f in s.inputs.iter().chain(&s.results) {
        let bare = f.name.starts_with("pH") || f.name == "changes-to-settle";
        assert_eq!(bare, f.unit.is_empty(), "{}: unit '{}'", f.name, f.unit);
        assert!(f.span.low <= f.span.high && !f.span.low.is_nan(), "{}: {:?}", f.name, f.span);
        assert!(
            f.span.best.is_none_or(|b| f.span.low <= b + 1e-9 && b <= f.span.high + 1e-9),
            "{}: {:?}",
            f.name,
            f.span
        );
    }
    assert!(s.formulas.iter().all(|f| !f.source.is_empty()));
}

fn refused(e: &PlanError, code: &str) {
    assert_eq!(e.code(), code);
    assert!(e.is_refusal() && e.remedy().ends_with('.'), "{e}");
}

fn asked(e: &PlanError, code: &str) {
    assert_eq!(e.code(), code);
    assert!(!e.is_refusal() && e.remedy().ends_with('.'), "{e}: {}", e.remedy());
}

fn nothing() -> Given {
    Given::default()
}
