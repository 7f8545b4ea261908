//! How the light of a photo changes the way through the liquid, learnt from a kit's calibration photos.
//!
//! Light from behind the camera passes the liquid twice, light from the side once, and much in between: under one light the dye of
//! all tests acts more strongly than under another. Where a kit has the same standard under several lights, their densities tell by how
//! much. The logarithm of that factor is taken as a smooth function of the light's signature (Gaussian process regression, Rasmussen and
//! Williams 2006, chapter 2), one function for all tests of the kit. Where nothing is known the factor is 1.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};

use super::density::{Density, density};
use super::kit::{Kind, Kit, Source, Swatch, Test};
use crate::colour::Lab;
use crate::trial::{Part, without};

/// Standard deviation of the ln factor between lights, and of one vial about its light's: in six kits of invented keepers (two lights
/// each, or one), computer-made, places differ by 0.04 to 0.19, vials of one place by 0.03 to 0.12.
const BETWEEN: f64 = 0.1;
const WITHIN: f64 = 0.1;
/// Error of a density apart from brightness.
const NOISE: f64 = 0.03;
/// How far lights may differ and still be much alike: length in the space of signatures; and what a slope of the even light counts
/// against an entry of the matrix. Median errors at the usual places of those keepers (118 vials) are 0.070 to 0.073 steps for 0.05 to
/// 0.08 and 0.2 to 0.5, and 0.086 without; 95th percentiles 0.28 to 0.30.
const ALIKE: f64 = 0.08;
const SLOPE: f64 = 0.3;
/// A density that differs more than by this factor from its fellows is no matter of the way.
const MOST: f64 = 0.8;
/// Entries of a signature: the plain matrix, then the slopes to the right and down.
const ENTRIES: usize = 11;
/// Rounds in which the factors and the mean densities they are taken against settle.
const ROUNDS: usize = 4;

/// ln of the way's factor under any light, relative to a kit's calibration photos together.
#[derive(Debug, Clone)]
pub struct Ways {
    lights: Vec<[f64; ENTRIES]>,
    weights: Vec<f64>,
    /// Inverse of the covariance of what was seen.
    known: DMatrix<f64>,
}

impl Default for Ways {
    /// Nothing is known.
    fn default() -> Self {
        Self { lights: Vec::new(), weights: Vec::new(), known: DMatrix::zeros(0, 0) }
    }
}

/// Standards of one concentration: density apart from brightness, and the light it was seen in.
type Group = Vec<(Density, [f64; ENTRIES])>;

impl Ways {
    /// What a kit's own standards tell. Of strips nothing: pads are looked at, not through.
    pub fn of(kit: &Kit) -> Self {
        let mut ways = Self::default();
        if kit.kind == Kind::Strip || without(Part::Lights) {
            return ways;
        }
        let series: Vec<Vec<Group>> = kit.tests.iter().map(repeated).collect();
        for _ in 0..ROUNDS {
            match ways.next(series.iter().flatten()) {
                Some(next) => ways = next,
                None => return Self::default(),
            }
        }
        ways
    }

    /// ln of the factor under a light, from its signature (see the room light).
    pub fn ln_at(&self, light: &[f64]) -> f64 {
        let Some(at) = place(light) else { return 0.0 };
        self.lights.iter().zip(&self.weights).map(|(l, w)| w * kernel(l, &at)).sum()
    }

    /// Standard deviation with which it is known; 0 where nothing was learnt, for then the kit's one light counts as every light.
    pub fn unsure(&self, light: &[f64]) -> f64 {
        let Some(at) = place(light).filter(|_| !self.lights.is_empty()) else { return 0.0 };
        let near = DVector::from_iterator(self.lights.len(), self.lights.iter().map(|l| kernel(l, &at)));
        (kernel(&at, &at) - near.dot(&(&self.known * &near))).max(0.0).sqrt()
    }

    /// Factor by which a swatch's density is to be multiplied so that it stands for the light given.
    pub(super) fn factor(&self, swatch: &Swatch, light: &[f64]) -> f64 {
        if self.lights.is_empty() || swatch.light.len() < ENTRIES {
            return 1.0;
        }
        (self.ln_at(light) - self.ln_at(&swatch.light)).exp()
    }

    /// One more round: factors of the swatches against the means of their concentration, these taken under one light by the
    /// factors known so far.
    fn next<'a>(&self, groups: impl Iterator<Item = &'a Vec<(Density, [f64; ENTRIES])>>) -> Option<Self> {
        let (mut lights, mut seen, mut noise) = (Vec::new(), Vec::new(), Vec::new());
        for group in groups {
            let mean = group.iter().map(|(d, l)| d * (-self.ln_at(l)).exp()).sum::<Density>() / group.len() as f64;
            let strength = mean.norm_squared();
            for (d, light) in group {
                let off = d.dot(&mean) / strength - 1.0;
                // A density of nothing tells nothing.
                if off.is_finite() && off.abs() <= MOST {
                    lights.push(*light);
                    seen.push(off);
                    noise.push(WITHIN.powi(2) + NOISE.powi(2) / strength);
                }
            }
        }
        // Factors are relative to all photos together: a common one would say nothing, and drift.
        let n = lights.len();
        let common = seen.iter().sum::<f64>() / n.max(1) as f64;
        seen.iter_mut().for_each(|s| *s -= common);
        let spread =
            DMatrix::from_fn(n, n, |i, j| kernel(&lights[i], &lights[j]) + if i == j { noise[i] } else { 0.0 });
        let known = spread.cholesky()?.inverse();
        let weights = &known * DVector::from_vec(seen);
        Some(Self { lights, weights: weights.as_slice().to_vec(), known })
    }
}

fn kernel(a: &[f64; ENTRIES], b: &[f64; ENTRIES]) -> f64 {
    let squared: f64 = a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum();
    BETWEEN.powi(2) * (-0.5 * squared / ALIKE.powi(2)).exp()
}

/// A signature as a place in the space in which lights are compared.
fn place(light: &[f64]) -> Option<[f64; ENTRIES]> {
    let mut at: [f64; ENTRIES] = light.get(..ENTRIES)?.try_into().ok()?;
    at[ENTRIES - 2..].iter_mut().for_each(|s| *s *= SLOPE);
    Some(at)
}

/// Densities apart from brightness of a test's standards, by concentrations of which there is more than one.
fn repeated(test: &Test) -> Vec<Group> {
    let mut groups: BTreeMap<u64, Vec<_>> = BTreeMap::new();
    for s in test.swatches.iter().filter(|s| s.source == Source::Standard) {
        let Some(at) = place(&s.light) else { continue };
        let d = density(Lab(s.lab));
        groups.entry(s.value.to_bits()).or_default().push((d.add_scalar(-d.mean()), at));
    }
    groups.into_values().filter(|g| g.len() > 1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{LinRgb, lab_from_linear};
    use crate::curve::kit::Matrix;
    use crate::curve::{Nuisance, Path, Seen, invert};
    use crate::water::{Analyte, Unit};

    const VALUES: [f64; 6] = [0.0, 0.1, 0.3, 0.8, 1.6, 3.2];

    fn light(window: bool) -> Vec<f64> {
        let mut l = vec![1.1, -0.1, 0.0, 0.05, 0.9, 0.05, 0.0, -0.1, 1.1, 0.2, 0.0];
        if !window {
            (l[0], l[9]) = (1.0, -0.3);
        }
        l
    }

    fn seen(value: f64, way: f64, gain: f64) -> [f64; 3] {
        lab_from_linear(LinRgb([0.1, 0.7, 0.3].map(|a: f64| gain * (-a * value * way).exp()))).0
    }

    fn cov() -> [[f64; 3]; 3] {
        [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]]
    }

    /// Four tests of one dye, by the window with a way longer by a tenth, under the lamp shorter.
    fn kit(lamp: bool) -> Kit {
        let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
        let mut kit = Kit::new("two lights").unwrap();
        for name in ["one", "two", "three", "four"] {
            let mut test = Test::new(name, Analyte::Nitrite, unit.clone(), Matrix::Fresh);
            for (i, value) in VALUES.into_iter().enumerate() {
                for window in [true, false].into_iter().filter(|w| *w || lamp) {
                    // Brightness differs from vial to vial and must not matter.
                    let lab = seen(value, if window { 1.1 } else { 0.9 }, 0.7 + 0.05 * i as f64);
                    let (photo, station) = (format!("{name}-{i}-{window}"), "B".to_string());
                    let (source, light, value_sd) = (Source::Standard, light(window), None);
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
            kit.add_test(test).unwrap();
        }
        kit
    }

    #[test]
    fn two_lights_are_told_apart_and_the_middle_is_kept() {
        let ways = Ways::of(&kit(true));
        let (window, lamp) = (ways.ln_at(&light(true)), ways.ln_at(&light(false)));
        // ln 1.1 - ln 0.9 is 0.20, drawn a little to none by the prior; about the mean, 1.
        assert!((0.16..0.21).contains(&(window - lamp)), "{window} {lamp}");
        assert!((window + lamp).abs() < 0.03, "{window} {lamp}");
        // Twenty pairs with a spread of a tenth each: known to a fiftieth or so, elsewhere no better than beforehand.
        assert!((0.015..0.04).contains(&ways.unsure(&light(true))), "{}", ways.unsure(&light(true)));
        // A light unlike both: nothing is known.
        let strange: Vec<f64> = light(true).iter().map(|v| v + 0.5).collect();
        assert!(ways.ln_at(&strange).abs() < 1e-3);
        assert!((ways.unsure(&strange) - BETWEEN).abs() < 1e-3);
        assert_eq!(ways.ln_at(&light(true)[..9]), 0.0, "a signature without slopes says nothing");
    }

    #[test]
    fn a_vial_is_read_by_its_own_light() {
        let kit = kit(true);
        let ways = Ways::of(&kit);
        let test = &kit.tests[0];
        let error = |path: &Path| {
            let s = Seen { lab: Lab(seen(1.2, 1.1, 0.6)), cov: cov(), foreign: 0.0 };
            invert(path, &s, false).position - path.position(1.2)
        };
        let pooled = error(&Path::new(test, Nuisance::default()).unwrap());
        let own = error(&Path::under(test, Nuisance::default(), &ways, &light(true)).unwrap());
        assert!(pooled > 0.1, "{pooled}");
        assert!(own.abs() < 0.25 * pooled, "{own} against {pooled}");
    }

    #[test]
    fn one_light_tells_nothing() {
        let ways = Ways::of(&kit(false));
        assert_eq!((ways.ln_at(&light(true)), ways.unsure(&light(true))), (0.0, 0.0));
    }
}
