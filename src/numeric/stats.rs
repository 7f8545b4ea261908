//! Distributions: quantiles of the normal and of Student's t, the non-central t, intervals for a share.
//!
//! The special functions are those of `statrs`. Its inverse of the incomplete beta function may panic or never end
//! far in the tails, so probabilities are taken from 1e-9 to 1 − 1e-9; outside of a function's range the answer is `None`.

use statrs::distribution::{Beta, ChiSquared, ContinuousCDF, Normal, StudentsT};
use statrs::function::beta::beta_reg;
use statrs::function::gamma::ln_gamma;

/// Quantile of the standard normal distribution.
pub fn normal_quantile(p: f64) -> Option<f64> {
    usable(p)?;
    Some(Normal::standard().inverse_cdf(p))
}

/// Standard normal distribution function Φ.
pub fn normal_cdf(z: f64) -> f64 {
    Normal::standard().cdf(z)
}

/// How often a χ² variable of `freedom` degrees of freedom is larger than `x`.
pub fn chi_squared_above(x: f64, freedom: f64) -> Option<f64> {
    if !(x >= 0.0 && x.is_finite()) {
        return None;
    }
    Some(ChiSquared::new(checked_freedom(freedom)?).ok()?.sf(x))
}

/// Quantile of Student's t with `freedom` degrees of freedom, at least 1 and finite.
pub fn t_quantile(p: f64, freedom: f64) -> Option<f64> {
    usable(p)?;
    let nu = checked_freedom(freedom)?;
    if nu > MANY {
        // Abramowitz & Stegun 26.7.5, to the term in 1/ν²; the next is below 1e-12 of usual quantiles.
        let z = normal_quantile(p)?;
        let first = (z.powi(3) + z) / (4.0 * nu);
        let second = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * nu * nu);
        return Some(z + first + second);
    }
    Some(StudentsT::new(0.0, 1.0, nu).ok()?.inverse_cdf(p))
}

/// Degrees of freedom above which expansions about the normal distribution are used: the incomplete beta function
/// of `statrs` loses digits there (2e-6 in t at 1e5, all of them at 1e7).
const MANY: f64 = 1e4;

/// A range that holds an unknown share, as fractions of 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareInterval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Exact interval for a share after `hits` of `tries`, both sides together missing at most 1 − `confidence`: C. J.
/// Clopper, E. S. Pearson, Biometrika 26, 404-413 (1934). `None` without tries, with more hits than tries, or with more
/// than 100 000 tries.
pub fn clopper_pearson(hits: u64, tries: u64, confidence: f64) -> Option<ShareInterval> {
    if tries == 0 || hits > tries || tries > 100_000 {
        return None;
    }
    let (k, n) = (hits as f64, tries as f64);
    let tail = usable((1.0 - confidence) / 2.0)?;
    let low = if hits == 0 { 0.0 } else { Beta::new(k, n - k + 1.0).ok()?.inverse_cdf(tail) };
    let high = if hits == tries { 1.0 } else { Beta::new(k + 1.0, n - k).ok()?.inverse_cdf(1.0 - tail) };
    Some(ShareInterval { low, high })
}

/// Approximate interval for a share that covers as stated on average: E. B. Wilson, J. Am. Stat. Assoc. 22, 209-212
/// (1927). `None` as for [`clopper_pearson`].
pub fn wilson(hits: u64, tries: u64, confidence: f64) -> Option<ShareInterval> {
    if tries == 0 || hits > tries {
        return None;
    }
    let z = normal_quantile(0.5 + confidence / 2.0)?;
    let (n, p) = (tries as f64, hits as f64 / tries as f64);
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    // Rounding alone can lead past the ends.
    Some(ShareInterval { low: (middle - half).max(0.0), high: (middle + half).min(1.0) })
}

/// P(T ≤ t) for the non-central t with non-centrality `delta` ≥ 0 and t ≥ 0, by the series of R. V. Lenth, Algorithm
/// AS 243, Appl. Stat. 38, 185-189 (1989). `None` outside that, beyond `delta` 37 (where the first term underflows),
/// or for a freedom that is not between 1 and 10 000.
pub fn noncentral_t_cdf(t: f64, freedom: f64, delta: f64) -> Option<f64> {
    let nu = checked_freedom(freedom)?;
    if !(t >= 0.0 && t.is_finite() && (0.0..=37.0).contains(&delta) && nu <= MANY) {
        return None;
    }
    let mut sum = normal_cdf(-delta);
    let x = t * t / (t * t + nu);
    if x <= 0.0 {
        return Some(sum);
    }
    let lambda = delta * delta / 2.0;
    // Poisson-like weights: p for odd, q for even powers of t. The terms rise until j ≈ λ, then fall faster than 1/j!.
    let mut p = (-lambda).exp();
    let mut q = delta * (-lambda - ln_gamma(1.5)).exp() / std::f64::consts::SQRT_2;
    let last = (lambda + 12.0 * lambda.sqrt() + 60.0) as usize;
    for j in 0..=last {
        let k = j as f64;
        sum += 0.5 * (p * beta_reg(k + 0.5, nu / 2.0, x) + q * beta_reg(k + 1.0, nu / 2.0, x));
        p *= lambda / (k + 1.0);
        q *= lambda / (k + 1.5);
    }
    Some(sum.min(1.0))
}

/// The non-centrality δ(ν; α, β) at which a one-sided t test of error α misses with probability β:
/// P(T_ν(δ) ≤ t(1−α; ν)) = β. ISO 11843-2:2000 and Currie (1995) put it at the detection limit. For many degrees of
/// freedom it goes to z(1−α) + z(1−β), 3.29 at 5 %. `None` unless α ≤ 1/2 and α + β < 1, and where δ passes 37 (ν = 1
/// with a tiny α).
pub fn detection_noncentrality(freedom: f64, alpha: f64, beta: f64) -> Option<f64> {
    usable(alpha)?;
    usable(beta)?;
    let t = t_quantile(1.0 - alpha, freedom)?;
    if freedom > MANY {
        // Mean and spread of the non-central t to first order in 1/ν; 1e-9 from the exact value at this many.
        let delta = t * (1.0 - 0.25 / freedom) - normal_quantile(beta)? * (1.0 + t * t / (2.0 * freedom)).sqrt();
        return (t >= 0.0 && beta < 1.0 - alpha).then_some(delta);
    }
    // P falls from 1 − α at δ = 0 to 0.
    if t < 0.0 || beta >= 1.0 - alpha || noncentral_t_cdf(t, freedom, 37.0)? > beta {
        return None;
    }
    let (mut low, mut high) = (0.0, 37.0);
    while high - low > 1e-13 * high {
        let middle = (low + high) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if noncentral_t_cdf(t, freedom, middle)? > beta {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some((low + high) / 2.0)
}

/// A probability the special functions can be trusted with.
fn usable(p: f64) -> Option<f64> {
    (1e-9..=1.0 - 1e-9).contains(&p).then_some(p)
}

fn checked_freedom(freedom: f64) -> Option<f64> {
    (freedom >= 1.0 && freedom.is_finite()).then_some(freedom)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: Option<f64>, b: f64, tolerance: f64) {
        let a = a.unwrap();
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance:e}");
    }

    #[test]
    fn quantiles_as_printed_in_tables() {
        near(normal_quantile(0.975), 1.959963984540054, 1e-13);
        near(normal_quantile(0.95), 1.6448536269514722, 1e-13);
        // With one and two degrees of freedom the quantile has a closed form.
        near(t_quantile(0.975, 1.0), (0.475 * std::f64::consts::PI).tan(), 1e-11);
        near(t_quantile(0.975, 2.0), 0.95 * (2.0 / (1.0 - 0.95f64.powi(2))).sqrt(), 1e-12);
        near(t_quantile(0.025, 2.0), -0.95 * (2.0 / (1.0 - 0.95f64.powi(2))).sqrt(), 1e-12);
        // Computed with scipy 1.17.1, on either side of the change of method.
        near(t_quantile(0.95, 10_000.0), 1.64500601806924, 1e-10);
        near(t_quantile(0.95, 10_001.0), 1.64500600283023, 1e-12);
        assert_eq!(t_quantile(0.975, 0.0), None);
        assert_eq!(t_quantile(1.0, 3.0), None);
    }

    #[test]
    fn share_intervals() {
        // Closed forms at the ends: 0 of n is exceeded with probability (1 − p)ⁿ.
        let none = clopper_pearson(0, 20, 0.95).unwrap();
        assert_eq!(none.low, 0.0);
        near(Some(none.high), 1.0 - 0.025f64.powf(1.0 / 20.0), 1e-12);
        let all = clopper_pearson(20, 20, 0.95).unwrap();
        near(Some(all.low), 0.025f64.powf(1.0 / 20.0), 1e-12);
        assert_eq!(all.high, 1.0);
        // In between, the tail sums of the binomial at each end are 2.5 %.
        let some = clopper_pearson(3, 10, 0.95).unwrap();
        let pick = [1.0, 10.0, 45.0, 120.0, 210.0, 252.0, 210.0, 120.0, 45.0, 10.0, 1.0];
        let tail = |p: f64, ks: std::ops::RangeInclusive<i32>| -> f64 {
            ks.map(|k| pick[k as usize] * p.powi(k) * (1.0 - p).powi(10 - k)).sum()
        };
        near(Some(tail(some.low, 3..=10)), 0.025, 1e-12);
        near(Some(tail(some.high, 0..=3)), 0.025, 1e-12);
        // Wilson's ends solve (p − 0.3)² = z² p (1 − p) / 10.
        let wilson = wilson(3, 10, 0.95).unwrap();
        for end in [wilson.low, wilson.high] {
            near(Some((end - 0.3).powi(2)), 1.959963984540054f64.powi(2) * end * (1.0 - end) / 10.0, 1e-13);
        }
        assert!(wilson.low < 0.3 && wilson.high > 0.3);
        assert_eq!(clopper_pearson(3, 2, 0.95), None);
        assert_eq!(clopper_pearson(0, 0, 0.95), None);
    }

    #[test]
    fn noncentral_t_without_shift_is_the_central_one() {
        for (t, nu) in [(0.0, 3.0), (1.0, 3.0), (2.353363434801825, 3.0), (4.0, 30.0)] {
            let central = StudentsT::new(0.0, 1.0, nu).unwrap().cdf(t);
            near(noncentral_t_cdf(t, nu, 0.0), central, 1e-12);
        }
        assert_eq!(noncentral_t_cdf(-1.0, 3.0, 1.0), None);
    }

    #[test]
    fn detection_noncentrality_goes_to_the_normal_sum() {
        near(detection_noncentrality(1e9, 0.05, 0.05), 2.0 * 1.6448536269514722, 1e-8);
        // Computed with scipy 1.17.1, on either side of the change of method.
        near(detection_noncentrality(1_000.0, 0.05, 0.05), 3.29193518175, 1e-9);
        near(detection_noncentrality(10_001.0, 0.05, 0.05), 3.28992977094, 2e-9);
        near(detection_noncentrality(8.0, 0.01, 0.1), 4.38793478452, 1e-9);
        assert_eq!(detection_noncentrality(5.0, 0.6, 0.3), None);
        assert_eq!(detection_noncentrality(0.0, 0.05, 0.05), None);
        assert_eq!(detection_noncentrality(1.0, 1e-4, 0.05), None);
    }

    /// Tables of χ²: 7.815 at 5 % with 3 degrees of freedom, 16.812 at 1 % with 6.
    #[test]
    fn chi_squared_is_that_of_the_tables() {
        for (x, freedom, p) in [(7.814_728, 3.0, 0.05), (16.811_894, 6.0, 0.01), (0.0, 3.0, 1.0)] {
            let found = chi_squared_above(x, freedom).unwrap();
            assert!((found - p).abs() < 1e-7, "{x} {freedom}: {found}");
        }
        assert_eq!([chi_squared_above(f64::NAN, 3.0), chi_squared_above(1.0, 0.0)], [None, None]);
    }
}
