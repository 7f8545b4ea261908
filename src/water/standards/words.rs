//! How a solution is made, in words.

use super::{Recipe, Solution, Source};
use crate::water::significant;

/// What the solution at this place of [`Recipe::solutions`] is called: `stock`, `weaker 1`, `weaker 2` ….
pub fn solution_name(i: usize) -> String {
    if i == 0 { "stock".to_string() } else { format!("weaker {i}") }
}

impl Recipe {
    /// How one of its solutions is made: `5 mL of stock (20 mL syringe), filled up to 100 mL`.
    pub fn how(&self, made: &Solution) -> String {
        let short = |x: f64| significant(x, 4);
        let what = match made.from {
            Source::Weighed { grams } => format!("{} g of {}", short(grams), self.substance.name),
            Source::Measured { solution, ml, syringe_ml, fillings } => {
                let from = solution.map_or(self.substance.name.to_string(), solution_name);
                let times = match fillings {
                    0 | 1 => format!("{} mL", short(ml)),
                    n => format!("{n} times {} mL", short(ml / f64::from(n))),
                };
                format!("{times} of {from} ({} mL syringe)", short(syringe_ml))
            }
        };
        match made.vessel_g {
            Some(grams) => format!("{what}, filled up to {} g in all", short(grams)),
            None => format!("{what}, filled up to {} mL", short(made.vessel_ml)),
        }
    }
}
