//! What makes a kit sound, and what makes it thin.

use jiff::Timestamp;

use super::adopted::{MOST, photos, remembered};
use super::{Kind, Kit, KitError, Scale, Source, Strip, Swatch, Test};
use crate::finding::{Code, Finding};
use crate::store::check_name;
use crate::water::{Analyte, UnitError};

impl Kit {
    /// Whether the kit is sound: the first thing that is wrong, if any. Whether colours follow the concentrations is the curve's
    /// question.
    pub fn validate(&self) -> Result<(), KitError> {
        check_name(&self.name)?;
        let place = || format!("kit '{}'", self.name);
        line(self.card.as_deref(), 80, "card", place)?;
        line(self.note.as_deref(), 400, "note", place)?;
        for camera in &self.cameras {
            line(Some(&camera.name), MOST, "camera", place)?;
            photos(&camera.photos, place)?;
        }
        self.strip.as_ref().map_or(Ok(()), |s| strip(s, self))?;
        let mut seen = std::collections::HashSet::new();
        for (i, test) in self.tests.iter().enumerate() {
            let before = &self.tests[..i];
            if before.iter().any(|t| t.name.to_lowercase() == test.name.to_lowercase()) {
                return Err(KitError::TestTwice { name: test.name.clone() });
            }
            declared(test)?;
            remembered(test)?;
            pad(test, self.kind, before)?;
            for (n, s) in test.swatches.iter().enumerate() {
                swatch(test, n + 1, s)?;
                if !s.photo.is_empty() && !seen.insert((s.photo.as_str(), s.station.as_str())) {
                    let (test, station) = (test.name.clone(), s.station.clone());
                    return Err(KitError::SwatchTwice { test, swatch: n + 1, station });
                }
            }
        }
        Ok(())
    }
}

impl Test {
    /// What is thin about it: too few concentrations for a curve, no repeated zero for a detection limit.
    pub fn findings(&self) -> Vec<Finding> {
        let mut out = Vec::new();
        let (name, count) = (&self.name, self.values().len());
        let has = match count {
            0 => "no swatch yet".to_string(),
            1 => "swatches of one concentration only".to_string(),
            n => format!("swatches of {n} concentrations only"),
        };
        // Fewer than three say nothing about how the colour bends in between.
        match count {
            0..3 => out.push(Finding::doubt(Code::CurveThin, format!("Test '{name}' has {has}."))),
            3..5 => out.push(Finding::note(Code::CurveThin, format!("Test '{name}' has {has}."))),
            _ => {}
        }
        let blanks = self.swatches.iter().filter(|s| s.value == 0.0 && s.source == Source::Standard).count();
        if self.scale == Scale::FromZero && blanks < 2 {
            let sentence = match blanks {
                0 => format!("Test '{name}' has no zero standard: 'not detected' cannot be said."),
                _ => format!("Test '{name}' has one zero standard; its detection limit is an estimate."),
            };
            out.push(Finding::note(Code::CurveNoBlanks, sentence));
        }
        if self.from_print() {
            let sentence = format!("The colours of '{name}' are those of printed shades; readings are provisional.");
            let anchored = match self.scale {
                Scale::FromZero => blanks > 0,
                Scale::Bounded => self.swatches.iter().any(|s| s.source == Source::Standard),
            };
            // Nothing of one's own tells what none looks like: such a reading may alarm, not reassure.
            out.push(match anchored {
                true => Finding::note(Code::KitFromPrint, sentence),
                false => Finding::doubt(Code::KitFromPrint, sentence),
            });
        }
        out
    }
}

fn declared(test: &Test) -> Result<(), KitError> {
    let place = || format!("test '{}'", test.name);
    line(Some(&test.name), 64, "name", place)?;
    line(test.lot.as_deref(), 64, "lot", place)?;
    line(test.note.as_deref(), 400, "note", place)?;
    let of = |source| KitError::Unit { test: test.name.clone(), source };
    // A name put together by hand may not be one that reads back.
    if Analyte::parse(test.analyte.as_str()).as_ref() != Ok(&test.analyte) {
        return Err(of(UnitError::AnalyteName { typed: test.analyte.to_string() }));
    }
    if !test.unit.fits(&test.analyte) {
        return Err(of(UnitError::Unknown {
            typed: test.unit.to_string(),
            analyte: test.analyte.clone(),
            choices: crate::water::Unit::choices(&test.analyte),
        }));
    }
    if !test.analyte.has_zero() && test.scale == Scale::FromZero {
        return Err(KitError::Scale { test: test.name.clone() });
    }
    let wrong = [test.wait_minutes, test.window_minutes].into_iter().flatten().find(|m| !(0.0..=240.0).contains(m));
    match wrong {
        Some(minutes) => Err(KitError::Wait { test: test.name.clone(), minutes }),
        None => Ok(()),
    }
}

fn strip(strip: &Strip, kit: &Kit) -> Result<(), KitError> {
    let Strip { length_mm, width_mm, pad_mm, pitch_mm, end_mm } = *strip;
    let pads = kit.tests.iter().filter_map(|t| t.pad).max().unwrap_or(1);
    let far = end_mm + f64::from(pads.saturating_sub(1)) * pitch_mm + pad_mm / 2.0;
    let why = if kit.kind == Kind::Vial {
        "a kit of vials has none".to_string()
    } else if ![length_mm, width_mm, pad_mm, pitch_mm, end_mm].iter().all(|mm| (1.0..=200.0).contains(mm)) {
        "a measure is not between 1 and 200 mm".to_string()
    } else if pad_mm >= pitch_mm || pad_mm / 2.0 > end_mm {
        "its pads overlap one another or its end".to_string()
    } else if far > length_mm {
        format!("pad {pads} would end at {far} mm of {length_mm} mm")
    } else {
        return Ok(());
    };
    Err(KitError::Strip { why })
}

fn pad(test: &Test, kind: Kind, before: &[Test]) -> Result<(), KitError> {
    let Some(pad) = test.pad else { return Ok(()) };
    let why = if kind == Kind::Vial {
        "a vial has no pads".to_string()
    } else if pad == 0 || pad > 20 {
        format!("there is no pad {pad}")
    } else if let Some(other) = before.iter().find(|t| t.pad == Some(pad)) {
        format!("pad {pad} is that of '{}'", other.name)
    } else {
        return Ok(());
    };
    Err(KitError::Pad { test: test.name.clone(), why })
}

fn swatch(test: &Test, number: usize, s: &Swatch) -> Result<(), KitError> {
    let name = || test.name.clone();
    let place = || format!("test '{}', swatch {number}", test.name);
    let value = |why| Err(KitError::Value { test: name(), swatch: number, value: s.value, why });
    if !s.value.is_finite() {
        return value("not a finite number");
    }
    if test.analyte.has_zero() && s.value < 0.0 {
        return value("less than nothing");
    }
    if !test.analyte.has_zero() && !(0.0..=14.0).contains(&s.value) {
        return value("pH runs from 0 to 14");
    }
    if test.analyte.has_zero() && test.scale == Scale::Bounded && s.value == 0.0 {
        return value("a bounded scale does not start from none");
    }
    if s.value_sd.is_some_and(|sd| !(sd.is_finite() && sd >= 0.0)) {
        return value("its standard deviation is none");
    }
    let light = s.light.iter().all(|x| x.is_finite());
    let wrong = [
        (!light).then_some("its light holds a number that is not finite"),
        colour(&s.lab, &s.cov),
        s.clear.and_then(|c| colour(&c.lab, &c.cov)),
        s.clear.filter(|_| s.source == Source::Print).map(|_| "a printed shade has no clear vial"),
    ];
    if let Some(why) = wrong.into_iter().flatten().next() {
        return Err(KitError::Colour { test: name(), swatch: number, why });
    }
    line(Some(s.photo.as_str()).filter(|p| !p.is_empty()), 128, "photo", place)?;
    line(Some(s.station.as_str()).filter(|p| !p.is_empty()), 32, "station", place)?;
    match &s.taken {
        Some(taken) if taken.parse::<Timestamp>().is_err() => {
            Err(KitError::Time { test: name(), swatch: number, taken: taken.clone() })
        }
        _ => Ok(()),
    }
}

/// Why it is no colour, if it is none.
fn colour(lab: &[f64; 3], c: &[[f64; 3]; 3]) -> Option<&'static str> {
    let [lightness, a, b] = *lab;
    // Wider than any surface: the card's own colour space lets paper in bright light pass 100.
    if !((-10.0..=150.0).contains(&lightness) && a.abs() <= 200.0 && b.abs() <= 200.0) {
        return Some("its CIELAB values are not those of a colour");
    }
    for i in 0..3 {
        for j in 0..3 {
            // Room for numbers rounded in a file.
            let most = (c[i][i] * c[j][j]).sqrt() * (1.0 + 1e-4);
            if !(c[i][j].is_finite()
                && c[i][i] >= 0.0
                && c[i][j].abs() <= most
                && (c[i][j] - c[j][i]).abs() <= 1e-4 * most)
            {
                return Some("its covariance is none: it must be symmetric, with variances on the diagonal");
            }
        }
    }
    None
}

/// A text that must fit one line of the file, where there is one.
pub(super) fn line(
    text: Option<&str>,
    most: usize,
    what: &'static str,
    place: impl Fn() -> String,
) -> Result<(), KitError> {
    match text {
        Some(s) if s.trim().is_empty() || s.chars().count() > most || s.chars().any(char::is_control) => {
            Err(KitError::Text { place: place(), what, most })
        }
        _ => Ok(()),
    }
}
