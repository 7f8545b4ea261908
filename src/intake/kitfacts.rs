//! What kits know about the tests of logged readings.

use super::{Home, IntakeError};
use crate::curve::Kit;
use crate::log::Reading;
use crate::water::Quantity;
use std::collections::BTreeMap;

/// The kits at hand, to ask about a reading's test.
#[derive(Debug, Default)]
pub struct KitFacts {
    kits: BTreeMap<String, Kit>,
}

impl Home {
    /// The kits as they are now. One that cannot be read is left out: what it knows is only missing then.
    pub fn kit_facts(&self) -> Result<KitFacts, IntakeError> {
        let names = self.kit_names()?;
        let kits = names.into_iter().filter_map(|name| Some((name.clone(), self.kit(Some(&name)).ok()?.value)));
        Ok(KitFacts { kits: kits.collect() })
    }
}

impl KitFacts {
    /// Minutes from the last drop to the reading.
    pub fn wait_minutes(&self, reading: &Reading) -> Option<f64> {
        self.test(reading)?.wait_minutes
    }

    /// Minutes after that in which the colour still counts.
    pub fn window_minutes(&self, reading: &Reading) -> Option<f64> {
        self.test(reading)?.window_minutes
    }

    /// The first standard above none, in the unit in which its analyte is compared.
    pub fn first_standard(&self, reading: &Reading) -> Option<f64> {
        let test = self.test(reading)?;
        let least = test.swatches.iter().map(|s| s.value).filter(|v| *v > 0.0).min_by(f64::total_cmp)?;
        Some(Quantity::new(least, test.unit.clone()).canonical().value)
    }

    /// The concentrations of the test's standards in the unit of a reading's amount, ascending, its dilution counted in; empty where
    /// the kit is not here or that cannot be told.
    pub fn standards(&self, reading: &Reading) -> Vec<f64> {
        let Some((test, amount)) = self.test(reading).zip(reading.amount.as_ref()) else { return Vec::new() };
        let factor = reading.dilution.map_or(1.0, |d| d.factor());
        let own = |v: f64| Quantity::new(v * factor, test.unit.clone()).to(amount.unit()).ok().map(|q| q.value);
        test.values().into_iter().map(own).collect::<Option<_>>().unwrap_or_default()
    }

    fn test(&self, reading: &Reading) -> Option<&crate::curve::Test> {
        let kit = self.kits.get(reading.test.kit.as_ref()?)?;
        kit.tests.iter().find(|t| t.name == reading.test.name)
    }
}
