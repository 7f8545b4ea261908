//! Which station the clear vial stands at, and which samples are zeroed on it.

use super::{IntakeError, Named};
use crate::card::Layout;
use crate::curve::Kit;
use crate::log::Target;
use crate::reading::{Zeroing, can_zero};

/// Why a clear vial cannot be where it is said to be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ClearError {
    /// A pad has no glass and no water behind it.
    #[error("the kit '{kit}' is one of strips, which have no clear vial")]
    Strip { kit: String },
    /// One vial cannot be both.
    #[error("the clear vial is said to stand at {station}, where {test} is")]
    Tested { station: String, test: String },
    /// A label and the keeper.
    #[error("a label says that the clear vial stands at {label}, against --clear {typed}")]
    Against { label: String, typed: String },
    /// One vial holds one water.
    #[error("the clear vial at {station} cannot be the water of all samples: they are of several waters")]
    Waters { station: String },
}

impl ClearError {
    /// Stable name of the error.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Strip { .. } => "clear-strip",
            Self::Tested { .. } => "clear-tested",
            Self::Against { .. } => "clear-against",
            Self::Waters { .. } => "clear-waters",
        }
    }

    /// What to do.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Strip { .. } => "Leave --clear out, or take the clear vial's label away.",
            Self::Tested { .. } => {
                "The clear vial holds the tank's own water without reagent, at a station of its own; the zero standard, reagent in \
                 pure water, is read like any sample."
            }
            Self::Against { .. } => "Name the station where the clear vial stands, or correct the label.",
            Self::Waters { .. } => "Photograph each tank's vials with its own clear vial.",
        }
    }
}

/// The station of a clear vial as the layout spells it, for samples or standards at the stations `taken`.
pub fn clear_at(typed: &str, taken: &[(String, String)], kit: &Kit, layout: &Layout) -> Result<String, IntakeError> {
    if !can_zero(kit) {
        return Err(ClearError::Strip { kit: kit.name.clone() }.into());
    }
    let names = &layout.stations.names;
    let found = names.iter().find(|n| n.eq_ignore_ascii_case(typed.trim()));
    let station =
        found.ok_or_else(|| IntakeError::Station { station: typed.trim().to_string(), known: names.clone() })?.clone();
    match taken.iter().find(|(s, _)| *s == station) {
        Some((_, test)) => Err(ClearError::Tested { station, test: test.clone() }.into()),
        None => Ok(station),
    }
}

/// What was typed and what a label says of where the clear vial stands.
pub(super) fn agreed(typed: Option<String>, label: Option<String>) -> Result<Option<String>, IntakeError> {
    match (typed, label) {
        (Some(typed), Some(label)) if typed != label => Err(ClearError::Against { label, typed }.into()),
        (typed, label) => Ok(typed.or(label)),
    }
}

impl Named {
    /// The same with the clear vial that was typed, which a label must not contradict.
    pub fn with_clear(self, typed: Option<&str>, kit: &Kit, layout: &Layout) -> Result<Self, IntakeError> {
        let taken: Vec<_> = self.asks.iter().map(|a| (a.station.clone(), a.test.clone())).collect();
        let at = |station: &str| clear_at(station, &taken, kit, layout);
        let typed = typed.map(at).transpose()?;
        let clear = agreed(typed, self.clear.clone())?;
        clear.as_deref().map(at).transpose()?;
        Ok(Self { clear, ..self })
    }

    /// What the samples are zeroed on. Standards are not: they are made of other water. All others must be of one water.
    pub(super) fn zeroing(&self) -> Result<Option<Zeroing>, IntakeError> {
        let Some(station) = self.clear.clone() else { return Ok(None) };
        let standard = |target: Target| target == Target::Standard;
        let mut waters = self.waters.iter().filter(|w| !standard(w.target));
        let first = waters.next();
        if waters.any(|w| Some(w) != first) {
            return Err(ClearError::Waters { station }.into());
        }
        let of = self.asks.iter().zip(&self.waters);
        let spare = of.filter(|(_, w)| standard(w.target)).map(|(a, _)| a.station.clone()).collect();
        Ok(Some(Zeroing { station, spare }))
    }
}
