use super::*;
use crate::colour::{LinRgb, lab_from_linear};
use crate::curve::Nuisance;
use crate::curve::kit::{Matrix, Source, Swatch, Test};
use crate::water::{Analyte, Unit};

const COV: [[f64; 3]; 3] = [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]];
const SERIES: [f64; 6] = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0];

fn dyed(value: f64) -> [f64; 3] {
    lab_from_linear(LinRgb([0.05, 0.5, 0.25].map(|k: f64| (-k * value).exp()))).0
}

fn path_of(values: &[f64], source: Source) -> Path {
    let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
    let mut test = Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh);
    for (i, value) in values.iter().enumerate() {
        test.swatches.push(Swatch {
            value: *value,
            value_sd: None,
            source,
            lab: dyed(*value),
            cov: COV,
            photo: i.to_string(),
            station: "B".into(),
            light: Vec::new(),
            taken: None,
            clear: None,
        });
    }
    Path::new(&test, Nuisance::default()).unwrap()
}

fn path(source: Source) -> Path {
    path_of(&SERIES, source)
}

fn seen(value: f64) -> Seen {
    Seen { lab: Lab(dyed(value)), cov: COV, foreign: 0.0 }
}

#[test]
fn beyond_a_series_less_is_expected_the_farther() {
    let own = path(Source::Standard);
    // Within and at the ends all is alike; beyond the last standard it falls to none over a step and a half, before the first over half
    // a step.
    let at = |p: f64| expected(p, &own);
    assert_eq!([0.0, 0.3, 2.5, 5.0].map(at), [1.0; 4]);
    for (position, wanted) in [(5.5, 2.0 / 3.0), (6.0, 1.0 / 3.0), (6.5, 0.0), (8.0, 0.0), (-0.25, 0.5), (-0.5, 0.0)] {
        assert!((at(position) - wanted).abs() < 1e-12, "{position}: {}", at(position));
    }
    // What is known from print alone may be off as a whole.
    let printed = path(Source::Print);
    assert_eq!([-0.4, 2.5, 5.9, 8.0].map(|p| expected(p, &printed)), [1.0; 4]);
}

#[test]
fn near_the_top_a_value_is_drawn_inwards() {
    let own = path(Source::Standard);
    // As much light as 4 mg/L: half of the likelihood lies beyond the last standard, where less of it is believed.
    let found = invert(&own, &seen(4.0), false);
    assert!((4.95..4.99).contains(&found.position), "{found:?}");
    assert!((0.45..0.48).contains(&found.above), "{found:?}");
    // Well within nothing moves: 1 mg/L is the third position.
    let within = invert(&own, &seen(1.0), false);
    assert!((within.position - 3.0).abs() < 0.1 && within.above < 1e-6, "{within:?}");
    // Far beyond it is still 'above' with near certainty, and the interval ends where the path is not followed.
    let beyond = invert(&own, &seen(9.0), false);
    assert!(beyond.above > 0.95 && beyond.upper <= 6.5, "{beyond:?}");
    assert_eq!(beyond.below, 0.0);
}

#[test]
fn a_bounded_scale_is_followed_before_its_first_standard_and_no_scale_from_zero_is() {
    // The colour lies before the first of 1, 2 and 4.
    let own = path_of(&[1.0, 1.5, 2.0, 3.0, 4.0], Source::Standard);
    let bounded = invert(&own, &seen(0.7), true);
    assert!(bounded.lower < -0.2 && bounded.below > 0.5, "{bounded:?}");
    assert!(bounded.lower >= -0.5, "{bounded:?}");
    let from_zero = invert(&own, &seen(0.7), false);
    assert!(from_zero.lower >= 0.0 && from_zero.below == 0.0, "{from_zero:?}");
}

#[test]
fn few_standards_leave_more_open_between_them_than_at_them() {
    let width = |values: &[f64], value: f64| {
        let p = path_of(values, Source::Standard);
        let found = invert(&p, &seen(value), false);
        p.value(found.upper) - p.value(found.lower)
    };
    let full = path_of(&[0.0, 0.25, 0.5, 1.0, 2.0, 4.0], Source::Standard);
    let found = invert(&full, &seen(1.0), false);
    let all = full.value(found.upper) - full.value(found.lower);
    // 1 mg/L lies half way on the scale between none and 4.
    let widths = [&[0.0, 4.0][..], &[0.0, 0.25, 4.0], &[0.0, 0.25, 2.0, 4.0], &[0.0, 0.25, 0.5, 2.0, 4.0]];
    let widths = widths.map(|v| width(v, 1.0) / all);
    assert!(widths.is_sorted_by(|a, b| a > b), "{widths:?}");
    assert!(widths[0] > 5.0 && widths[2] > 1.5 && (0.95..1.05).contains(&widths[3]), "{widths:?}");
    // At a standard that all have, few are hardly worse.
    let at = [&[0.0, 0.25, 4.0][..], &[0.0, 0.25, 2.0, 4.0], &SERIES].map(|v| width(v, 0.25));
    assert!(at[0] < 1.1 * at[2], "{at:?}");
    // Five standards are enough: their path bends nowhere, and what is left of the difference is their own noise.
    let five = path_of(&[0.0, 0.25, 0.5, 2.0, 4.0], Source::Standard);
    let four = path_of(&[0.0, 0.5, 2.0, 4.0], Source::Standard);
    let along = |p: &Path, value: f64| {
        let (at, side) = (p.position(value), 0.05);
        let way = (p.density(at + side) - p.density(at - side)).normalize();
        way.dot(&(p.scatter(at) * way)).sqrt()
    };
    // Half way from 0.5 to 2 a path of four is off by 0.08 of their difference, and by half of that between the two ways to go there.
    let gap = (four.density(2.0) - four.density(1.0)).norm();
    let (thin, enough) = (along(&four, 1.25), along(&five, 1.25));
    let more = (thin.powi(2) - enough.powi(2)).sqrt() / gap;
    assert!((0.07..0.1).contains(&more), "{more}");
}
