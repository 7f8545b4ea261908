//! Tanks.

use super::Document;
use crate::faces::cli::words::{columns, count};
use crate::log::{Id, Inhabitants, Tank};
use crate::water::significant;
use serde::Serialize;
use std::io::{self, Write};

/// A tank.
#[derive(Debug, Clone, Serialize)]
pub struct TankOut {
    /// Its entry in the log.
    pub id: String,
    pub name: String,
    /// IANA time zone.
    pub zone: String,
    /// `fresh`, `brackish` or `marine`.
    pub water: &'static str,
    /// As filled.
    pub volume_l: Option<f64>,
    /// It is kept at, g/kg.
    pub salinity_g_kg: Option<f64>,
    /// It is kept at, °C.
    pub celsius: Option<f64>,
    pub planted: Option<bool>,
    /// `unknown`, `none` or `present`; unknown ones count as present.
    pub animals: &'static str,
    /// How many, where all were counted.
    pub animal_count: Option<u32>,
    pub note: Option<String>,
}

impl TankOut {
    pub(in crate::faces::cli) fn of(t: &Tank) -> Self {
        Self {
            id: t.id.to_string(),
            name: t.name.clone(),
            zone: t.zone.clone(),
            water: t.water.as_str(),
            volume_l: t.volume_l,
            salinity_g_kg: t.salinity_g_kg,
            celsius: t.celsius,
            planted: t.planted,
            animals: match t.inhabitants {
                Inhabitants::Unknown => "unknown",
                Inhabitants::None => "none",
                Inhabitants::Present(_) => "present",
            },
            animal_count: match t.inhabitants {
                Inhabitants::Present(count) => count,
                _ => None,
            },
            note: t.note.clone(),
        }
    }

    fn row(&self) -> Vec<String> {
        let volume = self.volume_l.map_or(String::new(), |v| format!("{} L", significant(v, 4)));
        let rest = [Some(self.facts()).filter(|f| !f.is_empty()), self.note.clone()];
        let rest = rest.into_iter().flatten().collect::<Vec<_>>().join("; ");
        vec![self.name.clone(), format!("{} water", self.water), volume, self.zone.clone(), rest]
    }

    /// What is known beside water and volume.
    fn facts(&self) -> String {
        let animals = match (self.animals, self.animal_count) {
            ("none", _) => Some("no animals".to_string()),
            ("present", Some(n)) => Some(count(n as usize, "animal")),
            ("present", None) => Some("animals".to_string()),
            _ => None,
        };
        let planted = self.planted.map(|p| if p { "planted" } else { "no plants" }.to_string());
        let salinity = self.salinity_g_kg.map(|s| format!("{} g/kg", significant(s, 3)));
        let celsius = self.celsius.map(|t| format!("{} °C", significant(t, 3)));
        [salinity, celsius, planted, animals].into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// `tank add`.
#[derive(Debug, Serialize)]
pub struct TankAdded {
    pub tank: TankOut,
}

impl Document for TankAdded {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let t = &self.tank;
        writeln!(out, "Added the tank '{}': {} water, time zone {}.", t.name, t.water, t.zone)
    }
}

/// `tank change`.
#[derive(Debug, Serialize)]
pub struct TankChanged {
    /// As it is known now.
    pub tank: TankOut,
    /// The entries written; undo one to take it back.
    pub entries: Vec<String>,
    #[serde(skip)]
    undo: String,
}

impl TankChanged {
    pub(in crate::faces::cli) fn of(tank: &Tank, entries: &[Id]) -> Self {
        let undo = entries.iter().map(Id::short).collect::<Vec<_>>().join(", ");
        Self { tank: TankOut::of(tank), entries: entries.iter().map(Id::to_string).collect(), undo }
    }
}

impl Document for TankChanged {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let t = &self.tank;
        let volume = t.volume_l.map_or(String::new(), |v| format!(", {} L", significant(v, 4)));
        let facts = Some(t.facts()).filter(|f| !f.is_empty()).map_or(String::new(), |f| format!(", {f}"));
        writeln!(out, "The tank '{}' now: {} water{volume}{facts}. Entry: {}", t.name, t.water, self.undo)
    }
}

/// `tank list`.
#[derive(Debug, Serialize)]
pub struct TankList {
    /// By name.
    pub tanks: Vec<TankOut>,
}

impl Document for TankList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.tanks.is_empty() {
            return writeln!(out, "No tank yet. Add one: tintline tank add NAME --water fresh");
        }
        columns(out, "", self.tanks.iter().map(TankOut::row).collect())
    }
}
