//! Events.

use super::amount::{TimeOut, local};
use super::{Document, FindingOut};
use crate::advice::first_help;
use crate::faces::cli::words::columns;
use crate::finding::Finding;
use crate::log::happening::{Ammonia, NewWater, Stock};
use crate::log::{Event, Happening, Tank};
use crate::water::{Amount, Analyte, significant};
use serde::Serialize;
use std::io::{self, Write};

/// `event add`.
#[derive(Debug, Serialize)]
pub struct EventAdded {
    pub event: EventOut,
    /// What is unsure about its time.
    pub findings: Vec<FindingOut>,
    /// For a symptom: what to do at once, before any test.
    pub first_help: Vec<String>,
}

/// `event list`.
#[derive(Debug, Serialize)]
pub struct EventList {
    /// Oldest first.
    pub events: Vec<EventOut>,
}

/// Something that happened.
#[derive(Debug, Serialize)]
pub struct EventOut {
    /// Its entry in the log.
    pub id: String,
    /// Stable text form, such as `water-change`; one of a later version stands as it is.
    pub kind: String,
    /// Null where it concerns the household.
    pub tank: Option<String>,
    /// For media that moved: the tank they went into.
    pub other_tank: Option<String>,
    pub at: TimeOut,
    /// The kind's own facts, as the log keeps them; see the library's `log::happening`.
    pub facts: serde_json::Map<String, serde_json::Value>,
    pub note: Option<String>,
    /// All of it in words.
    pub text: String,
    #[serde(skip)]
    row: Vec<String>,
    #[serde(skip)]
    short: String,
}

impl EventOut {
    fn of(e: &Event, tanks: &[Tank]) -> Self {
        let name = |id| tanks.iter().find(|t| Some(t.id) == id).map(|t| t.name.clone());
        let (tank, other_tank) = (name(e.tank), name(e.other_tank()));
        let what = e.happening();
        let mut parts = facts(&what, &e.payload);
        parts.extend(other_tank.as_ref().map(|t| format!("into {t}")));
        parts.extend(e.note.clone());
        let said = parts.join(", ");
        let text = if said.is_empty() { e.kind.clone() } else { format!("{}: {said}", e.kind) };
        let row = vec![local(&e.at), tank.clone().unwrap_or_default(), e.kind.clone(), said, e.id.short()];
        Self {
            id: e.id.to_string(),
            kind: e.kind.clone(),
            tank,
            other_tank,
            at: TimeOut::of(&e.at),
            facts: e.payload.clone(),
            note: e.note.clone(),
            text,
            row,
            short: e.id.short(),
        }
    }
}

fn number(x: Option<f64>, unit: &str) -> Option<String> {
    x.map(|x| format!("{} {unit}", significant(x, 4)))
}

fn stock(s: &Stock) -> Vec<Option<String>> {
    let many = match (s.number, &s.species) {
        (Some(n), Some(species)) => Some(format!("{n} {species}")),
        (Some(n), None) => Some(n.to_string()),
        (None, species) => species.clone(),
    };
    vec![many, number(s.size_cm, "cm"), number(s.mass_g, "g")]
}

fn water(new: &NewWater) -> Option<String> {
    // pH stands in its own amounts.
    let one = |(analyte, amount): &(Analyte, Amount)| match analyte {
        Analyte::Ph => amount.to_string(),
        _ => format!("{analyte} {amount}"),
    };
    let all: Vec<String> = new.values.iter().map(one).collect();
    if all.is_empty() { None } else { Some(format!("new water: {}", all.join(", "))) }
}

fn dose(dose: &Ammonia) -> Vec<Option<String>> {
    match dose {
        Ammonia::Solution { ml, percent, strength } => {
            let strength = strength.map_or("", |s| s.as_str());
            vec![
                number(Some(*ml), "mL"),
                percent.map(|p| format!("{} % {strength}", significant(p, 4)).trim().to_string()),
            ]
        }
        Ammonia::Chloride { grams } => vec![Some(format!("{} g ammonium chloride", significant(*grams, 4)))],
        Ammonia::Concentration { value, unit } => vec![number(Some(*value), unit.as_str())],
        Ammonia::Unknown => Vec::new(),
    }
}

/// The facts in words.
fn facts(what: &Happening, payload: &serde_json::Map<String, serde_json::Value>) -> Vec<String> {
    let share = |x: &Option<f64>| x.map(|x| format!("{} %", significant(x * 100.0, 4)));
    let flag = |x: &Option<bool>, yes: &str| x.filter(|x| *x).map(|_| yes.to_string());
    use Happening as H;
    let all: Vec<Option<String>> = match what {
        H::FishAdded { stock: s } | H::FishRemoved { stock: s } | H::FishDied { stock: s } => stock(s),
        H::FishCounted { stock: s } if s.number == Some(0) && s.species.is_none() => vec![Some("none".into())],
        H::FishCounted { stock: s } => stock(s),
        H::Feeding { grams, protein, food } => {
            vec![number(*grams, "g"), food.clone(), share(protein).map(|p| format!("{p} protein"))]
        }
        H::MediaAdded { litres, media, mature } => {
            vec![number(*litres, "L"), media.clone(), flag(mature, "from a running filter")]
        }
        H::MediaRemoved { litres, share: s, media } | H::MediaMoved { litres, share: s, media, .. } => {
            vec![share(s), number(*litres, "L"), media.clone()]
        }
        H::MediaRinsed { share: s, rinsed_in } => vec![share(s), rinsed_in.map(|r| format!("in {}", r.as_str()))],
        H::DecorRemoved { what } => vec![what.clone()],
        H::WaterChange { litres, share: s, new_water } => vec![share(s), number(*litres, "L"), water(new_water)],
        H::TopUp { litres, with } => vec![number(*litres, "L"), with.map(|w| w.as_str().to_string())],
        H::AmmoniaDosed { dose: d } => dose(d),
        H::Conditioner { ml, product, .. } => vec![number(*ml, "mL"), product.clone()],
        H::Buffer { grams, ml, product } => vec![number(*grams, "g"), number(*ml, "mL"), product.clone()],
        H::Salt { grams, product } => vec![number(*grams, "g"), product.clone()],
        H::Medicine { ml, grams, product, .. } => vec![number(*ml, "mL"), number(*grams, "g"), product.clone()],
        H::PowerCut { hours } | H::FilterOff { hours } => vec![number(*hours, "h")],
        H::HeaterFault { celsius } => vec![number(*celsius, "°C")],
        H::Plants { change, what } => vec![change.map(|c| c.as_str().to_string()), what.clone()],
        H::Symptom { seen } => vec![seen.clone()],
        H::TankDescribed { facts: f } => vec![
            f.water.map(|w| format!("{} water", w.as_str())),
            number(f.volume_l, "L"),
            number(f.salinity_g_kg, "g/kg"),
            number(f.celsius, "°C"),
            f.planted.map(|p| if p { "planted".into() } else { "no plants".into() }),
        ],
        H::SymptomOver {} | H::DeclaredEstablished {} | H::Note {} => Vec::new(),
        H::Other { .. } => payload.iter().map(|(key, value)| Some(format!("{key} {value}"))).collect(),
    };
    all.into_iter().flatten().collect()
}

impl EventAdded {
    pub(in crate::faces::cli) fn of(e: &Event, tanks: &[Tank], finding: Option<&Finding>) -> Self {
        let findings: Vec<Finding> = finding.cloned().into_iter().collect();
        let first_help = match e.happening() {
            Happening::Symptom { .. } => first_help().into_iter().map(|s| s.words).collect(),
            _ => Vec::new(),
        };
        Self { event: EventOut::of(e, tanks), findings: FindingOut::all(&findings), first_help }
    }
}

impl Document for EventAdded {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let e = &self.event;
        writeln!(out, "Logged for {}, {}: {} ({})", e.tank.clone().unwrap_or_default(), e.row[0], e.text, e.short)?;
        self.first_help.iter().try_for_each(|words| writeln!(out, "  {words}"))?;
        self.findings.iter().try_for_each(|f| f.text(out, "", f.word()))
    }
}

impl EventList {
    pub(in crate::faces::cli) fn of(events: &[Event], tanks: &[Tank]) -> Self {
        Self { events: events.iter().map(|e| EventOut::of(e, tanks)).collect() }
    }
}

impl Document for EventList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.events.is_empty() {
            return writeln!(out, "No events.");
        }
        columns(out, "", self.events.iter().map(|e| e.row.clone()).collect())
    }
}
