//! What a keeper types when asking for a plan: strengths, shares, days, grams, animals.

use super::HandError;
use super::meant::{share_of, stock};
use super::words::{Of, Words, number};
use crate::log::happening::{Stock, Strength};
use crate::water::Quantity;

/// An ammonia solution's strength, such as `9.5% by weight` or `25 % w/v`: per cent, and of what where that was said.
///
/// ```
/// use tintline::intake::asked;
/// use tintline::log::happening::Strength;
/// assert_eq!(asked::strength("9.5% w/w")?, (9.5, Some(Strength::ByWeight)));
/// assert_eq!(asked::strength("25 % by volume")?, (25.0, Some(Strength::ByVolume)));
/// assert_eq!(asked::strength("10")?, (10.0, None));
/// # Ok::<(), tintline::intake::HandError>(())
/// ```
pub fn strength(typed: &str) -> Result<(f64, Option<Strength>), HandError> {
    let wrong = || HandError::Number { typed: typed.trim().into(), why: "not a strength" };
    // `w/w%` stands as one word on some labels.
    let plain = typed.replace("w/w%", "% w/w").replace("w/v%", "% w/v");
    let mut w = Words::parse(&plain)?;
    let of = w.word(&[
        ("weight", Strength::ByWeight),
        ("w/w", Strength::ByWeight),
        ("volume", Strength::ByVolume),
        ("w/v", Strength::ByVolume),
    ]);
    let _ = w.word(&[("by", ())]);
    let percent = w.take(&Of::Share).map(|n| n.value * 100.0).or_else(|| w.take(&Of::Count).map(|n| n.value));
    let percent = percent.filter(|_| w.left().is_none() && w.text().is_none()).ok_or_else(wrong)?;
    // 9.5 % come as 9.500000000000002 from the share.
    Ok(((percent * 1e9).round() / 1e9, of))
}

/// An amount of ammonia in water, such as `2 mg/L NH3-N`.
pub fn ammonia(typed: &str) -> Result<Quantity, HandError> {
    let mut w = Words::parse(typed)?;
    let found = w.concentration().filter(|_| w.left().is_none() && w.text().is_none());
    match found {
        Some((value, unit)) => Ok(Quantity::new(value, unit)),
        None => Err(HandError::Bare {
            typed: typed.trim().into(),
            kind: "ammonia".into(),
            takes: "mg/L with the basis, such as '2 mg/L NH3-N'",
        }),
    }
}

/// A share, such as `30%` or `half`: 0 to 1 and more, which the plan refuses.
pub fn share(typed: &str) -> Result<f64, HandError> {
    let mut w = Words::parse(typed)?;
    let found = share_of(&mut w).filter(|_| w.left().is_none());
    found.ok_or_else(|| HandError::Number { typed: typed.trim().into(), why: "not a share; write 30%" })
}

/// Days, such as `7`, `7d`, `week`.
pub fn days(typed: &str) -> Result<f64, HandError> {
    let mut w = Words::parse(typed)?;
    let found = w.take(&Of::Hours).map(|n| n.value / 24.0).or_else(|| w.take(&Of::Count).map(|n| n.value));
    let weeks = w.word(&[("week", 7.0), ("weeks", 7.0), ("weekly", 7.0), ("fortnight", 14.0), ("day", 1.0)]);
    match (found, weeks) {
        (Some(n), Some(week)) => Ok(n * week),
        (Some(n), None) | (None, Some(n)) if w.left().is_none() => Ok(n),
        _ => Err(HandError::Number { typed: typed.trim().into(), why: "not a number of days" }),
    }
}

/// Grams, such as `0.5 g` or `0,5`.
pub fn grams(typed: &str) -> Result<f64, HandError> {
    let mut w = Words::parse(typed)?;
    let found = w.take(&Of::Grams).or_else(|| w.take(&Of::Count)).map(|n| n.value);
    found
        .filter(|_| w.left().is_none() && w.text().is_none())
        .ok_or_else(|| HandError::Number { typed: typed.trim().into(), why: "not a mass; write 0.5 g" })
}

/// A bare number, such as a density.
pub fn plain_number(typed: &str) -> Result<f64, HandError> {
    number(typed.trim())
}

/// Kinds of animals, apart by `,` and a space or by `and`: `6 barbs 4 cm, 1 catfish 12 cm`.
pub fn animals(typed: &str) -> Result<Vec<Stock>, HandError> {
    let mut out = Vec::new();
    for part in typed.split(", ").flat_map(|p| p.split(" and ")).map(str::trim).filter(|p| !p.is_empty()) {
        let mut w = Words::parse(part)?;
        let stock = stock(&mut w)?;
        if let Some(n) = w.left() {
            let takes = "a count, the size of one in cm and its mass in g, such as '3 tetras 2 cm'";
            return Err(HandError::Misplaced { typed: n.typed.clone(), kind: "animals".into(), takes });
        }
        out.push(stock);
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_understood_or_asked_back() {
        assert_eq!(share("30%").unwrap(), 0.3);
        assert_eq!(share("half").unwrap(), 0.5);
        assert_eq!((days("7d").unwrap(), days("2 weeks").unwrap(), days("week").unwrap()), (7.0, 14.0, 7.0));
        assert_eq!((grams("0,5 g").unwrap(), grams("500 mg").unwrap()), (0.5, 0.5));
        let two = animals("6 barbs 4 cm, 1 catfish 12cm").unwrap();
        assert_eq!((two[0].number, two[0].size_cm, two[1].size_cm), (Some(6), Some(4.0), Some(12.0)));
        for bad in ["", "9.5% by hand", "strong", "9.5% 4 mL"] {
            assert!(strength(bad).is_err(), "{bad}");
        }
        assert_eq!(ammonia("2 mg/L").unwrap_err().code(), "unit-needs-basis");
        assert_eq!(ammonia("2").unwrap_err().code(), "event-number-bare");
        for bad in ["", "30", "30 L", "30% 2 L"] {
            assert!(share(bad).is_err(), "{bad}");
        }
        assert!(days("soon").is_err() && grams("2 cm").is_err() && animals("6 barbs 4 L").is_err());
    }
}
