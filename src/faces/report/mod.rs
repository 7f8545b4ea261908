//! A tank's log as one page for somebody who helps: a shop, a vet.
//!
//! Takes a review, a chart, readings and crops of photos; gives one HTML file. Promises: it asks nothing of any network (its own
//! policy forbids it), is understood without colour, in light and dark and on A4 paper; it says what is an estimate and what nobody
//! knows; no names, notes or kits unless asked; crops are pixels alone. Never: judges.

mod page;
mod parts;

use crate::advice::{Book, Review};
use crate::faces::chart::Chart;
use crate::intake::Crop;
use crate::log::Reading;

/// What the page shows.
pub struct Report<'a> {
    /// The tank's book.
    pub book: &'a Book,
    pub review: &'a Review,
    /// Trends and events of the window.
    pub chart: &'a Chart,
    /// The tank's readings in the window, refused ones too, newest first.
    pub readings: &'a [Reading],
    /// Crops of photos, each with the place of its reading among those.
    pub crops: &'a [(usize, Crop)],
    /// Whether the names of tank and kits stand in it. Notes are left out of the chart's events by whoever makes it.
    pub names: bool,
}

impl Report<'_> {
    /// The page.
    pub fn html(&self) -> String {
        page::html(self)
    }
}
