//! A kit's swatches measured again in the kept originals: after the card they were photographed with has been enrolled.

use super::look::open;
use super::{CardInUse, Home, IntakeError, Kept};
use crate::card::Layout;
use crate::curve::{Kit, Source, Swatch};
use crate::finding::Finding;
use crate::photo::Limits;
use crate::reading::{self, Standard};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Remeasured {
    /// The kit as it is now: unchanged where a swatch could not be measured.
    pub kit: Kept<Kit>,
    /// Swatches measured anew.
    pub measured: usize,
    /// Those that could not be, each with its test, its number in the kit and the reason.
    pub left: Vec<(String, usize, Left)>,
}

/// Why a swatch could not be measured.
#[derive(Debug, Clone, PartialEq)]
pub enum Left {
    /// Its photo was not kept.
    NotKept,
    /// What is wrong with the photo.
    Refused(Vec<Finding>),
}

/// Measures all swatches again on the card given, which must be the very print in the photos. All of them, or nothing changes:
/// colours of two spaces make no curve.
pub fn remeasure(home: &Home, kit: &Kept<Kit>, card: &CardInUse) -> Result<Remeasured, IntakeError> {
    let layout = Layout::first();
    let kept: BTreeMap<String, PathBuf> = home
        .kept_photos()?
        .into_iter()
        .filter_map(|p| Some((p.file_stem()?.to_string_lossy().to_string(), p)))
        .collect();
    let mut photos: BTreeMap<&str, Vec<(usize, usize, &Swatch)>> = BTreeMap::new();
    for (t, test) in kit.value.tests.iter().enumerate() {
        for (n, s) in test.swatches.iter().enumerate() {
            photos.entry(&s.photo).or_default().push((t, n, s));
        }
    }
    let mut next = kit.value.clone();
    let (mut measured, mut left) = (0, Vec::new());
    for (photo, of) in photos {
        let found: Vec<Result<Swatch, Left>> = match kept.get(photo) {
            None => of.iter().map(|_| Err(Left::NotKept)).collect(),
            Some(path) => {
                let opened = open(path, &Limits::default())?;
                if let Some(camera) = &opened.photo.facts().camera {
                    next.note_camera(camera, photo);
                }
                again(&opened.photo, &layout, card, &kit.value, &of)
            }
        };
        for ((t, n, old), found) in of.into_iter().zip(found) {
            match found {
                Ok(new) => {
                    let Swatch { lab, cov, light, .. } = new;
                    next.tests[t].swatches[n] = Swatch { lab, cov, light, ..old.clone() };
                    measured += 1;
                }
                Err(why) => left.push((kit.value.tests[t].name.clone(), n + 1, why)),
            }
        }
    }
    left.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
    if !left.is_empty() {
        return Ok(Remeasured { kit: kit.clone(), measured, left });
    }
    next.card.clone_from(&card.reference.revision);
    // What was carried over belongs to the colours as they were.
    next.tests.iter_mut().for_each(|t| t.adopted.clear());
    // Written and read back: colours to as many digits as any other swatch.
    let next = Kit::from_toml(&shortened(next).to_toml())?;
    let kit = if next == kit.value { kit.clone() } else { home.changed_kit(kit, next)? };
    Ok(Remeasured { kit, measured, left })
}

/// The swatches of one photo: vials or pads one by one, printed shades a row at a time.
fn again(
    photo: &crate::photo::Photo,
    layout: &Layout,
    card: &CardInUse,
    kit: &Kit,
    of: &[(usize, usize, &Swatch)],
) -> Vec<Result<Swatch, Left>> {
    let standard = |(t, _, s): &(usize, usize, &Swatch)| Standard {
        station: s.station.clone(),
        test: kit.tests[*t].name.clone(),
        value: s.value,
        value_sd: s.value_sd,
    };
    if of.iter().all(|(_, _, s)| s.source == Source::Standard) {
        let all: Vec<Standard> = of.iter().map(standard).collect();
        let found = reading::calibrate(photo, layout, &card.reference, kit, &all);
        return found.into_iter().map(|f| f.map_err(Left::Refused)).collect();
    }
    // Left to right, as their places were numbered.
    let mut row: Vec<&(usize, usize, &Swatch)> = of.iter().collect();
    row.sort_by_key(|(_, _, s)| s.station.trim_start_matches("shade-").parse::<usize>().unwrap_or(usize::MAX));
    let values: Vec<f64> = row.iter().map(|(_, _, s)| s.value).collect();
    match reading::shades(photo, layout, &card.reference, &kit.tests[of[0].0], &values) {
        Err(why) => of.iter().map(|_| Err(Left::Refused(why.clone()))).collect(),
        Ok(found) => of
            .iter()
            .map(|(_, _, s)| {
                let new = found.iter().find(|f| f.station == s.station).cloned();
                new.ok_or(Left::Refused(Vec::new()))
            })
            .collect(),
    }
}

/// With all swatches put in anew, as [`Kit::add_swatches`] shortens them.
fn shortened(kit: Kit) -> Kit {
    let mut out = Kit { tests: Vec::new(), ..kit.clone() };
    for test in kit.tests {
        let (name, swatches) = (test.name.clone(), test.swatches.clone());
        out.tests.push(crate::curve::Test { swatches: Vec::new(), ..test });
        if out.add_swatches(&name, swatches.clone()).is_err() {
            // Cannot be: they were sound before.
            if let Some(test) = out.tests.last_mut() {
                test.swatches = swatches;
            }
        }
    }
    out
}
