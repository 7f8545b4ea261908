use super::*;
use crate::colour::{LinRgb, linear_from_lab};
use crate::curve::{Kit, Matrix, Nuisance, Source, Swatch, Test};
use crate::sample::Colour;
use crate::water::{Analyte, Unit};

const COV: [[f64; 3]; 3] = [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]];

/// What takes light out of long, middle and short wavelengths for each unit: a red dye, and a brown one.
const DYE: [f64; 3] = [0.05, 0.6, 0.3];
const BROWN: [f64; 3] = [0.1, 0.5, 0.5];

fn dyed(of: [f64; 3], amount: f64) -> Density {
    Density::from(of) * amount
}

/// A vial whose paper beside it to the left and the right has so much of a density on it.
fn vial(station: &str, d: Density, beside: [Density; 2]) -> Sample {
    let lab = coloured(&d);
    let linear: LinRgb = linear_from_lab(lab);
    let (pixels, outline) = (1000, Vec::new());
    let colour = Colour { linear, lab, cov: COV, pixels, glare: 0.0, stripe: 0.0, clipped: 0.0, uneven: 0.0, outline };
    let beside = beside.map(|d| (-d).into());
    Sample { station: station.into(), colour, outline: Vec::new(), beside, findings: Vec::new() }
}

/// A vial at B, with one at C to its right.
fn pair(own: Density, beside: [Density; 2], neighbour: Density) -> (Sample, Samples) {
    let (b, c) = (vial("B", own, beside), vial("C", neighbour, [Density::zeros(); 2]));
    let stations = ["A", "B", "C", "D"].map(String::from).to_vec();
    (b.clone(), Samples::of(stations, vec![Ok(b), Ok(c)]))
}

fn path() -> (Test, Path) {
    let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
    let mut test = Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh);
    for (i, value) in [0.0, 0.5, 1.0, 2.0, 4.0, 4.0].into_iter().enumerate() {
        test.swatches.push(Swatch {
            value,
            value_sd: None,
            source: Source::Standard,
            lab: coloured(&dyed(DYE, value)).0,
            cov: COV,
            photo: i.to_string(),
            station: "B".into(),
            light: Vec::new(),
            taken: None,
            clear: None,
        });
    }
    let kit = Kit { tests: vec![test.clone()], ..Kit::new("one").unwrap() };
    (test, Path::new(&kit.tests[0], Nuisance::default()).unwrap())
}

fn seen(d: &Density) -> Seen {
    Seen { lab: coloured(d), cov: COV, foreign: 0.0 }
}

/// The share of a neighbour's colour that the paper must show for a value to move by so many steps.
fn judged(own: f64, share: f64) -> Result<Option<Finding>, Finding> {
    let (d, theirs) = (dyed(DYE, own), dyed(DYE, 4.0));
    let (sample, samples) = pair(d, [theirs * share, Density::zeros()], theirs);
    let (_, path) = path();
    moved(&sample, &neighbours(&sample, &samples), &path, &seen(&d), false)
}

#[test]
fn what_paper_shows_of_the_neighbour_goes_into_the_covariance() {
    let theirs = dyed(DYE, 4.0);
    let trace = |beside: [Density; 2]| {
        let (sample, samples) = pair(dyed(DYE, 1.0), beside, theirs);
        let cov = tints(&sample, &samples);
        crate::curve::density::covariance(sample.colour.lab, &cov).trace().sqrt()
    };
    let none = Density::zeros();
    // Fifteen hundredths of the share shown, of the neighbour's whole density; shared light alone, a shadow, is none of it.
    let shown = trace([none, theirs * 0.2]);
    let share = shown / theirs.norm();
    assert!((share - 0.15 * 0.2).abs() < 0.002, "{share}");
    assert!((trace([none, theirs * 0.4]) / shown - 2.0).abs() < 0.02);
    assert_eq!(trace([none, Density::repeat(0.3)]), 0.0);
    assert_eq!(trace([none, none]), 0.0);
    // Paper to the left, where nobody stands, says nothing here; brown paper tells little of a red vial.
    assert_eq!(trace([theirs * 0.2, none]), 0.0);
    let brown = trace([none, dyed(BROWN, 1.0)]) / theirs.norm();
    let red = trace([none, dyed(DYE, 1.0)]) / theirs.norm();
    assert!(brown < 0.8 * red && brown > 0.3 * red, "{brown} {red}");
}

#[test]
fn a_value_that_could_move_by_a_step_is_in_doubt_and_by_more_refused() {
    // 1 mg/L is the third standard, 0.5 the second: were a hundredth of 4 mg/L in it, it would move by little; an eighth is 0.5.
    assert_eq!(judged(1.0, 0.05), Ok(None));
    let doubt = judged(1.0, 0.17).unwrap().unwrap();
    assert_eq!(doubt.code, Code::SampleNeighbour);
    assert!(doubt.sentence.contains("at C") && doubt.sentence.contains("at B"), "{}", doubt.sentence);
    let steps = |f: &Finding| -> f64 {
        let words = f.sentence.split(" steps of").next().unwrap();
        words.rsplit(' ').next().unwrap().parse().unwrap()
    };
    // 1 - 0.17 * 4 is 0.32 mg/L: 0.64 of the first step, so 1.4 steps down.
    assert!((1.2..1.5).contains(&steps(&doubt)), "{}", doubt.sentence);
    let refusal = judged(1.0, 0.23).unwrap_err();
    assert!((1.5..2.0).contains(&steps(&refusal)), "{}", refusal.sentence);
    // High up the scale steps are long: the same tint moves 4 mg/L by less than half a step.
    assert_eq!(judged(4.0, 0.23), Ok(None));
}

#[test]
fn a_neighbour_away_from_the_light_cannot_reach() {
    let (own, theirs) = (dyed(DYE, 1.0), dyed(DYE, 4.0));
    let (_, path) = path();
    let judge = |beside: [Density; 2]| {
        let (sample, samples) = pair(own, beside, theirs);
        moved(&sample, &neighbours(&sample, &samples), &path, &seen(&own), false)
    };
    let none = Density::zeros();
    // The neighbour stands to the right. Paper tinted on the right lies away from the light: the neighbour does too.
    assert_eq!(judge([none, theirs * 0.3]), Ok(None));
    assert!(judge([theirs * 0.3, none]).is_err());
    // As much on both sides tells no side, so it counts.
    assert!(judge([theirs * 0.3, theirs * 0.3]).is_err());
    // Alone it has no neighbour.
    let alone = Samples::of(vec!["B".into()], vec![Ok(vial("B", own, [theirs * 0.3, none]))]);
    let sample = alone.at("B").unwrap();
    assert!(neighbours(sample, &alone).is_empty() && tints(sample, &alone) == Matrix3::zeros());
}

fn tinted(station: &str, tint: [f64; 3]) -> Neighbour {
    Neighbour { station: station.into(), tint: Density::from(tint) }
}

#[test]
fn a_neighbour_that_moves_the_zeroing_by_a_step_is_named() {
    // A tenth of density in the second band makes a step.
    let position = |less: &Density| 2.0 + 10.0 * less[1];
    let weak = tinted("A", [-0.04, 0.09, -0.05]);
    let strong = tinted("C", [-0.05, -0.13, 0.18]);
    assert_eq!(zeroing_moved("B", &[], position), None);
    assert_eq!(zeroing_moved("B", std::slice::from_ref(&weak), position), None, "0.9 steps");
    let said = zeroing_moved("B", &[weak, strong], position).unwrap();
    assert_eq!((said.code, said.may_reassure(), said.may_alarm()), (Code::SampleNeighbour, false, true));
    assert!(said.sentence.contains("vial at C") && said.sentence.contains("clear vial at B"), "{}", said.sentence);
    assert!(said.sentence.contains("by 1.3 steps"), "{}", said.sentence);
}
