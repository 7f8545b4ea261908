//! Enrolled cards: their file, enrolling by photos and by an instrument, checking a photo's card.

mod checking;
mod clipped;
mod enrolling;
mod file;
mod measured;

use jiff::civil::{Date, date};
use tintline::card::Layout;
use tintline::colour::{Lab, LinRgb, delta_e_2000, lab_from_linear};
use tintline::finding::Finding;
use tintline::light::{Enrolment, Reference};
use tintline::photo::{Limits, Photo};

use crate::pictures::fixture;

/// A card file written in format 1 once; it must read, and keep its revision, for ever.
const FORMAT_1: &str = include_str!("../fixtures/cards/format-1.toml");

const DAY: Date = date(2026, 3, 1);

/// A photo of the fixtures.
fn photo(name: &str) -> Photo {
    Photo::from_bytes(&fixture(&format!("photos/cards/{name}.jpg")), &Limits::default()).unwrap()
}

fn enrol(names: &[&str]) -> Result<(Enrolment, Vec<Finding>), Vec<Finding>> {
    let photos: Vec<Photo> = names.iter().map(|n| photo(n)).collect();
    Enrolment::from_photos(&photos, &Layout::first(), None, DAY)
}

fn codes(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|f| f.code.as_str()).collect()
}

fn lab(colour: [f64; 3]) -> Lab {
    lab_from_linear(LinRgb(colour))
}

/// Mean and largest ΔE00 between two sets of colours.
fn apart(a: &[[f64; 3]], b: &[[f64; 3]]) -> (f64, f64) {
    assert_eq!(a.len(), b.len());
    let each: Vec<f64> = a.iter().zip(b).map(|(a, b)| delta_e_2000(lab(*a), lab(*b))).collect();
    (each.iter().sum::<f64>() / each.len() as f64, each.iter().copied().fold(0.0, f64::max))
}

fn colours(card: &Enrolment) -> Vec<[f64; 3]> {
    card.patches.iter().map(|p| p.colour).collect()
}

fn nominal() -> Vec<[f64; 3]> {
    Reference::nominal(&Layout::first()).colours
}
