//! What can be wrong with a kit.

use crate::store::StoreError;
use crate::water::UnitError;

/// What is wrong with a kit or its file, and where. Swatches are counted from 1, as they are listed.
#[derive(Debug, thiserror::Error)]
pub enum KitError {
    /// Not TOML, or not the keys of the format.
    #[error("line {line}: {message}")]
    Malformed { line: usize, message: String },
    /// The first thing in the file must be its format.
    #[error("the file does not say `format = 1`, so it is not a test kit of this program")]
    NoFormat,
    /// Written by a newer version.
    #[error("the kit has file format {found}, this version reads up to {known}")]
    Newer { found: i64, known: i64 },
    /// A name that cannot be kept.
    #[error(transparent)]
    Name(#[from] StoreError),
    /// A text that a line cannot hold.
    #[error("{place}: {what} is empty, longer than {most} characters, or holds control characters")]
    Text { place: String, what: &'static str, most: usize },
    /// Two tests of one name.
    #[error("two tests are called '{name}'")]
    TestTwice { name: String },
    /// No such test.
    #[error("the kit has no test '{name}'{}", listed(known))]
    NoTest { name: String, known: Vec<String> },
    /// No such swatch.
    #[error("test '{test}' has {count} swatches, none with number {number}")]
    NoSwatch { test: String, number: usize, count: usize },
    /// A unit that is none, or not this analyte's.
    #[error("test '{test}': {source}")]
    Unit { test: String, source: UnitError },
    /// pH as a concentration.
    #[error("test '{test}': pH has no zero, its scale is bounded on both sides")]
    Scale { test: String },
    /// Measures that make no strip.
    #[error("the strip's measures do not fit: {why}")]
    Strip { why: String },
    /// A waiting time or reading window that is none.
    #[error("test '{test}': {minutes} minutes is no waiting time")]
    Wait { test: String, minutes: f64 },
    /// A place on the strip that is none, or taken.
    #[error("test '{test}': {why}")]
    Pad { test: String, why: String },
    /// A concentration that is none, or outside the scale.
    #[error("test '{test}', swatch {swatch}: {value} is no value of this scale ({why})")]
    Value { test: String, swatch: usize, value: f64, why: &'static str },
    /// A colour that is none.
    #[error("test '{test}', swatch {swatch}: {why}")]
    Colour { test: String, swatch: usize, why: &'static str },
    /// A time that is none.
    #[error("test '{test}', swatch {swatch}: '{taken}' is no time with its offset from UTC")]
    Time { test: String, swatch: usize, taken: String },
    /// A record of a curve carried over that is none.
    #[error("test '{test}': what was carried over on {date} is no record of that")]
    Adopted { test: String, date: jiff::civil::Date },
    /// One vial in one photo counted twice.
    #[error("test '{test}', swatch {swatch}: this photo already gave a swatch at '{station}'")]
    SwatchTwice { test: String, swatch: usize, station: String },
}

impl KitError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Malformed { .. } => "kit-malformed",
            Self::NoFormat => "kit-no-format",
            Self::Newer { .. } => "kit-newer",
            Self::Name(e) => e.code(),
            Self::Text { .. } => "kit-text",
            Self::TestTwice { .. } => "kit-test-twice",
            Self::NoTest { .. } => "kit-no-test",
            Self::NoSwatch { .. } => "kit-no-swatch",
            Self::Unit { source, .. } => source.code(),
            Self::Scale { .. } => "kit-scale",
            Self::Strip { .. } => "kit-strip",
            Self::Wait { .. } => "kit-wait",
            Self::Pad { .. } => "kit-pad",
            Self::Value { .. } => "kit-swatch-value",
            Self::Colour { .. } => "kit-swatch-colour",
            Self::Time { .. } => "kit-swatch-time",
            Self::Adopted { .. } => "kit-adopted",
            Self::SwatchTwice { .. } => "kit-swatch-twice",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        let s = match self {
            Self::Malformed { .. } => "Mend that line, or take the file back from an earlier revision.",
            Self::NoFormat => "Check that this is the right file; a kit file begins with `format = 1`.",
            Self::Newer { .. } => "Use the newer version of the program; the file was left as it is.",
            Self::Name(e) => return e.remedy().to_string(),
            Self::Text { .. } => "Shorten it to one plain line, or leave it out.",
            Self::TestTwice { .. } => "Give each test of a kit its own name.",
            Self::NoTest { .. } => "Use one of the names listed, or add the test first.",
            Self::NoSwatch { .. } => "List the swatches and use the number shown there.",
            Self::Unit { source, .. } => return source.remedy(),
            Self::Scale { .. } => "Write scale = \"bounded\" for this test.",
            Self::Strip { .. } => "Measure the strip and its pads in millimetres, from the end held into the water.",
            Self::Wait { .. } => "Give the minutes from the last drop to the reading, up to 240.",
            Self::Pad { .. } => "Number the pads of a strip from 1, each once; a vial has none.",
            Self::Value { .. } => "Give the concentration of the standard in the test's unit.",
            Self::Colour { .. } => "Photograph this standard again and add it anew.",
            Self::Time { .. } => "Write it as 2026-03-01T18:30:00+01:00, or leave it out.",
            Self::Adopted { .. } => "Take the record out, and carry the kit over again with 'kit adopt'.",
            Self::SwatchTwice { .. } => "Leave one of the two out; take the old one away first to replace it.",
        };
        s.to_string()
    }
}

fn listed(known: &[String]) -> String {
    if known.is_empty() { "; it has none yet".to_string() } else { format!("; it has {}", known.join(", ")) }
}
