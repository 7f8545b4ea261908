//! Why something is not planned.

use super::super::book::Kind;
use super::super::rules::{MOST_AMMONIA, MOST_NITRITE};
use crate::water::{StateError, significant};

/// Why there is no plan. A refusal is a rule's; the rest is something missing or wrong in what was asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// Ammonia, with animals in the tank.
    #[error("no ammonia is dosed into '{tank}': animals are logged to be in it")]
    Animals { tank: String },
    /// Ammonia, and nobody said that there are none.
    #[error("no ammonia is dosed into '{tank}': nobody said that no animals are in it, so they count as present")]
    AnimalsUnknown { tank: String },
    /// More ammonia than a filter stands.
    #[error("{} mg/L NH3-N is more than the {MOST_AMMONIA} that are ever dosed to", significant(*asked_n, 3))]
    TooMuch { asked_n: f64 },
    /// The tank has as much already, or may have.
    #[error("the tank may hold {} mg/L NH3-N already, and {} are asked for", significant(*present_n, 3), significant(*asked_n, 3))]
    Enough { present_n: f64, asked_n: f64 },
    /// Nitrite at which no more is dosed.
    #[error("nitrite may be {} mg/L NO2-: no ammonia is dosed above {MOST_NITRITE}", significant(*nitrite, 3))]
    Nitrite { nitrite: f64 },
    /// What the tank has of something is not known.
    #[error("how much {} is in the water now is not known: {why}", kind.as_str())]
    Level { kind: Kind, why: &'static str },
    /// A dose of unknown size went in since.
    #[error("a dose of unknown size went in after the last test")]
    UnknownDose,
    /// The litres of water are not known.
    #[error("how much water is in '{tank}' is not known")]
    Volume { tank: String },
    /// Nothing that a water change moves in this way.
    #[error("a water change is not planned by {}", kind.as_str())]
    NotByChange { kind: Kind },
    /// How fast it rises is not known.
    #[error("how fast {} rises between changes is not known", kind.as_str())]
    Rise { kind: Kind },
    /// The filter has shown nothing.
    #[error("what the filter of '{tank}' oxidises in a day was never shown")]
    Capacity { tank: String },
    /// What the animals make is not known.
    #[error("how much ammonia comes in a day is not known: {why}")]
    LoadUnknown { why: &'static str },
    /// Media between fresh and salt water.
    #[error("media of a {from} tank do not seed a {to} one")]
    OtherWater { from: &'static str, to: &'static str },
    /// Nothing was asked for.
    #[error("{what}")]
    Nothing { what: &'static str, remedy: &'static str },
    /// A share that is none.
    #[error("{percent} % is no share of the {what}")]
    Share { what: &'static str, percent: f64 },
    /// From a formula.
    #[error(transparent)]
    State(#[from] StateError),
}

impl PlanError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Animals { .. } => "dose-animals",
            Self::AnimalsUnknown { .. } => "dose-animals-unknown",
            Self::TooMuch { .. } => "dose-too-much",
            Self::Enough { .. } => "dose-enough",
            Self::Nitrite { .. } => "dose-nitrite",
            Self::Level { .. } => "plan-level-unknown",
            Self::UnknownDose => "plan-dose-unknown",
            Self::Volume { .. } => "plan-volume-unknown",
            Self::NotByChange { .. } => "plan-not-by-change",
            Self::Rise { .. } => "plan-rise-unknown",
            Self::Capacity { .. } => "plan-capacity-unknown",
            Self::LoadUnknown { .. } => "plan-load-unknown",
            Self::OtherWater { .. } => "seed-other-water",
            Self::Nothing { .. } => "plan-nothing-asked",
            Self::Share { .. } => "plan-share",
            Self::State(e) => e.code(),
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Animals { .. } => "Animals make ammonia themselves: feed little, test daily, and see 'tintline status'.".into(),
            Self::AnimalsUnknown { tank } => {
                format!("If nothing lives in it, say so: tintline tank change '{tank}' --animals none. Shrimps and snails are animals.")
            }
            Self::TooMuch { .. } => {
                format!("Ask for at most {MOST_AMMONIA} mg/L NH3-N; 2 is the usual dose, and more slows the filter it is for.")
            }
            Self::Enough { .. } => "Wait until the ammonia test shows none, then dose.".into(),
            Self::Nitrite { .. } => "Test nitrite again, diluted if it is above the scale; a water change brings it down.".into(),
            Self::Level { kind, .. } => {
                format!("Test {0} and log it, or give the value with --now '{0}=VALUE UNIT'.", kind.as_str())
            }
            Self::UnknownDose => {
                "Test ammonia again, or give it with --now 'ammonia=VALUE UNIT'; log doses with their amount.".into()
            }
            Self::Volume { tank } => {
                format!("Say it once, tintline tank change '{tank}' --volume LITRES, or here with --volume.")
            }
            Self::NotByChange { .. } => {
                "Ask for ammonia, nitrite, nitrate, hardness, alkalinity, chloride or salinity. What a change does to pH and \
                 temperature is shown with every one of them."
                    .into()
            }
            Self::Rise { .. } => {
                "Say by how much it rises from one change to the next with --rise, or log two results between two changes."
                    .into()
            }
            Self::Capacity { .. } => {
                "Without animals: dose 2 mg/L N, log it, and test ammonia and nitrite 24 hours later. With animals: log feedings \
                 with their grams, and test ammonia and nitrite."
                    .into()
            }
            Self::LoadUnknown { .. } => "Give grams of food a day with --food, or the animals with count and size, such as '6 barbs 4 cm'.".into(),
            Self::OtherWater { .. } => "Take media from a tank of the same water: most of what lives on them does not outlive the change of salinity.".into(),
            Self::Nothing { remedy, .. } => (*remedy).into(),
            Self::Share { .. } => "Give more than 0 and up to 100 %.".into(),
            Self::State(e) => e.remedy().into(),
        }
    }

    /// Whether a rule forbids what was asked, rather than something being missing or mistyped.
    pub fn is_refusal(&self) -> bool {
        matches!(
            self,
            Self::Animals { .. }
                | Self::AnimalsUnknown { .. }
                | Self::TooMuch { .. }
                | Self::Enough { .. }
                | Self::Nitrite { .. }
                | Self::OtherWater { .. }
                | Self::State(StateError::TapAboveTarget { .. })
        )
    }
}

/// `share` if it is one.
pub(super) fn share(what: &'static str, share: f64) -> Result<f64, PlanError> {
    if share > 0.0 && share <= 1.0 { Ok(share) } else { Err(PlanError::Share { what, percent: share * 100.0 }) }
}
