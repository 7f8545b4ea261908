//! One answer a sample: readings of several photos of one vial or strip, taken together when they are asked for.
//!
//! Each photo's reading stays in the log as it was read. What belongs together is found from what stands, never from the order in
//! which it was entered, so that photos read at once, one by one, later or after a merge of logs come to the same. One sample are
//! readings from photos
//!
//! - of the same water (and label), by the same test of the same revision of its kit (so of one lot), with the same dilution;
//! - not told apart by the keeper: the water drawn and the reagent put in at the same time, where that is known;
//! - taken within one reading window from the first of them, or named by the keeper as of one sample.
//!
//! Two vials of one test in one photo are two samples (duplicates); then so are those at the same stations in its retakes.

use super::logged::{Origin, Reading, Standing, Status};
use super::query::{self, Filter, Show};
use super::{Id, Log, LogError, LoggedFinding, Target};
use crate::finding::{Code, Finding};
use crate::reading::{Word, combine};
use crate::water::Amount;
use jiff::SignedDuration;
use rusqlite::OptionalExtension;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Minutes in which a colour is read, where the kit's test does not say; common practice.
pub const WINDOW_MINUTES: f64 = 10.0;

impl Log {
    /// As [`Log::readings`], with one reading for all that stand of one sample: see [`Reading::photos`]. `window` tells the minutes
    /// of the reading window of a reading's test, if they are known. With the whole history nothing is combined.
    pub fn samples(&self, filter: &Filter, window: &dyn Fn(&Reading) -> Option<f64>) -> Result<Vec<Reading>, LogError> {
        let single = filter.photo.is_some() || filter.sample.is_some() || filter.show == Show::History;
        let readings = match single {
            true => self.readings(filter)?,
            // What belongs together must be seen whole; the rest of the filter is for the answers.
            false => {
                let wide = Filter { since: None, until: None, status: None, last: None, ..filter.clone() };
                self.readings(&wide)?
            }
        };
        let readings = readings.into_iter().map(|r| self.with_overruled(r)).collect::<Result<Vec<_>, _>>()?;
        if single {
            return Ok(readings);
        }
        let mut out = samples(readings, window);
        out.retain(|r| {
            let at = r.sample.at().instant;
            filter.status.is_none_or(|s| s == r.status)
                && filter.since.is_none_or(|s| at >= s)
                && filter.until.is_none_or(|u| at < u)
        });
        let first = filter.last.map_or(0, |n| out.len().saturating_sub(n as usize));
        Ok(out.split_off(first))
    }

    /// One reading, with what stood before the keeper's own judgement.
    pub fn judged(&self, id: Id) -> Result<Reading, LogError> {
        self.with_overruled(self.reading(id)?)
    }

    /// A correction with the reading it stands in place of: the newest of the same root that is no correction.
    fn with_overruled(&self, r: Reading) -> Result<Reading, LogError> {
        if r.origin != Origin::Correction {
            return Ok(r);
        }
        let before = self.read(|conn| {
            let sql = "SELECT id FROM reading_now WHERE root = ?1 AND origin <> 'correction' AND standing <> 'undone'
                ORDER BY seq DESC LIMIT 1";
            let id: Option<Id> = conn.prepare_cached(sql)?.query_row([r.root], |row| row.get(0)).optional()?;
            id.map(|id| query::reading(conn, id)).transpose()
        })?;
        Ok(Reading { instead_of: before.map(Box::new), ..r })
    }
}

/// What is of one sample agrees in all of this.
type Key = (Target, Option<String>, super::TestKey, Option<String>, Option<u64>, [Option<jiff::Timestamp>; 2]);

fn key(r: &Reading) -> Key {
    let s = &r.sample;
    let told = [&s.drawn, &s.reagent].map(|m| m.as_ref().map(|m| m.instant));
    let dilution = r.dilution.map(|d| d.added().to_bits());
    (s.target, s.label.clone(), r.test.clone(), r.kit_revision.clone(), dilution, told)
}

/// Readings that stand, in any order, as one for each sample; oldest first.
pub(super) fn samples(readings: Vec<Reading>, window: &dyn Fn(&Reading) -> Option<f64>) -> Vec<Reading> {
    let mut out = Vec::new();
    let mut by_key: HashMap<Key, Vec<Reading>> = HashMap::new();
    for r in readings {
        match r.photo.is_some() && r.standing == Standing::Current {
            true => by_key.entry(key(&r)).or_default().push(r),
            false => out.push(r),
        }
    }
    for mut of_one in by_key.into_values() {
        of_one.sort_by(|a, b| order(a).cmp(&order(b)));
        let minutes = window(&of_one[0]).unwrap_or(WINDOW_MINUTES);
        let span = SignedDuration::from_secs_f64(minutes * 60.0);
        let mut rest = of_one.into_iter().peekable();
        while let Some(first) = rest.next() {
            let from = first.sample.at().instant;
            let mut group = vec![first];
            while let Some(r) = rest.next_if(|r| r.sample.at().instant.duration_since(from) <= span) {
                group.push(r);
            }
            out.extend(vials(group).into_iter().filter_map(one));
        }
    }
    out.sort_by(|a, b| order(a).cmp(&order(b)));
    out
}

/// By time, and then by what does not hang on the order of entry.
fn order(r: &Reading) -> (jiff::Timestamp, Option<&str>, Option<&str>, Id) {
    (r.sample.at().instant, r.station.as_deref(), r.photo.as_deref(), r.id)
}

/// Readings of one window, by vial: where a photo shows several of one test, each station is a vial of its own.
fn vials(group: Vec<Reading>) -> Vec<Vec<Reading>> {
    let photos: BTreeSet<&str> = group.iter().filter_map(|r| r.photo.as_deref()).collect();
    if photos.len() == group.len() {
        return vec![group];
    }
    let mut by_station: BTreeMap<Option<String>, Vec<Reading>> = BTreeMap::new();
    for r in group {
        by_station.entry(r.station.clone()).or_default().push(r);
    }
    by_station.into_values().collect()
}

/// One reading of all of a vial's.
fn one(group: Vec<Reading>) -> Option<Reading> {
    if group.len() == 1 {
        return group.into_iter().next();
    }
    let ids: Vec<Id> = group.iter().map(|r| r.id).collect();
    // The keeper's own judgement is of the sample, whichever photo it was spoken about; the newest stands.
    let judged = group.iter().filter(|r| r.origin == Origin::Correction).max_by_key(|r| (r.recorded, r.id)).cloned();
    let said = |r: Reading| match r.instead_of {
        Some(before) => *before,
        None => r,
    };
    let photos: Vec<Reading> = group.into_iter().map(said).collect();
    let together = photos_together(photos)?;
    Some(match judged {
        Some(judged) => Reading { photos: ids, instead_of: Some(Box::new(together)), ..judged },
        None => Reading { photos: ids, ..together },
    })
}

/// What the photos of a sample say together, carried by the first reading that it is made of.
fn photos_together(group: Vec<Reading>) -> Option<Reading> {
    let read: Vec<&Reading> = group.iter().filter(|r| r.amount.is_some() && r.may_alarm()).collect();
    let words: Vec<Word> = read.iter().filter_map(|r| word(r)).collect();
    let Some(all) = combine(&words) else {
        // None was read: the last refusal tells what to mend next. Amounts in several units are left as they are.
        let unread = group.iter().rposition(|r| r.status == Status::Refused);
        return group.into_iter().nth(unread.unwrap_or(0));
    };
    let used: Vec<&Reading> = all.used.iter().map(|i| read[*i]).collect();
    let first = (*used.first()?).clone();
    let mut findings: Vec<LoggedFinding> = Vec::new();
    for f in used.iter().flat_map(|r| &r.findings) {
        if !findings.iter().any(|g| g.code == f.code && g.severity == f.severity) {
            findings.push(f.clone());
        }
    }
    if !all.odd.is_empty() {
        let named: Vec<String> = all.odd.iter().map(|i| named(read[*i])).collect();
        let sentence = format!(
            "Of {} photos of this sample, {} not fit to the others; the interval reaches to {}.",
            read.len(),
            if named.len() == 1 { format!("{} does", named[0]) } else { format!("{} do", named.join(" and ")) },
            if named.len() == 1 { "it" } else { "them" },
        );
        findings.push(LoggedFinding::of(&Finding::doubt(Code::SamplePhotosDiffer, sentence)));
    }
    let limits = used.iter().filter_map(|r| r.detection_limit.clone());
    Some(Reading {
        status: Status::parse(all.amount.kind())?,
        canonical: all.amount.canonical().ok(),
        entered: Some(all.amount.level().value.to_string()),
        detection_limit: limits.max_by(|a, b| a.value.total_cmp(&b.value)),
        amount: Some(all.amount),
        findings,
        sample: group.iter().min_by(|a, b| order(a).cmp(&order(b)))?.sample.clone(),
        ..first
    })
}

fn word(r: &Reading) -> Option<Word<'_>> {
    // What may not reassure alone may not help another to.
    let doubtful = !r.may_reassure();
    Some(Word { amount: r.amount.as_ref()?, light: r.light.as_deref(), doubtful })
}

fn named(r: &Reading) -> String {
    let at = r.sample.photo.as_ref().unwrap_or_else(|| r.sample.at());
    let time = at.offset.to_datetime(at.instant).strftime("%H:%M:%S");
    format!(
        "the one of {time} ({}, entry {})",
        r.amount.as_ref().map(Amount::to_string).unwrap_or_default(),
        r.id.short()
    )
}
