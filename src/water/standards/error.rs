//! Why standards cannot be made.

/// Why there is no recipe.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StandardsError {
    /// Nothing sold to households makes a standard of it.
    #[error("there is no recipe for {analyte} in {unit}")]
    NoSubstance { analyte: String, unit: String },
    /// A substance that holds nothing of the analyte, or is not known.
    #[error("'{typed}' makes no standard of {analyte}")]
    OtherSubstance { typed: String, analyte: String, known: Vec<&'static str> },
    /// Household ammonia is sold in many strengths.
    #[error("the strength of the household ammonia was not said")]
    NoStrength,
    /// Not a strength, or one that is not sold.
    #[error("'{typed}' is no strength of ammonia solution")]
    Strength { typed: String },
    /// Not a size with its division or tolerance.
    #[error("'{typed}' is no {what}")]
    Means { what: &'static str, typed: String },
    /// Nothing to measure small volumes with.
    #[error("making standards takes a {what}, and there is none")]
    Without { what: &'static str },
    /// Less than half, or more than all, of what is sold would be the substance.
    #[error("a purity of {percent} % cannot be counted with")]
    Purity { percent: f64 },
    /// No concentrations.
    #[error("no concentration was asked for")]
    Nothing,
    /// A concentration that is no amount.
    #[error("{value} is no concentration of a standard")]
    Value { value: f64 },
    /// A weight that the scale tells well would be more than dissolves, or than is sensible.
    #[error("a scale that shows steps of {scale_g} g is too coarse for {vessel_ml} mL of stock")]
    Coarse { scale_g: f64, vessel_ml: f64 },
    /// Not to be reached with these syringes and vessels.
    #[error("{value} {unit} cannot be made with these syringes and vessels")]
    OutOfReach { value: f64, unit: String },
    /// No ready buffer lies in the range.
    #[error("no usual buffer lies in the range from {low} to {high}")]
    NoBuffer { low: f64, high: f64 },
}

impl StandardsError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NoSubstance { .. } => "standards-no-substance",
            Self::OtherSubstance { .. } => "standards-other-substance",
            Self::NoStrength => "standards-no-strength",
            Self::Strength { .. } => "standards-strength",
            Self::Means { .. } => "standards-means",
            Self::Without { .. } => "standards-without",
            Self::Purity { .. } => "standards-purity",
            Self::Nothing => "standards-nothing",
            Self::Value { .. } => "standards-value",
            Self::Coarse { .. } => "standards-coarse",
            Self::OutOfReach { .. } => "standards-out-of-reach",
            Self::NoBuffer { .. } => "standards-no-buffer",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::NoSubstance { .. } => {
                "Buy a standard of stated concentration; recipes are there for ammonia, nitrite, nitrate, alkalinity, hardness, \
                 phosphate, calcium, magnesium and pH."
                    .into()
            }
            Self::OtherSubstance { known, .. } => format!("Write one of: {}.", known.join(", ")),
            Self::NoStrength => "Give it with --strength, as on the label, such as '9.5% by weight'.".into(),
            Self::Strength { .. } => {
                "Write grams of ammonia in 100 g or in 100 mL, 0.1 to 36, such as '9.5% by weight' or '10% w/v'.".into()
            }
            Self::Means { what: "syringe", .. } => {
                "Write its mL and the mL from one line to the next, such as 10/0.5.".into()
            }
            Self::Means { what: "container", .. } => {
                "Write its mL and how far off its mark may be, such as 1000±20; with --weigh its mL alone.".into()
            }
            Self::Means { .. } => "Write the grams from one step of its display to the next, such as 0.1.".into(),
            Self::Without { what } => format!("Name a {what} with --{what}."),
            Self::Purity { .. } => "Write the per cent by weight as on the label, 50 to 100.".into(),
            Self::Nothing => "Name concentrations with --values, such as 0,0.5,1,2.".into(),
            Self::Value { .. } => "Write amounts from none upwards in the test's unit.".into(),
            Self::Coarse { .. } => "Use a scale with finer steps, or a larger container for the stock.".into(),
            Self::OutOfReach { .. } => {
                "Leave that concentration out, or name a smaller syringe, or a larger container.".into()
            }
            Self::NoBuffer { .. } => "Check the range; pH tests of aquaria lie between 4 and 10.".into(),
        }
    }
}
