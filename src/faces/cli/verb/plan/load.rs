//! Options that say what animals and food make.

use super::typed;
use crate::advice::plan::{Group, Load};
use crate::faces::cli::trouble::Trouble;
use crate::intake::{IntakeError, asked};

#[derive(Debug, clap::Args)]
pub(super) struct Food {
    /// Grams of food a day, instead of what the animals' size says
    #[arg(long, value_name = "GRAMS")]
    food: Option<String>,
    /// Protein in the food, such as 45% [default: 35 to 50 %]
    #[arg(long, value_name = "SHARE")]
    protein: Option<String>,
}

impl Food {
    pub(super) fn is_given(&self) -> bool {
        self.food.is_some()
    }

    /// With animals as typed, such as '6 barbs 4 cm'.
    pub(super) fn load(&self, animals: Option<&str>) -> Result<Load, Trouble> {
        Ok(Load {
            food_g: typed(self.food.as_deref(), asked::grams)?,
            protein: typed(self.protein.as_deref(), asked::share)?,
            animals: animals.map(groups).transpose()?.unwrap_or_default(),
        })
    }
}

/// Animals as typed.
pub(super) fn groups(words: &str) -> Result<Vec<Group>, Trouble> {
    let all = asked::animals(words).map_err(IntakeError::from)?;
    // 'a catfish' is one.
    let one =
        |s: crate::log::happening::Stock| Group { number: s.number.unwrap_or(1), size_cm: s.size_cm, mass_g: s.mass_g };
    Ok(all.into_iter().map(one).collect())
}
