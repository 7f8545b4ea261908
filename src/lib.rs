//! `tintline` reads aquarium water tests from photos: a vial or strip beside a printed reference card.
//!
//! Data flows one way through the rooms, left to right, and nobody to the left names anybody to the right:
//! [`photo`] → [`card`] → [`light`] → [`sample`] → [`curve`] → [`reading`] → [`log`] → [`intake`] → [`faces`], with
//! [`advice`] beside intake: it reads the log and judges.
//! Leaves: [`finding`], [`moment`], [`store`], [`numeric`], [`colour`], [`water`], and [`trial`] for developers.

pub mod finding;
pub mod moment;
pub mod store;
pub mod trial;

pub mod colour;
pub mod numeric;
pub mod water;

pub mod photo;

pub mod card;

pub mod light;

pub mod sample;

pub mod curve;

pub mod reading;

pub mod log;

pub mod advice;

pub mod intake;

pub mod faces;
