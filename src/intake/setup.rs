//! Where a keeper stands with setting up, and the one thing to do next.

use super::{Home, IntakeError, Kept, Step, next_steps};
use crate::curve::Kit;
use crate::log::Log;

/// What is there already.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Names of the tanks.
    pub tanks: Vec<String>,
    /// Names of the enrolled cards.
    pub cards: Vec<String>,
    /// The kits with what each needs next.
    pub kits: Vec<(Kept<Kit>, Vec<Step>)>,
}

/// The one thing to do next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Next<'s> {
    /// Add a tank: readings belong to one.
    Tank,
    /// Print a card and enrol it.
    Card,
    /// Make a kit.
    Kit,
    /// A step of a kit.
    Step(&'s Kept<Kit>, &'s Step),
    /// Nothing: read.
    Read,
}

impl Setup {
    /// Of a home and its log, where there is one.
    pub fn of(home: &Home, log: Option<&Log>) -> Result<Self, IntakeError> {
        let tanks = log.map(Log::tanks).transpose()?.unwrap_or_default();
        let cards = home.card_names()?;
        let kit = |name: String| {
            let kit = home.kit(Some(&name))?;
            let steps = next_steps(&kit.value, !cards.is_empty());
            Ok((kit, steps))
        };
        let kits = home.kit_names()?.into_iter().map(kit).collect::<Result<_, IntakeError>>()?;
        Ok(Self { tanks: tanks.into_iter().map(|t| t.name).collect(), cards, kits })
    }

    /// The one thing to do next. A kit comes before the steps of another: without any nothing can be read.
    pub fn next(&self) -> Next<'_> {
        let step = self.kits.iter().find_map(|(kit, steps)| Some((kit, steps.first()?)));
        match step {
            _ if self.tanks.is_empty() => Next::Tank,
            Some((_, Step::Enrol)) => Next::Card,
            Some((kit, step)) => Next::Step(kit, step),
            None if self.kits.is_empty() && self.cards.is_empty() => Next::Card,
            None if self.kits.is_empty() => Next::Kit,
            None => Next::Read,
        }
    }
}

impl Next<'_> {
    /// What to do.
    pub fn words(&self) -> String {
        match self {
            Self::Tank => "Add your tank: its name and the kind of water. Readings belong to a tank.".into(),
            Self::Card => Step::Enrol.words(),
            Self::Kit => "Make a kit: which tests you have, and the units on their leaflets.".into(),
            Self::Step(_, step) => step.words(),
            Self::Read => {
                "All is there to read with. More standards make a kit better, and a check from time to time shows \
                           whether it still is."
                    .into()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Matrix, Test};
    use crate::store::content_hash;
    use crate::water::{Analyte, Unit};

    #[test]
    fn one_thing_comes_after_the_other() {
        let mut setup = Setup { tanks: Vec::new(), cards: Vec::new(), kits: Vec::new() };
        assert_eq!(setup.next(), Next::Tank);
        setup.tanks.push("hall".into());
        assert_eq!(setup.next(), Next::Card);
        setup.cards.push("card".into());
        assert_eq!(setup.next(), Next::Kit);
        let mut kit = Kit::new("drops").unwrap();
        kit.add_test(Test::new("pH", Analyte::Ph, Unit::ph(), Matrix::Both)).unwrap();
        let (name, revision) = ("drops".to_string(), content_hash(b""));
        for (enrolled, of) in [(false, "enrol"), (true, "shades")] {
            let kept = Kept { name: name.clone(), revision: revision.clone(), value: kit.clone() };
            setup.kits = vec![(kept, next_steps(&kit, enrolled))];
            let found = match setup.next() {
                Next::Card => "enrol",
                Next::Step(kit, Step::Shades { test }) if kit.name == "drops" && test == "pH" => "shades",
                other => panic!("{other:?}"),
            };
            assert_eq!(found, of);
        }
        setup.kits[0].1.clear();
        assert_eq!(setup.next(), Next::Read);
    }
}
