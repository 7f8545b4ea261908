//! Where a kit is used, for the question which standard would help it most.

use super::{Place, Places, said};
use crate::curve::wanted::{Use, Wanted, wanted};
use crate::curve::{Kit, Test};
use crate::intake::{IntakeError, Kept};
use crate::log::{Filter, Log, Reading};
use crate::water::Amount;

/// The last so many readings of a test tell what is likely.
const READ: u32 = 50;

/// The places of one kit: where its swatches were made and where it is read.
#[derive(Debug, Clone, PartialEq)]
pub struct KitPlaces {
    pub places: Vec<KitPlace>,
    /// The one next standard, with the place by its number in `places`. None where none is worth while, or where no test has a curve.
    pub wanted: Option<Wanted>,
    /// Whether any test has a curve yet.
    pub curves: bool,
}

/// A place as one kit knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct KitPlace {
    /// The kit's name.
    pub kit: String,
    /// Number of the place in the list of all places, from 1.
    pub number: usize,
    pub name: Option<String>,
    /// See [`super::Placed::called`].
    pub called: String,
    pub place: Place,
    /// Photos of this kit's swatches there, and which concentrations of which tests they show, in the kit's order.
    pub photos: usize,
    pub values: Vec<(String, Vec<f64>)>,
    /// Photos logged there that were read with this kit.
    pub read: usize,
    /// From where the light fell on most of the swatches; without any, none.
    pub side: Option<crate::curve::place::Side>,
    /// How far it is from the nearest of the kit's lights; none where swatches tell no light.
    pub kit_off: Option<f64>,
}

impl Places {
    /// The places of a kit, and what it lacks.
    pub fn of_kit(&self, kit: &Kept<Kit>, log: Option<&Log>) -> Result<KitPlaces, IntakeError> {
        let own = |p: &Place| p.swatches.iter().any(|s| s.kit == kit.name) || read_with(p, &kit.name) > 0;
        let places: Vec<KitPlace> =
            self.all.iter().enumerate().filter(|(_, p)| own(p)).map(|(i, p)| of(i, p, &kit.value)).collect();
        let mut lights = visits(&places, &kit.value);
        let all: f64 = lights.iter().map(|(_, _, n)| n).sum();
        lights.iter_mut().for_each(|l| l.2 /= all);
        if lights.is_empty() {
            // Swatches without a light, and nothing read: one place, whichever it is.
            lights.push((0, Vec::new(), 1.0));
        }
        let mut used = Use { places: lights.iter().map(|(_, l, n)| (l.clone(), *n)).collect(), read: Vec::new() };
        if let Some(log) = log {
            for test in &kit.value.tests {
                used.read.push((test.name.clone(), read(test, kit, log)?));
            }
        }
        let curves = kit.value.tests.iter().any(|t| t.values().len() >= 2);
        let wanted = wanted(&kit.value, &used).map(|w| Wanted { place: lights[w.place].0, ..w });
        Ok(KitPlaces { wanted, places, curves })
    }
}

/// How many photos were read in which light of which place. Lights of one place in which the kit was calibrated count as one, and
/// the others as another. Without readings, swatches were made where readings will be.
fn visits(places: &[KitPlace], kit: &Kit) -> Vec<(usize, Vec<f64>, f64)> {
    let mut out = Vec::new();
    for (i, p) in places.iter().enumerate() {
        let (own, others): (Vec<&[f64]>, Vec<&[f64]>) =
            read_there(&p.place, &kit.name).partition(|l| kit.foreign(l) == 0.0);
        let of = |lights: Vec<&[f64]>| lights.first().map(|l| (i, l.to_vec(), lights.len() as f64));
        out.extend([of(own), of(others)].into_iter().flatten());
    }
    if out.is_empty() {
        let made = places.iter().enumerate().filter(|(_, p)| p.photos > 0);
        out.extend(made.map(|(i, p)| (i, p.place.lights[0].clone(), p.photos as f64)));
    }
    out
}

fn read_with(place: &Place, kit: &str) -> usize {
    read_there(place, kit).count()
}

fn read_there<'p>(place: &'p Place, kit: &str) -> impl Iterator<Item = &'p [f64]> {
    place.seen.iter().filter(move |s| s.kit.as_deref() == Some(kit)).map(|s| s.light.as_slice())
}

fn of(index: usize, place: &Place, kit: &Kit) -> KitPlace {
    let stood = || place.swatches.iter().filter(|s| s.kit == kit.name);
    let mut photos: Vec<&str> = stood().map(|s| s.photo.as_str()).collect();
    photos.sort_unstable();
    photos.dedup();
    let values = |t: &Test| {
        let mut v: Vec<f64> = stood().filter(|s| s.test == t.name).map(|s| s.value).collect();
        v.sort_by(f64::total_cmp);
        v.dedup();
        (t.name.clone(), v)
    };
    KitPlace {
        kit: kit.name.clone(),
        number: index + 1,
        name: place.name.clone(),
        called: said::called(place, &kit.name).unwrap_or_else(|| format!("the place {} without a name", index + 1)),
        photos: photos.len(),
        values: kit.tests.iter().map(values).filter(|(_, v)| !v.is_empty()).collect(),
        read: read_with(place, &kit.name),
        side: said::usual_side(place, kit),
        kit_off: place.lights.first().and_then(|l| kit.away(l)),
        place: place.clone(),
    }
}

/// What a test read lately, in its unit: values, none as 0, 'above' as the limit.
fn read(test: &Test, kit: &Kept<Kit>, log: &Log) -> Result<Vec<f64>, IntakeError> {
    let filter = Filter { test: Some(test.name.clone()), last: Some(READ), ..Filter::default() };
    let own = |r: &Reading| r.test.kit.as_deref() == Some(kit.name.as_str()) && r.dilution.is_none();
    let value = |r: &Reading| -> Option<f64> {
        match r.amount.as_ref()? {
            Amount::NotDetected { .. } => Some(0.0),
            other => other.level().to(&test.unit).ok().map(|q| q.value),
        }
    };
    Ok(log.readings(&filter)?.iter().filter(|r| own(r)).filter_map(value).collect())
}
