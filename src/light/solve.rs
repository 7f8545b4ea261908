//! Small weighted least squares on fixed-size rows.

use nalgebra::{SMatrix, SVector};

/// Weighted least squares with a prior: each coefficient is drawn to `prior` with weight `hold`. None when the rows do
/// not fix the coefficients.
pub(super) fn ridge<const N: usize>(
    rows: &[[f64; N]],
    y: &[f64],
    w: &[f64],
    prior: &[f64; N],
    hold: &[f64; N],
) -> Option<[f64; N]> {
    let mut a = SMatrix::<f64, N, N>::zeros();
    let mut b = SVector::<f64, N>::zeros();
    for ((r, y), w) in rows.iter().zip(y).zip(w) {
        let v = SVector::<f64, N>::from_column_slice(r);
        a += v * v.transpose() * *w;
        b += v * (*y * *w);
    }
    for i in 0..N {
        a[(i, i)] += hold[i] + 1e-12;
        b[i] += hold[i] * prior[i];
    }
    let x = a.cholesky()?.solve(&b);
    let x: [f64; N] = x.as_slice().try_into().ok()?;
    x.iter().all(|v| v.is_finite()).then_some(x)
}

/// Tukey's biweight of a residual in units of its cut.
pub(super) fn tukey(u: f64) -> f64 {
    let t = 1.0 - u * u;
    if t > 0.0 { t * t } else { 0.0 }
}

/// Robust standard deviation about zero (median absolute value × 1.4826).
pub(super) fn mad_scale(r: &[f64]) -> f64 {
    let mut v: Vec<f64> = r.iter().map(|x| x.abs()).collect();
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied().unwrap_or(0.0) * 1.4826
}

/// Median; 0 of nothing.
pub(super) fn median(v: &[f64]) -> f64 {
    let mut v = v.to_vec();
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied().unwrap_or(0.0)
}
