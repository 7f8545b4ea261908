use super::*;
use crate::colour::{LinRgb, lab_from_linear};
use crate::curve::invert::{Seen, invert};
use crate::curve::kit::{Matrix, Source, Swatch};
use crate::water::{Analyte, Species, Unit};

/// What separates photos, small: the standards themselves decide.
const STILL: Nuisance = Nuisance { brightness: 0.01, way: 0.005, rest: 0.2, root: 1.0 };

fn dyed(value: f64) -> [f64; 3] {
    lab_from_linear(LinRgb([0.03, 0.5, 0.25].map(|k: f64| (-k * value).exp()))).0
}

fn swatch(value: f64, truth: f64, value_sd: Option<f64>, source: Source) -> Swatch {
    let cov = [[0.02, 0.0, 0.0], [0.0, 0.02, 0.0], [0.0, 0.0, 0.02]];
    let (photo, station) = (format!("{source:?}{value}"), "B".to_string());
    Swatch {
        value,
        value_sd,
        source,
        lab: dyed(truth),
        cov,
        photo,
        station,
        light: Vec::new(),
        taken: None,
        clear: None,
    }
}

fn test(swatches: Vec<Swatch>) -> Test {
    Test { swatches, ..Test::new("nitrite", Analyte::Nitrite, Unit::mg_l(Species::Nitrite), Matrix::Fresh) }
}

/// Standards said to be `SERIES`, off by `share` of themselves, said to be known to `said`.
const SERIES: [f64; 6] = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0];

fn series(off: f64, said: Option<f64>) -> Test {
    let one = |v: f64| swatch(v, v * (1.0 + off), said.filter(|_| v > 0.0).map(|s| s * v), Source::Standard);
    test(SERIES.map(one).to_vec())
}

/// Value and half the width of the interval read from a colour.
fn read(path: &Path, truth: f64) -> (f64, f64, f64) {
    let cov = [[0.02, 0.0, 0.0], [0.0, 0.02, 0.0], [0.0, 0.0, 0.02]];
    let found = invert(path, &Seen { lab: Lab(dyed(truth)), cov, foreign: 0.0 }, false);
    (path.value(found.position), path.value(found.lower), path.value(found.upper))
}

#[test]
fn a_standards_uncertainty_widens_the_interval_by_its_own_measure() {
    for truth in [0.5, 0.75, 1.0, 1.5, 2.0] {
        let half = |said| {
            let (_, lower, upper) = read(&Path::new(&series(0.0, said), STILL).unwrap(), truth);
            (upper - lower) / 2.0
        };
        let (sure, unsure) = (half(Some(0.0)), half(Some(0.08)));
        let expected = sure.hypot(1.96 * 0.08 * truth);
        assert!((unsure / expected - 1.0).abs() < 0.06, "{truth}: {sure} {unsure} {expected}");
        // What was stated takes the place of what is usual.
        let usual = half(None);
        assert!(sure < usual && usual < half(Some(0.03)), "{truth}: {sure} {usual}");
    }
}

#[test]
fn intervals_hold_the_truth_when_the_stock_was_off() {
    // One stock, off by what it is said to be known to: with its uncertainty covered, without not.
    let covered = |said: Option<f64>| {
        let mut inside = 0;
        for off in [-0.1, -0.07, -0.05, 0.05, 0.07, 0.1] {
            let path = Path::new(&series(off, said), STILL).unwrap();
            for truth in [0.4, 0.9, 1.7, 2.5] {
                let (_, lower, upper) = read(&path, truth);
                inside += usize::from((lower..=upper).contains(&truth));
            }
        }
        inside
    };
    let (said, unsaid) = (covered(Some(0.06)), covered(None));
    assert!(said >= 22 && unsaid <= 12, "{said} {unsaid} of 24");
}

#[test]
fn another_hue_stays_off_the_scale() {
    let off = |said| {
        let path = Path::new(&series(0.0, said), STILL).unwrap();
        let lab = lab_from_linear(LinRgb([0.4, 0.7, 0.9])).0;
        invert(
            &path,
            &Seen { lab: Lab(lab), cov: [[0.02, 0.0, 0.0], [0.0, 0.02, 0.0], [0.0, 0.0, 0.02]], foreign: 0.0 },
            false,
        )
        .off
    };
    // A colour of another hue is not explained by a wrong concentration.
    assert!(off(Some(0.1)) > 10.0 && off(None) > 10.0, "{} {}", off(None), off(Some(0.1)));
}

#[test]
fn an_unsure_anchor_holds_a_printed_path_less() {
    let width = |said: Option<f64>| {
        let mut swatches: Vec<Swatch> = SERIES.iter().map(|v| swatch(*v, *v, None, Source::Print)).collect();
        swatches.push(swatch(2.0, 2.0, said, Source::Standard));
        let (_, lower, upper) = read(&Path::new(&test(swatches), STILL).unwrap(), 2.0);
        upper - lower
    };
    assert!(width(Some(0.3)) > 1.1 * width(None), "{} {}", width(None), width(Some(0.3)));
}
