//! From a photo's page into the log: what was seen there is kept, and nothing else.

use super::fail::Fail;
use super::site::Site;
use crate::intake::{self, HandError, IntakeError, Keep, Keeping, Ledger, Originals, PhotoKey, Ready, Sent};
use crate::log::{Filter, Log, Reading};

/// What became of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kept {
    Done,
    /// It is logged; there was no room for the photo itself.
    Full,
    /// Not the same as what was seen: nothing was done.
    Changed,
}

impl Kept {
    /// What its page is to say.
    pub(super) fn query(self) -> &'static str {
        match self {
            Self::Done => "",
            Self::Full => "?full",
            Self::Changed => "?changed",
        }
    }
}

/// Keeps a photo as it was seen. `twin` where the keeper said that it is another one than that which it is most like.
pub(super) fn keep(site: &Site, key: &PhotoKey, sent: &Sent, seen: &str, twin: bool) -> Result<Kept, Fail> {
    if sent.kept.is_some() {
        return Ok(Kept::Done);
    }
    let kept = site.desk.with(key, sent, |log, ready| {
        if !twin && ready.twin(&Ledger::of(log)?, &site.layout).is_some() {
            return Ok(Kept::Changed);
        }
        logged(site, key, sent, seen, log, ready)
    })?;
    match kept {
        // The page shows what is true now.
        Kept::Changed => site.desk.again(key),
        Kept::Done | Kept::Full => site.desk.forget(key),
    }
    Ok(kept)
}

fn logged(site: &Site, key: &PhotoKey, sent: &Sent, seen: &str, log: &mut Log, ready: &Ready) -> Result<Kept, Fail> {
    if ready.fingerprint() != seen {
        return Ok(Kept::Changed);
    }
    let mut originals = Originals::of(&site.home, Keep::default())?;
    let (_, keeping) = ready.log(log, &mut originals, &site.layout, false, site.now())?;
    site.desk.incoming().kept(key, sent.clone(), ready.look.opened.photo.id(), site.now())?;
    Ok(if matches!(keeping, Keeping::Full { .. }) { Kept::Full } else { Kept::Done })
}

/// Keeps a photo whose sample at a station was refused, with what the keeper read there by eye.
pub(super) fn by_eye(
    site: &Site,
    key: &PhotoKey,
    sent: &Sent,
    station: &str,
    typed: &str,
    seen: &str,
) -> Result<Kept, Fail> {
    let mut kept = Kept::Done;
    if sent.kept.is_none() {
        kept = site.desk.with(key, sent, |log, ready| {
            let kit = &ready.showing.kit.value;
            let own = ready.look.reading.samples.iter().find(|s| s.station == station);
            let test = kit.test(&own.ok_or_else(|| nothing_at(station))?.test).map_err(IntakeError::from)?;
            // Before anything is logged.
            intake::check_by_eye(test, typed, kit).map_err(asked)?;
            logged(site, key, sent, seen, log, ready)
        })?;
        if kept == Kept::Changed {
            site.desk.again(key);
            return Ok(kept);
        }
        site.desk.forget(key);
    }
    let mut log = site.home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
    let sent = site.desk.incoming().sent(key)?;
    let photo = sent.and_then(|s| s.kept).map(|k| k.photo);
    let standing = log.readings(&Filter { photo: photo.clone(), ..Filter::default() })?;
    let here = |r: &&Reading| photo.is_some() && r.station.as_deref() == Some(station);
    let reading = standing.iter().find(here).ok_or_else(|| nothing_at(station))?;
    let kit = site.home.kit(reading.test.kit.as_deref())?;
    intake::by_eye(&mut log, reading, typed, &kit.value, site.now())?;
    Ok(kept)
}

fn asked(e: HandError) -> Fail {
    IntakeError::from(e).into()
}

fn nothing_at(station: &str) -> Fail {
    IntakeError::Station { station: station.to_string(), known: Vec::new() }.into()
}
