//! Tanks.

use super::Document;
use crate::faces::cli::words::columns;
use crate::log::Tank;
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
    pub volume_l: Option<f64>,
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
            note: t.note.clone(),
        }
    }

    fn row(&self) -> Vec<String> {
        let volume = self.volume_l.map_or(String::new(), |v| format!("{v} L"));
        let note = self.note.clone().unwrap_or_default();
        vec![self.name.clone(), format!("{} water", self.water), volume, self.zone.clone(), note]
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
