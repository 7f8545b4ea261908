//! Location and spread that a few wrong values cannot spoil. Values that are not finite are left out by every function;
//! with nothing left the answer is `None`.

/// Times the median absolute deviation gives the standard deviation of normal data: 1 / Φ⁻¹(3/4).
pub const MAD_TO_SIGMA: f64 = 1.482602218505602;

/// The median; of an even count the mean of the middle two.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The quantile at `p` from 0 to 1 by linear interpolation at (n − 1) p: definition 7 of Hyndman & Fan, "Sample
/// quantiles in statistical packages", Am. Stat. 50, 361-365 (1996).
pub fn quantile(values: &[f64], p: f64) -> Option<f64> {
    let mut v: Vec<f64> = values.iter().copied().filter(|x| x.is_finite()).collect();
    let (below, share) = place(v.len(), p)?;
    // Only the two values about the place need to stand where sorting would put them.
    let (_, low, rest) = v.select_nth_unstable_by(below, f64::total_cmp);
    let high = rest.iter().copied().min_by(f64::total_cmp).unwrap_or(*low);
    Some(*low + (high - *low) * share)
}

/// The same for values already in ascending order and finite, for several quantiles of one set.
pub fn quantile_of_sorted(values: &[f64], p: f64) -> Option<f64> {
    let (below, share) = place(values.len(), p)?;
    let above = (below + 1).min(values.len() - 1);
    Some(values[below] + (values[above] - values[below]) * share)
}

/// Index of the value below the quantile of `n` values, and how far the quantile lies towards the next one.
fn place(n: usize, p: f64) -> Option<(usize, f64)> {
    let place = n.checked_sub(1).filter(|_| !p.is_nan())? as f64 * p.clamp(0.0, 1.0);
    Some((place.floor() as usize, place - place.floor()))
}

/// The median of the distances from the median, in the unit of the values.
pub fn mad(values: &[f64]) -> Option<f64> {
    let middle = median(values)?;
    median(&values.iter().map(|v| (v - middle).abs()).collect::<Vec<_>>())
}

/// A standard deviation from the median absolute deviation: right for normal data, and unmoved by outliers.
pub fn mad_sigma(values: &[f64]) -> Option<f64> {
    mad(values).map(|m| m * MAD_TO_SIGMA)
}

/// The value with half the weight on either side; where a gap between two values halves the weight, their mean.
/// Pairs whose weight is not positive and finite are left out. The lists must be of one length, else `None`.
pub fn weighted_median(values: &[f64], weights: &[f64]) -> Option<f64> {
    if values.len() != weights.len() {
        return None;
    }
    let usable = |&(v, w): &(f64, f64)| v.is_finite() && w.is_finite() && w > 0.0;
    let mut pairs: Vec<(f64, f64)> = values.iter().copied().zip(weights.iter().copied()).filter(usable).collect();
    pairs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let half = pairs.iter().map(|p| p.1).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    for (i, &(value, weight)) in pairs.iter().enumerate() {
        sum += weight;
        // Equal to half within the rounding of the sum: the gap itself is the middle.
        if (sum - half).abs() <= 1e-12 * half && i + 1 < pairs.len() {
            return Some((value + pairs[i + 1].0) / 2.0);
        }
        if sum > half {
            return Some(value);
        }
    }
    pairs.last().map(|p| p.0)
}

/// The mean and the standard deviation with n − 1 below; the deviation is `None` for a single value.
pub fn mean_sd(values: &[f64]) -> Option<(f64, Option<f64>)> {
    let v: Vec<f64> = values.iter().copied().filter(|x| x.is_finite()).collect();
    if v.is_empty() {
        return None;
    }
    let n = v.len() as f64;
    let mean = v.iter().sum::<f64>() / n;
    let squares = v.iter().map(|x| (x - mean).powi(2)).sum::<f64>();
    Some((mean, (v.len() > 1).then(|| (squares / (n - 1.0)).sqrt())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_of_odd_even_and_none() {
        assert_eq!(median(&[3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(median(&[f64::NAN, 7.0]), Some(7.0));
        assert_eq!(median(&[]), None);
    }

    #[test]
    fn quantiles_by_the_seventh_definition() {
        // 15, 20, 35, 40, 50: place 4 × 0.4 = 1.6, so 20 + 0.6 × 15.
        let v = [15.0, 20.0, 35.0, 40.0, 50.0];
        assert!((quantile(&v, 0.4).unwrap() - 29.0).abs() < 1e-12);
        assert_eq!(quantile(&v, 0.0), Some(15.0));
        assert_eq!(quantile(&v, 1.0), Some(50.0));
        assert_eq!(quantile(&v, f64::NAN), None);
    }

    #[test]
    fn mad_does_not_see_one_wild_value() {
        let v = [1.0, 2.0, 3.0, 4.0, 1000.0];
        assert_eq!(mad(&v), Some(1.0));
        assert!((mad_sigma(&v).unwrap() - 1.4826022185).abs() < 1e-9);
    }

    #[test]
    fn weighted_median_follows_the_weight() {
        assert_eq!(weighted_median(&[1.0, 2.0, 3.0], &[1.0, 1.0, 1.0]), Some(2.0));
        assert_eq!(weighted_median(&[1.0, 2.0, 3.0], &[5.0, 1.0, 1.0]), Some(1.0));
        assert_eq!(weighted_median(&[3.0, 1.0, 4.0, 2.0], &[0.1, 0.1, 0.1, 0.1]), Some(2.5));
        assert_eq!(weighted_median(&[9.0, 1.0], &[0.0, 2.0]), Some(1.0));
        assert_eq!(weighted_median(&[1.0], &[]), None);
    }

    #[test]
    fn mean_and_deviation() {
        let (mean, sd) = mean_sd(&[2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0]).unwrap();
        assert_eq!(mean, 5.0);
        assert!((sd.unwrap() - (32.0f64 / 7.0).sqrt()).abs() < 1e-14);
        assert_eq!(mean_sd(&[3.0]), Some((3.0, None)));
    }
}
