//! Labels.

use super::Document;
use crate::faces::cli::words::{columns, count};
use crate::log::{Label, Names, Tank};
use serde::Serialize;
use std::io::{self, Write};

/// A label.
#[derive(Debug, Clone, Serialize)]
pub struct LabelOut {
    /// Its entry in the log.
    pub id: String,
    /// The number of its marker: a test below 256, a target from there on.
    pub number: u32,
    /// The words printed on it.
    pub words: String,
    /// `test`, `tank`, `tap`, `new-water`, `standard`, `zero` or `clear`.
    pub names: &'static str,
    /// Of a test.
    pub kit: Option<String>,
    pub test: Option<String>,
    /// Of a tank, unless it was taken out.
    pub tank: Option<String>,
    /// Of a standard.
    pub analyte: Option<String>,
    pub value: Option<f64>,
    /// With its basis.
    pub unit: Option<String>,
    pub retired: bool,
    /// Whether a living label of another meaning has the same number, from a log that was imported: then no photo is read by it.
    pub two_meanings: bool,
}

impl LabelOut {
    pub(in crate::faces::cli) fn of(l: &Label, all: &[Label], tanks: &[Tank]) -> Self {
        let other = |o: &Label| !o.retired && o.number == l.number && o.names != l.names;
        let out = Self {
            id: l.id.to_string(),
            number: l.number,
            words: l.words.clone(),
            names: l.names.as_str(),
            kit: None,
            test: None,
            tank: None,
            analyte: None,
            value: None,
            unit: None,
            retired: l.retired,
            two_meanings: !l.retired && all.iter().any(other),
        };
        match &l.names {
            Names::Test(key) => Self { kit: key.kit.clone(), test: Some(key.name.clone()), ..out },
            Names::Tank(id) => Self { tank: tanks.iter().find(|t| t.id == *id).map(|t| t.name.clone()), ..out },
            Names::Standard(analyte, q) => Self {
                analyte: Some(analyte.as_str().to_string()),
                value: Some(q.value),
                unit: Some(q.unit.as_str().to_string()),
                ..out
            },
            _ => out,
        }
    }

    fn row(&self) -> Vec<String> {
        let means = match (&self.test, &self.tank, self.value, &self.unit) {
            (Some(test), ..) => {
                format!("test {test}{}", self.kit.as_ref().map_or(String::new(), |k| format!(" of the kit {k}")))
            }
            (_, Some(tank), ..) => format!("tank {tank}"),
            (_, _, Some(value), Some(unit)) => {
                format!("standard of {value} {unit} {}", self.analyte.as_deref().unwrap_or_default())
            }
            _ => match self.names {
                "tank" => "a tank that is gone",
                "tap" => "tap water",
                "new-water" => "new water",
                "zero" => "zero standard",
                _ => "clear vial",
            }
            .to_string(),
        };
        let state = match (self.retired, self.two_meanings) {
            (true, _) => "retired",
            (_, true) => "number stands twice: retire one",
            _ => "",
        };
        let short = self.id[self.id.len() - 8..].to_string();
        vec![self.number.to_string(), self.words.clone(), means, short, state.to_string()]
    }
}

/// `card labels print`.
#[derive(Debug, Serialize)]
pub struct LabelsPrinted {
    pub file: String,
    /// `pdf`, `png` or `svg`.
    pub format: &'static str,
    /// How many of each.
    pub copies: u8,
    pub labels: Vec<LabelOut>,
    /// About the print.
    pub remarks: Vec<String>,
    #[serde(skip)]
    pub(in crate::faces::cli) how: &'static str,
}

impl Document for LabelsPrinted {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let copies = if self.copies > 1 { format!(", {} of each", self.copies) } else { String::new() };
        writeln!(out, "{}: {}{copies}; {}", self.file, count(self.labels.len(), "label"), self.how)?;
        columns(out, "  ", self.labels.iter().map(LabelOut::row).collect())?;
        self.remarks.iter().try_for_each(|r| writeln!(out, "  {r}"))?;
        writeln!(
            out,
            "Lay a test's and a tank's label side by side above a station, right below the colour patches, and read"
        )?;
        writeln!(out, "the photo without saying what stands where: tintline read PHOTO")
    }
}

/// `card labels list`.
#[derive(Debug, Serialize)]
pub struct LabelList {
    /// By number.
    pub labels: Vec<LabelOut>,
}

impl Document for LabelList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.labels.is_empty() {
            return writeln!(out, "No label yet. Print some: tintline card labels print");
        }
        columns(out, "", self.labels.iter().map(LabelOut::row).collect())
    }
}

/// `card labels rename`, `card labels retire`.
#[derive(Debug, Serialize)]
pub struct LabelChanged {
    pub label: LabelOut,
    #[serde(skip)]
    pub(in crate::faces::cli) said: String,
}

impl Document for LabelChanged {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}", self.said)
    }
}
