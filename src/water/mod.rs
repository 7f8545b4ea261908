//! Water: analytes, units with their basis, amounts, dilutions, and the chemistry of a tank. A leaf that names no other room.
//!
//! Takes what a keeper typed or a curve found; gives numbers that carry their unit, basis and interval.
//! Promises: text forms read back to the same thing; conversions follow published atomic masses.
//! every formula has its source beside it and is tested against published figures (`tests/published/water`); what is not known
//! goes in as a range and comes out as one. Formulas take plain numbers whose unit and basis their documentation states, or the
//! checked types [`Celsius`], [`Ph`], [`Salinity`]. Never: a bare zero, a unit without its basis, general hardness turned into alkalinity.

pub mod ammonia;
pub mod amount;
pub mod analyte;
pub mod carbonate;
pub mod change;
pub mod criteria;
pub mod dilution;
pub mod dose;
pub mod entered;
pub mod feed;
pub mod limits;
pub mod nitrification;
pub mod salinity;
pub mod standards;
pub mod state;
pub mod titration;
pub mod typed;
pub mod units;
pub mod volume;

mod species;
mod text;
mod unit_text;

pub use ammonia::{ammonia_pka, free_ammonia, free_ammonia_anthonisen, free_fraction, free_nitrous_acid, total_at};
pub use amount::{Amount, AmountError, Interval, Level};
pub use analyte::Analyte;
pub use carbonate::{Buffered, carbonic_pk, ph_as_mixed, ph_settled};
pub use change::{after_change, after_changes, after_drip, change_needed, chloramine_ammonia, steady_state};
pub use criteria::{Criterion, epa2013};
pub use dilution::{Dilution, DilutionError};
pub use dose::{
    CHLORIDE_PER_NITRITE, Strength, ammonia_density, ammonia_of_chloride, ammonia_of_solution, ammonia_solution_ml,
    ammonium_chloride_g, bicarbonate_g, carbonate_g, chloride_of_salt, chloride_wanting, molar, stock_ml,
};
pub use entered::{Entry, EntryError, Shades};
pub use feed::{FEED_SPREAD, ammonia_of_food, filter_area, food_of_ammonia, rise};
pub use limits::{Checked, LIMITS, Limit};
pub use nitrification::{
    Nitrified, NitrogenSource, Oxidiser, growth_ratio, growth_ratio_arrhenius, nitrifiable, nitrified,
    nitrite_read_as_nitrate,
};
pub use salinity::{conductivity, density, salinity_of_conductivity, salinity_of_gravity, specific_gravity};
pub use standards::COVERAGE;
pub use state::{Celsius, Conditions, Known, Ph, Salinity, Span, StateError, unknown};
pub use text::significant;
pub use titration::{Counted, Titration};
pub use typed::{Typed, TypedError};
pub use units::{Measure, Quantity, Species, Unit, UnitError};
