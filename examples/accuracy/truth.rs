//! What the photos of a set show: the parts of `truth.json` that serve here.

use std::collections::BTreeMap;
use std::path::Path;

use anyhow::Context;
use serde::Deserialize;

#[derive(Deserialize)]
pub struct Truth {
    pub keepers: Vec<Keeper>,
    pub photos: Vec<Photo>,
}

#[derive(Deserialize)]
pub struct Keeper {
    pub keeper: u32,
    pub kit: Kit,
}

#[derive(Deserialize)]
pub struct Kit {
    pub name: String,
    pub kind: String,
    pub analytes: BTreeMap<String, Analyte>,
    /// Of a strip: what its pads measure, pad 1 first.
    #[serde(default)]
    pub pad_order: Vec<String>,
    /// Of a strip, where the set says how it is made.
    #[serde(default)]
    pub strip: Option<Strip>,
}

/// mm; see the kit's file format.
#[derive(Deserialize, Clone, Copy)]
pub struct Strip {
    pub length: f64,
    pub width: f64,
    pub pad: f64,
    pub pitch: f64,
    pub end: f64,
}

#[derive(Deserialize)]
pub struct Analyte {
    pub unit: String,
    pub standards: Vec<f64>,
}

#[derive(Deserialize)]
pub struct Photo {
    pub file: String,
    pub keeper: u32,
    pub role: String,
    pub samples: Vec<Sample>,
    #[serde(default)]
    pub hazards: Vec<String>,
    /// Where card, markers and samples lie: of a strip's calibration photos, to measure it, and for the error budget.
    #[serde(default)]
    pub geometry: Geometry,
    /// For grouping results only.
    #[serde(default)]
    pub hidden: Hidden,
}

#[derive(Deserialize, Default)]
pub struct Geometry {
    /// Corners in upright pixels, clockwise from the top left.
    #[serde(default)]
    pub card: Vec<[f64; 2]>,
    #[serde(default)]
    pub markers: BTreeMap<String, Vec<[f64; 2]>>,
    #[serde(default)]
    pub samples: BTreeMap<String, Place>,
}

#[derive(Deserialize)]
pub struct Place {
    /// Outline of a pad's inner part.
    #[serde(default)]
    pub pad: Vec<[f64; 2]>,
    /// Outline of a vial's liquid.
    #[serde(default)]
    pub liquid: Vec<[f64; 2]>,
}

#[derive(Deserialize, Clone)]
pub struct Sample {
    pub place: String,
    pub analyte: String,
    pub unit: String,
    pub concentration: f64,
    /// What set the colour, small errors of dosing and timing included.
    #[serde(default)]
    pub effective: Option<f64>,
    /// `shades`: printed shades.
    #[serde(default)]
    pub source: String,
    #[serde(default = "yes")]
    pub present: bool,
    #[serde(default = "yes")]
    pub right_kit: bool,
    #[serde(default)]
    pub expected: String,
    #[serde(default)]
    pub also_ok: Vec<String>,
}

fn yes() -> bool {
    true
}

#[derive(Deserialize, Default)]
pub struct Hidden {
    #[serde(default)]
    pub light: serde_json::Value,
    #[serde(default)]
    pub usual_spot: Option<bool>,
}

impl Hidden {
    pub fn light(&self) -> String {
        match &self.light {
            serde_json::Value::String(s) => s.clone(),
            serde_json::Value::Null => "unknown".into(),
            other => other.to_string().replace('"', ""),
        }
    }
}

impl Truth {
    pub fn load(set: &Path) -> anyhow::Result<Self> {
        let path = set.join("truth.json");
        let text = std::fs::read_to_string(&path).with_context(|| format!("{} cannot be read", path.display()))?;
        serde_json::from_str(&text).with_context(|| format!("{} is not as described", path.display()))
    }
}

impl Analyte {
    /// Position of a concentration on the series, 0 at the first standard; beyond the ends the end steps go on.
    pub fn position(&self, c: f64) -> f64 {
        let s = &self.standards;
        let i = s.partition_point(|v| *v <= c).clamp(1, s.len() - 1) - 1;
        i as f64 + (c - s[i]) / (s[i + 1] - s[i])
    }
}
