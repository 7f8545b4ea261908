//! What people see: the command line, the printed card, the overlay, the calendar file. A face parses, calls the library and shows what it says.

pub mod calendar;
pub mod cli;
mod lettering;
pub mod overlay;
pub mod print;
