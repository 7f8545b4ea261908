//! What a keeper enters by hand: events and readings, from plain words; and whole tables of them.
//!
//! Nothing is written that lies in the future, that the log has already (within the hour; say so with `again`), or whose
//! numbers could mean two things.

pub mod asked;

mod error;
mod meant;
mod readings;
mod start;
mod tank;
mod words;

pub use error::{HandError, Written};
pub use meant::{Beside, Said, happening, is_trouble, kind, takes};
pub(super) use readings::sample;
pub use readings::{ByHand, Chart, add_readings, correct, new_water};
pub use start::start_tests;
pub use tank::{Described, add_tank, celsius, change_tank};
pub use words::litres;

use super::{At, IntakeError, zone};
use crate::finding::{Code, Finding};
use crate::log::{Happening, Id, Log, Tank, Undo};
use crate::moment::{Certainty, Moment};
use jiff::{SignedDuration, Timestamp};

/// Two entries that say the same within this time are taken for one entered twice.
pub const SAME_WITHIN: SignedDuration = SignedDuration::from_hours(1);

/// When something happened, and whether it is meant although the log has the same.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Entered {
    /// When; now, where nothing was said.
    pub at: Option<At>,
    /// Whether it happened again.
    pub again: bool,
    /// The event that this one corrects: undone in the same write.
    pub instead: Option<Id>,
}

impl Entered {
    /// The moment at the tank, which must have been, and what is unsure about it.
    pub fn moment(&self, tank: &Tank, now: Timestamp) -> Result<(Moment, Option<Finding>), HandError> {
        placed(self.at.unwrap_or(At::Now), &tank.zone, now)
    }
}

/// A time at a tank: not one to come, with a minute's grace because two clocks never agree.
pub(super) fn placed(at: At, tank_zone: &str, now: Timestamp) -> Result<(Moment, Option<Finding>), HandError> {
    let zone = zone(tank_zone);
    let moment = at.moment(&zone, now);
    if moment.instant.duration_since(now) > SignedDuration::from_mins(1) {
        let now = Moment { instant: now, offset: zone.to_offset(now), ..moment };
        return Err(HandError::Future { at: local(&moment), now: local(&now) });
    }
    let finding = (moment.certainty == Certainty::Unsure).then(|| {
        let sentence =
            format!("The clocks were changed at about {}, so the time is sure to the hour only.", local(&moment));
        Finding::note(Code::TimeUnsure, sentence)
    });
    Ok((moment, finding))
}

/// Writes an event of a tank.
pub fn add_event(
    log: &mut Log,
    tank: &Tank,
    what: &Happening,
    note: Option<String>,
    when: Entered,
    now: Timestamp,
) -> Result<Written, IntakeError> {
    let (at, finding) = when.moment(tank, now)?;
    if let (Happening::WaterChange { litres: Some(litres), .. }, Some(volume)) = (what, tank.volume_l)
        && *litres > volume
    {
        return Err(HandError::MoreThanTank { litres: *litres, volume }.into());
    }
    let event = what.event(Some(tank.id), at, note).map_err(HandError::from)?;
    if let Some(id) = when.instead.filter(|id| log.events(None).is_ok_and(|all| all.iter().all(|e| e.id != *id))) {
        return Err(HandError::NoEvent { id }.into());
    }
    let same = |e: &&crate::log::Event| {
        let near = e.at.instant.duration_since(at.instant).abs() <= SAME_WITHIN;
        near && when.instead != Some(e.id)
            && e.tank == event.tank
            && e.kind == event.kind
            && e.payload == event.payload
            && e.note == event.note
    };
    if let Some(e) = log.events(Some(tank.id))?.iter().find(same).filter(|_| !when.again) {
        return Err(HandError::Twice { id: e.id, what: e.kind.clone(), when: local(&e.at) }.into());
    }
    let id = log.write(now, |w| {
        if let Some(old) = when.instead {
            w.undo(&Undo::Entry(old), "corrected: another event stands in its place")?;
        }
        w.add_event(&event)
    })?;
    Ok(Written { id, finding })
}

/// Date and time at the tank.
pub(super) fn local(m: &Moment) -> String {
    m.local().strftime("%Y-%m-%d %H:%M").to_string()
}
