//! Control checks: a known standard read again from time to time, its log and what follows for readings.
//!
//! A check is an event of the kind `control-checked`, of the household and not of a tank: a test's kit and name, `calibration` (what
//! its curve rests on, by hash), `value` and `read` in `unit`, `steps` and `sd` in standards, `off`, `lot`, `photo`, `station`. With
//! another calibration a chart begins anew.

use super::shots::{Shot, measured, seen};
use super::{CardInUse, Home, IntakeError, Keep, Kept, Look, When};
use crate::curve::control::{Checked, Due, Point, chart, due, under_control};
use crate::curve::{self, Kit, Nuisance, Path, Scale, Swatch, Taken, Test, answer, held};
use crate::finding::{Code, Finding};
use crate::log::{Event, Id, Log, NewEvent, happening};
use crate::moment::{Certainty, Moment, TimeSource};
use crate::reading::{Outcome, Standard};
use crate::store::content_hash;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::path::PathBuf;

/// A check on its chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    /// Its entry in the log.
    pub id: Id,
    /// When the standard was read.
    pub at: Moment,
    /// The standard's concentration, and what was read, in the test's unit.
    pub value: f64,
    pub read: f64,
    /// Lot of the bottle then.
    pub lot: Option<String>,
    pub point: Point,
}

/// The checks of one test under its present calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct ControlOf {
    pub test: String,
    /// Oldest first.
    pub checks: Vec<Control>,
    pub due: Due,
}

impl ControlOf {
    /// Whether the test was under control at a time: by the last check until then.
    pub fn under_control(&self, at: Timestamp) -> bool {
        let until: Vec<Point> = self.checks.iter().filter(|c| c.at.instant <= at).map(|c| c.point.clone()).collect();
        under_control(&until)
    }
}

/// When a test's standard is to be read again.
#[derive(Debug, Clone, PartialEq)]
pub struct ControlDue {
    pub kit: String,
    pub test: String,
    pub due: Due,
}

/// Reads the standards in photos as control checks and logs them. Those that could not be seen come back with the reasons.
#[allow(clippy::too_many_arguments, reason = "all that the face knows")]
pub fn control(
    home: &Home,
    log: &mut Log,
    kit: &Kept<Kit>,
    card: &CardInUse,
    shots: &[Shot],
    zone: &TimeZone,
    now: Timestamp,
    keep: Keep,
) -> Result<Vec<(PathBuf, Standard, Vec<Finding>)>, IntakeError> {
    let all = measured(&kit.value, card, shots)?;
    let (mut events, mut unused) = (Vec::new(), Vec::new());
    let before = log.events(None)?;
    for m in &all {
        let facts = m.opened.photo.facts();
        let capture = When::default().capture(facts.taken.as_ref(), None, zone, now);
        let entered = Moment {
            instant: now,
            offset: zone.to_offset(now),
            source: TimeSource::Keeper,
            certainty: Certainty::Sure,
        };
        let at = capture.map_or(entered, |c| c.moment);
        let on = Some(at.offset.to_datetime(at.instant).date());
        let taken = Taken { card: card.reference.revision.as_deref(), camera: facts.camera.as_deref(), on };
        for (standard, swatch) in &m.standards {
            let test = kit.value.test(&standard.test)?;
            if test.scale == Scale::FromZero && standard.value == 0.0 {
                return Err(IntakeError::ZeroControl);
            }
            let checked = swatch.clone().and_then(|s| checked(&kit.value, test, &taken, &s));
            match checked {
                Err(why) => unused.push((m.opened.path.clone(), standard.clone(), why)),
                Ok((checked, read)) => {
                    let event = event(kit, test, standard, &checked, read, m.opened.photo.id(), at);
                    let same = |e: &Event| e.kind == event.kind && e.payload == event.payload;
                    if !before.iter().any(same) {
                        events.push(event);
                    }
                }
            }
        }
    }
    for m in &all {
        home.keep_photo(&m.opened, keep)?;
    }
    if !events.is_empty() {
        log.write(now, |w| events.iter().try_for_each(|e| w.add_event(e).map(|_| ())))?;
    }
    Ok(unused)
}

/// How a standard reads, and its value.
fn checked(kit: &Kit, test: &Test, taken: &Taken, s: &Swatch) -> Result<(Checked, f64), Vec<Finding>> {
    let thin = |e: curve::CurveError| vec![Finding::doubt(Code::CurveThin, format!("{e}."))];
    let path = Path::new(test, Nuisance::of(kit.kind)).map_err(thin)?.widened(held(kit, test, taken).extra);
    let said = answer(test, &path, &seen(s, kit));
    let off = said.amount.is_err();
    // Half a 95 % interval; one that the end of the scale cuts short is as wide as its other side.
    let found = said.found;
    let half = (found.upper - found.position).max(found.position - found.lower);
    let steps = found.position - path.position(s.value);
    Ok((Checked { steps: to(steps, 1e4), sd: to(half / 1.96, 1e4), off }, path.value(found.position)))
}

fn to(x: f64, grid: f64) -> f64 {
    (x * grid).round() / grid
}

fn event(
    kit: &Kept<Kit>,
    test: &Test,
    standard: &Standard,
    checked: &Checked,
    read: f64,
    photo: &str,
    at: Moment,
) -> NewEvent {
    let mut payload = serde_json::Map::new();
    let mut put = |key: &str, value: serde_json::Value| payload.insert(key.to_string(), value);
    put("kit", kit.name.clone().into());
    put("test", test.name.clone().into());
    put("calibration", calibration(test).into());
    put("unit", test.unit.to_string().into());
    put("value", standard.value.into());
    put("read", to(read, 1e6).into());
    put("steps", checked.steps.into());
    put("sd", checked.sd.into());
    put("off", checked.off.into());
    put("photo", photo.into());
    put("station", standard.station.clone().into());
    if let Some(lot) = &test.lot {
        put("lot", lot.clone().into());
    }
    NewEvent { payload, ..NewEvent::new(happening::CONTROL_CHECKED, None, at) }
}

/// What a test's curve rests on.
fn calibration(test: &Test) -> String {
    let parts: Vec<String> = test.swatches.iter().map(|s| format!("{} {:?} {:?}", s.value, s.source, s.lab)).collect();
    content_hash(parts.join("\n").as_bytes()).as_str()[..12].to_string()
}

/// The checks of a kit's tests, in the kit's order, by the log's events.
pub fn controls(kit: &Kept<Kit>, events: &[Event], today: Date) -> Vec<ControlOf> {
    kit.value.tests.iter().map(|test| of(kit, test, events, today)).collect()
}

fn of(kit: &Kept<Kit>, test: &Test, events: &[Event], today: Date) -> ControlOf {
    let own = calibration(test);
    let text = |e: &Event, key: &str| e.payload.get(key).and_then(|v| v.as_str()).map(str::to_string);
    let fits = |e: &&Event| {
        let is = |key, what: &str| text(e, key).as_deref() == Some(what);
        e.kind == happening::CONTROL_CHECKED
            && is("kit", &kit.name)
            && is("test", &test.name)
            && is("calibration", &own)
    };
    let number = |e: &Event, key: &str| e.payload.get(key).and_then(|v| v.as_f64()).filter(|x| x.is_finite());
    let read = |e: &Event| {
        let off = e.payload.get("off").and_then(|v| v.as_bool())?;
        let checked = Checked { steps: number(e, "steps")?, sd: number(e, "sd")?, off };
        Some((e.clone(), checked, number(e, "value")?, number(e, "read")?))
    };
    let known: Vec<_> = events.iter().filter(fits).filter_map(read).collect();
    let points = chart(&known.iter().map(|k| k.1).collect::<Vec<_>>());
    let last = known.last().map(|(e, ..)| (e.at.offset.to_datetime(e.at.instant).date(), under_control(&points)));
    let days = test.own().filter_map(|s| s.taken.as_deref()?.get(..10)?.parse::<Date>().ok());
    let due = due(last, days.max(), test.opened, today);
    let control = |((e, _, value, read), point): (&(Event, Checked, f64, f64), Point)| Control {
        id: e.id,
        at: e.at,
        value: *value,
        read: *read,
        lot: text(e, "lot"),
        point,
    };
    ControlOf { test: test.name.clone(), checks: known.iter().zip(points).map(control).collect(), due }
}

impl Home {
    /// When the standards of all kits' tests are to be read again, the first one first. Tests without a curve have none, nor
    /// have those with no standard of one's own: first things first.
    pub fn control_dues(&self, log: Option<&Log>, today: Date) -> Result<Vec<ControlDue>, IntakeError> {
        let events = log.map(|log| log.events(None)).transpose()?.unwrap_or_default();
        let mut out = Vec::new();
        for name in self.kit_names()? {
            let kit = self.kit(Some(&name))?;
            for (test, c) in kit.value.tests.iter().zip(controls(&kit, &events, today)) {
                if test.values().len() >= 2 {
                    out.push(ControlDue { kit: kit.name.clone(), test: c.test, due: c.due });
                }
            }
        }
        out.sort_by_key(|d| d.due.on);
        Ok(out)
    }
}

impl Look {
    /// Puts a doubt on readings of tests that their control checks showed to be off.
    pub fn controlled(&mut self, controls: &[ControlOf]) {
        let at = self.capture.moment.instant;
        for sample in &mut self.reading.samples {
            let Some(own) = controls.iter().find(|c| c.test == sample.test) else { continue };
            if matches!(sample.outcome, Outcome::Refused(_)) || own.under_control(at) {
                continue;
            }
            let sentence = format!("The last control check of '{}' was off.", own.test);
            sample.findings.push(Finding::doubt(Code::ControlOut, sentence));
        }
    }
}
