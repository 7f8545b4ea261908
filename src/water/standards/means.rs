//! What a keeper weighs and measures with.

use super::StandardsError;
use crate::water::dose::Strength;
use crate::water::text;

/// Scale, syringes and vessels.
#[derive(Debug, Clone, PartialEq)]
pub struct Means {
    /// From one step of the scale's display to the next, g. Its limits of error are taken to be one step to either side, common
    /// practice: reading, zero and kitchen scales' own error.
    pub scale_g: f64,
    /// Syringes or pipettes.
    pub syringes: Vec<Syringe>,
    /// Vessels filled up to a mark.
    pub vessels: Vec<Vessel>,
    /// Whether vessels are filled by weight rather than up to their mark.
    pub weigh: bool,
}

/// A graduated syringe or pipette.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Syringe {
    /// What it holds, mL.
    pub ml: f64,
    /// From one line to the next, mL.
    pub division: f64,
}

/// A vessel with a mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vessel {
    /// What it holds up to the mark, mL.
    pub ml: f64,
    /// Limits of error of that, mL to either side.
    pub tolerance: f64,
}

/// Limits of a kitchen measuring jug, as a share: common practice.
const JUG: f64 = 0.02;

impl Syringe {
    /// As typed: capacity and division, `10/0.5`.
    pub fn parse(typed: &str) -> Result<Self, StandardsError> {
        let wrong = || StandardsError::Means { what: "syringe", typed: typed.trim().into() };
        let plain = text::plain(typed).to_lowercase().replace("ml", "");
        let (ml, division) = plain.split_once('/').ok_or_else(wrong)?;
        let number = |s: &str| text::number(s).map_err(|_| wrong());
        let (ml, division) = (number(ml)?, number(division)?);
        // Fewer than five lines are no graduation.
        let sound = (0.1..=200.0).contains(&ml) && division > 0.0 && division * 5.0 <= ml;
        if sound { Ok(Self { ml, division }) } else { Err(wrong()) }
    }

    /// Limits of error, mL, of `v` mL expelled: ISO 7886-1, table 1, tolerance on graduated capacity (as restated by test laboratories).
    pub(super) fn tolerance(&self, v: f64) -> f64 {
        let small = self.ml < 5.0;
        match v < self.ml / 2.0 {
            true => 0.015 * self.ml + if small { 0.02 } else { 0.01 } * v,
            false => v * if small { 0.05 } else { 0.04 },
        }
    }
}

impl Vessel {
    /// As typed: `1000±20`; without a tolerance 2 %, as of a kitchen jug.
    pub fn parse(typed: &str) -> Result<Self, StandardsError> {
        let wrong = || StandardsError::Means { what: "container", typed: typed.trim().into() };
        let plain = text::plain(typed).to_lowercase().replace("ml", "").replace("+/-", "±").replace("+-", "±");
        let number = |s: &str| text::number(s).map_err(|_| wrong());
        let (ml, tolerance) = match plain.split_once('±') {
            Some((ml, tolerance)) => (number(ml)?, Some(number(tolerance)?)),
            None => (number(&plain)?, None),
        };
        let tolerance = tolerance.unwrap_or(JUG * ml);
        let sound = (10.0..=20_000.0).contains(&ml) && tolerance > 0.0 && tolerance <= 0.2 * ml;
        if sound { Ok(Self { ml, tolerance }) } else { Err(wrong()) }
    }
}

impl Default for Means {
    /// A household's: a scale to 0.1 g, syringes of 1, 5 and 20 mL, a jug of a litre and a measuring cup of 100 mL.
    fn default() -> Self {
        let syringe = |(ml, division)| Syringe { ml, division };
        let vessel = |ml| Vessel { ml, tolerance: JUG * ml };
        Self {
            scale_g: 0.1,
            syringes: [(1.0, 0.02), (5.0, 0.2), (20.0, 1.0)].map(syringe).to_vec(),
            vessels: [1000.0, 100.0].map(vessel).to_vec(),
            weigh: false,
        }
    }
}

/// The strength of an ammonia solution as typed: `9.5% by weight`, `10 % w/v`. By weight where the text does not say: the
/// difference, below 5 % up to a strength of 10 %, lies within what labels are trusted.
pub fn strength(typed: &str) -> Result<Strength, StandardsError> {
    let wrong = || StandardsError::Strength { typed: typed.trim().into() };
    let plain = text::plain(typed).to_lowercase();
    let end = plain.find(|c: char| !(c.is_ascii_digit() || ".,".contains(c))).unwrap_or(plain.len());
    let percent = text::number(&plain[..end]).map_err(|_| wrong())?;
    let words = plain[end..].trim().trim_start_matches(['%', ' ']).trim();
    let of = match words {
        "" | "by weight" | "w/w" | "weight" => Strength::by_weight(percent),
        "by volume" | "w/v" | "volume" => Ok(Strength::ByVolume { percent }),
        _ => return Err(wrong()),
    };
    of.ok().filter(|s| s.g_ml().is_ok()).ok_or_else(wrong)
}
