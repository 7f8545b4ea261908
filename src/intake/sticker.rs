//! Labels to be printed: for which things, with which words.

use super::naming::value_of;
use super::{Home, IntakeError};
use crate::log::{Label, Log, LogError, Names, TestKey};
use crate::water::{Analyte, Quantity, Unit};
use jiff::Timestamp;

/// What labels are wanted for. The default is all there is: the tests of every kit, every tank, tap, new water, zero standard and
/// clear vial.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Wanted {
    /// The tests of these kits.
    pub kits: Vec<String>,
    /// These tanks.
    pub tanks: Vec<String>,
    /// The tap.
    pub tap: bool,
    /// Water made ready for a change.
    pub new_water: bool,
    /// Standards, as typed: `nitrate:5 mg/L NO3-`.
    pub standards: Vec<String>,
    /// The zero standard.
    pub zero: bool,
    /// The clear vial.
    pub clear: bool,
}

impl Wanted {
    fn is_all(&self) -> bool {
        *self == Self::default()
    }
}

/// A standard as typed: `ANALYTE:VALUE UNIT`, such as `nitrate:5 mg/L NO3-`.
pub fn standard(typed: &str) -> Result<Names, IntakeError> {
    let form = "ANALYTE:VALUE UNIT, such as 'nitrate:5 mg/L NO3-'";
    let malformed = || IntakeError::Sample { typed: typed.to_string(), form };
    let (analyte, rest) = typed.split_once(':').ok_or_else(malformed)?;
    let (value, unit) = rest.trim().split_once(char::is_whitespace).ok_or_else(malformed)?;
    let analyte = Analyte::parse(analyte)?;
    let unit = Unit::parse(unit, &analyte)?;
    let value =
        value_of(value, &unit).map_err(|e| IntakeError::Value { typed: typed.to_string(), source: Box::new(e) })?;
    // Whatever is not there is the same pure water.
    Ok(if value > 0.0 { Names::Standard(analyte, Quantity::new(value, unit)) } else { Names::Zero })
}

impl Home {
    /// The labels wanted, each with the number it has; what had none is given one. All of them or none.
    pub fn stickers(&self, log: &mut Log, wanted: &Wanted, now: Timestamp) -> Result<Vec<Label>, IntakeError> {
        let all = wanted.is_all();
        let mut list: Vec<(Names, String)> = Vec::new();
        let kits = if all { self.kit_names()? } else { wanted.kits.clone() };
        for name in &kits {
            let kit = self.kit(Some(name))?;
            let key = |t: &crate::curve::Test| TestKey {
                kit: Some(kit.name.clone()),
                name: t.name.clone(),
                analyte: t.analyte.clone(),
                unit: t.unit.clone(),
            };
            // Two kits may each have a test of this name.
            let words = |t: &crate::curve::Test| {
                if kits.len() > 1 { format!("{} {}", t.name, kit.name) } else { t.name.clone() }
            };
            list.extend(kit.value.tests.iter().map(|t| (Names::Test(key(t)), words(t))));
        }
        let tanks = match all {
            true => log.tanks()?,
            false => wanted.tanks.iter().map(|name| log.tank(name)).collect::<Result<Vec<_>, LogError>>()?,
        };
        list.extend(tanks.into_iter().map(|t| (Names::Tank(t.id), t.name)));
        for typed in &wanted.standards {
            let names = standard(typed)?;
            let words = match &names {
                Names::Standard(analyte, q) => format!("{} {} {}", analyte.as_str(), q.value, q.unit.as_str()),
                _ => "zero standard".to_string(),
            };
            list.push((names, words));
        }
        let plain = [
            (wanted.tap, Names::Tap, "tap water"),
            (wanted.new_water, Names::NewWater, "new water"),
            (wanted.zero, Names::Zero, "zero standard"),
            (wanted.clear, Names::Clear, "clear vial"),
        ];
        list.extend(plain.into_iter().filter(|p| all || p.0).map(|(_, names, words)| (names, words.to_string())));
        let made =
            log.write(now, |w| list.iter().map(|(names, words)| w.label(names, words)).collect::<Result<Vec<_>, _>>())?;
        let mut out: Vec<Label> = Vec::new();
        for label in made {
            if !out.iter().any(|l| l.id == label.id) {
                out.push(label);
            }
        }
        Ok(out)
    }

    /// The living label of a number, of an entry's id, or of its words, as typed.
    pub fn sticker(&self, log: &Log, typed: &str) -> Result<Label, IntakeError> {
        let living: Vec<Label> = log.labels()?.into_iter().filter(|l| !l.retired).collect();
        let text = typed.trim();
        let fits = |l: &&Label| match text.parse::<u32>() {
            Ok(number) => l.number == number,
            Err(_) => {
                l.words.to_lowercase() == text.to_lowercase() || text.len() >= 4 && l.id.to_string().ends_with(text)
            }
        };
        let found: Vec<&Label> = living.iter().filter(fits).collect();
        match found[..] {
            [one] => Ok(one.clone()),
            [] => Err(IntakeError::Unknown {
                what: "label",
                name: text.to_string(),
                known: living.iter().map(|l| l.number.to_string()).collect(),
            }),
            _ => Err(IntakeError::LabelWhich {
                typed: text.to_string(),
                fits: found.iter().map(|l| format!("{} {} ('{}')", l.number, l.id.short(), l.words)).collect(),
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn standards_say_analyte_value_and_unit() {
        let five = standard("nitrate:5 mg/L NO3-").unwrap();
        assert!(matches!(&five, Names::Standard(a, q) if a.as_str() == "nitrate" && q.value == 5.0), "{five:?}");
        assert_eq!(standard("ammonia:0 mg/L NH3-N").unwrap(), Names::Zero);
        assert!(matches!(standard("pH:7 pH").unwrap(), Names::Standard(_, q) if q.value == 7.0));
        for (typed, code) in [
            ("nitrate", "sample-malformed"),
            ("nitrate:5", "sample-malformed"),
            ("nitrate:5 mg/L", "unit-needs-basis"),
            ("nitrate:five mg/L NO3-", "amount-malformed"),
        ] {
            assert_eq!(standard(typed).unwrap_err().code(), code, "{typed}");
        }
    }
}
