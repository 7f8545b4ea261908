//! Units as people type them. Spellings are common practice.

use super::Analyte;
use super::species::{Degree, Measure, Species};
use super::text::plain;
use super::units::{Unit, UnitError};

/// Spellings of a basis as [`key`] leaves them, that mean this and nothing else.
const SURE: &[(Species, &[&str])] = &[
    (
        Species::AmmoniaN,
        &["nh3n", "nh4n", "nnh3", "nnh4", "nh3/nh4n", "tan", "ammonian", "ammoniumn", "ammonianitrogen"],
    ),
    (Species::Ammonia, &["nh3"]),
    (Species::Ammonium, &["nh4"]),
    (Species::NitriteN, &["no2n", "nno2", "nitriten", "nitritenitrogen"]),
    (Species::Nitrite, &["no2", "nitriteion"]),
    (Species::NitrateN, &["no3n", "nno3", "nitraten", "nitratenitrogen"]),
    (Species::Nitrate, &["no3", "nitrateion"]),
    (Species::CalciumCarbonate, &["caco3"]),
    (Species::PhosphateP, &["po4p", "ppo4"]),
    (Species::Phosphate, &["po4", "po43", "phosphateion"]),
];

/// Spellings that say enough only because the analyte is known.
const WITH_ANALYTE: &[(Species, &[&str])] = &[
    (Species::AmmoniaN, &["n", "nitrogen"]),
    (Species::NitriteN, &["n", "nitrogen"]),
    (Species::NitrateN, &["n", "nitrogen"]),
    (Species::CalciumCarbonate, &["calciumcarbonate"]),
    (Species::PhosphateP, &["p", "phosphorus"]),
];

/// Units that stand alone, in lower case.
const BOTH: &[&str] = &["hardness", "alkalinity"];
const ALONE: &[(Degree, &[&str], &[&str])] = &[
    (Degree::German, BOTH, &["dh", "°dh", "° dh", "degrees dh", "german degrees"]),
    (Degree::German, &["hardness"], &["dgh", "°dgh", "°gh", "gh"]),
    (Degree::German, &["alkalinity"], &["dkh", "°dkh", "°kh", "kh"]),
    (Degree::French, BOTH, &["fh", "°fh", "°f", "french degrees"]),
    (Degree::English, BOTH, &["eh", "°eh", "°e", "clark degrees", "english degrees"]),
    (Degree::GrainUs, BOTH, &["gpg", "grains per gallon", "grains per us gallon"]),
    (Degree::Milliequivalent, BOTH, &["meq/l", "meq", "mval/l", "mval", "meq/litre", "meq/liter"]),
];

/// Units of what a meter or thermometer shows, with the one analyte of each. °F and specific gravity are no units here: they
/// have no fixed factor; [`Entry`](super::Entry) turns them into these.
type Meter = (fn() -> Unit, &'static str, &'static [&'static str]);
const METERS: &[Meter] = &[
    (Unit::celsius, "temperature", &["°c", "° c", "c", "celsius", "degrees c", "degrees celsius", "deg c", "degc"]),
    (Unit::g_kg, "salinity", &["g/kg", "ppt", "psu", "‰", "g per kg", "parts per thousand"]),
    (Unit::ms_cm, "conductivity", &["ms/cm", "ms", "ms per cm"]),
    (Unit::us_cm, "conductivity", &["us/cm", "us", "us per cm"]),
];

/// See [`Unit::parse`].
pub(super) fn parse(text: &str, analyte: &Analyte) -> Result<Unit, UnitError> {
    let (typed, analyte, choices) = (text.trim().to_string(), analyte.clone(), Unit::choices(analyte));
    let plain = plain(text);
    let lower = plain.to_ascii_lowercase();
    if let Some((unit, serves)) = alone(&lower) {
        return if serves.contains(&analyte.as_str()) {
            Ok(unit)
        } else {
            Err(UnitError::OtherAnalyte { typed, belongs: serves.join(" or "), analyte, choices })
        };
    }
    if let Some((unit, own)) = METERS.iter().find(|(_, _, s)| s.contains(&lower.as_str())).map(|(u, a, _)| (u(), *a)) {
        return if analyte.as_str() == own {
            Ok(unit)
        } else {
            Err(UnitError::OtherAnalyte { typed, belongs: own.to_string(), analyte, choices })
        };
    }
    let Some((measure, basis)) = split(&plain, &lower).filter(|_| analyte != Analyte::Ph) else {
        return Err(UnitError::Unknown { typed, analyte, choices });
    };
    let key = key(basis);
    let serves = |s: &Species| s.serves().contains(&analyte.as_str());
    if let Some(species) = find(SURE, &key, serves).or_else(|| find(WITH_ANALYTE, &key, serves)) {
        return Ok(Unit::of(measure, species));
    }
    if let Some(species) = find(SURE, &key, |_| true) {
        return Err(UnitError::OtherAnalyte { typed, belongs: species.serves().join(" or "), analyte, choices });
    }
    if Species::ALL.iter().any(serves) {
        return Err(if key.is_empty() || Analyte::parse(basis).as_ref() == Ok(&analyte) {
            UnitError::NeedsBasis { typed, analyte, choices }
        } else {
            UnitError::Unknown { typed, analyte, choices }
        });
    }
    // What a meter shows is no mass in a litre; a log may hold such a unit from before there were meters, in full.
    if matches!(analyte, Analyte::Temperature | Analyte::Salinity | Analyte::Conductivity) && basis != analyte.as_str()
    {
        return Err(UnitError::Unknown { typed, analyte, choices });
    }
    match own_basis(if key.is_empty() { analyte.as_str() } else { basis }) {
        Some(basis) => Ok(Unit::own(measure, basis)),
        None => Err(UnitError::Unknown { typed, analyte, choices }),
    }
}

/// The species a formula such as `NO3-N` stands for, whatever the analyte.
pub(super) fn species(formula: &str) -> Option<Species> {
    find(SURE, &key(formula), |_| true)
}

/// A keeper's own basis without a leading 'as', if it is a plain name.
pub(super) fn own_basis(text: &str) -> Option<&str> {
    let mut s = text.trim();
    while let Some(rest) = s.get(..3).filter(|a| a.eq_ignore_ascii_case("as ")).map(|_| s[3..].trim_start()) {
        s = rest;
    }
    is_name(s).then_some(s)
}

/// Whether a text can name a keeper's own analyte or basis.
pub(super) fn is_name(s: &str) -> bool {
    let fits = |c: char| c.is_alphanumeric() || " -+._".contains(c);
    s.chars().count() <= 40 && s.chars().all(fits) && s.chars().any(char::is_alphabetic)
}

fn find(table: &[(Species, &[&str])], key: &str, serves: impl Fn(&Species) -> bool) -> Option<Species> {
    table.iter().find(|(s, keys)| serves(s) && keys.contains(&key)).map(|(s, _)| *s)
}

/// A unit that brings its basis with it, and the text forms of the analytes given in it.
fn alone(lower: &str) -> Option<(Unit, &'static [&'static str])> {
    if matches!(lower, "ph" | "ph unit" | "ph units") {
        return Some((Unit::ph(), &["pH"]));
    }
    ALONE.iter().find(|(.., spellings)| spellings.contains(&lower)).map(|(d, serves, _)| (Unit::degree(*d), *serves))
}

/// The measure and what follows or stands inside it (`mg N/L`): the basis, perhaps empty.
fn split<'a>(plain: &'a str, lower: &str) -> Option<(Measure, &'a str)> {
    const LITRE: &[&str] =
        &["/ litre", "/ liter", "/litre", "/liter", "/ l", "/l", "per litre", "per liter", "per l", "l-1", "l^-1"];
    let prefixes = [
        ("ppm", Measure::Milligram, true),
        ("ppb", Measure::Microgram, true),
        ("mg", Measure::Milligram, false),
        ("ug", Measure::Microgram, false),
        ("mmol", Measure::Millimole, false),
        ("umol", Measure::Micromole, false),
    ];
    let ends = |s: &str| s.chars().next().is_none_or(|c| !c.is_alphanumeric());
    let (prefix, measure, whole) = prefixes.into_iter().find(|(p, ..)| lower.strip_prefix(p).is_some_and(ends))?;
    let start = prefix.len() + (lower[prefix.len()..].len() - lower[prefix.len()..].trim_start().len());
    if whole {
        return Some((measure, plain[start..].trim()));
    }
    let rest = &lower[start..];
    if let Some(after) = LITRE.iter().find_map(|l| rest.strip_prefix(l).filter(|r| ends(r))) {
        return Some((measure, plain[plain.len() - after.len()..].trim()));
    }
    let before = LITRE.iter().find_map(|l| rest.strip_suffix(l))?;
    Some((measure, plain[start..start + before.len()].trim()))
}

/// A basis without the signs people leave out or add: `(as NO3-)` → `no3`, `NO3--N` → `no3n`.
fn key(basis: &str) -> String {
    let words = basis.split(|c: char| c.is_whitespace() || "()[]:,".contains(c));
    let kept = words.filter(|w| !w.eq_ignore_ascii_case("as") && !w.is_empty());
    kept.collect::<String>().replace(['-', '+', '^'], "").to_ascii_lowercase()
}
