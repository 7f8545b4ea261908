//! Findings: what is odd about a photo, a card, a kit or a value, with the sentence and the remedy.
//!
//! A leaf: names nothing of ours. An *error* is something that could not be done (a torn file), a *finding*
//! travels with a value, a *refusal* is a list of findings in the place of a value.

/// How much a finding weighs. A doubtful reading may alarm, never reassure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; the value stands.
    Note,
    /// The value may be wrong by more than its interval says.
    Doubt,
}

/// One thing noticed, with the facts of this case.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Which kind of thing it is; stable over versions.
    pub code: Code,
    /// How much it weighs here.
    pub severity: Severity,
    /// What was seen, one sentence with the facts of this case.
    pub sentence: String,
}

impl Finding {
    /// A finding that leaves the value standing.
    pub fn note(code: Code, sentence: impl Into<String>) -> Self {
        Self { code, severity: Severity::Note, sentence: sentence.into() }
    }

    /// A finding after which the value may alarm but not reassure.
    pub fn doubt(code: Code, sentence: impl Into<String>) -> Self {
        Self { code, severity: Severity::Doubt, sentence: sentence.into() }
    }

    /// What the keeper can do about it.
    pub fn remedy(&self) -> &'static str {
        self.code.remedy()
    }

    /// Whether a value with this finding may still tell that all is well: none in doubt may, of others those whose code
    /// declares it.
    pub fn may_reassure(&self) -> bool {
        self.severity == Severity::Note && self.code.reassures()
    }

    /// Whether a value with this finding may tell that something is wrong: as its code declares, in doubt or not.
    pub fn may_alarm(&self) -> bool {
        self.code.alarms()
    }
}

macro_rules! codes {
    ($($name:ident $text:literal $reassures:ident $alarms:ident, $remedy:literal;)*) => {
        /// Every kind of finding. The text form is stable: logs, exports and pages rely on it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[non_exhaustive]
        pub enum Code { $(#[doc = $remedy] $name,)* }

        impl Code {
            /// All codes, in the order in which a photo meets them.
            pub const ALL: &'static [Code] = &[$(Code::$name,)*];

            /// The stable text form, such as `card-too-far`.
            pub fn as_str(self) -> &'static str {
                match self { $(Code::$name => $text,)* }
            }

            /// What the keeper can do about it: one sentence.
            pub fn remedy(self) -> &'static str {
                match self { $(Code::$name => $remedy,)* }
            }

            /// Whether a value that carries it as a note may still reassure. In doubt none does.
            pub fn reassures(self) -> bool {
                match self { $(Code::$name => declared!($reassures),)* }
            }

            /// Whether a value that carries it may alarm. Not so where there cannot be a value.
            pub fn alarms(self) -> bool {
                match self { $(Code::$name => declared!($alarms),)* }
            }
        }
    };
}

macro_rules! declared {
    (yes) => {
        true
    };
    (no) => {
        false
    };
}

// Name, text, whether a value with it may reassure (as a note), whether it may alarm, remedy. A value that hangs on a
// finding's being harmless does not reassure; only where there is no value at all can there be no alarm.
codes! {
    CardMissing "card-missing" no no, "Lay or lean the printed card flat in view, all four corner markers showing, and retake the photo.";
    CardMarkersHidden "card-markers-hidden" no no, "Uncover the corners named and retake the photo.";
    CardMarkerHidden "card-marker-hidden" yes yes, "Keep all four corner markers free; with one covered the card is found less surely.";
    CardSeveral "card-several" no no, "Leave one card in the picture and retake the photo.";
    CardMirrored "card-mirrored" no no, "Use the photo as the camera took it, not a mirrored copy.";
    CardCutOff "card-cut-off" no no, "Step back until the whole card is in the picture and retake the photo.";
    CardBent "card-bent" no no, "Press the card flat, or lean it against something stiff, and retake the photo.";
    CardTooFar "card-too-far" no no, "Go nearer, so that the card fills at least a third of the picture's width.";
    PhotoBlurred "photo-blurred" no yes, "Hold the phone still, tap on the card to focus, and retake the photo.";
    PhotoNoisy "photo-noisy" no yes, "Use more light and retake the photo.";
    LightClipped "light-clipped" no yes, "Avoid direct sun and overexposure: tap on the white paper to expose for it, and retake.";
    LightDark "light-dark" no yes, "Use more light and retake the photo.";
    LightGlare "light-glare" no yes, "Turn off the flash, tilt the card a little, and retake the photo.";
    LightShadow "light-shadow" no yes, "Move so that no shadow edge falls on the card, and retake the photo.";
    LightUneven "light-uneven" no yes, "Turn the card so that the light falls on it more evenly.";
    LightTwo "light-two" no yes, "Use one light: switch the lamp off or close the curtain, and retake the photo.";
    LightForeign "light-foreign" yes yes, "Read where the kit was calibrated, or add standards photographed at this place.";
    LightPatchesOdd "light-patches-odd" yes yes, "Wipe the card; if the patches no longer fit, print and enrol a new card.";
    CardNotEnrolled "card-not-enrolled" yes yes, "Enrol the card once with photos of it, empty, in open shade.";
    CardNumberOther "card-number-other" no no, "Give the number that stands on this card, or photograph the card of that number.";
    EnrolNotEmpty "enrol-not-empty" no no, "Take vials, strips and labels away, keep shadows off the card, and photograph it empty.";
    EnrolFewPhotos "enrol-few-photos" no no, "Give two or three different photos of the empty card in open shade.";
    EnrolDisagree "enrol-disagree" no no, "Check that all photos show the same card, and take new ones in open shade, away from coloured walls.";
    EnrolNoPaper "enrol-no-paper" no no, "Measure the bare paper too and name its row paper, unless the values are relative to paper already.";
    CardOther "card-other" no yes, "Use the card the kit was calibrated with, or enrol this print and check the kit with it.";
    CardNew "card-new" yes yes, "Carry the kit over with two or three standards, 'kit adopt', or if it is the same print, 'kit remeasure'.";
    PhoneUnknown "phone-unknown" yes yes, "Carry the kit over to this phone with two or three standards, 'kit adopt', and send photos as they were taken.";
    LotNew "lot-new" yes yes, "Test two or three standards with the new bottle and carry the kit over: 'kit adopt'.";
    ReagentExpired "reagent-expired" no yes, "Open a new bottle and tell it with 'kit lot', or test a standard that is known to hold some.";
    ControlOut "control-out" no yes, "Test the standard again with 'kit control'; if it is off again, use a new bottle or calibrate anew.";
    SampleMissing "sample-missing" no no, "Stand the vial before the card at the station named, with the liquid before bare paper.";
    SampleOutside "sample-outside" no no, "Move the vial so that its liquid stands before bare paper.";
    SampleGlare "sample-glare" no yes, "Turn off the flash or turn the vial out of the reflection, and retake the photo.";
    SampleShadow "sample-shadow" no yes, "Move so that no shadow edge falls across the vial, and retake the photo.";
    SampleUneven "sample-uneven" no yes, "Mix the vial, wipe the glass, and retake the photo.";
    SampleClipped "sample-clipped" no yes, "Expose for the vial, in softer light, and retake the photo.";
    SampleNeighbour "sample-neighbour" no yes, "Read one vial a photo, or leave a station empty between coloured vials.";
    SampleOffMark "sample-off-mark" yes yes, "Stand the vial on the station's mark.";
    ClearUnseen "clear-unseen" no no, "Stand the clear vial, the tank's own water without reagent, at the station named, or read without it.";
    ClearColoured "clear-coloured" no no, "Fill the clear vial with the tank's own water and nothing else, in a clean glass, and retake the photo; or read without it.";
    ClearUsed "clear-used" yes yes, "Keep the tank's own water, without reagent, in the clear vial.";
    SamplePhotosDiffer "sample-photos-differ" no yes, "Take another photo of this sample in plain light, or undo the reading of the photo that shows another vial.";
    StripMissing "strip-missing" no no, "Lay the strip flat in the bay, the card flat too, not more than 30° off level, and retake; if it lies so, measure it again for the kit.";
    StripDirection "strip-direction" no no, "Check the strip's measures in the kit: its two ends must differ; or make sure the whole strip shows, and retake.";
    StripUnclear "strip-unclear" no no, "Check that the kit has a test for every pad, and the strip's measures; then lay the whole strip in the bay in even light, and retake.";
    ShadesCount "shades-count" no no, "Lay the slip alone in the bay, all its shades flat and in view, and name the concentrations from left to right as they lie.";
    ShadesOrder "shades-order" no no, "Name the concentrations from left to right as the shades lie on the card, its top row of patches away from you.";
    ColourLikeNone "colour-like-none" no yes, "Use plain even light and one vial a photo, or test again, before trusting that there is none.";
    ColourOffScale "colour-off-scale" no yes, "Check that this is the right test and a good reagent, then retake the photo in plain light.";
    ColourAboveScale "colour-above-scale" yes yes, "Dilute the tank water, for example 1+4 with de-ionised water, test again and give the dilution.";
    CurveThin "curve-thin" yes yes, "Add standards to this test: at least five over its range, and zero twice.";
    CurveNotMonotone "curve-not-monotone" no yes, "Check the concentrations given for these standards and photograph the odd one again.";
    CurveNoBlanks "curve-no-blanks" yes yes, "Photograph the zero standard at least twice, so that the detection limit is measured.";
    KitFromPrint "kit-from-print" yes yes, "Add your own zero standard, and one standard in the upper half, to this test.";
    KitMatrix "kit-matrix" no yes, "Use a test made for this water, or calibrate it in this water.";
    ReadEarly "read-early" no yes, "Wait until the test's time is up, and photograph the same vial again.";
    ReadLate "read-late" no yes, "Test again and take the photo within the test's time; 'tintline wait' counts it down.";
    TimeUnsure "time-unsure" yes yes, "Give the time with --at, or set the tank's time zone.";
}

/// The worst severity among findings, if there is any.
pub fn worst(findings: &[Finding]) -> Option<Severity> {
    findings.iter().map(|f| f.severity).max()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_plain() {
        let mut seen = std::collections::BTreeSet::new();
        for c in Code::ALL {
            assert!(seen.insert(c.as_str()), "{} stands twice", c.as_str());
            assert!(c.as_str().chars().all(|x| x.is_ascii_lowercase() || x == '-'));
            assert!(c.remedy().ends_with('.') && c.remedy().len() > 20, "{}", c.as_str());
        }
        assert_eq!(seen.len(), Code::ALL.len());
    }

    #[test]
    fn doubt_never_reassures_and_may_alarm_wherever_there_is_a_value() {
        for c in Code::ALL {
            let (doubt, note) = (Finding::doubt(*c, "x"), Finding::note(*c, "x"));
            assert!(!doubt.may_reassure(), "{}", c.as_str());
            assert_eq!((doubt.may_alarm(), note.may_alarm()), (c.alarms(), c.alarms()));
            assert_eq!(note.may_reassure(), c.reassures());
            assert!(c.alarms() || !c.reassures(), "{} reassures without a value", c.as_str());
        }
        let count = |which: fn(Code) -> bool| Code::ALL.iter().filter(|c| which(**c)).count();
        assert!(count(Code::reassures) * 3 < Code::ALL.len(), "reassuring is the exception");
        assert!(count(Code::alarms) * 2 > Code::ALL.len(), "alarming is the rule");
        assert!(!Code::ColourLikeNone.reassures() && Code::ColourLikeNone.alarms());
    }
}
