//! Usual places.

use super::Document;
use crate::curve::Kit;
use crate::curve::wanted::{WORTH, Wanted, Why};
use crate::faces::cli::words::{columns, count, quoted};
use crate::intake::{Kept, KitPlace, KitPlaces, Place, Placed, Places};
use crate::water::{Quantity, significant};
use serde::Serialize;
use std::io::{self, Write};

/// Where a photo was taken, as far as its light tells.
#[derive(Debug, Serialize)]
pub struct PlaceOut {
    /// The keeper's name of the place.
    pub name: Option<String>,
    /// Its name, or that of its swatches; null for one that is known by readings alone, or not at all.
    pub called: Option<String>,
    /// How far the light is from the nearest that the place is known by; null for a place not seen before.
    pub off: Option<f64>,
    /// How far it is from the nearest light in which the kit was calibrated; null where the kit does not tell.
    pub kit_off: Option<f64>,
    /// Whether that is near enough for narrow intervals.
    pub calibrated: bool,
    /// Swatches of the kit made there.
    pub swatches: usize,
    /// Photos logged of it besides this one.
    pub seen: usize,
    /// From where the light falls: `left`, `right`, `above`, `below`, `even`.
    pub side: Option<&'static str>,
    pub text: String,
}

impl PlaceOut {
    pub(super) fn of(placed: &Placed) -> Self {
        let short = |x: f64| (x * 1e4).round() / 1e4;
        Self {
            name: placed.name.clone(),
            called: placed.called.clone(),
            off: placed.off.map(short),
            kit_off: placed.kit_off.map(short),
            calibrated: placed.calibrated,
            swatches: placed.swatches,
            seen: placed.seen,
            side: placed.side.map(|s| s.as_str()),
            text: placed.text.clone(),
        }
    }
}

/// What is said of a light that has another name than the one typed.
pub(in crate::faces::cli) fn other_name(other: &str, typed: &str) -> String {
    let (from, to) = (quoted(other), quoted(typed));
    format!(
        "The light is that of '{other}', so it was not named '{typed}'. To rename that place: tintline log place name {from} {to}"
    )
}

/// `log place`.
#[derive(Debug, Serialize)]
pub struct PlaceList {
    pub places: Vec<PlaceLine>,
}

/// A place.
#[derive(Debug, Serialize)]
pub struct PlaceLine {
    /// Its number in this list, from 1.
    pub number: usize,
    pub name: Option<String>,
    /// Kits with swatches made there.
    pub kits: Vec<String>,
    pub swatches: usize,
    /// The days of the first and the last swatch.
    pub from: Option<String>,
    pub to: Option<String>,
    /// Photos in the log, of those read lately.
    pub seen: usize,
    /// When the last of them was, UTC.
    pub last_seen: Option<String>,
    #[serde(skip)]
    row: Vec<String>,
}

impl PlaceList {
    pub(in crate::faces::cli) fn of(places: &Places) -> Self {
        Self { places: places.all.iter().enumerate().map(|(i, p)| PlaceLine::of(i + 1, p)).collect() }
    }
}

impl PlaceLine {
    fn of(number: usize, p: &Place) -> Self {
        let mut kits: Vec<String> = p.swatches.iter().map(|s| s.kit.clone()).collect();
        kits.sort();
        kits.dedup();
        let days = p.days(None);
        let last = p.seen.iter().map(|s| s.at).max();
        let swatches = match (p.swatches.len(), &days) {
            (0, _) => "no swatch".to_string(),
            (n, Some((from, to))) if from == to => format!("{} of {from}", swatches(n)),
            (n, Some((from, to))) => format!("{} of {from} to {to}", swatches(n)),
            (n, None) => swatches(n),
        };
        let seen = last.map_or("not seen since".to_string(), |at| {
            format!("{} read, the last on {}", count(p.seen.len(), "photo"), at.strftime("%Y-%m-%d"))
        });
        let name = p.name.clone().unwrap_or_else(|| "(no name)".to_string());
        Self {
            number,
            row: vec![number.to_string(), name, swatches, kits.join(", "), seen],
            name: p.name.clone(),
            swatches: p.swatches.len(),
            from: days.map(|d| d.0.to_string()),
            to: days.map(|d| d.1.to_string()),
            seen: p.seen.len(),
            last_seen: last.map(|at| at.to_string()),
            kits,
        }
    }
}

fn swatches(n: usize) -> String {
    if n == 1 { "1 swatch".to_string() } else { format!("{n} swatches") }
}

impl Document for PlaceList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.places.is_empty() {
            return writeln!(out, "No place is known yet: swatches and photos that are read make them known.");
        }
        columns(out, "", self.places.iter().map(|p| p.row.clone()).collect())
    }
}

/// `log place name`, `log place forget`.
#[derive(Debug, Serialize)]
pub struct PlaceChanged {
    /// `named` or `forgotten`.
    pub did: &'static str,
    /// The new name.
    pub name: Option<String>,
    /// The entry that records it; undo it to take it back.
    pub entry: String,
    #[serde(skip)]
    pub(in crate::faces::cli) said: String,
}

impl Document for PlaceChanged {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}", self.said)
    }
}

/// A place as a kit knows it, in `kit check`.
#[derive(Debug, Serialize)]
pub struct KitPlaceOut {
    /// Its number in the list of all places.
    pub number: usize,
    pub name: Option<String>,
    pub called: String,
    /// Photos of the kit's swatches made there.
    pub photos: usize,
    /// What they show.
    pub tests: Vec<PlaceTest>,
    /// The days of the first and the last of them.
    pub from: Option<String>,
    pub to: Option<String>,
    /// From where the light fell on most of them: `left`, `right`, `above`, `below`, `even`.
    pub side: Option<&'static str>,
    /// The largest distance between two of the place's lights.
    pub spread: f64,
    /// Photos logged there that were read with this kit.
    pub read: usize,
    /// How far it is from the nearest of the kit's lights; null where swatches tell none.
    pub kit_off: Option<f64>,
    #[serde(skip)]
    lines: Vec<String>,
}

/// A test's standards at a place.
#[derive(Debug, Serialize)]
pub struct PlaceTest {
    pub test: String,
    /// In the test's unit.
    pub values: Vec<f64>,
}

/// The standard that would help a kit most.
#[derive(Debug, Serialize)]
pub struct NextStandard {
    pub test: String,
    /// In the test's unit.
    pub value: f64,
    pub unit: String,
    /// The place's number in the list of all places; null where the kit does not tell its lights.
    pub place: Option<usize>,
    /// `place`, `no-zero`, `gap` or `few`.
    pub why: &'static str,
    /// By what share the test's intervals there would be narrower, on the average over what is read.
    pub narrower: f64,
    /// The interval of a sample of that concentration there, now and then.
    pub now: [f64; 2],
    pub then: [f64; 2],
    pub text: String,
}

impl KitPlaceOut {
    fn of(p: &KitPlace) -> Self {
        let days = p.place.days(Some(p.kit.as_str()));
        let values = |(test, values): &(String, Vec<f64>)| {
            let values: Vec<String> = values.iter().map(ToString::to_string).collect();
            format!("{test} {}", values.join(", "))
        };
        let tests: Vec<String> = p.values.iter().map(values).collect();
        let mut told = vec![match p.photos {
            0 => "no swatch of this kit".to_string(),
            n => format!("{} of swatches: {}", count(n, "photo"), tests.join("; ")),
        }];
        let side = p.side.map(|s| format!("{}, ", s.words())).unwrap_or_default();
        let spread = p.place.spread();
        if p.photos > 0 {
            told.push(format!("{side}their lights up to {spread:.2} apart"));
        }
        if let Some(off) = p.kit_off.filter(|_| p.photos == 0) {
            told.push(format!("{off:.2} off the kit's nearest light"));
        }
        told.push(match p.read {
            0 => "no photo read there yet".to_string(),
            n => format!("{} read there", count(n, "photo")),
        });
        let lines = std::iter::once(format!("  {}", p.called)).chain(told.into_iter().map(|t| format!("    {t}")));
        Self {
            number: p.number,
            lines: lines.collect(),
            name: p.name.clone(),
            called: p.called.clone(),
            photos: p.photos,
            tests: p.values.iter().map(|(t, v)| PlaceTest { test: t.clone(), values: v.clone() }).collect(),
            from: days.map(|d| d.0.to_string()),
            to: days.map(|d| d.1.to_string()),
            side: p.side.map(|s| s.as_str()),
            spread: (spread * 1e4).round() / 1e4,
            read: p.read,
            kit_off: p.kit_off.map(|x| (x * 1e4).round() / 1e4),
        }
    }

    pub(super) fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.lines.iter().try_for_each(|l| writeln!(out, "{l}"))
    }
}

impl NextStandard {
    fn of(w: &Wanted, kit: &Kit, places: &KitPlaces) -> Option<Self> {
        let test = kit.test(&w.test).ok()?;
        let place = places.places.get(w.place);
        let at = place.map_or(String::new(), |p| format!(" at {}", p.called));
        let amount = |v: f64| Quantity::new(v, test.unit.clone()).to_string();
        let none = w.value == 0.0 && test.unit.has_zero();
        let what = if none {
            format!("the zero standard of {} (reagent in pure water)", test.name)
        } else {
            format!("{} {}", test.name, amount(w.value))
        };
        let own = |photos: usize| match photos {
            0 => "none of your own shows it".to_string(),
            n => format!("{} it", if n == 1 { "only one photo shows".into() } else { format!("{n} photos show") }),
        };
        let (why, because) = match &w.why {
            Why::Place => {
                let read = place.map_or(0, |p| p.read);
                ("place", format!("{} read there, and the kit has no standard in that light", count(read, "photo")))
            }
            Why::NoZero => ("no-zero", "nothing of your own shows what none looks like".to_string()),
            Why::Gap { from, to } => ("gap", format!("you have none between {from} and {to}")),
            Why::Few { photos } => ("few", own(*photos)),
        };
        let span = |i: [f64; 2]| format!("{} to {}", significant(i[0], 3), significant(i[1], 3));
        let level = if none { "none".to_string() } else { amount(w.value) };
        let text = format!(
            "{what}{at}: {because}. Intervals of {} there would be {:.0} % narrower; for {level}: {} instead of {}.",
            test.name,
            100.0 * w.narrower,
            span(w.then),
            span(w.now),
        );
        Some(Self {
            test: w.test.clone(),
            value: w.value,
            unit: test.unit.as_str().to_string(),
            place: place.map(|p| p.number),
            why,
            narrower: (w.narrower * 1e4).round() / 1e4,
            now: w.now,
            then: w.then,
            text,
        })
    }
}

/// What `kit check` says of places.
pub(super) fn of_kit(kit: &Kept<Kit>, places: &KitPlaces) -> (Vec<KitPlaceOut>, Option<NextStandard>, String) {
    let next = places.wanted.as_ref().and_then(|w| NextStandard::of(w, &kit.value, places));
    let said = match (&next, places.curves) {
        (Some(next), _) => format!("Next standard: {}", next.text),
        (None, true) => {
            format!("No further standard is needed: none would narrow the intervals by {:.0} %.", 100.0 * WORTH)
        }
        (None, false) => "No test has a curve yet: first photograph its shades or standards.".to_string(),
    };
    (places.places.iter().map(KitPlaceOut::of).collect(), next, said)
}
