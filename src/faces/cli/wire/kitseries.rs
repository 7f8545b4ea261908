//! `kit series`.

use super::{Document, KitAdded};
use crate::curve::Level;
use crate::intake::Added;
use crate::water::{COVERAGE, significant};
use serde::Serialize;
use std::io::{self, Write};

/// `kit series`: as `kit add`, with the level of the undiluted sample.
#[derive(Debug, Serialize)]
pub struct KitSeries {
    #[serde(flatten)]
    added: KitAdded,
    /// Of the undiluted sample, in the test's unit.
    pub level: f64,
    /// Its standard deviation.
    pub level_sd: f64,
    /// How many photos of known standards told it; 0 if it was said.
    pub anchors: usize,
}

impl KitSeries {
    pub(in crate::faces::cli) fn of(added: &Added, level: &Level) -> Self {
        Self { added: KitAdded::of(added), level: level.value, level_sd: level.sd, anchors: level.anchors }
    }

    /// Whether some photo could not be used.
    pub(in crate::faces::cli) fn refused(&self) -> bool {
        self.added.refused()
    }
}

impl Document for KitSeries {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.added.text(out)?;
        let unit =
            self.added.photos.iter().flat_map(|p| &p.standards).map(|s| s.unit.as_str()).next().unwrap_or_default();
        let (level, sd) = (significant(self.level, 3), significant(COVERAGE * self.level_sd, 2));
        let by = match self.anchors {
            0 => "as said".to_string(),
            n => format!("told by {}", crate::faces::cli::words::count(n, "known standard")),
        };
        writeln!(out, "The undiluted sample holds {level} ± {sd} {unit}, {by}.")
    }
}
