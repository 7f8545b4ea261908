//! Places: lights that are known again by their signature, the lamp or window and where it stands, as a phone's camera sees it.
//!
//! A signature is the plain matrix from camera light into the card's space, row by row, and the slopes of the even light to the
//! right and down (see the room light). The matrix tells one light from another; the slopes tell from which side it falls.

use super::kit::Kit;

/// A light this near to a calibration photo's is the same place (root of the summed squares over the plain matrices): the
/// largest difference between photos of one place in the computer-made home sets is 0.067, the smallest between a window
/// and a lamp 0.08.
pub const SAME: f64 = 0.072;
/// A light farther away than this is in doubt altogether.
pub const STRANGE: f64 = 0.12;
/// Slope of the even light, ln units across the card, from which it is said to fall from a side. Between photos of one place of the
/// demo's kit slopes differ by up to 0.13.
const ONE_SIDED: f64 = 0.15;
/// Entries of the matrix in a signature.
const MATRIX: usize = 9;

/// How far two lights are apart: root of the summed squares over the plain matrices; None where one of them holds none.
pub fn apart(a: &[f64], b: &[f64]) -> Option<f64> {
    let (a, b) = (a.get(..MATRIX)?, b.get(..MATRIX)?);
    Some(a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()).filter(|d| d.is_finite())
}

/// Whether two signatures are of one light; one that tells nothing counts as any.
pub fn same_light(a: &[f64], b: &[f64]) -> bool {
    apart(a, b).is_none_or(|d| d <= SAME)
}

/// The least distance of a light to some others.
pub fn nearest<'a>(light: &[f64], others: impl IntoIterator<Item = &'a [f64]>) -> Option<f64> {
    others.into_iter().filter_map(|o| apart(o, light)).min_by(f64::total_cmp)
}

impl Kit {
    /// How far a light is from the nearest one that a swatch was photographed in; None where no swatch tells its light.
    pub fn away(&self, light: &[f64]) -> Option<f64> {
        nearest(light, self.tests.iter().flat_map(|t| &t.swatches).map(|s| s.light.as_slice()))
    }

    /// How foreign a light is to the curves: 0 where the kit was calibrated.
    pub fn foreign(&self, light: &[f64]) -> f64 {
        self.away(light).filter(|d| *d > SAME).unwrap_or(0.0)
    }
}

/// Puts lights together that agree, directly or by way of others: whoever is near one of a group is at its place, as in reading.
/// Gives each one's group, counted in the order in which groups are met. Lights without a matrix are of no group.
pub fn grouped(lights: &[&[f64]]) -> Vec<Option<usize>> {
    let mut group: Vec<Option<usize>> = vec![None; lights.len()];
    let mut count = 0;
    for i in 0..lights.len() {
        if group[i].is_some() || apart(lights[i], lights[i]).is_none() {
            continue;
        }
        group[i] = Some(count);
        let mut met = vec![i];
        while let Some(one) = met.pop() {
            for (j, other) in group.iter_mut().enumerate().filter(|(_, g)| g.is_none()) {
                if apart(lights[one], lights[j]).is_some_and(|d| d <= SAME) {
                    *other = Some(count);
                    met.push(j);
                }
            }
        }
        count += 1;
    }
    group
}

/// From where most of the light on the card falls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Left,
    Right,
    Above,
    Below,
    /// From nowhere clearly.
    Even,
}

impl Side {
    /// Of a light: the side to which the paper grows brighter. None where the signature has no slopes.
    pub fn of(light: &[f64]) -> Option<Self> {
        let [right, down] = light.get(MATRIX..MATRIX + 2)?.try_into().ok()?;
        Some(match (right, down) {
            (r, d) if f64::max(f64::abs(r), f64::abs(d)) < ONE_SIDED => Self::Even,
            (r, d) if f64::abs(r) >= f64::abs(d) => {
                if r > 0.0 {
                    Self::Right
                } else {
                    Self::Left
                }
            }
            (_, d) => {
                if d > 0.0 {
                    Self::Below
                } else {
                    Self::Above
                }
            }
        })
    }

    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Above => "above",
            Self::Below => "below",
            Self::Even => "even",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Left => "light from the left",
            Self::Right => "light from the right",
            Self::Above => "light from above",
            Self::Below => "light from below",
            Self::Even => "even light",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A light whose matrix is `x` away from one.
    fn light(x: f64) -> Vec<f64> {
        let mut l = vec![1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0];
        l[0] += x;
        l
    }

    #[test]
    fn lights_that_agree_are_of_one_group() {
        // The first and the third agree by way of the second; the others are too far from all three.
        let lights = [0.0, 0.5, 0.12, 0.06, 0.195].map(light);
        let slices: Vec<&[f64]> = lights.iter().map(Vec::as_slice).collect();
        assert_eq!(grouped(&slices), [Some(0), Some(1), Some(0), Some(0), Some(2)]);
        // Whatever the order.
        let turned: Vec<&[f64]> = slices.iter().rev().copied().collect();
        assert_eq!(grouped(&turned), [Some(0), Some(1), Some(1), Some(2), Some(1)]);
        // 0.072 is one light still, a little more is not.
        let near = |d: f64| grouped(&[&light(0.0), &light(d)])[1];
        assert_eq!((near(0.0719), near(0.0721)), (Some(0), Some(1)));
    }

    #[test]
    fn what_tells_no_light_is_of_no_group() {
        let (bad, good) = (light(f64::NAN), light(0.0));
        assert_eq!(grouped(&[&good[..4], &good, &bad, &[]]), [None, Some(0), None, None]);
        assert_eq!((apart(&good, &good[..8]), nearest(&good, [])), (None, None));
    }

    #[test]
    fn light_falls_from_the_brighter_side() {
        let from = |right: f64, down: f64| {
            let mut l = light(0.0);
            (l[9], l[10]) = (right, down);
            Side::of(&l).map(Side::as_str)
        };
        let sides = [(0.3, 0.1), (-0.16, 0.1), (0.1, -0.4), (0.1, 0.2), (0.14, -0.14)].map(|(r, d)| from(r, d));
        assert_eq!(sides, ["right", "left", "above", "below", "even"].map(Some));
        assert_eq!(Side::of(&light(0.0)[..9]), None);
    }
}
