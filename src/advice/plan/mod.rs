//! Plans: what a dose, a change of water, more animals or moved media would do, worked out before it is done.
//!
//! Takes a [`Book`], a typed request, and the time; gives a typed answer. What a request leaves open comes from the log, and what
//! nobody knows goes in as a range. Every answer has a [`Said`]: all that went in and comes out as [`Figure`]s with units, basis and
//! bounds, the formulas with their sources, the answer in plain words, what cannot be known, and cautions.
//! Promises: upper bounds decide where harm is possible; a result in doubt or out of date counts as not known; nothing is
//! planned past what the rules allow, it is refused ([`PlanError::is_refusal`]) with the reason and what to do instead.

mod capacity;
mod change;
mod dose;
mod error;
mod feed;
mod filter;
mod level;
mod mixed;
mod routine;
mod said;
mod seed;
mod stock;
mod table;

pub use capacity::{CapacityPlan, CapacityRequest, Loss, capacity};
pub use change::{Aim, ChangePlan, ChangeRequest, Verdict, change};
pub use dose::{DosePlan, DoseRequest, Percent, Product, dose};
pub use error::PlanError;
pub use feed::{Group, Load};
pub use level::Given;
pub use mixed::{Step, Water};
pub use routine::{Routine, RoutinePlan, routine};
pub use said::{Figure, Formula, Origin, Said};
pub use seed::{SeedPlan, SeedRequest, seed};
pub use stock::{Batch, StockPlan, StockRequest, stock};
pub use table::{Cell, TablePlan, TableRequest, table};

#[cfg(doc)]
use super::Book;
