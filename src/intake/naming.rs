//! What the keeper types: which test stands at which station, `A=ammonia` or `B=nitrate:1+4`, and which standard. Of a strip
//! nothing need be typed: the kit says which test is on which pad.

use super::{IntakeError, Named};
use crate::card::Layout;
use crate::curve::{Kind, Kit, Test};
use crate::log::Target;
use crate::reading::{Ask, Standard};
use crate::water::{AmountError, Analyte, COVERAGE, Dilution, Typed, TypedError, Unit};

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
        let asks = asks(words, kit, layout)?;
        if asks.is_empty() {
            return Err(IntakeError::NoSamples { known: names(kit) });
        }
        Ok(Self::all_of(target, asks))
    }
}

/// The samples the keeper typed, if any: `STATION=TEST` or `STATION=TEST:1+4`. With a kit of strips, every pad if nothing was
/// typed.
pub fn asks(words: &[String], kit: &Kit, layout: &Layout) -> Result<Vec<Ask>, IntakeError> {
    if words.is_empty() && kit.kind == Kind::Strip {
        return Ok(pads(kit));
    }
    let mut asks: Vec<Ask> = Vec::new();
    for word in words {
        let form = "STATION=TEST, such as A=ammonia, or with a dilution A=nitrate:1+4";
        let (station, rest) = station(word, form, kit, layout)?;
        if asks.iter().any(|a| a.station == station) {
            return Err(IntakeError::StationTwice { station });
        }
        let (name, dilution) = match rest.split_once(':') {
            Some((name, dilution)) => (name, Some(dilution)),
            None => (rest, None),
        };
        let test = test(kit, name)?;
        on_pad(&station, test, kit)?;
        let dilution = dilution.map(|text| diluted(word, text, test)).transpose()?;
        asks.push(Ask { station, test: test.name.clone(), dilution });
    }
    Ok(asks)
}

/// The standards the keeper typed: `STATION=TEST:VALUE`, or for a pad of a strip `TEST=VALUE`; the value with its uncertainty where
/// it is known, `0.5±0.03`.
pub fn standards(words: &[String], kit: &Kit, layout: &Layout) -> Result<Vec<Standard>, IntakeError> {
    if words.is_empty() {
        return Err(IntakeError::NoSamples { known: names(kit).iter().map(|n| format!("{n}:VALUE")).collect() });
    }
    let mut out: Vec<Standard> = Vec::new();
    for word in words {
        let form = "STATION=TEST:VALUE, such as A=nitrate:5, in the test's unit";
        let whole = of_pad(word, kit).unwrap_or_else(|| word.clone());
        let (station, rest) = station(&whole, form, kit, layout)?;
        if out.iter().any(|s| s.station == station) {
            return Err(IntakeError::StationTwice { station });
        }
        let malformed = || IntakeError::Sample { typed: word.clone(), form };
        let (name, value) = rest.rsplit_once(':').ok_or_else(malformed)?;
        let test = test(kit, name)?;
        on_pad(&station, test, kit)?;
        let (value, value_sd) = standard_of(value, &test.unit)
            .map_err(|e| IntakeError::Value { typed: word.clone(), source: Box::new(e) })?;
        out.push(Standard { station, test: test.name.clone(), value, value_sd });
    }
    Ok(out)
}

/// Every pad of a strip with its test, pad 1 first.
fn pads(kit: &Kit) -> Vec<Ask> {
    let mut pads: Vec<(u8, &Test)> = kit.tests.iter().filter_map(|t| Some((t.pad?, t))).collect();
    pads.sort_by_key(|(pad, _)| *pad);
    let ask = |(pad, test): (u8, &Test)| Ask { station: format!("pad-{pad}"), test: test.name.clone(), dilution: None };
    pads.into_iter().map(ask).collect()
}

/// The long form of `nitrate=12`: `pad-1=nitrate:12`.
fn of_pad(word: &str, kit: &Kit) -> Option<String> {
    let (name, value) = word.split_once('=')?;
    let test = test(kit, name).ok().filter(|_| !value.contains(':'))?;
    Some(format!("pad-{}={}:{value}", test.pad?, test.name))
}

/// A pad holds the test that the kit says, no other.
fn on_pad(station: &str, test: &Test, kit: &Kit) -> Result<(), IntakeError> {
    match pads(kit).into_iter().find(|a| a.station == station) {
        Some(own) if kit.kind == Kind::Strip && own.test != test.name => {
            Err(IntakeError::PadTest { station: station.to_string(), own: own.test, typed: test.name.clone() })
        }
        _ => Ok(()),
    }
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
fn station<'w>(
    word: &'w str,
    form: &'static str,
    kit: &Kit,
    layout: &Layout,
) -> Result<(String, &'w str), IntakeError> {
    let malformed = || IntakeError::Sample { typed: word.to_string(), form };
    let (typed, rest) = word.split_once('=').ok_or_else(malformed)?;
    if rest.trim().is_empty() {
        return Err(malformed());
    }
    let names = match kit.kind {
        Kind::Vial => layout.stations.names.clone(),
        Kind::Strip => pads(kit).into_iter().map(|a| a.station).collect(),
    };
    match names.iter().find(|n| n.eq_ignore_ascii_case(typed.trim())) {
        Some(name) => Ok((name.clone(), rest)),
        None => Err(IntakeError::Station { station: typed.trim().to_string(), known: names }),
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

/// A standard's concentration with its standard deviation: `0.5`, or `0.5±0.03`, where ± is the expanded uncertainty, the 95 %
/// range as of readings.
pub(super) fn standard_of(text: &str, unit: &Unit) -> Result<(f64, Option<f64>), TypedError> {
    let plain = text.replace("+/-", "±").replace("+-", "±");
    if !plain.contains('±') {
        return Ok((value_of(text, unit)?, None));
    }
    match Typed::parse(text, unit)? {
        // The upper end: the lower one stops at zero.
        Typed::Value { value, interval: Some((_, upper)) } => {
            // Without the digits that only the subtraction made.
            let sd = (upper - value) / COVERAGE;
            Ok((value, Some(format!("{sd:.5e}").parse().unwrap_or(sd))))
        }
        _ => Err(TypedError::NotANumber { typed: text.trim().to_string() }),
    }
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

    #[test]
    fn a_standards_uncertainty_stands_after_plus_minus() {
        let unit = Unit::mg_l(crate::water::Species::Nitrate);
        for text in ["5±0.3", "5 ± 0.3", "5+-0.3", "5+/-0,3"] {
            let (value, sd) = standard_of(text, &unit).unwrap();
            assert!(value == 5.0 && (sd.unwrap() - 0.15).abs() < 1e-12, "{text}: {sd:?}");
        }
        // More than half of itself: the range stops at zero, the deviation does not.
        assert_eq!(standard_of("0.1±0.2", &unit).unwrap().1.map(|sd| (sd * 1e9).round()), Some(1e8));
        assert_eq!(standard_of("5", &unit), Ok((5.0, None)));
        assert_eq!(standard_of("0", &unit), Ok((0.0, None)));
        for text in ["4-6", "5 (4 to 6)", "5±", "±0.3", "5±x", "<5±1", "5±-1"] {
            assert_eq!(standard_of(text, &unit).unwrap_err().code(), "amount-malformed", "{text}");
        }
        assert_eq!(standard_of("0±0.1", &unit).unwrap_err().code(), "amount-bare-zero");
    }
}
