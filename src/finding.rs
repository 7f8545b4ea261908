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

    /// Whether a value with this finding may still tell that all is well. One that is in doubt, or that cannot be told from
    /// none, may alarm but not reassure.
    pub fn may_reassure(&self) -> bool {
        self.severity == Severity::Note && self.code != Code::ColourLikeNone
    }
}

macro_rules! codes {
    ($($name:ident $text:literal, $remedy:literal;)*) => {
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
        }
    };
}

codes! {
    CardMissing "card-missing", "Lay or lean the printed card flat in view, all four corner markers showing, and retake the photo.";
    CardMarkersHidden "card-markers-hidden", "Uncover the corners named and retake the photo.";
    CardMarkerHidden "card-marker-hidden", "Keep all four corner markers free; with one covered the card is found less surely.";
    CardSeveral "card-several", "Leave one card in the picture and retake the photo.";
    CardMirrored "card-mirrored", "Use the photo as the camera took it, not a mirrored copy.";
    CardCutOff "card-cut-off", "Step back until the whole card is in the picture and retake the photo.";
    CardBent "card-bent", "Press the card flat, or lean it against something stiff, and retake the photo.";
    CardTooFar "card-too-far", "Go nearer, so that the card fills at least a third of the picture's width.";
    PhotoBlurred "photo-blurred", "Hold the phone still, tap on the card to focus, and retake the photo.";
    PhotoNoisy "photo-noisy", "Use more light and retake the photo.";
    LightClipped "light-clipped", "Avoid direct sun and overexposure: tap on the white paper to expose for it, and retake.";
    LightDark "light-dark", "Use more light and retake the photo.";
    LightGlare "light-glare", "Turn off the flash, tilt the card a little, and retake the photo.";
    LightShadow "light-shadow", "Move so that no shadow edge falls on the card, and retake the photo.";
    LightUneven "light-uneven", "Turn the card so that the light falls on it more evenly.";
    LightTwo "light-two", "Use one light: switch the lamp off or close the curtain, and retake the photo.";
    LightForeign "light-foreign", "Read where the kit was calibrated, or add standards photographed at this place.";
    LightPatchesOdd "light-patches-odd", "Wipe the card; if the patches no longer fit, print and enrol a new card.";
    CardNotEnrolled "card-not-enrolled", "Enrol the card once with photos of it, empty, in open shade.";
    CardNumberOther "card-number-other", "Give the number that stands on this card, or photograph the card of that number.";
    EnrolNotEmpty "enrol-not-empty", "Take vials, strips and labels away, keep shadows off the card, and photograph it empty.";
    EnrolFewPhotos "enrol-few-photos", "Give two or three different photos of the empty card in open shade.";
    EnrolDisagree "enrol-disagree", "Check that all photos show the same card, and take new ones in open shade, away from coloured walls.";
    EnrolNoPaper "enrol-no-paper", "Measure the bare paper too and name its row paper, unless the values are relative to paper already.";
    CardOther "card-other", "Use the card the kit was calibrated with, or enrol this print and check the kit with it.";
    CardNew "card-new", "Carry the kit over with two or three standards, 'kit adopt', or if it is the same print, 'kit remeasure'.";
    PhoneUnknown "phone-unknown", "Carry the kit over to this phone with two or three standards, 'kit adopt', and send photos as they were taken.";
    LotNew "lot-new", "Test two or three standards with the new bottle and carry the kit over: 'kit adopt'.";
    ReagentExpired "reagent-expired", "Open a new bottle and tell it with 'kit lot', or test a standard that is known to hold some.";
    ControlOut "control-out", "Test the standard again with 'kit control'; if it is off again, use a new bottle or calibrate anew.";
    SampleMissing "sample-missing", "Stand the vial before the card at the station named, with the liquid before bare paper.";
    SampleOutside "sample-outside", "Move the vial so that its liquid stands before bare paper.";
    SampleGlare "sample-glare", "Turn off the flash or turn the vial out of the reflection, and retake the photo.";
    SampleShadow "sample-shadow", "Move so that no shadow edge falls across the vial, and retake the photo.";
    SampleUneven "sample-uneven", "Mix the vial, wipe the glass, and retake the photo.";
    SampleClipped "sample-clipped", "Expose for the vial, in softer light, and retake the photo.";
    SampleNeighbour "sample-neighbour", "Read one vial a photo, or leave a station empty between coloured vials.";
    SampleOffMark "sample-off-mark", "Stand the vial on the station's mark.";
    StripMissing "strip-missing", "Lay the strip flat in the bay, the card flat too, not more than 30° off level, and retake the photo.";
    StripDirection "strip-direction", "Check the strip's measures in the kit: its two ends must differ; or make sure the whole strip shows, and retake.";
    StripUnclear "strip-unclear", "Lay the whole strip in the bay in even light, with a slight shadow at its edge, and retake the photo.";
    ShadesCount "shades-count", "Lay the slip alone in the bay, all its shades flat and in view, and name the concentrations from left to right as they lie.";
    ShadesOrder "shades-order", "Name the concentrations from left to right as the shades lie on the card, its top row of patches away from you.";
    ColourLikeNone "colour-like-none", "Use plain even light and one vial a photo, or test again, before trusting that there is none.";
    ColourOffScale "colour-off-scale", "Check that this is the right test and a good reagent, then retake the photo in plain light.";
    ColourAboveScale "colour-above-scale", "Dilute the tank water, for example 1+4 with de-ionised water, test again and give the dilution.";
    CurveThin "curve-thin", "Add standards to this test: at least five over its range, and zero twice.";
    CurveNotMonotone "curve-not-monotone", "Check the concentrations given for these standards and photograph the odd one again.";
    CurveNoBlanks "curve-no-blanks", "Photograph the zero standard at least twice, so that the detection limit is measured.";
    KitFromPrint "kit-from-print", "Add your own zero standard, and one standard in the upper half, to this test.";
    KitMatrix "kit-matrix", "Use a test made for this water, or calibrate it in this water.";
    TimeUnsure "time-unsure", "Give the time with --at, or set the tank's time zone.";
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
}
