//! A reading as a keeper types it: number and unit in one text, the shades of the chart it was read by, and what only formulas
//! turn into a unit: degrees Fahrenheit, a hydrometer's specific gravity, salinity from conductivity.

use super::amount::{Amount, AmountError, Interval};
use super::state::{Celsius, Salinity, StateError};
use super::titration::{Counted, Titration};
use super::typed::{Typed, TypedError};
use super::units::{Quantity, Unit, UnitError};
use super::{Analyte, Dilution, salinity_of_conductivity, salinity_of_gravity, text};

/// The shades of a test's chart, none among them, in the test's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Shades(Vec<f64>);

impl Shades {
    /// From lowest to highest; at least one above zero.
    pub fn new(mut steps: Vec<f64>) -> Result<Self, EntryError> {
        steps.sort_by(f64::total_cmp);
        steps.dedup();
        let sound = steps.iter().all(|x| x.is_finite() && *x >= 0.0) && steps.last().is_some_and(|x| *x > 0.0);
        if sound { Ok(Self(steps)) } else { Err(EntryError::Shades) }
    }

    /// As typed: `0, 0.25, 0.5, 1`; decimal commas need semicolons or spaces between the shades.
    pub fn parse(typed: &str) -> Result<Self, EntryError> {
        let plain = text::plain(typed);
        let apart: &[char] = if plain.contains(';') {
            &[';']
        } else if plain.contains(", ") || !plain.contains(' ') {
            &[',']
        } else {
            &[' ']
        };
        let one = |s: &str| text::number(s).map_err(|_| EntryError::Shades);
        Self::new(plain.split(apart).map(str::trim).filter(|s| !s.is_empty()).map(one).collect::<Result<_, _>>()?)
    }

    /// The lowest above none.
    pub fn first(&self) -> f64 {
        self.0.iter().copied().find(|x| *x > 0.0).unwrap_or(f64::INFINITY)
    }

    /// One shade to either side. Past the highest the next is taken to be as far again as the last step. None where only one
    /// shade is known.
    fn around(&self, value: f64) -> Option<(f64, f64)> {
        if self.0.iter().filter(|x| **x > 0.0).count() < 2 {
            return None;
        }
        let below = self.0.iter().copied().rfind(|x| *x < value).unwrap_or(0.0);
        let above = self.0.iter().copied().find(|x| *x > value);
        Some((below, above.unwrap_or(value + (value - below))))
    }
}

/// Why what was typed is no reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EntryError {
    /// The number.
    #[error(transparent)]
    Typed(#[from] TypedError),
    /// The unit.
    #[error(transparent)]
    Unit(#[from] UnitError),
    /// A temperature, salinity or conductivity that the formulas do not hold for.
    #[error(transparent)]
    State(#[from] StateError),
    /// No unit where one is needed.
    #[error("'{typed}' does not say in which unit")]
    NoUnit { typed: String, analyte: Analyte, choices: Vec<String> },
    /// A hydrometer or conductivity without the water's temperature.
    #[error("salinity from '{typed}' depends on the water's temperature, and that is not given")]
    NoTemperature { typed: String },
    /// Drops, or mL of titrant, without what one stands for.
    #[error("'{typed}' is a count, and what one stands for was not said")]
    NoFactor { typed: String },
    /// Something else than what is counted.
    #[error("'{typed}' does not count {counted}")]
    NotCounted { typed: String, counted: &'static str },
    /// What a drop or a mL stands for.
    #[error("'{typed}' is nothing a drop or a mL can stand for")]
    Factor { typed: String },
    /// Not a list of shades.
    #[error("a chart's shades are numbers from 0 up, at least one above 0")]
    Shades,
}

impl EntryError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Typed(e) => e.code(),
            Self::Unit(e) => e.code(),
            Self::State(e) => e.code(),
            Self::NoUnit { .. } => "entry-no-unit",
            Self::NoTemperature { .. } => "entry-no-temperature",
            Self::NoFactor { .. } => "entry-no-factor",
            Self::NotCounted { .. } => "entry-not-counted",
            Self::Factor { .. } => "entry-factor",
            Self::Shades => "entry-shades",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Typed(e) => e.remedy(),
            Self::Unit(e) => e.remedy(),
            Self::State(e) => e.remedy().to_string(),
            Self::NoUnit { choices, .. } => format!("Write it after the number, one of: {}.", choices.join(", ")),
            Self::NoTemperature { .. } => {
                "Give the temperature the water had when it was measured; with a meter that turns its reading to 25 °C, 25."
                    .into()
            }
            Self::NoFactor { .. } => "Give what one drop, or one mL of the syringe, stands for, such as 1 dKH.".into(),
            Self::NotCounted { counted, .. } => format!("Write how many {counted} it took until the colour turned, such as 7 {counted}."),
            Self::Factor { .. } => {
                "Write it as on the test's leaflet, such as 1 dKH; of a syringe also how far apart its lines are, in mL.".into()
            }
            Self::Shades => "Write them with commas between, such as 0, 0.25, 0.5, 1, 2, 4.".into(),
        }
    }
}

/// What is known beside the text.
#[derive(Debug, Clone, Copy, Default)]
pub struct Entry<'a> {
    /// The test's unit, where the text names none.
    pub unit: Option<&'a Unit>,
    /// The shades it was read by.
    pub shades: Option<&'a Shades>,
    /// Temperature of the water, for a hydrometer or a conductivity meter.
    pub temperature: Option<Celsius>,
    /// Temperature printed on the hydrometer; without it all usual ones are held possible: 15.6, 20 and 25 °C.
    pub printed: Option<Celsius>,
    /// Dilution of the sample.
    pub dilution: Option<Dilution>,
    /// What a drop or a mL of titrant stands for, where the number counts those.
    pub titration: Option<&'a Titration>,
}

impl Entry<'_> {
    /// The amount in the tank's water. Read by eye and without a range, it is one shade to either side; a zero is 'not detected'
    /// below the first shade, and an error where no shades are known.
    ///
    /// ```
    /// use tintline::water::{Analyte, Entry, Shades};
    /// let shades = Shades::parse("0, 0.25, 0.5, 1, 2")?;
    /// let entry = Entry { shades: Some(&shades), ..Entry::default() };
    /// assert_eq!(entry.amount("0 mg/L NH3-N", &Analyte::Ammonia)?.to_string(), "not detected (below 0.25 mg/L NH3-N)");
    /// assert_eq!(entry.amount("0,5 mg/L NH3-N", &Analyte::Ammonia)?.to_string(), "0.50 mg/L NH3-N (0.25 to 1.00)");
    /// # Ok::<(), tintline::water::EntryError>(())
    /// ```
    pub fn amount(&self, typed: &str, analyte: &Analyte) -> Result<Amount, EntryError> {
        let (number, unit) = split(typed);
        let plain = text::plain(&unit).to_lowercase();
        let found = match (analyte, plain.trim_start_matches(['°', ' '])) {
            (_, word) if Counted::word(word).is_some() || self.titration.is_some() => {
                self.titrated(typed, &number, Counted::word(word), analyte)?
            }
            (Analyte::Temperature, "f" | "fahrenheit" | "degrees f" | "deg f") => return self.fahrenheit(&number),
            (Analyte::Salinity, "sg" | "specific gravity" | "s.g.") => self.gravity(typed, &number)?,
            (Analyte::Salinity, _) if Unit::parse(&unit, &Analyte::Conductivity).is_ok() => {
                self.conductivity(typed, &number, &Unit::parse(&unit, &Analyte::Conductivity)?)?
            }
            _ => self.plain(typed, &number, &unit, analyte)?,
        };
        match self.dilution {
            Some(dilution) => Ok(found.diluted(dilution).map_err(TypedError::from)?),
            None => Ok(found),
        }
    }

    fn plain(&self, typed: &str, number: &str, unit: &str, analyte: &Analyte) -> Result<Amount, EntryError> {
        let unit = match (unit, self.unit, analyte) {
            ("", Some(unit), _) => unit.clone(),
            ("", None, Analyte::Ph) => Unit::ph(),
            // A number that can be no °C is refused with the word to look for: °F.
            ("", None, Analyte::Temperature) => Unit::celsius(),
            ("", None, _) => {
                let mut choices = Unit::choices(analyte);
                if *analyte == Analyte::Salinity {
                    choices.extend(["sg".to_string(), "mS/cm".to_string()]);
                }
                return Err(EntryError::NoUnit { typed: typed.trim().into(), analyte: analyte.clone(), choices });
            }
            (unit, ..) => Unit::parse(unit, analyte)?,
        };
        let own = self.unit.filter(|own| **own != unit);
        // Shades are numbers of the test's own unit.
        let step = own.map_or(Ok(1.0), |own| Quantity::new(1.0, own.clone()).to(&unit).map(|q| q.value))?;
        let shades = self.shades.map(|s| Shades(s.0.iter().map(|x| x * step).collect()));
        let parsed = match (Typed::parse(number, &unit), &shades) {
            (Err(TypedError::BareZero { .. }), Some(shades)) if !number.contains(['<', '>', '(', '±']) => {
                Typed::Below(shades.first())
            }
            (parsed, _) => parsed?,
        };
        let parsed = match (parsed, &shades) {
            (Typed::Value { value, interval: None }, Some(shades)) => {
                Typed::Value { value, interval: shades.around(value) }
            }
            (parsed, _) => parsed,
        };
        Ok(parsed.amount(&unit, shades.as_ref().map(Shades::first))?)
    }

    fn titrated(
        &self,
        typed: &str,
        number: &str,
        said: Option<Counted>,
        analyte: &Analyte,
    ) -> Result<Amount, EntryError> {
        match (self.titration, said) {
            (Some(titration), Some(said)) => titration.amount(typed, number, said, analyte),
            (Some(Titration { counted: Counted::Drops, .. }), None) => {
                Err(EntryError::NotCounted { typed: typed.trim().into(), counted: "drops" })
            }
            (Some(_), None) => Err(EntryError::NotCounted { typed: typed.trim().into(), counted: "mL" }),
            (None, _) => Err(EntryError::NoFactor { typed: typed.trim().into() }),
        }
    }

    /// (F − 32)·5/9, by definition.
    fn fahrenheit(&self, number: &str) -> Result<Amount, EntryError> {
        let unit = Unit::celsius();
        // Looked at as a number without bounds: its own ones are those of °C.
        let celsius = |f: f64| (f - 32.0) * 5.0 / 9.0;
        let typed = Typed::parse(number, &unit)?;
        let typed = match typed {
            Typed::Value { value, interval } => {
                let interval = interval.map(|(a, b)| (celsius(a), celsius(b)));
                Typed::Value { value: celsius(value), interval }
            }
            Typed::Below(x) => Typed::Below(celsius(x)),
            Typed::Above(x) => Typed::Above(celsius(x)),
            Typed::Trace => Typed::Trace,
        };
        Ok(typed.amount(&unit, None)?)
    }

    /// A hydrometer is read to a thousandth, common practice; one with another printed temperature would show another salinity.
    fn gravity(&self, typed: &str, number: &str) -> Result<Amount, EntryError> {
        let t = self.temperature.ok_or_else(|| EntryError::NoTemperature { typed: typed.trim().into() })?;
        let (value, (lower, upper)) = value(number, 0.001)?;
        let printed = match self.printed {
            Some(printed) => vec![printed],
            None => [20.0, 15.6, 25.0].into_iter().map(Celsius::new).collect::<Result<_, _>>()?,
        };
        let salinity = |x: f64, p: &Celsius| salinity_of_gravity(x, t, *p).map(Salinity::value);
        let best = salinity(value, &printed[0])?;
        // An end that no water has is as far as the formula goes.
        let ends = |x: f64, none: f64| printed.iter().map(move |p| salinity(x, p).unwrap_or(none));
        let low = ends(lower, 0.0).fold(best, f64::min);
        salted(best, low, ends(upper, Salinity::RANGE.1).fold(best, f64::max))
    }

    fn conductivity(&self, typed: &str, number: &str, unit: &Unit) -> Result<Amount, EntryError> {
        let t = self.temperature.ok_or_else(|| EntryError::NoTemperature { typed: typed.trim().into() })?;
        let (value, (lower, upper)) = value(number, f64::NAN)?;
        let ms = |x: f64| Quantity::new(x, unit.clone()).to(&Unit::ms_cm()).map(|q| q.value);
        let salinity = |x: f64| Ok::<_, EntryError>(salinity_of_conductivity(ms(x)?, t)?.value());
        let best = salinity(value)?;
        salted(best, salinity(lower).unwrap_or(0.0), salinity(upper).unwrap_or(Salinity::RANGE.1))
    }
}

fn salted(best: f64, lower: f64, upper: f64) -> Result<Amount, EntryError> {
    let interval = Interval::new(lower, upper).map_err(TypedError::from)?;
    Ok(Amount::measured(Quantity::new(best, Unit::g_kg()), interval).map_err(TypedError::from)?)
}

/// A value with its range: the one typed, else `half` to either side, for NaN 5 %.
fn value(number: &str, half: f64) -> Result<(f64, (f64, f64)), EntryError> {
    match Typed::parse(number, &Unit::ms_cm())? {
        Typed::Value { value, interval } => {
            let half = if half.is_nan() { value * 0.05 } else { half };
            let ends = interval.unwrap_or((value - half, value + half));
            if !(ends.0 <= value && value <= ends.1) {
                return Err(TypedError::from(AmountError::IntervalOrder { value, lower: ends.0, upper: ends.1 }).into());
            }
            Ok((value, ends))
        }
        _ => Err(TypedError::NotANumber { typed: number.trim().into() }.into()),
    }
}

/// The number with its signs and range, and what stands after it.
pub(super) fn split(typed: &str) -> (String, String) {
    let plain = typed.trim();
    let lower = plain.to_lowercase();
    let none = ["not detected", "trace", "none", "zero", "nil", "nd"]
        .into_iter()
        .find(|w| lower.strip_prefix(w).is_some_and(|rest| rest.is_empty() || rest.starts_with(' ')));
    if let Some(word) = none.filter(|w| plain.is_char_boundary(w.len())) {
        return (plain[..word.len()].to_string(), plain[word.len()..].trim().to_string());
    }
    let digits = |c: char| c.is_ascii_digit() || ".,".contains(c);
    let mut end = 0;
    let mut rest = plain;
    // Words and signs before the first digit belong to the number: 'below', '<', '-'.
    if let Some(first) = plain.find(|c: char| c.is_ascii_digit()) {
        let word = plain[..first].trim().to_lowercase();
        const BEFORE: &[&str] = &[
            "",
            "<",
            ">",
            "≤",
            "≥",
            "<=",
            ">=",
            "-",
            "−",
            ".",
            "below",
            "under",
            "less than",
            "above",
            "over",
            "more than",
            "at least",
            "between",
        ];
        if BEFORE.contains(&word.as_str()) {
            end = first;
            rest = &plain[first..];
        }
    } else {
        return (plain.to_string(), String::new());
    }
    loop {
        let number = rest.find(|c| !digits(c)).unwrap_or(rest.len());
        (end, rest) = (end + number, &rest[number..]);
        let trimmed = rest.trim_start();
        let gap = rest.len() - trimmed.len();
        let join = ["±", "+/-", "+-", "-", "–", "to ", "and "].into_iter().find(|j| {
            trimmed.strip_prefix(j).is_some_and(|r| r.trim_start().starts_with(|c: char| c.is_ascii_digit()))
        });
        if let Some(join) = join.filter(|_| number > 0) {
            let after = trimmed[join.len()..].trim_start();
            end += gap + trimmed[..trimmed.len() - after.len()].len();
            rest = after;
            continue;
        }
        if trimmed.starts_with('(')
            && let Some(close) = trimmed.find(')')
            && trimmed[1..close].contains(|c: char| c.is_ascii_digit())
            && trimmed[1..close].chars().all(|c| c.is_ascii_digit() || " .,-–to".contains(c))
        {
            end += gap + close + 1;
        } else if let Some(more) = ["+", " or more"].into_iter().find(|m| rest.starts_with(m)) {
            end += more.len();
        }
        return (plain[..end].to_string(), plain[end..].trim().to_string());
    }
}

#[cfg(test)]
mod tests;
