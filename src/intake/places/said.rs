//! What a reading says of its place.

use super::{Place, Places};
use crate::curve::Kit;
use crate::curve::place::{SAME, Side};
use crate::intake::KitFacts;
use crate::log::Reading;

/// Where a photo was taken, as far as its light tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The keeper's name of the place.
    pub name: Option<String>,
    /// What to call it: its name, or that of its swatches; none for one that is known by nothing else than readings, or by nothing.
    pub called: Option<String>,
    /// How far the light is from the nearest one that the place is known by; none for a place not seen before.
    pub off: Option<f64>,
    /// How far it is from the nearest light in which the kit was calibrated; none where the kit does not tell.
    pub kit_off: Option<f64>,
    /// Whether that is near enough for narrow intervals.
    pub calibrated: bool,
    /// How many swatches of the kit were photographed there.
    pub swatches: usize,
    /// How many photos were logged of it, this one left out.
    pub seen: usize,
    /// From where the light falls; and from where it fell on most of the place's swatches, where that is another side.
    pub side: Option<Side>,
    pub side_then: Option<Side>,
    /// All of it in a sentence.
    pub text: String,
}

impl Placed {
    /// What a reading's row keeps of it.
    pub fn kept(&self) -> Option<String> {
        self.called.clone()
    }
}

impl Places {
    /// Where a photo was taken that was read with a kit; none where there is nothing to say.
    pub fn placed(&self, light: &[f64], kit: &Kit, photo: &str) -> Option<Placed> {
        let kit_off = kit.away(light);
        let found = self.at(light);
        if kit_off.is_none() && found.is_none_or(|(p, _)| p.name.is_none()) {
            return None;
        }
        let place = found.map(|(p, _)| p);
        let calibrated = kit_off.is_some_and(|d| d <= SAME);
        let side = Side::of(light);
        let mut placed = Placed {
            name: place.and_then(|p| p.name.clone()),
            called: place.and_then(|p| called(p, &kit.name)),
            off: found.map(|(_, off)| off),
            kit_off,
            calibrated,
            swatches: place.map_or(0, |p| p.swatches.iter().filter(|s| s.kit == kit.name).count()),
            seen: place.map_or(0, |p| p.seen.iter().filter(|s| s.photo != photo).count()),
            side,
            side_then: place.and_then(|p| usual_side(p, kit)).filter(|then| turned(side, *then)),
            text: String::new(),
        };
        placed.text = placed.sentence();
        Some(placed)
    }
}

impl Places {
    /// Where the photos of logged readings were taken, by what is known now of places and kits.
    pub fn of_readings(&self, readings: &[Reading], kits: &KitFacts) -> Vec<Option<Placed>> {
        readings.iter().map(|r| self.of_reading(r, kits)).collect()
    }

    /// The same of one reading.
    pub fn of_reading(&self, r: &Reading, kits: &KitFacts) -> Option<Placed> {
        self.placed(r.light.as_deref()?, kits.kit(r.test.kit.as_deref()?)?, r.photo.as_deref().unwrap_or_default())
    }
}

impl Placed {
    fn sentence(&self) -> String {
        let called = match &self.called {
            Some(called) => called.clone(),
            None if self.seen > 0 => "a place without a name".to_string(),
            None if self.off.is_some() => "a place seen for the first time".to_string(),
            None => "a place not seen before".to_string(),
        };
        let Some(kit_off) = self.kit_off else {
            return format!("{called}; the kit's swatches do not tell their light.");
        };
        if self.calibrated {
            let turned = match (self.side, self.side_then) {
                (Some(now), Some(then)) => format!(", now with {}, then with {}", now.words(), then.words()),
                _ => String::new(),
            };
            return format!("{called} (light {kit_off:.2} off; up to {SAME:.2} is the same{turned}).");
        }
        let times = match self.seen {
            0 => String::new(),
            1 => "seen once besides; ".to_string(),
            n => format!("seen {n} times besides; "),
        };
        format!(
            "{called} (light {kit_off:.2} off that of the kit's nearest swatch; up to {SAME:.2} is the same); {times}a standard \
             photographed there would narrow its readings."
        )
    }
}

/// What a place is called: its name, or that of the kit's swatches, or of another kit's.
pub(super) fn called(place: &Place, kit: &str) -> Option<String> {
    if let Some(name) = &place.name {
        return Some(name.clone());
    }
    let own = place.swatches.iter().any(|s| s.kit == kit);
    let (whose, kit) = match (own, place.swatches.first()) {
        (true, _) => ("your swatches".to_string(), kit),
        (false, Some(other)) => (format!("the swatches of the kit '{}'", other.kit), other.kit.as_str()),
        (false, None) => return None,
    };
    Some(match place.days(Some(kit)) {
        Some((from, to)) if from == to => format!("the place of {whose} of {from}"),
        Some((from, to)) => format!("the place of {whose} of {from} to {to}"),
        None => format!("the place of {whose}"),
    })
}

/// From where the light fell on most of a kit's swatches at a place.
pub(super) fn usual_side(place: &Place, kit: &Kit) -> Option<Side> {
    let photos: Vec<&str> = place.swatches.iter().filter(|s| s.kit == kit.name).map(|s| s.photo.as_str()).collect();
    let own = kit.tests.iter().flat_map(|t| &t.swatches).filter(|s| photos.contains(&s.photo.as_str()));
    let sides: Vec<Side> = own.filter_map(|s| Side::of(&s.light)).collect();
    let often = |side: Side| sides.iter().filter(|s| **s == side).count();
    sides.iter().copied().max_by_key(|s| often(*s))
}

/// Whether the light falls from another side than it did: of even light nothing is said.
fn turned(now: Option<Side>, then: Side) -> bool {
    now.is_some_and(|now| now != then && now != Side::Even && then != Side::Even)
}
