//! Titrations: reagent is added until the colour turns, and counted.

use super::amount::Amount;
use super::entered::{EntryError, split};
use super::typed::{Typed, TypedError};
use super::{Analyte, Unit};

/// What is counted, and what one of it stands for. The colour turns somewhere between the last one and the one before, and where
/// exactly is a matter of opinion: the reading is good for one to either side, common practice.
#[derive(Debug, Clone, PartialEq)]
pub struct Titration {
    /// What one stands for, as typed: `1 dKH`.
    pub each: String,
    /// What is counted.
    pub counted: Counted,
}

/// What is counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Counted {
    /// Drops.
    Drops,
    /// Millilitres of a syringe whose lines are `division` mL apart.
    Millilitres { division: f64 },
}

impl Counted {
    /// What a text after a number counts, if anything: `drops`, `mL`. The division is not known from it.
    pub(super) fn word(unit: &str) -> Option<Self> {
        match unit {
            "drop" | "drops" => Some(Self::Drops),
            "ml" | "millilitre" | "millilitres" | "milliliter" | "milliliters" => {
                Some(Self::Millilitres { division: f64::NAN })
            }
            _ => None,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Drops => "drops",
            Self::Millilitres { .. } => "mL",
        }
    }
}

impl Titration {
    /// The amount in the titrated sample. Nothing counted is 'below one', never none.
    pub(super) fn amount(
        &self,
        typed: &str,
        number: &str,
        said: Counted,
        analyte: &Analyte,
    ) -> Result<Amount, EntryError> {
        if said.name() != self.counted.name() {
            return Err(EntryError::NotCounted { typed: typed.trim().into(), counted: self.counted.name() });
        }
        let (factor, unit) = self.factor(analyte)?;
        let one = match self.counted {
            Counted::Drops => 1.0,
            Counted::Millilitres { division } if division.is_finite() && division > 0.0 => division,
            Counted::Millilitres { .. } => return Err(self.wrong()),
        };
        let times = |x: f64| x * factor;
        let found = match Typed::parse(number, &unit) {
            Err(TypedError::BareZero { .. }) => Typed::Below(times(one)),
            Err(e) => return Err(e.into()),
            Ok(Typed::Value { value, interval }) => {
                let (lower, upper) = interval.unwrap_or(((value - one).max(0.0), value + one));
                Typed::Value { value: times(value), interval: Some((times(lower), times(upper))) }
            }
            Ok(Typed::Below(x)) => Typed::Below(times(x)),
            Ok(Typed::Above(x)) => Typed::Above(times(x)),
            Ok(Typed::Trace) => Typed::Trace,
        };
        Ok(found.amount(&unit, None)?)
    }

    /// What one stands for, with its unit.
    fn factor(&self, analyte: &Analyte) -> Result<(f64, Unit), EntryError> {
        let (number, unit) = split(&self.each);
        let unit = Unit::parse(&unit, analyte)?;
        match Typed::parse(&number, &unit) {
            Ok(Typed::Value { value, interval: None }) if unit.has_zero() && value > 0.0 => Ok((value, unit)),
            _ => Err(self.wrong()),
        }
    }

    fn wrong(&self) -> EntryError {
        EntryError::Factor { typed: self.each.trim().into() }
    }
}

impl std::fmt::Display for Titration {
    /// `1 dKH a drop`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let each = self.each.trim();
        match self.counted {
            Counted::Drops => write!(f, "{each} a drop"),
            Counted::Millilitres { division } => write!(f, "{each} a mL, read to {division} mL"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::{Dilution, Entry};

    fn said(each: &str, counted: Counted, typed: &str, analyte: &Analyte) -> String {
        let titration = Titration { each: each.into(), counted };
        let entry = Entry { titration: Some(&titration), ..Entry::default() };
        entry.amount(typed, analyte).map_or_else(|e| e.code().to_string(), |a| a.to_string())
    }

    #[test]
    fn a_count_is_good_for_one_to_either_side() {
        let drops = |typed| said("1 dKH", Counted::Drops, typed, &Analyte::Alkalinity);
        assert_eq!(drops("7 drops"), "7.0 dH (6.0 to 8.0)");
        assert_eq!(drops("1 drop"), "1.0 dH (0 to 2.0)");
        assert_eq!(drops("0 drops"), "not detected (below 1 dH)");
        assert_eq!(drops("<1 drop"), "not detected (below 1 dH)");
        assert_eq!(drops(">20 drops"), "above 20 dH");
        assert_eq!(drops("6-7 drops"), "6.5 dH (6.0 to 7.0)");
        let ml = Counted::Millilitres { division: 0.02 };
        let calcium = Analyte::parse("calcium").unwrap();
        assert_eq!(said("500 mg/L", ml, "0.84 mL", &calcium), "420 mg/L calcium (410 to 430)");
        assert_eq!(said("500 mg/L", ml, "0 ml", &calcium), "not detected (below 10 mg/L calcium)");
    }

    #[test]
    fn a_diluted_sample_has_its_factor_too() {
        let titration = Titration { each: "20 mg/L CaCO3".into(), counted: Counted::Drops };
        let entry = Entry { titration: Some(&titration), dilution: Dilution::new(1.0).ok(), ..Entry::default() };
        let amount = entry.amount("5 drops", &Analyte::Hardness).unwrap();
        assert_eq!(amount.to_string(), "200 mg/L CaCO3 (160 to 240)");
        assert_eq!(
            entry.amount("0 drops", &Analyte::Hardness).unwrap().to_string(),
            "not detected (below 40 mg/L CaCO3)"
        );
    }

    #[test]
    fn what_is_no_count_is_refused() {
        let kh = Analyte::Alkalinity;
        assert_eq!(said("1 dKH", Counted::Drops, "7", &kh), "entry-not-counted");
        assert_eq!(said("1 dKH", Counted::Drops, "7 dKH", &kh), "entry-not-counted");
        assert_eq!(said("1 dKH", Counted::Drops, "0.7 mL", &kh), "entry-not-counted");
        assert_eq!(said("0 dKH", Counted::Drops, "7 drops", &kh), "entry-factor");
        assert_eq!(said("some dKH", Counted::Drops, "7 drops", &kh), "unit-unknown");
        assert_eq!(said("1 mg/L", Counted::Drops, "7 drops", &kh), "unit-needs-basis");
        assert_eq!(said("1 dKH", Counted::Millilitres { division: 0.0 }, "1 mL", &kh), "entry-factor");
        assert_eq!(said("0.1", Counted::Drops, "7 drops", &Analyte::Ph), "unit-unknown");
        assert_eq!(said("1 dKH", Counted::Drops, "-7 drops", &kh), "amount-negative");
        assert_eq!(Entry::default().amount("7 drops", &kh).unwrap_err().code(), "entry-no-factor");
    }
}
