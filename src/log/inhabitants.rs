//! What lives in a tank, and a tank's facts, as events tell it.

use super::happening::{Happening, Stock, TankFacts};
use super::{Event, Id};
use jiff::Timestamp;

/// What lives in a tank, as far as anybody said. What nobody said counts as present.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Inhabitants {
    /// Nobody said.
    #[default]
    Unknown,
    /// The keeper said that there are none, or all that were counted have left or died.
    None,
    /// There are animals; how many, if all of them were counted.
    Present(Option<u32>),
}

impl Inhabitants {
    /// At a time, from a tank's living events in order of time.
    pub fn at(events: &[Event], time: Timestamp) -> Self {
        let happened = events.iter().filter(|e| e.at.instant <= time);
        happened.fold(Self::Unknown, |now, e| now.after(&e.happening()))
    }

    /// After something happened.
    pub fn after(self, what: &Happening) -> Self {
        let count = match self {
            Self::None => Some(0),
            Self::Present(count) => count,
            Self::Unknown => None,
        };
        match what {
            Happening::FishAdded { stock: Stock { number: Some(0), .. } } => self,
            Happening::FishAdded { stock } => {
                Self::Present(count.zip(stock.number).map(|(all, more)| all.saturating_add(more)))
            }
            Happening::FishRemoved { stock } | Happening::FishDied { stock } => {
                match count.zip(stock.number).map(|(all, fewer)| all.checked_sub(fewer)) {
                    Some(Some(0)) => Self::None,
                    Some(Some(left)) => Self::Present(Some(left)),
                    // More than there were, or not counted: who knows how many are left.
                    Some(None) | None if self == Self::Unknown => Self::Unknown,
                    Some(None) | None => Self::Present(None),
                }
            }
            Happening::FishCounted { stock } => match (stock.number, &stock.species) {
                (Some(0), None) => Self::None,
                (number, None) => Self::Present(number),
                // Some kind was counted; of the others nothing was said.
                (Some(0), Some(_)) => self,
                (_, Some(_)) => Self::Present(None),
            },
            _ => self,
        }
    }

    /// Whether animals must be thought of: all but where it was said that there are none.
    pub fn may_be_present(self) -> bool {
        self != Self::None
    }
}

impl TankFacts {
    /// The facts of a tank as its living events, in order of time, tell them; none where they were never told.
    pub fn told(events: &[Event], tank: Id) -> Self {
        let mut now = Self::default();
        for event in events.iter().filter(|e| e.tank == Some(tank)) {
            if let Happening::TankDescribed { facts } = event.happening() {
                now = Self {
                    water: facts.water.or(now.water),
                    volume_l: facts.volume_l.or(now.volume_l),
                    salinity_g_kg: facts.salinity_g_kg.or(now.salinity_g_kg),
                    celsius: facts.celsius.or(now.celsius),
                    planted: facts.planted.or(now.planted),
                };
            }
        }
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(steps: &[Happening]) -> Inhabitants {
        steps.iter().fold(Inhabitants::Unknown, |now, what| now.after(what))
    }

    fn stock(number: impl Into<Option<u32>>) -> Stock {
        Stock::of(number.into(), None)
    }

    #[test]
    fn only_a_count_makes_a_tank_empty() {
        use Happening::*;
        use Inhabitants as I;
        let (none, three) = (FishCounted { stock: stock(0) }, FishAdded { stock: stock(3) });
        let died = |n: u32| FishDied { stock: stock(n) };
        assert_eq!(after(&[]), I::Unknown);
        assert!(I::Unknown.may_be_present());
        assert_eq!(after(std::slice::from_ref(&none)), I::None);
        assert_eq!(after(std::slice::from_ref(&three)), I::Present(None), "who was there before is not known");
        assert_eq!(after(&[none.clone(), three.clone()]), I::Present(Some(3)));
        assert_eq!(after(&[none.clone(), three.clone(), died(1)]), I::Present(Some(2)));
        assert_eq!(after(&[none.clone(), three.clone(), died(3)]), I::None);
        assert_eq!(after(&[none.clone(), three.clone(), died(4)]), I::Present(None), "more than there were");
        assert_eq!(after(&[three.clone(), died(3)]), I::Present(None));
        assert_eq!(after(&[died(1)]), I::Unknown);
        assert_eq!(after(&[none.clone(), FishAdded { stock: stock(None) }, died(1)]), I::Present(None));
        assert_eq!(after(&[three.clone(), FishCounted { stock: stock(None) }]), I::Present(None));
        // 'No snails' says nothing about fish.
        let snails = FishCounted { stock: Stock::of(Some(0), Some("snails")) };
        assert_eq!(after(std::slice::from_ref(&snails)), I::Unknown);
        assert_eq!(after(&[none, three, snails]), I::Present(Some(3)));
    }
}
