//! How good a test's swatches are: each read on the curve of the others, the spacing, the order.

use nalgebra::Vector3;

use super::density::density;
use super::invert::{Seen, invert};
use super::kit::{Scale, Swatch, Test};
use super::path::{Nuisance, Path};
use crate::colour::{Lab, delta_e_2000};
use crate::finding::{Code, Finding};

/// One swatch read on the curve through the others.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Number of the swatch in the kit, from 1.
    pub number: usize,
    /// Its concentration as said.
    pub value: f64,
    /// The concentration read without it; None at an end standing alone: nothing reaches there without it.
    pub read: Option<f64>,
    /// Error in standards (positions on the series).
    pub steps: Option<f64>,
}

/// Two neighbouring standards.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    pub from: f64,
    pub to: f64,
    /// Colour difference ΔE00 of their mean colours.
    pub delta_e: f64,
}

/// What a check found.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    pub left_out: Vec<LeftOut>,
    pub gaps: Vec<Gap>,
    pub findings: Vec<Finding>,
}

/// Swatches read farther off than this (standards) deserve another photo.
const FAR: f64 = 1.0;
/// Neighbours nearer than this (ΔE00) are hardly told apart by a camera, and not by an eye.
const NEAR: f64 = 2.0;

/// Checks a test's swatches.
pub fn check(test: &Test, nuisance: Nuisance) -> Check {
    let mut findings = test.findings();
    let left_out: Vec<LeftOut> = test.swatches.iter().enumerate().map(|(i, s)| without(test, nuisance, i, s)).collect();
    for l in left_out.iter().filter(|l| l.steps.is_some_and(|s| s.abs() > FAR)) {
        let read = l.read.map(|v| format!("{v:.3}")).unwrap_or_default();
        let sentence =
            format!("Swatch {} of {} is said to be {} and reads {read} on the others.", l.number, test.name, l.value);
        findings.push(Finding::doubt(Code::CurveNotMonotone, sentence));
    }
    let series = test.series();
    let values = series.values();
    let means: Vec<Lab> = values.iter().map(|v| mean(&series, *v)).collect();
    let gaps: Vec<Gap> = values
        .windows(2)
        .zip(means.windows(2))
        .map(|(v, m)| Gap { from: v[0], to: v[1], delta_e: delta_e_2000(m[0], m[1]) })
        .collect();
    for g in gaps.iter().filter(|g| g.delta_e < NEAR) {
        let sentence =
            format!("The standards {} and {} of {} look alike (ΔE {:.1}).", g.from, g.to, test.name, g.delta_e);
        findings.push(Finding::doubt(Code::CurveNotMonotone, sentence));
    }
    findings.extend(order(test));
    Check { left_out, gaps, findings }
}

/// The doubt that falls on a test whose colours do not run one way, as when two concentrations were mixed up.
pub fn order(test: &Test) -> Option<Finding> {
    let test = &test.series();
    let values = test.values();
    let means: Vec<Lab> = values.iter().map(|v| mean(test, *v)).collect();
    let (a, b) = turned(&values, &means)?;
    let name = &test.name;
    let sentence =
        format!("The colours of {name} do not run one way: {a} lies nearer to a farther standard than to {b}.");
    Some(Finding::doubt(Code::CurveNotMonotone, sentence))
}

fn without(test: &Test, nuisance: Nuisance, i: usize, swatch: &Swatch) -> LeftOut {
    let mut rest = test.clone();
    rest.swatches.remove(i);
    let none = LeftOut { number: i + 1, value: swatch.value, read: None, steps: None };
    let values = rest.values();
    let reached =
        values.first().is_some_and(|v| *v <= swatch.value) && values.last().is_some_and(|v| *v >= swatch.value);
    if !reached {
        return none;
    }
    let (Ok(path), Ok(full)) = (Path::new(&rest, nuisance), Path::new(test, nuisance)) else { return none };
    let seen = Seen { lab: Lab(swatch.lab), cov: swatch.cov, foreign: 0.0 };
    let read = path.value(invert(&path, &seen, test.scale == Scale::Bounded).position);
    LeftOut { read: Some(read), steps: Some(full.position(read) - full.position(swatch.value)), ..none }
}

pub(super) fn mean(test: &Test, value: f64) -> Lab {
    let of: Vec<&Swatch> = test.swatches.iter().filter(|s| s.value == value).collect();
    Lab([0, 1, 2].map(|c| of.iter().map(|s| s.lab[c]).sum::<f64>() / of.len() as f64))
}

/// A standard whose colour, brightness aside, lies clearly nearer to the one after next than to the next: the series
/// turns back there, or two concentrations were mixed up.
fn turned(values: &[f64], means: &[Lab]) -> Option<(f64, f64)> {
    let hue: Vec<Vector3<f64>> = means.iter().map(|m| density(*m)).map(|d| d.add_scalar(-d.mean())).collect();
    let apart = |i: usize, j: usize| (hue[i] - hue[j]).norm();
    (0..values.len().saturating_sub(2))
        .find(|i| apart(*i, i + 2) < 0.6 * apart(*i, i + 1) && apart(*i, i + 1) > 0.1)
        .map(|i| (values[i], values[i + 1]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{LinRgb, lab_from_linear};
    use crate::curve::kit::{Matrix, Source};
    use crate::water::{Analyte, Unit};

    /// One dye that takes green, less blue, little red (Beer–Lambert), photographed twice with other brightness.
    fn pink(values: &[f64]) -> Test {
        let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).expect("a known unit");
        let mut test = Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh);
        for (k, gain) in [(0, 1.0), (1, 0.9)] {
            for v in values {
                let dye = [0.1, 0.9, 0.4].map(|e: f64| gain * (-e * v).exp());
                test.swatches.push(Swatch {
                    value: *v,
                    value_sd: None,
                    source: Source::Standard,
                    lab: lab_from_linear(LinRgb(dye)).0,
                    cov: [[0.2, 0.0, 0.0], [0.0, 0.2, 0.0], [0.0, 0.0, 0.2]],
                    photo: format!("{k}-{v}"),
                    station: "B".into(),
                    light: Vec::new(),
                    taken: None,
                    clear: None,
                });
            }
        }
        test
    }

    #[test]
    fn good_swatches_read_as_said() {
        let test = pink(&[0.0, 0.2, 0.5, 1.0, 2.0]);
        let c = check(&test, Nuisance::default());
        assert_eq!(c.left_out.len(), 10);
        let worst = c.left_out.iter().filter_map(|l| l.steps).map(f64::abs).fold(0.0, f64::max);
        assert!(worst < 0.25 && worst > 0.0, "{worst}");
        assert!(c.gaps.iter().all(|g| g.delta_e > NEAR), "{:?}", c.gaps);
        assert!(c.findings.is_empty(), "{:?}", c.findings);
    }

    #[test]
    fn mixed_up_concentrations_are_named() {
        let mut test = pink(&[0.0, 0.2, 0.5, 1.0, 2.0]);
        for s in &mut test.swatches {
            s.value = if s.value == 0.2 {
                1.0
            } else if s.value == 1.0 {
                0.2
            } else {
                s.value
            };
        }
        let c = check(&test, Nuisance::default());
        assert!(c.findings.iter().any(|f| f.code == Code::CurveNotMonotone), "{:?}", c.findings);
    }

    #[test]
    fn alike_standards_are_named() {
        let mut test = pink(&[0.0, 0.5, 1.0, 2.0]);
        let copies: Vec<Swatch> = test.swatches.iter().filter(|s| s.value == 1.0).cloned().collect();
        test.swatches.extend(copies.into_iter().map(|s| Swatch { value: 1.2, photo: format!("x{}", s.photo), ..s }));
        let c = check(&test, Nuisance::default());
        assert!(c.findings.iter().any(|f| f.sentence.contains("1 and 1.2")), "{:?}", c.findings);
    }
}
