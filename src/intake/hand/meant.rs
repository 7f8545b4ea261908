//! From a kind and plain words to what happened.

use super::HandError;
use super::words::{Number, Of, Words};
use crate::log::Id;
use crate::log::happening::{Ammonia, Animal, Happening, NewWater, PlantChange, RinsedIn, Stock, Strength, Topped};
use crate::water::ammonia_density;

/// Other spellings of kinds, common practice.
const SPELLINGS: &[(&str, &[&str])] = &[
    ("fish-added", &["fish", "added-fish", "new-fish", "stocked", "animals-added", "shrimp-added", "snails-added"]),
    ("fish-removed", &["removed-fish", "animals-removed", "rehomed"]),
    ("fish-died", &["died", "death", "dead-fish", "fish-dead", "loss", "animals-died"]),
    ("fish-counted", &["counted", "count", "stock", "inhabitants", "animals"]),
    ("feeding", &["fed", "food", "feed"]),
    ("media-added", &["added-media", "filter-media", "seeded"]),
    ("media-removed", &["removed-media"]),
    ("media-rinsed", &["filter-rinsed", "rinsed", "filter-cleaned", "filter-clean", "media-cleaned"]),
    ("media-moved", &["moved-media"]),
    ("decor-removed", &["removed-decor", "substrate-removed"]),
    ("water-change", &["change", "wc", "waterchange", "water-changed"]),
    ("top-up", &["topup", "topped-up", "top-off"]),
    ("ammonia-dosed", &["ammonia", "dose", "dosed", "ammonia-dose"]),
    ("conditioner", &["conditioned", "dechlorinator"]),
    ("buffer", &["buffered"]),
    ("salt", &["salted"]),
    ("medicine", &["medication", "treated", "treatment"]),
    ("power-cut", &["outage", "power-outage", "blackout"]),
    ("filter-off", &["filter-stopped", "filter-failed"]),
    ("heater-fault", &["heater", "heater-failed"]),
    ("plants", &["plant", "planted"]),
    ("symptom", &["sick", "ill", "illness", "symptoms"]),
    ("symptom-over", &["recovered", "symptoms-over"]),
    ("declared-established", &["established"]),
    ("note", &["remark", "comment"]),
];

/// What the keeper gives beside the words.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Beside {
    /// The tank that media went into.
    pub to: Option<Id>,
    /// What is known of the new water.
    pub new_water: NewWater,
}

/// What happened, and the words that say no more than a note would.
pub type Said = (Happening, Option<String>);

/// The kind that a word means.
pub fn kind(typed: &str) -> Result<&'static str, HandError> {
    let key = typed.trim().to_lowercase().replace(['_', ' '], "-");
    // What `tank change` writes is not for words.
    let kinds = || Happening::KINDS.iter().copied().filter(|k| *k != "tank-described");
    let other = SPELLINGS.iter().find(|(_, all)| all.contains(&key.as_str())).map(|(kind, _)| *kind);
    kinds().find(|k| *k == key).or(other).ok_or_else(|| HandError::Kind {
        typed: typed.trim().to_string(),
        known: kinds().map(str::to_string).collect(),
    })
}

/// Whether first help is due before it is clear which log such an event belongs to: a fish in trouble does not wait.
pub fn is_trouble(kind: &str) -> bool {
    kind == "symptom"
}

/// What happened, from a kind and words, and the words that say no more than a note would.
///
/// ```
/// use tintline::intake::{Beside, happening};
/// use tintline::log::Happening;
/// let (what, _) = happening("water-change", "30%", Beside::default())?;
/// assert!(matches!(what, Happening::WaterChange { share: Some(0.3), litres: None, .. }));
/// assert_eq!(happening("feeding", "30%", Beside::default()).unwrap_err().code(), "event-number-misplaced");
/// # Ok::<(), tintline::intake::HandError>(())
/// ```
pub fn happening(typed: &str, line: &str, beside: Beside) -> Result<Said, HandError> {
    let kind = kind(typed)?;
    let takes = takes(kind);
    if matches!(kind, "note" | "symptom" | "symptom-over" | "declared-established") {
        // Numbers in these are words.
        let said = Some(line.trim().to_string()).filter(|s| !s.is_empty());
        return match kind {
            "symptom" => Ok((Happening::Symptom { seen: said }, None)),
            "symptom-over" => Ok((Happening::SymptomOver {}, said)),
            "note" if said.is_none() => {
                Err(HandError::Missing { kind: kind.into(), what: "anything", remedy: "Write the words after it." })
            }
            "note" => Ok((Happening::Note {}, said)),
            _ => Ok((Happening::DeclaredEstablished {}, said)),
        };
    }
    let mut w = Words::parse(line)?;
    let what = one(kind, &mut w, beside)?;
    if let Some(Number { typed, of, .. }) = w.left() {
        let (typed, kind) = (typed.clone(), kind.to_string());
        return Err(match of {
            Of::Count => HandError::Bare { typed, kind, takes },
            _ => HandError::Misplaced { typed, kind, takes },
        });
    }
    let spent = what.payload().values().any(|v| v.as_str().is_some() && v.as_str() == w.text().as_deref());
    let note = if spent { None } else { w.text() };
    Ok((what, note))
}

/// What numbers a kind of event takes, in words.
pub fn takes(kind: &str) -> &'static str {
    match kind {
        "fish-added" | "fish-removed" | "fish-died" | "fish-counted" => {
            "a count, the size of one in cm and its mass in g, such as '3 tetras 2 cm'"
        }
        "feeding" => "grams, such as '0.5 g flakes'",
        "media-added" => "litres, such as '1 L sponge'",
        "media-removed" | "media-moved" => "litres or a share, such as '50% sponge'",
        "media-rinsed" => "a share, such as '50% in tank water'",
        "water-change" => "a share or a volume, such as 30% or '20 L'",
        "top-up" => "a volume, such as '2 L pure'",
        "ammonia-dosed" => {
            "millilitres with the strength, such as '4 mL 9.5% by weight', what it makes, such as '2 mg/L NH3-N', or '3 g \
             ammonium chloride'"
        }
        "conditioner" => "millilitres, such as '5 mL'; say 'plain' of one that binds no ammonia",
        "buffer" | "medicine" => "grams or millilitres, such as '5 mL'",
        "salt" => "grams, such as '30 g'",
        "power-cut" | "filter-off" => "hours, such as '3 h'",
        "heater-fault" => "a temperature, such as '31 °C'",
        _ => "words only",
    }
}

fn one(kind: &'static str, w: &mut Words, beside: Beside) -> Result<Happening, HandError> {
    let value = |n: Option<Number>| n.map(|n| n.value);
    let ml = |n: Option<Number>| n.map(|n| n.value * 1e3);
    use Happening as H;
    Ok(match kind {
        "fish-added" => H::FishAdded { stock: stock(w)? },
        "fish-removed" => H::FishRemoved { stock: stock(w)? },
        "fish-died" => H::FishDied { stock: stock(w)? },
        "fish-counted" => H::FishCounted { stock: counted(w)? },
        "feeding" => H::Feeding { grams: value(w.take(&Of::Grams)), protein: None, food: w.text() },
        "media-added" => {
            let mature = w.has(&["mature", "seeded", "running", "established", "old"]).then_some(true);
            H::MediaAdded { litres: value(w.take(&Of::Litres)), mature, media: w.text() }
        }
        "media-removed" => H::MediaRemoved { share: share_of(w), litres: value(w.take(&Of::Litres)), media: w.text() },
        "media-rinsed" => {
            let tap = if w.has(&["tap"]) { Some(RinsedIn::TapWater) } else { None };
            let rinsed_in = tap.or_else(|| w.has(&["tank", "aquarium"]).then_some(RinsedIn::TankWater));
            H::MediaRinsed { share: share_of(w), rinsed_in }
        }
        "media-moved" => {
            let to = beside.to.ok_or(HandError::Missing {
                kind: kind.into(),
                what: "into which tank",
                remedy: "Name the tank they went into with --to; the tank named first is the one they came from.",
            })?;
            H::MediaMoved { to, share: share_of(w), litres: value(w.take(&Of::Litres)), media: w.text() }
        }
        "decor-removed" => H::DecorRemoved { what: w.text() },
        "water-change" => {
            H::WaterChange { share: share_of(w), litres: value(w.take(&Of::Litres)), new_water: beside.new_water }
        }
        "top-up" => {
            let with = w.word(&[
                ("pure", Topped::Pure),
                ("osmosis", Topped::Pure),
                ("ro", Topped::Pure),
                ("rain", Topped::Pure),
                ("distilled", Topped::Pure),
                ("de-ionised", Topped::Pure),
                ("tap", Topped::Tap),
                ("salt", Topped::Salt),
            ]);
            H::TopUp { litres: value(w.take(&Of::Litres)), with }
        }
        "ammonia-dosed" => H::AmmoniaDosed { dose: ammonia(w)? },
        "conditioner" => {
            let plain = w.has(&["plain", "non-binding"]).then_some(false);
            let binds_ammonia = plain.or_else(|| w.has(&["binds", "binding"]).then_some(true));
            H::Conditioner { ml: ml(w.take(&Of::Litres)), binds_ammonia, product: w.text() }
        }
        "buffer" => H::Buffer { grams: value(w.take(&Of::Grams)), ml: ml(w.take(&Of::Litres)), product: w.text() },
        "salt" => H::Salt { grams: value(w.take(&Of::Grams)), product: w.text() },
        "medicine" => H::Medicine {
            copper: w.has(&["copper"]).then_some(true),
            ml: ml(w.take(&Of::Litres)),
            grams: value(w.take(&Of::Grams)),
            product: w.text(),
        },
        "power-cut" => H::PowerCut { hours: value(w.take(&Of::Hours)) },
        "filter-off" => H::FilterOff { hours: value(w.take(&Of::Hours)) },
        "heater-fault" => H::HeaterFault { celsius: value(w.take(&Of::Celsius)) },
        _ => {
            let change = w.word(&[
                ("added", PlantChange::Added),
                ("new", PlantChange::Added),
                ("removed", PlantChange::Removed),
                ("trimmed", PlantChange::Trimmed),
                ("cut", PlantChange::Trimmed),
            ]);
            // `5 stems` is no count of ours.
            let number = w.take(&Of::Count).map(|n| n.typed);
            let what = [number, w.text()].into_iter().flatten().collect::<Vec<_>>().join(" ");
            H::Plants { change, what: Some(what).filter(|t| !t.is_empty()) }
        }
    })
}

/// A share, as a number or in a word.
pub(super) fn share_of(w: &mut Words) -> Option<f64> {
    match w.take(&Of::Share) {
        Some(n) => Some(n.value),
        None => w.word(&[("half", 0.5), ("all", 1.0), ("third", 1.0 / 3.0), ("quarter", 0.25)]),
    }
}

const INVERTEBRATES: &[&str] = &[
    "invertebrate",
    "invertebrates",
    "shrimp",
    "shrimps",
    "prawn",
    "prawns",
    "snail",
    "snails",
    "crab",
    "crabs",
    "coral",
    "corals",
    "anemone",
    "anemones",
    "urchin",
    "urchins",
    "starfish",
    "mussel",
    "mussels",
    "clam",
    "clams",
    "crayfish",
];

pub(super) fn stock(w: &mut Words) -> Result<Stock, HandError> {
    let number = w.take(&Of::Count).map(|n| count(&n)).transpose()?;
    let number =
        number.or_else(|| w.word(&[("one", 1), ("two", 2), ("three", 3), ("four", 4), ("five", 5), ("six", 6)]));
    let animal = match w.has(INVERTEBRATES) {
        true => Some(Animal::Invertebrate),
        false => w.has(&["fish", "fishes"]).then_some(Animal::Fish),
    };
    Ok(Stock {
        number,
        animal,
        size_cm: w.take(&Of::Centimetres).map(|n| n.value),
        mass_g: w.take(&Of::Grams).map(|n| n.value),
        species: w.text(),
    })
}

/// `none` and `0` say that there are no animals at all.
fn counted(w: &mut Words) -> Result<Stock, HandError> {
    let none = w.word(&[("none", 0), ("no", 0), ("empty", 0), ("nothing", 0)]);
    let mut stock = stock(w)?;
    stock.number = stock.number.or(none);
    if w.has(&["fish", "animals", "inhabitants", "some"]) && stock.species.as_deref().is_some_and(|s| !s.contains(' '))
    {
        // 'no fish' and '3 fish' name no species.
        stock.species = None;
    }
    Ok(stock)
}

fn count(n: &Number) -> Result<u32, HandError> {
    if n.value.fract() == 0.0 && n.value <= f64::from(u32::MAX) {
        // Checked just above.
        Ok(n.value as u32)
    } else {
        Err(HandError::Number { typed: n.typed.clone(), why: "not a count" })
    }
}

fn ammonia(w: &mut Words) -> Result<Ammonia, HandError> {
    if let Some((value, unit)) = w.concentration() {
        return Ok(Ammonia::Concentration { value, unit });
    }
    if w.has(&["chloride", "salmiac"])
        && let Some(n) = w.take(&Of::Grams)
    {
        return Ok(Ammonia::Chloride { grams: n.value });
    }
    let Some(n) = w.take(&Of::Litres) else {
        return Ok(Ammonia::Unknown);
    };
    let percent = w.take(&Of::Share).map(|n| n.value * 100.0);
    if let Some(percent) = percent {
        // Stronger solutions are not to be had: the domain of the density table.
        ammonia_density(percent)?;
    }
    let strength =
        w.word(&[("weight", Strength::ByWeight), ("w/w", Strength::ByWeight), ("volume", Strength::ByVolume)]);
    let _ = strength.and_then(|_| w.word(&[("by", ())]));
    Ok(Ammonia::Solution { ml: n.value * 1e3, percent, strength })
}

#[cfg(test)]
mod tests;
