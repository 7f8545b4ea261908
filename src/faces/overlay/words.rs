//! What a plate says: a reading in words.

use super::Shown;
use crate::faces::lettering::Weight;
use crate::finding::{Finding, Severity};
use crate::reading::{Outcome, PhotoReading, SampleReading};
use crate::water::{Amount, Quantity};

/// One thing said, before it is broken into lines.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Saying {
    pub text: String,
    pub weight: Weight,
    /// Size against running text.
    pub size: f32,
}

/// All a plate says, and whether it needs a look.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Words {
    pub sayings: Vec<Saying>,
    pub urgent: bool,
}

fn plain(text: impl Into<String>) -> Saying {
    Saying { text: text.into(), weight: Weight::Regular, size: 1.0 }
}

fn strong(text: impl Into<String>, size: f32) -> Saying {
    Saying { text: text.into(), weight: Weight::Bold, size }
}

/// A sample's value with its interval, or why there is none, then what was noticed. What was noticed about the photo
/// as a whole is said once, by [`photo`].
pub(super) fn sample(sample: &SampleReading, whole: &PhotoReading) -> Words {
    let mut sayings = vec![strong(sample.test.clone(), 1.0)];
    let mut urgent = false;
    match &sample.outcome {
        Outcome::Read(amount) => {
            sayings.extend(self::amount(amount));
            if let (Amount::Measured { .. }, Some(limit)) = (amount, &sample.detection_limit) {
                sayings.push(plain(format!("detection limit {}", quantity(limit))));
            }
        }
        Outcome::Refused(reasons) => {
            urgent = true;
            sayings.push(strong("not read", 1.35));
            // A reason that holds for the whole photo has its remedy there.
            sayings.extend(reasons.iter().map(|f| match whole.findings.contains(f) && f.severity == Severity::Doubt {
                true => plain(f.sentence.clone()),
                false => plain(format!("{} {}", f.sentence, f.remedy())),
            }));
        }
    }
    if let Some(d) = sample.dilution {
        sayings.push(plain(format!("diluted 1+{}, counted in", d.added())));
    }
    let reasons = match &sample.outcome {
        Outcome::Refused(reasons) => reasons.as_slice(),
        Outcome::Read(_) => &[],
    };
    for finding in sample.findings.iter().filter(|f| !whole.findings.contains(f) && !reasons.contains(f)) {
        urgent |= finding.severity == Severity::Doubt;
        sayings.push(noticed(finding));
    }
    Words { sayings, urgent }
}

/// The same, with what the station's labels say.
pub(super) fn labelled(sample: &SampleReading, whole: &PhotoReading, labels: &[Shown]) -> Words {
    let mut words = self::sample(sample, whole);
    let own: Vec<&str> = labels.iter().filter(|l| l.station == sample.station).map(|l| l.words.as_str()).collect();
    if !own.is_empty() {
        words.sayings.insert(1, plain(format!("by its labels: {}", own.join(", "))));
    }
    words
}

/// What was noticed about the photo as a whole, if anything.
pub(super) fn photo(reading: &PhotoReading) -> Option<Words> {
    if reading.findings.is_empty() {
        return None;
    }
    let mut sayings = vec![strong("The whole photo", 1.0)];
    sayings.extend(reading.findings.iter().map(noticed));
    Some(Words { sayings, urgent: reading.findings.iter().any(|f| f.severity == Severity::Doubt) })
}

fn noticed(finding: &Finding) -> Saying {
    match finding.severity {
        Severity::Doubt => strong(format!("Doubt: {} {}", finding.sentence, finding.remedy()), 1.0),
        Severity::Note => plain(format!("Note: {}", finding.sentence)),
    }
}

fn amount(amount: &Amount) -> Vec<Saying> {
    match amount {
        Amount::Measured { value, interval95: i } => {
            let mut decimals = decimals(i.width(), value.value);
            // A measured value must not look like none.
            while value.value != 0.0 && decimals < 9 && number(value.value, decimals).parse() == Ok(0.0) {
                decimals += 1;
            }
            vec![
                strong(format!("{} {}", number(value.value, decimals), value.unit.as_str()), 1.35),
                plain(format!("95 %: {} to {}", number(i.lower(), decimals), number(i.upper(), decimals))),
            ]
        }
        Amount::NotDetected { below } => {
            vec![strong("not detected", 1.35), plain(format!("below {}", quantity(below)))]
        }
        Amount::Above { limit } => {
            vec![strong(format!("above {}", quantity(limit)), 1.35), plain("more than the scale holds")]
        }
        Amount::Below { limit } => {
            vec![strong(format!("below {}", quantity(limit)), 1.35), plain("less than the scale holds")]
        }
    }
}

fn number(value: f64, decimals: usize) -> String {
    format!("{value:.decimals$}")
}

/// Decimals that show two digits of the interval's width, or three of the value where it has no width.
fn decimals(width: f64, value: f64) -> usize {
    let (size, digits) = if width > 0.0 && width.is_finite() { (width, 1) } else { (value.abs(), 2) };
    if size <= 0.0 || !size.is_finite() {
        return 2;
    }
    (digits - size.log10().floor() as i32).clamp(0, 6) as usize
}

/// Three digits, trailing zeros left out.
fn quantity(q: &Quantity) -> String {
    let text = number(q.value, decimals(0.0, q.value));
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    format!("{text} {}", q.unit.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::{Interval, Species, Unit};

    fn said(amount: &Amount) -> String {
        self::amount(amount).into_iter().map(|s| s.text).collect::<Vec<_>>().join(" | ")
    }

    fn q(value: f64) -> Quantity {
        Quantity::new(value, Unit::mg_l(Species::NitrateN))
    }

    #[test]
    fn digits_follow_the_interval() {
        let measured =
            |value, lower, upper| said(&Amount::measured(q(value), Interval::new(lower, upper).unwrap()).unwrap());
        assert_eq!(measured(0.4213, 0.3098, 0.5521), "0.42 mg/L NO3-N | 95 %: 0.31 to 0.55");
        assert_eq!(measured(18.27, 12.1, 27.9), "18 mg/L NO3-N | 95 %: 12 to 28");
        assert_eq!(measured(7.43, 7.21, 7.68), "7.43 mg/L NO3-N | 95 %: 7.21 to 7.68");
        assert_eq!(measured(118.0, 104.6, 131.2), "118 mg/L NO3-N | 95 %: 105 to 131");
        assert_eq!(measured(0.42, 0.42, 0.42), "0.420 mg/L NO3-N | 95 %: 0.420 to 0.420");
    }

    #[test]
    fn a_small_value_is_never_shown_as_none() {
        let small = Amount::measured(q(0.0031), Interval::new(0.0, 0.9).unwrap()).unwrap();
        assert_eq!(said(&small), "0.003 mg/L NO3-N | 95 %: 0.000 to 0.900");
        assert_eq!(said(&Amount::not_detected(q(0.05)).unwrap()), "not detected | below 0.05 mg/L NO3-N");
        assert_eq!(said(&Amount::not_detected(q(0.0007)).unwrap()), "not detected | below 0.0007 mg/L NO3-N");
    }

    #[test]
    fn a_refusal_has_its_reason_and_its_remedy_once() {
        use crate::finding::Code;
        let (card, glare) =
            (Finding::doubt(Code::CardMissing, "No card."), Finding::doubt(Code::SampleGlare, "Glare."));
        let refused = SampleReading {
            station: "B".into(),
            test: "nitrite".into(),
            outcome: Outcome::Refused(vec![card.clone(), glare.clone()]),
            detection_limit: Some(q(0.1)),
            findings: vec![card.clone(), glare, Finding::note(Code::SampleOffMark, "Off.")],
            dilution: None,
            lab: None,
            off_curve: None,
            light: None,
            outlines: Vec::new(),
        };
        let whole =
            PhotoReading { photo: String::new(), samples: vec![], findings: vec![card], card: None, clear: None };
        let text = |w: Words| w.sayings.into_iter().map(|s| s.text).collect::<Vec<_>>();
        let glare = format!("Glare. {}", Code::SampleGlare.remedy());
        let words = sample(&refused, &whole);
        assert!(words.urgent);
        assert_eq!(text(words), ["nitrite", "not read", "No card.", glare.as_str(), "Note: Off."]);
        let doubt = format!("Doubt: No card. {}", Code::CardMissing.remedy());
        assert_eq!(text(photo(&whole).unwrap()), ["The whole photo", doubt.as_str()]);
    }

    #[test]
    fn limits_are_named() {
        assert_eq!(said(&Amount::above(q(100.0)).unwrap()), "above 100 mg/L NO3-N | more than the scale holds");
        assert_eq!(said(&Amount::below(q(6.4)).unwrap()), "below 6.4 mg/L NO3-N | less than the scale holds");
    }
}
