//! What labels can say that cannot be.

/// Labels that say nothing, or two things. No photo is read by such labels: a reading under the wrong tank may reassure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LabelError {
    /// Printed by another home, or a log that is not this one.
    #[error("the label {number} above {station} is not one of this home's")]
    Unknown { number: u32, station: String },
    /// It was retired.
    #[error("the label {number} above {station} ('{words}') was retired")]
    Retired { number: u32, station: String, words: String },
    /// Two logs that came together had both given out the number.
    #[error(
        "the label {number} above {station} stands for '{first}' and, from a log that was imported, for '{second}'"
    )]
    TwoMeanings { number: u32, station: String, first: String, second: String },
    /// Two different labels of a kind.
    #[error("two labels lie above {station}: '{first}' and '{second}'")]
    Two { station: String, first: String, second: String },
    /// Nearer to no station than to another.
    #[error("the label {number} lies between two stations")]
    Between { number: u32 },
    /// Something like a label that cannot be read.
    #[error("a label above {station} cannot be read")]
    Unreadable { station: String },
    /// A label against what was typed.
    #[error("the label above {station} says '{label}', against {typed}")]
    Against { station: String, label: String, typed: String },
    /// Tests of two kits.
    #[error("the labels name tests of two kits, '{first}' and '{second}'")]
    Kits { first: String, second: String },
    /// The kit has no such test any more.
    #[error("a label names the test '{test}' of the kit '{of}', which the kit '{kit}' does not have")]
    TestGone { test: String, of: String, kit: String },
    /// A target's label alone.
    #[error("the label '{words}' above {station} has no test's label beside it")]
    NoTest { station: String, words: String },
    /// A test's label alone, and several tanks.
    #[error("nothing says which tank's water stands at {station}")]
    NoTarget { station: String },
    /// A photo of standards in which a station has another water.
    #[error("{}", no_standard(station, words.as_deref()))]
    NoStandard { station: String, words: Option<String> },
    /// A standard of something else.
    #[error("the standard '{words}' above {station} is not one for the test '{test}'")]
    OtherStandard { station: String, words: String, test: String },
    /// A clear vial has no reagent in it.
    #[error("a clear vial and a test stand at {station}, and a clear vial has no reagent")]
    ClearTested { station: String },
    /// Two clear vials.
    #[error("clear vials stand at {first} and at {second}")]
    ClearTwice { first: String, second: String },
}

fn no_standard(station: &str, words: Option<&str>) -> String {
    match words {
        Some(words) => format!("'{words}' above {station} is no standard of this test"),
        None => format!("no label says which standard stands at {station}"),
    }
}

impl LabelError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Unknown { .. } => "label-unknown",
            Self::Retired { .. } => "label-retired",
            Self::TwoMeanings { .. } => "label-two-meanings",
            Self::Two { .. } => "label-two",
            Self::Between { .. } => "label-between",
            Self::Unreadable { .. } => "label-unreadable",
            Self::Against { .. } => "label-against",
            Self::Kits { .. } => "label-kits",
            Self::TestGone { .. } => "label-test-gone",
            Self::NoTest { .. } => "label-no-test",
            Self::NoTarget { .. } => "label-no-target",
            Self::NoStandard { .. } => "label-no-standard",
            Self::OtherStandard { .. } => "label-other-standard",
            Self::ClearTested { .. } => "label-clear-tested",
            Self::ClearTwice { .. } => "label-clear-twice",
        }
    }

    /// What to do about it, one sentence.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Unknown { .. } => {
                "A number means something only in the home that printed it: print labels here, or import that home's log."
            }
            Self::Retired { .. } => "Throw it away and print a new one: tintline card labels print",
            Self::TwoMeanings { .. } => {
                "Retire one of the two and print it anew: tintline card labels list, then tintline card labels retire"
            }
            Self::Two { .. } => "Leave one label of a kind above a station and retake the photo.",
            Self::Between { .. } => "Lay it above the middle of its station and retake the photo.",
            Self::Unreadable { .. } => {
                "Let its whole marker show, flat and sharp, and retake; or say what stands there, STATION=TEST with --tank."
            }
            Self::Against { .. } => {
                "Leave out what was typed if the label is right, else take the label away and retake."
            }
            Self::Kits { .. } => "Read the vials of one kit a photo.",
            Self::TestGone { .. } => "Print labels for the tests the kit has now, or name the kit with --kit.",
            Self::NoTest { .. } => "Lay the test's label beside it, or type STATION=TEST.",
            Self::NoTarget { .. } => "Lay the tank's label there, or name the tank with --tank.",
            Self::NoStandard { .. } => "Lay the standard's label there, or type STATION=TEST:VALUE.",
            Self::OtherStandard { .. } => "Lay a label of a standard that the test measures.",
            Self::ClearTested { .. } => "Take the test's label or the clear vial's away.",
            Self::ClearTwice { .. } => "Leave one clear vial in the picture.",
        }
    }
}
