use super::*;
use crate::colour::{LinRgb, lab_from_linear};
use crate::curve::kit::{Matrix, Source, Swatch};
use crate::water::{Analyte, Unit};

/// A light whose matrix is `x` away from the kit's.
fn light(x: f64) -> Vec<f64> {
    let mut l = vec![1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.05, 0.0];
    l[0] += x;
    l
}

fn swatch(value: f64, source: Source, x: f64) -> Swatch {
    Swatch {
        value,
        value_sd: None,
        source,
        lab: lab_from_linear(LinRgb([0.05, 0.5, 0.25].map(|k: f64| (-k * value).exp()))).0,
        cov: [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]],
        photo: format!("{value}-{x}"),
        station: "B".into(),
        light: light(x),
        taken: None,
        clear: None,
    }
}

fn test(name: &str, values: &[f64], photos: usize) -> Test {
    let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
    let mut test = Test::new(name, Analyte::Nitrite, unit, Matrix::Fresh);
    test.swatches = (0..photos).flat_map(|_| values.iter().map(|v| swatch(*v, Source::Standard, 0.0))).collect();
    test
}

fn kit(tests: Vec<Test>) -> Kit {
    Kit { tests, ..Kit::new("drops").unwrap() }
}

fn here(read: &[f64]) -> Use {
    Use { places: vec![(light(0.0), 1.0)], read: vec![("nitrite".into(), read.to_vec())] }
}

/// Value, narrowing in thousandths, and the interval's half widths now and then in hundredths.
fn brief(w: &Wanted) -> (f64, u32, u32, u32) {
    let half = |i: [f64; 2]| (50.0 * (i[1] - i[0])).round() as u32;
    (w.value, (1000.0 * w.narrower).round() as u32, half(w.now), half(w.then))
}

#[test]
fn a_gap_is_filled_in_its_middle() {
    let gap = Why::Gap { from: 0.5, to: 2.0 };
    let of =
        |values: &[f64], photos: usize, read: &[f64]| wanted(&kit(vec![test("nitrite", values, photos)]), &here(read));
    let w = of(&[0.0, 0.5, 2.0, 4.0], 1, &[]).unwrap();
    assert_eq!((w.test.as_str(), w.place, &w.why), ("nitrite", 0, &gap));
    assert_eq!(brief(&w), (1.0, 70, 27, 21), "{w:?}");
    // With one more standard beside it the gap costs less; with all photos twice less still; where nothing is read but next to
    // none, it is not worth a standard.
    let five = of(&[0.0, 0.25, 0.5, 2.0, 4.0], 1, &[]).unwrap();
    assert_eq!((&five.why, brief(&five)), (&gap, (1.0, 43, 25, 21)), "{five:?}");
    let twice = of(&[0.0, 0.5, 2.0, 4.0], 2, &[]).unwrap();
    assert_eq!((&twice.why, brief(&twice)), (&gap, (1.0, 49, 26, 22)), "{twice:?}");
    assert_eq!(of(&[0.0, 0.25, 0.5, 2.0, 4.0], 2, &[0.0, 0.0, 0.1]), None);
    // Where all that is read lies in it, it is worth twice as much.
    let there = of(&[0.0, 0.5, 2.0, 4.0], 1, &[1.0, 0.8, 1.2]).unwrap();
    assert_eq!(brief(&there), (1.0, 138, 27, 21), "{there:?}");
    // Two standards leave most of the scale open.
    let two = of(&[0.0, 4.0], 2, &[]).unwrap();
    assert_eq!((&two.why, two.value), (&Why::Gap { from: 0.0, to: 4.0 }, 1.0));
    assert!((0.5..0.6).contains(&two.narrower), "{two:?}");
}

#[test]
fn a_place_without_a_standard_gets_its_zero() {
    // All swatches by the window, most photos under the lamp, of a tank that shows little.
    let kit = kit(vec![test("nitrite", &[0.0, 0.25, 0.5, 1.0, 2.0, 4.0], 2)]);
    let lamp = |x: f64| Use {
        places: vec![(light(0.0), 0.1), (light(x), 0.9)],
        read: vec![("nitrite".into(), vec![0.0, 0.0, 0.1, 0.0])],
    };
    let w = wanted(&kit, &lamp(0.11)).unwrap();
    assert_eq!((w.place, &w.why), (1, &Why::Place));
    assert_eq!(brief(&w), (0.0, 346, 8, 3), "{w:?}");
    // The farther the lamp, the more it helps; where the light is the same, nothing does.
    let far = wanted(&kit, &lamp(0.2)).unwrap();
    assert_eq!(brief(&far), (0.0, 498, 14, 3), "{far:?}");
    assert_eq!(wanted(&kit, &lamp(0.07)), None);
    // Nor does it help where no photos are taken.
    let never = Use { places: vec![(light(0.0), 1.0), (light(0.2), 0.0)], ..lamp(0.2) };
    assert_eq!(wanted(&kit, &never), None);
}

#[test]
fn a_place_helps_all_tests_and_the_one_read_most_comes_first() {
    let all = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0];
    let kit = kit(vec![test("one", &all, 2), test("other", &all, 2)]);
    let lamp = |name: &str| Use { places: vec![(light(0.15), 1.0)], read: vec![(name.into(), vec![0.0; 8])] };
    let named = ["one", "other"].map(|n| wanted(&kit, &lamp(n)).unwrap());
    assert_eq!([named[0].test.as_str(), &named[1].test], ["one", "other"]);
    assert_eq!(brief(&named[0]), brief(&named[1]));
}

#[test]
fn a_full_kit_needs_nothing() {
    let all = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0];
    for read in [&[][..], &[0.0, 0.0, 0.1], &[1.0, 2.0, 0.3]] {
        for photos in [2, 3] {
            let kit = kit(vec![test("nitrite", &all, photos)]);
            assert_eq!(wanted(&kit, &here(read)), None, "{read:?}");
        }
    }
    // A top that is only roughly known is worth another one.
    let mut rough = test("nitrite", &all, 1);
    rough.swatches[5].value_sd = Some(1.5);
    let w = wanted(&kit(vec![rough]), &here(&[4.0, 3.0, 4.0])).unwrap();
    assert_eq!((&w.why, brief(&w)), (&Why::Few { photos: 1 }, (4.0, 342, 142, 76)), "{w:?}");
}

#[test]
fn none_must_be_shown() {
    let w = wanted(&kit(vec![test("nitrite", &[0.25, 0.5, 1.0, 2.0, 4.0], 2)]), &here(&[])).unwrap();
    assert_eq!((&w.why, brief(&w)), (&Why::NoZero, (0.0, 218, 31, 4)), "{w:?}");
    // And where shades are printed: first none, then one well up the scale.
    let all = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0];
    let mut printed = test("nitrite", &[], 1);
    printed.swatches = all.map(|v| swatch(v, Source::Print, 0.0)).to_vec();
    let w = wanted(&kit(vec![printed.clone()]), &here(&[])).unwrap();
    assert_eq!((&w.why, brief(&w)), (&Why::NoZero, (0.0, 251, 39, 4)), "{w:?}");
    printed.swatches.push(swatch(0.0, Source::Standard, 0.0));
    let w = wanted(&kit(vec![printed]), &here(&[])).unwrap();
    assert_eq!((&w.why, brief(&w)), (&Why::Few { photos: 0 }, (2.0, 323, 97, 45)), "{w:?}");
}

#[test]
fn what_cannot_be_tried_is_left_out() {
    assert_eq!(wanted(&kit(vec![]), &here(&[])), None);
    // One concentration makes no curve.
    assert_eq!(wanted(&kit(vec![test("nitrite", &[0.0], 3)]), &here(&[])), None);
    // Nowhere to photograph.
    let gap = kit(vec![test("nitrite", &[0.0, 0.5, 2.0, 4.0], 1)]);
    assert_eq!(wanted(&gap, &Use::default()), None);
}

#[test]
fn values_that_are_easily_made_are_named() {
    let middle = |a: f64, b: f64| round(Scale::FromZero, a, b, ((a.sqrt() + b.sqrt()) / 2.0).powi(2));
    let middles = [(0.5, 2.0), (0.0, 4.0), (1.0, 2.0), (5.0, 10.0), (20.0, 40.0), (0.25, 0.5), (0.0, 1.0)];
    assert_eq!(middles.map(|(a, b)| middle(a, b)), [1.0, 1.0, 1.5, 8.0, 30.0, 0.4, 0.25]);
    assert_eq!(round(Scale::Bounded, 6.4, 7.0, 6.7), 6.7);
}
