//! Amounts as a keeper types them after reading a test by eye. With its unit in the same text: [`Entry`](super::Entry).

use super::amount::{Amount, AmountError, Interval};
use super::text::{NotANumber, number, plain};
use super::units::{Quantity, Unit};

/// What was typed: `0.25`, `0,25`, `0.25 (0.1 to 0.5)`, `0.25-0.5`, `<0.25`, `below 0.25`, `>5`, `above 5`, `5+`, `trace`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Typed {
    /// A value, with its interval where one was typed.
    Value { value: f64, interval: Option<(f64, f64)> },
    /// `<0.25`: not detected; for pH, below the scale.
    Below(f64),
    /// `>5`: above the scale.
    Above(f64),
    /// Some was seen, less than the lowest shade.
    Trace,
}

/// Why what was typed is no amount.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TypedError {
    /// A zero without the limit of the test.
    #[error("'{typed}' says none, but a test shows only that there is less than it can see")]
    BareZero { typed: String },
    /// Not one of the forms.
    #[error("'{typed}' is not an amount")]
    NotANumber { typed: String },
    /// `1,250`.
    #[error("'{typed}' can be read with a decimal comma or as thousands")]
    Comma { typed: String },
    /// A trace, without the lowest shade.
    #[error("a trace is less than the test's lowest shade, and that is not known here")]
    TraceNeedsLowest,
    /// The number makes no sense as an amount.
    #[error(transparent)]
    Amount(#[from] AmountError),
}

impl TypedError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::BareZero { .. } => "amount-bare-zero",
            Self::NotANumber { .. } => "amount-malformed",
            Self::Comma { .. } => "amount-comma",
            Self::TraceNeedsLowest => "amount-trace",
            Self::Amount(e) => e.code(),
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        let s = match self {
            Self::BareZero { .. } => {
                "Write < and the lowest shade above none that you could have told from it, such as <0.25."
            }
            Self::NotANumber { .. } => {
                "Write 0.25, 0.25 (0.1 to 0.5), 0.25-0.5, <0.25, >5 or trace, and the unit apart from it."
            }
            Self::Comma { .. } => "Write it with a point, such as 1.25, or without a thousands sign, such as 1250.",
            Self::TraceNeedsLowest => "Write the nearest value with its range, such as 0.1 (0 to 0.25).",
            Self::Amount(e) => return e.remedy(),
        };
        s.to_string()
    }
}

impl Typed {
    /// What was typed, meant in `unit`.
    ///
    /// ```
    /// use tintline::water::{Species, Typed, Unit};
    /// let unit = Unit::mg_l(Species::Nitrite);
    /// assert_eq!(Typed::parse("<0,25", &unit)?, Typed::Below(0.25));
    /// assert_eq!(Typed::parse("0", &unit).unwrap_err().code(), "amount-bare-zero");
    /// # Ok::<(), tintline::water::TypedError>(())
    /// ```
    pub fn parse(text: &str, unit: &Unit) -> Result<Self, TypedError> {
        let typed = || text.trim().to_string();
        let plain = plain(text).to_lowercase();
        let read = |s: &str| match number(s) {
            Ok(x) => Ok(x),
            Err(NotANumber::Comma) => Err(TypedError::Comma { typed: typed() }),
            Err(NotANumber::Malformed) => Err(TypedError::NotANumber { typed: typed() }),
        };
        if plain == "trace" && unit.has_zero() {
            return Ok(Self::Trace);
        }
        if matches!(plain.as_str(), "none" | "nil" | "zero" | "nd" | "not detected") && unit.has_zero() {
            return Err(TypedError::BareZero { typed: typed() });
        }
        let limit = |s: &str| match read(s)? {
            0.0 if unit.has_zero() => Err(TypedError::BareZero { typed: typed() }),
            x => Ok(x),
        };
        let after = |words: &[&str]| words.iter().find_map(|w| plain.strip_prefix(w)).map(str::to_string);
        if let Some(rest) = after(&["<", "≤", "below ", "under ", "less than "]) {
            return Ok(Self::Below(limit(rest.trim_start_matches('='))?));
        }
        let more = plain.strip_suffix('+').or_else(|| plain.strip_suffix(" or more")).map(str::to_string);
        if let Some(rest) = more.or_else(|| after(&[">", "≥", "above ", "over ", "more than ", "at least "])) {
            return Ok(Self::Above(limit(rest.trim_start_matches('='))?));
        }
        if let Some(x) = plain.strip_prefix('-').and_then(|rest| number(rest).ok()).filter(|x| *x > 0.0) {
            return Err(AmountError::Negative { value: -x, unit: unit.clone() }.into());
        }
        let ends = after(&["between "]).unwrap_or_else(|| plain.clone()).replace(" and ", "-").replace(" to ", "-");
        if !plain.contains('(')
            && let Some((lower, upper)) = ends.split_once('-')
            && let (Ok(lower), Ok(upper)) = (number(lower), number(upper))
        {
            let value = f64::midpoint(lower, upper);
            return if value == 0.0 && unit.has_zero() {
                Err(TypedError::BareZero { typed: typed() })
            } else {
                Ok(Self::Value { value, interval: Some((lower, upper)) })
            };
        }
        let (value, interval) = match plain.replace("+/-", "±").replace("+-", "±") {
            s if s.contains('±') => {
                let (value, half) = s.split_once('±').unwrap_or((&s, ""));
                let (value, half) = (limit(value)?, read(half)?);
                let lower = value - half;
                (value, Some((if unit.has_zero() { lower.max(0.0) } else { lower }, value + half)))
            }
            s => match s.split_once('(') {
                Some((value, ends)) => {
                    let ends = ends.strip_suffix(')').and_then(|e| e.split_once("to").or_else(|| e.split_once('-')));
                    let (lower, upper) = ends.ok_or_else(|| TypedError::NotANumber { typed: typed() })?;
                    (limit(value)?, Some((read(lower)?, read(upper)?)))
                }
                None => (limit(&s)?, None),
            },
        };
        Ok(Self::Value { value, interval })
    }

    /// The amount. `lowest` is the test's lowest shade above none, if it is known; a trace lies somewhere below it.
    ///
    /// A value typed without a range takes that of reading by eye, common practice: chart shades stand about a factor of two
    /// apart, so half to twice the value; pH half a unit to either side, temperature 1 °C, salinity 1 g/kg, conductivity 5 %; hardness and alkalinity in drops of one German degree,
    /// or a tenth of the value where that is more.
    pub fn amount(&self, unit: &Unit, lowest: Option<f64>) -> Result<Amount, TypedError> {
        let q = |value: f64| Quantity::new(value, unit.clone());
        let amount = match *self {
            Self::Value { value, interval: Some((lower, upper)) } => {
                Amount::measured(q(value), Interval::new(lower, upper)?)?
            }
            Self::Value { value, interval: None } => {
                let (lower, upper) = by_eye(value, unit);
                Amount::measured(q(value), Interval::new(lower, upper)?)?
            }
            Self::Below(limit) if unit.has_zero() => Amount::not_detected(q(limit))?,
            Self::Below(limit) => Amount::below(q(limit))?,
            Self::Above(limit) => Amount::above(q(limit))?,
            Self::Trace => {
                let lowest = lowest.ok_or(TypedError::TraceNeedsLowest)?;
                Amount::measured(q(lowest / 2.0), Interval::new(0.0, lowest)?)?
            }
        };
        Ok(amount)
    }
}

fn by_eye(value: f64, unit: &Unit) -> (f64, f64) {
    if let Some((low, high)) = unit.bounds() {
        let half = if unit.stands_before() { 0.5 } else { 1.0 };
        return ((value - half).max(low), (value + half).min(high).max(value));
    }
    if let Some(half) = unit.meter_error(value) {
        return ((value - half).max(0.0), value + half);
    }
    let drop = Quantity::new(1.0, Unit::german_degree()).to(unit);
    match drop {
        Ok(drop) => {
            let half = drop.value.max(value / 10.0);
            ((value - half).max(0.0), value + half)
        }
        Err(_) => (value / 2.0, value * 2.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::Species;

    fn nitrite() -> Unit {
        Unit::mg_l(Species::Nitrite)
    }

    #[test]
    fn forms_are_read() {
        let value = |value, interval| Ok(Typed::Value { value, interval });
        for (text, want) in [
            ("0.25", value(0.25, None)),
            ("0,25", value(0.25, None)),
            ("0.25 (0.1 to 0.5)", value(0.25, Some((0.1, 0.5)))),
            ("0.25 (0,1-0,5)", value(0.25, Some((0.1, 0.5)))),
            ("2 ± 0.5", value(2.0, Some((1.5, 2.5)))),
            ("0.1+-0.25", value(0.1, Some((0.0, 0.35)))),
            ("< 0.25", Ok(Typed::Below(0.25))),
            ("≤0.25", Ok(Typed::Below(0.25))),
            (">=5", Ok(Typed::Above(5.0))),
            ("Trace", Ok(Typed::Trace)),
            ("below 0,25", Ok(Typed::Below(0.25))),
            ("Above 5", Ok(Typed::Above(5.0))),
            ("5+", Ok(Typed::Above(5.0))),
            ("at least 7.6", Ok(Typed::Above(7.6))),
            ("0.25-0.5", value(0.375, Some((0.25, 0.5)))),
            ("between 0 and 0,25", value(0.125, Some((0.0, 0.25)))),
            ("6.5 to 7", value(6.75, Some((6.5, 7.0)))),
        ] {
            assert_eq!(Typed::parse(text, &nitrite()), want, "{text}");
        }
    }

    #[test]
    fn zero_in_any_dress_asks_for_the_limit() {
        for text in ["0", "0.0", "0,00", "00", "none", "ND", "not detected", "<0", ">0", "0 (0 to 0.1)", "0±0.1"] {
            assert_eq!(Typed::parse(text, &nitrite()).unwrap_err().code(), "amount-bare-zero", "{text}");
        }
    }

    #[test]
    fn what_is_no_amount_is_refused() {
        for (text, code) in [
            ("", "amount-malformed"),
            ("-1", "amount-negative"),
            ("−2,5", "amount-negative"),
            ("0-0", "amount-bare-zero"),
            ("5-", "amount-malformed"),
            ("0.25 ppm", "amount-malformed"),
            ("1e3", "amount-malformed"),
            ("NaN", "amount-malformed"),
            ("5 (1 to", "amount-malformed"),
            ("1,250", "amount-comma"),
        ] {
            assert_eq!(Typed::parse(text, &nitrite()).unwrap_err().code(), code, "{text}");
        }
        assert_eq!(Typed::parse("trace", &Unit::ph()).unwrap_err().code(), "amount-malformed");
    }

    #[test]
    fn amounts_of_what_was_typed() {
        let show =
            |text: &str, unit: &Unit| Typed::parse(text, unit).unwrap().amount(unit, Some(0.1)).unwrap().to_string();
        assert_eq!(show("0.25", &nitrite()), "0.25 mg/L NO2- (0.12 to 0.50)");
        assert_eq!(show("<0.25", &nitrite()), "not detected (below 0.25 mg/L NO2-)");
        assert_eq!(show(">5", &nitrite()), "above 5 mg/L NO2-");
        assert_eq!(show("trace", &nitrite()), "0.05 mg/L NO2- (0 to 0.10)");
        assert_eq!(show("7,2", &Unit::ph()), "pH 7.2 (6.7 to 7.7)");
        assert_eq!(show("<6", &Unit::ph()), "below pH 6");
        assert_eq!(show("8", &Unit::german_degree()), "8.0 dH (7.0 to 9.0)");
        let e = Typed::Trace.amount(&nitrite(), None).unwrap_err();
        assert_eq!(e.code(), "amount-trace");
        let e = Typed::parse("0.25 (0.3 to 0.5)", &nitrite()).unwrap().amount(&nitrite(), None).unwrap_err();
        assert_eq!(e.code(), "amount-interval-order");
        let e = Typed::parse("15", &Unit::ph()).unwrap().amount(&Unit::ph(), None).unwrap_err();
        assert_eq!(e.code(), "amount-ph-out-of-range");
    }
}
