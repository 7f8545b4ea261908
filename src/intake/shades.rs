//! Printed shades into a kit, and what a kit needs next.

use super::calibrate::{noted, other_card, renewed, taken};
use super::look::open;
use super::naming::{test, value_of};
use super::shelf::calibrated;
use super::{Added, CardInUse, Home, IntakeError, Keep, Kept, PhotoStandards};
use crate::card::Layout;
use crate::curve::{Kit, Scale, Source, Swatch, Test};
use crate::photo::Limits;
use crate::reading::{self, Standard};
use std::path::Path;

/// Adds the printed shades that a photo shows to a test; `values` are their concentrations, left to right as they lie, as typed:
/// `0,0.2,0.6` or one a word. All of them are taken, or none.
pub fn add_shades(
    home: &Home,
    kit: &Kept<Kit>,
    card: &CardInUse,
    photo: &Path,
    name: &str,
    values: &[String],
    keep: Keep,
) -> Result<Added, IntakeError> {
    let test = test(&kit.value, name)?.clone();
    let wrong = |typed: &str, e| IntakeError::Value { typed: typed.to_string(), source: Box::new(e) };
    let words = values.iter().flat_map(|w| w.split([',', ';'])).map(str::trim).filter(|w| !w.is_empty());
    let values: Vec<f64> = words.map(|w| value_of(w, &test.unit).map_err(|e| wrong(w, e))).collect::<Result<_, _>>()?;
    if values.is_empty() {
        return Err(IntakeError::NoSamples { known: Vec::new() });
    }
    if calibrated(&kit.value) && card.foreign {
        return Err(other_card(home, kit, card));
    }
    if renewed(&kit.value, card) {
        return Err(IntakeError::CardRenewed { kit: kit.name.clone() });
    }
    let opened = open(photo, &Limits::default())?;
    let found = reading::shades(&opened.photo, &Layout::first(), &card.reference, &test, &values);
    let standard = |(i, value): (usize, &f64)| Standard {
        station: format!("shade-{}", i + 1),
        test: test.name.clone(),
        value: *value,
        value_sd: None,
    };
    let standards: Vec<Standard> = values.iter().enumerate().map(standard).collect();
    let (kit, standards) = match found {
        Err(why) => (kit.clone(), standards.into_iter().map(|s| (s, Err(why.clone()))).collect()),
        Ok(swatches) => {
            let swatches: Vec<Swatch> = swatches.into_iter().map(|s| Swatch { taken: taken(&opened), ..s }).collect();
            let mut next = kit.value.clone();
            next.card.clone_from(&card.reference.revision);
            next.add_swatches(&test.name, swatches.clone())?;
            noted(&mut next, &opened);
            (home.changed_kit(kit, next)?, standards.into_iter().zip(swatches.into_iter().map(Ok)).collect())
        }
    };
    home.keep_photo(&opened, keep)?;
    Ok(Added { kit, photos: vec![PhotoStandards { path: photo.to_path_buf(), standards }] })
}

/// Something that makes a kit better, in the order in which it pays.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Enrol the printed card: before anything else, since colours in a kit belong to a card.
    Enrol,
    /// Photograph a test's printed shades, or standards.
    Shades { test: String },
    /// Photograph one's own zero standard.
    Zero { test: String },
    /// Photograph one known standard; this value would serve best.
    Upper { test: String, value: f64, unit: String },
}

/// What a kit needs next, first things first. `enrolled`: whether there is an enrolled card.
pub fn next_steps(kit: &Kit, enrolled: bool) -> Vec<Step> {
    let mut out = Vec::new();
    // A kit that holds colours in the nominal space stays there.
    if !enrolled && !calibrated(kit) {
        out.push(Step::Enrol);
    }
    let name = |t: &Test| t.name.clone();
    out.extend(kit.tests.iter().filter(|t| t.values().len() < 2).map(|t| Step::Shades { test: name(t) }));
    let printed = || kit.tests.iter().filter(|t| t.values().len() >= 2 && t.from_print());
    let zero = |t: &&Test| t.scale == Scale::FromZero && !t.has_own_zero();
    out.extend(printed().filter(zero).map(|t| Step::Zero { test: name(t) }));
    let upper = |t: &Test| {
        let values = t.values();
        // The fourth of six: the top shade is often past what a printer or a camera can show.
        let best = values[(3 * (values.len() - 1)).div_ceil(5).min(values.len() - 1)];
        let middle = values[values.len() / 2];
        let own = t.swatches.iter().any(|s| s.source == Source::Standard && s.value >= middle);
        (!own).then(|| Step::Upper { test: name(t), value: best, unit: t.unit.to_string() })
    };
    out.extend(printed().filter_map(upper));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::Matrix;
    use crate::water::{Analyte, Unit};

    fn swatch(value: f64, source: Source) -> Swatch {
        let (photo, station) = (String::new(), format!("{source:?}-{value}"));
        let cov = [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]];
        Swatch {
            value,
            value_sd: None,
            source,
            lab: [90.0 - value, 0.0, 0.0],
            cov,
            photo,
            station,
            light: Vec::new(),
            taken: None,
            clear: None,
        }
    }

    #[test]
    fn steps_come_in_order_and_go_when_done() {
        let mut kit = Kit::new("drops").unwrap();
        let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
        kit.add_test(Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh)).unwrap();
        let test = || "nitrite".to_string();
        assert_eq!(next_steps(&kit, false), [Step::Enrol, Step::Shades { test: test() }]);
        let series = [0.0, 0.1, 0.3, 0.8, 1.6, 3.2];
        kit.add_swatches("nitrite", series.map(|v| swatch(v, Source::Print)).to_vec()).unwrap();
        let upper = Step::Upper { test: test(), value: 0.8, unit: "mg/L NO2-".into() };
        assert_eq!(next_steps(&kit, true), [Step::Zero { test: test() }, upper.clone()]);
        kit.add_swatches("nitrite", vec![swatch(0.0, Source::Standard)]).unwrap();
        assert_eq!(next_steps(&kit, true), [upper]);
        kit.add_swatches("nitrite", vec![swatch(0.8, Source::Standard)]).unwrap();
        assert_eq!(next_steps(&kit, true), []);
    }
}
