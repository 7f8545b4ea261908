//! The two runs over a photo: reading samples with a kit, and making swatches of standards.

use super::outcome::{Outcome, PhotoReading, SampleReading};
use crate::card::{self, Layout};
use crate::curve::{Kit, Swatch};
use crate::finding::Finding;
use crate::light::Reference;
use crate::photo::Photo;
use crate::water::Dilution;

/// A sample to read: which test of the kit, where it stands, how it was diluted.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// Station name, such as `B`.
    pub station: String,
    /// Name of the kit's test.
    pub test: String,
    /// Dilution of the tank water, if any.
    pub dilution: Option<Dilution>,
}

/// All that a reading needs.
pub struct Job<'a> {
    pub photo: &'a Photo,
    pub layout: &'a Layout,
    /// The card's colours, nominal or enrolled.
    pub reference: &'a Reference,
    pub kit: &'a Kit,
    pub asks: &'a [Ask],
}

/// A vial of known concentration to make a swatch of.
#[derive(Debug, Clone, PartialEq)]
pub struct Standard {
    /// Station name.
    pub station: String,
    /// Name of the kit's test.
    pub test: String,
    /// Concentration in the test's unit.
    pub value: f64,
}

/// Reads the samples asked for. A photo refused as a whole gives a refusal for each of them.
pub fn read(job: &Job) -> PhotoReading {
    let refusal = |findings: Vec<Finding>| PhotoReading {
        photo: job.photo.id().to_string(),
        samples: job.asks.iter().map(|a| refused(a, findings.clone())).collect(),
        findings,
        card: None,
    };
    match card::find(job.photo, job.layout) {
        Err(findings) => refusal(findings),
        Ok(_) => refusal(Vec::new()),
    }
}

/// Makes a swatch of each standard, or says why not; in the order asked for.
pub fn calibrate(
    _photo: &Photo,
    _layout: &Layout,
    _reference: &Reference,
    _standards: &[Standard],
) -> Vec<Result<Swatch, Vec<Finding>>> {
    Vec::new()
}

fn refused(ask: &Ask, findings: Vec<Finding>) -> SampleReading {
    SampleReading {
        station: ask.station.clone(),
        test: ask.test.clone(),
        outcome: Outcome::Refused(findings.clone()),
        detection_limit: None,
        findings,
        dilution: ask.dilution,
        lab: None,
        off_curve: None,
        outlines: Vec::new(),
    }
}
