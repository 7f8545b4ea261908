//! Calibration lines read backwards, and the smallest amount that can be told from none.
//!
//! Pure functions on numbers: a signal (any scale on which the calibration is a straight line) against an amount.
//! *Decision limit*: a reading above it is not a blank, with error α. *Detection limit*: an amount this large is missed
//! with probability β only. All assume errors that are normal and of one size, unless weights say otherwise.
//!
//! Sources: L. A. Currie, "Nomenclature in evaluation of analytical methods including detection and quantification
//! capabilities" (IUPAC Recommendations 1995), Pure Appl. Chem. 67, 1699-1723; ISO 11843-2:2000; K. Danzer, L. A.
//! Currie, "Guidelines for calibration in analytical chemistry, part 1" (IUPAC Recommendations 1998), Pure Appl. Chem.
//! 70, 993-1014. The formulas are restated here, from memory of these documents.

use crate::numeric::fit::{FitError, least_squares};
use crate::numeric::robust::mean_sd;
use crate::numeric::stats::{detection_noncentrality, normal_quantile, t_quantile};
use nalgebra::{DMatrix, DVector};

/// Why no limit or value can be given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LimitError {
    /// Too few points or blanks for any spread to be known.
    #[error("{given} points where at least {needed} are needed")]
    TooFew {
        /// Points given.
        given: usize,
        /// Points needed.
        needed: usize,
    },
    /// The signal does not change with the amount.
    #[error("the signal does not change with the amount")]
    Flat,
    /// A value that is not finite, an error probability outside 0 to 1, or α + β not below 1.
    #[error("a value is not a number, or a probability is not between 0 and 1")]
    NotANumber,
    /// The line could not be fitted.
    #[error(transparent)]
    Fit(#[from] FitError),
}

impl LimitError {
    /// Stable name of the error.
    pub fn code(&self) -> &'static str {
        match self {
            LimitError::TooFew { .. } => "limit-too-few",
            LimitError::Flat => "limit-flat",
            LimitError::NotANumber => "limit-not-a-number",
            LimitError::Fit(e) => e.code(),
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            LimitError::TooFew { .. } => "measure more blanks or standards",
            LimitError::Flat => "use standards further apart, or check that the reagent still works",
            LimitError::NotANumber => "leave that value out, and give probabilities between 0 and 1",
            LimitError::Fit(e) => e.remedy(),
        }
    }
}

/// The chances of the two errors: calling a blank a find (α), and missing an amount at the detection limit (β).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Risks {
    /// Chance that a blank reads above the decision limit.
    pub alpha: f64,
    /// Chance that an amount at the detection limit reads below the decision limit.
    pub beta: f64,
}

impl Default for Risks {
    /// 5 % each, as both standards propose.
    fn default() -> Self {
        Self { alpha: 0.05, beta: 0.05 }
    }
}

/// Decision, detection and quantification limits on one scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Above it, it is not a blank (L_C, x_c).
    pub decision: f64,
    /// The smallest amount that is seldom missed (L_D, x_d).
    pub detection: f64,
    /// Ten standard deviations of a blank: about 10 % relative error (L_Q).
    pub quantification: f64,
}

impl Limits {
    /// The same limits as amounts, for a signal that grows by `sensitivity` a unit of amount (either sign).
    pub fn as_amounts(self, sensitivity: f64) -> Result<Limits, LimitError> {
        if !sensitivity.is_finite() {
            return Err(LimitError::NotANumber);
        }
        if sensitivity == 0.0 {
            return Err(LimitError::Flat);
        }
        let by = sensitivity.abs();
        Ok(Limits {
            decision: self.decision / by,
            detection: self.detection / by,
            quantification: self.quantification / by,
        })
    }

    /// Limits of the net signal when the standard deviation of a net blank, `sigma0`, is known beforehand: z σ₀, and
    /// (z₁₋α + z₁₋β) σ₀, 3.29 σ₀ at 5 % (Currie 1995).
    pub fn of_known_spread(sigma0: f64, risks: Risks) -> Result<Limits, LimitError> {
        if !(sigma0.is_finite() && sigma0 >= 0.0 && risks.alpha + risks.beta < 1.0) {
            return Err(LimitError::NotANumber);
        }
        let z = |risk: f64| normal_quantile(1.0 - risk).ok_or(LimitError::NotANumber);
        let decision = z(risks.alpha)? * sigma0;
        Ok(Limits { decision, detection: decision + z(risks.beta)? * sigma0, quantification: 10.0 * sigma0 })
    }

    fn of_estimated_spread(s0: f64, freedom: f64, risks: Risks) -> Result<Limits, LimitError> {
        let t = t_quantile(1.0 - risks.alpha, freedom).ok_or(LimitError::NotANumber)?;
        let delta = detection_noncentrality(freedom, risks.alpha, risks.beta).ok_or(LimitError::NotANumber)?;
        Ok(Limits { decision: t * s0, detection: delta * s0, quantification: 10.0 * s0 })
    }
}

/// What repeated readings of a blank say. Readings too coarse to scatter give a spread, and limits, of 0: add what is
/// known of their uncertainty before trusting those.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blank {
    /// Mean signal.
    pub mean: f64,
    /// Standard deviation of one reading.
    pub sd: f64,
    /// Standard deviation of a net signal (sample less blank mean): sd √(1/m + 1/n).
    pub net_sd: f64,
    /// Readings less one.
    pub freedom: usize,
    /// Limits of the net signal, in the unit of the signal (Currie 1995, spread estimated: t and the non-central t).
    pub limits: Limits,
}

impl Blank {
    /// From `n` readings of a blank; the sample will be the mean of `m` readings.
    pub fn from_readings(blank: &[f64], m: usize, risks: Risks) -> Result<Blank, LimitError> {
        if blank.iter().any(|v| !v.is_finite()) {
            return Err(LimitError::NotANumber);
        }
        if m == 0 {
            return Err(LimitError::TooFew { given: 0, needed: 1 });
        }
        let n = blank.len();
        let Some((mean, Some(sd))) = mean_sd(blank) else { return Err(LimitError::TooFew { given: n, needed: 2 }) };
        let net_sd = sd * (1.0 / m as f64 + 1.0 / n as f64).sqrt();
        let limits = Limits::of_estimated_spread(net_sd, (n - 1) as f64, risks)?;
        Ok(Blank { mean, sd, net_sd, freedom: n - 1, limits })
    }
}

/// A straight calibration line: signal = intercept + slope × amount, with what is needed to read it backwards.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Signal at amount 0.
    pub intercept: f64,
    /// Signal a unit of amount.
    pub slope: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// Standard deviation of a reading of weight 1 about the line, s_y/x.
    pub spread: f64,
    /// Number of standards of positive weight.
    pub n: usize,
    /// (Weighted) mean amount of the standards.
    pub mean_amount: f64,
    /// (Weighted) mean signal of the standards.
    pub mean_signal: f64,
    /// (Weighted) sum of squared distances of the amounts from their mean.
    pub sum_squares: f64,
    /// Part of the (weighted) variance of the signal the line explains, R².
    pub explained: f64,
}

/// An amount read from a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadBack {
    /// The amount.
    pub amount: f64,
    /// Its standard error by propagation (delta method).
    pub standard_error: f64,
    /// amount ± t × standard error.
    pub delta: (f64, f64),
    /// Fieller's interval, exact for normal errors; not symmetric. `None` when the slope itself is not safely different
    /// from 0 (g ≥ 1): then every amount is possible.
    pub fieller: Option<(f64, f64)>,
    /// Fieller's g = (t s_b / b)²: how unsure the slope is.
    pub g: f64,
}

impl Line {
    /// The least-squares line through standards; `weights` are inverse variances of the signals up to a factor (they
    /// are scaled to the mean 1). At least three standards of two different amounts.
    pub fn through(amounts: &[f64], signals: &[f64], weights: Option<&[f64]>) -> Result<Line, LimitError> {
        let rows = DMatrix::from_fn(amounts.len(), 2, |i, j| if j == 0 { 1.0 } else { amounts[i] });
        let signal = DVector::from_column_slice(signals);
        let mut w = weights.map_or_else(|| vec![1.0; amounts.len()], <[f64]>::to_vec);
        let n = w.iter().filter(|v| **v > 0.0).count();
        if n < 3 {
            return Err(LimitError::TooFew { given: n, needed: 3 });
        }
        let total: f64 = w.iter().sum();
        w.iter_mut().for_each(|v| *v *= n as f64 / total);
        let fit = least_squares(&rows, &signal, Some(&w))?;
        let mean = |values: &[f64]| values.iter().zip(&w).map(|(v, w)| v * w).sum::<f64>() / n as f64;
        let squares =
            |values: &[f64], mean: f64| -> f64 { values.iter().zip(&w).map(|(v, w)| w * (v - mean).powi(2)).sum() };
        let (mean_amount, mean_signal) = (mean(amounts), mean(signals));
        let all = squares(signals, mean_signal);
        let left: f64 = fit.residuals.iter().zip(&w).map(|(r, w)| w * r * r).sum();
        let sum_squares = squares(amounts, mean_amount);
        // A change within the rounding of the signals is none.
        let flat = fit.coef[1].abs() * sum_squares.sqrt() <= 1e-12 * signal.norm();
        Ok(Line {
            intercept: fit.coef[0],
            slope: if flat { 0.0 } else { fit.coef[1] },
            intercept_error: fit.standard_error(0),
            slope_error: fit.standard_error(1),
            spread: fit.scale,
            n,
            mean_amount,
            mean_signal,
            sum_squares,
            explained: if all > 0.0 { 1.0 - left / all } else { 0.0 },
        })
    }

    /// The amount at a signal that is the mean of readings of total weight `readings` (their number, when each has the
    /// weight 1), with intervals of the given confidence. The delta method is that of Danzer & Currie (1998); Fieller's
    /// interval that of N. R. Draper, H. Smith, *Applied Regression Analysis*, under inverse regression.
    pub fn amount_at(&self, signal: f64, readings: f64, confidence: f64) -> Result<ReadBack, LimitError> {
        if !(signal.is_finite() && readings > 0.0) {
            return Err(LimitError::NotANumber);
        }
        let slope = self.checked_slope()?;
        let t = t_quantile(0.5 + confidence / 2.0, (self.n - 2) as f64).ok_or(LimitError::NotANumber)?;
        let amount = (signal - self.intercept) / slope;
        let off = amount - self.mean_amount;
        let own = 1.0 / readings + 1.0 / self.n as f64;
        let far = (signal - self.mean_signal).powi(2) / (slope * slope * self.sum_squares);
        let standard_error = self.spread / slope.abs() * (own + far).sqrt();
        let g = (t * self.spread / slope).powi(2) / self.sum_squares;
        let fieller = (g < 1.0).then(|| {
            let half = t * self.spread / slope.abs() * (own * (1.0 - g) + off * off / self.sum_squares).sqrt();
            (self.mean_amount + (off - half) / (1.0 - g), self.mean_amount + (off + half) / (1.0 - g))
        });
        let delta = (amount - t * standard_error, amount + t * standard_error);
        Ok(ReadBack { amount, standard_error, delta, fieller, g })
    }

    /// Limits as amounts after ISO 11843-2:2000 for a sample that is the mean of `k` readings. The quantification
    /// limit, which that standard does not have, is ten times the same standard deviation, after Currie.
    pub fn limits(&self, k: usize, risks: Risks) -> Result<Limits, LimitError> {
        if k == 0 {
            return Err(LimitError::TooFew { given: 0, needed: 1 });
        }
        let slope = self.checked_slope()?;
        let s0 = self.spread / slope.abs() * self.zero_term(k);
        Limits::of_estimated_spread(s0, (self.n - 2) as f64, risks)
    }

    /// The signal at the decision limit, y_c of ISO 11843-2:2000.
    pub fn decision_signal(&self, k: usize, risks: Risks) -> Result<f64, LimitError> {
        Ok(self.intercept + self.slope * self.limits(k, risks)?.decision)
    }

    /// √(1/K + 1/n + x̄²/Sxx): spread of the difference from the line at amount 0, in units of a reading's spread.
    fn zero_term(&self, k: usize) -> f64 {
        (1.0 / k as f64 + 1.0 / self.n as f64 + self.mean_amount.powi(2) / self.sum_squares).sqrt()
    }

    fn checked_slope(&self) -> Result<f64, LimitError> {
        if self.slope == 0.0 || !self.slope.is_finite() { Err(LimitError::Flat) } else { Ok(self.slope) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const AMOUNTS: [f64; 5] = [0.0, 1.0, 2.0, 4.0, 8.0];
    const SIGNALS: [f64; 5] = [0.2, 1.1, 2.3, 3.9, 8.1];

    #[test]
    fn a_falling_signal_has_the_same_limits() {
        let up = Line::through(&AMOUNTS, &SIGNALS, None).unwrap();
        let down = Line::through(&AMOUNTS, &SIGNALS.map(|s| 10.0 - s), None).unwrap();
        let (a, b) = (up.limits(2, Risks::default()).unwrap(), down.limits(2, Risks::default()).unwrap());
        assert!((a.decision - b.decision).abs() < 1e-13 && (a.detection - b.detection).abs() < 1e-13);
        let (a, b) = (up.amount_at(3.0, 1.0, 0.95).unwrap(), down.amount_at(7.0, 1.0, 0.95).unwrap());
        assert!((a.amount - b.amount).abs() < 1e-13);
        assert!((a.fieller.unwrap().0 - b.fieller.unwrap().0).abs() < 1e-12);
        assert!(down.decision_signal(1, Risks::default()).unwrap() < 10.0 - 0.2);
    }

    #[test]
    fn fieller_ends_are_where_the_line_and_the_reading_just_disagree() {
        // At each end the test of signal = line(end) stands exactly at t.
        let line = Line::through(&AMOUNTS, &SIGNALS, None).unwrap();
        let read = line.amount_at(3.0, 2.0, 0.95).unwrap();
        let t = t_quantile(0.975, 3.0).unwrap();
        for end in <[f64; 2]>::from(read.fieller.unwrap()) {
            let miss = 3.0 - line.intercept - line.slope * end;
            let sd = line.spread * (0.5 + 0.2 + (end - line.mean_amount).powi(2) / line.sum_squares).sqrt();
            assert!((miss.abs() / sd - t).abs() < 1e-11, "{end}: {} against {t}", miss.abs() / sd);
        }
        assert!(read.fieller.unwrap().0 < read.amount && read.amount < read.fieller.unwrap().1);
    }

    #[test]
    fn an_unsure_slope_bounds_nothing() {
        let line = Line::through(&AMOUNTS, &[1.0, -1.0, 1.2, -0.8, 0.3], None).unwrap();
        let read = line.amount_at(0.5, 1.0, 0.95).unwrap();
        assert!(read.g >= 1.0, "{}", read.g);
        assert_eq!(read.fieller, None);
    }

    #[test]
    fn what_gives_no_limit_says_why() {
        let code = |r: Result<Limits, LimitError>| r.unwrap_err().code();
        let blank = |values: &[f64]| Blank::from_readings(values, 1, Risks::default()).map(|b| b.limits);
        assert_eq!(code(blank(&[])), "limit-too-few");
        assert_eq!(code(blank(&[0.3])), "limit-too-few");
        assert_eq!(code(blank(&[0.3, f64::NAN, 0.4])), "limit-not-a-number");
        let line = |x: &[f64], y: &[f64]| Line::through(x, y, None).and_then(|l| l.limits(1, Risks::default()));
        assert_eq!(code(line(&[0.0, 1.0], &[0.0, 1.0])), "limit-too-few");
        assert_eq!(code(line(&[2.0, 2.0, 2.0], &[0.0, 1.0, 0.5])), "fit-undetermined");
        assert_eq!(code(line(&[0.0, 1.0, 2.0], &[0.3, 0.3, 0.3])), "limit-flat");
        assert_eq!(code(line(&[0.0, 1.0, 2.0], &[0.0, 0.0])), "fit-shape");
        let never = Risks { alpha: 0.6, beta: 0.5 };
        assert_eq!(code(Limits::of_known_spread(1.0, never)), "limit-not-a-number");
        assert_eq!(code(Blank::from_readings(&[0.1, 0.2, 0.3], 1, never).map(|b| b.limits)), "limit-not-a-number");
    }
}
