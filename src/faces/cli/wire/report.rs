//! A page that was written.

use super::Document;
use serde::Serialize;
use std::io::{self, Write};

/// `report --out`.
#[derive(Debug, Serialize)]
pub struct ReportWritten {
    pub tank: String,
    pub file: String,
    /// How many trends, events, results and crops of photos are on it.
    pub charts: usize,
    pub events: usize,
    pub results: usize,
    pub photos: usize,
    /// Whether the names of tank and kits, and your notes, are on it.
    pub names: bool,
}

impl Document for ReportWritten {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let Self { file, charts, events, results, photos, .. } = self;
        writeln!(out, "Written: {file} ({charts} charts, {events} events, {results} results, {photos} photos)")?;
        match self.names {
            true => writeln!(out, "It holds the names of tank and kits, and your notes."),
            false => writeln!(out, "It holds no names, notes or places. Look at it before you hand it on."),
        }
    }
}
