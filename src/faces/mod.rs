//! What people see: the command line, the printed card, the overlay, the calendar file, charts, a page for somebody who helps,
//! the page on the phone. A face
//! parses, calls the library and shows what it says.

mod books;
pub mod calendar;
pub mod chart;
pub mod cli;
mod cropped;
mod dues;
mod lettering;
mod markup;
pub mod overlay;
pub mod print;
pub mod report;
mod stroke;
pub mod web;
mod words;
