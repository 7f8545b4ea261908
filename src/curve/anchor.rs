//! A curve made of printed shades, and what standards of one's own make of it.
//!
//! A shade is printed to look like a vial; ink is not dye, and no printer hits every colour. What separates the true path from the
//! printed one is taken as a random function of the position with a known covariance (Gaussian process regression, Rasmussen and
//! Williams 2006, chapter 2): the way of light through the liquid (a factor on the printed density) and brightness (the same in
//! all bands) hold for the whole path, errors of single inks for a stretch of it, and towards the first standard the colour of
//! the reagent itself, which fades as the dye takes over. Every standard of one's own is an observation of that function;
//! what is left of its covariance widens the interval.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

use super::density::{Density, covariance, density};
use super::kit::{Source, Swatch, Test};
use super::path::{CurveError, Nuisance, Path, value_sd};
use crate::colour::Lab;

/// Standard deviations of what separates a printed path from the true one.
struct Prior {
    /// Of the factor on the printed density.
    way: f64,
    /// Mean, and deviation of what is the same in all bands: before a vial the paper is darker than before none.
    dim: f64,
    brightness: f64,
    /// Of each band, along a stretch of the path, density; second, relative to the printed density.
    ink: (f64, f64),
    /// Length of that stretch, in standards.
    stretch: f64,
    /// Of each band at the first standard, fading to none at the last.
    reagent: f64,
}

/// From eight printed series of two invented kits with known truth, computer-made.
const PRIOR: Prior = Prior { way: 0.2, dim: 0.3, brightness: 0.15, ink: (0.04, 0.06), stretch: 1.5, reagent: 0.1 };

/// The path at each of a test's concentrations, with the covariance in which it is known.
pub(super) struct Made {
    pub(super) values: Vec<f64>,
    pub(super) at: Vec<Density>,
    pub(super) known: Vec<Matrix3<f64>>,
}

impl Test {
    /// The test with the swatches of one source alone.
    fn only(&self, source: Source) -> Test {
        let swatches: Vec<Swatch> = self.swatches.iter().filter(|s| s.source == source).cloned().collect();
        Test { swatches, ..self.clone() }
    }

    /// The swatches that show which way the colours run: one's own standards where they are enough for a curve, else the
    /// printed shades.
    pub(super) fn series(&self) -> Test {
        if self.from_print() { self.only(Source::Print) } else { self.only(Source::Standard) }
    }

    /// Whether its curve rests on printed shades: there are some, and one's own standards are too few to do without. Enough are
    /// as many concentrations as were printed, or five, up to both ends.
    pub fn from_print(&self) -> bool {
        let (print, own) = (self.only(Source::Print).values(), self.only(Source::Standard).values());
        let reaches = own.first() <= print.first() && own.last() >= print.last();
        let enough = reaches && own.len() >= print.len().min(ENOUGH);
        !print.is_empty() && !enough
    }

    /// Whether a standard of one's own shows what none looks like.
    pub fn has_own_zero(&self) -> bool {
        self.swatches.iter().any(|s| s.value == 0.0 && s.source == Source::Standard)
    }
}

const ENOUGH: usize = 5;

/// The path through printed shades, drawn to one's own standards.
pub(super) fn made(test: &Test, nuisance: Nuisance) -> Result<Made, CurveError> {
    let (print, own) = (test.only(Source::Print), test.only(Source::Standard));
    let printed = Path::through(&print, nuisance, |_| 1.0)?;
    let last = printed.last();
    let (values, seen) = (test.values(), own.values());
    let (nodes, standards) = (Places::of(&values, &printed), Places::of(&seen, &printed));
    let mut spread = block(&nodes, &nodes, last);
    let mut shift = DVector::zeros(3 * values.len());
    if !seen.is_empty() {
        let (off, noise) = observations(&own, &seen, &standards, &printed, nuisance);
        let across = block(&nodes, &standards, last);
        let inner = block(&standards, &standards, last) + noise;
        let few = || CurveError::TooFew { test: test.name.clone(), count: values.len() };
        let inner = inner.cholesky().ok_or_else(few)?;
        shift = &across * inner.solve(&off);
        spread -= &across * inner.solve(&across.transpose());
    }
    let drawn = |(i, d): (usize, &Density)| d.add_scalar(PRIOR.dim) + shift.fixed_rows::<3>(3 * i);
    let at = nodes.paths.iter().enumerate().map(drawn).collect();
    let known = (0..values.len()).map(|i| spread.fixed_view::<3, 3>(3 * i, 3 * i).into_owned()).collect();
    Ok(Made { values, at, known })
}

/// Positions on the printed path, with its density there.
struct Places {
    positions: Vec<f64>,
    paths: Vec<Density>,
}

impl Places {
    fn of(values: &[f64], printed: &Path) -> Self {
        let positions: Vec<f64> = values.iter().map(|v| printed.position(*v)).collect();
        let paths = positions.iter().map(|p| printed.density(*p)).collect();
        Self { positions, paths }
    }
}

/// Covariance of what separates the true path from the printed one at two positions, of a path that ends at `last`.
fn prior((p, d): (f64, &Density), (q, e): (f64, &Density), last: f64) -> Matrix3<f64> {
    let one = Vector3::repeat(1.0);
    let fade = |p: f64| (1.0 - p / last).clamp(0.0, 1.0);
    let near = (-0.5 * ((p - q) / PRIOR.stretch).powi(2)).exp();
    let ink = Vector3::from_fn(|c, _| PRIOR.ink.0.powi(2) + PRIOR.ink.1.powi(2) * d[c].abs() * e[c].abs());
    d * e.transpose() * PRIOR.way.powi(2)
        + one * one.transpose() * PRIOR.brightness.powi(2)
        + Matrix3::from_diagonal(&ink) * near
        + Matrix3::identity() * (PRIOR.reagent.powi(2) * fade(p) * fade(q))
}

/// The same between all places of two lists, three rows and columns each.
fn block(rows: &Places, columns: &Places, last: f64) -> DMatrix<f64> {
    let mut m = DMatrix::zeros(3 * rows.positions.len(), 3 * columns.positions.len());
    for (i, r) in rows.positions.iter().zip(&rows.paths).enumerate() {
        for (j, c) in columns.positions.iter().zip(&columns.paths).enumerate() {
            m.fixed_view_mut::<3, 3>(3 * i, 3 * j).copy_from(&prior((*r.0, r.1), (*c.0, c.1), last));
        }
    }
    m
}

/// What one's own standards show of the difference, and its noise, their own uncertainty counted in.
fn observations(
    own: &Test,
    seen: &[f64],
    at: &Places,
    printed: &Path,
    nuisance: Nuisance,
) -> (DVector<f64>, DMatrix<f64>) {
    let mut off = DVector::zeros(3 * seen.len());
    let mut noise = DMatrix::zeros(3 * seen.len(), 3 * seen.len());
    for (i, v) in seen.iter().enumerate() {
        let (d, own_noise) = observed(own, *v, nuisance);
        off.fixed_rows_mut::<3>(3 * i).copy_from(&(d - at.paths[i].add_scalar(PRIOR.dim)));
        let made = printed.off(at.positions[i], value_sd(own, *v));
        noise.fixed_view_mut::<3, 3>(3 * i, 3 * i).copy_from(&(own_noise + made * made.transpose()));
    }
    (off, noise)
}

/// Mean density of one's own standards of a concentration, with the covariance of that mean as the path there.
fn observed(own: &Test, value: f64, nuisance: Nuisance) -> (Density, Matrix3<f64>) {
    let of: Vec<&Swatch> = own.swatches.iter().filter(|s| s.value == value).collect();
    let n = of.len() as f64;
    let mean = of.iter().map(|s| density(Lab(s.lab))).sum::<Density>() / n;
    let noise = |s: &&Swatch| {
        let cov = Matrix3::from_fn(|r, c| s.cov[r][c]) + Matrix3::identity() * nuisance.rest.powi(2);
        covariance(Lab(s.lab), &cov)
    };
    let noise = of.iter().map(noise).sum::<Matrix3<f64>>() / (n * n);
    (mean, noise + nuisance.covariance(&mean) / n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{LinRgb, lab_from_linear};
    use crate::curve::invert::{Seen, invert};
    use crate::curve::kit::Matrix;
    use crate::water::{Analyte, Unit};

    const SERIES: [f64; 6] = [0.0, 0.2, 0.6, 1.2, 2.5, 5.0];

    fn swatch(value: f64, source: Source, absorbs: [f64; 3]) -> Swatch {
        let lab = lab_from_linear(LinRgb(absorbs.map(|a| (-a).exp()))).0;
        let cov = [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]];
        let (photo, station) = (format!("{source:?}-{value}"), "B".to_string());
        Swatch { value, value_sd: None, source, lab, cov, photo, station, light: Vec::new(), taken: None, clear: None }
    }

    /// What the maker printed.
    fn ink(v: f64) -> [f64; 3] {
        [0.02 + 0.10 * v, 0.04 + 0.30 * v, 0.15 + 0.12 * v]
    }

    /// The dye itself: darker, deeper by a third, and on a stronger yellow of the reagent.
    fn dye(v: f64) -> [f64; 3] {
        [0.35 + 0.13 * v, 0.38 + 0.40 * v, 0.65 + 0.16 * v]
    }

    fn printed(own: &[f64]) -> Test {
        let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
        let mut test = Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh);
        test.swatches = SERIES.map(|v| swatch(v, Source::Print, ink(v))).to_vec();
        test.swatches.extend(own.iter().map(|v| swatch(*v, Source::Standard, dye(*v))));
        test
    }

    /// Worst error in standards over vials between the standards, and the mean width of their intervals.
    fn read(own: &[f64]) -> (f64, f64) {
        let path = Path::new(&printed(own), Nuisance::default()).unwrap();
        let vials = [0.1, 0.4, 0.9, 1.8, 3.5];
        let found = vials.map(|v| {
            let s = swatch(v, Source::Standard, dye(v));
            let found = invert(&path, &Seen { lab: Lab(s.lab), cov: s.cov, foreign: 0.0 }, false);
            let truth = path.position(v);
            assert!(found.lower <= truth && truth <= found.upper, "{own:?}, {v}: {found:?}");
            ((found.position - truth).abs(), found.upper - found.lower)
        });
        (found.iter().map(|f| f.0).fold(0.0, f64::max), found.iter().map(|f| f.1).sum::<f64>() / 5.0)
    }

    #[test]
    fn every_standard_of_ones_own_draws_the_printed_path_nearer() {
        let (none, zero, one) = (read(&[]), read(&[0.0]), read(&[0.0, 1.2]));
        assert!(one.0 < 0.15 && one.0 < 0.5 * none.0, "{none:?} {zero:?} {one:?}");
        assert!(one.1 < 0.8 * zero.1 && zero.1 < none.1, "{none:?} {zero:?} {one:?}");
    }

    #[test]
    fn enough_standards_of_ones_own_leave_the_print_out() {
        assert!(printed(&[]).from_print() && printed(&[0.0, 0.2, 0.6, 1.2]).from_print());
        let full = printed(&[0.0, 0.2, 0.6, 1.2, 5.0]);
        assert!(!full.from_print());
        let path = Path::new(&full, Nuisance::default()).unwrap();
        let own = density(Lab(swatch(5.0, Source::Standard, dye(5.0)).lab));
        assert!((path.density(path.position(5.0)) - own).amax() < 1e-9);
        // A printed zero is none of one's own.
        assert!(full.has_own_zero() && !printed(&[0.2]).has_own_zero());
    }
}
