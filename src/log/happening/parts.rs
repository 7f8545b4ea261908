//! What a happening's fields are made of, each with its keys in the payload.

use super::fact::{Fact, Plain, Wrong};
use crate::log::amounts::{Numbers, amount, numbers};
use crate::log::tank::WaterKind;
use crate::water::{Amount, Analyte, Unit};
use serde_json::{Map, Value, json};

macro_rules! words {
    ($($(#[$doc:meta])* $type:ident { $($(#[$vdoc:meta])* $variant:ident $text:literal,)* })*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum $type { $($(#[$vdoc])* $variant,)* }

        impl $type {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// Stable text form.
            pub fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $text,)* }
            }
        }

        impl Plain for $type {
            fn value(&self) -> Value {
                self.as_str().into()
            }

            fn of(value: &Value) -> Result<Self, String> {
                let found = Self::ALL.iter().find(|x| value.as_str() == Some(x.as_str()));
                found.copied().ok_or_else(|| format!("of {value} is not known"))
            }
        }
    )*};
}

words! {
    /// What kind of animal.
    Animal {
        /// Fish.
        Fish "fish",
        /// Shrimps, snails, corals and the like.
        Invertebrate "invertebrate",
    }
    /// What media were rinsed in.
    RinsedIn {
        /// Water of the tank.
        TankWater "tank-water",
        /// Water from the tap: chlorine in it kills what lives in the filter.
        TapWater "tap-water",
    }
    /// What evaporated water was replaced with.
    Topped {
        /// Water without salts: de-ionised, osmosis, rain.
        Pure "pure",
        /// From the tap.
        Tap "tap",
        /// With sea salt in it.
        Salt "salt",
    }
    /// What happened to plants.
    PlantChange {
        /// Put in.
        Added "added",
        /// Taken out.
        Removed "removed",
        /// Cut.
        Trimmed "trimmed",
    }
    /// What the per cent of an ammonia solution are of.
    Strength {
        /// Grams of ammonia in 100 grams.
        ByWeight "by-weight",
        /// Grams of ammonia in 100 millilitres.
        ByVolume "by-volume",
    }
}

impl Plain for WaterKind {
    fn value(&self) -> Value {
        self.as_str().into()
    }

    fn of(value: &Value) -> Result<Self, String> {
        value.as_str().and_then(Self::parse).ok_or_else(|| format!("of {value} is not known"))
    }
}

/// Some animals. Keys: `number`, `animal`, `species`, `size_cm`, `mass_g`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    /// How many.
    pub number: Option<u32>,
    /// What kind.
    pub animal: Option<Animal>,
    /// Which, in the keeper's words.
    pub species: Option<String>,
    /// Length of one, cm.
    pub size_cm: Option<f64>,
    /// Mass of one, g.
    pub mass_g: Option<f64>,
}

impl Stock {
    /// So many of a species.
    pub fn of(number: Option<u32>, species: Option<&str>) -> Self {
        Self { number, species: species.map(str::to_string), ..Self::default() }
    }
}

impl Fact for Stock {
    fn put(&self, _: &str, out: &mut Map<String, Value>) {
        self.number.put("number", out);
        self.animal.put("animal", out);
        self.species.put("species", out);
        self.size_cm.put("size_cm", out);
        self.mass_g.put("mass_g", out);
    }

    fn take(_: &str, from: &Map<String, Value>) -> Result<Self, Wrong> {
        Ok(Self {
            number: Fact::take("number", from)?,
            animal: Fact::take("animal", from)?,
            species: Fact::take("species", from)?,
            size_cm: Fact::take("size_cm", from)?,
            mass_g: Fact::take("mass_g", from)?,
        })
    }
}

/// Facts of a tank. Keys: `water`, `volume_l`, `salinity_g_kg`, `celsius`, `planted`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TankFacts {
    /// Its kind of water.
    pub water: Option<WaterKind>,
    /// Litres of water, as filled.
    pub volume_l: Option<f64>,
    /// Salinity it is kept at, g/kg.
    pub salinity_g_kg: Option<f64>,
    /// Temperature it is kept at, °C.
    pub celsius: Option<f64>,
    /// Whether plants grow in it.
    pub planted: Option<bool>,
}

impl Fact for TankFacts {
    fn put(&self, _: &str, out: &mut Map<String, Value>) {
        self.water.put("water", out);
        self.volume_l.put("volume_l", out);
        self.salinity_g_kg.put("salinity_g_kg", out);
        self.celsius.put("celsius", out);
        self.planted.put("planted", out);
    }

    fn take(_: &str, from: &Map<String, Value>) -> Result<Self, Wrong> {
        Ok(Self {
            water: Fact::take("water", from)?,
            volume_l: Fact::take("volume_l", from)?,
            salinity_g_kg: Fact::take("salinity_g_kg", from)?,
            celsius: Fact::take("celsius", from)?,
            planted: Fact::take("planted", from)?,
        })
    }
}

/// Ammonia as it was dosed. Keys: `form` (`solution`, `ammonium-chloride`, `concentration`; left out where nobody said) and
/// that form's fields, the unit as its text.
#[derive(Debug, Clone, PartialEq)]
pub enum Ammonia {
    /// A solution of ammonia in water.
    Solution {
        /// Millilitres.
        ml: f64,
        /// Ammonia (NH₃) in it, per cent.
        percent: Option<f64>,
        /// Of what.
        strength: Option<Strength>,
    },
    /// Dry ammonium chloride.
    Chloride {
        /// Grams.
        grams: f64,
    },
    /// What it makes in the tank's water.
    Concentration {
        /// The number.
        value: f64,
        /// Its unit with the basis.
        unit: Unit,
    },
    /// Nobody said how much.
    Unknown,
}

impl Fact for Ammonia {
    fn put(&self, _: &str, out: &mut Map<String, Value>) {
        let form = |text: &str, out: &mut Map<String, Value>| out.insert("form".into(), text.into());
        match self {
            Self::Solution { ml, percent, strength } => {
                form("solution", out);
                Some(*ml).put("ml", out);
                percent.put("percent", out);
                strength.put("strength", out);
            }
            Self::Chloride { grams } => {
                form("ammonium-chloride", out);
                Some(*grams).put("grams", out);
            }
            Self::Concentration { value, unit } => {
                form("concentration", out);
                Some(*value).put("value", out);
                out.insert("unit".into(), unit.as_str().into());
            }
            Self::Unknown => {}
        }
    }

    fn take(_: &str, from: &Map<String, Value>) -> Result<Self, Wrong> {
        let needed = |name: &str| {
            let x: Option<f64> = Fact::take(name, from)?;
            x.ok_or_else(|| (name.to_string(), "is missing".to_string()))
        };
        match from.get("form").and_then(Value::as_str) {
            None => Ok(Self::Unknown),
            Some("solution") => Ok(Self::Solution {
                ml: needed("ml")?,
                percent: Fact::take("percent", from)?,
                strength: Fact::take("strength", from)?,
            }),
            Some("ammonium-chloride") => Ok(Self::Chloride { grams: needed("grams")? }),
            Some("concentration") => {
                let text = from.get("unit").and_then(Value::as_str).unwrap_or_default();
                let unit = Unit::parse(text, &Analyte::Ammonia).map_err(|e| ("unit".to_string(), e.to_string()))?;
                Ok(Self::Concentration { value: needed("value")?, unit })
            }
            Some(other) => Err(("form".into(), format!("of '{other}' is not known"))),
        }
    }
}

/// What is known of new water. Key `new_water`, left out where nothing is: a list of objects with `analyte`, `unit`, `status`
/// (`measured`, `not-detected`, `above`, `below`) and `value`, `lower`, `upper`, or `limit`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NewWater {
    /// What was measured in it.
    pub values: Vec<(Analyte, Amount)>,
}

impl NewWater {
    /// What it has of an analyte.
    pub fn amount(&self, analyte: &Analyte) -> Option<&Amount> {
        self.values.iter().find(|(a, _)| a == analyte).map(|(_, amount)| amount)
    }
}

impl Fact for NewWater {
    fn put(&self, name: &str, out: &mut Map<String, Value>) {
        let one = |(analyte, amount): &(Analyte, Amount)| {
            let n = numbers(amount);
            let mut row = Map::new();
            row.insert("analyte".into(), analyte.as_str().into());
            row.insert("unit".into(), n.unit.into());
            row.insert("status".into(), amount.kind().into());
            for (key, number) in [("value", n.value), ("lower", n.lower), ("upper", n.upper), ("limit", n.bound)] {
                row.extend(number.map(|x| (key.to_string(), json!(x))));
            }
            Value::Object(row)
        };
        if !self.values.is_empty() {
            out.insert(name.to_string(), self.values.iter().map(one).collect());
        }
    }

    fn take(name: &str, from: &Map<String, Value>) -> Result<Self, Wrong> {
        let wrong = |cause: String| (name.to_string(), cause);
        let rows = match from.get(name) {
            None | Some(Value::Null) => return Ok(Self::default()),
            Some(Value::Array(rows)) => rows,
            Some(_) => return Err(wrong("is no list".into())),
        };
        let one = |row: &Value| {
            let text = |key: &str| row.get(key).and_then(Value::as_str).unwrap_or_default();
            let number = |key: &str| row.get(key).and_then(Value::as_f64);
            let analyte = Analyte::parse(text("analyte")).map_err(|e| wrong(e.to_string()))?;
            let n = Numbers {
                value: number("value"),
                lower: number("lower"),
                upper: number("upper"),
                bound: number("limit"),
                unit: text("unit").to_string(),
            };
            match amount(text("status"), &n, &analyte) {
                Ok(Some(amount)) => Ok((analyte, amount)),
                Ok(None) => Err(wrong("has a value that was refused".into())),
                Err(e) => Err(wrong(format!("has a value of {analyte} that cannot be: {}", e.cause()))),
            }
        };
        Ok(Self { values: rows.iter().map(one).collect::<Result<_, _>>()? })
    }
}
