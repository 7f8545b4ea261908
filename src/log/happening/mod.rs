//! What can happen to a tank, typed; and its form in the log, an event's kind and payload.
//!
//! [`Happening`] is the one list of kinds. Every field that a keeper may not know is an `Option`: 'nobody said' is not zero. An
//! event of a kind this program does not know, or whose payload it cannot read, is [`Happening::Other`], which keeps kind and
//! payload as they are; so events of a later version pass through export and import untouched.
//!
//! # Stored form
//! The kind is the text beside the variant, such as `fish-added`. The payload is one JSON object; a field has its own name as
//! key, one that is not known is left out, an enum is its text form, an id its full text, lists and structures are described at
//! their types in [`parts`]. Keys this program does not know stay in the log. The keeper's own words stand in the event's note.

pub mod parts;

mod fact;

pub use parts::{Ammonia, Animal, NewWater, PlantChange, RinsedIn, Stock, Strength, TankFacts, Topped};

use super::{Event, Id, NewEvent};
use crate::moment::Moment;
use fact::Fact;
use serde_json::{Map, Value};

/// Why a payload is none of its kind, or a happening cannot be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{kind}: {field} {cause}")]
pub struct Unfit {
    /// The kind of event.
    pub kind: String,
    /// Which field.
    pub field: String,
    /// What is wrong with it.
    pub cause: String,
}

macro_rules! happenings {
    ($($(#[$doc:meta])* $name:ident $kind:literal { $($(#[$fdoc:meta])* $field:ident: $type:ty,)* })*) => {
        /// What happened. See the [module](self) for the stored form.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Happening {
            $($(#[$doc])* $name { $($(#[$fdoc])* $field: $type,)* },)*
            /// Something this program does not know, or cannot read.
            Other {
                /// Its kind.
                kind: String,
                /// Its facts.
                payload: Map<String, Value>,
            },
        }

        impl Happening {
            /// The kinds known here, in the order of the list.
            pub const KINDS: &'static [&'static str] = &[$($kind,)*];

            /// The stable text form of the kind.
            pub fn kind(&self) -> &str {
                match self {
                    $(Self::$name { .. } => $kind,)*
                    Self::Other { kind, .. } => kind,
                }
            }

            /// The facts as they are stored.
            pub fn payload(&self) -> Map<String, Value> {
                let mut out = Map::new();
                match self {
                    $(Self::$name { $($field,)* } => { $($field.put(stringify!($field), &mut out);)* })*
                    Self::Other { payload, .. } => out.clone_from(payload),
                }
                out
            }

            /// What kind and payload say, or why the payload of a known kind cannot be read. Keys not known are passed over.
            pub fn read(kind: &str, payload: &Map<String, Value>) -> Result<Self, Unfit> {
                match kind {
                    $($kind => Ok(Self::$name { $($field: <$type as Fact>::take(stringify!($field), payload)
                        .map_err(|(field, cause)| Unfit { kind: kind.to_string(), field, cause })?,)* }),)*
                    _ => Ok(Self::Other { kind: kind.to_string(), payload: payload.clone() }),
                }
            }
        }
    };
}

happenings! {
    /// Animals came into the tank.
    FishAdded "fish-added" { stock: Stock, }
    /// Animals were taken out, alive.
    FishRemoved "fish-removed" { stock: Stock, }
    /// Animals died.
    FishDied "fish-died" { stock: Stock, }
    /// Animals were counted: so many of them are there now. A number of 0 without a species says that there are none at all;
    /// no number, that there are some.
    FishCounted "fish-counted" { stock: Stock, }
    /// Food was given.
    Feeding "feeding" {
        /// Grams.
        grams: Option<f64>,
        /// Protein in it, as a share of its mass, 0 to 1.
        protein: Option<f64>,
        /// What food.
        food: Option<String>,
    }
    /// Filter media were put in.
    MediaAdded "media-added" {
        /// Litres of media.
        litres: Option<f64>,
        /// What media.
        media: Option<String>,
        /// Whether they were taken from a running filter.
        mature: Option<bool>,
    }
    /// Filter media were taken out.
    MediaRemoved "media-removed" {
        /// Litres of media.
        litres: Option<f64>,
        /// The share of all media, 0 to 1.
        share: Option<f64>,
        /// What media.
        media: Option<String>,
    }
    /// Filter media were rinsed.
    MediaRinsed "media-rinsed" {
        /// The share of all media, 0 to 1.
        share: Option<f64>,
        /// In what.
        rinsed_in: Option<RinsedIn>,
    }
    /// Filter media went from the event's tank into another: one event, of both tanks.
    MediaMoved "media-moved" {
        /// The tank they went into.
        to: Id,
        /// Litres of media.
        litres: Option<f64>,
        /// The share of the first tank's media, 0 to 1.
        share: Option<f64>,
        /// What media.
        media: Option<String>,
    }
    /// Stones, wood, substrate were taken out.
    DecorRemoved "decor-removed" {
        /// What.
        what: Option<String>,
    }
    /// Water was exchanged for new.
    WaterChange "water-change" {
        /// Litres.
        litres: Option<f64>,
        /// The share of the tank's water, more than 0 up to 1.
        share: Option<f64>,
        /// What is known of the new water.
        new_water: NewWater,
    }
    /// Evaporated water was replaced.
    TopUp "top-up" {
        /// Litres.
        litres: Option<f64>,
        /// With what.
        with: Option<Topped>,
    }
    /// Ammonia was added for the filter.
    AmmoniaDosed "ammonia-dosed" { dose: Ammonia, }
    /// A water conditioner was added.
    Conditioner "conditioner" {
        /// Millilitres.
        ml: Option<f64>,
        /// Which.
        product: Option<String>,
        /// Whether it binds ammonia; not known counts as yes.
        binds_ammonia: Option<bool>,
    }
    /// Something that raises or lowers pH or alkalinity was added.
    Buffer "buffer" {
        /// Grams.
        grams: Option<f64>,
        /// Millilitres.
        ml: Option<f64>,
        /// What.
        product: Option<String>,
    }
    /// Salt was added.
    Salt "salt" {
        /// Grams.
        grams: Option<f64>,
        /// What salt.
        product: Option<String>,
    }
    /// Medicine was given.
    Medicine "medicine" {
        /// Millilitres.
        ml: Option<f64>,
        /// Grams.
        grams: Option<f64>,
        /// Which.
        product: Option<String>,
        /// Whether there is copper in it; not known counts as yes.
        copper: Option<bool>,
    }
    /// The power was off. The event's time is its beginning.
    PowerCut "power-cut" {
        /// Hours.
        hours: Option<f64>,
    }
    /// The filter stood still. The event's time is its beginning.
    FilterOff "filter-off" {
        /// Hours.
        hours: Option<f64>,
    }
    /// The heater failed or ran on.
    HeaterFault "heater-fault" {
        /// The water's temperature when it was noticed, °C.
        celsius: Option<f64>,
    }
    /// Plants were put in, taken out or cut.
    Plants "plants" {
        /// Which of the three.
        change: Option<PlantChange>,
        /// What plants.
        what: Option<String>,
    }
    /// Animals look or behave wrong.
    Symptom "symptom" {
        /// What is seen.
        seen: Option<String>,
    }
    /// What was wrong is over.
    SymptomOver "symptom-over" {}
    /// The tank has been running with animals since the event's time: the keeper's word, not shown by tests.
    DeclaredEstablished "declared-established" {}
    /// Facts of the tank itself, as they are from the event's time on; those left out stay as they were.
    TankDescribed "tank-described" { facts: TankFacts, }
    /// Only words: the event's note.
    Note "note" {}
}

/// The kind under which the reaction timer records that reagent went in. Its facts belong to the timer; here it is
/// [`Happening::Other`].
pub const TEST_STARTED: &str = "test-started";

/// The kind under which a control check of a test is recorded: a known standard read again. Its facts belong to the intake; here
/// it is [`Happening::Other`].
pub const CONTROL_CHECKED: &str = "control-checked";

impl Happening {
    /// As an event to be added, or why it cannot be: a number that is not finite or less than none, a share of more than all or of
    /// nothing, media that stay where they are.
    pub fn event(&self, tank: Option<Id>, at: Moment, note: Option<String>) -> Result<NewEvent, Unfit> {
        let unfit = |field: &str, cause: &str| Unfit {
            kind: self.kind().to_string(),
            field: field.to_string(),
            cause: cause.to_string(),
        };
        let payload = self.payload();
        // Reading back checks all numbers; JSON has no infinite ones, so such a happening comes back as another.
        if Self::read(self.kind(), &payload)? != *self {
            return Err(unfit("a number", "is not finite"));
        }
        for field in ["share", "protein"] {
            match payload.get(field).and_then(Value::as_f64) {
                Some(x) if x > 1.0 => return Err(unfit(field, &format!("of {} % is more than all", x * 100.0))),
                Some(0.0) => return Err(unfit(field, "of 0 % is nothing")),
                _ => {}
            }
        }
        if payload.get("volume_l").and_then(Value::as_f64) == Some(0.0) {
            return Err(unfit("volume_l", "of 0 L is no tank"));
        }
        match self {
            Self::MediaMoved { .. } if tank.is_none() => return Err(unfit("the tank", "they came from is not known")),
            Self::MediaMoved { to, .. } if tank == Some(*to) => {
                return Err(unfit("the tank", "they went into is the one they came from"));
            }
            _ => {}
        }
        Ok(NewEvent { note, payload, ..NewEvent::new(self.kind(), tank, at) })
    }
}

impl Event {
    /// What happened, typed. Where the payload of a known kind cannot be read, it is [`Happening::Other`] of that kind.
    pub fn happening(&self) -> Happening {
        let other = |_| Happening::Other { kind: self.kind.clone(), payload: self.payload.clone() };
        Happening::read(&self.kind, &self.payload).unwrap_or_else(other)
    }

    /// For media that moved between tanks: the tank they went into, while [`Event::tank`] is the one they came from.
    pub fn other_tank(&self) -> Option<Id> {
        match self.happening() {
            Happening::MediaMoved { to, .. } => Some(to),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests;
