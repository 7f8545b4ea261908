//! From the concentrations wanted to what is weighed and measured out.

use super::means::{Means, Vessel};
use super::spread::{Common, Spread};
use super::substance::{Brings, Matrix, Substance, g_ml};
use super::{COVERAGE, StandardsError};
use crate::water::{Analyte, Strength, Unit};

/// What is wanted, of what, with what.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// What the test measures.
    pub analyte: Analyte,
    /// Unit of all concentrations.
    pub unit: Unit,
    /// Concentrations; 0 is the zero standard.
    pub values: Vec<f64>,
    /// Name of the substance; the usual one where none is said.
    pub substance: Option<String>,
    /// Strength of household ammonia.
    pub strength: Option<Strength>,
    /// Purity on the label, per cent by weight: at least so much.
    pub purity: Option<f64>,
    /// Whether the test is read in sea water.
    pub marine: bool,
}

/// A recipe.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// What is dissolved.
    pub substance: &'static Substance,
    /// Water the standards are made up with.
    pub matrix: Matrix,
    /// The stock first, then weaker solutions made from it, in order.
    pub solutions: Vec<Solution>,
    /// In the order asked for.
    pub standards: Vec<Standard>,
}

/// A solution that standards are made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// What goes into the vessel.
    pub from: Source,
    /// mL up to which the vessel is filled.
    pub vessel_ml: f64,
    /// Grams that the vessel then holds, where it is filled by weight.
    pub vessel_g: Option<f64>,
    /// Concentration, in the unit asked for.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    spread: Spread,
}

/// A standard.
#[derive(Debug, Clone, PartialEq)]
pub struct Standard {
    /// As asked for.
    pub wanted: f64,
    /// As made; None for the zero standard, the water itself.
    pub made: Option<Solution>,
}

/// What goes into a vessel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source {
    /// The substance, g.
    Weighed { grams: f64 },
    /// The substance, itself a solution, or a solution made before (its number in [`Recipe::solutions`]).
    Measured { solution: Option<usize>, ml: f64, syringe_ml: f64, fillings: u32 },
}

/// The least weight of a stock, in steps of the scale: 1.4 % of it at most is then the scale's standard deviation.
const LEAST_STEPS: f64 = 40.0;
/// How far above the least weight is looked for one that makes round numbers, as a factor.
const SPAN: f64 = 2.5;
/// The most that a stock holds, g/L: all these substances dissolve to more than that in cold water.
const MOST_G_L: f64 = 50.0;
/// The least volume, in divisions of the syringe.
const LEAST_DIVISIONS: f64 = 10.0;
/// The most fillings of one syringe.
const FILLINGS: f64 = 3.0;
/// The most that one measuring-out takes of the vessel's volume; in salt water little, else it gets too fresh.
const SHARE: (f64, f64) = (0.5, 0.1);
/// Weaker solutions at most, one from the other.
const STEPS: usize = 3;
/// Density of water between 18 and 28 °C, limits of error of taking one for all: a share.
const DENSITY: f64 = 0.0015;

/// What a standard may be off from the concentration wanted without being worse for it, relative: it counts as what it is.
const NEAR: f64 = 0.03;
/// Weights against relative variances of 0.001 and more, as home standards have.
const MUCH_WATER: f64 = 3e-4;
const FILLING: f64 = 1e-4;

/// The recipe whose standards come nearest to what is wanted.
pub fn recipe(wanted: &Wanted, means: &Means) -> Result<Recipe, StandardsError> {
    let bench = Bench::set(wanted, means)?;
    let mut best: Option<(f64, Recipe)> = None;
    let mut short = None;
    for stock in bench.stocks()? {
        match bench.from(stock) {
            Ok(recipe) => {
                let cost: f64 = recipe.standards.iter().map(|s| bench.cost(s)).sum();
                // A little better is not worth more of the substance.
                if best.as_ref().is_none_or(|b| cost < 0.98 * b.0) {
                    best = Some((cost, recipe));
                }
            }
            Err(e) => short = Some(e),
        }
    }
    best.map(|b| b.1).ok_or_else(|| short.unwrap_or(StandardsError::Nothing))
}

/// All that a search needs.
struct Bench<'a> {
    wanted: &'a Wanted,
    means: &'a Means,
    substance: &'static Substance,
    matrix: Matrix,
    /// What a gram, or a mL of a solution, makes in a litre, at the middle of its content.
    per_litre: f64,
    /// Limits of error of that, relative.
    content: f64,
}

impl<'a> Bench<'a> {
    fn set(wanted: &'a Wanted, means: &'a Means) -> Result<Self, StandardsError> {
        if let Some(value) = wanted.values.iter().find(|v| !(v.is_finite() && **v >= 0.0)) {
            return Err(StandardsError::Value { value: *value });
        }
        if !(0.0005..=10.0).contains(&means.scale_g) {
            return Err(StandardsError::Means { what: "scale", typed: means.scale_g.to_string() });
        }
        for (what, none) in [("syringe", means.syringes.is_empty()), ("container", means.vessels.is_empty())] {
            if none {
                return Err(StandardsError::Without { what });
            }
        }
        let (analyte, unit) = (wanted.analyte.to_string(), wanted.unit.to_string());
        let known = Substance::of(&wanted.analyte);
        let substance = match &wanted.substance {
            None => known.first().copied().ok_or(StandardsError::NoSubstance { analyte, unit: unit.clone() })?,
            Some(typed) => {
                let named = |s: &&&Substance| [s.name, s.formula].iter().any(|n| n.eq_ignore_ascii_case(typed.trim()));
                let known: Vec<_> = known.iter().map(|s| s.name).collect();
                let other = || StandardsError::OtherSubstance { typed: typed.clone(), analyte, known };
                Substance::of(&wanted.analyte).iter().find(named).copied().ok_or_else(other)?
            }
        };
        let ammonia = match (substance.brings, wanted.strength) {
            (Brings::Ammonia, None) => return Err(StandardsError::NoStrength),
            (Brings::Ammonia, Some(s)) => Some(g_ml(s).map_err(|e| StandardsError::Strength { typed: e.to_string() })?),
            _ => None,
        };
        if wanted.values.is_empty() {
            return Err(StandardsError::Nothing);
        }
        let (least, most) = match wanted.purity {
            Some(percent) if !(50.0..=100.0).contains(&percent) => return Err(StandardsError::Purity { percent }),
            Some(percent) => (percent / 100.0, 1.0),
            None => substance.content,
        };
        let middle = f64::midpoint(least, most);
        let no = || StandardsError::NoSubstance { analyte: wanted.analyte.to_string(), unit };
        let per_litre = substance.per_litre(&wanted.unit, ammonia).ok_or_else(no)? * middle;
        let matrix = if wanted.marine { Matrix::marine(&wanted.analyte) } else { Matrix::Pure };
        // A label of 100 % is right to half a per cent at best.
        let content = ((most - least) / 2.0 / middle).max(0.005);
        Ok(Self { wanted, means, substance, matrix, per_litre, content })
    }

    /// Stocks to try, weakest first.
    fn stocks(&self) -> Result<Vec<Solution>, StandardsError> {
        let (n, vessel) = self.largest();
        let bought = Spread::default().with(Common::Bought, self.content);
        if self.substance.brings == Brings::Ammonia {
            let mut out = Vec::new();
            for (i, s) in self.means.syringes.iter().enumerate().filter(|(_, s)| s.ml <= 0.1 * vessel.ml) {
                let steps = (s.ml / s.division).round() as u32;
                for k in (steps / 2).max(LEAST_DIVISIONS as u32)..=steps {
                    let ml = f64::from(k) * s.division;
                    let spread = self.measured(bought.clone(), i, ml, 1.0);
                    let from = Source::Measured { solution: None, ml, syringe_ml: s.ml, fillings: 1 };
                    out.push(self.filled(from, ml * self.per_litre * 1000.0, n, Matrix::Pure, spread));
                }
            }
            return if out.is_empty() { Err(StandardsError::Without { what: "syringe" }) } else { Ok(out) };
        }
        let step = self.means.scale_g;
        let least = (LEAST_STEPS * step).max(0.1);
        if least > MOST_G_L * vessel.ml / 1000.0 {
            return Err(StandardsError::Coarse { scale_g: step, vessel_ml: vessel.ml });
        }
        let first = (least / step).ceil() as u32;
        let last = ((SPAN * least).min(MOST_G_L * vessel.ml / 1000.0) / step).floor() as u32;
        let stock = |k: u32| {
            let grams = f64::from(k) * step;
            let spread = bought.clone().with(Common::Weight, step / grams);
            self.filled(Source::Weighed { grams }, grams * self.per_litre * 1000.0, n, Matrix::Pure, spread)
        };
        Ok((first..=last.max(first)).map(stock).collect())
    }

    /// All standards from a stock, with as many weaker solutions as they take.
    fn from(&self, stock: Solution) -> Result<Recipe, StandardsError> {
        let mut solutions = vec![stock];
        loop {
            let made: Vec<Option<Solution>> =
                self.wanted.values.iter().map(|v| self.standard(&solutions, *v)).collect();
            let short = self.wanted.values.iter().zip(&made).find(|(v, m)| **v > 0.0 && m.is_none());
            let Some((value, _)) = short else {
                let wanted = self.wanted.values.iter().zip(made);
                let standards = wanted.map(|(wanted, made)| Standard { wanted: *wanted, made }).collect();
                return Ok(Recipe { substance: self.substance, matrix: self.matrix, solutions, standards });
            };
            let out = || StandardsError::OutOfReach { value: *value, unit: self.wanted.unit.to_string() };
            if solutions.len() > STEPS {
                return Err(out());
            }
            solutions.push(self.weaker(&solutions).ok_or_else(out)?);
        }
    }

    /// The next weaker solution: a full syringe of the last one, the largest that is no more than a tenth of the vessel.
    fn weaker(&self, solutions: &[Solution]) -> Option<Solution> {
        let (n, vessel) = self.largest();
        let syringes = self.means.syringes.iter().enumerate().filter(|(_, s)| s.ml <= 0.1 * vessel.ml);
        let (i, s) = syringes.max_by(|a, b| a.1.ml.total_cmp(&b.1.ml))?;
        let number = solutions.len() - 1;
        let last = &solutions[number];
        let from = Source::Measured { solution: Some(number), ml: s.ml, syringe_ml: s.ml, fillings: 1 };
        let spread = self.measured(last.spread.clone(), i, s.ml, 1.0);
        Some(self.filled(from, last.value * s.ml, n, Matrix::Pure, spread))
    }

    /// A standard of about `value`: in the smallest vessel it can be made in, by the way that is known best.
    fn standard(&self, solutions: &[Solution], value: f64) -> Option<Solution> {
        if value == 0.0 {
            return None;
        }
        let most = if self.wanted.marine { SHARE.1 } else { SHARE.0 };
        let mut vessels: Vec<(usize, Vessel)> = self.means.vessels.iter().copied().enumerate().collect();
        vessels.sort_by(|a, b| a.1.ml.total_cmp(&b.1.ml));
        vessels.iter().find_map(|(n, vessel)| {
            let mut ways = Vec::new();
            for (number, solution) in solutions.iter().enumerate() {
                for (i, s) in self.means.syringes.iter().enumerate() {
                    let exact = value * vessel.ml / solution.value;
                    let fillings = (exact / s.ml - 1e-9).ceil();
                    // Every filling to the same line.
                    let line = (exact / fillings / s.division).round();
                    let ml = line * s.division * fillings;
                    let sound = line >= LEAST_DIVISIONS && fillings <= FILLINGS && ml <= most * vessel.ml;
                    if !sound {
                        continue;
                    }
                    let fills = fillings as u32;
                    let from = Source::Measured { solution: Some(number), ml, syringe_ml: s.ml, fillings: fills };
                    let spread = self.measured(solution.spread.clone(), i, ml, fillings);
                    ways.push(self.filled(from, solution.value * ml, *n, self.matrix, spread));
                }
            }
            ways.into_iter().min_by(|a, b| a.spread.sd().total_cmp(&b.spread.sd()))
        })
    }

    /// `amount`, in the unit a litre times mL, filled up in a vessel.
    fn filled(&self, from: Source, amount: f64, vessel: usize, water: Matrix, spread: Spread) -> Solution {
        let Vessel { ml, tolerance } = self.means.vessels[vessel];
        let spread = match self.means.weigh {
            true => spread.with(Common::Density, -DENSITY).once(self.means.scale_g / ml),
            false => spread.with(Common::Vessel(vessel), -tolerance / ml),
        };
        let vessel_g = self.means.weigh.then(|| ml * water.density());
        let value = amount / ml;
        Solution { from, vessel_ml: ml, vessel_g, value, sd: value * spread.sd(), spread }
    }

    /// With the uncertainty of `ml` from a syringe in so many fillings: its own tolerance each time alike, its reading each time anew,
    /// half a division to either side.
    fn measured(&self, spread: Spread, syringe: usize, ml: f64, fillings: f64) -> Spread {
        let s = &self.means.syringes[syringe];
        let one = ml / fillings;
        let reading = s.division / 2.0 / one / fillings.sqrt();
        spread.with(Common::Syringe(syringe), s.tolerance(one) / one).once(reading)
    }

    /// What speaks against a standard: its uncertainty, being farther from what was wanted than anybody minds, much water, and every
    /// filling of a syringe after the first.
    fn cost(&self, s: &Standard) -> f64 {
        let Some(made) = &s.made else { return 0.0 };
        let Source::Measured { fillings, .. } = made.from else { return 0.0 };
        let off = ((made.value / s.wanted - 1.0).abs() - NEAR).max(0.0);
        let smallest = self.means.vessels.iter().map(|v| v.ml).fold(f64::INFINITY, f64::min);
        made.spread.sd().powi(2)
            + off * off
            + MUCH_WATER * (made.vessel_ml / smallest).ln()
            + FILLING * f64::from(fillings - 1)
    }

    fn largest(&self) -> (usize, Vessel) {
        let all = self.means.vessels.iter().copied().enumerate();
        // There is one: looked at when the bench was set.
        all.max_by(|a, b| a.1.ml.total_cmp(&b.1.ml)).unwrap_or((0, Vessel { ml: f64::NAN, tolerance: f64::NAN }))
    }
}

impl Solution {
    /// Concentration and expanded uncertainty (k = 2) as they are written down: the uncertainty rounded up to two digits, the
    /// concentration to as many decimals.
    pub fn stated(&self) -> (String, String) {
        let expanded = COVERAGE * self.sd;
        let places = (1 - expanded.log10().floor() as i32).clamp(0, 9);
        let grid = 10f64.powi(places);
        let up = (expanded * grid - 1e-9).ceil() / grid;
        let places = places as usize;
        (format!("{:.places$}", self.value), format!("{up:.places$}"))
    }
}
