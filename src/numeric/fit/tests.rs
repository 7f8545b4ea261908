use super::*;

fn line(x: &[f64]) -> DMatrix<f64> {
    DMatrix::from_fn(x.len(), 2, |i, j| if j == 0 { 1.0 } else { x[i] })
}

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance:e}");
}

#[test]
fn weights_count_as_repeats() {
    let x = [0.0, 1.0, 2.0, 4.0];
    let y = [0.1, 1.3, 1.8, 4.4];
    let weighted = least_squares(&line(&x), &DVector::from_row_slice(&y), Some(&[1.0, 3.0, 1.0, 0.0])).unwrap();
    let repeated =
        least_squares(&line(&[0.0, 1.0, 1.0, 1.0, 2.0]), &DVector::from_row_slice(&[0.1, 1.3, 1.3, 1.3, 1.8]), None)
            .unwrap();
    near(weighted.coef[0], repeated.coef[0], 1e-14);
    near(weighted.coef[1], repeated.coef[1], 1e-14);
    assert_eq!(weighted.freedom, 1);
    near(weighted.leverage.iter().sum(), 2.0, 1e-14);
}

#[test]
fn left_out_residuals_are_those_of_fits_without_the_row() {
    let x = [0.0, 1.0, 2.0, 4.0, 7.0, 7.5];
    let y = [0.1, 1.3, 1.8, 4.4, 6.6, 8.1];
    let w = [1.0, 2.0, 0.5, 1.0, 3.0, 1.0];
    let fit = least_squares(&line(&x), &DVector::from_row_slice(&y), Some(&w)).unwrap();
    for (k, left_out) in fit.left_out_residuals().into_iter().enumerate() {
        let mut without = w;
        without[k] = 0.0;
        let other = least_squares(&line(&x), &DVector::from_row_slice(&y), Some(&without)).unwrap();
        near(left_out.unwrap(), y[k] - other.at(&[1.0, x[k]]), 1e-13);
    }
}

#[test]
fn a_row_that_alone_holds_a_coefficient_has_no_left_out_residual() {
    let rows = DMatrix::from_row_slice(3, 2, &[1.0, 0.0, 1.0, 0.0, 1.0, 1.0]);
    let fit = least_squares(&rows, &DVector::from_row_slice(&[1.0, 2.0, 5.0]), None).unwrap();
    let left = fit.left_out_residuals();
    assert_eq!(left[2], None);
    near(left[0].unwrap(), -1.0, 1e-14);
}

#[test]
fn robust_fit_drops_the_outliers() {
    let x: Vec<f64> = (0..24).map(|i| i as f64 / 4.0).collect();
    // A small, regular unevenness of standard deviation near 0.01, and three wild values, one of high leverage.
    let mut y: Vec<f64> =
        x.iter().enumerate().map(|(i, x)| 2.0 + 3.0 * x + 0.01 * ((i * 37 % 11) as f64 - 5.0) / 3.0).collect();
    let clean = least_squares(&line(&x), &DVector::from_row_slice(&y), None).unwrap();
    for (i, off) in [(23, 40.0), (5, -9.0), (12, 3.0)] {
        y[i] += off;
    }
    let spoilt = least_squares(&line(&x), &DVector::from_row_slice(&y), None).unwrap();
    let robust = irls(&line(&x), &DVector::from_row_slice(&y), None, 4.685).unwrap();
    assert!((spoilt.coef[1] - clean.coef[1]).abs() > 1.0);
    near(robust.coef[0], clean.coef[0], 0.004);
    near(robust.coef[1], clean.coef[1], 0.002);
    assert_eq!([23, 5, 12].map(|i| robust.weights[i]), [0.0; 3]);
    assert!((0.005..0.02).contains(&robust.scale), "{}", robust.scale);
    assert_eq!(robust.freedom, 19);
}

#[test]
fn robust_fit_finds_the_line_most_rows_lie_on_exactly() {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    let mut y = x.map(|x| 1.0 - 0.5 * x);
    y[1] = 30.0;
    y[6] = -7.0;
    let fit = irls(&line(&x), &DVector::from_row_slice(&y), None, 4.685).unwrap();
    near(fit.coef[0], 1.0, 1e-9);
    near(fit.coef[1], -0.5, 1e-9);
    assert_eq!((fit.weights[1], fit.weights[6]), (0.0, 0.0));
}

#[test]
fn prior_weights_reach_the_robust_fit() {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
    let y = DVector::from_row_slice(&[0.02, 0.97, 2.03, 2.98, 4.02, 9.0]);
    let fit = irls(&line(&x), &y, Some(&[1.0, 1.0, 1.0, 1.0, 1.0, 0.0]), 4.685).unwrap();
    let without = irls(&line(&x[..5]), &y.rows(0, 5).into_owned(), None, 4.685).unwrap();
    near(fit.coef[0], without.coef[0], 1e-12);
    near(fit.coef[1], without.coef[1], 1e-12);
    near(fit.scale, without.scale, 1e-12);
}

#[test]
fn what_cannot_be_fitted_says_why() {
    let y = DVector::from_row_slice(&[1.0, 2.0, 3.0]);
    let code = |r: Result<Fit, FitError>| r.unwrap_err().code();
    assert_eq!(code(least_squares(&line(&[1.0, 2.0]), &y, None)), "fit-shape");
    assert_eq!(code(least_squares(&line(&[1.0, 2.0, 3.0]), &y, Some(&[1.0, 0.0, 0.0]))), "fit-too-few");
    assert_eq!(code(least_squares(&line(&[2.0, 2.0, 2.0]), &y, None)), "fit-undetermined");
    assert_eq!(code(irls(&line(&[1.0, f64::NAN, 3.0]), &y, None, 4.685)), "fit-not-a-number");
    assert_eq!(code(least_squares(&line(&[1.0, 2.0, 3.0]), &y, Some(&[1.0, -1.0, 1.0]))), "fit-not-a-number");
}
