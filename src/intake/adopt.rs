//! Carrying a kit over to another card, phone or bottle.

use super::shots::{Measured, Shot, measured, seen};
use super::{CardInUse, Home, IntakeError, Keep, Kept};
use crate::curve::{self, Adopted, Adoption, Kit, New, Nuisance, Path, Seen, Swatch, Taken, Test, Trial};
use crate::finding::Finding;
use crate::reading::Standard;
use jiff::civil::Date;
use std::path::PathBuf;

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// The kit as it is now: a new revision if a test was carried over.
    pub kit: Kept<Kit>,
    /// Test by test, in the kit's order.
    pub tests: Vec<CarriedTest>,
    /// Standards that could not be used, with the reasons.
    pub unused: Vec<(PathBuf, Standard, Vec<Finding>)>,
}

/// What the standards of one test said.
#[derive(Debug, Clone, PartialEq)]
pub struct CarriedTest {
    pub test: String,
    /// What is new.
    pub new: New,
    /// What the standards say; none where fewer than two concentrations could be used.
    pub trial: Option<Trial>,
}

/// Carries the tests, whose standards photos show, over to the card, phone and bottle that they were photographed with: two
/// concentrations of each at the least, all photos by one phone. What holds is recorded in a new revision of the kit.
pub fn adopt(
    home: &Home,
    kit: &Kept<Kit>,
    card: &CardInUse,
    shots: &[Shot],
    today: Date,
    keep: Keep,
) -> Result<Carried, IntakeError> {
    let all = measured(&kit.value, card, shots)?;
    let camera = one_camera(&all)?;
    let (mut next, mut tests, mut anything) = (kit.value.clone(), Vec::new(), false);
    for test in &kit.value.tests {
        let of: Vec<&Swatch> = all
            .iter()
            .flat_map(|m| &m.standards)
            .filter(|(s, _)| s.test == test.name)
            .filter_map(|(_, swatch)| swatch.as_ref().ok())
            .collect();
        if !all.iter().flat_map(|m| &m.standards).any(|(s, _)| s.test == test.name) {
            continue;
        }
        let taken = Taken { card: card.reference.revision.as_deref(), camera: camera.as_deref(), on: Some(today) };
        let new = New::of(&kit.value, test, &taken);
        anything |= new.any();
        let trial = trial(&kit.value, test, &of, new)?;
        if let Some(trial) = trial.as_ref().filter(|t| t.holds && new.any()) {
            next.adopt(&test.name, record(test, &taken, trial, &of, today))?;
        }
        tests.push(CarriedTest { test: test.name.clone(), new, trial });
    }
    if !anything && tests.iter().any(|t| t.trial.is_some()) {
        return Err(IntakeError::NothingNew { kit: kit.name.clone() });
    }
    let mut unused = Vec::new();
    for m in &all {
        home.keep_photo(&m.opened, keep)?;
        let left = |(s, swatch): &(Standard, Result<Swatch, Vec<Finding>>)| {
            Some((m.opened.path.clone(), s.clone(), swatch.as_ref().err()?.clone()))
        };
        unused.extend(m.standards.iter().filter_map(left));
    }
    let kit = if next == kit.value { kit.clone() } else { home.changed_kit(kit, next)? };
    Ok(Carried { kit, tests, unused })
}

fn one_camera(all: &[Measured]) -> Result<Option<String>, IntakeError> {
    let mut cameras = all.iter().map(|m| m.opened.photo.facts().camera.clone());
    let first = cameras.next().flatten();
    match cameras.find(|c| *c != first) {
        None => Ok(first),
        Some(other) => {
            let named = |c: Option<String>| c.unwrap_or_else(|| "one that is not named".to_string());
            Err(IntakeError::TwoCameras { one: named(first), other: named(other) })
        }
    }
}

fn trial(kit: &Kit, test: &Test, of: &[&Swatch], new: New) -> Result<Option<Trial>, IntakeError> {
    let concentrations = of.iter().filter(|s| of.iter().any(|o| o.value != s.value)).count();
    let Ok(path) = Path::new(test, Nuisance::of(kit.kind)) else { return Ok(None) };
    if concentrations < 2 {
        return Ok(None);
    }
    let seen: Vec<(f64, Seen)> = of.iter().map(|s| (s.value, seen(s, kit))).collect();
    Ok(curve::tried(test, &path, &seen, new.extra()))
}

fn record(test: &Test, taken: &Taken, trial: &Trial, of: &[&Swatch], date: Date) -> Adoption {
    let to = |x: f64, grid: f64| (x * grid).round() / grid;
    let standard = |(s, shift): (&&Swatch, &curve::Shift)| Adopted {
        value: s.value,
        read: to(shift.read, 1e6),
        lab: s.lab.map(|x| to(x, 1e4)),
        photo: s.photo.clone(),
        station: s.station.clone(),
    };
    let mut extra = trial.extra;
    for x in [&mut extra.flat, &mut extra.share, &mut extra.way] {
        *x = to(*x, 1e5);
    }
    Adoption {
        date,
        card: taken.card.map(str::to_string),
        camera: taken.camera.map(str::to_string),
        lot: test.lot.clone(),
        extra,
        chi_squared: to(trial.chi_squared, 1e3),
        standards: of.iter().zip(&trial.shifts).map(standard).collect(),
    }
}
