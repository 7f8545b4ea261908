//! Made-up kits of several shapes whose dye pales or browns beyond the last standard.

use super::*;
use crate::colour::{Lab, LinRgb, lab_from_linear};
use crate::curve::kit::{Matrix, Source, Swatch, Test};
use crate::curve::{Answer, Nuisance, answer};
use crate::finding::{Code, Severity};
use crate::water::{Amount, Analyte, Species, Unit};

const TOP: f64 = 5.0;
const VALUES: [f64; 6] = [0.0, 0.2, 0.6, 1.2, 2.5, TOP];

/// Density in red, green and blue at a share of the top.
type Shape = fn(f64) -> [f64; 3];

/// One dye from colourless, and two-colour tests that start from a reagent's own yellow.
const SHAPES: [(&str, Shape); 5] = [
    ("pink", |x| [0.15 * x, 1.6 * x, 0.5 * x]),
    ("violet", |x| [0.7 * x.powf(0.8), 1.7 * x.powf(0.8), 0.4 * x.powf(0.8)]),
    ("blue", |x| [1.8 * x, 0.9 * x, 0.2 * x]),
    ("yellow to blue-green", |x| [1.6 * x, 0.1 + 0.5 * x, 0.8 - 0.1 * x]),
    ("yellow to red", |x| [0.02 + 0.08 * x, 0.1 + 1.8 * x, 0.9 + 0.6 * x]),
];

fn lab(d: [f64; 3], dim: f64) -> [f64; 3] {
    lab_from_linear(LinRgb(d.map(|d| (-(d + 0.06 + dim)).exp()))).0
}

fn cov() -> [[f64; 3]; 3] {
    [[0.4, 0.0, 0.0], [0.0, 0.4, 0.0], [0.0, 0.0, 0.4]]
}

fn test(shape: Shape) -> Test {
    let mut test = Test::new("ammonia", Analyte::Ammonia, Unit::mg_l(Species::AmmoniaN), Matrix::Fresh);
    for (i, value) in VALUES.into_iter().enumerate() {
        for dim in [0.02 * i as f64, 0.1 - 0.02 * i as f64] {
            let (photo, station, light) = (String::new(), "B".to_string(), Vec::new());
            let (value_sd, source, lab) = (None, Source::Standard, lab(shape(value / TOP), dim));
            test.swatches.push(Swatch {
                value,
                value_sd,
                source,
                lab,
                cov: cov(),
                photo,
                station,
                light,
                taken: None,
                clear: None,
            });
        }
    }
    test
}

fn said(test: &Test, d: [f64; 3], dim: f64) -> Answer {
    let path = Path::new(test, Nuisance::default()).unwrap();
    answer(test, &path, &Seen { lab: Lab(lab(d, dim)), cov: cov(), foreign: 0.0 })
}

/// What becomes of a dye at a multiple of the top: it is formed in proportion, and an excess destroys it (half at 1.8 times); what is
/// gone may come back as something brown.
fn beyond(top: [f64; 3], times: f64, brown: [f64; 3]) -> [f64; 3] {
    let left = times * (-0.9 * (times - 1.0)).exp();
    let come = (times - left).min(1.2);
    [0, 1, 2].map(|c| top[c] * left + come * brown[c])
}

const TIMES: [f64; 5] = [1.2, 1.5, 2.0, 3.0, 5.0];
const NONE: [f64; 3] = [0.0; 3];
const BROWNS: [[f64; 3]; 2] = [[0.1, 0.4, 0.9], [0.25, 0.6, 1.1]];
const DIMS: [f64; 3] = [-0.1, 0.0, 0.2];

/// Whether an answer lets the keeper believe in a lower amount than there is.
fn misleads(answer: &Answer) -> bool {
    let doubted = answer.findings.iter().any(|f| f.severity == Severity::Doubt && f.may_alarm());
    match &answer.amount {
        Err(_) | Ok(Amount::Above { .. }) => false,
        Ok(Amount::Measured { interval95, .. }) => !doubted && interval95.upper() < TOP,
        Ok(_) => true,
    }
}

fn misled(name: &str, brown: [f64; 3]) -> Vec<(f64, f64, Option<f64>)> {
    let shape = SHAPES.iter().find(|s| s.0 == name).unwrap().1;
    let test = test(shape);
    let all = TIMES.iter().flat_map(|t| DIMS.map(|dim| (*t, dim)));
    let said = all.map(|(times, dim)| (times, dim, said(&test, beyond(shape(1.0), times, brown), dim)));
    let value = |a: &Answer| match &a.amount {
        Ok(Amount::Measured { value, .. }) => Some(value.value),
        _ => None,
    };
    said.filter(|(_, _, a)| misleads(a)).map(|(times, dim, a)| (times, dim, value(&a))).collect()
}

#[test]
fn a_dye_that_pales_or_browns_beyond_the_top_is_not_read_as_less() {
    for name in ["yellow to blue-green", "yellow to red"] {
        assert_eq!(misled(name, NONE), [], "{name} pales");
    }
    for name in ["pink", "violet", "blue"] {
        for brown in BROWNS {
            assert_eq!(misled(name, brown), [], "{name} browns by {brown:?}");
        }
    }
    // Beside a reagent's own yellow a little brown is hidden; where half of the dye is gone it shows.
    for name in ["yellow to blue-green", "yellow to red"] {
        for brown in BROWNS {
            assert!(misled(name, brown).iter().all(|(times, ..)| *times != 2.0), "{name} {:?}", misled(name, brown));
        }
    }
}

#[test]
fn the_doubt_reaches_beyond_the_top_and_tells_to_dilute() {
    let test = test(SHAPES[2].1);
    let answer = said(&test, beyond(SHAPES[2].1(1.0), 1.5, BROWNS[1]), 0.0);
    assert!(answer.found.off < 3.37, "the distance from the scale alone raises no doubt: {}", answer.found.off);
    let turned = answer.findings.iter().find(|f| f.code == Code::ColourTurned).unwrap();
    assert!(turned.may_alarm() && !turned.may_reassure() && turned.remedy().starts_with("Dilute"));
    let Ok(Amount::Measured { value, interval95 }) = answer.amount else { panic!("{:?}", answer.amount) };
    assert!(value.value < 0.7 * TOP && interval95.upper() >= TOP, "{value:?} {interval95:?}");
}

#[test]
fn what_lies_on_the_scale_is_not_called_turned() {
    for (name, shape) in SHAPES {
        let test = test(shape);
        for share in [0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0] {
            for dim in [-0.2, 0.0, 0.2, 0.35] {
                let answer = said(&test, shape(share), dim);
                assert!(
                    answer.findings.iter().all(|f| f.severity == Severity::Note),
                    "{name} {share} {dim}: {answer:?}"
                );
            }
        }
    }
}

#[test]
fn a_single_dye_that_merely_pales_lies_on_the_curve_and_cannot_be_told() {
    // Known, and said in the guide: only a diluted sample shows it.
    let said = misled("violet", NONE);
    assert!(said.iter().any(|(times, _, value)| *times == 5.0 && value.is_some_and(|v| v < 1.0)), "{said:?}");
}

#[test]
fn the_nearest_mixture_is_that_of_a_fine_grid() {
    let (a, b) = (Density::new(0.3, 1.6, 0.5), Density::new(0.4, 1.0, 2.0));
    let inverse = Matrix3::new(9.0, 1.0, 0.0, 1.0, 4.0, -1.0, 0.0, -1.0, 16.0);
    // Within, beyond either share, before both.
    for d in [[0.3, 1.1, 0.9], [0.5, 3.0, 0.7], [0.2, 0.4, 3.0], [-0.3, -0.5, -0.2], [0.9, 2.9, 3.4]] {
        let d = Density::from(d);
        let grid = (0..=400).flat_map(|i| (0..=400).map(move |k| [f64::from(i) / 400.0, f64::from(k) / 400.0]));
        let off = |share: [f64; 2]| {
            let r = d - a * share[0] - b * share[1];
            r.dot(&(inverse * r))
        };
        let least = grid.map(off).fold(f64::MAX, f64::min);
        let found = nearest(&d, [&a, &b], &inverse);
        assert!(found <= least + 1e-9 && least - found < 2e-3, "{d}: {found} against {least}");
    }
}
