//! The log.

use super::amount::{AmountOut, TimeOut, local};
use super::{Document, FindingOut};
use crate::faces::cli::words::{columns, count};
use crate::finding::Finding;
use crate::log::{Change, Id, Imported, Line, Origin, Reading, Turned, Undone};
use serde::Serialize;
use std::collections::HashMap;
use std::io::{self, Write};

/// `log`.
#[derive(Debug, Serialize)]
pub struct LogList {
    /// Oldest first.
    pub readings: Vec<ReadingOut>,
    /// Whether undone and superseded ones are among them.
    pub all: bool,
}

/// A reading in the log.
#[derive(Debug, Serialize)]
pub struct ReadingOut {
    pub id: String,
    /// `current`, `superseded` or `undone`.
    pub standing: &'static str,
    pub tank: Option<String>,
    /// `tank`, `tap`, `standard` or `other`.
    pub target: &'static str,
    pub label: Option<String>,
    pub taken: TimeOut,
    pub kit: Option<String>,
    pub test: String,
    pub analyte: String,
    #[serde(flatten)]
    pub amount: AmountOut,
    pub refusal: Vec<FindingOut>,
    pub findings: Vec<FindingOut>,
    pub photo: Option<String>,
    pub station: Option<String>,
    /// `photo`, `hand` or `correction`.
    pub origin: &'static str,
    /// The entries of all photos of this sample, where it is combined from several.
    pub photos: Vec<String>,
    /// For a correction: what the photo, or the hand, said before.
    pub instead_of: Option<AmountOut>,
    #[serde(skip)]
    row: Vec<String>,
    #[serde(skip)]
    short: String,
}

impl LogList {
    pub(in crate::faces::cli) fn of(readings: &[Reading], all: bool) -> Self {
        Self { readings: readings.iter().map(|r| ReadingOut::of(r, all)).collect(), all }
    }
}

impl ReadingOut {
    fn of(r: &Reading, all: bool) -> Self {
        let amount = AmountOut::logged(r);
        let before = r.instead_of.as_deref();
        let value = match (r.is_doubtful(), r.refusal.first()) {
            (_, Some(why)) => format!("{}: {}", amount.text, why.code),
            (true, None) => format!("{}, in doubt", amount.text),
            (false, None) => amount.text.clone(),
        };
        let value = match before.map(AmountOut::logged) {
            Some(before) => format!("{value}, corrected; before: {}", before.text),
            None => value,
        };
        let value = match r.photos.len() {
            0 | 1 => value,
            n => format!("{value}, from {n} photos"),
        };
        let water = r.sample.tank.clone().or_else(|| r.sample.label.clone());
        let water = water.unwrap_or_else(|| r.sample.target.as_str().to_string());
        let mut row = vec![local(r.sample.at()), water, r.test.name.clone(), value, r.id.short()];
        row.extend(all.then(|| r.standing.as_str().to_string()));
        Self {
            id: r.id.to_string(),
            standing: r.standing.as_str(),
            tank: r.sample.tank.clone(),
            target: r.sample.target.as_str(),
            label: r.sample.label.clone(),
            taken: TimeOut::of(r.sample.at()),
            kit: r.test.kit.clone(),
            test: r.test.name.clone(),
            analyte: r.test.analyte.as_str().to_string(),
            amount,
            refusal: FindingOut::logged(&r.refusal),
            findings: FindingOut::logged(&r.findings),
            photo: r.photo.clone(),
            station: r.station.clone(),
            origin: r.origin.as_str(),
            photos: r.photos.iter().map(ToString::to_string).collect(),
            instead_of: before.map(AmountOut::logged),
            short: r.id.short(),
            row,
        }
    }
}

impl Document for LogList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.readings.is_empty() {
            return writeln!(out, "No readings.");
        }
        columns(out, "", self.readings.iter().map(|r| r.row.clone()).collect())
    }
}

/// `log add`.
#[derive(Debug, Serialize)]
pub struct LogAdded {
    /// In the order given.
    pub readings: Vec<ReadingOut>,
    /// What is unsure about their time.
    pub findings: Vec<FindingOut>,
}

impl LogAdded {
    pub(in crate::faces::cli) fn of(readings: &[Reading], finding: Option<&Finding>) -> Self {
        let findings: Vec<Finding> = finding.cloned().into_iter().collect();
        Self { readings: LogList::of(readings, false).readings, findings: FindingOut::all(&findings) }
    }
}

impl Document for LogAdded {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, "", self.readings.iter().map(|r| r.row.clone()).collect())?;
        self.findings.iter().try_for_each(|f| f.text(out, "", f.word()))
    }
}

/// `log correct`.
#[derive(Debug, Serialize)]
pub struct LogCorrected {
    /// As it stands now.
    pub reading: ReadingOut,
}

impl LogCorrected {
    pub(in crate::faces::cli) fn of(r: &Reading) -> Self {
        Self { reading: ReadingOut::of(r, false) }
    }
}

impl Document for LogCorrected {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, "", vec![self.reading.row.clone()])?;
        writeln!(
            out,
            "An alarm of what it said before lasts until a new sample. To take it back: tintline log undo {}",
            self.reading.short
        )
    }
}

/// `log undo`.
#[derive(Debug, Serialize)]
pub struct LogUndone {
    pub undone: Vec<UndoneOut>,
}

/// One entry undone, or brought back.
#[derive(Debug, Serialize)]
pub struct UndoneOut {
    pub entry: String,
    /// `undone` or `brought-back`.
    pub did: &'static str,
    /// The entry that records it; undo this one to take it back.
    pub by: String,
    /// Which reading stands in its place now.
    pub stands: Option<String>,
    #[serde(skip)]
    said: String,
}

impl LogUndone {
    pub(in crate::faces::cli) fn of(undone: &[Undone]) -> Self {
        let one = |u: &Undone| {
            let (did, word) = match u.how {
                Turned::Undone => ("undone", "Undone"),
                Turned::BroughtBack => ("brought-back", "Brought back"),
            };
            let stands = u.stands.filter(|s| *s != u.subject);
            let now = stands.map_or(String::new(), |s| format!("; {} stands in its place", s.short()));
            let (subject, by) = (u.subject.short(), u.by.short());
            UndoneOut {
                entry: u.subject.to_string(),
                did,
                by: u.by.to_string(),
                stands: stands.map(|s| s.to_string()),
                said: format!("{word}: {subject}{now}. To take it back: tintline log undo {by}"),
            }
        };
        Self { undone: undone.iter().map(one).collect() }
    }
}

impl Document for LogUndone {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.undone.iter().try_for_each(|u| writeln!(out, "{}", u.said))
    }
}

/// `log history`.
#[derive(Debug, Serialize)]
pub struct LogHistory {
    /// In the order in which they were written.
    pub entries: Vec<EntryOut>,
}

/// A line of the journal.
#[derive(Debug, Serialize)]
pub struct EntryOut {
    pub id: String,
    /// When it was written, UTC.
    pub recorded: String,
    /// `tank`, `test`, `photo`, `sample`, `reading`, `event` or `revision`.
    pub kind: String,
    pub undone: bool,
    /// For a revision: `undo`, `redo`, `correct`, `reread`, `move`, `retime` or `note`.
    pub change: Option<String>,
    /// What it changes.
    pub subject: Option<String>,
    pub reason: Option<String>,
    /// For a reading: what it says.
    pub says: Option<String>,
    #[serde(skip)]
    row: Vec<String>,
}

impl LogHistory {
    pub(in crate::faces::cli) fn of(lines: &[Line], said: &HashMap<Id, Reading>) -> Self {
        Self { entries: lines.iter().map(|l| EntryOut::of(l, said.get(&l.id))).collect() }
    }
}

impl EntryOut {
    fn of(line: &Line, reading: Option<&Reading>) -> Self {
        let change = line.change.as_ref();
        let says = reading.map(|r| {
            let by = if r.origin == Origin::Correction { ", by the keeper" } else { "" };
            format!("{} {}{by}", r.test.name, AmountOut::logged(r).text)
        });
        let said = change.map(change_words).or_else(|| says.clone()).unwrap_or_default();
        let undone = if line.undone { "undone" } else { "" };
        let recorded = line.recorded.strftime("%Y-%m-%d %H:%M:%SZ").to_string();
        Self {
            id: line.id.to_string(),
            recorded: line.recorded.to_string(),
            kind: line.kind.clone(),
            undone: line.undone,
            change: change.map(|c| c.kind.clone()),
            subject: change.map(|c| c.subject.to_string()),
            reason: change.and_then(|c| c.reason.clone()),
            says,
            row: vec![line.id.short(), recorded, line.kind.clone(), undone.to_string(), said],
        }
    }
}

fn change_words(c: &Change) -> String {
    let reason = c.reason.as_ref().map_or(String::new(), |r| format!(": {r}"));
    format!("{} of {}{reason}", c.kind, c.subject.short())
}

impl Document for LogHistory {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.entries.is_empty() {
            return writeln!(out, "Nothing has been written yet.");
        }
        columns(out, "", self.entries.iter().map(|e| e.row.clone()).collect())
    }
}

/// `log import`.
#[derive(Debug, Serialize)]
pub struct LogImported {
    pub file: String,
    /// Entries written.
    pub added: usize,
    /// Entries that were there already.
    pub present: usize,
}

impl LogImported {
    pub(in crate::faces::cli) fn of(file: String, done: Imported) -> Self {
        Self { file, added: done.added, present: done.present }
    }
}

impl Document for LogImported {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let added = match self.added {
            1 => "1 entry".to_string(),
            n => format!("{n} entries"),
        };
        writeln!(out, "{added} added from {}, {} there already.", self.file, self.present)
    }
}

/// `log merge`.
#[derive(Debug, Serialize)]
pub struct LogMerged {
    pub other: String,
    /// Entries written, or with `--dry-run` to be written.
    pub added: usize,
    /// How many of them are readings.
    pub readings: usize,
    /// Entries that were there already.
    pub present: usize,
    pub dry_run: bool,
}

impl LogMerged {
    pub(in crate::faces::cli) fn of(other: String, done: Imported, dry_run: bool) -> Self {
        Self { other, added: done.added, readings: done.readings, present: done.present, dry_run }
    }
}

impl Document for LogMerged {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let added = match (self.added, self.dry_run) {
            (1, false) => "1 entry".to_string(),
            (n, false) => format!("{n} entries"),
            (1, true) => "1 entry would be".to_string(),
            (n, true) => format!("{n} entries would be"),
        };
        let (readings, other) = (count(self.readings, "reading"), &self.other);
        writeln!(out, "{added} added from {other}, {readings} among them; {} there already.", self.present)
    }
}
