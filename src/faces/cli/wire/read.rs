//! What photos said.

use super::amount::{AmountOut, TimeOut, local};
use super::{Document, FindingOut, SummaryOut, Wrong};
use crate::curve::{Kit, Test};
use crate::faces::cli::words::{bare, columns, short};
use crate::intake::{Bench, CardInUse, Keeping, Kept, Known, Look, Noted};
use crate::log::Target;
use crate::reading::{Outcome, SampleReading};
use serde::Serialize;
use std::io::{self, Write};

/// `read`.
#[derive(Debug, Serialize)]
pub struct ReadDone {
    /// In the order of their capture times, those without one last.
    pub photos: Vec<PhotoOut>,
    pub summary: SummaryOut,
    /// Where the first original was kept, to be said once.
    #[serde(skip)]
    pub(in crate::faces::cli) first_kept: Option<String>,
    /// Whether only what needs a look was shown.
    #[serde(skip)]
    pub(in crate::faces::cli) brief: bool,
}

impl Document for ReadDone {
    /// The photos were shown as they were read; this sums them up.
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.summary.text(out, self.brief)?;
        match &self.first_kept {
            Some(folder) => writeln!(out, "Originals are kept in {folder}; --no-keep keeps none."),
            None => Ok(()),
        }
    }
}

/// A photo.
#[derive(Debug, Serialize)]
pub struct PhotoOut {
    /// As given.
    pub file: String,
    /// Its identity; null if it could not be opened.
    pub photo: Option<String>,
    /// Who said what it shows: `labels`, `typed`, `rule` (or a table beside the photo), `log`; null where nobody was asked.
    pub named_by: Option<&'static str>,
    /// For `rule`: file and line.
    pub rule: Option<String>,
    /// Whether the log had all of it before.
    pub known: bool,
    /// The tank; null where the samples are of several waters, or of none of a tank's.
    pub tank: Option<String>,
    /// Station of the clear vial, if one was named or labelled.
    pub clear: Option<String>,
    pub taken: Option<TimeOut>,
    pub kit: Option<RevisionOut>,
    /// Null where nominal colours served.
    pub card: Option<RevisionOut>,
    /// Where its original is kept.
    pub kept: Option<String>,
    /// Of every sample asked for.
    pub samples: Vec<SampleOut>,
    /// About the photo as a whole.
    pub findings: Vec<FindingOut>,
    /// About the file.
    pub remarks: Vec<String>,
    /// Where the overlay was written.
    pub overlay: Option<String>,
    /// Why it was set aside.
    pub error: Option<Wrong>,
    /// Name of its picture beside the page of `--review`.
    #[serde(skip)]
    pub(in crate::faces::cli) picture: Option<String>,
    #[serde(skip)]
    when: String,
    #[serde(skip)]
    asides: Vec<String>,
}

/// A kit or card by its name and content hash.
#[derive(Debug, Serialize)]
pub struct RevisionOut {
    pub name: String,
    pub revision: String,
}

/// A sample.
#[derive(Debug, Serialize)]
pub struct SampleOut {
    pub station: String,
    /// `tank`, `tap`, `standard` or `other`.
    pub target: &'static str,
    /// The tank's name.
    pub tank: Option<String>,
    /// Which standard, which other water.
    pub label: Option<String>,
    pub test: String,
    pub analyte: String,
    #[serde(flatten)]
    pub amount: AmountOut,
    /// Why it was not read, the deciding finding first.
    pub refusal: Vec<FindingOut>,
    /// What was noticed besides.
    pub findings: Vec<FindingOut>,
    pub log: NotedOut,
}

/// What became of a reading in the log.
#[derive(Debug, Serialize)]
pub struct NotedOut {
    /// `added`, `same`, `replaced`, `left`.
    pub did: &'static str,
    /// The entry: the new one, or the one that was there.
    pub entry: String,
    /// The reading it replaces.
    pub replaces: Option<String>,
    /// Whether this reading is the one that counts now.
    pub stands: bool,
    /// For `left`: `kit`, `card`, `program`, `test`, `dilution`, whatever differs from the reading in the log.
    pub apart: Vec<&'static str>,
    #[serde(skip)]
    said: String,
}

impl PhotoOut {
    /// A photo that was set aside.
    pub(in crate::faces::cli) fn aside(file: String, photo: Option<String>, error: Wrong) -> Self {
        Self {
            file,
            photo,
            named_by: None,
            rule: None,
            known: false,
            tank: None,
            clear: None,
            taken: None,
            kit: None,
            card: None,
            kept: None,
            samples: Vec::new(),
            findings: Vec::new(),
            remarks: Vec::new(),
            overlay: None,
            error: Some(error),
            picture: None,
            when: String::new(),
            asides: Vec::new(),
        }
    }

    /// A photo that the log has, not read again.
    pub(in crate::faces::cli) fn known(file: String, photo: Option<String>, known: &Known) -> Self {
        let aside =
            known.undone.then(|| "Its readings were taken back; name the file itself to read it anew.".to_string());
        let none = Wrong { code: String::new(), sentence: String::new(), remedy: String::new() };
        let blank = Self::aside(file, photo, none);
        Self { known: true, tank: known.tank.clone(), asides: aside.into_iter().collect(), error: None, ..blank }
    }

    /// A photo that was read.
    pub(in crate::faces::cli) fn of(look: &Look, bench: &Bench<'_>, noted: &[Noted], keeping: &Keeping) -> Self {
        let (kept, aside) = match keeping {
            Keeping::New { path } | Keeping::There { path } => (Some(path.display().to_string()), None),
            Keeping::No => (None, None),
            Keeping::Full { most, .. } => {
                let room = format!("{:.1} GB", *most as f64 / 1e9);
                (None, Some(format!("The original is not kept: kept photos have reached the {room} set for them.")))
            }
        };
        let samples = look.reading.samples.iter().zip(noted);
        let samples: Vec<_> = samples.map(|(s, n)| SampleOut::of(s, look, bench, n)).collect();
        let tank = samples.first().and_then(|s| s.tank.clone());
        let tank = tank.filter(|t| samples.iter().all(|s| s.tank.as_ref() == Some(t)));
        Self {
            file: look.opened.path.display().to_string(),
            photo: Some(look.opened.photo.id().to_string()),
            named_by: None,
            rule: None,
            known: !noted.is_empty() && noted.iter().all(|n| matches!(n, Noted::Same { .. } | Noted::Left { .. })),
            tank,
            clear: look.named.clear.clone(),
            taken: Some(TimeOut::of(&look.capture.moment)),
            kit: Some(kit(bench.kit)),
            card: card(bench.card),
            kept,
            samples,
            findings: FindingOut::all(&look.reading.findings),
            remarks: look.opened.photo.facts().remarks.clone(),
            overlay: None,
            error: None,
            picture: None,
            when: local(&look.capture.moment),
            asides: aside.into_iter().collect(),
        }
    }
}

fn kit(kit: &Kept<Kit>) -> RevisionOut {
    RevisionOut { name: kit.name.clone(), revision: kit.revision.as_str().to_string() }
}

fn card(card: &CardInUse) -> Option<RevisionOut> {
    Some(RevisionOut { name: card.name.clone()?, revision: card.reference.revision.clone()? })
}

impl SampleOut {
    fn of(said: &SampleReading, look: &Look, bench: &Bench<'_>, noted: &Noted) -> Self {
        let test: Option<&Test> = bench.kit.value.test(&said.test).ok();
        let water = look.named.water(&said.station);
        let target = water.map_or(Target::Tank(bench.tank.id), |w| w.target);
        let tank = target.tank().and_then(|id| bench.tanks.iter().find(|t| t.id == id));
        let reasons = match &said.outcome {
            Outcome::Refused(reasons) => reasons.as_slice(),
            Outcome::Read(_) => &[],
        };
        let besides: Vec<_> = said.findings.iter().filter(|f| !reasons.contains(f)).cloned().collect();
        Self {
            station: said.station.clone(),
            target: target.as_str(),
            tank: tank.map(|t| t.name.clone()),
            label: water.and_then(|w| w.label.clone()),
            test: said.test.clone(),
            analyte: test.map(|t| t.analyte.as_str().to_string()).unwrap_or_default(),
            amount: AmountOut::said(said, test.map(|t| &t.unit)),
            refusal: FindingOut::all(reasons),
            findings: FindingOut::all(&besides),
            log: NotedOut::of(noted),
        }
    }

    /// Whose water it is, in words.
    pub(in crate::faces::cli) fn water(&self) -> String {
        match (&self.tank, &self.label) {
            (Some(tank), _) => format!("tank '{tank}'"),
            (None, Some(label)) => label.clone(),
            (None, None) => format!("{} water", self.target),
        }
    }

    fn row(&self) -> Vec<String> {
        let doubt = self.findings.iter().any(|f| f.severity == "doubt");
        let value = if doubt { format!("{}, in doubt", self.amount.text) } else { self.amount.text.clone() };
        vec![self.station.clone(), self.test.clone(), value, self.log.said.clone()]
    }
}

impl NotedOut {
    fn of(noted: &Noted) -> Self {
        let plain = |did, id: String, said: &str| Self {
            did,
            entry: id,
            replaces: None,
            stands: true,
            apart: Vec::new(),
            said: said.to_string(),
        };
        match noted {
            Noted::Added { id } => plain("added", id.to_string(), ""),
            Noted::Same { id } => plain("same", id.to_string(), "in the log already"),
            Noted::Replaced { id, was, stands } => {
                let said =
                    if *stands { format!("in place of {}", was.short()) } else { "your correction stays".into() };
                Self { replaces: Some(was.to_string()), stands: *stands, ..plain("replaced", id.to_string(), &said) }
            }
            Noted::Left { reading, apart } => {
                let words: Vec<&str> = apart.iter().map(|a| a.as_str()).collect();
                let amount = AmountOut::logged(reading).text;
                let said = format!("not logged; in the log, with another {}: {amount}", words.join(" and "));
                Self { stands: false, apart: words, ..plain("left", reading.id.to_string(), &said) }
            }
        }
    }
}

impl Document for PhotoOut {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.error.is_some() {
            // Standard error has said it.
            return Ok(());
        }
        let first = self.samples.first().map(SampleOut::water);
        let water = first.filter(|w| self.samples.iter().all(|s| s.water() == *w));
        let name = match (&self.kept, &self.photo) {
            // The store's own name for it is 64 digits.
            (Some(kept), Some(photo)) if *kept == self.file => format!("photo {}", short(photo)),
            _ => self.file.clone(),
        };
        let head = water.as_deref().unwrap_or("several waters");
        if self.samples.is_empty() && self.known {
            return writeln!(out, "{name}: in the log already");
        }
        writeln!(out, "{name}: {head}, {}", self.when)?;
        let row = |s: &SampleOut| {
            let mut row = s.row();
            if water.is_none() {
                row.insert(1, s.water());
            }
            row
        };
        columns(out, "  ", self.samples.iter().map(row).collect())?;
        if let Some(station) = &self.clear {
            writeln!(out, "  {station}  clear vial")?;
        }
        for (stations, head, finding) in self.gathered() {
            let all = self.samples.len() > 1 && stations.len() == self.samples.len();
            let place = if all || stations.is_empty() { String::new() } else { format!("{}: ", stations.join(", ")) };
            finding.text(out, "  ", &format!("{place}{head}"))?;
        }
        if self.samples.iter().any(|s| s.log.did == "left") {
            writeln!(out, "  To put these readings in the place of the logged ones, read again with --again.")?;
        }
        if let Some(place) = &self.rule {
            writeln!(out, "  What it shows is said by {place}.")?;
        }
        for remark in self.remarks.iter().chain(&self.asides) {
            writeln!(out, "  {}.", bare(remark))?;
        }
        if let Some(path) = &self.overlay {
            writeln!(out, "  Overlay: {path}")?;
        }
        Ok(())
    }
}

impl PhotoOut {
    /// What is to be said about its file.
    pub(in crate::faces::cli) fn asides(&self) -> &[String] {
        &self.asides
    }

    /// Every finding once, with the stations it is about: refusals, then doubts, then notes.
    fn gathered(&self) -> Vec<(Vec<String>, &'static str, &FindingOut)> {
        let mut out: Vec<(Vec<String>, &'static str, &FindingOut)> = Vec::new();
        let mut add = |station: Option<&String>, head, finding| {
            let at = match out.iter().position(|(_, h, f)| *h == head && *f == finding) {
                Some(i) => i,
                None => {
                    out.push((Vec::new(), head, finding));
                    out.len() - 1
                }
            };
            out[at].0.extend(station.cloned());
        };
        for s in &self.samples {
            s.refusal.iter().for_each(|f| add(Some(&s.station), "not read: ", f));
        }
        for severity in ["doubt", "note"] {
            for s in &self.samples {
                let own = s.findings.iter().filter(|f| f.severity == severity);
                own.for_each(|f| add(Some(&s.station), f.word(), f));
            }
            let said = |f: &FindingOut| self.samples.iter().any(|s| s.findings.contains(f) || s.refusal.contains(f));
            let whole = self.findings.iter().filter(|f| f.severity == severity && !said(f));
            whole.for_each(|f| add(None, f.word(), f));
        }
        out
    }
}
