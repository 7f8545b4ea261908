//! Dilution of tank water before a test.

use super::text::{NotANumber, number, significant};

/// How tank water was diluted before the test: 1 part of it and `added` parts of pure water, written `1+4`.
///
/// ```
/// use tintline::water::Dilution;
/// assert_eq!(Dilution::parse("1+4")?.factor(), 5.0);
/// assert_eq!(Dilution::parse("1:4").unwrap_err().code(), "dilution-ambiguous");
/// # Ok::<(), tintline::water::DilutionError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Dilution {
    added: f64,
}

/// The most that is added to one part: beyond it a drop too much decides the result.
const MOST: f64 = 99.0;

/// Why a text is no dilution.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DilutionError {
    /// People read this form in two ways.
    #[error(
        "'{typed}' can mean {parts} parts in all (write {in_all}) or 1 part of tank water and {parts} of pure water (write {to_one})"
    )]
    Ambiguous { typed: String, parts: String, in_all: String, to_one: String },
    /// Not of the form at all.
    #[error("'{typed}' is not a dilution")]
    Malformed { typed: String },
    /// No water added, or more than can be measured out.
    #[error("1 part of tank water with {added} parts of pure water is no dilution that can be counted with")]
    OutOfRange { added: f64 },
}

impl DilutionError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Ambiguous { .. } => "dilution-ambiguous",
            Self::Malformed { .. } => "dilution-malformed",
            Self::OutOfRange { .. } => "dilution-out-of-range",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Ambiguous { in_all, to_one, .. } => {
                format!("Write {in_all} or {to_one}: parts of tank water + parts of pure water.")
            }
            Self::Malformed { .. } => "Write parts of tank water + parts of pure water, such as 1+4.".to_string(),
            Self::OutOfRange { .. } => {
                format!(
                    "Write between 1+0.1 and 1+{MOST}; leave it out for undiluted water, and dilute in two steps for more."
                )
            }
        }
    }
}

impl Dilution {
    /// 1 part of tank water and `added` parts of pure water, 0.1 to 99.
    pub fn new(added: f64) -> Result<Self, DilutionError> {
        if (0.1..=MOST).contains(&added) { Ok(Self { added }) } else { Err(DilutionError::OutOfRange { added }) }
    }

    /// The dilution of a text such as `1+4`. `1:4`, `1/4`, `1 in 4` and `5x` are refused: some read the second number as parts
    /// added, some as parts in all.
    pub fn parse(text: &str) -> Result<Self, DilutionError> {
        let typed = text.trim().to_string();
        let plain = super::text::plain(text).to_lowercase().replace('×', "x");
        if let Some((tank, pure)) = plain.split_once('+') {
            return match (number(tank), number(pure)) {
                (Ok(tank), Ok(pure)) if tank > 0.0 => Self::new(pure / tank),
                _ => Err(DilutionError::Malformed { typed }),
            };
        }
        match ambiguous(&plain) {
            Some(parts) => {
                let form = |added: f64| {
                    if added > 0.0 { format!("1+{}", significant(added, 4)) } else { "nothing".to_string() }
                };
                Err(DilutionError::Ambiguous {
                    typed,
                    parts: significant(parts, 4),
                    in_all: form(parts - 1.0),
                    to_one: form(parts),
                })
            }
            None => Err(DilutionError::Malformed { typed }),
        }
    }

    /// Parts of pure water to one part of tank water.
    pub fn added(self) -> f64 {
        self.added
    }

    /// What the tank holds when the diluted sample reads `reading` and the water added was not pure but holds `in_added`:
    /// C = R·(1 + a) − d·a. `None` where that would be less than nothing: then one of the two readings is wrong.
    ///
    /// ```
    /// # use tintline::water::Dilution;
    /// assert_eq!(Dilution::parse("1+1")?.tank(25.0, 10.0), Some(40.0));
    /// # Ok::<(), tintline::water::DilutionError>(())
    /// ```
    pub fn tank(self, reading: f64, in_added: f64) -> Option<f64> {
        let tank = reading * self.factor() - in_added * self.added;
        (tank >= 0.0).then_some(tank)
    }

    /// By how much the tank holds more than the diluted sample.
    pub fn factor(self) -> f64 {
        1.0 + self.added
    }
}

impl std::fmt::Display for Dilution {
    /// The form that [`Dilution::parse`] reads back.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "1+{}", self.added)
    }
}

/// Parts in `1:4`, `1/4`, `1 in 4`, `1 to 4`, `5x`, `x5`.
fn ambiguous(plain: &str) -> Option<f64> {
    let ratio = [":", "/", " in ", " to "].iter().find_map(|sep| plain.split_once(sep));
    let parts = match ratio {
        Some((one, parts)) => {
            let (one, parts) = (number(one), number(parts));
            match (one, parts) {
                (Ok(one), Ok(parts)) if one > 0.0 => Ok(parts / one),
                _ => Err(NotANumber::Malformed),
            }
        }
        None => number(plain.strip_suffix('x').or_else(|| plain.strip_prefix('x'))?),
    };
    parts.ok().filter(|p| *p > 0.0 && p.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_one_form_is_read() {
        for (text, factor) in
            [("1+4", 5.0), (" 1 + 1 ", 2.0), ("1+0,5", 1.5), ("2+3", 2.5), ("1＋9", 10.0), ("1+99", 100.0)]
        {
            assert_eq!(Dilution::parse(text).unwrap().factor(), factor, "{text}");
        }
        assert_eq!(Dilution::parse("2+3").unwrap().to_string(), "1+1.5");
    }

    #[test]
    fn forms_with_two_readings_name_both() {
        for text in ["1:5", "1/5", "5x", "5×", "x5", "1 in 5", "1 to 5", "2:10"] {
            let e = Dilution::parse(text).unwrap_err();
            assert_eq!(e.code(), "dilution-ambiguous", "{text}");
            assert!(e.to_string().contains("write 1+4") && e.to_string().contains("write 1+5"), "{e}");
            assert!(e.remedy().starts_with("Write 1+4 or 1+5"), "{}", e.remedy());
        }
    }

    #[test]
    fn others_are_refused() {
        for text in ["", "4", "a+b", "1+", "+4", "1+4+4", "-1+4", "0+4", "1:0", "0:4", "x", "1+1,250"] {
            assert_eq!(Dilution::parse(text).unwrap_err().code(), "dilution-malformed", "{text}");
        }
        for text in ["1+0", "1+100", "1+0.05"] {
            assert_eq!(Dilution::parse(text).unwrap_err().code(), "dilution-out-of-range", "{text}");
        }
        assert!(Dilution::new(f64::NAN).is_err() && Dilution::new(-4.0).is_err());
    }
}
