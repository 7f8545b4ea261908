//! What the keeper types: which test stands at which station, `A=ammonia` or `B=nitrate:1+4`, and which standard.

use super::{IntakeError, Named};
use crate::card::Layout;
use crate::curve::{Kit, Test};
use crate::log::Target;
use crate::reading::{Ask, Standard};
use crate::water::{AmountError, Analyte, Dilution, Typed, TypedError, Unit};

/// Whether a word on the command line is meant as `STATION=…`: letters, digits and hyphens before an equals sign.
pub fn is_sample(word: &str) -> bool {
    word.split_once('=').is_some_and(|(station, _)| {
        let station = station.trim();
        !station.is_empty() && station.len() <= 12 && station.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
    })
}

impl Named {
    /// What the keeper typed: `STATION=TEST` or `STATION=TEST:1+4`.
    pub fn typed(target: Target, words: &[String], kit: &Kit, layout: &Layout) -> Result<Self, IntakeError> {
        if words.is_empty() {
            return Err(IntakeError::NoSamples { known: names(kit) });
        }
        Ok(Self::all_of(target, asks(words, kit, layout)?))
    }
}

/// The samples the keeper typed, if any: `STATION=TEST` or `STATION=TEST:1+4`.
pub fn asks(words: &[String], kit: &Kit, layout: &Layout) -> Result<Vec<Ask>, IntakeError> {
    let mut asks: Vec<Ask> = Vec::new();
    for word in words {
        let form = "STATION=TEST, such as A=ammonia, or with a dilution A=nitrate:1+4";
        let (station, rest) = station(word, form, layout)?;
        if asks.iter().any(|a| a.station == station) {
            return Err(IntakeError::StationTwice { station });
        }
        let (name, dilution) = match rest.split_once(':') {
            Some((name, dilution)) => (name, Some(dilution)),
            None => (rest, None),
        };
        let test = test(kit, name)?;
        let dilution = dilution.map(|text| diluted(word, text, test)).transpose()?;
        asks.push(Ask { station, test: test.name.clone(), dilution });
    }
    Ok(asks)
}

/// The standards the keeper typed: `STATION=TEST:VALUE`.
pub fn standards(words: &[String], kit: &Kit, layout: &Layout) -> Result<Vec<Standard>, IntakeError> {
    if words.is_empty() {
        return Err(IntakeError::NoSamples { known: names(kit).iter().map(|n| format!("{n}:VALUE")).collect() });
    }
    let mut out: Vec<Standard> = Vec::new();
    for word in words {
        let form = "STATION=TEST:VALUE, such as A=nitrate:5, in the test's unit";
        let (station, rest) = station(word, form, layout)?;
        if out.iter().any(|s| s.station == station) {
            return Err(IntakeError::StationTwice { station });
        }
        let malformed = || IntakeError::Sample { typed: word.clone(), form };
        let (name, value) = rest.rsplit_once(':').ok_or_else(malformed)?;
        let test = test(kit, name)?;
        let value =
            value_of(value, &test.unit).map_err(|e| IntakeError::Value { typed: word.clone(), source: Box::new(e) })?;
        out.push(Standard { station, test: test.name.clone(), value });
    }
    Ok(out)
}

/// A test of the kit: by its name, by what it measures, or by the beginning of its name; upper and lower case alike.
pub(super) fn test<'k>(kit: &'k Kit, typed: &str) -> Result<&'k Test, IntakeError> {
    let wanted = typed.trim().to_lowercase();
    if let Ok(test) = kit.test(&wanted) {
        return Ok(test);
    }
    let analyte = Analyte::parse(&wanted).ok();
    let of = |fits: &dyn Fn(&&Test) -> bool| kit.tests.iter().filter(fits).collect::<Vec<_>>();
    let by_analyte = of(&|t| Some(&t.analyte) == analyte.as_ref());
    let fits = match by_analyte.is_empty() && !wanted.is_empty() {
        true => of(&|t| t.name.to_lowercase().starts_with(&wanted)),
        false => by_analyte,
    };
    match fits[..] {
        [one] => Ok(one),
        [] => Err(IntakeError::Test { typed: typed.trim().to_string(), kit: kit.name.clone(), known: names(kit) }),
        _ => Err(IntakeError::TestAmbiguous {
            typed: typed.trim().to_string(),
            fits: fits.iter().map(|t| t.name.clone()).collect(),
        }),
    }
}

/// Whether a test's name can be typed again at a station.
pub fn check_test_name(name: &str) -> Result<(), IntakeError> {
    match name.contains(['=', ':']) {
        true => Err(IntakeError::TestName { name: name.to_string() }),
        false => Ok(()),
    }
}

fn names(kit: &Kit) -> Vec<String> {
    kit.tests.iter().map(|t| t.name.clone()).collect()
}

/// The station as the layout spells it, and what follows the equals sign.
fn station<'w>(word: &'w str, form: &'static str, layout: &Layout) -> Result<(String, &'w str), IntakeError> {
    let malformed = || IntakeError::Sample { typed: word.to_string(), form };
    let (typed, rest) = word.split_once('=').ok_or_else(malformed)?;
    if rest.trim().is_empty() {
        return Err(malformed());
    }
    let names = &layout.stations.names;
    match names.iter().find(|n| n.eq_ignore_ascii_case(typed.trim())) {
        Some(name) => Ok((name.clone(), rest)),
        None => Err(IntakeError::Station { station: typed.trim().to_string(), known: names.clone() }),
    }
}

fn diluted(word: &str, text: &str, test: &Test) -> Result<Dilution, IntakeError> {
    let typed = word.to_string();
    if !test.analyte.has_zero() {
        let source = Box::new(AmountError::DilutionNotForPh);
        return Err(IntakeError::NoDilution { typed, source });
    }
    Dilution::parse(text).map_err(|source| IntakeError::Dilution { typed, source })
}

/// A standard's concentration. Unlike a reading it may be zero, and it is what was weighed in, so it has no interval.
pub(super) fn value_of(text: &str, unit: &Unit) -> Result<f64, TypedError> {
    let zero = text.contains('0') && text.trim().chars().all(|c| matches!(c, '0' | '.' | ','));
    if zero && unit.has_zero() {
        return Ok(0.0);
    }
    match Typed::parse(text, unit)? {
        Typed::Value { value, interval: None } => Ok(value),
        _ => Err(TypedError::NotANumber { typed: text.trim().to_string() }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_paths_are_told_apart() {
        for word in ["A=ammonia", "pad-1=x", "b=NO3:1+4", "A="] {
            assert!(is_sample(word), "{word}");
        }
        for path in
            ["photo.jpg", "./A=ammonia.jpg", "a b=c.jpg", "=x", "2026.03.01=tank.jpg", "quite-a-long-name=1.jpg"]
        {
            assert!(!is_sample(path), "{path}");
        }
    }

    #[test]
    fn standards_may_be_zero_and_nothing_vague() {
        let unit = Unit::mg_l(crate::water::Species::Nitrate);
        assert_eq!(value_of("0", &unit), Ok(0.0));
        assert_eq!(value_of("0.00", &unit), Ok(0.0));
        assert_eq!(value_of("0,25", &unit), Ok(0.25));
        for (text, code) in [("<5", "amount-malformed"), ("trace", "amount-malformed"), ("1,250", "amount-comma")] {
            assert_eq!(value_of(text, &unit).unwrap_err().code(), code, "{text}");
        }
        assert_eq!(value_of("", &unit).unwrap_err().code(), "amount-malformed");
    }
}
