//! Samples of a posterior by an ensemble that walks.
//!
//! Goodman & Weare, Commun. Appl. Math. Comput. Sci. 5:65 (2010), the stretch move with a = 2: needs no step sizes, and treats
//! stretched and tilted posteriors like round ones. The seed is handed in: the same seed gives the same samples.

/// Where walkers stand, with the logarithm of the density there.
pub type Walker<const N: usize> = ([f64; N], f64);

/// Lets the walkers take `rounds` rounds, each walker a step in each, and gives where all stood after every round, in order.
/// Half of them move at a time, stretched from the other half. A density of −∞ or NaN is never entered. Fewer than four walkers,
/// or none with a finite density, give nothing.
pub fn walk<const N: usize>(
    mut walkers: Vec<Walker<N>>,
    rounds: usize,
    seed: u64,
    density: impl Fn(&[f64; N]) -> f64,
) -> Vec<Vec<Walker<N>>> {
    walkers.retain(|w| w.1.is_finite());
    let half = walkers.len() / 2;
    if half < 2 {
        return Vec::new();
    }
    let mut random = fastrand::Rng::with_seed(seed);
    let mut out = Vec::with_capacity(rounds);
    for _ in 0..rounds {
        for i in 0..walkers.len() {
            let other = if i < half { half + random.usize(..walkers.len() - half) } else { random.usize(..half) };
            // z has the density 1/√z on [1/2, 2].
            let z = (1.0 + random.f64()).powi(2) / 2.0;
            let (from, to) = (walkers[i], walkers[other].0);
            let at: [f64; N] = std::array::from_fn(|d| to[d] + z * (from.0[d] - to[d]));
            let there = density(&at);
            let chance = (N as f64 - 1.0) * z.ln() + there - from.1;
            if random.f64().ln() < chance {
                walkers[i] = (at, there);
            }
        }
        out.push(walkers.clone());
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::robust::mean_sd;

    fn start() -> Vec<Walker<2>> {
        let mut random = fastrand::Rng::with_seed(5);
        (0..20).map(|_| [random.f64(), random.f64()]).map(|x| (x, density(&x))).collect()
    }

    /// Normal with means 3 and −1, deviations 2 and 0.1, correlation 0.9.
    fn density(x: &[f64; 2]) -> f64 {
        let (a, b) = ((x[0] - 3.0) / 2.0, (x[1] + 1.0) / 0.1);
        -(a * a - 1.8 * a * b + b * b) / (2.0 * (1.0 - 0.81))
    }

    #[test]
    fn a_stretched_tilted_normal_is_found_again() {
        let rounds = walk(start(), 3000, 7, density);
        let of = |d: usize| rounds[500..].iter().flatten().map(|w| w.0[d]).collect::<Vec<_>>();
        let (x, y) = (of(0), of(1));
        let ((mx, sx), (my, sy)) = (mean_sd(&x).unwrap(), mean_sd(&y).unwrap());
        let (sx, sy) = (sx.unwrap(), sy.unwrap());
        assert!((mx - 3.0).abs() < 0.15 && (sx / 2.0 - 1.0).abs() < 0.06, "{mx} {sx}");
        assert!((my + 1.0).abs() < 0.0075 && (sy / 0.1 - 1.0).abs() < 0.06, "{my} {sy}");
        let r = x.iter().zip(&y).map(|(x, y)| (x - mx) * (y - my)).sum::<f64>() / (x.len() as f64 * sx * sy);
        assert!((r - 0.9).abs() < 0.02, "{r}");
    }

    #[test]
    fn a_seed_repeats_and_a_wall_holds() {
        assert_eq!(walk(start(), 5, 7, density), walk(start(), 5, 7, density));
        assert_ne!(walk(start(), 5, 7, density), walk(start(), 5, 8, density));
        let wall = |x: &[f64; 2]| if x[0] < 0.0 { f64::NEG_INFINITY } else { density(x) };
        assert!(walk(start(), 200, 7, wall).iter().flatten().all(|w| w.0[0] >= 0.0));
        assert!(walk(start()[..3].to_vec(), 5, 7, density).is_empty());
        assert!(walk(vec![([0.0; 2], f64::NAN); 8], 5, 7, density).is_empty());
    }
}
