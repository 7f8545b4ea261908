//! What a water is like, and what becomes of it when some is exchanged for another.

use super::super::book::Kind;
use super::super::change::{Outlook, outlook};
use crate::water::{Buffered, Celsius, Conditions, Known, Ph, Span, StateError, ph_as_mixed, ph_settled};

/// A water. What is not known is left out, apart from pH, temperature and salinity of the tank, which then are ranges.
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// mg/L NH₃-N, total.
    pub ammonia: Option<Span>,
    /// mg/L NH₃-N, free.
    pub free: Option<Span>,
    /// pH.
    pub ph: Span,
    /// German degrees.
    pub alkalinity: Option<Span>,
    /// °C.
    pub temperature: Span,
    /// g/kg.
    pub salinity: Span,
    /// What was asked for, in the unit of its kind.
    pub asked: Option<Span>,
}

/// One change of water.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The share of the water, 0 to 1.
    pub share: f64,
    /// Litres, where the tank's are known.
    pub litres: Option<f64>,
    /// Before it.
    pub before: Water,
    /// After it.
    pub after: Water,
}

/// New water, as far as it is known.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct New {
    pub(super) ammonia: Option<Span>,
    pub(super) ph: Option<Span>,
    pub(super) alkalinity: Option<Span>,
    pub(super) temperature: Option<Span>,
    pub(super) salinity: Option<Span>,
    pub(super) asked: Option<(Kind, Span)>,
    /// Whether it is fresh water, whose pH carbonic acid decides.
    pub(super) fresh: bool,
}

/// Bounds of a mixture: both waters' bounds in proportion.
pub(super) fn mixed(old: &Span, new: &Span, share: f64) -> Span {
    let at = |a: f64, b: f64| if a.is_infinite() || b.is_infinite() { a.max(b) } else { a * (1.0 - share) + b * share };
    Span {
        low: at(old.low, new.low),
        best: old.best.zip(new.best).map(|(a, b)| at(a, b)),
        high: at(old.high, new.high),
    }
}

fn hull(all: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    all.into_iter().fold(None, |hull: Option<(f64, f64)>, x| match hull {
        None => Some((x, x)),
        Some((low, high)) => Some((low.min(x), high.max(x))),
    })
}

impl Water {
    pub(super) fn conditions(&self) -> Conditions {
        Conditions {
            ph: Known::Given(self.ph),
            temperature: Known::Given(self.temperature),
            salinity: Known::Given(self.salinity),
        }
    }

    /// After `share` of it is exchanged for `new`. What is not known of the new water: its temperature and salinity are taken as
    /// the tank's, its ammonia as none; each is said where the answer is given.
    pub(super) fn after(&self, new: &New, share: f64) -> Result<Self, StateError> {
        let temperature = new.temperature.map_or(self.temperature, |t| mixed(&self.temperature, &t, share));
        let salinity = new.salinity.map_or(self.salinity, |s| mixed(&self.salinity, &s, share));
        let asked = self.asked.zip(new.asked).map(|(old, (_, new))| mixed(&old, &new, share)).or(self.asked);
        let alkalinity = self.alkalinity.zip(new.alkalinity).map(|(a, b)| mixed(&a, &b, share));
        let mut out = Self {
            ammonia: None,
            free: None,
            ph: self.ph_after(new, share)?,
            alkalinity,
            temperature,
            salinity,
            asked,
        };
        if let Some(total) = self.ammonia {
            let tap = new.ammonia.unwrap_or(Span::exact(0.0));
            let seen = |end: f64| outlook(&total, end, share, &self.conditions(), &out.conditions());
            let (low, high) = (seen(tap.low)?, seen(tap.high)?);
            // Of what was not detected the best guess is the middle.
            let best = seen(tap.middle())?;
            let join =
                |of: fn(&Outlook) -> Span| Span { low: of(&low).low, best: of(&best).best, high: of(&high).high };
            (out.ammonia, out.free) = (Some(join(|o| o.total_after)), Some(join(|o| o.free_after)));
        }
        Ok(out)
    }

    /// The pH from as poured to hours later where both alkalinities are known and the water is fresh; else anything from one water's
    /// to the other's. Without the new water's pH: from the tank's to 8.3, that of most hard waters in touch with air.
    fn ph_after(&self, new: &New, share: f64) -> Result<Span, StateError> {
        /// Common practice: aired tap water lies below it.
        const AIRED: f64 = 8.3;
        let other = new.ph.unwrap_or(Span::between(self.ph.low, self.ph.high.max(AIRED)));
        let between = Span { low: self.ph.low.min(other.low), best: None, high: self.ph.high.max(other.high) };
        if share == 0.0 {
            return Ok(self.ph);
        }
        let Some((kh, ph_new, kh_new)) = self.buffers(new) else { return Ok(between) };
        let two = |ph: f64, kh: f64, ph_new: f64, kh_new: f64, t: f64| -> Result<[f64; 2], StateError> {
            let old = Buffered { ph: Ph::new(ph)?, degrees: kh };
            let new = Buffered { ph: Ph::new(ph_new)?, degrees: kh_new };
            Ok([ph_as_mixed(old, new, share, Celsius::new(t)?)?, ph_settled(old, new, share)?])
        };
        let mut ends = Vec::new();
        // Every corner: mixtures are monotone in each of the five.
        for corner in 0..32u32 {
            let end = |bit: u32, s: &Span| if corner & (1 << bit) == 0 { s.low } else { s.high };
            ends.extend(two(
                end(0, &self.ph),
                end(1, &kh),
                end(2, &ph_new),
                end(3, &kh_new),
                end(4, &self.temperature),
            )?);
        }
        let middle = two(self.ph.middle(), kh.middle(), ph_new.middle(), kh_new.middle(), self.temperature.middle())?;
        let (low, high) = hull(ends).unwrap_or((between.low, between.high));
        Ok(Span { low: held(low), best: Some(held(f64::midpoint(middle[0], middle[1]))), high: held(high) })
    }

    /// The pH a day after changes that together replaced `share` of it; none where that cannot be told.
    pub(super) fn settled(&self, new: &New, share: f64) -> Result<Option<Span>, StateError> {
        let Some((kh, ph_new, kh_new)) = self.buffers(new) else { return Ok(None) };
        let at = |ph: f64, kh: f64, kh_new: f64| {
            let other = Buffered { ph: Ph::new(ph_new.middle())?, degrees: kh_new };
            ph_settled(Buffered { ph: Ph::new(ph)?, degrees: kh }, other, share)
        };
        // The ratio of the alkalinities is largest with much in the new water and little in the tank.
        Ok(Some(Span {
            low: held(at(self.ph.low, kh.high, kh_new.low)?),
            best: Some(held(at(self.ph.middle(), kh.middle(), kh_new.middle())?)),
            high: held(at(self.ph.high, kh.low, kh_new.high)?),
        }))
    }

    /// The tank's alkalinity and the new water's pH and alkalinity, where carbonic acid alone decides and all are bounded.
    fn buffers(&self, new: &New) -> Option<(Span, Span, Span)> {
        let (kh, ph_new, kh_new) = (self.alkalinity?, new.ph?, new.alkalinity?);
        let bounded = [self.ph, kh, ph_new, kh_new].iter().all(|s| s.low.is_finite() && s.high.is_finite());
        (new.fresh && bounded && kh.low > 0.0 && kh_new.low > 0.0).then_some((kh, ph_new, kh_new))
    }
}

/// Within what the formulas hold for.
fn held(ph: f64) -> f64 {
    ph.clamp(Ph::RANGE.0, Ph::RANGE.1)
}
