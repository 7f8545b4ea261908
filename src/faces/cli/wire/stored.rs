//! Backups and tables.

use super::Document;
use super::Wrong;
use super::amount::{TimeOut, local};
use crate::faces::cli::words::{columns, count};
use crate::intake::{BackedUp, Item, Plan, Planned, Restored};
use crate::log::Tank;
use serde::Serialize;
use std::io::{self, Write};

/// `log backup`.
#[derive(Debug, Serialize)]
pub struct LogBackedUp {
    pub file: String,
    pub bytes: u64,
    /// Files in it.
    pub files: usize,
    /// Of the whole file, to check a copy by.
    pub sha256: String,
}

impl LogBackedUp {
    pub(in crate::faces::cli) fn of(done: &BackedUp) -> Self {
        let file = done.path.display().to_string();
        Self { file, bytes: done.bytes, files: done.files, sha256: done.sha256.clone() }
    }
}

impl Document for LogBackedUp {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let mb = self.bytes as f64 / 1e6;
        writeln!(out, "Wrote {} with {}, {mb:.1} MB, and read it back.", self.file, count(self.files, "file"))?;
        writeln!(out, "SHA-256 {}", self.sha256)
    }
}

/// `log restore`.
#[derive(Debug, Serialize)]
pub struct LogRestored {
    /// Files put back.
    pub added: Vec<String>,
    /// Files that were there, as they are in the backup.
    pub same: usize,
    /// Files that were there and differ; they were left as they are.
    pub kept: Vec<String>,
    /// Entries added to a log that was there; null where the log itself was put back.
    pub log_added: Option<usize>,
    /// Entries it had.
    pub log_present: Option<usize>,
}

impl LogRestored {
    pub(in crate::faces::cli) fn of(done: &Restored) -> Self {
        Self {
            added: done.added.clone(),
            same: done.same,
            kept: done.kept.clone(),
            log_added: done.log.map(|l| l.added),
            log_present: done.log.map(|l| l.present),
        }
    }
}

impl Document for LogRestored {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(
            out,
            "Put back {}; {} as in the backup.",
            count(self.added.len(), "file"),
            match self.same {
                1 => "1 was there".to_string(),
                n => format!("{n} were there"),
            }
        )?;
        if let (Some(added), Some(present)) = (self.log_added, self.log_present) {
            writeln!(out, "The log was there: {added} of its entries were missing and were added, {present} it had.")?;
        }
        for path in &self.kept {
            writeln!(out, "Differs from the backup, left as it is: {path}")?;
        }
        Ok(())
    }
}

/// `log table`.
#[derive(Debug, Serialize)]
pub struct LogTable {
    pub tank: String,
    /// Whether it was written; else this is what would be.
    pub written: bool,
    /// Cells that are new to the log.
    pub added: usize,
    /// Cells that it has already.
    pub present: usize,
    pub cells: Vec<CellOut>,
    pub wrong: Vec<WrongCell>,
}

/// A cell that is understood.
#[derive(Debug, Serialize)]
pub struct CellOut {
    /// Of the file, the header being line 1.
    pub line: u64,
    pub column: String,
    pub at: TimeOut,
    /// The analyte of a reading, the kind of an event.
    pub what: String,
    /// In words.
    pub text: String,
    /// Whether the log has it already.
    pub present: bool,
    #[serde(skip)]
    row: Vec<String>,
}

/// A cell that is not.
#[derive(Debug, Serialize)]
pub struct WrongCell {
    pub line: u64,
    pub column: String,
    pub why: Wrong,
}

impl LogTable {
    pub(in crate::faces::cli) fn of(plan: &Plan, tank: &Tank, written: bool) -> Self {
        let cells = plan.rows.iter().flat_map(|row| {
            row.items.iter().map(|planned| {
                let Planned { column, item, there } = planned;
                let (what, text) = match item {
                    Item::Reading(r) => (r.key.analyte.to_string(), r.amount.to_string()),
                    Item::Event(e) => {
                        let facts = e.payload.iter().map(|(key, value)| format!("{key} {value}"));
                        let parts: Vec<String> = facts.chain(e.note.clone()).collect();
                        (e.kind.clone(), parts.join(", "))
                    }
                };
                let mark = if *there { "there already" } else { "" };
                CellOut {
                    line: row.line,
                    column: column.clone(),
                    at: TimeOut::of(&row.at),
                    row: vec![format!("line {}", row.line), local(&row.at), what.clone(), text.clone(), mark.into()],
                    what,
                    text,
                    present: *there,
                }
            })
        });
        let wrong = plan.wrong.iter().map(|w| WrongCell {
            line: w.line,
            column: w.column.clone(),
            why: Wrong { code: w.why.code().into(), sentence: w.why.to_string(), remedy: w.why.remedy() },
        });
        Self {
            tank: tank.name.clone(),
            written,
            added: plan.new_items(),
            present: plan.there(),
            cells: cells.collect(),
            wrong: wrong.collect(),
        }
    }
}

impl Document for LogTable {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, "", self.cells.iter().map(|c| c.row.clone()).collect())?;
        for w in &self.wrong {
            let why = &w.why;
            writeln!(out, "line {}, {}: {} [{}]\n  {}", w.line, w.column, why.sentence, why.code, why.remedy)?;
        }
        let (added, present) = (self.added, self.present);
        match self.written {
            true => writeln!(out, "{added} written for {}, {present} there already.", self.tank),
            false => writeln!(
                out,
                "Nothing was written. {added} would be, for {}; {present} there already, {} wrong. To write: --write",
                self.tank,
                self.wrong.len()
            ),
        }
    }
}
