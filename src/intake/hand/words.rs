//! Plain words with numbers in them: `30%`, `4 mL 9.5 % by weight`, `3 neon tetras 2 cm`.

use super::HandError;
use crate::water::volume::{IMPERIAL_GALLON, US_GALLON};
use crate::water::{Analyte, Unit, UnitError};

/// What a number is of.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Of {
    Count,
    /// 0 to 1.
    Share,
    Litres,
    Grams,
    Centimetres,
    Hours,
    Celsius,
    /// Ammonia in the tank's water.
    Concentration(Unit),
}

/// A number with what it is of, and how it was typed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Number {
    pub(super) value: f64,
    pub(super) of: Of,
    pub(super) typed: String,
}

/// What was typed, numbers apart from words.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Words {
    numbers: Vec<Number>,
    words: Vec<String>,
}

/// Units that are one word, with what one of them is.
const UNITS: &[(&[&str], Of, f64)] = &[
    (&["%", "percent", "pct"], Of::Share, 0.01),
    (&["l", "litre", "litres", "liter", "liters"], Of::Litres, 1.0),
    (&["ml", "millilitre", "millilitres", "milliliter", "milliliters"], Of::Litres, 1e-3),
    (&["kg"], Of::Grams, 1e3),
    (&["g", "gram", "grams"], Of::Grams, 1.0),
    (&["mg"], Of::Grams, 1e-3),
    (&["cm"], Of::Centimetres, 1.0),
    (&["mm"], Of::Centimetres, 0.1),
    // By definition.
    (&["in", "inch", "inches"], Of::Centimetres, 2.54),
    (&["h", "hour", "hours", "hrs"], Of::Hours, 1.0),
    (&["min", "minute", "minutes", "mins"], Of::Hours, 1.0 / 60.0),
    (&["d", "day", "days"], Of::Hours, 24.0),
    (&["°c", "celsius"], Of::Celsius, 1.0),
];

impl Words {
    /// Parts of a line apart. Numbers may have a decimal comma; a unit may stand at its number or after it.
    pub(super) fn parse(line: &str) -> Result<Self, HandError> {
        let mut out = Self::default();
        let all: Vec<&str> = line.split_whitespace().collect();
        let mut i = 0;
        while i < all.len() {
            let word = all[i];
            i += 1;
            let digits = word.find(|c: char| !(c.is_ascii_digit() || ".,".contains(c))).unwrap_or(word.len());
            let negative = word.starts_with(['-', '−'])
                && word[word.chars().next().map_or(0, char::len_utf8)..].starts_with(|c: char| c.is_ascii_digit());
            if negative {
                return Err(HandError::Number { typed: word.into(), why: "less than none" });
            }
            if digits == 0 || !word.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
                out.words.push(word.to_string());
                continue;
            }
            let value = number(&word[..digits])?;
            let mut unit = word[digits..].to_string();
            let start = i - 1;
            if unit.is_empty() && i < all.len() && (known(all[i]).is_some() || longer(all[i])) {
                unit = all[i].to_string();
                i += 1;
            }
            let typed = |to: usize| all[start..to].join(" ");
            let lower = unit.to_lowercase();
            if let Some((of, factor)) = known(&unit) {
                out.push(Number { value: value * factor, of, typed: typed(i) })?;
            } else if unit.is_empty() {
                out.push(Number { value, of: Of::Count, typed: typed(i) })?;
            } else if matches!(lower.as_str(), "°f" | "fahrenheit") {
                // By definition.
                out.push(Number { value: (value - 32.0) * 5.0 / 9.0, of: Of::Celsius, typed: typed(i) })?;
            } else if gallons(&lower) {
                let Some(size) = all.get(i).and_then(|w| gallon_of(w)) else {
                    return Err(HandError::Gallons { typed: typed(i) });
                };
                i += 1;
                out.push(Number { value: value * size, of: Of::Litres, typed: typed(i) })?;
            } else if let Some(size) = gallon_of(&lower) {
                if all.get(i).is_none_or(|w| !gallons(&w.to_lowercase())) {
                    return Err(HandError::Number { typed: typed(i), why: "its unit is not known" });
                }
                i += 1;
                out.push(Number { value: value * size, of: Of::Litres, typed: typed(i) })?;
            } else if longer(&unit) {
                let of = |text: &str| Unit::parse(text, &Analyte::Ammonia);
                let with = all.get(i).map(|basis| format!("{unit} {basis}"));
                let unit = match with.map(|text| of(&text)) {
                    Some(Ok(unit)) => {
                        i += 1;
                        unit
                    }
                    // A basis, but of something else.
                    Some(Err(e @ UnitError::OtherAnalyte { .. })) => return Err(basis(typed(i + 1), e)),
                    _ => of(&unit).map_err(|e| basis(typed(i), e))?,
                };
                out.push(Number { value, of: Of::Concentration(unit), typed: typed(i) })?;
            } else {
                // `2cm-long`, `9x`: no number of ours but a word.
                out.words.push(word.to_string());
            }
        }
        Ok(out)
    }

    fn push(&mut self, number: Number) -> Result<(), HandError> {
        let same = |n: &&Number| match (&n.of, &number.of) {
            (Of::Concentration(_), Of::Concentration(_)) => true,
            (a, b) => a == b,
        };
        match self.numbers.iter().find(same) {
            Some(first) => Err(HandError::TwoNumbers { first: first.typed.clone(), second: number.typed }),
            None => {
                self.numbers.push(number);
                Ok(())
            }
        }
    }

    /// Takes the number of something out.
    pub(super) fn take(&mut self, of: &Of) -> Option<Number> {
        let i = self.numbers.iter().position(|n| n.of == *of)?;
        Some(self.numbers.remove(i))
    }

    /// Takes the concentration out.
    pub(super) fn concentration(&mut self) -> Option<(f64, Unit)> {
        let i = self.numbers.iter().position(|n| matches!(n.of, Of::Concentration(_)))?;
        let number = self.numbers.remove(i);
        match number.of {
            Of::Concentration(unit) => Some((number.value, unit)),
            _ => None,
        }
    }

    /// A number nobody took.
    pub(super) fn left(&self) -> Option<&Number> {
        self.numbers.first()
    }

    /// Takes one of these words out, and says which.
    pub(super) fn word<T: Copy>(&mut self, wanted: &[(&str, T)]) -> Option<T> {
        let of = |w: &String| {
            let plain = w.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
            wanted.iter().find(|(text, _)| *text == plain).map(|(_, meant)| *meant)
        };
        let i = self.words.iter().position(|w| of(w).is_some())?;
        of(&self.words.remove(i))
    }

    /// Whether one of these words is among them.
    pub(super) fn has(&self, wanted: &[&str]) -> bool {
        let plain = |w: &String| w.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
        self.words.iter().any(|w| wanted.contains(&plain(w).as_str()))
    }

    /// The words that are left, as one text.
    pub(super) fn text(&self) -> Option<String> {
        let text = self.words.join(" ").trim().to_string();
        if text.is_empty() { None } else { Some(text) }
    }
}

/// A number without sign; `1,250` can be two things.
pub(super) fn number(typed: &str) -> Result<f64, HandError> {
    let wrong = |why| HandError::Number { typed: typed.to_string(), why };
    if let Some((whole, rest)) = typed.split_once(',')
        && rest.len() == 3
        && whole.chars().any(|c| c != '0')
    {
        return Err(wrong("its comma can mean a decimal or thousands"));
    }
    let value: f64 =
        typed.replace(',', ".").trim_end_matches('.').parse().map_err(|_| wrong("not a decimal number"))?;
    if value.is_finite() { Ok(value) } else { Err(wrong("too large")) }
}

/// Litres as typed: `60`, `60 L`, `500 mL`, `10 us gal`.
pub fn litres(typed: &str) -> Result<f64, HandError> {
    let mut words = Words::parse(typed)?;
    let found = words.take(&Of::Litres).or_else(|| words.take(&Of::Count));
    match found.filter(|_| words.left().is_none() && words.text().is_none()) {
        Some(n) => Ok(n.value),
        None => Err(HandError::Number { typed: typed.trim().to_string(), why: "not a volume" }),
    }
}

fn known(unit: &str) -> Option<(Of, f64)> {
    let lower = unit.trim_end_matches([',', ';']).to_lowercase();
    UNITS.iter().find(|(names, ..)| names.contains(&lower.as_str())).map(|(_, of, factor)| (of.clone(), *factor))
}

/// Units of more than one word.
fn longer(unit: &str) -> bool {
    let lower = unit.to_lowercase();
    lower.starts_with("mg/l")
        || lower.starts_with("ppm")
        || gallons(&lower)
        || gallon_of(&lower).is_some()
        || matches!(lower.as_str(), "°f" | "fahrenheit")
}

/// Whether a word is gallons.
fn gallons(lower: &str) -> bool {
    matches!(lower, "gal" | "gallon" | "gallons" | "gals")
}

/// The gallon of a country.
fn gallon_of(word: &str) -> Option<f64> {
    match word.to_lowercase().as_str() {
        "us" => Some(US_GALLON),
        "uk" | "imperial" | "imp" => Some(IMPERIAL_GALLON),
        _ => None,
    }
}

fn basis(typed: String, e: UnitError) -> HandError {
    HandError::Value { what: typed, source: Box::new(e.into()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(line: &str) -> (Vec<(f64, Of)>, Option<String>) {
        let w = Words::parse(line).unwrap_or_else(|e| panic!("{line}: {e}"));
        let text = w.text();
        (w.numbers.into_iter().map(|n| (n.value, n.of)).collect(), text)
    }

    #[test]
    fn numbers_are_told_from_words() {
        let words = |s: &str| Some(s.to_string());
        assert_eq!(of("30%"), (vec![(0.3, Of::Share)], None));
        assert_eq!(of("30 % old water"), (vec![(0.3, Of::Share)], words("old water")));
        assert_eq!(of("12,5 L"), (vec![(12.5, Of::Litres)], None));
        assert_eq!(of("3 neon tetras 2cm"), (vec![(3.0, Of::Count), (2.0, Of::Centimetres)], words("neon tetras")));
        let us = of("10 us gal").0[0].0;
        assert!((us - 37.854_117_84).abs() < 1e-9, "NIST Handbook 44: 3.785411784 L, found {us}");
        assert!((of("10 gal uk").0[0].0 - 45.4609).abs() < 1e-9);
        assert!((of("78 °F").0[0].0 - 25.555_556).abs() < 1e-6);
        let unit = Unit::parse("mg/L NH3-N", &Analyte::Ammonia).unwrap();
        assert_eq!(of("2 mg/L NH3-N"), (vec![(2.0, Of::Concentration(unit.clone()))], None));
        assert_eq!(of("2 ppm NH3-N today"), (vec![(2.0, Of::Concentration(unit))], words("today")));
        assert_eq!(of("90 min storm"), (vec![(1.5, Of::Hours)], words("storm")));
        assert_eq!(of("L-shaped tail"), (vec![], words("L-shaped tail")));
        assert_eq!(of(""), (vec![], None));
    }

    #[test]
    fn what_can_be_two_things_is_asked() {
        let code = |line: &str| Words::parse(line).unwrap_err().code();
        assert_eq!(code("10 gal"), "volume-gallons");
        assert_eq!(code("2 mg/L"), "unit-needs-basis");
        assert_eq!(code("1,250 L"), "event-number");
        assert_eq!(code("-5 L"), "event-number");
        assert_eq!(code("1.2.3 L"), "event-number");
        assert_eq!(code("30% 40 %"), "event-number-twice");
        assert_eq!(litres("60"), Ok(60.0));
        assert_eq!(litres("500 mL"), Ok(0.5));
        for bad in ["", "sixty", "60 kg", "60 L 5 L", "60 L deep"] {
            assert!(litres(bad).is_err(), "{bad}");
        }
    }
}
