//! A verb a file: as typed, as meant, library call, document.

pub(super) mod card;
pub(super) mod chart;
pub(super) mod demo;
pub(super) mod event;
pub(super) mod kit;
mod kitkeep;
mod kitseries;
mod kitstart;
mod kitvision;
mod label;
pub(super) mod log;
pub(super) mod plan;
pub(super) mod read;
pub(super) mod report;
pub(super) mod serve;
pub(super) mod status;
pub(super) mod tank;
pub(super) mod wait;
