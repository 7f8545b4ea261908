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
    ridge_many(rows, [y], w, prior, hold).map(|[x]| x)
}

/// The same for several right-hand sides of one set of rows and weights.
pub(super) fn ridge_many<const N: usize, const M: usize>(
    rows: &[[f64; N]],
    y: [&[f64]; M],
    w: &[f64],
    prior: &[f64; N],
    hold: &[f64; N],
) -> Option<[[f64; N]; M]> {
    let mut a = SMatrix::<f64, N, N>::zeros();
    let mut b = [SVector::<f64, N>::zeros(); M];
    for (i, (r, w)) in rows.iter().zip(w).enumerate().filter(|(_, (_, w))| **w > 0.0) {
        for (j, rj) in r.iter().enumerate() {
            let wr = w * rj;
            for (k, rk) in r.iter().enumerate().take(j + 1) {
                a[(j, k)] += wr * rk;
            }
            (0..M).for_each(|m| b[m][j] += wr * y[m][i]);
        }
    }
    for i in 0..N {
        a[(i, i)] += hold[i] + 1e-12;
        (0..M).for_each(|m| b[m][i] += hold[i] * prior[i]);
    }
    // Only the lower triangle was summed; it is all that the decomposition reads.
    let cholesky = a.cholesky()?;
    let mut out = [[0.0; N]; M];
    for (o, b) in out.iter_mut().zip(&b) {
        o.copy_from_slice(cholesky.solve(b).as_slice());
    }
    out.iter().flatten().all(|v| v.is_finite()).then_some(out)
}

/// Tukey's biweight of a residual in units of its cut.
pub(super) fn tukey(u: f64) -> f64 {
    let t = 1.0 - u * u;
    if t > 0.0 { t * t } else { 0.0 }
}

/// Robust standard deviation about zero (median absolute value × 1.4826).
pub(super) fn mad_scale(r: &[f64]) -> f64 {
    median(&r.iter().map(|x| x.abs()).collect::<Vec<_>>()) * 1.4826
}

/// Upper median; 0 of nothing.
pub(super) fn median(v: &[f64]) -> f64 {
    let mut v = v.to_vec();
    let middle = v.len() / 2;
    if v.is_empty() { 0.0 } else { *v.select_nth_unstable_by(middle, f64::total_cmp).1 }
}
