//! Small words that more than one face says.

use crate::finding::{Finding, Severity};
use crate::log::LoggedFinding;

/// `1 photo`, `2 photos`.
pub(super) fn count(n: usize, what: &str) -> String {
    if n == 1 { format!("{n} {what}") } else { format!("{n} {what}s") }
}

/// With a capital at its beginning.
pub(super) fn capital(sentence: &str) -> String {
    let mut out = sentence.to_string();
    if let Some(first) = out.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    out
}

/// A finding, ready to be shown on a page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    /// `Doubt` or `Note`.
    pub(super) word: &'static str,
    pub(super) sentence: String,
    pub(super) remedy: String,
    pub(super) code: String,
}

impl Found {
    fn new(severity: Severity, sentence: &str, remedy: &str, code: &str) -> Self {
        let word = if severity == Severity::Doubt { "Doubt" } else { "Note" };
        Self { word, sentence: sentence.to_string(), remedy: remedy.to_string(), code: code.to_string() }
    }

    pub(super) fn all(findings: &[Finding]) -> Vec<Self> {
        findings.iter().map(Self::from).collect()
    }
}

impl From<&Finding> for Found {
    fn from(f: &Finding) -> Self {
        Self::new(f.severity, &f.sentence, f.remedy(), f.code.as_str())
    }
}

impl From<&LoggedFinding> for Found {
    fn from(f: &LoggedFinding) -> Self {
        Self::new(f.severity, &f.sentence, f.remedy().unwrap_or_default(), &f.code)
    }
}
