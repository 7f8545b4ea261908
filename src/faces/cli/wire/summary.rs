//! Many photos in few words.

use super::amount::{AmountOut, local};
use super::{Document, FindingOut, PhotoOut};
use crate::faces::cli::words::{bare, count};
use crate::intake::Late;
use crate::log::Reading;
use serde::Serialize;
use std::io::{self, Write};

/// What a run of `read` came to.
#[derive(Debug, Serialize)]
pub struct SummaryOut {
    /// All photos.
    pub photos: usize,
    /// Photos with something new in the log, refusals counted in.
    pub read: usize,
    /// Photos of which the log had all before.
    pub known: usize,
    /// Photos set aside: nothing was logged of them.
    pub aside: usize,
    /// Readings with a value or a limit, newly logged.
    pub readings: usize,
    /// Samples that were refused.
    pub refused: usize,
    /// Why photos were set aside and samples refused, the commonest first.
    pub reasons: Vec<ReasonOut>,
    /// What came after later readings of the same water.
    pub late: Vec<LateOut>,
    /// What that changed in what is said of a tank now; a tank of which nothing changed is in it too.
    pub moved: Vec<MovedOut>,
    /// Files in the folders that are no photos.
    pub passed_over: usize,
    /// Whether nothing was written.
    pub dry_run: bool,
    /// Whether Ctrl-C ended it before its end.
    pub stopped: bool,
    #[serde(skip)]
    there: usize,
}

/// A reason with how often it was met.
#[derive(Debug, Serialize)]
pub struct ReasonOut {
    pub code: String,
    /// Photos for what set them aside, samples for what refused them.
    pub count: usize,
    pub remedy: String,
}

/// Readings that came after later ones.
#[derive(Debug, Serialize)]
pub struct LateOut {
    /// The tank; null for other water.
    pub tank: Option<String>,
    pub analyte: String,
    /// How many.
    pub readings: usize,
    /// Time of the first and the last of them, UTC.
    pub from: String,
    pub to: String,
    /// Readings later than the first of them that were in the log.
    pub before: usize,
    /// What still counts now: the newest reading's entry and words.
    pub newest: String,
    pub newest_text: String,
    #[serde(skip)]
    said: String,
}

/// What readings that came late changed in what is said of a tank now.
#[derive(Debug, Serialize)]
pub struct MovedOut {
    pub tank: String,
    /// In sentences; empty where nothing changed.
    pub changed: Vec<String>,
}

impl LateOut {
    pub(in crate::faces::cli) fn of(late: &Late, newest: &Reading) -> Self {
        let text = AmountOut::logged(newest).text;
        let at = newest.sample.at();
        let day = |t| at.offset.to_datetime(t).date().to_string();
        let (from, to) = (day(late.from), day(late.to));
        let span = if from == to { from } else { format!("{from} to {to}") };
        let water = late.tank.clone().unwrap_or_else(|| late.target.as_str().to_string());
        let came = count(late.readings.len(), "reading");
        let said = format!(
            "{water}, {}: {came} of {span} came after {} of later days. Now still counts {}: {text}.",
            late.analyte.as_str(),
            late.before,
            local(at),
        );
        Self {
            tank: late.tank.clone(),
            analyte: late.analyte.as_str().to_string(),
            readings: late.readings.len(),
            from: late.from.to_string(),
            to: late.to.to_string(),
            before: late.before,
            newest: late.newest.to_string(),
            newest_text: text,
            said,
        }
    }
}

impl SummaryOut {
    pub(in crate::faces::cli) fn of(
        photos: &[PhotoOut],
        (late, moved): (Vec<LateOut>, Vec<MovedOut>),
        passed_over: usize,
        dry_run: bool,
        stopped: bool,
    ) -> Self {
        let samples = || photos.iter().flat_map(|p| &p.samples);
        let taken =
            |did: &[&str]| samples().filter(|s| s.amount.status != "refused" && did.contains(&s.log.did)).count();
        let aside = photos.iter().filter(|p| p.error.is_some()).count();
        let known = photos.iter().filter(|p| p.known).count();
        let mut reasons: Vec<ReasonOut> = Vec::new();
        let mut add = |code: &str, remedy: &str| match reasons.iter_mut().find(|r| r.code == code) {
            Some(reason) => reason.count += 1,
            None => reasons.push(ReasonOut { code: code.to_string(), count: 1, remedy: remedy.to_string() }),
        };
        for p in photos {
            p.error.iter().for_each(|e| add(&e.code, &e.remedy));
            let refusals = p.samples.iter().filter(|s| s.log.did != "same").filter_map(|s| s.refusal.first());
            refusals.for_each(|f| add(&f.code, f.remedy.as_deref().unwrap_or_default()));
        }
        reasons.sort_by(|a, b| b.count.cmp(&a.count).then(a.code.cmp(&b.code)));
        Self {
            photos: photos.len(),
            read: photos.len() - aside - known,
            known,
            aside,
            readings: taken(&["added", "replaced"]),
            refused: samples().filter(|s| s.amount.status == "refused").count(),
            there: taken(&["same", "left"]),
            reasons,
            late,
            moved,
            passed_over,
            dry_run,
            stopped,
        }
    }

    /// In a line; of many photos also the reasons, each with what to do.
    pub(in crate::faces::cli) fn text(&self, out: &mut dyn Write, brief: bool) -> io::Result<()> {
        let (logged, would) = if self.dry_run { ("would be logged", "Nothing was written: ") } else { ("logged", "") };
        let mut said = vec![format!("{} {logged}", count(self.readings, "reading"))];
        if brief {
            said.insert(
                0,
                format!("{}: {} read, {} in the log before", count(self.photos, "photo"), self.read, self.known),
            );
        } else {
            said.extend((self.there > 0).then(|| format!("{} in the log before", self.there)));
        }
        said.extend((self.refused > 0).then(|| format!("{} not read", self.refused)));
        said.extend((self.aside > 0).then(|| format!("{} set aside", count(self.aside, "photo"))));
        writeln!(out, "{would}{}.", said.join(", "))?;
        if brief {
            for r in &self.reasons {
                writeln!(out, "  {} × {}: {}", r.count, r.code, r.remedy)?;
            }
            if self.passed_over > 0 {
                writeln!(out, "{} passed over that by the name are no photos.", count(self.passed_over, "file"))?;
            }
        }
        for late in &self.late {
            writeln!(out, "Late: {}", late.said)?;
        }
        for moved in &self.moved {
            let tank = &moved.tank;
            match &moved.changed[..] {
                [] => writeln!(out, "  {tank}: stage, danger and doubts are as they were.")?,
                changed => changed.iter().try_for_each(|words| writeln!(out, "  {tank}: {words}"))?,
            }
        }
        if !self.late.is_empty() {
            writeln!(out, "  Values of past days sound no alarm. Where each tank stands now: tintline status")?;
        }
        if self.stopped {
            writeln!(out, "Stopped. What was read is logged; the same command reads the rest.")?;
        }
        Ok(())
    }
}

/// What needs a look in a photo, in one line; nothing where nothing does.
#[derive(Debug, Serialize)]
pub(in crate::faces::cli) struct BriefOut {
    line: Option<String>,
}

impl PhotoOut {
    /// What needs a look, see [`BriefOut`].
    pub(in crate::faces::cli) fn brief(&self) -> BriefOut {
        let mut said: Vec<String> = Vec::new();
        for s in &self.samples {
            let doubts: Vec<&FindingOut> = s.findings.iter().filter(|f| f.severity == "doubt").collect();
            let what = match (s.refusal.first(), doubts.first()) {
                (Some(f), _) => format!("not read: {} [{}]", bare(&f.sentence), f.code),
                (None, Some(f)) => format!("{}, in doubt: {} [{}]", s.amount.text, bare(&f.sentence), f.code),
                (None, None) if s.log.did == "left" => {
                    "not logged, another reading of it stands; see --again".to_string()
                }
                (None, None) => continue,
            };
            said.push(format!("{} {} {what}", s.station, s.test));
        }
        // The same for all is said once.
        let mut once: Vec<String> = Vec::new();
        said.extend(self.asides().iter().map(|a| bare(a).to_string()));
        said.into_iter().for_each(|s| {
            if !once.contains(&s) {
                once.push(s)
            }
        });
        BriefOut { line: (!once.is_empty()).then(|| format!("{}: {}.", self.file, once.join("; "))) }
    }
}

impl Document for BriefOut {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.line.iter().try_for_each(|line| writeln!(out, "{line}"))
    }
}
