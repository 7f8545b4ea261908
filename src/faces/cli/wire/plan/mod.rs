//! Plans.

mod standards;

pub use standards::PlanStandards;
