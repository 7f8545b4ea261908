use super::*;
use crate::colour::{LinRgb, lab_from_linear};
use crate::curve::kit::Matrix;
use crate::water::{Analyte, Species, Unit};

/// As photos of one place are: some brightness, some way.
const PLACE: Nuisance = Nuisance { brightness: 0.05, way: 0.03, rest: 0.5, root: 1.0 };

/// Evenly between −1 and 1, always the same.
struct Even(u64);

impl Even {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    /// Standard deviation 1.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next() / 2.0).sum()
    }
}

/// A dye after Beer and Lambert, photographed with another brightness and way each time.
fn seen(concentration: f64, random: &mut Even) -> [f64; 3] {
    let (k, g) = (1.0 + PLACE.way * random.normal(), PLACE.brightness * random.normal());
    lab_from_linear(LinRgb([0.004, 0.06, 0.03].map(|a: f64| (-(0.05 + a * concentration) * k - g).exp()))).0
}

fn swatch(value: f64, lab: [f64; 3], value_sd: Option<f64>, photo: String) -> Swatch {
    let cov = [[0.05, 0.0, 0.0], [0.0, 0.05, 0.0], [0.0, 0.0, 0.05]];
    let station = "B".to_string();
    Swatch {
        value,
        value_sd,
        source: Source::Standard,
        lab,
        cov,
        photo,
        station,
        light: Vec::new(),
        taken: None,
        clear: None,
    }
}

fn test(swatches: Vec<Swatch>) -> Test {
    Test { swatches, ..Test::new("nitrate", Analyte::Nitrate, Unit::mg_l(Species::Nitrate), Matrix::Fresh) }
}

/// A sample of 37 mg/L diluted, with dilutions off by `sd`.
fn series(level: f64, sd: f64, random: &mut Even) -> Series {
    let shares = [1.0, 0.5, 0.25, 0.125, 0.0625];
    let one = |s: &f64| {
        let off = if *s == 1.0 { 1.0 } else { 1.0 + sd * random.normal() };
        swatch(*s, seen(level * s * off, random), None, format!("s{s}"))
    };
    Series { swatches: shares.iter().map(one).collect(), dilution_sd: sd }
}

#[test]
fn one_known_standard_tells_the_level() {
    let mut random = Even(11);
    let (mut covered, mut errors, mut told) = (0, Vec::new(), Vec::new());
    for _ in 0..200 {
        let series = series(37.0, 0.03, &mut random);
        // Bought: 10 mg/L, off by its own 4 %.
        let truth = 10.0 * (1.0 + 0.04 * random.normal());
        let zero = swatch(0.0, seen(0.0, &mut random), None, "z".into());
        let anchor = swatch(10.0, seen(truth, &mut random), Some(0.4), "a".into());
        let level = series.level(&test(vec![zero, anchor]), PLACE).unwrap();
        assert_eq!(level.anchors, 1);
        covered += usize::from((level.value - 37.0).abs() <= 1.96 * level.sd);
        errors.push((level.value / 37.0 - 1.0).abs());
        told.push(level.sd / level.value);
    }
    errors.sort_by(f64::total_cmp);
    told.sort_by(f64::total_cmp);
    // 95 % of 200, less three standard deviations of that; and no wider than the errors are.
    assert!(covered >= 180, "{covered} of 200");
    assert!(errors[100] < 0.10 && told[100] < 0.20, "error {} said {}", errors[100], told[100]);
}

#[test]
fn standards_of_a_series_carry_level_and_dilution() {
    let series = series(40.0, 0.03, &mut Even(3));
    let level = Level { value: 40.0, sd: 2.0, anchors: 1 };
    let standards = series.standards(&level);
    let said: Vec<(f64, f64)> = standards.iter().map(|s| (s.value, s.value_sd.unwrap())).collect();
    assert_eq!(said[0], (40.0, 2.0));
    assert_eq!(said[1].0, 20.0);
    // 5 % of the level and 3 % of the dilution.
    assert!((said[1].1 - 20.0 * 0.05f64.hypot(0.03)).abs() < 1e-3, "{said:?}");
    assert!(standards.iter().all(|s| s.source == Source::Standard));
}

#[test]
fn without_an_anchor_inside_there_is_no_level() {
    let mut random = Even(5);
    let s = series(37.0, 0.03, &mut random);
    let code = |test: &Test, s: &Series| s.level(test, PLACE).unwrap_err().code();
    assert_eq!(code(&test(Vec::new()), &s), "series-no-anchor");
    let zero = swatch(0.0, seen(0.0, &mut random), None, "z".into());
    assert_eq!(code(&test(vec![zero.clone()]), &s), "series-no-anchor");
    // A printed shade is ink, no standard.
    let ink = Swatch { source: Source::Print, ..swatch(10.0, seen(10.0, &mut random), None, "p".into()) };
    assert_eq!(code(&test(vec![ink]), &s), "series-no-anchor");
    // Far stronger than the undiluted sample, and far weaker than the last dilution.
    for far in [150.0, 0.05] {
        let far = swatch(far, seen(far, &mut random), None, "f".into());
        assert_eq!(code(&test(vec![zero.clone(), far]), &s), "series-outside");
    }
    // Of another colour altogether.
    let blue = swatch(10.0, lab_from_linear(LinRgb([0.3, 0.5, 0.95])).0, None, "b".into());
    assert_eq!(code(&test(vec![zero.clone(), blue]), &s), "series-outside");
    let anchor = swatch(10.0, seen(10.0, &mut random), None, "a".into());
    let wrong = swatch(30.0, seen(5.0, &mut random), None, "w".into());
    assert_eq!(code(&test(vec![zero.clone(), anchor.clone(), wrong]), &s), "series-disagree");
    let short = Series { swatches: s.swatches[..2].to_vec(), ..s.clone() };
    assert_eq!(code(&test(vec![zero, anchor]), &short), "series-too-few");
    let ph = Test { scale: Scale::Bounded, ..test(Vec::new()) };
    assert_eq!(code(&ph, &s), "series-bounded");
}
