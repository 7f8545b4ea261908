//! The clear vial of a photo: found, judged, and taken off the samples.

use super::outcome::ClearVial;
use super::read::{Ask, Look};
use crate::colour::Lab;
use crate::curve::{Clear, Kind, Kit, Nuisance, Off, Path, Seen, Test, Zero, no_water, suspect};
use crate::finding::{Code, Finding};

/// On which vial a photo is zeroed.
#[derive(Debug, Clone, PartialEq)]
pub struct Zeroing {
    /// Station of the clear vial: water without reagent.
    pub station: String,
    /// Stations that are not zeroed: they hold other water than the clear vial, such as a standard.
    pub spare: Vec<String>,
}

/// What a clear vial does to the readings of its photo.
pub(super) struct Zeroed<'a> {
    asked: Option<&'a Zeroing>,
    /// The vial, or why none can be taken for it.
    seen: Result<Option<Vial>, Vec<Finding>>,
}

/// A clear vial as seen.
pub(super) struct Vial {
    pub(super) clear: Clear,
    pub(super) shown: ClearVial,
    /// What was noticed about it.
    findings: Vec<Finding>,
}

impl<'a> Zeroed<'a> {
    pub(super) fn of(asked: Option<&'a Zeroing>, look: &Look) -> Self {
        let seen = asked.map(|z| vial(look, &z.station)).transpose();
        Self { asked, seen }
    }

    pub(super) fn shown(&self) -> Option<ClearVial> {
        self.seen.as_ref().ok()?.as_ref().map(|v| v.shown.clone())
    }

    /// A sample and its test's path as they are compared: zeroed, where a clear vial is there for it; and what to say of that.
    /// `raw` is the path through colours that are not zeroed; `path` makes one by the same means.
    pub(super) fn take_off(
        &self,
        ask: &Ask,
        test: &Test,
        raw: Path,
        seen: Seen,
        path: impl Fn(&Test, Nuisance) -> Result<Path, Finding>,
    ) -> Result<(Path, Seen, Vec<Finding>), Vec<Finding>> {
        let Some(zeroing) = self.asked.filter(|z| !z.spare.contains(&ask.station)) else {
            return Ok((raw, seen, Vec::new()));
        };
        let Some(vial) = self.seen.as_ref().map_err(Clone::clone)? else { return Ok((raw, seen, Vec::new())) };
        if let Some(why) = suspect(test, &raw, &vial.clear, seen.foreign) {
            return Err(vec![coloured(&zeroing.station, &why)]);
        }
        let off = Off::of(test);
        let path = path(&off.test(test), off.nuisance(raw.nuisance())).map_err(|f| vec![f])?;
        let (lab, cov) = Zero::on(vial.clear).off(off, seen.lab, &seen.cov);
        let what = match off {
            Off::All => "its tint and its brightness are taken off",
            Off::Tint => "its tint is taken off, its brightness not, as not all standards had a clear vial",
        };
        let used = Finding::note(Code::ClearUsed, format!("{what_at}; {what}.", what_at = used_at(&zeroing.station)));
        let findings = std::iter::once(used).chain(vial.findings.iter().cloned()).collect();
        Ok((path, Seen { lab, cov, ..seen }, findings))
    }
}

/// How the sentence of [`Code::ClearUsed`] begins, by which [`clear_station`] knows the station again.
const USED: &str = "Zeroed on the clear vial at ";

fn used_at(station: &str) -> String {
    format!("{USED}{station}")
}

/// The station of the clear vial by the sentence of a finding of [`Code::ClearUsed`].
pub fn clear_station(sentence: &str) -> Option<&str> {
    sentence.strip_prefix(USED)?.split(';').next().filter(|s| !s.is_empty())
}

/// The clear vial at a station, for standards of a kit.
pub(super) fn beside_standards(look: &Look, kit: &Kit, station: &str, tests: &[&Test]) -> Result<Clear, Vec<Finding>> {
    let vial = vial(look, station)?;
    for test in tests {
        let Ok(path) = Path::new(test, Nuisance::of(kit.kind)) else { continue };
        if let Some(why) = suspect(test, &path, &vial.clear, 0.0) {
            return Err(vec![coloured(station, &why)]);
        }
    }
    // Doubts about it are doubts about every standard that is zeroed on it.
    if vial.findings.is_empty() { Ok(vial.clear) } else { Err(vial.findings) }
}

fn vial(look: &Look, station: &str) -> Result<Vial, Vec<Finding>> {
    let sample = look.samples.at(station).map_err(|findings| {
        let why = findings.first().map(|f| f.sentence.clone()).unwrap_or_default();
        vec![Finding::doubt(Code::ClearUnseen, format!("There is no clear vial to zero on: {why}"))]
    })?;
    let (Lab(lab), cov) = look.alone(sample);
    let clear = Clear { lab, cov };
    if let Some(why) = no_water(&clear) {
        return Err(vec![coloured(station, &why)]);
    }
    let findings = sample.findings.clone();
    let outlines = vec![look.outline(&sample.outline), look.outline(&sample.colour.outline)];
    Ok(Vial { clear, shown: ClearVial { station: station.to_string(), lab, outlines }, findings })
}

fn coloured(station: &str, why: &str) -> Finding {
    Finding::doubt(Code::ClearColoured, format!("The liquid at {station}, to be zeroed on, {why}."))
}

/// Whether a kit's samples can be zeroed: a pad has no clear vial.
pub fn can_zero(kit: &Kit) -> bool {
    kit.kind == Kind::Vial
}
