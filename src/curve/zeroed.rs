//! Zeroing on a clear vial, as a photometer is zeroed: water without reagent beside the sample takes its own tint, and the light that
//! both lack, out of the sample's density.
//!
//! What is subtracted must be subtracted on both sides. Where every standard of a test had a clear vial in its photo, the
//! difference of densities is compared with differences: tint and brightness both cancel. Where not, the standards' colours hold
//! the look of a vial of pure water, as bright as it happened to be; then only the tint is taken off the sample, and its brightness
//! stays as unsure as without a clear vial.

use nalgebra::{Matrix3, Vector3};

use super::density::{Density, coloured, covariance, density, lab_covariance};
use super::invert::{Seen, invert, limits};
use super::kit::{Clear, Scale, Swatch, Test};
use super::path::{Nuisance, Path};
use crate::colour::Lab;
use crate::water::significant;

/// Two vials of one photo stand in nearly the same light: standard deviation of their difference in brightness (ln units), a third of
/// what two photos differ by. An assumption, from vials drawn and traced at neighbouring stations; the rest of a photo's
/// brightness is what the clear vial measures.
const STATIONS: f64 = 0.08;
/// Glass has a tint of its own, which standards photographed without a clear vial hold: standard deviation in each band.
const GLASS: f64 = 0.02;
/// What a vial of pure water is taken to look like, in every band, once all are zeroed. Any number serves: it is on both sides.
const LOOK: f64 = 0.12;

/// What a clear vial takes off the colours of one photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zero {
    clear: Clear,
}

/// How much is taken off a test's samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Off {
    /// Tint and brightness: the standards had clear vials too.
    All,
    /// The tint alone.
    Tint,
}

impl Off {
    /// What the standards of a test allow.
    pub fn of(test: &Test) -> Self {
        let all = !test.swatches.is_empty() && test.swatches.iter().all(|s| s.clear.is_some());
        if all { Self::All } else { Self::Tint }
    }

    /// What still separates photos from one another once it is off.
    pub fn nuisance(self, of: Nuisance) -> Nuisance {
        match self {
            Self::All => Nuisance { brightness: STATIONS.min(of.brightness), ..of },
            Self::Tint => of,
        }
    }

    /// A test whose standards are zeroed as its samples are.
    pub fn test(self, test: &Test) -> Test {
        let zeroed = |s: &Swatch| match (self, s.clear) {
            (Self::All, Some(clear)) => {
                let (lab, cov) = Zero::on(clear).all(Lab(s.lab), &s.cov);
                Swatch { lab: lab.0, cov, clear: None, ..s.clone() }
            }
            _ => s.clone(),
        };
        Test { swatches: test.swatches.iter().map(zeroed).collect(), ..test.clone() }
    }
}

impl Zero {
    /// On a clear vial as it was measured.
    pub fn on(clear: Clear) -> Self {
        Self { clear }
    }

    /// A sample's colour, in CIELAB with covariance, after so much is taken off.
    pub fn off(&self, off: Off, lab: Lab, cov: &[[f64; 3]; 3]) -> (Lab, [[f64; 3]; 3]) {
        match off {
            Off::All => self.all(lab, cov),
            Off::Tint => self.tint(lab, cov),
        }
    }

    fn all(&self, lab: Lab, cov: &[[f64; 3]; 3]) -> (Lab, [[f64; 3]; 3]) {
        let own = covariance(Lab(self.clear.lab), &matrix(&self.clear.cov));
        less(lab, cov, density(Lab(self.clear.lab)) - Vector3::repeat(LOOK), own)
    }

    fn tint(&self, lab: Lab, cov: &[[f64; 3]; 3]) -> (Lab, [[f64; 3]; 3]) {
        let clear = Lab(self.clear.lab);
        let own = covariance(clear, &matrix(&self.clear.cov)) + Matrix3::identity() * GLASS.powi(2);
        let hue = Matrix3::identity() - Matrix3::repeat(1.0 / 3.0);
        less(lab, cov, hue * density(clear), hue * own * hue.transpose())
    }
}

/// A colour after a density known with a covariance is taken off. The uncertainty of both stays.
fn less(lab: Lab, cov: &[[f64; 3]; 3], by: Density, known: Matrix3<f64>) -> (Lab, [[f64; 3]; 3]) {
    let after = coloured(&(density(lab) - by));
    let both = lab_covariance(after, &(covariance(lab, &matrix(cov)) + known));
    (after, [0, 1, 2].map(|r| [0, 1, 2].map(|c| both[(r, c)])))
}

fn matrix(cov: &[[f64; 3]; 3]) -> Matrix3<f64> {
    Matrix3::from_fn(|r, c| cov[r][c])
}

/// Water stronger coloured than this (density apart from brightness) is no tint any more: strong tea, or a reagent.
const STRONG: f64 = 0.35;
/// A vial so much darker than paper (mean density) is cloudy, stands in shade, or holds something else than water.
const DARK: f64 = 0.9;
/// On a test's scale farther off its colours than this (standard deviations), a colour is not of that test.
const ON_SCALE: f64 = 3.37;
/// A place of a scale is coloured if its density, apart from brightness, is more than this: five times what is lost in noise.
const COLOURED: f64 = 0.12;

/// Why a vial cannot be the clear vial to a test: a clause to follow 'the liquid at D'. `path` is the test's path through
/// colours that are not zeroed. A reagent vial put there by mistake would hide what it holds from every reading of the photo. One that
/// holds none of what is tested may look like tinted water: then what is read on it lacks the reagent's own colour and
/// lies off the scale, if that colour can be seen at all.
pub fn suspect(test: &Test, path: &Path, clear: &Clear, foreign: f64) -> Option<String> {
    if let Some(why) = no_water(clear) {
        return Some(why);
    }
    let seen = Seen { lab: Lab(clear.lab), cov: clear.cov, foreign };
    let bounded = test.scale == Scale::Bounded;
    let found = invert(path, &seen, bounded);
    let on_scale = found.off <= ON_SCALE;
    // Water from wood and leaves is as yellow as many a reagent. Where the reagent's own colour is plain to see, its lack on the
    // sample's side tells of a mistake. Where it is not, whatever looks like the dye counts, also beneath a tint.
    let plain = hue(&path.density(0.0)) <= COLOURED;
    let beyond = |least: f64| limits(path, &seen).is_none_or(|(decision, _)| found.position >= decision.max(least));
    let holds = match (bounded, plain) {
        (true, _) => on_scale && hue(&path.density(found.position)) > COLOURED,
        (false, true) => beyond(0.0),
        (false, false) => on_scale && beyond(1.0),
    };
    let value = significant(path.value(found.position).max(0.0), 2);
    holds.then(|| format!("has a colour of the test {}, that of about {value} {}", test.name, test.unit))
}

/// Why a vial is not one of water alone, whatever the test.
pub fn no_water(clear: &Clear) -> Option<String> {
    let d = density(Lab(clear.lab));
    if hue(&d) > STRONG {
        return Some("is too strongly coloured for water alone".to_string());
    }
    (d.mean() > DARK).then(|| "lets too little light through for clear water".to_string())
}

/// How coloured, apart from brightness.
fn hue(d: &Density) -> f64 {
    d.add_scalar(-d.mean()).norm()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{LinRgb, lab_from_linear};
    use crate::curve::answer;
    use crate::curve::kit::{Matrix, Source};
    use crate::water::{Amount, Analyte, Species, Unit};

    /// A made-up dye, and its reagent's own yellow: ln units a unit of amount in red, green and blue.
    const DYE: [f64; 3] = [1.2, 0.2, 0.06];
    const REAGENT: [f64; 3] = [0.02, 0.04, 0.25];
    /// Water from a tank with wood and leaves in it.
    const TEA: [f64; 3] = [0.03, 0.09, 0.24];
    const PURE: [f64; 3] = [0.0; 3];
    const COV: [[f64; 3]; 3] = [[0.15, 0.0, 0.0], [0.0, 0.15, 0.0], [0.0, 0.0, 0.15]];

    /// What a vial looks like with so much light on the paper behind it (ln units less).
    fn vial(water: [f64; 3], reagent: f64, amount: f64, dim: f64) -> [f64; 3] {
        lab_from_linear(LinRgb([0, 1, 2].map(|c| {
            let glass = 0.06;
            (-(water[c] + reagent * REAGENT[c] + amount * DYE[c] + glass + dim)).exp()
        })))
        .0
    }

    fn clear(water: [f64; 3], dim: f64) -> Clear {
        Clear { lab: vial(water, 0.0, 0.0, dim), cov: COV }
    }

    /// Standards, each twice in somewhat different light; with clear vials of pure water beside them or without.
    fn test(cleared: bool, yellow: f64) -> Test {
        let mut test = Test::new("ammonia", Analyte::Ammonia, Unit::mg_l(Species::AmmoniaN), Matrix::Fresh);
        for (i, value) in [0.0, 0.2, 0.6, 1.2, 2.5, 5.0].into_iter().enumerate() {
            for dim in [0.02 * i as f64, 0.1 - 0.02 * i as f64] {
                test.swatches.push(Swatch {
                    value,
                    value_sd: None,
                    source: Source::Standard,
                    lab: vial(PURE, yellow, value, dim),
                    cov: COV,
                    photo: String::new(),
                    station: "B".into(),
                    light: Vec::new(),
                    taken: None,
                    clear: cleared.then(|| clear(PURE, dim)),
                });
            }
        }
        test
    }

    fn read(test: &Test, lab: [f64; 3], clear: Option<Clear>) -> crate::curve::Answer {
        let (off, nuisance) = (Off::of(test), Nuisance::default());
        let seen = Seen { lab: Lab(lab), cov: COV, foreign: 0.0 };
        match clear {
            None => answer(test, &Path::new(test, nuisance).unwrap(), &seen),
            Some(clear) => {
                let path = Path::new(&off.test(test), off.nuisance(nuisance)).unwrap();
                let (lab, cov) = Zero::on(clear).off(off, seen.lab, &seen.cov);
                answer(test, &path, &Seen { lab, cov, ..seen })
            }
        }
    }

    /// Worst error and mean width over the range, in standards; in tea-coloured water at a dim station.
    fn errors(test: &Test, zeroed: bool) -> (f64, f64) {
        let values = [0.1, 0.4, 0.9, 1.8, 3.5];
        let path = Path::new(test, Nuisance::default()).unwrap();
        let (mut worst, mut width) = (0.0f64, 0.0);
        for value in values {
            let dim = 0.35;
            let clear = zeroed.then(|| clear(TEA, dim - 0.04));
            let found = read(test, vial(TEA, 1.0, value, dim), clear).found;
            worst = worst.max((found.position - path.position(value)).abs());
            width += (found.upper - found.lower) / values.len() as f64;
        }
        (worst, width)
    }

    #[test]
    fn tint_and_dimness_go_where_all_had_clear_vials() {
        let (cleared, plain) = (test(true, 1.0), test(false, 1.0));
        let [with, tint, without] = [errors(&cleared, true), errors(&plain, true), errors(&plain, false)];
        assert!(with.0 < 0.08 && tint.0 < 0.07 && without.0 > 0.5, "{with:?} {tint:?} {without:?}");
        // Narrower than where the brightness stays unknown.
        assert!(with.1 < 0.75 * tint.1, "{with:?} {tint:?}");
    }

    #[test]
    fn none_in_tinted_water_is_none_only_with_a_clear_vial() {
        let test = test(true, 1.0);
        let water = vial(TEA, 1.0, 0.0, 0.2);
        let Ok(none @ Amount::NotDetected { .. }) = read(&test, water, Some(clear(TEA, 0.2))).amount else {
            panic!("{:?}", read(&test, water, Some(clear(TEA, 0.2))))
        };
        assert!(none.level().value < 0.1, "half the lowest standard: {none}");
        let without = read(&test, water, None);
        assert!(without.found.off > 3.0 || !matches!(without.amount, Ok(Amount::NotDetected { .. })), "{without:?}");
        // The clear vial's own noise is the reading's.
        let limit = |cov: f64| {
            let cov = [[cov, 0.0, 0.0], [0.0, cov, 0.0], [0.0, 0.0, cov]];
            read(&test, water, Some(Clear { cov, ..clear(TEA, 0.2) })).detection_limit.unwrap().value
        };
        let [none, some, much] = [limit(1e-6), limit(0.5), limit(4.0)];
        assert!(some > 1.1 * none && much > 1.8 * none, "{none} {some} {much}");
    }

    #[test]
    fn a_zero_standard_that_holds_some_still_shows_it() {
        for cleared in [true, false] {
            let test = test(cleared, 1.0);
            // Reagent in pure water that is not pure, beside tank water of any tint.
            for (tint, held) in [(PURE, 0.2), (TEA, 0.2), (PURE, 0.6), (TEA, 0.6), (TEA, 2.0)] {
                let answer = read(&test, vial(PURE, 1.0, held, 0.1), Some(clear(tint, 0.1)));
                let none = matches!(answer.amount, Ok(Amount::NotDetected { .. }));
                assert!(!none, "{held} beside {tint:?} is called none: {answer:?}");
                if held > 0.5 {
                    let Ok(Amount::Measured { interval95, .. }) = &answer.amount else { continue };
                    assert!(interval95.lower() > 0.0, "{held} beside {tint:?}: {interval95:?}");
                }
            }
        }
    }

    #[test]
    fn a_reagent_vial_in_the_clear_vials_place_hides_nothing() {
        let (mut refused, mut read_on) = (0, 0);
        let yellows = [0.0, 0.4, 0.7, 1.0, 2.0];
        for (cleared, water, yellow) in [true, false]
            .into_iter()
            .flat_map(|c| [PURE, TEA].map(|w| (c, w)))
            .flat_map(|(c, w)| yellows.map(|y| (c, w, y)))
        {
            let test = test(cleared, yellow);
            let raw = Path::new(&test, Nuisance::default()).unwrap();
            for held in [0.0, 0.1, 0.2, 0.6, 2.0, 5.0] {
                let wrong = Clear { lab: vial(water, yellow, held, 0.1), cov: COV };
                if suspect(&test, &raw, &wrong, 0.0).is_some() {
                    refused += 1;
                    continue;
                }
                for amount in [0.2, 0.4, 0.6, 1.0, 2.0, 4.0] {
                    let answer = read(&test, vial(water, yellow, amount, 0.1), Some(wrong));
                    // What the curve cannot see it cannot see here either: half the lowest standard.
                    let doubted = !answer.findings.iter().all(crate::finding::Finding::may_reassure);
                    match answer.amount {
                        Err(_) => refused += 1,
                        Ok(Amount::NotDetected { .. }) => {
                            panic!(
                                "{amount} zeroed on {held} of yellow {yellow} in {water:?} is called none, {cleared}"
                            )
                        }
                        Ok(Amount::Measured { interval95, .. }) => {
                            assert!(
                                doubted || interval95.upper() > amount - 0.1,
                                "{amount} zeroed on {held} of yellow {yellow} in {water:?}, {cleared}: {interval95:?}"
                            );
                            read_on += 1;
                        }
                        Ok(_) => read_on += 1,
                    }
                }
            }
        }
        assert!(refused >= 30 && read_on >= 30, "{refused} {read_on}");
    }

    #[test]
    fn what_holds_reagent_is_no_clear_vial() {
        let test = test(false, 1.0);
        let path = Path::new(&test, Nuisance::default()).unwrap();
        let why = |clear: Clear| suspect(&test, &path, &clear, 0.0);
        for dim in [0.0, 0.15, 0.4] {
            for water in [PURE, TEA, TEA.map(|t| 0.5 * t)] {
                assert_eq!(why(clear(water, dim)), None, "{water:?} {dim}");
            }
            // A vial with reagent put there by mistake.
            for held in [0.3, 0.6, 2.0, 5.0] {
                assert!(why(Clear { lab: vial(PURE, 1.0, held, dim), cov: COV }).is_some(), "{held} {dim}");
            }
        }
        let said = why(Clear { lab: vial(PURE, 1.0, 0.3, 0.0), cov: COV }).unwrap();
        assert!(said.starts_with("has a colour of the test ammonia, that of about 0.3"), "{said}");
        let deep = Clear { lab: vial([0.1, 0.2, 0.9], 0.0, 0.0, 0.0), cov: COV };
        assert_eq!(no_water(&deep).as_deref(), Some("is too strongly coloured for water alone"));
        assert!(no_water(&clear(PURE, 1.2)).unwrap().contains("too little light"));
    }
}
