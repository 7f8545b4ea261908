//! What a photo said: a value, or a refusal, for every sample asked for.

use crate::finding::Finding;
use crate::water::{Amount, Dilution, Quantity};

/// A value, or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// What was found.
    Read(Amount),
    /// Not read; the findings say why, the deciding one first.
    Refused(Vec<Finding>),
}

/// One vial, pad or swatch.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleReading {
    /// Where on the card: a station's name such as `B`, or `pad-3`.
    pub station: String,
    /// Name of the kit's test.
    pub test: String,
    /// What was found, dilution already counted in.
    pub outcome: Outcome,
    /// Below this the test, at this place in this photo, cannot tell some from none; None for scales and kits without zero.
    pub detection_limit: Option<Quantity>,
    /// What was noticed about this sample or the photo it stands in.
    pub findings: Vec<Finding>,
    /// Dilution of the tank water, if any.
    pub dilution: Option<Dilution>,
    /// CIELAB (D65, the card's own colour space) of the sample, where one was found.
    pub lab: Option<[f64; 3]>,
    /// Distance from the curve in standard deviations, where one was found.
    pub off_curve: Option<f64>,
    /// The light's signature, where a card was found.
    pub light: Option<Vec<f64>>,
    /// Outlines in upright photo pixels: the liquid, and the region used.
    pub outlines: Vec<Vec<[f64; 2]>>,
}

/// The clear vial of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct ClearVial {
    /// Where it stands.
    pub station: String,
    /// CIELAB (D65, the card's own colour space) of its water.
    pub lab: [f64; 3],
    /// Outlines in upright photo pixels: the liquid, and the region used.
    pub outlines: Vec<Vec<[f64; 2]>>,
}

/// All that one photo said.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoReading {
    /// The photo's identity.
    pub photo: String,
    /// Every sample asked for, refused ones too. A photo refused as a whole has a refusal for each.
    pub samples: Vec<SampleReading>,
    /// What was noticed about the photo as a whole.
    pub findings: Vec<Finding>,
    /// Card corners in upright photo pixels, clockwise from the card's top left, where a card was found.
    pub card: Option<[[f64; 2]; 4]>,
    /// The clear vial the samples were zeroed on, where one was named and can serve.
    pub clear: Option<ClearVial>,
}
