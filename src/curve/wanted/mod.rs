//! The one standard that would help a kit most: what it would make of the intervals, by the same model that reads.
//!
//! The criterion is the width of the 95 % interval, averaged over where and what the keeper reads: over the places visited, each as
//! often as photos were taken there; over the test's range, half evenly and half as the last readings lie. Widths count on the
//! scale on which a test's standards are about evenly spaced, the root of the concentration as a share of the top's, so that tests
//! can be compared. Each standard that could be made (every value the test has, the middle of every gap, none) is tried at each of
//! the places: the variance that reading a sample would have is predicted to first order, see `sight`.

mod sight;

use nalgebra::Vector3;

use super::kit::{Kit, Scale, Test};
use super::place::{SAME, apart};
use super::way::Ways;
use sight::{Added, Light, Sight};

/// What a kit is read with and for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Use {
    /// The places where standards could be photographed, each with its light's signature and its share of the photos read.
    pub places: Vec<(Vec<f64>, f64)>,
    /// Concentrations read lately, by test's name, in the test's unit; none detected counts as 0.
    pub read: Vec<(String, Vec<f64>)>,
}

/// Why a standard helps.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// The kit has no standard at that place.
    Place,
    /// Nothing of one's own shows what none looks like.
    NoZero,
    /// Between these standards the path is a guess.
    Gap { from: f64, to: f64 },
    /// The colour there rests on so many photos of one's own standards; none where printed shades show it.
    Few { photos: usize },
}

/// The standard that would help most.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Of which test.
    pub test: String,
    /// Its concentration in the test's unit.
    pub value: f64,
    /// At which of the places.
    pub place: usize,
    pub why: Why,
    /// By what share the intervals of the test at that place would be narrower, on the average of the criterion.
    pub narrower: f64,
    /// The interval of a sample of that concentration at that place, now and then, predicted, in the test's unit.
    pub now: [f64; 2],
    pub then: [f64; 2],
}

/// Less than this share is not worth a standard's reagent.
pub const WORTH: f64 = 0.04;
/// Pure water is at hand, a standard has to be made: the zero standard is named where it helps so much of what the best one does.
const AT_HAND: f64 = 0.9;
/// Where it is the first standard at a place, or of a test, which never says 'not detected' without it, so much is enough.
const FIRST: f64 = 0.5;
/// The lowest standard above none sets below what 'not detected' may be said, so nothing is put below it, unless it lies above this
/// share of the scale.
const LOWEST: f64 = 0.4;
/// A concentration this near to a standard (share of the scale) is that standard.
const NEAR: f64 = 0.04;

/// The one next standard of a kit; None where none is worth while. Tests without a curve yet are left out: there the first
/// standards come first.
pub fn wanted(kit: &Kit, used: &Use) -> Option<Wanted> {
    let room = Room::of(kit, used);
    let mut all: Vec<(f64, Wanted)> = Vec::new();
    for place in (0..room.places.len()).filter(|p| room.places[*p].share > 0.0) {
        for (i, sight) in room.sights.iter().enumerate() {
            all.extend(tried(sight.test).into_iter().filter_map(|value| room.with(place, i, value)));
        }
    }
    let best = all.iter().map(|(gain, _)| *gain).max_by(f64::total_cmp).filter(|g| *g > 0.0)?;
    let enough = |(gain, w): &&(f64, Wanted)| {
        let test = kit.test(&w.test).ok().filter(|t| t.scale == Scale::FromZero && w.value == 0.0);
        let first = |t: &Test| w.why == Why::Place || !t.has_own_zero();
        test.is_some_and(|t| *gain >= best * if first(t) { FIRST } else { AT_HAND })
    };
    let at_hand = all.iter().filter(enough).max_by(|a, b| a.0.total_cmp(&b.0));
    let first = at_hand.or_else(|| all.iter().find(|(gain, _)| *gain == best))?;
    Some(first.1.clone())
}

/// A kit where it is read, as it is now.
struct Room<'k> {
    ways: Ways,
    places: Vec<Light>,
    sights: Vec<Sight<'k>>,
    /// Mean widths, by test and place.
    now: Vec<Vec<f64>>,
}

impl<'k> Room<'k> {
    fn of(kit: &'k Kit, used: &Use) -> Self {
        let ways = Ways::of(kit);
        let places: Vec<Light> =
            used.places.iter().map(|(light, share)| Light::of(kit, &ways, light, *share)).collect();
        let sights: Vec<Sight> = kit.tests.iter().filter_map(|t| Sight::of(kit, t, used)).collect();
        let now = sights.iter().map(|s| places.iter().map(|p| s.width(p, None)).collect()).collect();
        Self { ways, places, sights, now }
    }

    /// What a standard of a test at a place would bring, summed over all tests, and what there is to say of it; None where it brings
    /// too little.
    fn with(&self, place: usize, test: usize, value: f64) -> Option<(f64, Wanted)> {
        let (sight, at) = (&self.sights[test], &self.places[place]);
        let after = learnt(&self.places, at, sight, value, &self.ways);
        let added = Added::of(sight, value);
        let narrower = 1.0 - sight.width(&after[place], Some(&added)) / self.now[test][place];
        if narrower.is_nan() || narrower < WORTH {
            return None;
        }
        let of = |k: usize| {
            // Another test's own curve is as it was; its light need not be.
            let added = Some(&added).filter(|_| k == test);
            let then = after.iter().map(|p| p.share * self.sights[k].width(p, added)).sum::<f64>();
            let now = self.now[k].iter().zip(&self.places).map(|(w, p)| p.share * w).sum::<f64>();
            self.sights[k].weight * (now - then)
        };
        let wanted = Wanted {
            test: sight.test.name.clone(),
            value,
            place,
            why: why(sight.test, value, at),
            narrower,
            now: sight.interval(value, at, None),
            then: sight.interval(value, &after[place], Some(&added)),
        };
        Some(((0..self.sights.len()).map(of).sum(), wanted))
    }
}

/// The places as they would be known with one more standard at one of them.
fn learnt(places: &[Light], at: &Light, sight: &Sight, value: f64, ways: &Ways) -> Vec<Light> {
    let d = sight.density(value);
    // Only of a concentration that is there under another light a standard tells how the way differs.
    let hue = if sight.has(value) { d.add_scalar(-d.mean()) } else { Vector3::zeros() };
    let one = |p: &Light| {
        let far = apart(&at.light, &p.light).unwrap_or(0.0);
        let foreign = if far <= SAME { 0.0 } else { p.foreign.min(far) };
        Light { foreign, unsure: ways.unsure_with(&p.light, &at.light, &hue), ..p.clone() }
    };
    places.iter().map(one).collect()
}

fn why(test: &Test, value: f64, at: &Light) -> Why {
    let own: Vec<f64> = test.own().map(|s| s.value).collect();
    let photos = own.iter().filter(|v| **v == value).count();
    let below = own.iter().copied().filter(|v| *v < value).max_by(f64::total_cmp);
    let above = own.iter().copied().filter(|v| *v > value).min_by(f64::total_cmp);
    match (photos, below, above) {
        _ if at.foreign > 0.0 => Why::Place,
        (0, ..) if value == 0.0 && test.scale == Scale::FromZero => Why::NoZero,
        (0, Some(from), Some(to)) => Why::Gap { from, to },
        _ => Why::Few { photos },
    }
}

/// The concentrations that are tried as a test's next standard.
fn tried(test: &Test) -> Vec<f64> {
    let mut values = test.values();
    if test.scale == Scale::FromZero && values.first() != Some(&0.0) {
        values.insert(0, 0.0);
    }
    let (low, high) = (values[0], values[values.len() - 1]);
    let scale = |v: f64| scaled(test.scale, v, low, high);
    let middle = |w: &[f64]| {
        let v = round(test.scale, w[0], w[1], unscaled(test.scale, 0.5 * (scale(w[0]) + scale(w[1])), low, high));
        Some(v).filter(|v| (scale(*v) - scale(w[0])).min(scale(w[1]) - scale(*v)) > NEAR)
    };
    let open = |w: &&[f64]| test.scale == Scale::Bounded || w[0] > 0.0 || scale(w[1]) > LOWEST;
    let middles: Vec<f64> = values.windows(2).filter(open).filter_map(middle).collect();
    // Between printed shades nothing tells more than at them.
    if !test.from_print() {
        values.extend(middles);
    }
    values
}

/// A concentration as a share of the scale.
fn scaled(scale: Scale, value: f64, low: f64, high: f64) -> f64 {
    match scale {
        Scale::FromZero => (value / high).max(0.0).sqrt(),
        Scale::Bounded => (value - low) / (high - low),
    }
}

/// The other way.
fn unscaled(scale: Scale, share: f64, low: f64, high: f64) -> f64 {
    match scale {
        Scale::FromZero => high * share * share,
        Scale::Bounded => low + share * (high - low),
    }
}

/// The number between two that is easily made, nearest to the one given: one digit and a half; of pH one after the point.
fn round(scale: Scale, from: f64, to: f64, value: f64) -> f64 {
    const EASY: [f64; 10] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];
    if scale == Scale::Bounded {
        return (value * 10.0).round() / 10.0;
    }
    let power = 10f64.powf(value.log10().floor());
    let near = EASY.map(|e| e * power).into_iter().filter(|v| (from..to).contains(v) && *v > from);
    let near = near.min_by(|a, b| (a - value).abs().total_cmp(&(b - value).abs())).unwrap_or(value);
    // 3 × 0.1 is not 0.3.
    format!("{near:.6e}").parse().unwrap_or(near)
}

#[cfg(test)]
mod tests;
